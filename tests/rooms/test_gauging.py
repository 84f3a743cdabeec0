"""Gauges, the budget of a reading, comparisons, and readings brought to 20 °C."""

from datetime import date
from math import inf, sqrt

import numpy as np
import pytest
from pydantic import ValidationError
from scipy import stats
from uncertainties import ufloat

from loopwright.buildfile import examine, read_text, write_text
from loopwright.errors import RequestError
from loopwright.handbook.heat import growth_against_scale
from loopwright.handbook.materials import material
from loopwright.measuring.gauging import ReadingBudget, budget_of, comparison
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.measuring.temperature import Estimate, Warmth, at_reference, expansion_of
from loopwright.model.indications import Artefact, Gauge
from loopwright.model.spread import Shape, Spread

MICRON = 0.001
MICROMETER = Gauge(
    resolution="1 µm",
    calibration="±2 µm",
    repeatability={"std": "1 µm"},
    reversal="±3 µm",
    verified=True,
    calibrated="2026-01-10",
    due="2027-01-10",
)


def lines(found: ReadingBudget) -> dict[str, float]:
    """Contributions of a budget in µm, by name."""
    return {c.name: c.std / MICRON for c in found.contributions}


# ------------------------------------------------------------------------------------------------- the record

FILE = """format: loopwright-build/1
name: shop
bodies: {block: {}}
gauges:
  level: {reads: angle, resolution: 1 arcsec, drift_per_kelvin: ±2 arcsec, calibrated: 2026-11-25, due: '2027-11-25'}
  micrometer: {resolution: 1 µm, material: tool steel O1, verified: yes}
artefacts:
  square: {squareness: ±2 arcsec, expansion: 6 µm/m/K, expansion_std: 1 µm/m/K}
"""


def test_a_gauge_reads_from_a_file_and_writes_back() -> None:
    """Dates without quotes, a material, a drift per kelvin and a squareness come through a file unharmed."""
    build = read_text(FILE)
    level = build.gauges["level"]
    assert (level.calibrated, level.due) == (date(2026, 11, 25), date(2027, 11, 25))
    assert level.drift_per_kelvin.half == pytest.approx(2 * np.pi / 648000)
    assert build.gauges["micrometer"].verified
    assert read_text(write_text(build)) == build


@pytest.mark.parametrize(
    ("change", "field", "what"),
    [
        (("2026-11-25", "25.11.2026"), "gauges/level/calibrated", "is not a date"),
        (("2026-11-25", "2026-02-30"), "gauges/level/calibrated", "is not in the calendar"),
        (("'2027-11-25'", "2025-11-25"), "gauges/level", "is due before it was calibrated"),
        (("tool steel O1", "unobtainium"), "gauges/micrometer/material", "no material 'unobtainium'"),
        (("verified: yes", "expansion: 11 µm/m/K"), "gauges/micrometer", "a material and an expansion"),
        (("expansion: 6 µm/m/K, ", ""), "artefacts/square", "'expansion_std' stands alone"),
    ],
)
def test_mistakes_in_a_gauge_are_told(change: tuple[str, str], field: str, what: str) -> None:
    """Each mistake comes with its field and what would do."""
    (problem,) = examine(FILE.replace(*change)).problems
    assert problem.field == field
    assert what in problem.what
    assert problem.remedy


def test_a_program_may_give_dates() -> None:
    """A date is taken as such, and a time of day refused."""
    assert Gauge(due=date(2026, 1, 2)).due == date(2026, 1, 2)
    with pytest.raises(ValidationError, match="not a date"):
        Gauge(due=20260102)


# ------------------------------------------------------------------------------------------------- one reading


def test_one_reading_line_by_line() -> None:
    """1 µm steps: 0.289 µm; ±2 µm of calibration: 1.155 µm; 1 µm of scatter; together 1.555 µm."""
    found = budget_of(MICROMETER, [25.004])
    assert lines(found) == pytest.approx(
        {"calibration": 2 / sqrt(3), "repeatability": 1.0, "resolution": 1 / sqrt(12)}
    )
    assert found.combined / MICRON == pytest.approx(1.5546, abs=5e-5)
    assert (found.value, found.dof, found.remarks) == (25.004, inf, ())
    assert found.expanded == pytest.approx(found.combined * stats.norm.ppf(0.975))


def test_repeats_average_the_scatter_and_nothing_else() -> None:
    """Of sixteen readings the stated scatter counts a quarter; resolution and calibration stay."""
    once, often = (lines(budget_of(MICROMETER, [25.004] * n)) for n in (1, 16))
    assert often["repeatability"] == pytest.approx(once["repeatability"] / 4)
    assert (often["resolution"], often["calibration"]) == (once["resolution"], once["calibration"])


