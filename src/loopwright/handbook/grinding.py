"""Grinding: wheel speed and its limit, work speed, in-feed, minutes for an allowance, equivalent chip.

A wheel is never run above what is marked on it; whoever asks for more is refused. Speeds of wheels are m/s,
of table and work m/min, in-feed mm as the wheel moves, which on a cylinder takes twice as much off the
diameter.
"""

from math import ceil, inf, pi
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_checks import at_least_zero, over_zero, whole_number, within

HAZARD: Final = "grinding wheel"
"""Name in :mod:`loopwright.handbook.cautions` of what to print beside every grinding op."""

_MH_SURFACE: Final = "Machinery's Handbook, 31st edition, p. 1329, table 3"
_MH_CYLINDER: Final = "Machinery's Handbook, 31st edition, p. 1318, table 3"
_MEMORY: Final = "the same table, from memory"
_PRACTICE: Final = (
    "common practice, from memory; no print was seen: begin at the fine end and watch for burns"
)
FEET: Final = 0.3048
INCH: Final = 25.4

USUAL_WHEEL_SPEED: Final = (5500 * FEET / 60, 6500 * FEET / 60)
"""Usual speed of a vitrified wheel, m/s: 5500 to 6500 ft/min. Machinery's Handbook, 31st edition, p. 1329."""

SPARK_OUT: Final = MappingProxyType({"surface": (2, 4), "cylinder": (2, 6)})
"""Passes without in-feed at the end, (few, many). Common practice: until the sparks have died."""


def wheel_speed(diameter: float, rpm: float) -> float:
    """Surface speed of a wheel, m/s.

    Args:
        diameter: of the wheel, mm.
        rpm: of the spindle.

    Returns:
        m/s.

    Raises:
        OutOfRange: a number that is none.

    >>> round(wheel_speed(200, 2850), 1)
    29.8
    """
    over_zero("a wheel diameter", diameter, "mm")
    return pi * diameter / 1000 * over_zero("a spindle speed", rpm, "rpm") / 60


def rpm_limit(diameter: float, rated_speed: float) -> float:
    """Greatest spindle speed of a wheel of that diameter, rpm, from its rated surface speed.

    A worn wheel may turn faster by this, if the speed marked on it in m/s is kept; the rpm marked on it hold for
    the new one and are the safe limit.

    Args:
        diameter: of the wheel as it is, mm.
        rated_speed: marked on the wheel, m/s.

    Returns:
        rpm.

    Raises:
        OutOfRange: a number that is none.

    Source: ANSI B7.1, 7.1.1 (the original surface speed must never be exceeded). Checked in
    tests/published/test_novoabrasive_wheel_speeds.py.

    >>> int(rpm_limit(200, 35))
    3342
    """
    over_zero("a wheel diameter", diameter, "mm")
    return over_zero("a rated speed", rated_speed, "m/s") * 60_000 / (pi * diameter)


def checked_wheel_speed(
    diameter: float, rpm: float, *, rated_speed: float | None = None, rated_rpm: float | None = None
) -> float:
    """Surface speed of a wheel, m/s, or a refusal if the wheel may not turn so fast.

    Args:
        diameter: of the wheel, mm.
        rpm: of the spindle.
        rated_speed: marked on the wheel, m/s.
        rated_rpm: marked on the wheel, rpm. One of the two must be given; both are kept.

    Returns:
        m/s.

    Raises:
        OutOfRange: above either rating, or no rating was given.

    Source: ANSI B7.1, 7.1.1; 29 CFR 1910.215 (d)(1).

    >>> round(checked_wheel_speed(200, 2850, rated_speed=35), 1)
    29.8
    """
    speed = wheel_speed(diameter, rpm)
    if rated_speed is None and rated_rpm is None:
        raise OutOfRange(
            "a wheel without a known rating is not run; give the speed marked on it, in m/s or rpm"
        )
    allowed = min(
        inf if rated_speed is None else rpm_limit(diameter, rated_speed),
        inf if rated_rpm is None else over_zero("a rated speed", rated_rpm, "rpm"),
    )
    if rpm > allowed:
        raise OutOfRange(
            f"{rpm:g} rpm ({speed:.1f} m/s) is above the rating of this {diameter:g} mm wheel, {allowed:.0f} rpm "
            f"({wheel_speed(diameter, allowed):.1f} m/s): it can burst; slow the spindle down or mount a wheel "
            "rated for it"
        )
    return speed


