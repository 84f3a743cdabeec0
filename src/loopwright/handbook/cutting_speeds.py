"""Speeds and feeds by group of material, operation and tool: ranges, every source of them, never one number.

Ask :func:`speed_ranges` and :func:`feed_ranges`; both give all rows that were found in print, and where there
is none, what a rule of the trade makes of a neighbouring row, marked so. Which of it a machine, a set-up or a
tool allows is not decided here.
"""

import difflib
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band
from loopwright.handbook.cutting_checks import over_zero
from loopwright.handbook.cutting_feeds_tables import PRINTED_FEEDS, PrintedFeed
from loopwright.handbook.cutting_force import SpecificForce, kienzle
from loopwright.handbook.cutting_speeds_tables import PRINTED_SPEEDS, SAWING_RATES, SOURCES
from loopwright.handbook.materials import material

OPERATIONS: Final = ("turn", "bore", "face", "mill", "drill", "ream", "tap", "thread mill", "saw")
"""'face' is face milling and fly cutting; facing on a lathe is 'turn'."""

TOOLS: Final = ("HSS", "carbide", "CBN", "diamond")
"""Materials of the cutting edge."""

_FOOT: Final = 0.3048
_BOUND: Final = (
    "upper bound: no specific force for plastics was found in print; taken as that of aluminium, which needs more "
    "(from memory: plastics 50 to 300 MPa)"
)


@dataclass(frozen=True, slots=True)
class MaterialGroup:
    """Materials that are cut alike.

    Attributes:
        name: of the group.
        iso: letter of ISO 513: P steel, M stainless, K iron, N non-ferrous, S titanium, H hard, O others.
        vdi: groups of VDI 3323, the usual one first; empty for what it does not cover.
        ferrous: carbon of a diamond dissolves in it.
        note: how it cuts, and a caution where one is needed; hazards by name are in
            :mod:`loopwright.handbook.cautions`.
    """

    name: str
    iso: str
    vdi: tuple[int, ...]
    ferrous: bool
    note: str

    @property
    def specific_force(self) -> SpecificForce:
        """Law of Kienzle of the usual VDI group; an upper bound for plastics."""
        if self.vdi and self.vdi[0] not in (29, 30):
            return kienzle(self.vdi[0])
        law = kienzle(21)
        return SpecificForce(law.kc11, law.mc, _BOUND)


_GRIND: Final = "Rough it before hardening, grind after; carbide and CBN cut it dry, light and rigid."
_DUST: Final = "Dry, with suction at the edge; keep the work under 150 °C (norvaplastics.com)."
_STICKY: Final = "Work-hardens: sharp tool, steady feed, never dwell or rub."

# name | ISO 513 | VDI 3323 | note
_GROUPS: Final = f"""
aluminium                   | N | 22 21    | Sharp, polished edges; cutting fluid against built-up edge.
cast aluminium              | N | 24 23 25 | Silicon wears HSS; over 12 % silicon take carbide or diamond.
free-cutting steel          | P | 1        | Not for welding or case hardening.
mild steel                  | P | 1        | Tears at low speed; a sharp edge and a light finishing cut.
medium carbon steel         | P | 2 3      | Values for annealed or normalised steel.
low alloy steel, annealed   | P | 6        | Quenched and tempered steel needs 20 to 50 % less speed.
tool steel O1, annealed     | P | 6        | VDI group by its alloy content under 5 %, from memory.
tool steel A2, annealed     | P | 10       | Abrasive; values for about 220 HB.
tool steel D2, annealed     | P | 10       | Very abrasive: chromium carbides; values for about 220 HB.
hardened tool steel         | H | 38 39    | {_GRIND}
stainless steel 303         | M | 14       | {_STICKY}
stainless steel 304         | M | 14       | {_STICKY} 316 alike.
martensitic stainless steel | M | 12 13    | Values for annealed 440C and solution treated 17-4.
grey iron                   | K | 15 16    | Dry; get under the skin of a casting with the first cut.
nodular iron                | K | 17 18    | Tougher than grey iron; ferritic first, pearlitic needs more force.
brass                       | N | 26 27    | Free cutting: flat rake, or a drill grabs.
bronze                      | N | 28 27    | Values for tin bronze; aluminium bronze at half the speed.
copper                      | N | 28       | Stringy; large rake, polished edge, plenty of fluid.
titanium                    | S | 37 36    | Low speed, sharp, flooded. Fine chips burn: class D powder, no water.
acetal                      | O |          | Sharp, keep it cool: it grows ten times as much as steel when warm.
polyamide                   | O |          | Sharp, keep it cool; takes up water and grows.
PTFE                        | O |          | Razor-sharp; creeps under the clamp. Never over 260 °C: toxic fumes.
phenolic fabric             | O | 29       | {_DUST}
glass-epoxy laminate        | O | 29       | {_DUST} Carbide or diamond; climb mill only, zero rake.
"""


