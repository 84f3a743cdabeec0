"""QR codes (ISO/IEC 18004) as SVG, one path each."""

from collections.abc import Iterator
from functools import lru_cache

from loopwright.errors import RequestError
from loopwright.sheets.markup import Markup, tag

QUIET = 2
"""Modules of white around a code; the paper's own white makes them up to the standard's four."""
INSTALL = "install what printing needs: pip install 'loopwright[sheets]'"


@lru_cache(maxsize=1024)
def code_svg(text: str) -> Markup:
    """A text as a QR code.

    Args:
        text: what it holds; an address in capitals takes the mode for figures and capitals, which makes it smaller.

    Returns:
        SVG with a view box in modules.

    Raises:
        RequestError: segno, which makes the codes, is not installed.

    Source: ISO/IEC 18004, error correction M or better. No Micro QR: many phones do not read it.
    """
    try:
        import segno
    except ImportError:
        raise RequestError("segno, which makes the QR codes, is not installed", INSTALL) from None
    rows = [bytes(row) for row in segno.make(text or " ", error="m", micro=False).matrix]
    side = len(rows) + 2 * QUIET
    return tag(
        "svg",
        tag("path", d="".join(_runs(rows)), fill="#000"),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {side} {side}",
        shape_rendering="crispEdges",
    )


def _runs(rows: list[bytes]) -> Iterator[str]:
    """Dark modules that lie side by side, as one rectangle each."""
    for y, row in enumerate(rows, QUIET):
        start = None
        for x, dark in enumerate((*row, 0)):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                yield f"M{start + QUIET} {y}h{x - start}v1h{start - x}z"
                start = None
