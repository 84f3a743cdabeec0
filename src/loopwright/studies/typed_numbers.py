"""Numbers as typed on a page, in the unit beside their field, made into texts that every study reads alike."""

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.units import Dimension


def exact(what: str, text: str, dimension: Dimension, unit: str) -> str | None:
    """A typed quantity as the text that reads back to the same number, whatever unit a bare number takes there.

    Args:
        what: it is, for the message.
        text: as typed; '' is nothing.
        dimension: of it.
        unit: that a bare number takes.

    Raises:
        RequestError: it cannot be read.

    >>> exact("error", "2", Dimension.LENGTH, "µm"), exact("error", " ", Dimension.LENGTH, "µm")
    ('0.002 mm', None)
    """
    plain = text.strip().replace("−", "-")
    if not plain:
        return None
    try:
        return units.format_exact(units.parse(plain, dimension, bare=unit), dimension)
    except QuantityError as error:
        raise RequestError(f"{what}: {error.what}", error.remedy) from None
