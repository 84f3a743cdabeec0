"""Cutting data of an op as plain data, in the manner of ``exchange_bench``."""

from collections.abc import Sequence
from math import degrees

from loopwright import units
from loopwright.making.cutting_records import CutData, Detail, Pass, Range, ToolUsed
from loopwright.making.cutting_words import MM_S, CuttingWords
from loopwright.studies.cutting_sheet import CuttingSheet
from loopwright.studies.exchange_bench import Data, Plain, number
from loopwright.units import Dimension


class _Written:
    """Numbers of cutting in the units of a build."""

    def __init__(self, found: CuttingSheet) -> None:
        self.plain, self.words = Plain(found.units), CuttingWords(found.units)
        self.size_unit, self.unit = found.units.length, self.plain.unit(Dimension.LENGTH)

    def size(self, value: float | None) -> float | None:
        return None if value is None else self.plain.size(value, Dimension.LENGTH)

    def small(self, value: float | None) -> float | None:
        return self.plain.small(value, Dimension.LENGTH)

    def speed(self, value: float | None) -> float | None:
        return None if value is None else _converted(value * MM_S, Dimension.SPEED, self.words.speed_unit)

    def feed_speed(self, value: float | None) -> float | None:
        return None if value is None else _converted(value / 60, Dimension.SPEED, self.words.feed_speed_unit)


def _converted(value: float, dimension: Dimension, unit: str) -> float | None:
    return number(float(units.convert(value, dimension, unit)))


def cutting_as_data(found: CuttingSheet) -> Data:
    """Cutting data of an op, format loopwright-cutting/1."""
    written, one = _Written(found), found.cutting
    minutes = one.minutes
    return {
        "format": "loopwright-cutting/1",
        "build": found.build,
        "part": one.part,
        "number": one.number,
        "op": one.op,
        "machine": one.machine,
        "machine_kind": one.machine_kind,
        "setup": one.setup,
        "together": list(found.together),
        "material": one.material,
        "cut_as": one.group or None,
        "condition": one.condition,
        "size_unit": written.size_unit,
        "unit": written.unit,
        "speed_unit": written.words.speed_unit,
        "feed_speed_unit": written.words.feed_speed_unit,
        "cuts": [_cut(written, cut) for cut in one.cuts],
        "minutes": {
            "attended": number(minutes.attended),
            "feeding": number(minutes.feeding),
            "setting_up": number(minutes.setting_up),
            "pieces": minutes.pieces,
            "unattended": number(minutes.unattended),
            "known": minutes.known,
            "made_of": list(minutes.words),
        },
        "notes": list(one.notes),
        "cautions": [{"hazard": r.hazard, "texts": list(r.texts), "source": r.source} for r in one.reminders],
        "cautions_defer": one.deferring,
    }


def _cut(written: _Written, cut: CutData) -> Data:
    return {
        "surface": cut.surface,
        "field": cut.field,
        "way": cut.way,
        "known": cut.known,
        "tool": _tool(written, cut.tool),
        "diameter": written.size(cut.diameter),
        "length": written.size(cut.length),
        "stock": written.size(cut.stock),
        "stock_least": written.size(cut.stock_least),
        "stock_most": written.size(cut.stock_most),
        "stock_from": cut.stock_from or None,
        "limit": written.small(cut.limit),
        "limit_from": cut.limit_from or None,
        "passes": [_pass(written, one) for one in cut.passes],
        "minutes": number(cut.minutes),
        "ranges": [_range(written, one) for one in cut.ranges],
        "details": [_detail(written, one) for one in cut.details],
        "limited_by": list(cut.limits),
        "warnings": [{"about": one.about, "text": one.text} for one in cut.warnings],
        "proven": list(cut.proven),
        "assumed": list(cut.assumed),
        "notes": list(cut.notes),
    }


def _tool(written: _Written, tool: ToolUsed) -> Data:
    return {
        "name": tool.name,
        "kind": tool.kind,
        "material": tool.material or None,
        "diameter": written.size(tool.diameter),
        "edges": tool.edges,
        "stick_out": written.size(tool.stick_out),
        "nose_radius": written.size(tool.nose_radius),
        "edge_angle": degrees(tool.edge_angle),
        "speed_limit": number(tool.speed_limit),
        "edge_radius": written.small(tool.edge_radius),
    }


def _pass(written: _Written, one: Pass) -> Data:
    return {
        "kind": one.kind,
        "count": one.count,
        "speed": written.speed(one.speed),
        "rpm": number(one.rpm),
        "feed": written.size(one.feed),
        "feed_for_each": one.per,
        "feed_speed": written.feed_speed(one.feed_speed),
        "depth": written.size(one.depth),
        "width": written.size(one.width),
        "chip": written.small(one.chip),
        "engagement": None if one.engagement is None else degrees(one.engagement),
        "force": number(one.force),
        "thrust": number(one.thrust),
        "power": number(one.power),
        "torque": number(one.torque),
        "deflection": written.small(one.deflection),
        "effect": written.small(one.effect),
        "height": written.small(one.height),
        "roughness": written.small(one.roughness),
        "minutes": number(one.minutes),
    }


def _range(written: _Written, one: Range) -> Data:
    ends: Sequence[float | None]
    if one.what == "speed":
        ends, unit = [written.speed(v) for v in (one.low, one.high)], written.words.speed_unit
    else:
        ends, unit = [written.size(v) for v in (one.low, one.high)], written.size_unit
    return {
        "what": one.what,
        "unit": unit,
        "low": ends[0],
        "high": ends[1],
        "for_each": one.per or None,
        "cut": one.cut or None,
        "by_rule": one.by_rule,
        "counted": one.counted,
        "source": one.source,
    }


def _detail(written: _Written, one: Detail) -> Data:
    value, unit = one.value, None
    if one.value is not None and one.dimension is not None:
        unit = {
            Dimension.LENGTH: written.size_unit,
            Dimension.ANGLE: "deg",
            Dimension.SPEED: written.words.feed_speed_unit,
        }[one.dimension]
        value = _converted(one.value, one.dimension, unit)
    return {"what": one.what, "value": number(value), "unit": unit, "text": one.text}
