"""Whether a screw that was read meets a grade of ISO 3408-3 or JIS B 1192, and which is the best it meets."""

from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist
from typing import Final, Literal

from loopwright.errors import OutOfRange, RequestError
from loopwright.handbook.screws import GRADES, LeadError, lead_error
from loopwright.measuring.screws import Bandwidth, Travel

CONFIDENCE: Final = 0.95

_LEADS: Final = (2.5, 5.0, 10.0, 16.0, 20.0)
# readings in 300 mm by lead, for grades 1, 3, 5, 7, 9
_LEAST: Final = {
    2.5: (30, 20, 10, 5, 5),
    5.0: (15, 10, 6, 3, 3),
    10.0: (10, 5, 3, 1, 1),
    16.0: (8, 5, 3, 1, 1),
    20.0: (5, 5, 3, 1, 1),
}


class Verdict(StrEnum):
    """What can be said of a limit at 95 %."""

    CONFORMING = "conforming"
    NOT_CONFORMING = "not conforming"
    UNDECIDED = "undecided"


@dataclass(frozen=True)
class LimitCheck:
    """One value against one limit.

    Attributes:
        name: 'e_sa', 'v_ua', 'v_300a' or 'v_2πa'.
        value: mm; None where it could not be read.
        u: standard uncertainty, mm; None with the value.
        limit: mm; for e_sa to both sides of 0.
        probability: that the true value keeps the limit, normal; None with the value.
        verdict: conforming from 95 %, not conforming up to 5 %, undecided between, without a value, and where the
            readings are fewer than the grade asks for.
        standard: the limit's standard and edition.
        source: how the limit is known.
        reason: why it is undecided; '' otherwise.
    """

    name: str
    value: float | None
    u: float | None
    limit: float
    probability: float | None
    verdict: Verdict
    standard: str
    source: str
    reason: str = ""


@dataclass(frozen=True)
class GradeVerdict:
    """A screw against a grade.

    Attributes:
        grade: as 'C3'.
        checks: one for every limit that the grade has.
        verdict: not conforming where one limit is not kept; conforming where all are; else undecided.
        least_readings: readings in 300 mm that the grade asks for; None without a lead.
        notes: what the verdict rests on.
    """

    grade: str
    checks: tuple[LimitCheck, ...]
    verdict: Verdict
    least_readings: int | None
    notes: tuple[str, ...]


