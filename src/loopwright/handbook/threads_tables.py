"""Sizes of ISO 261, ISO 262 and ASME B1.1, and the tolerances of ISO 965-1, as the standards print them.

The tolerances of ISO 965-1 are data, not formulas. Its formulas (Td = 180 P^2/3 - 3.15/√P, Td2 = 90 P^0.4
d^0.1, TD2 = 1.32 Td2, TD1 = 433 P - 190 P^1.22 up to 0.8 mm and 230 P^0.7 above, es(e) = -(50 + 11 P), es(f)
= -(30 + 11 P), es(g) = -(15 + 11 P)), rounded to the R40 series, give the grade 6 that is printed, except
where the standard smoothed its progression: Td2 of P 0.5 and of P 5, TD1 of P 0.5, 1 and 2.5, Td of P 4, and
some deviations by one or two steps (tests/laws/test_thread_laws.py lists them).

Where the numbers come from: from memory, held against those formulas and against the limits of ISO 965-2 that
were found in print (tests/published/test_iso_965.py says which and where). ISO 261, ISO 262 and the sizes of
ASME B1.1: from memory.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

Cell = float | None

_ISO_261: Final = """
1.6 1 0.35 0.2
1.8 2 0.35 0.2
2   1 0.4  0.25
2.2 2 0.45 0.25
2.5 1 0.45 0.35
3   1 0.5  0.35
3.5 2 0.6  0.35
4   1 0.7  0.5
4.5 2 0.75 0.5
5   1 0.8  0.5
5.5 3 -    0.5
6   1 1    0.75
7   2 1    0.75
8   1 1.25 1 0.75
9   3 1.25 1 0.75
10  1 1.5  1.25 1 0.75
11  3 1.5  1 0.75
12  1 1.75 1.5 1.25 1
14  2 2    1.5 1.25 1
15  3 -    1.5 1
16  1 2    1.5 1
17  3 -    1.5 1
18  2 2.5  2 1.5 1
20  1 2.5  2 1.5 1
22  2 2.5  2 1.5 1
24  1 3    2 1.5 1
25  3 -    2 1.5 1
26  3 -    1.5
27  2 3    2 1.5 1
28  3 -    2 1.5 1
30  1 3.5  3 2 1.5 1
32  3 -    2 1.5
33  2 3.5  3 2 1.5
35  3 -    1.5
36  1 4    3 2 1.5
38  3 -    1.5
39  2 4    3 2 1.5
40  3 -    3 2 1.5
42  1 4.5  4 3 2 1.5
45  2 4.5  4 3 2 1.5
48  1 5    4 3 2 1.5
50  3 -    3 2 1.5
52  2 5    4 3 2 1.5
55  3 -    4 3 2 1.5
56  1 5.5  4 3 2 1.5
58  3 -    4 3 2 1.5
60  2 5.5  4 3 2 1.5
62  3 -    4 3 2 1.5
64  1 6    4 3 2 1.5
"""

_ISO_262: Final = """
1.6 2 2.5 3 3.5 4 5 6 7 8/1 10/1.25/1 12/1.5/1.25 14/1.5 16/1.5 18/2/1.5 20/2/1.5 22/2/1.5 24/2 27/2 30/2
33/2 36/3 39/3 42/3 45/3 48/3 52/4 56/4 60/4 64/4
"""

# P | EI of G | es of e f g, all without sign | Td grades 4 6 8 | TD1 grades 4 to 8; µm
_BY_PITCH: Final = """
0.2  | 17 | -   -  17 | 36  56  -   | 38  -   -   -    -
0.25 | 18 | -   -  18 | 42  67  -   | 45  56  -   -    -
0.35 | 19 | -   34 19 | 53  85  -   | 63  80  100 -    -
0.4  | 19 | -   34 19 | 60  95  -   | 71  90  112 -    -
0.45 | 20 | -   35 20 | 63  100 -   | 80  100 125 -    -
0.5  | 20 | 50  36 20 | 67  106 -   | 90  112 140 180  -
0.6  | 21 | 53  36 21 | 80  125 -   | 100 125 160 200  -
0.7  | 22 | 56  38 22 | 90  140 -   | 112 140 180 224  -
0.75 | 22 | 56  38 22 | 90  140 -   | 118 150 190 236  -
0.8  | 24 | 60  38 24 | 95  150 236 | 125 160 200 250  315
1    | 26 | 60  40 26 | 112 180 280 | 150 190 236 300  375
1.25 | 28 | 63  42 28 | 132 212 335 | 170 212 265 335  425
1.5  | 32 | 67  45 32 | 150 236 375 | 190 236 300 375  475
1.75 | 34 | 71  48 34 | 170 265 425 | 212 265 335 425  530
2    | 38 | 71  52 38 | 180 280 450 | 236 300 375 475  600
2.5  | 42 | 80  58 42 | 212 335 530 | 280 355 450 560  710
3    | 48 | 85  63 48 | 236 375 600 | 315 400 500 630  800
3.5  | 53 | 90  70 53 | 265 425 670 | 355 450 560 710  900
4    | 60 | 95  75 60 | 300 475 750 | 375 475 600 750  950
4.5  | 63 | 100 80 63 | 315 500 800 | 425 530 670 850  1060
5    | 71 | 106 85 71 | 335 530 850 | 450 560 710 900  1120
5.5  | 75 | 112 90 75 | 355 560 900 | 475 600 750 950  1180
6    | 80 | 118 95 80 | 375 600 950 | 500 630 800 1000 1250
"""

# up to this diameter, P | Td2 grades 3 to 9 | TD2 grades 4 to 8; µm
_BY_DIAMETER: Final = """
2.8  0.2  | 25  32  40  50  -   -   -   | 42  -   -   -   -
2.8  0.25 | 28  36  45  56  -   -   -   | 48  60  -   -   -
2.8  0.35 | 32  40  50  63  80  -   -   | 53  67  85  -   -
2.8  0.4  | 34  42  53  67  85  -   -   | 56  71  90  -   -
2.8  0.45 | 36  45  56  71  90  -   -   | 60  75  95  -   -
5.6  0.35 | 34  42  53  67  85  -   -   | 56  71  90  -   -
5.6  0.5  | 38  48  60  75  95  -   -   | 63  80  100 125 -
5.6  0.6  | 42  53  67  85  106 -   -   | 71  90  112 140 -
5.6  0.7  | 45  56  71  90  112 -   -   | 75  95  118 150 -
5.6  0.75 | 45  56  71  90  112 -   -   | 75  95  118 150 -
5.6  0.8  | 48  60  75  95  118 150 190 | 80  100 125 160 200
11.2 0.75 | 50  63  80  100 125 -   -   | 85  106 132 170 -
11.2 1    | 56  71  90  112 140 180 224 | 95  118 150 190 236
11.2 1.25 | 60  75  95  118 150 190 236 | 100 125 160 200 250
11.2 1.5  | 67  85  106 132 170 212 265 | 112 140 180 224 280
22.4 1    | 60  75  95  118 150 190 236 | 100 125 160 200 250
22.4 1.25 | 67  85  106 132 170 212 265 | 112 140 180 224 280
22.4 1.5  | 71  90  112 140 180 224 280 | 118 150 190 236 300
22.4 1.75 | 75  95  118 150 190 236 300 | 125 160 200 250 315
22.4 2    | 80  100 125 160 200 250 315 | 132 170 212 265 335
22.4 2.5  | 85  106 132 170 212 265 335 | 140 180 224 280 355
45   1    | 63  80  100 125 160 200 250 | 106 132 170 212 -
45   1.5  | 75  95  118 150 190 236 300 | 125 160 200 250 315
45   2    | 85  106 132 170 212 265 335 | 140 180 224 280 355
45   3    | 100 125 160 200 250 315 400 | 170 212 265 335 425
45   3.5  | 106 132 170 212 265 335 425 | 180 224 280 355 450
45   4    | 112 140 180 224 280 355 450 | 190 236 300 375 475
45   4.5  | 118 150 190 236 300 375 475 | 200 250 315 400 500
90   1.5  | 80  100 125 160 200 250 315 | 132 170 212 265 335
90   2    | 90  112 140 180 224 280 355 | 150 190 236 300 375
90   3    | 106 132 170 212 265 335 425 | 180 224 280 355 450
90   4    | 118 150 190 236 300 375 475 | 200 250 315 400 500
90   5    | 125 160 200 250 315 400 500 | 212 265 335 425 530
90   5.5  | 132 170 212 265 335 425 530 | 224 280 355 450 560
90   6    | 140 180 224 280 355 450 560 | 236 300 375 475 600
"""

_UNIFIED: Final = {
    "UNC": """#1-64, #2-56, #3-48, #4-40, #5-40, #6-32, #8-32, #10-24, #12-24, 1/4-20, 5/16-18, 3/8-16, 7/16-14,
        1/2-13, 9/16-12, 5/8-11, 3/4-10, 7/8-9, 1-8, 1 1/8-7, 1 1/4-7, 1 3/8-6, 1 1/2-6, 1 3/4-5, 2-4.5,
        2 1/4-4.5, 2 1/2-4, 2 3/4-4, 3-4, 3 1/4-4, 3 1/2-4, 3 3/4-4, 4-4""",
    "UNF": """#0-80, #1-72, #2-64, #3-56, #4-48, #5-44, #6-40, #8-36, #10-32, #12-28, 1/4-28, 5/16-24, 3/8-24,
        7/16-20, 1/2-20, 9/16-18, 5/8-18, 3/4-16, 7/8-14, 1-12, 1 1/8-12, 1 1/4-12, 1 3/8-12, 1 1/2-12""",
    "UNEF": """#12-32, 1/4-32, 5/16-32, 3/8-32, 7/16-28, 1/2-28, 9/16-24, 5/8-24, 11/16-24, 3/4-20, 13/16-20,
        7/8-20, 15/16-20, 1-20, 1 1/16-18, 1 1/8-18, 1 3/16-18, 1 1/4-18, 1 5/16-18, 1 3/8-18, 1 7/16-18,
        1 1/2-18, 1 9/16-18, 1 5/8-18, 1 11/16-18""",
}


class MetricSize(NamedTuple):
    """One diameter of ISO 261.

    Attributes:
        choice: 1, 2 or 3, the column it stands in; 1 is to be preferred.
        coarse: coarse pitch, mm, or None.
        fine: fine pitches, mm, largest first.
    """

    choice: int
    coarse: float | None
    fine: tuple[float, ...]

    @property
    def pitches(self) -> tuple[float, ...]:
        """Every pitch, mm, largest first."""
        return self.fine if self.coarse is None else (self.coarse, *self.fine)


class UnifiedSize(NamedTuple):
    """One thread of ASME B1.1.

    Attributes:
        size: '#10', '1/4', '1 1/8'.
        diameter_in: basic major diameter, in.
        threads_per_inch: as its name says.
        series: 'UNC', 'UNF' or 'UNEF'.
    """

    size: str
    diameter_in: float
    threads_per_inch: float
    series: str


@dataclass(frozen=True, slots=True)
class PitchRow:
    """What ISO 965-1 fixes by pitch alone, µm.

    Attributes:
        shift: EI of G and H, es of e, f, g and h, by letter, with its sign.
        major: Td by grade.
        minor: TD1 by grade.
    """

    shift: Mapping[str, float]
    major: Mapping[int, float]
    minor: Mapping[int, float]


@dataclass(frozen=True, slots=True)
class PitchDiameterRow:
    """Tolerances of the pitch diameter (ISO 965-1), µm, by grade: Td2 of screws, TD2 of nuts."""

    external: Mapping[int, float]
    internal: Mapping[int, float]


def inches(size: str) -> float:
    """Basic major diameter, in, of a size as ASME B1.1 names it: '#10', '1/4', '1 1/8', '4'."""
    if size.startswith("#"):
        return round(0.06 + 0.013 * int(size[1:]), 4)
    whole = 0.0
    for part in size.split():
        above, _, below = part.partition("/")
        whole += int(above) / int(below or 1)
    return whole


def _numbers(text: str) -> list[Cell]:
    return [None if cell == "-" else float(cell) for cell in text.split()]


def _graded(text: str, grades: range) -> Mapping[int, float]:
    cells = zip(grades, _numbers(text))
    return MappingProxyType({grade: cell for grade, cell in cells if cell is not None})


def _metric_sizes() -> Mapping[float, MetricSize]:
    found = {}
    for line in _ISO_261.strip().splitlines():
        diameter, choice, coarse, *fine = line.split()
        main = None if coarse == "-" else float(coarse)
        found[float(diameter)] = MetricSize(int(choice), main, tuple(float(cell) for cell in fine))
    return MappingProxyType(found)


def _selected() -> frozenset[tuple[float, float]]:
    found = set()
    for cell in _ISO_262.split():
        diameter, *fine = (float(part) for part in cell.split("/"))
        coarse = METRIC_SIZES[diameter].coarse
        found |= {(diameter, pitch) for pitch in fine} | ({(diameter, coarse)} if coarse else set())
    return frozenset(found)


def _pitch_row(shifts: str, of_g: str, major: str, minor: str) -> PitchRow:
    external = {letter: -cell for letter, cell in zip("efg", _numbers(shifts)) if cell is not None}
    shift = MappingProxyType({**external, "h": 0.0, "H": 0.0, "G": float(of_g)})
    return PitchRow(shift, _graded(major, range(4, 9, 2)), _graded(minor, range(4, 9)))


def _by_pitch() -> Mapping[float, PitchRow]:
    rows = (line.split("|") for line in _BY_PITCH.strip().splitlines())
    return MappingProxyType(
        {float(pitch): _pitch_row(shifts, of_g, major, minor) for pitch, of_g, shifts, major, minor in rows}
    )


def _by_diameter() -> Mapping[tuple[float, float], PitchDiameterRow]:
    found = {}
    for line in _BY_DIAMETER.strip().splitlines():
        head, external, internal = line.split("|")
        end, pitch = (float(part) for part in head.split())
        found[end, pitch] = PitchDiameterRow(_graded(external, range(3, 10)), _graded(internal, range(4, 9)))
    return MappingProxyType(found)


def _unified(series: str, text: str) -> list[UnifiedSize]:
    names = (" ".join(cell.split()).rsplit("-", 1) for cell in text.split(","))
    return [UnifiedSize(size, inches(size), float(tpi), series) for size, tpi in names]


METRIC_SIZES: Final = _metric_sizes()
"""ISO 261 from M1.6 to M64 by nominal diameter, mm."""

SELECTED: Final = _selected()
"""(diameter, pitch), mm, of the sizes that ISO 262 selects for screws, bolts and nuts."""

BY_PITCH: Final = _by_pitch()
"""ISO 965-1: fundamental deviations, Td and TD1, by pitch, mm."""

DIAMETER_STEPS: Final = (2.8, 5.6, 11.2, 22.4, 45.0, 90.0)
"""Upper end of each step of diameters in ISO 965-1, mm; the first begins over 1.4."""

BY_DIAMETER: Final = _by_diameter()
"""ISO 965-1: Td2 and TD2 by (upper end of the diameter step, pitch), mm."""

UNIFIED_SIZES: Final = tuple(row for series, text in _UNIFIED.items() for row in _unified(series, text))
"""ASME B1.1: the coarse, fine and extra-fine series, #0 to 4 in."""
