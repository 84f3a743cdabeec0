"""Evaluation of a screw: travel deviation, bandwidths, and the grade that it meets."""

from dataclasses import replace
from math import hypot
from typing import Literal, cast

from loopwright.errors import OutOfRange, RequestError
from loopwright.handbook.screws import GRADES
from loopwright.measuring.screw_grades import CONFIDENCE, GradeVerdict, LimitCheck, best_grade, judge
from loopwright.measuring.screws import Bandwidth, Travel, evaluate_travel
from loopwright.studies.evaluating_forms import (
    AT,
    HEIGHT,
    POSITION,
    Grading,
    Heading,
    Judged,
    Kind,
    Outcome,
    Part,
    Read,
    Result,
    Setting,
    Shared,
    Sweep,
    Table,
    with_u,
)
from loopwright.studies.evaluating_lines import DROPS_OUT, HIGH_AND_LOW
from loopwright.units import Dimension

SAYS = {
    "e_sa": "mean travel over the useful travel, less what was asked for",
    "v_ua": "band over the useful travel",
    "v_300a": "band within any 300 mm",
    "v_2πa": "band within one revolution",
}
SYSTEMS = {"C": "JIS B 1192", "P": "ISO 3408-3, positioning", "T": "ISO 3408-3, transport"}


def _lead(read: Read) -> Outcome:
    x, deviation = read.column("position"), read.column("deviation")
    scale = read.number("u scale") or 0.0
    found = evaluate_travel(
        x,
        deviation,
        u=read.own,
        lead=read.number("lead"),
        compensation=read.number("compensation") or 0.0,
    )
    # a scale error is a slope: it is in the mean travel whole, and in no band
    of_scale = scale * found.useful_travel
    found = replace(found, u_deviation=hypot(found.u_deviation, of_scale))
    lean = x - x.mean()
    return Outcome(
        _results(read, found, (Part("scale and temperature", of_scale),)),
        (_table(read, found),),
        grading=_grading(read, found),
        sweep=Sweep(
            "travel deviations",
            x,
            deviation,
            shared=(Shared("scale and temperature", scale, lean),) if scale else (),
        ),
        includes=(
            "What one reading is worth, carried to the mean line and to the bands.",
            "Scale and temperature of what it was read with: "
            + (f"{1e6 * scale:.3g} µm/m." if scale else "nothing was stated (u scale)."),
            DROPS_OUT,
            HIGH_AND_LOW,
        ),
        not_seen=(
            *_unseen(found),
            "Wave that all readings meet at the same point; do not read at whole revolutions alone.",
        ),
        notes=("Deviations count as at 20 °C, actual less nominal travel (ISO 3408-1).",),
    )


def _results(read: Read, found: Travel, scale: tuple[Part, ...]) -> tuple[Result, ...]:
    travel = read.size(found.useful_travel)
    mean = Result(
        f"mean travel deviation e_0a over {travel}",
        found.mean_deviation,
        found.u_deviation,
        signed=True,
        fits="mean travel",
        parts=scale,
    )
    off: tuple[Result, ...] = ()
    if found.compensation:
        off = (
            replace(
                mean,
                name=f"e_sa: the same less {read.small(found.compensation)} asked for",
                value=found.departure,
                fits="",
            ),
        )
    return (
        mean,
        *off,
        _band(f"v_ua, {SAYS['v_ua']}", found.whole, "travel variation"),
        _band(f"v_300a, {SAYS['v_300a']}", found.in_300),
        _band(f"v_2πa, {SAYS['v_2πa']}", found.in_revolution, "once per turn"),
    )


def _band(name: str, band: Bandwidth, fits: str = "") -> Result:
    return Result(name, band.value, band.u, fits=fits, note=band.reason)


def _unseen(found: Travel) -> tuple[str, ...]:
    covered = found.in_revolution.covered
    if found.in_revolution.value is None:
        return ("Error within a revolution, as said above.",)
    return (
        ()
        if covered > 0.99
        else (f"Revolutions that were not read densely: {100 * (1 - covered):.0f} % of the travel.",)
    )


