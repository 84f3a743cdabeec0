"""What the studies of fit-up, concession and selection answer, as plain data; in the manner of ``exchange_bench``."""

from collections.abc import Iterable, Sequence

from loopwright.book import Written
from loopwright.studies.choosing import Chosen
from loopwright.studies.conceding import ConcessionStudy
from loopwright.studies.effect import Brought
from loopwright.studies.exchange_bench import (
    Data,
    Plain,
    conformity_as_data,
    entered_as_data,
    left_as_data,
    number,
)
from loopwright.studies.fitup_bench import StepReport, ToSet
from loopwright.studies.fitup_planning import FitUpPlan, Planned
from loopwright.studies.screw_alignment import ScrewAlignment
from loopwright.units import Dimension


def fitup_plan_as_data(found: FitUpPlan) -> Data:
    """A fit-up as planned, format loopwright-fitup-plan/1."""
    plain = Plain(found.units)

    def targets(values: Sequence[float]) -> list[Data]:
        return [
            {"target": name, "unit": plain.unit(dimension), "expected": plain.small(value, dimension)}
            for (name, dimension, _), value in zip(found.targets, values)
        ]

    return {
        "format": "loopwright-fitup-plan/1",
        "build": found.build,
        "start": targets(found.start),
        "chances": dict(zip((name for name, *_ in found.targets), map(number, found.chances))),
        "steps": [{**_planned(plain, one), "targets": targets(one.targets)} for one in found.steps],
        "binding": [joint.joint for joint in found.binding],
    }


def _planned(plain: Plain, one: Planned) -> Data:
    return {
        "number": one.number,
        "name": one.name,
        "looks_at": one.looks_at,
        "unit": plain.unit(one.dimension),
        "before": plain.small(one.before, one.dimension),
        "after": plain.small(one.after, one.dimension),
        "accept": plain.small(one.accept, one.dimension),
        "accepted": number(one.accepted),
        "minutes": one.minutes,
        "costs_if_left_out": number(one.dropped),
        "settings": [
            {
                "what": name,
                "unit": plain.unit(dimension),
                "standard_uncertainty": plain.small(std, dimension),
                "range": [plain.small(v, dimension) for v in span],
                "chance_that_range_is_enough": number(chance),
            }
            for name, dimension, std, span, chance in one.settings
        ],
    }


def fitup_step_as_data(found: StepReport) -> Data:
    """A step of the fit-up on the bench, format loopwright-fitup-step/1."""
    plain = Plain(found.units)

    def small(value: float | None) -> float | None:
        return plain.small(value, found.dimension)

    return {
        "format": "loopwright-fitup-step/1",
        "build": found.build,
        "number": found.number,
        "name": found.name,
        "note": found.note,
        "seat": list(found.seat),
        "looks_at": found.looks_at,
        "reads": [{"test": test, "entry": entry} for test, entry in found.reads],
        "verdict": found.verdict,
        "unit": plain.unit(found.dimension),
        "largest": small(found.largest),
        "unknown": small(found.unknown),
        "accept": small(found.accept),
        "accepted": number(found.accepted),
        "to_set": [_to_set(plain, one) for one in found.to_set],
        "left": small(found.left),
        "expected": small(found.expected),
        "accepted_then": number(found.accepted_then),
        "targets": [
            {
                "target": name,
                "unit": plain.unit(dimension),
                "limit": plain.small(limit, dimension),
                "expected": [plain.small(now, dimension), plain.small(then, dimension)],
            }
            for name, dimension, limit, now, then in found.targets
        ],
        "proven": found.proven,
        "notes": list(found.notes),
    }


def _to_set(plain: Plain, one: ToSet) -> Data:
    d = one.dimension
    return {
        "what": one.name,
        "kind": one.kind,
        "size_unit": plain.size_unit(d),
        "now": plain.size(one.now, d),
        "value": plain.size(one.value, d),
        "change": plain.size(one.change, d),
        "standard_uncertainty": plain.size(one.std, d),
        "range": [plain.size(one.low, d), plain.size(one.high, d)],
        "at_limit": one.at_limit,
        "foils": None if one.foils is None else [plain.size(foil, d) for foil in one.foils],
        "grind_off": None if one.spacer is None else [plain.size(v, d) for v in one.spacer.grind_off],
        "possible": None if one.spacer is None else one.spacer.possible,
        "remedy": (one.spacer.remedy if one.spacer is not None else one.foil_words) or None,
        "must_come_down": None
        if one.shortfall is None
        else {
            "by": plain.size(one.shortfall.by, d),
            "standard_uncertainty": plain.size(one.shortfall.std, d),
            "dim": one.shortfall.dim or None,
            "raised_instead": list(one.shortfall.raised),
        },
    }


