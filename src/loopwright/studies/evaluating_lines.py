"""Evaluations along a line: straightness, a level stepped along, a straightedge or a level turned over, parallelism."""

from dataclasses import replace

import numpy as np

from loopwright.errors import RequestError
from loopwright.measuring.levels import heights_along
from loopwright.measuring.lines import Reference, Straightness, straightness
from loopwright.measuring.parallelism import parallel_rails, parallel_to_datum
from loopwright.measuring.reversal import level_reversal, straightedge_reversal
from loopwright.studies.evaluating_forms import (
    AT,
    FIRST,
    HEIGHT,
    POSITION,
    SECOND,
    Array,
    Heading,
    Kind,
    Outcome,
    Read,
    Result,
    Setting,
    Sweep,
    Table,
    Wanted,
    table_of,
    with_u,
)
from loopwright.units import Dimension

ANGLE = Dimension.ANGLE

NOISE = (
    "Noise lifts every value from highest to lowest: ten readings of a perfect line scatter over about 3 u."
)
HIGH_AND_LOW = (
    "The uncertainty follows the readings that fix the value; where two are nearly level, take it as a guide."
)
DROPS_OUT = (
    "What the gauge reads too much in every reading alike, such as its calibration at the zero, drops out."
)

REFERENCE = Setting(
    "reference",
    "line from which deviations count: end points, least squares or minimum zone (ISO 1101)",
    choices=tuple(str(one) for one in Reference),
    default=str(Reference.LEAST_SQUARES),
)


def three_lines(
    x: Array, h: Array, own: Array | float, covariance: Array | None, chosen: str, what: str = "straightness"
) -> tuple[Straightness, list[Result]]:
    """Straightness by the line that was asked for, and results by all three, that one first."""
    found = straightness(x, h, u=own, covariance=covariance, reference=Reference(chosen))
    results = [_of_line(found, what)]
    for other in Reference:
        if other is not found.reference:
            try:
                results.append(
                    _of_line(straightness(x, h, u=own, covariance=covariance, reference=other), what)
                )
            except RequestError as error:
                results.append(Result(f"{what}, {other}", None, None, note=f"{error.what}; {error.remedy}"))
    return found, results


def _of_line(found: Straightness, what: str) -> Result:
    return Result(f"{what}, {found.reference}", found.value, found.u_value)


def unseen_waves(read: Read, found: Straightness) -> str:
    """What readings that far apart do not see."""
    gap = found.largest_gap
    return f"Waves shorter than {read.size(2 * gap)}: readings are up to {read.size(gap)} apart."


def _straightness(read: Read) -> Outcome:
    x, h = read.column("position"), read.column("height")
    found, results = three_lines(x, h, read.own, None, read.word("reference"))
    order = np.argsort(x, kind="stable")
    results.append(
        Result("slope of the reference line", found.slope, found.u_slope, Dimension.ANGLE, signed=True)
    )
    return Outcome(
        tuple(results),
        (_deviations(x[order], h[order], found.deviations[order], found.u_deviations[order]),),
        sweep=Sweep("heights read", x, h, zero="line"),
        includes=("What one reading is worth, carried to the value.", DROPS_OUT, HIGH_AND_LOW),
        not_seen=(
            unseen_waves(read, found),
            "The form of what it was read against; turn a straightedge over to take it out.",
            NOISE,
        ),
    )


def _deviations(x: Array, h: Array, deviations: Array, u: Array, what: str = "reading") -> Table:
    return table_of(
        "deviations from the reference line",
        (AT, Heading(what), *with_u("deviation")),
        x,
        h,
        deviations,
        u,
    )


STRAIGHTNESS = Kind(
    "straightness",
    "How straight a line is, from heights read along it.",
    "Sweep the indicator along the line, or the line past the indicator, and read at even places. "
    "Ten places or more tell the form; both ends count.",
    (POSITION, HEIGHT),
    (REFERENCE,),
    _straightness,
    least=3,
    example={
        "position": "0,100,200,300,400,500,600,700,800",
        "height": "0,2,3,5,4,1,-1,2,4 µm",
        "u": "0.5 µm",
    },
)