def _group(line: str) -> MaterialGroup:
    name, iso, vdi, note = (cell.strip() for cell in line.split("|"))
    return MaterialGroup(name, iso, tuple(int(n) for n in vdi.split()), iso in "PMKH", note)


GROUPS: Final = MappingProxyType({g.name: g for g in map(_group, _GROUPS.strip().splitlines())})
"""Every group by its name."""

# material of :mod:`loopwright.handbook.materials`, or another usual name: group
_GROUP_OF: Final = {
    "steel": "medium carbon steel",
    "low carbon steel": "mild steel",
    "normalised steel": "medium carbon steel",
    "alloy steel": "low alloy steel, annealed",
    "bearing steel": "low alloy steel, annealed",
    "tool steel o1": "tool steel O1, annealed",
    "tool steel a2": "tool steel A2, annealed",
    "tool steel d2": "tool steel D2, annealed",
    "stainless steel 303": "stainless steel 303",
    "stainless steel 304": "stainless steel 304",
    "stainless steel 316": "stainless steel 304",
    "stainless steel 17-4": "martensitic stainless steel",
    "stainless steel 440c": "martensitic stainless steel",
    "grey cast iron": "grey iron",
    "ductile iron": "nodular iron",
    "aluminium": "aluminium",
    "aluminium 6061": "aluminium",
    "aluminium 7075": "aluminium",
    "cast aluminium": "cast aluminium",
    "brass": "brass",
    "bronze": "bronze",
    "aluminium bronze": "bronze",
    "copper": "copper",
    "titanium": "titanium",
    "acetal": "acetal",
    "polyamide 6": "polyamide",
}
_OTHER_NAMES: Final = {
    "free cutting steel": "free-cutting steel",
    "free machining steel": "free-cutting steel",
    "303": "stainless steel 303",
    "304": "stainless steel 304",
    "316": "stainless steel 304",
    "440c": "martensitic stainless steel",
    "12l14": "free-cutting steel",
    "1215": "free-cutting steel",
    "1018": "mild steel",
    "1045": "medium carbon steel",
    "4140": "low alloy steel, annealed",
    "polytetrafluoroethylene": "PTFE",
    "phenolic": "phenolic fabric",
    "phenolic laminate": "phenolic fabric",
    "fr4": "glass-epoxy laminate",
    "g10": "glass-epoxy laminate",
    "glass epoxy": "glass-epoxy laminate",
    "glass epoxy laminate": "glass-epoxy laminate",
}
_HARDENABLE: Final = (
    "tool steel O1, annealed",
    "tool steel A2, annealed",
    "tool steel D2, annealed",
    "low alloy steel, annealed",
    "medium carbon steel",
    "martensitic stainless steel",
)
SOFT_TO: Final = 30.0
"""Hardness up to which a steel counts as annealed here, HRC."""
HARD: Final = (55.0, 62.0)
"""Hardness of the group 'hardened tool steel', HRC. Between the two no rows were found."""


def group_for(name: str, *, hardness_hrc: float | None = None) -> MaterialGroup:
    """Group of a material.

    'steel' without more is taken as medium carbon steel: slower, and with more force, than mild steel.

    Args:
        name: of a group, of a material of :mod:`loopwright.handbook.materials`, or a usual other name.
        hardness_hrc: when it was hardened, HRC.

    Returns:
        The group.

    Raises:
        OutOfRange: a material that no group holds, or a hardness for which no rows were found.

    >>> group_for("O1").name, group_for("gray iron").name, group_for("A2", hardness_hrc=60).name
    ('tool steel O1, annealed', 'grey iron', 'hardened tool steel')
    """
    found = GROUPS.get(_group_name(name))
    if found is None:
        raise OutOfRange(_unknown(name))
    if hardness_hrc is None or hardness_hrc <= SOFT_TO:
        return found
    if found.iso == "H" or (found.name in _HARDENABLE and HARD[0] <= hardness_hrc <= HARD[1]):
        return GROUPS["hardened tool steel"]
    raise OutOfRange(
        f"no cutting data here for {found.name} at {hardness_hrc:g} HRC: it has annealed material to {SOFT_TO:g} HRC "
        f"and tool steel of {HARD[0]:g} to {HARD[1]:g} HRC; machine it before hardening, grind it, or give your own "
        "proven values"
    )