class GrindingRow(NamedTuple):
    """Starting values of a grinding op.

    Attributes:
        process: 'surface', 'traverse' (cylinder, along) or 'plunge' (cylinder, straight in).
        material: and condition, as printed.
        wheel_speed: m/s, (low, high).
        work_speed: table speed, or surface speed of the work, m/min, (low, high).
        rough: in-feed of a roughing pass, mm (for 'plunge': for each turn of the work).
        finish: in-feed of a finishing pass, mm, (low, high).
        step_rough: cross-feed for each pass, or traverse for each turn of the work, as a share of the wheel's
            width, when roughing; 0 for plunge.
        step_finish: the same when finishing.
        source: where the row was read.
    """

    process: str
    material: str
    wheel_speed: tuple[float, float]
    work_speed: tuple[float, float]
    rough: float
    finish: tuple[float, float]
    step_rough: float
    step_finish: float
    source: str


# material | work speed, ft/min | rough, finish low high, 0.0001 in | step rough, finish | source | wheel, ft/min
_SURFACE: Final = """
plain carbon steel, annealed, to 52 HRC         | 50 100 | 30 5 5  | 4 4   | read
plain carbon steel, hardened, 52 to 65 HRC      | 50 100 | 30 5 5  | 10 10 | read
alloy steel, annealed or tempered, to 52 HRC    | 50 100 | 30 10 10| 4 4   | read
alloy steel, hardened, 52 to 65 HRC             | 50 100 | 30 5 5  | 10 10 | memory
tool steel, annealed                            | 50 100 | 20 5 5  | 5 5   | memory
tool steel, hardened, 56 to 65 HRC              | 50 100 | 20 5 5  | 10 10 | memory
cast iron, grey and ductile                     | 50 100 | 30 5 10 | 3 6   | practice
stainless steel, annealed                       | 50 100 | 20 5 10 | 4 8   | practice
stainless steel, hardened                       | 50 100 | 10 3 5  | 8 10  | practice
titanium alloys                                 | 40 60  | 10 2 5  | 6 10  | practice | 1500 2000
"""

_TRAVERSE: Final = """
plain carbon steel, annealed                    | 100 100 | 20 5 5 | 2 6   | read
plain carbon steel, hardened                    | 70 70   | 20 3 5 | 4 8   | read
alloy steel, annealed                           | 100 100 | 20 5 5 | 2 6   | read
alloy steel, hardened                           | 70 70   | 20 2 5 | 4 8   | read
tool steel, annealed                            | 60 60   | 20 5 5 | 2 6   | read
tool steel, hardened                            | 50 50   | 20 1 5 | 4 8   | read
copper alloys, annealed or cold drawn           | 100 100 | 20 5 5 | 3 6   | read
aluminium alloys, cold drawn or solution treated| 150 150 | 20 5 5 | 3 6   | read
cast iron, grey and ductile                     | 60 100  | 20 5 5 | 3 6   | practice
stainless steel, annealed                       | 60 100  | 10 3 5 | 3 6   | practice
stainless steel, hardened                       | 50 70   | 10 1 5 | 4 8   | practice
titanium alloys                                 | 40 60   | 10 1 3 | 5 10  | practice | 1500 2000
"""

# in-feed for each turn of the work; work speed of the traverse rows
_PLUNGE: Final = """
steel, soft                                     | 100 100 | 5 2 2         | 0 0 | read
plain carbon steel, hardened                    | 70 70   | 2 0.5 0.5     | 0 0 | read
alloy and tool steel, hardened                  | 50 70   | 1 0.25 0.25   | 0 0 | read
"""