def _level_line(read: Read) -> Outcome:
    angles, step, start = read.column("angle"), read.length("step"), read.number("start") or 0.0
    line = heights_along(angles, step, u=read.own, covariance=read.in_common(len(angles)))
    x = line.x + start
    found, results = three_lines(x, line.heights, 0.0, line.covariance, read.word("reference"))
    rise = Result("rise from end to end", float(line.heights[-1]), float(line.u[-1]), signed=True)
    rows = np.vstack([np.zeros(len(angles)), np.tri(len(angles)) * step])
    table = table_of(
        "heights over the first foot",
        (AT, Heading("angle of the step", ANGLE), *with_u("height", "deviation")),
        x,
        [None, *angles.tolist()],
        line.heights,
        line.u,
        found.deviations,
        found.u_deviations,
    )
    return Outcome(
        (*results, rise),
        (table,),
        sweep=Sweep("heights", x, line.heights, rows=rows),
        includes=(
            "What one reading is worth, added up along the line: after four steps twice that of one.",
            "A zero error of the level is a slope: it is in the rise, and falls out of the straightness.",
            HIGH_AND_LOW,
        ),
        not_seen=(
            unseen_waves(read, found),
            "Drift of the level while you step: read the first step again at the end.",
            "An error of the step: a thousandth of the step changes every height by a thousandth of itself.",
        ),
    )


LEVEL_ANGLE = Wanted(
    "angle",
    "slope of one step, positive where it rises in the direction of stepping",
    "reading",
    ANGLE,
    also=("reading", "level", "slope", "indication", "value"),
    argument="angles",
)

LEVEL_LINE = Kind(
    "level line",
    "Heights along a line, and how straight it is, from a level or an autocollimator stepped along it.",
    "Step the foot so that each step begins where the last one ended. Read each step as a slope.",
    (LEVEL_ANGLE,),
    (
        Setting("step", "from foot to foot, as 100 mm", Dimension.LENGTH, needed=True),
        Setting("start", "position of the first foot", Dimension.LENGTH, default="0 mm", signed=True),
        REFERENCE,
    ),
    _level_line,
    least=2,
    example={"angle": "2,3,-1,-4 arcsec", "step": "100 mm", "u": "0.5 arcsec"},
)


def _straightedge_reversal(read: Read) -> Outcome:
    x, first, second = read.column("position"), read.column("first"), read.column("second")
    found = straightedge_reversal(first, second, u=read.own, covariance=read.in_common(2 * len(x)))
    chosen = read.word("reference")
    motion, of_motion = three_lines(x, found.machine, 0.0, found.covariance, chosen, "motion straight within")
    edge, of_edge = three_lines(
        x, found.artefact, 0.0, found.covariance_artefact, chosen, "straightedge straight within"
    )
    half = np.eye(len(x)) / 2
    table = table_of(
        "motion and straightedge, each about its reference line",
        (AT, Heading("first"), Heading("second"), *with_u("motion", "straightedge")),
        x,
        first,
        second,
        *(motion.deviations, motion.u_deviations),
        *(edge.deviations, edge.u_deviations),
    )
    return Outcome(
        (of_motion[0], of_edge[0], *of_motion[1:], *of_edge[1:]),
        (table,),
        sweep=Sweep("motion", x, found.machine, rows=np.hstack([half, half]), zero="line", turned=True),
        includes=(
            "What one reading is worth; motion and straightedge are each as uncertain as 1/√2 of one reading.",
            "The form of the straightedge, which cancels whatever it looks like.",
            HIGH_AND_LOW,
        ),
        not_seen=(
            unseen_waves(read, motion),
            "Sag that changes when the straightedge is turned over, and ends that were not put back.",
            NOISE,
        ),
    )