def _group_name(name: str) -> str:
    text = " ".join(name.casefold().replace("-", " ").replace("_", " ").split())
    by_name = {" ".join(key.casefold().replace("-", " ").split()): key for key in GROUPS}
    by_name |= {key.removesuffix(", annealed"): group for key, group in by_name.items()}
    if text in by_name:
        return by_name[text]
    if text in _OTHER_NAMES:
        return _OTHER_NAMES[text]
    try:
        known = material(name).name
    except OutOfRange:
        return ""
    return _GROUP_OF.get(known.casefold(), "")


def _unknown(name: str) -> str:
    names = [*GROUPS, *_GROUP_OF]
    close = difflib.get_close_matches(name.casefold(), [n.casefold() for n in names], n=3, cutoff=0.5)
    nearest = [n for n in names if n.casefold() in close]
    hint = f"nearest: {', '.join(dict.fromkeys(nearest))}" if nearest else f"groups: {', '.join(GROUPS)}"
    return f"no cutting data here for '{name}'; {hint}, or give your own proven values"


class SpeedRange(NamedTuple):
    """Cutting speed by one source.

    Attributes:
        low: m/min.
        high: m/min; equal to low where the source prints one number.
        cut: 'rough', 'finish', 'slot', 'side' ...; '' where the source makes no difference.
        source: where it was read; begins with 'common practice' when a rule made it from another row.
        by_rule: True when it was made by a rule.
    """

    low: float
    high: float
    cut: str
    source: str
    by_rule: bool


class FeedRange(NamedTuple):
    """Feed by one source, mm; ``per`` is 'rev' or 'tooth'; the rest as :class:`SpeedRange`."""

    low: float
    high: float
    per: str
    cut: str
    source: str
    by_rule: bool


class _Rule(NamedTuple):
    """Where an operation or a tool has no row: take another's, times a range."""

    operation: str
    tool: str
    from_operation: str
    from_tool: str
    low: float
    high: float
    words: str


_ANY: Final = ""
_TWICE: Final = f"common practice: carbide at twice HSS ({SOURCES['griz']})"
_THRICE: Final = f"common practice: carbide at two to three times HSS ({SOURCES['navy']})"
_DIAMOND: Final = "common practice: diamond at 1 to 2 times carbide"
_RULES: Final = (
    _Rule("bore", _ANY, "turn", _ANY, 0.7, 1.0, "common practice: boring at 0.7 to 1 of turning"),
    _Rule("face", _ANY, "mill", _ANY, 1.0, 1.0, "common practice: face milling and fly cutting as milling"),
    _Rule(
        "ream", _ANY, "drill", _ANY, 1 / 3, 1 / 2, "common practice: reaming at a third to half of drilling"
    ),
    _Rule("mill", "HSS", "turn", "HSS", 0.7, 1.0, "common practice: milling at 0.7 to 1 of turning"),
    _Rule("turn", "HSS", "drill", "HSS", 1.0, 1.25, "common practice: turning at 1 to 1.25 of drilling"),
    _Rule("turn", _ANY, "mill", _ANY, 1.0, 1.0, "common practice: turning as milling"),
    _Rule("drill", "carbide", "drill", "HSS", 2.0, 3.0, _THRICE),
    _Rule("turn", "carbide", "turn", "HSS", 2.0, 2.0, _TWICE),
    _Rule("mill", "carbide", "mill", "HSS", 2.0, 2.0, _TWICE),
    _Rule("turn", "diamond", "turn", "carbide", 1.0, 2.0, _DIAMOND),
    _Rule("mill", "diamond", "mill", "carbide", 1.0, 2.0, _DIAMOND),
)


