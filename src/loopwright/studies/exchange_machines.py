"""The shop's machines and what they hold, as plain data."""

from collections.abc import Sequence

from loopwright.model.build import Build
from loopwright.studies.exchange_bench import Data, Plain
from loopwright.studies.shop_machines import MachineHolds, MachineLine
from loopwright.studies.taking_found import Taken
from loopwright.units import Dimension

_LENGTH, _ANGLE = Dimension.LENGTH, Dimension.ANGLE


def machines_as_data(
    build: Build,
    lines: Sequence[MachineLine],
    *,
    taken: Taken | None = None,
    entry: int | None = None,
    revision: int | None = None,
) -> Data:
    """The shop's machines, format loopwright-machines/1.

    Args:
        build: that they are described in.
        lines: the machines.
        taken: what was taken over into the description, where that was asked for.
        entry: of the book in which that was saved.
        revision: its number.
    """
    plain = Plain(build.units)
    return {
        "format": "loopwright-machines/1",
        "build": build.name,
        "unit": plain.unit(_LENGTH),
        "angle_unit": plain.unit(_ANGLE),
        "size_unit": plain.size_unit(_LENGTH),
        "machines": [
            {
                "machine": one.name,
                "kind": one.kind,
                "envelope": None
                if one.envelope is None
                else [plain.size(value, _LENGTH) for value in one.envelope],
                "speeds": None if one.speeds is None else list(one.speeds),
                "power_watts": one.power,
                "hour_costs": one.rate,
                "holds": [_holds(plain, each) for each in one.holds],
            }
            for one in lines
        ],
        "taken": None
        if taken is None
        else {"fields": [one.field for one in taken.holds], "entry": entry, "revision": revision},
    }


def _holds(plain: Plain, one: MachineHolds) -> Data:
    def deviations(cut: float, setting: float, seating: float, angular: float) -> Data:
        return {
            "cut": plain.small(cut, _LENGTH),
            "setting": plain.small(setting, _LENGTH),
            "seating": plain.small(seating, _LENGTH),
            "angular": plain.small(angular, _ANGLE),
        }

    return {
        "op": one.op,
        "taken": deviations(*one.taken),
        "source": one.source,
        "assumed": one.assumed,
        "of_diameter": one.of_diameter,
        "known_within": one.known_within,
        "field": one.field,
        "parts": one.parts,
        "read": one.read,
        "counted_already": one.counted,
        "factor": one.factor,
        "factor_range": None if one.factor_range is None else list(one.factor_range),
        "doubt_removed": one.informed,
        "differs": one.differs,
        "found": None if one.found is None else deviations(*one.found, one.taken[3]),
    }