STRAIGHTEDGE_REVERSAL = Kind(
    "straightedge reversal",
    "Straightness of a motion and of the straightedge it is read against, told apart by turning the straightedge over.",
    "Sweep, turn the straightedge by half a turn about its length, put the indicator on the other side, sweep again. "
    "Count both sweeps positive to the same side of the room.",
    (POSITION, FIRST, SECOND),
    (REFERENCE,),
    _straightedge_reversal,
    least=3,
    example={
        "position": "0,100,200,300,400",
        "first": "0,3,5,4,0 µm",
        "second": "0,-1,1,2,0 µm",
        "u": "0.5 µm",
    },
)


def _level_reversal(read: Read) -> Outcome:
    first, second = read.column("first"), read.column("second")
    count = len(first)
    found = level_reversal(first, second, u=read.own, covariance=read.in_common(2 * count))
    x = read.columns.get("position")
    mean = np.full(count, 1.0 / count)
    u_tilt, u_zero = (
        float(np.sqrt(mean @ one @ mean)) for one in (found.covariance, found.covariance_artefact)
    )
    several = ", mean" if count > 1 else ""
    results = (
        Result(f"tilt{several}", float(found.machine.mean()), u_tilt, ANGLE, signed=True),
        Result(f"zero error of the level{several}", float(found.artefact.mean()), u_zero, ANGLE, signed=True),
    )
    where = () if x is None else (x,)
    table = table_of(
        "tilt of the surface and zero of the level",
        (
            *(AT for _ in where),
            *(Heading(name, ANGLE) for name in ("first", "second")),
            *with_u("tilt", "zero error", dimension=ANGLE),
        ),
        *where,
        *(first, second),
        *(found.machine, found.u_machine),
        *(found.artefact, found.u_artefact),
    )
    rows = np.hstack([np.eye(count), -np.eye(count)]) / 2
    sweep = None if x is None else Sweep("tilt", x, found.machine, ANGLE, rows, "none", turned=True)
    return Outcome(
        results,
        (table,),
        sweep=sweep,
        includes=(
            "What one reading is worth; tilt and zero are each as uncertain as 1/√2 of one reading.",
            "The zero error of the level, which cancels in the tilt.",
        ),
        not_seen=("A foot that does not stand on the same spots when the level is turned.",),
        notes=_steady(found.artefact, read.own),
    )


def _steady(zeros: Array, own: float) -> tuple[str, ...]:
    """A word on a level whose zero wanders more than its readings allow."""
    if len(zeros) < 2 or float(zeros.std(ddof=1)) <= 3 * own / 2**0.5:
        return ()
    return ("The zero of the level wandered from pair to pair by more than the readings allow; look at it.",)


LEVEL_REVERSAL = Kind(
    "level reversal",
    "Tilt of a surface, and zero error of the level, from pairs of readings with the level turned end for end.",
    "Read, turn the level end for end on the same spot, read again. Positive where the level says that its own "
    "marked end is high.",
    (
        replace(POSITION, needed=False),
        replace(
            FIRST, dimension=ANGLE, help="reading before the turn, positive where the marked end is high"
        ),
        replace(
            SECOND, dimension=ANGLE, help="reading after the turn, positive where the marked end is high"
        ),
    ),
    (),
    _level_reversal,
    example={"first": "50 µm/m", "second": "-10 µm/m", "u": "5 µm/m"},
)