def speed_ranges(group: str | MaterialGroup, operation: str, tool: str) -> tuple[SpeedRange, ...]:
    """Cutting speeds by every source, or by a rule of the trade where none was found.

    Args:
        group: a group, its name, or a material's name.
        operation: one of :data:`OPERATIONS`.
        tool: one of :data:`TOOLS`.

    Returns:
        One range for each source and cut, m/min. They may differ widely; show them all.

    Raises:
        OutOfRange: an unknown name, a tool that does not cut the material, or no row and no rule.

    Source: each row's own, :mod:`loopwright.handbook.cutting_speeds_tables`. Checked in
    tests/published/test_littlemachineshop_speeds.py and the files beside it.

    >>> [(round(row.low), round(row.high), row.cut) for row in speed_ranges("304", "turn", "HSS")]
    [(35, 41, ''), (6, 12, 'rough'), (15, 24, 'finish'), (18, 55, '')]
    """
    known, op, edge = _asked(group, operation, tool)
    found = _speeds(known.name, op, edge, depth=2)
    if not found:
        raise OutOfRange(_nothing("speed", known, op, edge))
    return found


def _speeds(group: str, operation: str, tool: str, depth: int) -> tuple[SpeedRange, ...]:
    rows = tuple(
        SpeedRange(row.low * unit, row.high * unit, row.cut, SOURCES[row.source], by_rule=False)
        for row in PRINTED_SPEEDS
        if (row.group, row.operation, row.tool) == (group, operation, tool)
        for unit in [_FOOT if row.unit == "fpm" else 1.0]
    )
    if rows or not depth or (operation == "ream" and GROUPS[group].iso == "H"):
        return rows
    for rule in _rules_for(operation, tool):
        base = _speeds(group, rule.from_operation, rule.from_tool or tool, depth - 1)
        if base:
            return tuple(
                SpeedRange(
                    r.low * rule.low, r.high * rule.high, r.cut, f"{rule.words}; {r.source}", by_rule=True
                )
                for r in base
            )
    return ()


def _rules_for(operation: str, tool: str) -> list[_Rule]:
    return [rule for rule in _RULES if rule.operation == operation and rule.tool in (_ANY, tool)]


def envelope(ranges: tuple[SpeedRange, ...]) -> Band:
    """Lowest and highest speed of all the ranges, m/min: how far sources disagree, not a recommendation.

    Args:
        ranges: of :func:`speed_ranges`; not empty.

    Returns:
        The span, with every source.

    Raises:
        OutOfRange: no ranges.

    >>> round(envelope(speed_ranges("304", "turn", "HSS")).low, 1)
    6.1
    """
    if not ranges:
        raise OutOfRange("no ranges were given; ask speed_ranges for them first")
    sources = "; ".join(dict.fromkeys(row.source for row in ranges))
    return Band(min(row.low for row in ranges), max(row.high for row in ranges), sources)


_FEED_AS: Final = MappingProxyType({"bore": "turn", "face": "mill"})
"""Operations that feed as another one, common practice."""


def feed_ranges(
    group: str | MaterialGroup, operation: str, tool: str, diameter: float | None = None
) -> tuple[FeedRange, ...]:
    """Feeds by every source, or by a rule of the trade where none was found.

    Args:
        group: a group, its name, or a material's name.
        operation: one of :data:`OPERATIONS` but 'tap', which feeds its pitch, and 'saw', which is fed by force.
        tool: one of :data:`TOOLS`.
        diameter: of a rotating tool, mm; not needed to turn, bore or ream.

    Returns:
        One range for each source and cut, mm per revolution or per tooth.

    Raises:
        OutOfRange: an unknown name, no diameter where one is needed, or no row for that diameter.

    Source: each row's own, :mod:`loopwright.handbook.cutting_feeds_tables`.

    >>> [(round(row.low, 3), round(row.high, 3)) for row in feed_ranges("brass", "drill", "HSS", 5)]
    [(0.051, 0.102), (0.051, 0.152)]
    """
    known, op, edge = _asked(group, operation, tool)
    if op in ("tap", "saw"):
        raise OutOfRange(
            "a tap feeds its own pitch each revolution"
            if op == "tap"
            else "a saw is fed by force; see sawing_rate"
        )
    if diameter is not None:
        over_zero("a tool diameter", diameter, "mm")
    elif op not in ("turn", "bore", "ream"):
        raise OutOfRange(f"feeds to {op} depend on the tool's diameter; give it in mm")
    found = _feeds(known.name, op, edge, diameter)
    if not found:
        raise OutOfRange(_nothing("feed", known, op, edge, diameter))
    return found


