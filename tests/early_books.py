"""Books as they were early on: the first entries of another book, entered anew."""

from pathlib import Path

from loopwright.book import create, open_book
from loopwright.model.records import Revision


def early(of: Path, entries: int, to: Path) -> Path:
    """A book that holds the first so many entries of another; two are the description and the first state."""
    with open_book(of) as book:
        listed = book.entries(until=entries)
        first = listed[0].record
        assert isinstance(first, Revision)
        with create(
            to, first.text, build_name=book.info.build_name, who=listed[0].who, file=first.file
        ) as made:
            for entry in listed[2:]:
                made.append(entry.record, who=entry.who, why=entry.why, supersedes=entry.supersedes)
    return to
