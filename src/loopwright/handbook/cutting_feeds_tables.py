"""Feeds as printed, by group of material, operation and tool; each row with its source.

Three forms. A row gives a range, in some sources as a share of the cutter's diameter. A band gives a range
for tools between two diameters. A curve gives one feed at each of several diameters, and in between a
straight line. Groups and short names of sources are those of
:mod:`loopwright.handbook.cutting_speeds_tables`; the group ``any`` holds for all.
"""

from itertools import pairwise
from typing import Final, NamedTuple

INCH: Final = 25.4
_SOLID_TOOLS: Final = (1.0, 25.0)  # mm, for which a feed is printed as a share of the diameter

_ROWS: Final = """
= aluminium
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.015-0.025 in/rev    docs
turn HSS     finish  0.005-0.010 in/rev    docs
turn carbide -       0.03-0.20   mm/rev    kyo
turn diamond finish  0.05-0.15   mm/rev    kyo
face HSS     -       0.005-0.020 in/tooth  docs
= cast aluminium
face carbide -       0.10-0.30   mm/tooth  mem
turn HSS     rough   0.015-0.025 in/rev    docs
turn HSS     finish  0.005-0.010 in/rev    docs
face HSS     -       0.005-0.020 in/tooth  docs
= free-cutting steel
face carbide -       0.08-0.25   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.005-0.010 D/tooth   isc92
= mild steel
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.005-0.010 D/tooth   isc92
= medium carbon steel
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.005-0.010 D/tooth   isc92
= low alloy steel, annealed
face carbide -       0.08-0.25   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.003-0.008 D/tooth   isc92
= tool steel O1, annealed
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.003-0.008 D/tooth   isc92
= tool steel A2, annealed
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.003-0.008 D/tooth   isc92
= tool steel D2, annealed
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
mill carbide -       0.003-0.008 D/tooth   isc92
= hardened tool steel
face carbide -       0.03-0.10   mm/tooth  mem
turn CBN     finish  0.05-0.25   mm/rev    jeefoo
turn carbide finish  0.05-0.15   mm/rev    mem
drill carbide -      0.005-0.015 D/rev     mem
thread_mill carbide - 0.003-0.006 D/tooth  mem
= stainless steel 303
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.015-0.050 in/rev    tm
turn HSS     finish  0.005-0.015 in/rev    tm
turn carbide rough   0.010-0.030 in/rev    tm
turn carbide finish  0.005-0.015 in/rev    tm
mill carbide -       0.002-0.007 D/tooth   isc92
= stainless steel 304
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.020-0.040 in/rev    tm
turn HSS     finish  0.008-0.015 in/rev    tm
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
turn carbide rough   0.010-0.030 in/rev    tm
turn carbide finish  0.008-0.018 in/rev    tm
mill carbide -       0.002-0.007 D/tooth   isc92
= martensitic stainless steel
face carbide -       0.08-0.20   mm/tooth  mem
turn HSS     rough   0.015-0.040 in/rev    tm
turn HSS     finish  0.008-0.018 in/rev    tm
turn carbide rough   0.015-0.030 in/rev    tm
turn carbide finish  0.005-0.015 in/rev    tm
mill carbide -       0.002-0.007 D/tooth   isc92
= grey iron
face carbide -       0.10-0.30   mm/tooth  mem
turn HSS     rough   0.015-0.025 in/rev    docs
turn HSS     finish  0.005-0.010 in/rev    docs
turn carbide -       0.05-0.20   mm/rev    kyo
face HSS     -       0.004-0.016 in/tooth  docs
mill carbide -       0.005-0.010 D/tooth   isc92
= nodular iron
face carbide -       0.10-0.25   mm/tooth  mem
turn carbide -       0.05-0.20   mm/rev    kyo
mill carbide -       0.004-0.010 D/tooth   isc92
= brass
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.015-0.025 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
turn diamond finish  0.05-0.15   mm/rev    kyo
face HSS     -       0.004-0.020 in/tooth  docs
= bronze
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.015-0.025 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
turn diamond finish  0.05-0.15   mm/rev    kyo
face HSS     -       0.004-0.020 in/tooth  docs
= copper
turn carbide -       0.25-0.50   mm/rev    medh6
face carbide -       0.20-0.40   mm/tooth  medh6
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.004-0.008 in/rev    docs
turn diamond finish  0.05-0.15   mm/rev    kyo
= titanium
face carbide -       0.06-0.15   mm/tooth  mem
turn HSS     rough   0.010-0.020 in/rev    docs
turn HSS     finish  0.003-0.010 in/rev    docs
turn carbide -       0.03-0.20   mm/rev    kyo
turn diamond finish  0.03-0.10   mm/rev    kyo
mill carbide -       0.002-0.004 D/tooth   isc92
= acetal
turn carbide -       0.004-0.015 in/rev    curt
= polyamide
turn carbide -       0.004-0.020 in/rev    curt
turn HSS     -       0.10-0.25   mm/rev    medh
drill HSS    -       0.10-0.38   mm/rev    medh
= PTFE
turn carbide -       0.004-0.012 in/rev    curt
turn HSS     -       0.05-0.25   mm/rev    medh
drill HSS    -       0.10-0.38   mm/rev    medh
= phenolic fabric
turn HSS     -       0.10-0.30   mm/rev    mem
= glass-epoxy laminate
turn carbide -       0.05-0.20   mm/rev    mem
= any
ream HSS     -       0.002-0.003 in/tooth  proto
ream carbide -       0.002-0.003 in/tooth  proto
"""