def test_scatter_that_refutes_the_stated_one_is_taken() -> None:
    """Five readings that scatter by 3 µm refute a stated 1 µm: s / √5 with four degrees of freedom."""
    values = 25 + np.array([0.0, 4.0, -3.0, 3.0, -2.0]) * MICRON
    found = budget_of(MICROMETER, values)
    (scatter,) = [c for c in found.contributions if c.kind == "A"]
    assert scatter.name == "scatter of the 5 readings"
    assert scatter.std == pytest.approx(values.std(ddof=1) / sqrt(5))
    assert scatter.dof == 4
    expected = found.combined**4 / (scatter.std**4 / 4)
    assert found.dof == pytest.approx(expected)
    assert found.factor == pytest.approx(stats.t.ppf(0.975, int(expected)))


@pytest.mark.parametrize(("ratio", "kind"), [(0.999, "B"), (1.001, "A")])
def test_the_stated_scatter_holds_up_to_the_f_test(ratio: float, kind: str) -> None:
    """The limit is F(95 %; n - 1, ∞) = 2.60 for n = 4 readings."""
    limit = sqrt(stats.f.ppf(0.95, 3, 1e9))
    assert limit**2 == pytest.approx(2.60, abs=0.005)
    pattern = np.array([1.0, -1.0, 1.0, -1.0])
    values = 25 + pattern / pattern.std(ddof=1) * limit * ratio * MICRON
    found = budget_of(MICROMETER, values)
    assert [c.kind for c in found.contributions if c.name.startswith(("scatter", "repeat"))] == [kind]


def test_two_readings_refute_nothing() -> None:
    """From two readings no scatter is told, and where none is stated either the budget says so."""
    wild = [25.0, 25.02]
    assert [c.kind for c in budget_of(MICROMETER, wild).contributions] == ["B"] * 3
    bare = MICROMETER.model_copy(update={"repeatability": Spread()})
    assert budget_of(bare, wild).remarks == ("no repeatability is stated; read 3 times or more to see it",)


def test_reversal_counts_only_from_both_directions() -> None:
    """±3 µm lost in turning bring 1.73 µm, and nothing where every reading comes from one side."""
    assert "reversal" not in lines(budget_of(MICROMETER, [25.0]))
    assert lines(budget_of(MICROMETER, [25.0], both_directions=True))["reversal"] == pytest.approx(sqrt(3))


def test_the_assumed_shape_holds_for_bare_limits() -> None:
    """Where bare limits are taken as normal, ±2 µm of calibration are 1 µm."""
    assert lines(budget_of(MICROMETER, [25.0], assume=Shape.NORMAL))["calibration"] == pytest.approx(1.0)


def test_a_known_error_of_the_gauge_is_taken_off() -> None:
    """A gauge that reads 3 µm too much by its certificate gives 3 µm less."""
    gauge = Gauge(calibration=Spread(value=0.003, lower=-0.001, upper=0.001))
    assert budget_of(gauge, [25.004]).value == pytest.approx(25.001)


def test_the_zero_drifts_with_the_gauge() -> None:
    """A zero that moves 1 ± 0.5 µm per kelvin, 2 K later: 2 µm off and 0.577 µm open."""
    gauge = Gauge(drift_per_kelvin=Spread(value=0.001, lower=-0.0005, upper=0.0005))
    found = budget_of(gauge, [0.010], since_zero=2.0)
    assert found.value == pytest.approx(0.008)
    assert lines(found) == pytest.approx({"drift of the zero": 1 / sqrt(3)})


def test_remarks_say_what_weakens_a_reading() -> None:
    """A due date passed, unverified figures and unstated ones are said with the budget."""
    gauge = Gauge(calibrated="2025-01-10", due="2026-01-10")
    remarks = budget_of(gauge, [1.0], on=date(2026, 3, 1)).remarks
    assert "calibration was due on 2026-01-10, and the reading is of 2026-03-01" in remarks
    assert "the gauge's figures are not verified" in remarks
    assert "no calibration uncertainty is stated, and none is counted" in remarks
    assert "no resolution is stated, and none is counted" in remarks
    assert budget_of(MICROMETER, [1.0], on=date(2026, 3, 1)).remarks == ()
    (early,) = budget_of(MICROMETER, [1.0], on=date(2025, 3, 1)).remarks
    assert early == "the reading is of 2025-03-01, before the calibration of 2026-01-10"