def _table(read: Read, found: Travel) -> Table:
    x, deviation = read.column("position"), read.column("deviation")
    order = x.argsort(kind="stable")
    columns = (found.positions, deviation[order], found.residuals, found.u_residuals)
    return Table(
        "travel deviation, and what is left of it about the mean travel",
        (AT, Heading("deviation"), *with_u("about the mean travel")),
        tuple(zip(*(column.tolist() for column in columns))),
    )


def _grading(read: Read, found: Travel) -> Grading | None:
    """The screw against the grade that was named, or the finest of a system that it meets."""
    grade, system = read.settings.get("grade"), read.settings.get("best of")
    if grade is not None and system is not None:
        raise RequestError("a grade is named, and the best one asked for", "say 'grade' or 'best of'")
    try:
        if grade is not None:
            return _graded(judge(found, str(grade).upper()))
        if system is None:
            return None
        best = best_grade(found, cast(Literal["C", "P", "T"], system))
        if best is None:
            coarsest = [name for name in GRADES if name[0] == system][-1]
            verdict = _graded(judge(found, coarsest))
            note = f"No grade of {SYSTEMS[str(system)]} is proven; {coarsest} is the coarsest."
            return replace(verdict, grade="", notes=(note, *verdict.notes))
        return _with_next(found, best, str(system))
    except OutOfRange as error:
        raise RequestError(str(error), "name another grade") from None


def _with_next(found: Travel, best: GradeVerdict, system: str) -> Grading:
    """The finest grade that is met, and why the next finer one is not."""
    graded = _graded(best)
    names = [name for name in GRADES if name[0] == system]
    finer = names[: names.index(best.grade)][-1:]
    for name in finer:
        try:
            checks = [check for check in judge(found, name).checks if check.verdict != "conforming"]
        except OutOfRange:
            continue
        said = ", ".join(f"{check.name} {check.verdict}" for check in checks)
        graded = replace(graded, notes=(*graded.notes, f"{name} is not proven: {said}."))
    return graded


def _graded(found: GradeVerdict) -> Grading:
    notes = [note for note in found.notes if not note.startswith("limits: ")]
    if found.least_readings is not None:
        many = "1 reading" if found.least_readings == 1 else f"{found.least_readings} readings"
        notes.append(f"The grade asks for {many} or more in 300 mm.")
    lines = tuple(_judged(check) for check in found.checks)
    return Grading(found.grade, found.grade, str(found.verdict), lines, CONFIDENCE, tuple(notes))


def _judged(check: LimitCheck) -> Judged:
    standard = (
        check.standard if ":" in check.standard else f"{check.standard}, edition not named by the source"
    )
    return Judged(
        check.name,
        SAYS[check.name],
        check.value,
        check.u,
        check.limit,
        check.name == "e_sa",
        check.probability,
        str(check.verdict),
        standard,
        check.source,
        check.reason,
    )


LEAD = Kind(
    "lead",
    "Lead of a screw or a driven axis: mean travel deviation, bandwidths, and the grade that it meets.",
    "Read actual less nominal travel along the useful travel, at 20 °C. For the band within a revolution read two "
    "or three revolutions in steps of an eighth of the lead, near both ends and in the middle alike.",
    (
        POSITION,
        replace(
            HEIGHT,
            name="deviation",
            help="actual less nominal travel",
            also=("error", "travel deviation", "reading", "value", "difference"),
            argument="deviations",
        ),
    ),
    (
        Setting(
            "lead",
            "of the screw; without it neither the band in a revolution nor a grade is told",
            Dimension.LENGTH,
        ),
        Setting("grade", "grade to judge by, as C5, P3 or T7"),
        Setting(
            "best of",
            "C (JIS B 1192), P or T (ISO 3408-3): the finest grade of it that is met is sought",
            choices=tuple(SYSTEMS),
        ),
        Setting(
            "compensation",
            "travel asked for over the useful travel, less nominal; below zero for a screw made short",
            Dimension.LENGTH,
            default="0 mm",
            signed=True,
        ),
        Setting(
            "u scale",
            "standard uncertainty of the scale it was read with, temperatures included, as 2 µm/m",
            Dimension.RATIO,
            unit="µm/m",
        ),
    ),
    _lead,
    least=3,
    example={
        "position": "0,100,200,300,400",
        "deviation": "0,-2,-2,-4,-6 µm",
        "lead": "10 mm",
        "grade": "C7",
        "u": "0.5 µm",
    },
)