def _rows(process: str, text: str, source: str) -> tuple[GrindingRow, ...]:
    found = []
    for line in text.strip().splitlines():
        material, work, infeed, step, read, *wheel = (cell.strip() for cell in line.split("|"))
        low, high = (float(v) * FEET for v in work.split())
        rough, fine, coarse = (float(v) * INCH / 1e4 for v in infeed.split())
        parts = [0.0 if v == "0" else 1 / float(v) for v in step.split()]
        where = {"read": source, "memory": f"{source}; {_MEMORY}", "practice": _PRACTICE}[read]
        slow, fast = (float(v) * FEET / 60 for v in wheel[0].split()) if wheel else USUAL_WHEEL_SPEED
        found.append(
            GrindingRow(
                process,
                material,
                (slow, fast),
                (low, high),
                rough,
                (fine, coarse),
                parts[0],
                parts[1],
                where,
            )
        )
    return tuple(found)


GRINDING_ROWS: Final = (
    *_rows("surface", _SURFACE, _MH_SURFACE),
    *_rows("traverse", _TRAVERSE, _MH_CYLINDER),
    *_rows("plunge", _PLUNGE, _MH_CYLINDER),
)
"""Starting values by process and material."""

Process = Literal["surface", "traverse", "plunge"]


def grinding_rows(process: Process, words: str) -> tuple[GrindingRow, ...]:
    """Every row of a process whose material has all of the words.

    Args:
        process: 'surface', 'traverse' or 'plunge'.
        words: as 'tool steel hardened'.

    Returns:
        The rows.

    Raises:
        OutOfRange: no such process or row.

    Source: each row's own. Checked in tests/published/test_machinerys_handbook_grinding.py.

    >>> [round(row.rough, 3) for row in grinding_rows("traverse", "tool steel hardened")]
    [0.051]
    """
    of_process = [row for row in GRINDING_ROWS if row.process == process]
    wanted = words.casefold().replace(",", " ").split()
    found = tuple(
        row
        for row in of_process
        if all(w in row.material.casefold().replace(",", " ").split() for w in wanted)
    )
    if not found:
        known = "; ".join(row.material for row in of_process or GRINDING_ROWS)
        raise OutOfRange(f"no {process} grinding row for '{words}'; there are: {known}")
    return found


class GrindingTime(NamedTuple):
    """Passes with in-feed, passes of spark-out, and minutes of grinding; dressing and gauging are not in it."""

    passes: int
    spark_out: int
    minutes: float


def surface_minutes(
    length: float,
    width: float,
    *,
    stock: float = 0.05,
    infeed: float,
    table_speed: float,
    crossfeed: float,
    wheel_width: float,
    overrun: float = 50.0,
    spark_out: int = 3,
    both_ways: bool = True,
) -> GrindingTime:
    """Minutes to take a thickness off a flat surface with a reciprocating table.

    Args:
        length: along the table, mm.
        width: across, mm.
        stock: thickness to take off, mm.
        infeed: for each pass over the whole surface, mm.
        table_speed: m/min.
        crossfeed: for each stroke, mm, up to the width of the wheel.
        wheel_width: mm; the wheel runs off the surface by half its width on both sides.
        overrun: of the table, both ends together, mm.
        spark_out: passes without in-feed at the end.
        both_ways: True when the cross-feed comes at each end of the stroke, False when only at one.

    Returns:
        Passes and minutes.

    Raises:
        OutOfRange: a number that is none, or a cross-feed wider than the wheel.

    Source: strokes times way over speed.

    >>> surface_minutes(200, 100, infeed=0.0125, table_speed=15, crossfeed=5, wheel_width=20).passes
    4
    """
    for what, value, unit in (
        ("a length", length, "mm"),
        ("a width", width, "mm"),
        ("a table speed", table_speed, "m/min"),
        ("a wheel width", wheel_width, "mm"),
        ("a cross-feed", crossfeed, "mm"),
    ):
        over_zero(what, value, unit)
    at_least_zero("an overrun", overrun, "mm")
    within("a cross-feed", crossfeed, 0, wheel_width, "mm", "a wider one leaves strips unground")
    strokes = ceil((width + wheel_width) / crossfeed * (1 - 1e-9))
    one = strokes * (1 if both_ways else 2) * (length + overrun) / (1000 * table_speed)
    return _times(one, stock, infeed, spark_out)