def _feeds(group: str, operation: str, tool: str, diameter: float | None) -> tuple[FeedRange, ...]:
    own = _printed_feeds(group, operation, tool, diameter)
    if own:
        return own
    for words, base in _feeds_like(operation, tool):
        rows = _printed_feeds(group, *base, diameter)
        if rows:
            return tuple(row._replace(source=f"{words}; {row.source}", by_rule=True) for row in rows)
    return ()


def _feeds_like(operation: str, tool: str) -> list[tuple[str, tuple[str, str]]]:
    """Operations and tools whose feed is taken where there is none, nearest first, with the words to say."""
    base = _FEED_AS.get(operation, operation)
    found = [(base, tool)]
    for edge in ("HSS", "carbide"):
        found += [(operation, edge), (base, edge)]
    likely = [key for key in dict.fromkeys(found) if key != (operation, tool)]
    return [(f"common practice: as to {op} with {edge}", (op, edge)) for op, edge in likely]


def _printed_feeds(group: str, operation: str, tool: str, diameter: float | None) -> tuple[FeedRange, ...]:
    rows = (
        _feed(row, diameter)
        for row in PRINTED_FEEDS
        if row.group in (group, "any")
        and (row.operation, row.tool) == (operation, tool)
        and _fits(row, diameter)
    )
    return tuple(dict.fromkeys(rows))


def _fits(row: PrintedFeed, diameter: float | None) -> bool:
    if diameter is None:
        return row.over == 0 and not row.share
    return row.over * (1 - 1e-9) <= diameter <= row.end * (1 + 1e-9)


def _feed(row: PrintedFeed, diameter: float | None) -> FeedRange:
    along = 0.0
    if diameter is not None and 0 < row.over < row.end < float("inf"):
        along = (diameter - row.over) / (row.end - row.over)
    scale = diameter if row.share and diameter is not None else 1.0
    low, high = ((start + along * (end - start)) * scale for start, end in zip(row.at_over, row.at_end))
    return FeedRange(low, high, row.per, row.cut, SOURCES[row.source], by_rule=False)


def sawing_rate(group: str | MaterialGroup) -> Band:
    """Section that a production band saw cuts, cm²/min; a small saw does about a quarter.

    Args:
        group: a group, its name, or a material's name.

    Returns:
        The range.

    Raises:
        OutOfRange: no rate was found for the group.

    Source: band saw blade reference guide, bulletin 1037; the quarter is common practice.

    >>> round(sawing_rate("D2").low, 1)
    32.3
    """
    known = group if isinstance(group, MaterialGroup) else group_for(group)
    if known.name not in SAWING_RATES:
        raise OutOfRange(f"no sawing rate here for {known.name}; there are {', '.join(SAWING_RATES)}")
    low, high = SAWING_RATES[known.name]
    return Band(low * 6.4516, high * 6.4516, SOURCES["b1037"])


def _asked(group: str | MaterialGroup, operation: str, tool: str) -> tuple[MaterialGroup, str, str]:
    known = group if isinstance(group, MaterialGroup) else group_for(group)
    op = " ".join(operation.casefold().replace("_", " ").split())
    if op not in OPERATIONS:
        raise OutOfRange(
            f"no cutting data for an operation '{operation}'; use one of {', '.join(OPERATIONS)}"
        )
    edge = {t.casefold(): t for t in TOOLS}.get(tool.strip().casefold())
    if edge is None:
        raise OutOfRange(f"no cutting data for a tool of '{tool}'; use one of {', '.join(TOOLS)}")
    if edge == "diamond" and known.ferrous:
        raise OutOfRange(
            f"diamond does not last in {known.name}: its carbon goes into the iron; use carbide, or CBN when hard"
        )
    return known, op, edge


def _nothing(
    what: str, group: MaterialGroup, operation: str, tool: str, diameter: float | None = None
) -> str:
    size = "" if diameter is None else f" at {diameter:g} mm"
    tools = dict.fromkeys(
        row.tool for row in PRINTED_SPEEDS if (row.group, row.operation) == (group.name, operation)
    )
    there = (
        f"there are rows for {', '.join(tools)}" if tools else f"there are no rows at all to {operation} it"
    )
    return (
        f"no {what} was found to {operation} {group.name} with {tool}{size}; {there}; "
        "or give your own proven values"
    )
