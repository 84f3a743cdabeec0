"""Evaluations round a turn: tram, run-out with eccentricity and lobes, a spindle with its test ball."""

from dataclasses import replace
from math import inf, pi

from loopwright.measuring.lobes import Lobe, lobes
from loopwright.measuring.reversal import spindle_reversal
from loopwright.measuring.turning import Runout, runout, tram, tram_across
from loopwright.studies.evaluating_forms import (
    FIRST,
    HEIGHT,
    SECOND,
    TURN,
    Heading,
    Kind,
    Outcome,
    Read,
    Result,
    Setting,
    Table,
    U,
    Wanted,
    table_of,
    with_u,
)
from loopwright.studies.evaluating_lines import DROPS_OUT, HIGH_AND_LOW
from loopwright.units import Dimension

ANGLE = Dimension.ANGLE

LOCKED_OUT = "Lock out the spindle drive, and turn by hand."
HANDS_OFF = (
    "Never touch a running spindle or part with an indicator; keep sleeves and hair away from what turns."
)
HEAVY_HEAD = "Support the head before the screws that hold it are loosened."

RADIUS = Setting("radius", "of the circle that the indicator touches", Dimension.LENGTH, needed=True)
OVER = Setting("over", "length over which the result is also told", Dimension.LENGTH, default="300 mm")
TABLE_HIGH = replace(HEIGHT, name="reading", help="positive where the table is high", argument="readings")

SHOWN_LOBES = 15
FEW_FOR_LOBES = 12


def _tram(read: Read) -> Outcome:
    theta, readings, radius = read.column("angle"), read.column("reading"), read.length("radius")
    found = tram(theta, readings, radius, u=read.own)
    over = read.length("over")
    rows = zip(theta.tolist(), readings.tolist(), (readings - readings.mean()).tolist())
    table = Table(
        "readings",
        (Heading("angle", ANGLE, "place", wide=True), Heading("reading"), Heading("less their mean")),
        tuple(rows),
    )
    left = () if found.residual_std is None else (_left(found.residual_std, read),)
    return Outcome(
        (
            Result("tilt of the table to the spindle", found.tilt, found.u_tilt, ANGLE),
            _towards("rises towards, from +X to +Y", found.direction, found.u_tilt, found.tilt),
            Result(f"out of tram over {read.size(over)}", found.tilt * over, found.u_tilt * over),
            *_head(found.about_x, found.u_slope_y, found.about_y, found.u_slope_x),
            *left,
        ),
        (table,),
        includes=(f"What one reading is worth, on a circle of {read.size(2 * radius)}.", DROPS_OUT),
        not_seen=(
            "What the table is out of flat, and the spindle out of true: that is what is left beside the tilt.",
        ),
        notes=(_TURN_BACK,),
    )


def _left(scatter: float, read: Read) -> Result:
    """What is left beside a tilt; rounding of the computer is nothing."""
    return Result("left beside a tilt", scatter if scatter > 1e-6 * read.own else 0.0, None)


_TURN_BACK = "To square the head turn it back by what it is turned: by as much, the other way."


def _head(
    about_x: float | None, u_x: float | None, about_y: float | None, u_y: float | None
) -> tuple[Result, ...]:
    """How the head stands against the table, from how the table stands against the spindle."""
    told = (("A", "X", about_x, u_x), ("B", "Y", about_y, u_y))
    return tuple(
        Result(
            f"head turned about {axis}, against the table", -value + 0.0, u, ANGLE, signed=True, fits=letter
        )
        for letter, axis, value, u in told
        if value is not None
    )


def _towards(name: str, direction: float, u: float, size: float) -> Result:
    """A direction with its uncertainty; not known where there is next to nothing that has one."""
    known = u / size if size > 0 else inf
    if known > pi / 3:
        return Result(
            name, None, None, ANGLE, wide=True, note="too small for the readings to tell a direction"
        )
    return Result(name, direction % (2 * pi), known, ANGLE, wide=True)


