"""The description after sawing: used bars are gone from the shop, off-cuts lie there as bars of their own."""

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import floor
from typing import Any

from loopwright import units
from loopwright.buildfile.editing import insert, parsed, remove, set_value, value_at
from loopwright.buildfile.yaml_layout import flow, laid_out
from loopwright.errors import BuildError, RequestError
from loopwright.model.base import INCHES
from loopwright.model.build import Build
from loopwright.studies.blank_records import Offcut, SawList
from loopwright.studies.checking import load_text
from loopwright.units import Dimension

GRADUATION = {"mm": 0.1, "in": 0.01}
"""To what an off-cut is written down, in mm and in inches; never longer than it is."""

_SHOP = re.compile(r"^shop:[ \t]*(?:#[^\n]*)?\r?\n.*?(?=^[^\s#]|\Z)", re.M | re.S)
"""The section in a file that is laid out in lines, to the next section."""


@dataclass(frozen=True)
class AfterSawing:
    """What is left when a saw list is done.

    Attributes:
        text: of the build file then.
        used: for each of the shop's own bars and sheets how many were sawn up.
        bought: for each that was bought first how many were sawn up.
        kept: off-cuts that the shop has now.
        sawn: parts whose blanks lie ready now.
        section: bars and sawn blanks of the shop then, as they would stand in a build file.
    """

    text: str
    used: dict[str, int]
    bought: dict[str, int]
    kept: tuple[Offcut, ...]
    sawn: tuple[str, ...]
    section: str


def after_sawing(
    text: str, build: Build, found: SawList, *, day: str, file: str | None = None
) -> AfterSawing:
    """The description when everything on a saw list is sawn.

    Bars of the shop that were sawn are gone from it; what is bought stays offered. What is worth keeping of either
    becomes a bar of its own, its end clean. The blanks lie ready, so that no later list has them again.

    Args:
        text: of the build file that the list was made from.
        build: of it.
        found: the list.
        day: when it was sawn, for the note on each off-cut.
        file: its name, for messages.

    Raises:
        RequestError: nothing of the list is planned, or the file cannot be changed without changing other lines.
        BuildError: the changed text has mistakes.
    """
    if not found.planned:
        raise RequestError("there is nothing to saw", _why_nothing(found))
    many = Counter((bar.bar, bar.buy) for bar in found.bars)
    many += Counter((sheet.sheet, sheet.buy) for sheet in found.sheets)
    used = {name: count for (name, buy), count in many.items() if not buy}
    bought = {name: count for (name, buy), count in many.items() if buy}
    sawn = tuple(name for name in build.parts if name in found.planned)

    def edited(some: str) -> str:
        return _edited(some, build, found, used, sawn, day, file)

    text = _in_its_block(text, edited) or edited(text)
    load_text(text, file or "the new description")
    shop = value_at(parsed(text, file).data, ["shop"])
    section = laid_out({"shop": {"bars": shop.get("bars") or {}, "sawn": shop["sawn"]}})
    return AfterSawing(text, used, bought, found.offcuts, sawn, section)


def _why_nothing(found: SawList) -> str:
    """What would do where nothing is planned."""
    if found.unplanned:
        return f"see to it first: {found.unplanned[0][2]}"
    if found.unknown and not found.sawn:
        verb = "is" if len(found.unknown) == 1 else "are"
        return f"say what {', '.join(found.unknown[:6])} {verb} cut from, under parts/…/blank"
    return "every blank is sawn already, or its part is made"


def _in_its_block(text: str, edited: Callable[[str], str]) -> str | None:
    """The text with its section 'shop' edited on its own, which is quick in a long file; None where it cannot be."""
    block = _SHOP.search(text)
    if block is None:
        return None
    try:
        out = text[: block.start()] + edited(block[0]) + text[block.end() :]
        before, after = parsed(text).data, parsed(out).data
    except (BuildError, RequestError):
        # it repeats what stands elsewhere, or is written in an unusual way
        return None
    rest = [{name: value for name, value in data.items() if name != "shop"} for data in (before, after)]
    return out if rest[0] == rest[1] else None


def _edited(
    text: str,
    build: Build,
    found: SawList,
    used: dict[str, int],
    sawn: Sequence[str],
    day: str,
    file: str | None,
) -> str:
    """A text with the off-cuts, without the used bars, and with the sawn parts."""
    for one in found.offcuts:
        text = insert(text, f"shop/bars/{one.name}", _entry(text, build, one, day), file)
    for name, count in used.items():
        left = build.shop.bars[name].pieces - count
        path = f"shop/bars/{name}"
        text = (
            set_value(text, f"{path}/pieces", str(left), file, apart=True)
            if left
            else remove(text, path, file)
        )
    before = value_at(parsed(text, file).data, ["shop", "sawn"])
    if before is None:
        return insert(text, "shop/sawn", list(sawn), file)
    return set_value(text, "shop/sawn", flow([*before, *sawn]), file, apart=True)


def _entry(text: str, build: Build, one: Offcut, day: str) -> dict[str, Any]:
    """An off-cut as it stands in a build file, material and section as they stand there of what it is left of."""
    whole = value_at(parsed(text).data, ["shop", "bars", one.of])
    entry = {"material": whole["material"], "section": whole["section"], "length": _whole(build, one.length)}
    if one.width is not None:
        entry["width"] = _whole(build, one.width)
    bar = build.shop.bars[one.of]
    told = "" if bar.buy or not bar.note or bar.note.startswith("left of ") else f"; {bar.note}"
    return {**entry, "faced": True, "note": f"left of {one.of}, {day}{told}"}


def _whole(build: Build, size: float) -> int | float:
    """A length in the file's own unit, cut off to what a rule shows."""
    system = "in" if build.units.length in INCHES else "mm"
    step = GRADUATION[system] * float(units.factor(system, Dimension.LENGTH))
    shown = floor(size / step + 1e-6) * step / float(units.factor(build.units.length, Dimension.LENGTH))
    number = float(f"{shown:.6g}")
    return int(number) if number.is_integer() else number
