"""Entries say from which station they came, and readings are found by the item that was read."""

from alembic import op
from sqlalchemy import Column, Text

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the column and the index; what was entered before came from no named station."""
    with op.batch_alter_table("entries") as entries:
        entries.add_column(Column("station", Text, nullable=False, server_default=""))
    op.create_index("readings_item_ix", "readings", ["item"])