TRAM = Kind(
    "tram",
    "How square a spindle is to the table, from an indicator on an arm, read round a circle.",
    "Read at four places or more, evenly round. Angles count from +X towards +Y, readings positive where the table "
    "is high.",
    (TURN, TABLE_HIGH),
    (RADIUS, OVER),
    _tram,
    least=3,
    cautions=(LOCKED_OUT, HANDS_OFF, HEAVY_HEAD),
    example={"angle": "0,90,180,270", "reading": "4,1,-4,-1 µm", "radius": "100 mm", "u": "1 µm"},
)


def _tram_across(read: Read) -> Outcome:
    readings, radius, over = read.column("reading"), read.length("radius"), read.length("over")
    first, second = readings[:2].tolist()
    slope, u = tram_across(first, second, radius, u=read.own, covariance=read.in_common(2))
    along_x = read.word("along") == "X"
    head = _head(None, None, -slope, u) if along_x else _head(slope, u, None, None)
    axis = "X" if along_x else "Y"
    notes = () if len(readings) == 2 else ("Only the first two readings count.",)
    return Outcome(
        (
            Result(f"rise of the table along {axis}", slope, u, ANGLE, signed=True),
            *head,
            Result(f"out of tram over {read.size(over)}", abs(slope) * over, u * over),
        ),
        includes=(f"What one reading is worth, {read.size(2 * radius)} apart.", DROPS_OUT),
        not_seen=("The tilt the other way, and what the table is out of flat.",),
        notes=(_TURN_BACK, *notes),
    )


TRAM_ACROSS = Kind(
    "tram across",
    "How square a spindle is to the table along one direction, from two readings half a turn apart.",
    "Read on the + side, turn the spindle by half a turn, read on the - side; positive where the table is high.",
    (replace(TABLE_HIGH, help="on the + side, then on the - side"),),
    (
        Setting("along", "X for side to side, Y for front to back", choices=("X", "Y"), needed=True),
        RADIUS,
        OVER,
    ),
    _tram_across,
    least=2,
    cautions=(LOCKED_OUT, HANDS_OFF, HEAVY_HEAD),
    example={"along": "X", "reading": "4,-4 µm", "radius": "100 mm", "u": "1 µm"},
)


def _runout(read: Read) -> Outcome:
    theta, readings, radius = read.column("angle"), read.column("reading"), read.number("radius")
    found = runout(theta, readings, u=read.own, radius=radius)
    waves = lobes(theta, readings, u=read.own, most=SHOWN_LOBES)
    few = len(theta) < FEW_FOR_LOBES
    results = [
        Result("total run-out", found.total, found.u_total),
        Result("eccentricity", found.eccentricity, found.u_eccentricity),
        _towards("towards", found.direction, found.u_eccentricity, found.eccentricity),
        _round(found),
    ]
    return Outcome(
        tuple(results),
        (_round_turn("readings and what is left of them", read, found), *_lobes(waves)),
        includes=("What one reading is worth, carried to each value.", DROPS_OUT, HIGH_AND_LOW),
        not_seen=(
            *((f"Lobes: {len(theta)} readings are too few; take {FEW_FOR_LOBES} or more.",) if few else ()),
            f"Waves of {(len(theta) + 1) // 2} lobes or more: they look like fewer.",
            "The spindle's own radial error, which is in what is left: spindle reversal tells it apart.",
        ),
        notes=_oval(read, found),
    )


def _round(found: Runout) -> Result:
    if found.roundness is None:
        return Result("left about the best circle", None, None, note="three readings always lie on a circle")
    return Result("left about the best circle", found.roundness, found.u_roundness)


def _oval(read: Read, found: Runout) -> tuple[str, ...]:
    """How far a round part looks oval because it runs out, where that is not nothing beside what is left."""
    if found.second_order is None or found.roundness is None or found.second_order < 0.1 * found.roundness:
        return ()
    return (
        f"It runs out so far that even a round part would look oval by {read.small(2 * found.second_order)}; "
        "centre it better before you speak of roundness.",
    )