def test_a_perfect_gauge_leaves_nothing_open() -> None:
    """Without any contribution the uncertainty is zero."""
    found = budget_of(Gauge(), [1.0])
    assert (found.contributions, found.combined, found.expanded, found.dof) == ((), 0.0, 0.0, inf)


@pytest.mark.parametrize("values", [[], [1.0, float("nan")], [[1.0, 2.0]]])
def test_what_is_no_reading_is_refused(values: list[float]) -> None:
    """No value, one that is none, and a table are refused."""
    with pytest.raises(RequestError):
        budget_of(MICROMETER, values)


# ------------------------------------------------------------------------------------------------- two readings


def test_calibration_cancels_in_a_comparison() -> None:
    """Of two readings on one gauge the difference keeps scatter and resolution of both: √2 x 1.041 µm."""
    first, second = budget_of(MICROMETER, [25.004]), budget_of(MICROMETER, [25.001])
    found = comparison(first, second)
    assert found.value == pytest.approx(0.003)
    assert "calibration" not in lines(found)
    assert found.combined / MICRON == pytest.approx(sqrt(2 * (1 + 1 / 12)))
    assert found.combined == pytest.approx(sqrt(first.own_std**2 + second.own_std**2))
    assert first.combined**2 == pytest.approx(first.own_std**2 + first.shared_std**2)


def test_degrees_of_freedom_survive_a_comparison() -> None:
    """What was read four times with a wild scatter keeps its three degrees of freedom."""
    wild = budget_of(MICROMETER, [25.0, 25.02, 25.0, 25.02])
    found = comparison(wild, budget_of(MICROMETER, [25.0]))
    assert {c.dof for c in found.contributions if c.kind == "A"} == {3}
    assert found.factor > 3


def test_the_scale_cancels_as_far_as_it_was_equally_warm() -> None:
    """Read at 22 and 22 degC the coefficient of the scale cancels; at 22 and 18 degC it counts twice."""
    alpha = Estimate(11.5e-6, 1e-6)

    def read(warm: float) -> ReadingBudget:
        at = Estimate(warm)
        return budget_of(Gauge(), [100.0], warmth=Warmth(at, at, Estimate(11.5e-6), alpha))

    one = lines(read(22))["expansion of the gauge"]
    assert "expansion of the gauge" not in lines(comparison(read(22), read(22)))
    assert lines(comparison(read(22), read(18)))["expansion of the gauge"] == pytest.approx(2 * one, rel=1e-3)


# ------------------------------------------------------------------------------------------------- temperature


def test_half_a_metre_of_steel_one_kelvin_warm() -> None:
    """On a scale at 20 degC a steel part of 500 mm, 1 K warm, reads 5.8 µm too much (11.6 µm/m/K)."""
    found = at_reference(500.0058, Warmth(Estimate(21), Estimate(20), Estimate(11.6e-6), Estimate(11.6e-6)))
    assert found.value == pytest.approx(500.0, abs=5e-6)


def test_aluminium_on_a_steel_scale() -> None:
    """D. A. Swyt, J. Res. NIST 99 (1994) 31: 500 mm of aluminium on steel, both 2 K warm, are 11.6 µm too much."""
    warm = Estimate(22.0)
    found = at_reference(
        500.0, Warmth(warm, warm, Estimate(material("aluminium").expansion), Estimate(11.5e-6))
    )
    assert found.correction / MICRON == pytest.approx(-11.6, abs=0.05)
    linear = growth_against_scale(500, 2, 23.1e-6, 2, 11.5e-6).value
    assert found.correction == pytest.approx(-float(linear), rel=1e-4)


def test_uncertainty_of_a_warm_part() -> None:
    """500 mm, 2 K, u(α) = 0.58 ppm/K, u(T) = 0.1 K: √(0.58² + 0.575²) = 0.817 µm (JCGM 100:2008, 5.1.2)."""
    warmth = Warmth(Estimate(22, 0.1), Estimate(20), Estimate(11.5e-6, 0.58e-6), Estimate(0.0))
    found = at_reference(500.0, warmth)
    assert sqrt(sum(c.std**2 for c in found.contributions)) / MICRON == pytest.approx(0.817, abs=0.0015)


