"""Which starting values of grinding a material has, and with what grain it is ground.

Steels go by their kind and whether they are hardened. Cast iron, stainless steel and titanium have rows that are
common practice, recalled and not read; copper and aluminium alloys have them on a cylinder only. Whatever has none is
refused with what would do: what is ground like a neighbour without a word is scrap, or a fire.
"""

from collections.abc import Callable
from typing import Final

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_speeds import group_for
from loopwright.handbook.grinding import GRINDING_ROWS, GrindingRow, Process, grinding_rows
from loopwright.handbook.heat_treatment import treatment

# kind of material: words of its row, for soft and hardened
_ROWS: Final = {
    "tool steel": ("tool steel annealed", "tool steel hardened"),
    "alloy steel": ("alloy steel annealed", "alloy steel hardened"),
    "carbon steel": ("plain carbon steel annealed", "plain carbon steel hardened"),
    "stainless steel": ("stainless steel annealed", "stainless steel hardened"),
    "cast iron": ("cast iron", "cast iron"),
    "titanium": ("titanium alloys", "titanium alloys"),
    "copper": ("copper alloys", "copper alloys"),
    "aluminium": ("aluminium alloys", "aluminium alloys"),
}
_PLUNGED: Final = {
    "tool steel": "alloy and tool steel hardened",
    "alloy steel": "alloy and tool steel hardened",
    "carbon steel": "plain carbon steel hardened",
}
_WORDS: Final = (
    ("stainless", "stainless steel"), ("titanium", "titanium"), ("iron", "cast iron"), ("tool steel", "tool steel"),
    ("alloy steel", "alloy steel"), ("bearing steel", "alloy steel"), ("nitriding", "alloy steel"),
    ("case hardening", "alloy steel"), ("brass", "copper"), ("bronze", "copper"), ("copper", "copper"),
    ("alumin", "aluminium"), ("steel", "carbon steel"),
)  # fmt: skip
SILICON_CARBIDE: Final = ("cast iron", "titanium", "copper", "aluminium")
"""Kinds that are ground with silicon carbide rather than aluminium oxide. Common practice."""


def grinding_kind(material: str) -> str:
    """Kind of material that a grinding row is looked up by; '' where there is none.

    Args:
        material: its name, of a group, or a usual other name: 'tool steel O1', 'grey cast iron', '304'.

    >>> grinding_kind("4140"), grinding_kind("304"), grinding_kind("grey cast iron"), grinding_kind("PTFE")
    ('alloy steel', 'stainless steel', 'cast iron', '')
    """
    said = [
        material,
        _or_nothing(lambda: treatment(material).name),
        _or_nothing(lambda: group_for(material).name),
    ]
    return next((kind for name in said for word, kind in _WORDS if word in name.casefold()), "")


def _or_nothing(look: Callable[[], str]) -> str:
    try:
        return look()
    except OutOfRange:
        return ""


def starting_row(process: Process, material: str, *, hardened: bool) -> GrindingRow:
    """Starting values of grinding for a material.

    Args:
        process: 'surface', 'traverse' or 'plunge'. Where there is nothing for plunging the row of traverse is given,
            and says so by its ``process``.
        material: as :func:`grinding_kind`.
        hardened: it was hardened.

    Returns:
        The row, with its source; rows that were recalled say so.

    Raises:
        OutOfRange: no row for this material and process, with what would do.

    Source: each row's own. Checked in tests/published/test_machinerys_handbook_grinding.py and
    tests/rooms/test_grinding_materials.py.

    >>> row = starting_row("surface", "grey cast iron", hardened=False)
    >>> row.material, round(row.rough, 3), "from memory" in row.source
    ('cast iron, grey and ductile', 0.076, True)
    """
    kind = grinding_kind(material)
    if process == "plunge":
        if kind in _PLUNGED:
            return grinding_rows("plunge", _PLUNGED[kind] if hardened else "steel soft")[0]
        process = "traverse"
    words = _ROWS.get(kind, ("", ""))[hardened]
    found = [row for row in GRINDING_ROWS if row.process == process and _says(row, words)]
    if not kind or not found:
        known = ", ".join(dict.fromkeys(row.material for row in GRINDING_ROWS if row.process == process))
        raise OutOfRange(
            f"no {process} grinding row for {material or 'a material that is not stated'}; the handbook has {known}; "
            "ask the wheel's maker, give the shop's proven values, or give the op its minutes"
        )
    return found[0]


def _says(row: GrindingRow, words: str) -> bool:
    return set(words.split()) <= set(row.material.replace(",", " ").split())


def grain_advice(material: str, grain: str) -> str:
    """Whether another grain than the wheel's is usual; '' where nothing speaks against it.

    Args:
        material: as :func:`grinding_kind`.
        grain: of the wheel, in words.

    Source: common practice.

    >>> grain_advice("grey cast iron", "aluminium oxide")
    'silicon carbide is the usual grain for cast iron; aluminium oxide dulls in it (common practice)'
    >>> grain_advice("tool steel O1", "aluminium oxide")
    ''
    """
    kind = grinding_kind(material)
    if kind in SILICON_CARBIDE and "oxide" in grain.casefold():
        return f"silicon carbide is the usual grain for {kind}; {grain} dulls in it (common practice)"
    if kind.endswith("steel") and "silicon carbide" in grain.casefold():
        return f"aluminium oxide is the usual grain for {kind}; {grain} wears away on it (common practice)"
    return ""