def _parallelism(read: Read) -> Outcome:
    x, datum, h = read.column("position"), read.column("datum"), read.column("height")
    on_datum, on_line = ~np.isnan(datum), ~np.isnan(h)
    found = parallel_to_datum(
        x[on_datum],
        datum[on_datum],
        x[on_line],
        h[on_line],
        u=read.own,
        reference=Reference(read.word("reference")),
    )
    table = table_of(
        "heights over a line parallel to the datum",
        (AT, Heading("reading"), *with_u("deviation")),
        x[on_line],
        h[on_line],
        found.deviations,
        found.u_deviations,
    )
    return Outcome(
        (
            Result("parallelism", found.value, found.u_value),
            Result("angle to the datum", found.angle, found.u_angle, ANGLE, signed=True),
        ),
        (table,),
        includes=(
            f"What one reading is worth, on both lines, over {read.size(found.length)}.",
            DROPS_OUT,
            HIGH_AND_LOW,
        ),
        not_seen=(
            "What lies between the readings.",
            "The form of the way on which the indicator was led.",
            NOISE,
        ),
        notes=("The value is the width of the zone parallel to the datum, form included (ISO 1101).",),
    )


PARALLELISM = Kind(
    "parallelism",
    "How parallel a line is to a datum line, from heights of both by one zero of the indicator.",
    "Read datum and line in one direction without setting the indicator anew. Places may differ: leave the cell of "
    "the other line empty.",
    (
        POSITION,
        Wanted(
            "datum",
            "height of the datum there; may stay empty",
            "reading",
            gaps=True,
            also=("datum line", "reference"),
            argument="datum_h",
        ),
        replace(
            HEIGHT, help="height of the line there; may stay empty", gaps=True, also=(*HEIGHT.also, "line")
        ),
    ),
    (replace(REFERENCE, help="which line stands for the datum: end points, least squares or minimum zone"),),
    _parallelism,
    least=2,
    example={"position": "0,150,300", "datum": "0,1,0 µm", "height": "10,13,16 µm", "u": "1 µm"},
)


def _rails(read: Read) -> Outcome:
    x, first, second = read.column("position"), read.column("first"), read.column("second")
    found = parallel_rails(x, first, second, u=read.own)
    span, count = read.number("span"), len(x)
    results = [
        Result("parallelism of the rails", found.value, found.u_value),
        Result("angle of the second to the first", found.angle, found.u_angle, ANGLE, signed=True),
    ]
    headings = (AT, Heading("first"), Heading("second"), *with_u("difference about its mean"))
    tables = [table_of("both rails", headings, x, first, second, found.deviations, found.u_deviations)]
    rows = np.hstack([-np.eye(count), np.eye(count)])
    sweep = Sweep("second less first", x, second - first, rows=rows)
    if span is not None:
        turn = "turn of a bridge over the rails"
        results.append(Result(turn, found.value / span, found.u_value / span, ANGLE))
        turns = (AT, *with_u("turn", dimension=ANGLE))
        tables.append(table_of(turn, turns, x, found.roll(span), found.u_deviations / span))
        sweep = Sweep(turn, x, (second - first) / span, ANGLE, rows / span)
    return Outcome(
        tuple(results),
        tuple(tables),
        sweep=sweep,
        includes=(
            "What one reading is worth, on both rails.",
            "A straightedge against which both rails were read, which falls out of the difference.",
            HIGH_AND_LOW,
        ),
        not_seen=("Form that both rails have alike.", NOISE),
    )


RAILS = Kind(
    "rails",
    "How parallel two rails are, from both read at the same places, and how a bridge over them turns.",
    "Read both rails in one direction at the same places. With the span the turn of a bridge over them is told too.",
    (
        POSITION,
        replace(FIRST, help="height of the first rail", also=("rail a", "a", "left", "front", "first rail")),
        replace(
            SECOND, help="height of the second rail", also=("rail b", "b", "right", "rear", "second rail")
        ),
    ),
    (Setting("span", "distance of the rails, for the turn of a bridge over them", Dimension.LENGTH),),
    _rails,
    least=2,
    example={
        "position": "0,150,300",
        "first": "0,1,0 µm",
        "second": "2,5,8 µm",
        "span": "240 mm",
        "u": "0.5 µm",
    },
)
