"""Readings of a linear displacement brought to 20 °C: by hand, by simulation, and against a library."""

from math import hypot, sqrt

import numpy as np
import pytest
from uncertainties import covariance_matrix, ufloat

from loopwright.errors import RequestError
from loopwright.handbook.heat import growth_against_scale
from loopwright.measuring.temperature import Estimate, Grower, LineCorrected, line_at_reference

STEEL, GLASS = 11.6e-6, 8e-6
AT = np.arange(0.0, 501.0, 50.0)


def gauge(rise: float = 1.0, u_rise: float = 0.0, u_alpha: float = 0.0, swing: float = 0.0) -> Grower:
    """A step gauge of steel, so many kelvin warm."""
    return Grower("step gauge", Estimate(20 + rise, u_rise), Estimate(STEEL, u_alpha), swing)


def scale(rise: float, u_rise: float = 0.0, u_alpha: float = 0.0, alpha: float = GLASS) -> Grower:
    """A scale of the machine."""
    return Grower("X scale", Estimate(20 + rise, u_rise), Estimate(alpha, u_alpha))


def spread(found: LineCorrected) -> np.ndarray:
    """Covariance of the corrected readings, (n, n), mm²."""
    common = [effect.std**2 * np.outer(effect.column, effect.column) for effect in found.effects]
    return np.diag(found.stds**2) + sum(common, np.zeros((len(found.values),) * 2))


# ------------------------------------------------------------------------------------------------------------ by hand
def test_half_a_metre_of_steel_one_kelvin_warm() -> None:
    """0.5 m · 11.6 µm/(m·K) · 1 K = 5.8 µm: a machine that is true seems 5.8 µm short, and is brought back."""
    found = line_at_reference(-AT * STEEL, AT, gauge())
    assert found.correction[-1] == pytest.approx(0.0058)
    assert found.values == pytest.approx(np.zeros(len(AT)), abs=1e-15)
    assert found.effects == ()
    assert not found.stds.any()


def test_the_uncertainty_by_hand() -> None:
    """At 0.5 m: ±0.1 K brings 0.58 µm, 0.6 µm/(m·K) on 1 K brings 0.3 µm, both together 0.03 µm more; in proportion
    to the distance, and all of it in common; the coefficient's error is the gauge's own for good.
    """
    found = line_at_reference(0 * AT, AT, gauge(u_rise=0.1, u_alpha=0.6e-6))
    named = {effect.name: effect for effect in found.effects}
    sizes = {name: effect.std for name, effect in named.items()}
    assert sizes == pytest.approx(
        {
            "temperature of step gauge": 0.58e-3,
            "expansion of step gauge": 0.3e-3,
            "temperature times expansion of step gauge, second order": 0.03e-3,
        }
    )
    for effect in found.effects:
        assert effect.column == pytest.approx(AT / 500)
    assert [name for name, effect in named.items() if effect.lasting] == ["expansion of step gauge"]
    assert found.farthest == pytest.approx(hypot(0.58e-3, 0.3e-3, 0.03e-3))


def test_it_counts_from_the_fixed_point() -> None:
    """A gauge held in its middle grows to both sides: nothing there, half as much at either end, other signs."""
    found = line_at_reference(0 * AT, AT, gauge(u_rise=0.1), fixed_at=250.0)
    assert found.correction == pytest.approx((AT - 250) * STEEL)
    (effect,) = found.effects
    assert effect.std == pytest.approx(0.29e-3)
    assert effect.column[[0, 5, 10]] == pytest.approx([-1, 0, 1])


def test_a_draught_is_each_readings_own() -> None:
    """A gauge that swings by 0.05 K between readings leaves 0.29 µm open at 0.5 m, on its own."""
    found = line_at_reference(0 * AT, AT, gauge(swing=0.05))
    assert found.stds == pytest.approx(AT * STEEL * 0.05)
    assert found.stds[-1] == pytest.approx(0.29e-3)


def test_a_cold_gauge_turns_the_coefficients_error_round() -> None:
    """A coefficient that is too large by as much moves the readings down at 19 °C where it moves them up at 21."""
    warm, cold = (line_at_reference(0 * AT, AT, gauge(rise, u_alpha=1e-6)).effects[0] for rise in (1.0, -1.0))
    assert warm.name == cold.name
    assert warm.column == pytest.approx(-cold.column)