def test_every_sensitivity_agrees_with_automatic_differentiation() -> None:
    """The 'uncertainties' library, given the same formula, finds the same first-order uncertainty."""
    warmth = Warmth(
        Estimate(27.0, 0.3), Estimate(16.0, 0.2), Estimate(23.1e-6, 0.5e-6), Estimate(11.5e-6, 1e-6), 0.4
    )
    found = at_reference(320.0, warmth)
    both = ufloat(0, 0.4)
    tp, tg = ufloat(7.0, 0.3) + both, ufloat(-4.0, 0.2) + both
    a_p, a_g = ufloat(23.1e-6, 0.5e-6), ufloat(11.5e-6, 1e-6)
    wanted = 320.0 * (1 + a_g * tg) / (1 + a_p * tp)
    first_order = [c.std for c in found.contributions if "second order" not in c.name]
    assert found.value == pytest.approx(wanted.nominal_value, abs=1e-12)
    assert sqrt(sum(s**2 for s in first_order)) == pytest.approx(wanted.std_dev, rel=1e-9)


def test_second_order_agrees_with_drawn_values() -> None:
    """At 20 degC, where first order sees nothing of the coefficients, drawn values agree within 1 %."""
    warmth = Warmth(
        Estimate(20.0, 0.5), Estimate(20.0, 0.2), Estimate(11.5e-6, 6e-6), Estimate(11.5e-6, 6e-6), 1.0
    )
    found = at_reference(500.0, warmth)
    draw = np.random.default_rng(5).normal(size=(5, 400_000))
    tp, tg = 0.5 * draw[0] + draw[2], 0.2 * draw[1] + draw[2]
    a_p, a_g = 11.5e-6 + 6e-6 * draw[3], 11.5e-6 + 6e-6 * draw[4]
    drawn = (500 * (1 + a_g * tg) / (1 + a_p * tp)).std()
    assert sqrt(sum(c.std**2 for c in found.contributions)) == pytest.approx(drawn, rel=0.01)


def test_a_deviation_from_a_master_is_corrected_by_its_size() -> None:
    """Compared with a master of 100 mm, a deviation of 5 µm is corrected as the whole 100.005 mm would be."""
    warm = (Estimate(23.0, 0.1), Estimate(21.0, 0.1), Estimate(23.1e-6, 1e-6), Estimate(11.5e-6, 1e-6))
    deviation, whole = at_reference(0.005, Warmth(*warm, length=100.0)), at_reference(100.005, Warmth(*warm))
    assert deviation.value + 100 == pytest.approx(whole.value, abs=1e-6)
    pairs = zip(deviation.contributions, whole.contributions, strict=True)
    assert all(one.std == pytest.approx(other.std, rel=1e-4) for one, other in pairs)


def test_the_budget_takes_the_temperatures_in() -> None:
    """Given temperatures correct the reading; a gauge of unknown make is taken for steel, and that is said."""
    warm = Estimate(22.0, 0.5)
    warmth = Warmth(warm, warm, Estimate(23.1e-6, 0.5e-6), expansion_of(MICROMETER))
    found = budget_of(MICROMETER, [500.0116], warmth=warmth)
    assert found.value == pytest.approx(500.0, abs=5e-5)
    assert next(iter(lines(found))) == "temperature of the part"
    assert found.remarks == ("the gauge does not say what its scale is made of, and is taken for steel",)


def test_what_a_scale_is_made_of() -> None:
    """Steel unless it says otherwise; a stated coefficient without uncertainty is known to a tenth."""
    assert expansion_of(Gauge()).value == material("steel").expansion
    assert expansion_of(Artefact(material="granite")).std == material("granite").expansion_std
    assert expansion_of(Artefact(expansion=6e-6)) == Estimate(6e-6, pytest.approx(0.6e-6))
    assert expansion_of(Gauge(expansion=6e-6, expansion_std=0.0)).std == 0.0


def test_impossible_warmth_is_refused() -> None:
    """A temperature that is none of a shop, a negative uncertainty, and an angle that should grow are refused."""
    alpha = Estimate(11.5e-6)
    for part, both in ((Estimate(295.15), 0.0), (Estimate(20.0, -1.0), 0.0), (Estimate(20.0), -1.0)):
        with pytest.raises(RequestError):
            at_reference(100.0, Warmth(part, Estimate(20.0), alpha, alpha, both))
    level = Gauge(reads="angle")
    with pytest.raises(RequestError, match="angle does not grow"):
        budget_of(level, [0.0], warmth=Warmth(Estimate(20.0), Estimate(20.0), alpha, alpha))


def test_type_b_divisors() -> None:
    """A half-width of 1 is 1/√3 as a rectangle, 1/√6 as a triangle, 1/√2 as an arcsine (JCGM 100:2008, 4.3)."""
    one = {"lower": -1.0, "upper": 1.0}
    found = [standard_uncertainty(Spread(**one, shape=s)) for s in ("rectangular", "triangular", "arcsine")]
    assert found == pytest.approx([1 / sqrt(3), 1 / sqrt(6), 1 / sqrt(2)])