# diameters, in | operation tool | feed, in/rev | source
_DRILL_BANDS: Final = """
0.0135-0.125 0.001-0.002 navy
0.125-0.25   0.002-0.004 navy
0.25-0.5     0.004-0.007 navy
0.5-1        0.007-0.015 navy
1-2.5        0.015-0.025 navy
0.0135-0.125 0.001-0.003 proto
0.125-0.25   0.002-0.006 proto
0.25-0.5     0.004-0.010 proto
0.5-1        0.007-0.015 proto
1-2.5        0.010-0.025 proto
"""

# end mills with a width of 0.1 to 0.4 D; diameters, mm: 6-8, 10-12, 16-20; feed, mm a tooth
_SIDE_MILL_BANDS: Final = """
mild steel                 | 0.045-0.09  0.09-0.11  0.1-0.12
medium carbon steel        | 0.045-0.09  0.09-0.11  0.1-0.12
low alloy steel, annealed  | 0.03-0.075  0.06-0.1   0.065-0.105
stainless steel 303        | 0.035-0.06  0.055-0.07 0.06-0.075
stainless steel 304        | 0.035-0.06  0.055-0.07 0.06-0.075
grey iron                  | 0.045-0.075 0.06-0.09  0.09-0.105
aluminium                  | 0.06-0.09   0.09-0.12  0.12-0.15
titanium                   | 0.045-0.06  0.055-0.07 0.075-0.12
hardened tool steel        | 0.02-0.055  0.045-0.07 0.06-0.09
"""
_SIDE_MILL_DIAMETERS: Final = ((6.0, 8.0), (10.0, 12.0), (16.0, 20.0))

# HSS end mills, 1/4 in and 1 in: feed, in a tooth
_NEWSON: Final = """
aluminium                    | 0.003  0.009
bronze                       | 0.003  0.007
grey iron                    | 0.003  0.008
mild steel                   | 0.001  0.004
low alloy steel, annealed    | 0.0005 0.003
stainless steel 304          | 0.001  0.004
martensitic stainless steel  | 0.0005 0.003
titanium                     | 0.002  0.004
phenolic fabric              | 0.004  0.010
"""