def test_a_laser_that_corrects_itself_changes_nothing() -> None:
    """What does not grow leaves the readings as they are."""
    found = line_at_reference(AT * 1e-6, AT, Grower("laser", Estimate(23.0, 0.5), Estimate(0.0)))
    assert np.array_equal(found.values, AT * 1e-6)
    assert found.effects == ()


# ------------------------------------------------------------------------------------------- against other reckonings
def test_it_is_the_handbooks_growth_against_a_scale() -> None:
    """To first order the correction and its uncertainty are those of a warm part on a warm scale."""
    stds = {"rise_std": 0.2, "expansion_std": 0.5e-6}
    book = growth_against_scale(AT, 2.0, STEEL, 3.5, GLASS, **stds)
    found = line_at_reference(0 * AT, AT, gauge(2.0, 0.2, 0.5e-6), machine=scale(3.5, 0.2, 0.5e-6))
    assert found.correction == pytest.approx(book.value, rel=1e-4, abs=1e-12)
    first = [e for e in found.effects if "second order" not in e.name]
    size = np.sqrt(sum((e.std * e.column) ** 2 for e in first))
    assert size == pytest.approx(book.std, rel=1e-4, abs=1e-12)


@pytest.mark.parametrize(("warm", "hot"), [(2.0, -3.0), (-5.0, 10.0), (0.0, 4.0)])
def test_a_machine_simulated_exactly_is_found_again(warm: float, hot: float) -> None:
    """Errors at 20 °C, a scale that grows and a gauge that grows, each by its full factor: the errors come back."""
    true = 3e-3 * np.sin(AT / 80)
    went = (AT + true) * (1 + GLASS * hot)
    found = line_at_reference(went - AT * (1 + STEEL * warm), AT, gauge(warm), machine=scale(hot))
    assert found.values == pytest.approx(true, abs=1e-13)


def test_the_covariance_is_that_of_the_library() -> None:
    """First order in four uncertain numbers, by a library that differentiates the formula itself."""
    t_a, a_a = ufloat(2.0, 0.2), ufloat(STEEL, 0.5e-6)
    t_m, a_m = ufloat(3.5, 0.3), ufloat(GLASS, 0.4e-6)
    read = 1e-3 * np.cos(AT / 60)
    library = [(v + s * (a_a * t_a - a_m * t_m)) / (1 + a_m * t_m) for v, s in zip(read, AT)]
    found = line_at_reference(read, AT, gauge(2.0, 0.2, 0.5e-6), machine=scale(3.5, 0.3, 0.4e-6))
    assert found.values == pytest.approx([one.nominal_value for one in library], abs=1e-12)
    first = [effect for effect in found.effects if "second order" not in effect.name]
    mine = sum(e.std**2 * np.outer(e.column, e.column) for e in first)
    assert mine == pytest.approx(np.array(covariance_matrix(library)), rel=1e-3, abs=1e-11)
    assert sqrt(mine[-1, -1]) == pytest.approx(library[-1].std_dev, rel=1e-3)


def test_at_20_degrees_the_second_order_is_all_of_the_coefficient() -> None:
    """Drawn a million times, ±0.5 K about 20 °C and a coefficient open by 2 µm/(m·K) leave the spread foretold."""
    draw = np.random.Generator(np.random.PCG64(1))
    rise, alpha = draw.normal(0, 0.5, 1_000_000), draw.normal(STEEL, 2e-6, 1_000_000)
    found = line_at_reference([0.0], [500.0], gauge(0.0, 0.5, 2e-6))
    # of a million draws the spread is known to 1 / sqrt(2 million)
    assert sqrt(spread(found)[0, 0]) == pytest.approx(float((500 * rise * alpha).std()), rel=4 / sqrt(2e6))


# ----------------------------------------------------------------------------------------------------------- mistakes
@pytest.mark.parametrize(
    ("travel", "grower", "words"),
    [
        (AT[:-1], gauge(), "11 readings and 10 positions"),
        (np.full(11, np.nan), gauge(), "give a number of each"),
        (AT, gauge(120.0), "not at a shop temperature"),
        (AT, gauge(u_rise=-0.1), "negative or missing"),
        (AT, gauge(swing=float("nan")), "negative or missing"),
    ],
)
def test_mistakes_are_named(travel: np.ndarray, grower: Grower, words: str) -> None:
    """Positions that are not as many, or no numbers, and temperatures that cannot be are refused in words."""
    with pytest.raises(RequestError) as refused:
        line_at_reference(np.zeros(11), travel, grower)
    assert words in f"{refused.value.what}; {refused.value.remedy}"