def cylinder_minutes(
    length: float,
    diameter: float,
    *,
    stock: float = 0.05,
    infeed: float,
    work_speed: float,
    traverse: float,
    wheel_width: float,
    spark_out: int = 3,
) -> GrindingTime:
    """Minutes to take stock off a cylinder by traverse grinding, one in-feed for each pass along it.

    Args:
        length: ground, mm.
        diameter: of the work, outside or inside, mm.
        stock: on the diameter, mm.
        infeed: of the wheel for each pass, on the radius, mm.
        work_speed: surface speed of the work, m/min.
        traverse: along the work for each of its turns, mm, up to the width of the wheel.
        wheel_width: mm; the wheel runs off by a third of it at both ends.
        spark_out: passes without in-feed at the end.

    Returns:
        Passes and minutes.

    Raises:
        OutOfRange: a number that is none, or a traverse wider than the wheel.

    Source: turns times way over speed; run-off of a third is common practice.

    >>> cylinder_minutes(60, 50, infeed=0.005, work_speed=15, traverse=5, wheel_width=20).passes
    5
    """
    over_zero("a length", length, "mm")
    over_zero("a diameter", diameter, "mm")
    over_zero("a work speed", work_speed, "m/min")
    over_zero("a traverse", traverse, "mm")
    within(
        "a traverse",
        traverse,
        0,
        over_zero("a wheel width", wheel_width, "mm"),
        "mm",
        "a wider one leaves a thread",
    )
    turns = (length + 2 / 3 * wheel_width) / traverse
    one = turns * pi * diameter / (1000 * work_speed)
    return _times(one, stock / 2, infeed, spark_out)


def plunge_minutes(
    diameter: float, *, stock: float = 0.05, infeed: float, work_speed: float, dwell: int = 10
) -> float:
    """Minutes to plunge a wheel into a cylinder.

    Args:
        diameter: of the work, mm.
        stock: on the diameter, mm.
        infeed: of the wheel for each turn of the work, on the radius, mm.
        work_speed: surface speed of the work, m/min.
        dwell: turns without in-feed at the end.

    Returns:
        Minutes.

    Raises:
        OutOfRange: a number that is none.

    >>> round(plunge_minutes(50, infeed=0.0025, work_speed=15), 3)
    0.209
    """
    over_zero("a diameter", diameter, "mm")
    over_zero("a stock", stock, "mm")
    at_least_zero("a dwell", dwell, "turns")
    turns = stock / 2 / over_zero("an in-feed", infeed, "mm") + dwell
    return turns * pi * diameter / (1000 * over_zero("a work speed", work_speed, "m/min"))


def _times(one_pass: float, stock: float, infeed: float, spark_out: int) -> GrindingTime:
    over_zero("a stock", stock, "mm")
    over_zero("an in-feed", infeed, "mm")
    at_least_zero("a number of spark-out passes", spark_out, "passes")
    passes = whole_number("a number of passes", ceil(stock / infeed * (1 - 1e-9)))
    return GrindingTime(passes, int(spark_out), (passes + int(spark_out)) * one_pass)


def removal_rate(infeed: float, work_speed: float) -> float:
    """Specific removal rate Q' = a v_w, mm³ a second for each mm of wheel; in-feed in mm, work speed in m/min.

    >>> round(removal_rate(0.0125, 15), 3)
    3.125
    """
    over_zero("an in-feed", infeed, "mm")
    return infeed * over_zero("a work speed", work_speed, "m/min") * 1000 / 60


def equivalent_chip(infeed: float, work_speed: float, wheel_speed_m_s: float) -> float:
    r"""Equivalent chip thickness, mm: what the wheel takes, spread over the length that passes.

    .. math:: h_{eq} = a\, v_w / v_s

    Roughness, force and heat go with it; 0.00005 to 0.0005 mm from finish to rough is usual (from memory).

    Args:
        infeed: a, mm.
        work_speed: v_w, m/min.
        wheel_speed_m_s: v_s, m/s.

    Returns:
        mm.

    Raises:
        OutOfRange: a number that is none.

    Source: R. Snoeys and J. Peters, CIRP Annals 23 (1974) 227 (from memory).

    >>> round(equivalent_chip(0.0125, 15, 30) * 1000, 4)
    0.1042
    """
    over_zero("a wheel speed", wheel_speed_m_s, "m/s")
    return removal_rate(infeed, work_speed) / (wheel_speed_m_s * 1000)
