"""What was found of a machine, stated: as the same again in the routes, and as a prior for later readings. Invented."""

import numpy as np
import pytest

from loopwright.buildfile import read_text
from loopwright.errors import RequestError
from loopwright.making.capabilities import holds
from loopwright.making.found_capability import found_capability
from loopwright.making.made_dims import made
from loopwright.model.build import Build, Units
from loopwright.studies.shop_machines import MachineHolds, MachineLine
from loopwright.studies.taking_found import found_entry, take_found
from made_parts import RING, text

LATHE = "lathe: {kind: manual lathe, speeds: [50, 2500], power: 1.5 kW"


def held(**changes: object) -> MachineHolds:
    """A lathe that was found to scatter 1.5 times as much, known within 20 %."""
    values: dict[str, object] = {
        "machine": "lathe", "op": "turn", "taken": (0.004, 0.002, 0.0, 1e-5), "source": "a rule", "assumed": True,
        "field": "shop/machines/lathe/holds/turn", "parts": 3, "read": 8, "factor": 1.5,
        "factor_range": (1.5 / 1.44, 1.5 * 1.44), "informed": 0.6, "differs": True, "of_diameter": True,
    }  # fmt: skip
    return MachineHolds(**{**values, **changes})  # type: ignore[arg-type]


def line(one: MachineHolds) -> MachineLine:
    """The lathe with that op."""
    return MachineLine("lathe", "manual lathe", None, None, None, None, (one,))


def taken(source: str, one: MachineHolds) -> Build:
    """The build once that was taken over."""
    done = take_found(source, [line(one)], "lathe", shown=Units(), last=7, day="2026-03-01")
    return read_text(done.text)


def test_the_entry_has_the_found_deviations_and_how_well_they_are_known() -> None:
    """1.5 times 4 and 2 µm are 6 and 3 µm; a 95 % range of 1.44 either way is a standard uncertainty of 1.2."""
    entry = found_entry(held(), Units(), last=7, day="2026-03-01")
    assert (entry["cut"], entry["setting"]) == ("6 µm", "3 µm")
    assert "seating" not in entry
    assert entry["known_within"] == pytest.approx(1.2)
    assert entry["readings_to"] == 7


def test_in_an_inch_shop_it_is_stated_in_thou() -> None:
    """6 µm are 0.24 thou; two digits are more than is known of it."""
    entry = found_entry(held(), Units(length="in", errors="thou"), last=7, day="2026-03-01")
    assert entry["cut"] == "0.24 thou"


def test_stating_what_the_handbook_has_changes_no_dim() -> None:
    """A factor of one on the handbook's figures leaves every dim as it was, on faces and on diameters."""
    source = text(RING)
    before = made(read_text(source))
    build = read_text(source)
    op = next(op for op in build.parts["ring"].route if op.op == "turn")
    known = holds(build.shop, op)
    assert known is not None
    assert known.assumed
    assert known.of_diameter
    one = held(
        taken=(known.cut, known.setting, known.seating, known.angular), factor=1.0, factor_range=(0.5, 2.0)
    )
    after = made(taken(source, one))
    for path, dim in before.dims.items():
        assert after.dims[path].std == pytest.approx(dim.std, rel=0.03), path
    # and without the word that they are of the diameter a turned diameter would scatter more
    wrong = made(taken(source, held(taken=one.taken, factor=1.0, factor_range=(0.5, 2.0), of_diameter=False)))
    stocks = [
        max(
            r.std
            for (_, direction), chart in found.charted.items()
            if direction == "round"
            for r in chart.stock
        )
        for found in (before, after, wrong)
    ]
    assert stocks[1] == pytest.approx(stocks[0], rel=0.03)
    assert stocks[2] > 1.15 * stocks[0]


def test_an_angle_that_is_stated_stays() -> None:
    """No length tells of the angle: it stays as the shop states it, and so does what it states to be nothing."""
    source = text(RING).replace(
        LATHE, f"{LATHE}, holds: {{turn: {{cut: 4 µm, seating: 0, angular: 8 arcsec}}}}"
    )
    stated = taken(source, held()).shop.machines["lathe"].holds["turn"]
    assert stated.angular == pytest.approx(np.deg2rad(8 / 3600))
    assert stated.seating == 0
    assert stated.cut == pytest.approx(0.006)


def test_too_little_told_is_not_stated() -> None:
    """Readings that take away less than a twentieth of the doubt are refused, with the share and what would do."""
    with pytest.raises(RequestError, match=r"3 % of the doubt.*read more") as told:
        taken(text(RING), held(informed=0.03))
    assert "lathe" in str(told.value)


@pytest.mark.parametrize("seed", range(4))
def test_readings_taken_over_and_later_ones_come_to_what_all_at_once_do(seed: int) -> None:
    """Stated from the first thirty with its doubt, then found from thirty more: as from all sixty, within 2 %."""
    drawn = np.random.Generator(np.random.PCG64(seed)).normal(0, 0.006, 60)
    rest = np.eye(60) * 1e-8

    def found(some: slice, std: float, doubt: float) -> tuple[float, float]:
        count = len(drawn[some])
        answer = found_capability(
            drawn[some], [np.eye(count) * std**2], rest[:count, :count], np.array([doubt])
        )
        return std * float(answer.factor[0]), float(answer.log_std[0])

    whole, sharp = found(slice(None), 0.003, np.log(2))
    first, doubt = found(slice(30), 0.003, np.log(2))
    later, after = found(slice(30, None), first, doubt)
    assert later == pytest.approx(whole, rel=0.02)
    assert after == pytest.approx(sharp, rel=0.05)
