"""What is asked about the making of a part, as plain data: its route, and its tolerance charts."""

from collections.abc import Iterable

from loopwright.errors import Problem
from loopwright.model.build import Units
from loopwright.studies.chart_sheet import Chained, ChartSheet, DirectionSheet
from loopwright.studies.cheapest_making import CheapestMaking, ChosenWay
from loopwright.studies.exchange_bench import Data, Plain, number
from loopwright.studies.route_sheet import CutLine, OpLine, RouteSheet
from loopwright.units import Dimension

_LENGTH = Dimension.LENGTH


def route_as_data(found: RouteSheet, shown: Units) -> Data:
    """How a part is made, format loopwright-route/1."""
    plain = Plain(shown)
    return {
        "format": "loopwright-route/1",
        "build": found.build,
        "part": found.part,
        "material": found.material or None,
        "condition": found.condition or None,
        "blank": found.blank or None,
        "mark": found.mark or None,
        "note": found.note or None,
        "size_unit": plain.size_unit(_LENGTH),
        "unit": plain.unit(_LENGTH),
        "attended_minutes": found.attended,
        "unattended_minutes": found.unattended,
        "ops_without_minutes": found.unstated,
        "ops": [_op(plain, op) for op in found.ops],
        "problems": _problems(found.problems),
        "still_from_limits": dict(found.passed_over),
    }


def chart_as_data(found: ChartSheet, shown: Units) -> Data:
    """The tolerance charts of a part, format loopwright-chart/1."""
    plain = Plain(shown)
    return {
        "format": "loopwright-chart/1",
        "build": found.build,
        "part": found.part,
        "size_unit": plain.size_unit(_LENGTH),
        "unit": plain.unit(_LENGTH),
        "confidence": found.confidence,
        "feasible": found.feasible,
        "problems": _problems(found.problems),
        "charts": [_direction(plain, one) for one in found.charts],
    }


def cheapest_as_data(found: CheapestMaking) -> Data:
    """The cheapest change of routes, format loopwright-cheapest/1."""

    def told(ways: Iterable[ChosenWay]) -> list[Data]:
        return [
            {
                "part": one.part,
                "op": one.op,
                "does": one.does,
                "instead": one.name,
                "matched_set": one.matched or None,
                "field": one.field,
            }
            for one in ways
        ]

    return {
        "format": "loopwright-cheapest/1",
        "build": found.build,
        "targets": list(found.targets),
        "wished_chance": found.wished,
        "chance_now": found.now,
        "reached": found.reached,
        "changes": told(found.chosen),
        "minutes": found.minutes,
        "chance": found.chance,
        "chance_uncertainty": found.chance_std,
        "best_not_enough": told(found.best),
        "bound_minutes": number(found.bound),
        "proven": found.proven,
        "choices": found.choices,
        "looked_at": found.tried,
        "ops_without_minutes": found.unstated,
    }


def _problems(found: Iterable[Problem]) -> list[Data]:
    return [{"field": one.field, "what": one.what, "remedy": one.remedy} for one in found]


def _op(plain: Plain, op: OpLine) -> Data:
    return {
        "number": op.number,
        "op": op.op,
        "machine": op.machine or None,
        "setup": op.setup or None,
        "together": op.together or None,
        "as_one": op.as_one,
        "set_with": list(op.set_with),
        "datum": list(op.datum),
        "held": op.held or None,
        "cuts": [_cut(plain, cut) for cut in op.cuts],
        "hardness": op.hardness or None,
        "minutes": op.minutes,
        "setting_up_minutes": op.setting_up,
        "unattended_minutes": op.unattended,
        "inspect": list(op.inspect),
        "gauge": op.gauge or None,
        "cautions": list(op.cautions),
        "alternatives": list(op.alternatives),
        "note": op.note or None,
        "field": op.field,
    }


def _cut(plain: Plain, cut: CutLine) -> Data:
    stock = None
    if cut.stock is not None:
        least, mean, most = (plain.size(value, _LENGTH) for value in cut.stock)
        stock = {"least": least, "expected": mean, "most": most}
    return {
        "surface": cut.surface,
        "diameter": cut.diameter,
        "direction": cut.direction or None,
        "measured_from": cut.measured_from or None,
        "size": None if cut.size is None else plain.size(cut.size, _LENGTH),
        "tolerance": plain.small(cut.half, _LENGTH),
        "share_of_capability": number(cut.share),
        "given": cut.given,
        "stock": stock,
        "least_stock": plain.size(cut.least, _LENGTH),
        "tool": cut.tool or None,
        "thread": cut.thread or None,
        "field": cut.field,
    }


def _direction(plain: Plain, one: DirectionSheet) -> Data:
    findings = None
    if one.findings is not None:
        findings = [
            {
                "kind": found.kind,
                "field": found.field,
                "what": found.what,
                "remedy": found.remedy,
                "by": plain.small(found.by, _LENGTH),
                "chance": found.chance,
            }
            for found in one.findings
        ]
    return {
        "direction": one.direction,
        "diameters": one.diameters,
        "problems": _problems(one.problems),
        "feasible": one.feasible,
        "share_of_capability": number(one.share),
        "working": [
            {
                "op": dim.op,
                "does": dim.does,
                "surface": dim.surface,
                "measured_from": dim.datum or None,
                "size": plain.size(dim.size, _LENGTH),
                "tolerance": plain.small(dim.half, _LENGTH),
                "capability": plain.small(dim.capability, _LENGTH) if dim.capability else None,
                "share_of_capability": number(dim.share),
                "given": dim.given,
                "bound_by": dim.bound_by or None,
                "field": dim.field,
            }
            for dim in one.working
        ],
        "finished": [_chained(plain, found) for found in one.finished],
        "stock": [_chained(plain, found) for found in one.stock],
        "lacking": list(one.lacking),
        "notes": list(one.notes),
        "would_free": [
            {"what": f.what, "minutes": f.minutes, "share_of_capability": number(f.share), "enough": f.enough}
            for f in one.freed
        ],
        "findings": findings,
    }


def _chained(plain: Plain, found: Chained) -> Data:
    def ends(pair: tuple[float, float]) -> list[float | None]:
        return [plain.size(value, _LENGTH) for value in pair]

    return {
        "name": found.name,
        "over": found.words,
        "asked": ends(found.asked),
        "worst_case": ends(found.worst),
        "expected": plain.size(found.mean, _LENGTH),
        "standard_deviation": plain.small(found.std, _LENGTH),
        "likely": ends(found.likely),
        "chance": found.chance,
        "chance_of_any": found.chance_any,
        "holds": found.holds,
        "binds": found.binds,
    }