# carbide end mills; diameters, in; feed, in a tooth. For plastics the print has 0.001 at 3/4 in, between 0.008 and
# 0.015: a misprint, left out
_TORBIDE_SIZES: Final = (0.125, 0.1875, 0.25, 0.375, 0.5, 0.625, 0.75, 1.0)
_TORBIDE: Final = """
aluminium; cast aluminium                | .001 .002 .002 .003  .004 .005 .006 .007
brass; bronze; copper                    | .001 .001 .002 .0025 .003 .004 .004 .005
acetal; polyamide; PTFE; phenolic fabric | .001 .002 .003 .004  .006 .008 -    .015
"""

# thread mills; diameters, in; feed, in a tooth. For low carbon steel the print has 0.0001 at 1/4 in, between 0.0006
# and 0.0013: a misprint, left out
_THREAD_MILLS_USA_SIZES: Final = (0.125, 0.1875, 0.25, 0.3125, 0.375, 0.5, 0.625, 0.75)
_THREAD_MILLS_USA: Final = """
free-cutting steel; mild steel                     | .0003 .0006 -     .0013 .0017 .0020 .0027 .0035
medium carbon steel; low alloy steel, annealed     | .0003 .0006 .0010 .0012 .0015 .0018 .0025 .0032
tool steel A2, annealed; tool steel D2, annealed   | .0003 .0004 .0007 .0009 .0012 .0015 .0020 .0024
stainless steel 303; stainless steel 304           | .0003 .0004 .0006 .0008 .0011 .0015 .0020 .0025
martensitic stainless steel                        | .0003 .0004 .0005 .0007 .0010 .0014 .0018 .0022
grey iron                                          | .0004 .0006 .0009 .0011 .0014 .0020 .0028 .0035
nodular iron                                       | .0005 .0007 .0010 .0013 .0017 .0025 .0032 .0040
aluminium                                          | .0004 .0008 .0012 .0017 .0021 .0025 .0035 .0042
brass                                              | .0004 .0007 .0010 .0015 .0018 .0022 .0030 .0037
titanium                                           | .0003 .0004 .0006 .0008 .0011 .0013 .0018 .0022
"""

# router in glass-fibre laminate; feed in mm a revolution
_ROUTER: Final = "1.6 0.030 / 3 0.060 / 6 0.120 / 10 0.230 / 12 0.305"

_THREAD_MILL_DIAMETERS: Final = (1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 15.0)
# thread mills; feed in mm a tooth at the diameters above
_THREAD_MILLS: Final = """
low      | .05 .05 .07 .09 .11 .13 .14 .15 .16 .16 .17 .18 .18
high     | .04 .05 .06 .08 .09 .10 .12 .13 .14 .14 .16 .17 .18
alloy    | .04 .04 .05 .05 .06 .07 .07 .08 .09 .10 .12 .13 .14
stainless| .03 .03 .04 .05 .06 .06 .07 .08 .09 .10 .11 .12 .13
titanium | .03 .03 .04 .04 .05 .06 .06 .06 .07 .07 .07 .08 .08
plastic  | .10 .11 .12 .14 .16 .18 .19 .19 .19 .19 .19 .20 .20
"""
_THREAD_MILL_GROUPS: Final = {
    "low": ("free-cutting steel", "mild steel", "medium carbon steel", "grey iron", "nodular iron", "aluminium",
            "cast aluminium"),
    "high": ("tool steel O1, annealed",),
    "alloy": ("low alloy steel, annealed", "tool steel A2, annealed", "tool steel D2, annealed"),
    "stainless": ("stainless steel 303", "stainless steel 304", "martensitic stainless steel"),
    "titanium": ("titanium",),
    "plastic": ("acetal", "polyamide", "PTFE", "phenolic fabric", "glass-epoxy laminate"),
}  # fmt: skip


class PrintedFeed(NamedTuple):
    """One row: feed as mm, or as a share of the diameter, between two diameters.

    Attributes:
        group: of material, or 'any'.
        operation: as in the tables of speeds.
        tool: tool material.
        cut: 'rough', 'finish' ... or ''.
        over: least diameter, mm; 0 for any.
        end: greatest diameter, mm; inf for any.
        at_over: (low, high) feed at the least diameter, mm, or share of the diameter.
        at_end: the same at the greatest; in between on a straight line.
        per: 'rev' or 'tooth'.
        share: True when the feed is a share of the diameter.
        source: key of the source.
    """

    group: str
    operation: str
    tool: str
    cut: str
    over: float
    end: float
    at_over: tuple[float, float]
    at_end: tuple[float, float]
    per: str
    share: bool
    source: str


