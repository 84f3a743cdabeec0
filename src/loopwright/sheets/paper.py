"""Paper: one run of the typesetter turns plain data into a PDF. Nothing a user wrote is ever read as markup."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from loopwright.errors import LoopwrightError, RequestError
from loopwright.sheets.codes import INSTALL
from loopwright.sheets.markup import Markup

_HERE = Path(__file__).parent
TEMPLATES, FONTS = _HERE / "typst", _HERE / "fonts"


_RUN = 14
"""Letters of a word after which a line may end where nothing in it offers a place."""
_LONG = re.compile(r"\S{11,}")
_JOINT = re.compile(r"[^\W\d_]{2,}[_/\-.:=](?=\w)")


@dataclass(frozen=True)
class Paper:
    """A size of paper.

    Attributes:
        name: as it is asked for.
        called: as the typesetter calls it.
        width, height: mm.
        margin: left and right of the print, mm.
    """

    name: str
    called: str
    width: float
    height: float
    margin: float = 12.0

    @property
    def measure(self) -> float:
        """Width of the print, in points of 1/72 inch."""
        return (self.width - 2 * self.margin) / 25.4 * 72


A4 = Paper("a4", "a4", 210.0, 297.0)
LETTER = Paper("letter", "us-letter", 215.9, 279.4)
PAPERS = {paper.name: paper for paper in (A4, LETTER)}
"""Sizes of paper by name: ISO 216 and ANSI/ASME Y14.1."""


class PaperError(LoopwrightError):
    """The typesetter could not set a sheet; that is a mistake of ours, and its message says where."""


def pdf_of(template: str, data: Mapping[str, Any], paper: Paper = A4) -> bytes:
    """Sheets as a PDF: text that can be selected, fonts embedded, no date, so equal data give equal bytes.

    Args:
        template: name of a file of this room's folder 'typst', without its ending.
        data: what the template fills in: text, numbers, lists and tables; drawings as SVG.
        paper: that it is printed on.

    Raises:
        RequestError: typst, which sets the sheets, is not installed.
        PaperError: the template and the data do not fit.
    """
    typst = _typst()
    told = {"paper": paper.called, "margin": paper.margin, "measure": paper.measure, **breakable(data)}
    # a name can hold half a character; written as a question mark it does not stop the printer
    text = json.dumps(told, ensure_ascii=False).encode("utf-8", "replace").decode("utf-8")
    try:
        made = typst.compile(
            str(TEMPLATES / f"{template}.typ"),
            root=str(TEMPLATES),
            font_paths=_fonts(),
            ignore_system_fonts=True,
            sys_inputs={"data": text},
        )
    except typst.TypstError as error:
        raise PaperError(f"{template}: {error.message}\n{error.diagnostic}") from error
    return bytes(made)


def breakable(told: Any) -> Any:
    r"""The same with places in its long words where a line may end, marked by U+200B; drawings stay as they are.

    >>> breakable(["X_bracket_fixed", "short", "a sentence of words"])
    ['X_bracket_\u200bfixed', 'short', 'a sentence of words']
    """
    if isinstance(told, Markup):
        return told
    if isinstance(told, str):
        return _LONG.sub(lambda found: _with_breaks(found[0]), told)
    if isinstance(told, Mapping):
        return {key: breakable(value) for key, value in told.items()}
    return [breakable(value) for value in told] if isinstance(told, list) else told


def _with_breaks(word: str) -> str:
    parts = _JOINT.sub("\\g<0>\u200b", word).split("\u200b")
    return "\u200b".join(part[at : at + _RUN] for part in parts for at in range(0, len(part), _RUN))


def pages_in(pdf: bytes) -> int:
    """How many pages a PDF of ours has: what the root of its page tree counts."""
    return max(int(count) for count in re.findall(rb"/Type/Pages/Count (\d+)", pdf))


def _typst() -> Any:
    try:
        import typst
    except ImportError:
        raise RequestError("typst, which sets the sheets, is not installed", INSTALL) from None
    return typst


@cache
def _fonts() -> Any:
    """Our own faces and those inside the typesetter; none of this computer, so that sheets look alike everywhere."""
    return _typst().Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(FONTS)])
