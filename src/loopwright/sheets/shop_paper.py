"""What the sheets of the shop have in common: heads, codes, and words for what is measured and what to beware of."""

from collections.abc import Sequence
from typing import Any

from loopwright.model.blanks import Blank, Form, Section
from loopwright.sheets.codes import code_svg
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.shop_sheets import Code, Hazard, Heading, ToRead
from loopwright.units import Dimension

Data = dict[str, Any]


def code_data(code: Code) -> Data:
    """A code with what stands beside it."""
    told = f"Code of {code.part}: {code.text}"
    return {"svg": code_svg(code.text), "alt": told, "name": code.part, "words": code.words}


def head_data(kind: str, head: Heading, sizes: ShopSizes, *, more: Sequence[tuple[str, str]] = ()) -> Data:
    """Head of the sheet of a part or a matched set."""
    marks = [mark for mark in head.marks if mark]
    facts = [
        ("material", ", ".join(filter(None, (head.material, head.condition)))),
        ("blank", "" if head.blank is None else blank_words(head.blank, sizes)),
        ("mark", ", ".join(marks)),
        *more,
        ("note", head.note),
        ("sizes in", units_words(sizes)),
    ]
    return {
        "kind": kind,
        "build": head.build,
        "name": ", ".join(head.parts),
        "facts": [[what, words] for what, words in facts if words],
        "codes": [code_data(code) for code in head.codes],
    }


def foot_words(kind: str, head: Heading) -> str:
    """Foot of each page of a part's sheet."""
    parts = head.parts if len(head.parts) < 3 else (head.parts[0], f"{len(head.parts) - 1} more")
    return f"{', '.join(parts)}: {kind}, {head.build}"


def units_words(sizes: ShopSizes) -> str:
    """Units of the sizes on a sheet."""
    names = {"mm": "mm", "in": "inches"}
    return names[sizes.unit] + (f"; {names[sizes.also]} below" if sizes.also else "")


def degree(sizes: ShopSizes) -> str:
    """Unit of temperatures: '°C'."""
    return sizes.units.temperature.replace("deg", "°")


def section_words(section: Section, sizes: ShopSizes) -> str:
    """A section: 'round 65 mm', 'flat 60 x 20 mm'."""
    if section.form is Form.CASTING:
        return "casting"

    words = f"{section.form.value} {' x '.join(map(sizes.plain, section.sizes))} {sizes.unit}"
    if not sizes.also:
        return words
    also = [sizes.about(size, sizes.also).rpartition(" ")[0] for size in section.sizes]
    return f"{words} ({' x '.join(also)} {sizes.also})"


def blank_words(blank: Blank, sizes: ShopSizes) -> str:
    """What a part is cut from."""
    words = [section_words(blank.section, sizes)]
    if blank.length is not None:
        across = "" if blank.width is None else f" x {sizes.length(blank.width)}"
        words.append(f"{sizes.length(blank.length)}{across} long")
    if blank.grip:
        words.append(f"{sizes.length(blank.grip)} of it to hold it by")
    if blank.pieces > 1:
        words.append(f"{blank.pieces} parts from one")
    return ", ".join(words)


def limits_of(one: ToRead, sizes: ShopSizes) -> list[str]:
    """Limits of what is measured, as they are read at the machine."""
    sign = "Ø" if one.diameter else ""
    if one.words:
        return [one.words]
    if one.kind == "geometry" and one.high is not None:
        return [f"within {words}" for words in _small(one.high, sizes)]
    if one.low is None or one.high is None:
        if one.nominal is None:
            return []
        angle = one.dimension is Dimension.ANGLE
        return [sizes.angle(one.nominal) if angle else sign + sizes.plain(one.nominal)]
    if one.dimension is Dimension.ANGLE:
        middle = one.nominal or 0.0
        return [sizes.angle_limits(middle, one.low - middle, one.high - middle)]
    return sizes.limits(one.low, one.high, given=one.given, sign=sign)


def _small(value: float, sizes: ShopSizes) -> list[str]:
    units = (sizes.unit, sizes.also) if sizes.also else (sizes.unit,)
    return [f"{sizes.fine(value, unit)} {unit}" for unit in units]


def drawn_words(one: ToRead, sizes: ShopSizes) -> str:
    """What the drawing has: 'Ø30 H6', '25'; '' for anything that is no dim of it."""
    if one.kind != "dim" or one.nominal is None:
        return ""
    if one.dimension is Dimension.ANGLE:
        return sizes.angle(one.nominal)
    size = ("Ø" if one.diameter else "") + sizes.plain(one.nominal)
    return f"{size} {one.fit}".strip()


def hazard_words(hazards: Sequence[Hazard]) -> list[list[str]]:
    """What can hurt someone, in words; what a former op of the sheet has told is only named."""
    found = [[f"Careful, {one.name}:", " ".join(one.texts)] for one in hazards if one.texts]
    again = [f"{one.name} (op {one.before})" for one in hazards if not one.texts]
    return found + ([["Careful, as before:", ", ".join(again)]] if again else [])


def minutes_words(value: float) -> str:
    """Minutes of work: '12 min', '2.5 h'."""
    if value < 10 and value != round(value):
        return f"{value:.1f} min"
    hours = value / 60
    return f"{value:.0f} min" if value < 100 else f"{hours:.0f} h" if hours >= 10 else f"{hours:.1f} h"