def _range(text: str, unit: float = 1.0) -> tuple[float, float]:
    low, high = (float(end) * unit for end in text.split("-"))
    return low, high


def _rows() -> list[PrintedFeed]:
    found, group = [], ""
    for line in _ROWS.strip().splitlines():
        if line.startswith("= "):
            group = line[2:]
            continue
        operation, tool, cut, feed, unit, source = line.split()
        scale, per = unit.split("/")
        ends = _range(feed, INCH if scale == "in" else 1.0)
        name = "" if cut == "-" else cut
        sizes = _SOLID_TOOLS if scale == "D" else (0.0, float("inf"))
        found.append(
            PrintedFeed(
                group,
                operation.replace("_", " "),
                tool,
                name,
                *sizes,
                ends,
                ends,
                per,
                scale == "D",
                source,
            )
        )
    return found


def _bands() -> list[PrintedFeed]:
    found = []
    for line in _DRILL_BANDS.strip().splitlines():
        sizes, feed, source = line.split()
        ends = _range(feed, INCH)
        found.append(
            PrintedFeed("any", "drill", "HSS", "", *_range(sizes, INCH), ends, ends, "rev", False, source)
        )
    for line in _SIDE_MILL_BANDS.strip().splitlines():
        group, feeds = (part.strip() for part in line.split("|"))
        for (over, end), feed in zip(_SIDE_MILL_DIAMETERS, feeds.split()):
            ends = _range(feed)
            found.append(
                PrintedFeed(group, "mill", "carbide", "side", over, end, ends, ends, "tooth", False, "tung")
            )
    return found


def _curve(
    group: str, operation: str, tool: str, points: list[tuple[float, float]], per: str, source: str
) -> list[PrintedFeed]:
    return [
        PrintedFeed(group, operation, tool, "", d, e, (f, f), (g, g), per, False, source)
        for (d, f), (e, g) in pairwise(points)
    ]


def _curves() -> list[PrintedFeed]:
    found = []
    for line in _NEWSON.strip().splitlines():
        group, feeds = (part.strip() for part in line.split("|"))
        small, large = (float(v) * INCH for v in feeds.split())
        found += _curve(group, "mill", "HSS", [(INCH / 4, small), (INCH, large)], "tooth", "newson")
    router = [(float(d), float(f)) for d, f in (point.split() for point in _ROUTER.split("/"))]
    for tool in ("carbide", "diamond"):
        found += _curve("glass-epoxy laminate", "mill", tool, router, "rev", "sgs")
    found += _inch_curves(_TORBIDE, _TORBIDE_SIZES, "mill", "torb")
    found += _inch_curves(_THREAD_MILLS_USA, _THREAD_MILLS_USA_SIZES, "thread mill", "tmusa")
    for line in _THREAD_MILLS.strip().splitlines():
        kind, feeds = (part.strip() for part in line.split("|"))
        points = list(zip(_THREAD_MILL_DIAMETERS, map(float, feeds.split())))
        for group in _THREAD_MILL_GROUPS[kind]:
            found += _curve(group, "thread mill", "carbide", points, "tooth", "iscth")
    return found


def _inch_curves(text: str, sizes: tuple[float, ...], operation: str, source: str) -> list[PrintedFeed]:
    found = []
    for line in text.strip().splitlines():
        groups, feeds = (part.strip() for part in line.split("|"))
        points = [(d * INCH, float(f) * INCH) for d, f in zip(sizes, feeds.split()) if f != "-"]
        for group in groups.split("; "):
            found += _curve(group, operation, "carbide", points, "tooth", source)
    return found


PRINTED_FEEDS: Final = (*_rows(), *_bands(), *_curves())
"""Every row."""