def concession_as_data(found: ConcessionStudy, written: Written | None = None) -> Data:
    """What a part out of tolerance means, format loopwright-concession/1."""
    plain = Plain(found.units)
    return {
        "format": "loopwright-concession/1",
        "build": found.build,
        "part": found.part,
        "state": found.state,
        "dims": [
            {
                "dim": d.dim,
                "readings": d.readings,
                "conformity": conformity_as_data(plain, d.conformity, d.dimension),
            }
            for d in found.dims
        ],
        "ways": [
            {
                "decision": way.decision,
                "words": way.words,
                "targets": [
                    left_as_data(plain, name, dimension, left)
                    for (name, dimension, _), left in zip(found.targets, way.targets)
                ],
                "settings": [
                    {
                        "what": name,
                        "size_unit": plain.size_unit(dimension),
                        "value": plain.size(value, dimension),
                        "change": plain.size(change, dimension),
                    }
                    for name, dimension, value, change in way.settings
                ],
            }
            for way in found.ways
        ],
        "best": found.best,
        "matches": [
            {
                "name": match.name,
                "kind": match.kind,
                "chances": dict(zip((name for name, *_ in found.targets), map(number, match.chances))),
                "largest_expected": number(match.size),
            }
            for match in found.matches
        ],
        "entered": None if written is None else entered_as_data(written),
    }


def chosen_as_data(found: Chosen, written: Written | None = None, came: Brought | None = None) -> Data:
    """Which item goes where, format loopwright-selection/1."""
    plain = Plain(found.units)

    def small(value: float) -> float | None:
        return plain.small(value, Dimension.LENGTH)

    return {
        "format": "loopwright-selection/1",
        "build": found.build,
        "kind": found.kind,
        "best": dict(zip(found.places, found.best)),
        "objective": number(found.objective),
        "average": number(found.average),
        "average_uncertainty": number(found.average_std),
        "worst": number(found.worst),
        "choices": found.choices,
        "every_choice": found.every,
        "unit": plain.unit(Dimension.LENGTH),
        "items": [
            {
                "serial": serial,
                "read": [
                    {"what": i.what, "value": small(i.value), "standard_uncertainty": small(i.std)}
                    for i in items
                ],
            }
            for serial, items in found.items
        ],
        "ranking": [
            {"serials": list(serials), "objective": number(value)} for serials, value in found.ranking
        ],
        "never_worth_using": list(found.aside),
        "graded": [
            {
                "serial": one.serial,
                "grade": one.grade,
                "verdict": one.verdict or None,
                "source": one.source or None,
            }
            for one in found.graded
        ],
        "entered": None if written is None else entered_as_data(written, came),
    }


def screw_as_data(found: ScrewAlignment) -> Data:
    """A screw and its nut, format loopwright-screw/1; misfits in 'unit', positions in 'size_unit', loads in newtons."""
    plain = Plain(found.units)

    def small(values: Iterable[float]) -> list[object]:
        return [plain.small(float(value), Dimension.LENGTH) for value in values]

    return {
        "format": "loopwright-screw/1",
        "build": found.build,
        "joint": found.joint,
        "drive": found.drive,
        "unit": plain.unit(Dimension.LENGTH),
        "size_unit": plain.size_unit(Dimension.LENGTH),
        "positions": [plain.size(at, Dimension.LENGTH) for at in found.positions],
        "directions": [
            {
                "contact": one.contact,
                "normal": list(one.normal),
                "stands_off": small(one.before.mean),
                "not_known": small(one.before.std),
                "side_load": [number(float(v)) for v in one.before.load],
                "side_load_when_set": [number(float(v)) for v in one.after.load],
                "remedies": [
                    {
                        "what": remedy.what,
                        "of": remedy.of,
                        "by": plain.small(remedy.value, Dimension.LENGTH),
                        "uncertainty": plain.small(remedy.std, Dimension.LENGTH),
                        "float": plain.small(remedy.float_, Dimension.LENGTH),
                        "enough": remedy.enough,
                    }
                    for remedy in one.remedies
                ],
            }
            for one in found.directions
        ],
        "notes": list(found.notes),
    }
