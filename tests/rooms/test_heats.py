"""What hardening and the temper after it do to lengths: the handbook's size change at the route's temperatures."""

import pytest

from loopwright.handbook.distortion import hottest_known, size_change, size_change_between
from loopwright.handbook.heat_treatment import temper_for
from loopwright.making.heats import growth_of, heat_of
from loopwright.making.made_dims import made
from loopwright.making.planned import plans_of
from loopwright.model.build import Build
from loopwright.studies.chart_sheet import chart_sheet
from loopwright.studies.stock_hardening import hardening_of
from loopwright.studies.stock_sheet import stock_sheet
from made_parts import RING, changed, thin_ring

TEMPER = "{op: temper, machine: furnace, temperature: 180 degC, hardness: 60…62 HRC}"
HARDEN = "- {op: harden, machine: furnace}"


def growth(build: Build, index: int = 3) -> tuple[float, float, float]:
    """Mean, least and most growth of the ring in an op of its route."""
    found = growth_of(build, build.parts["ring"], index)
    assert found is not None
    return found.spread[:3]


def assumed(build: Build) -> str:
    """What is assumed of the hardening of the ring."""
    found = growth_of(build, build.parts["ring"], 3)
    assert found is not None
    return found.assumed


def test_a_temper_takes_part_of_the_growth_back() -> None:
    """O1 oil quenched grows 0.0015 (Buffalo Precision data sheet); tempered at 180 °C the table has 0.0012."""
    assert growth(thin_ring()) == size_change("O1", 180)[:3] == (0.0012, 0.0005, 0.0018)
    quenched = changed(RING, (f"      - {TEMPER}\n", ""))
    assert growth(quenched) == size_change("O1")[:3] == (0.0015, 0.0010, 0.0022)
    assert "no temper" in assumed(quenched)
    assert assumed(thin_ring()) == ""


def test_a_hotter_temper_shrinks_it() -> None:
    """Above 400 °F O1 contracts (aobosteel.com tempering guide): 300 °C expects less than 180 °C, and may shrink."""
    hot = changed(RING, ("180 degC", "300 degC"))
    assert growth(hot) == size_change("O1", 300)[:3]
    assert growth(hot)[0] < growth(thin_ring())[0]
    assert growth(hot)[1] < 0


def test_the_hottest_of_two_tempers_decides() -> None:
    """A second temper at 250 °C brings the size that 250 °C brings."""
    twice = changed(RING, (f"- {TEMPER}\n", f"- {TEMPER}\n      - {{op: temper, temperature: 250 degC}}\n"))
    assert growth(twice) == size_change("O1", 250)[:3]
    assert growth_of(twice, twice.parts["ring"], 4) is None


def test_the_size_does_not_leap_between_rows() -> None:
    """205 °C is 400 °F rounded: it expects what 204 °C does to a hundredth of a promille."""
    assert size_change("O1", 205).mean == pytest.approx(size_change("O1", 204).mean, abs=2e-5)
    assert size_change("O1", 260) == size_change("O1", 400)


def test_without_a_temperature_the_hardness_tells_it() -> None:
    """60 to 62 HRC come from a range of tempers: all that lies between is allowed for, and the answer says so."""
    build = changed(RING, ("temperature: 180 degC, ", ""))
    degc = temper_for("O1", 60, 62).degc
    assert growth(build) == size_change_between("O1", degc.low, degc.high)[:3]
    assert f"taken as {degc.low:.0f} to {degc.high:.0f} °C, which lead to 60 to 62 HRC" in assumed(build)


def test_without_temperature_and_hardness_any_temper_is_allowed_for() -> None:
    """Nothing is stated: from as quenched to the end of the table, and the answer says so."""
    build = changed(RING, ("temperature: 180 degC, hardness: 60…62 HRC", "minutes: 5"))
    assert growth(build) == size_change_between("O1", 0, hottest_known("O1"))[:3]
    assert growth(build)[1:] == (-0.0010, 0.0022)
    assert "any temper of the table" in assumed(build)


