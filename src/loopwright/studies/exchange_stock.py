"""Stock to leave as plain data for other programs; every length in the size unit, temperatures in degC."""

from loopwright.handbook.bands import Band
from loopwright.making.stock_route import WorkTo
from loopwright.studies.exchange_bench import Data, Plain, number
from loopwright.studies.stock_hardening import Hardening, HardnessTests
from loopwright.studies.stock_sheet import Cause, StockSheet, SurfaceStock
from loopwright.units import Dimension


def stock_as_data(found: StockSheet) -> Data:
    """Stock to leave on a part, format loopwright-stock/1."""
    plain = _Sizes(found)
    return {
        "format": "loopwright-stock/1",
        "build": found.build,
        "part": found.part,
        "noun": found.noun,
        "material": found.material or None,
        "chance": found.chance,
        "furnace": found.furnace,
        "size_unit": plain.unit,
        "surfaces": [plain.surface(one) for one in found.surfaces],
        "hardening": None if found.hardening is None else _hardening(plain, found.hardening),
        "cautions": [
            {"hazard": one.hazard, "texts": list(one.texts), "source": one.source} for one in found.cautions
        ],
        "cautions_defer": found.defers,
        "problems": [{"field": one.field, "what": one.what, "remedy": one.remedy} for one in found.problems],
    }


class _Sizes:
    """Lengths of a sheet in its size unit."""

    def __init__(self, found: StockSheet) -> None:
        self._plain = Plain(found.units)
        self.unit = self._plain.size_unit(Dimension.LENGTH)

    def size(self, value: float | None) -> float | None:
        """A length."""
        return None if value is None else self._plain.size(value, Dimension.LENGTH)

    def band(self, band: Band | None) -> Data | None:
        """A range of lengths."""
        if band is None:
            return None
        return {"low": self.size(band.low), "high": self.size(band.high), "source": band.source}

    def surface(self, one: SurfaceStock) -> Data:
        """One finishing cut."""
        written, minutes = one.written, one.minutes
        return {
            "surface": one.surface,
            "faces": one.faces,
            "on_diameter": one.on_diameter,
            "op": one.op,
            "op_name": one.op_name,
            "machine": one.machine or None,
            "field": one.field,
            "before": one.before,
            "before_name": one.before_name,
            "left_by": one.leaves,
            "leave": [self.size(one.leave_low), self.size(one.leave_high)],
            "rounded_to": self.size(one.step),
            "least": self.size(one.least),
            "most": self.size(one.most),
            "chance": one.chance_low,
            "fails": None
            if one.fails_stock is None
            else {"stock": self.size(one.fails_stock), "share": one.fails_share},
            "curve": [{"stock": self.size(stock), "chance": chance} for stock, chance in one.curve],
            "window": self.size(one.window),
            "window_written": one.window_written,
            "causes": [self.cause(cause) for cause in one.causes],
            "remedies": [
                {
                    "name": r.name,
                    "words": r.words,
                    "least": self.size(r.least),
                    "saves": self.size(r.saves),
                }
                for r in one.remedies
            ],
            "work_to": None if one.work_to is None else self.work_to(one.work_to, one.grows),
            "blank": self.size(one.blank),
            "written": None
            if written is None
            else {
                "stock": [self.size(written.low), self.size(written.high)],
                "chance_at_least": written.chance_low,
                "chance": written.chance,
            },
            "least_written": self.size(one.least_written),
            "grinding": None
            if minutes is None
            else {
                "extra": self.size(minutes.extra),
                "minutes": [minutes.low, minutes.high],
                "words": minutes.words,
            },
            "customary": self.band(one.customary),
            "customary_says": one.customary_says or None,
            "notes": list(one.notes),
        }

    def cause(self, one: Cause) -> Data:
        """What eats into the stock."""
        return {
            "name": one.name,
            "kind": one.kind,
            "shape": one.shape,
            "low": self.size(one.low),
            "high": self.size(one.high),
            "std": self.size(one.std),
            "expected": self.size(one.expected),
            "takes": self.size(one.takes),
            "source": one.source,
            "assumed": one.assumed,
        }

    def work_to(self, one: WorkTo, grows: float) -> Data:
        """The dim to work to before."""
        return {
            "surface": one.surface,
            "measured_from": one.measured_from or None,
            "op": one.op,
            "limits": [self.size(one.low), self.size(one.high)],
            "grows": self.size(grows),
        }


def _hardening(plain: _Sizes, one: Hardening) -> Data:
    aim = one.aim
    return {
        "steel": one.steel,
        "op": one.op,
        "tempers_in": list(one.tempers_in),
        "aim": None
        if aim is None
        else {
            "low": aim.low,
            "high": aim.high,
            "scale": aim.scale,
            "hrc": None if aim.hrc is None else list(aim.hrc),
            "op": aim.op,
        },
        "harden_degc": _band(one.harden_degc),
        "soak_minutes": _band(one.soak_min),
        "quench": one.quench or None,
        "quench_to_degc": _band(one.quench_to_degc),
        "section": plain.size(one.section),
        "through": one.through or None,
        "as_quenched_hrc": _band(one.as_quenched_hrc),
        "temper_degc": _band(one.temper_degc),
        "temper_written_degc": one.temper_written_degc,
        "tempered_hrc": _band(one.tempered_hrc),
        "temper_hours": _band(one.temper_h),
        "tempers": one.tempers,
        "growth": {
            "mean": one.growth.mean,
            "low": one.growth.low,
            "high": one.growth.high,
            "source": one.growth.source,
        },
        "stress_relief_degc": None if one.relief is None else _band(one.relief.degc),
        "tested": None if one.tested is None else _tested(plain, one.tested),
        "notes": list(one.notes),
    }


def _band(band: Band | None) -> Data | None:
    if band is None:
        return None
    return {"low": number(band.low), "high": number(band.high), "source": band.source}


def _tested(plain: _Sizes, one: HardnessTests) -> Data:
    return {
        "thickness": plain.size(one.thickness),
        "for_hrc": one.hrc,
        "usable": list(one.usable),
        "hrc_needs": plain.size(one.needs.mm),
        "between": None if one.spacing is None else plain.size(one.spacing.between),
        "to_edge": None if one.spacing is None else plain.size(one.spacing.to_edge),
    }