def least_readings(lead: float, grade: str) -> int:
    """Fewest readings in 300 mm of travel that a grade asks for.

    Args:
        lead: mm, over 0. Between two leads of the table the shorter one counts, which asks for more.
        grade: as 'P3'. C grades are held to the numbers of the P grade of the same number; grades between to those
            of the finer one; 0 to those of 1.

    Raises:
        RequestError: a lead not over 0, or a grade without a number.

    Source: ISO 3408-3, read in a maker's catalogue; the rule for grades and leads between is ours. Under 2.5 mm of
        lead the numbers for 2.5 mm are given.

    >>> least_readings(5, "P3"), least_readings(8, "C5")
    (10, 6)
    """
    digits = grade.strip()[1:]
    if not digits.isdigit():
        raise RequestError(f"'{grade}' is not a grade", f"use one of {', '.join(GRADES)}")
    if not lead > 0:
        raise RequestError(f"'lead' is {lead:g}", "give a lead over 0 mm")
    row = _LEAST[max((known for known in _LEADS if known <= lead), default=_LEADS[0])]
    return row[min(max((int(digits) - 1) // 2, 0), 4)]


def judge(travel: Travel, grade: str) -> GradeVerdict:
    """Judges a screw by one grade.

    Args:
        travel: what was read.
        grade: as for ``handbook.screws.lead_error``.

    Returns:
        A verdict for every limit, each with value, uncertainty, limit and the limit's source, and one for all.

    Raises:
        OutOfRange: unknown grade, or a travel beyond the end of its table.

    Source: limits ``handbook.screws``; decision JCGM 106:2012, 7.2 and 8.3, one limit at a time, at 95 %, the
        reading being all that is known of the screw. Checked in tests/rooms/test_measuring_screws.py.

    >>> from loopwright.measuring.screws import evaluate_travel
    >>> found = evaluate_travel([0, 100, 200, 300, 400], [0, 2e-3, 1e-3, 3e-3, 2e-3], u=5e-4, lead=5)
    >>> verdict = judge(found, "C7")
    >>> verdict.verdict.value, [(c.name, c.limit, c.verdict.value) for c in verdict.checks]
    ('conforming', [('e_sa', 0.0666..., 'conforming')])
    """
    limits = lead_error(grade, travel.useful_travel)
    asked = None if travel.lead is None else least_readings(travel.lead, grade)
    few = ""
    if asked is not None and travel.least_in_300 < asked:
        few = f"{travel.least_in_300} readings in 300 mm; {limits.grade} with this lead asks for {asked} or more"
    if travel.lead is None:
        few = "the lead is not stated, so whether there are readings enough is not known; state it"
    checks = [_departure(travel, limits, few)]
    for name, band, limit in (
        ("v_ua", travel.whole, limits.bandwidth_travel),
        ("v_300a", travel.in_300, limits.bandwidth_300),
        ("v_2πa", travel.in_revolution, limits.bandwidth_revolution),
    ):
        if limit is not None:
            checks.append(_band(name, band, limit, limits, "" if name == "v_2πa" else few))
    return GradeVerdict(limits.grade, tuple(checks), _together(checks), asked, _notes(travel, limits))


def best_grade(travel: Travel, system: Literal["C", "P", "T"]) -> GradeVerdict | None:
    """The finest grade of a system whose every limit the screw keeps at 95 %.

    A grade whose table ends before the useful travel is passed over.

    Args:
        travel: what was read.
        system: 'C' for JIS B 1192, 'P' or 'T' for ISO 3408-3.

    Returns:
        Its verdict, or None where no grade is proven; ``judge`` then says why.

    Raises:
        RequestError: another system.

    Source: as for ``judge``.

    >>> from loopwright.measuring.screws import evaluate_travel
    >>> found = evaluate_travel([0, 100, 200, 300, 400], [0, 2e-3, 1e-3, 3e-3, 2e-3], u=5e-4, lead=10)
    >>> best_grade(found, "C").grade
    'C7'
    """
    grades = [grade for grade in GRADES if grade[0] == system]
    if not grades:
        raise RequestError(f"'{system}' is not a system of grades", "use C, P or T")
    for grade in grades:
        try:
            found = judge(travel, grade)
        except OutOfRange:
            continue
        if found.verdict is Verdict.CONFORMING:
            return found
    return None


def _departure(travel: Travel, limits: LeadError, few: str) -> LimitCheck:
    limit, value, u = limits.travel_deviation, travel.departure, travel.u_deviation
    chance = _below(limit - value, u) - _below(-limit - value, u, closed=False)
    verdict, reason = (Verdict.UNDECIDED, few) if few else (_verdict(chance), _why(chance))
    return LimitCheck("e_sa", value, u, limit, chance, verdict, limits.standard, limits.source, reason)


def _band(name: str, band: Bandwidth, limit: float, limits: LeadError, few: str) -> LimitCheck:
    if band.value is None or band.u is None:
        return LimitCheck(
            name, None, None, limit, None, Verdict.UNDECIDED, limits.standard, limits.source, band.reason
        )
    chance = _below(limit - band.value, band.u)
    verdict, reason = (Verdict.UNDECIDED, few) if few else (_verdict(chance), _why(chance))
    return LimitCheck(
        name, band.value, band.u, limit, chance, verdict, limits.standard, limits.source, reason
    )


def _below(room: float, u: float, *, closed: bool = True) -> float:
    """Chance that a normal deviation of standard uncertainty u stays within the room left."""
    if u > 0:
        return NormalDist().cdf(room / u)
    return float(room >= 0 if closed else room > 0)


def _verdict(chance: float) -> Verdict:
    if chance >= CONFIDENCE:
        return Verdict.CONFORMING
    return Verdict.NOT_CONFORMING if chance <= 1 - CONFIDENCE else Verdict.UNDECIDED


def _why(chance: float) -> str:
    return "the uncertainty covers the limit" if _verdict(chance) is Verdict.UNDECIDED else ""


def _together(checks: list[LimitCheck]) -> Verdict:
    verdicts = {check.verdict for check in checks}
    if Verdict.NOT_CONFORMING in verdicts:
        return Verdict.NOT_CONFORMING
    return Verdict.UNDECIDED if Verdict.UNDECIDED in verdicts else Verdict.CONFORMING


def _notes(travel: Travel, limits: LeadError) -> tuple[str, ...]:
    notes = [f"limits: {limits.standard}; {limits.source}"]
    if travel.useful_travel < 300 and limits.bandwidth_300 is not None:
        notes.append("the travel is shorter than 300 mm, so v_300a is v_ua")
    covered = travel.in_revolution.covered
    if limits.bandwidth_revolution is not None and 0 < covered < 0.99:
        notes.append(f"v_2πa was read over {100 * covered:.2g} % of the travel")
    return tuple(notes)