def test_an_unknown_steel_or_temper_is_wide_and_says_so() -> None:
    """D2 at 540 °C is past the table: ±0.1 % is assumed, with the reason, never the as quenched figure."""
    build = changed(RING, ("tool steel O1", "tool steel D2"), ("180 degC, hardness: 60…62 HRC", "540 degC"))
    assert growth(build) == (0.0, -0.001, 0.001)
    assert "ends at 510 °C" in assumed(build)
    assert "wide on purpose" in assumed(build)


def test_a_stated_growth_wins() -> None:
    """What the route states for the hardening is of the size after tempering; the temper adds nothing to it."""
    build = changed(RING, (HARDEN, "- {op: harden, machine: furnace, grows: 0.1 % ±0.02 %}"))
    assert growth(build) == pytest.approx((0.001, 0.0008, 0.0012))
    assert growth_of(build, build.parts["ring"], 4) is None


def test_a_cut_between_quench_and_temper_parts_the_growth() -> None:
    """Ground between the two: quenched size before the cut, the difference after it, together that after the temper."""
    grind = "- {op: surface grind, machine: flat grinder, held: magnet, datum: [right], cuts: {left: {}}}\n"
    build = changed(RING, (f"      - {TEMPER}\n      {grind}", f"      {grind}      - {TEMPER}\n"))
    quenched, after = growth(build), growth(build, 5)
    assert quenched == size_change("O1")[:3]
    assert quenched[0] + after[0] == pytest.approx(size_change("O1", 180).mean)
    assert [heat.after_op for heat in plans_of(build, "ring").charts["Z"].plan.heats] == [40, 60]


def test_chart_stock_hardening_and_dims_follow_the_temper() -> None:
    """One growth in all of them: the chart's heat, the working dim, the sheet, and the spread of a dim not ground."""
    build = thin_ring()
    (heat,) = plans_of(build, "ring").charts["Z"].plan.heats
    assert (heat.mean, heat.low, heat.high) == growth(build)
    assert heat == heat_of(build, build.parts["ring"], build.parts["ring"].route[3], 40, "ring")
    told = hardening_of(build, "ring")
    assert told is not None
    assert told.growth[:3] == growth(build)
    (rim,) = (one for one in stock_sheet(build, "ring", surface="rim").surfaces if one.before)
    assert rim.grows == pytest.approx(0.0012 * 60.37, rel=1e-3)
    assert any("tempered at 180 °C in op 50" in cause.name for cause in rim.causes)
    notes = [note for one in chart_sheet(build, "ring").charts for note in one.notes]
    assert any("op 40 (harden, tempered at 180 °C in op 50): all lengths +0.12 %" in note for note in notes)


def test_a_dim_that_is_not_ground_scatters_as_the_temper_leaves_it() -> None:
    """Nothing finishes the rim after the heat: its variance tells tempers apart by that of the growth over 60 mm."""
    grind = "cylindrical grind, machine: round grinder, setup: mandrel, datum: [right], cuts: {bore: {}"
    variances = []
    for temper in ("180 degC", "300 degC"):
        build = changed(RING, (f"{grind}, rim: {{}}", grind), ("180 degC", temper))
        dim = made(build).dims["ring/rim"]
        variances.append(dim.std**2 + sum((one.std * one.factor) ** 2 for one in dim.shares))
    stds = [60 * size_change("O1", temper).std for temper in (180, 300)]
    assert variances[1] - variances[0] == pytest.approx(stds[1] ** 2 - stds[0] ** 2, rel=2e-3)


def test_nitriding_leaves_the_core_to_size_and_says_what_its_skin_adds() -> None:
    """No fraction of the length: 0.01 % at most is assumed, and the 5 to 25 µm a side of the skin are named."""
    build = changed(RING, (f"      - {TEMPER}\n", ""))
    nitrided = build.parts["ring"].model_copy(update={"material": "nitriding steel"})
    build = build.model_copy(update={"parts": {"ring": nitrided}})
    assert growth(build) == (0.0, -0.0001, 0.0001)
    assert "5 to 25 µm a side" in assumed(build)