def _round_turn(title: str, read: Read, found: Runout) -> Table:
    columns = (read.column("angle"), read.column("reading"), found.deviations, found.u_deviations)
    return Table(
        title,
        (Heading("angle", ANGLE, "place", wide=True), Heading("reading"), *with_u("about the best circle")),
        tuple(zip(*(column.tolist() for column in columns))),
    )


def _lobes(waves: tuple[Lobe, ...]) -> tuple[Table, ...]:
    """Waves by their number of lobes; none where the readings are too few."""
    if not waves:
        return ()
    headings = (
        Heading("lobes", None, "text"),
        Heading("hollow to crest", signed=False),
        U,
        Heading("first crest at", ANGLE, "place", wide=True, digits=2),
    )
    rows = tuple((str(one.count), one.height, one.u_height, round(one.crest, 9)) for one in waves)
    return (Table("lobes", headings, rows),)


RUNOUT = Kind(
    "runout",
    "Total run-out, eccentricity with its direction, and what is left: lobes and roundness.",
    "Read at even steps of one turn, positive where the surface stands out. Twelve places or more tell lobes.",
    (
        TURN,
        replace(HEIGHT, name="reading", help="positive where the surface stands out", argument="readings"),
    ),
    (Setting("radius", "of the surface, for the caution about large run-out", Dimension.LENGTH),),
    _runout,
    least=3,
    cautions=(HANDS_OFF, "Turn by hand or at a creep, with the drive locked out where there is one."),
    example={"angle": "0,90,180,270", "reading": "10,2,-10,1 µm", "radius": "20 mm", "u": "1 µm"},
)


def _spindle_reversal(read: Read) -> Outcome:
    theta, first, second = read.column("angle"), read.column("first"), read.column("second")
    count = len(theta)
    found = spindle_reversal(first, second, u=read.own, covariance=read.in_common(2 * count))
    spindle, ball = (
        runout(theta, values, u=0.0, covariance=covariance)
        for values, covariance in (
            (found.machine, found.covariance),
            (found.artefact, found.covariance_artefact),
        )
    )
    table = table_of(
        "spindle and ball, out-of-centre taken off both",
        (
            Heading("angle", ANGLE, "place", wide=True),
            Heading("first"),
            Heading("second"),
            *with_u("spindle", "ball"),
        ),
        *(theta, first, second),
        *(spindle.deviations, spindle.u_deviations),
        *(ball.deviations, ball.u_deviations),
    )
    return Outcome(
        (
            replace(_round(spindle), name="radial error motion of the spindle, once per turn taken off"),
            replace(_round(ball), name="ball out of round"),
            Result("ball out of centre", ball.eccentricity, ball.u_eccentricity),
        ),
        (table,),
        includes=(
            "What one reading is worth; spindle and ball are each as uncertain as 1/√2 of one reading.",
        ),
        not_seen=(
            "What does not repeat from turn to turn; read several turns and see the scatter.",
            f"Waves of {(count + 1) // 2} lobes or more: they look like fewer.",
        ),
    )


PUSHED_IN = "positive where the plunger is pushed in"

SPINDLE_REVERSAL = Kind(
    "spindle reversal",
    "Radial error motion of a spindle and roundness of the test ball, told apart by turning ball and indicator over.",
    "Read at the same angles of the spindle before and after; in between turn ball and indicator by half a turn and "
    "leave the spindle as it was.",
    (
        replace(TURN, help="of the spindle"),
        Wanted("first", f"before the turn, {PUSHED_IN}", "reading", also=FIRST.also),
        Wanted("second", f"after the turn, {PUSHED_IN}", "reading", also=SECOND.also),
    ),
    (),
    _spindle_reversal,
    least=4,
    cautions=(LOCKED_OUT, HANDS_OFF),
    example={
        "angle": "0,45,90,135,180,225,270,315",
        "first": "3,1,-2,0,3,1,-2,0 µm",
        "second": "1,1,0,0,1,1,0,0 µm",
        "u": "0.2 µm",
    },
)
