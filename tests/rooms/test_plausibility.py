"""Readings that are asked about, and the slips that would explain them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from loopwright.errors import RequestError
from loopwright.measuring.plausibility import Doubt, SweepDoubt, doubt_about, doubt_about_sweep
from loopwright.units import Dimension, parse

MICRON = 0.001


def doubted(found: float, expected: float, std: float = 0.002, **more: object) -> Doubt:
    """The doubt about a reading that is doubted."""
    doubt = doubt_about(found, expected, std, **more)  # type: ignore[arg-type]
    assert doubt is not None
    return doubt


@pytest.mark.parametrize("off", [-3.0, 0.0, 2.9])
def test_what_is_near_enough_is_believed(off: float) -> None:
    """Up to three standard uncertainties from what is expected nothing is asked."""
    assert doubt_about(240.0 + off * 0.002, 240.0, 0.0020000001) is None


@pytest.mark.parametrize(
    ("found", "expected", "meant", "what", "more"),
    [
        (0.120, 0.0118, 0.012, "the decimal point is one place too far right", {}),
        (2.40013, 240.012, 240.013, "the decimal point is two places too far left", {}),
        (-0.012, 0.0118, 0.012, "the sign is missing or too many", {}),
        (12.0, 0.0118, 0.012, "µm are written as mm", {}),
        (9.4493, 240.012, 240.01222, "inches are written as mm, or thou as µm", {}),
        (240.012 * 25.4, 240.012, 240.012, "mm are written as inches, or µm as thou", {"unit": "in"}),
        (5.0, 0.1275, 0.127, "thou are written as mm", {}),
        (0.013, 240.012, 240.013, "the nominal is left out", {"nominal": 240.0}),
        (240.013, 0.012, 0.013, "the nominal is written along", {"nominal": 240.0}),
        (204.013, 240.012, 240.013, "two digits are exchanged", {}),
        (24.013, 240.012, 240.013, "a 0 is left out", {}),
        (2440.013, 240.012, 240.013, "a digit is written twice", {}),
        (24.13, 24.012, 24.013, "a 0 is left out", {}),
    ],
)
def test_each_slip_is_found(
    found: float, expected: float, meant: float, what: str, more: dict[str, object]
) -> None:
    """Of each kind of slip, the value that was meant comes first."""
    first = doubted(found, expected, resolution=MICRON, **more).alternatives[0]
    assert first.what == what
    assert first.value == pytest.approx(meant, abs=1e-9)
    assert abs(first.surprise) < 3


@pytest.mark.parametrize(
    ("found", "meant", "dimension", "unit", "what"),
    [
        ("0.2 arcmin", "12 arcmin", Dimension.ANGLE, "arcmin", "arcmin are written as arcsec, or degrees as arcmin"),
        ("10 µm/m", "10 arcsec", Dimension.ANGLE, "µm/m", "arcsec are written as µm/m"),
    ],
)  # fmt: skip
def test_slips_of_angles(found: str, meant: str, dimension: Dimension, unit: str, what: str) -> None:
    """Angles are mistaken among arcsec, arcmin, degrees and µm/m."""
    value, right = parse(found, dimension), parse(meant, dimension)
    doubt = doubted(value, right * 1.001, right / 100, dimension=dimension, unit=unit)
    assert doubt.alternatives[0].what == what
    assert doubt.alternatives[0].value == pytest.approx(right)


def test_slips_of_temperatures() -> None:
    """70 degC in a shop at 21 degC were 70 degF."""
    doubt = doubted(70.0, 21.0, 0.3, dimension=Dimension.TEMPERATURE, unit="degC")
    assert doubt.alternatives[0].what == "degF are written as degC"
    assert doubt.alternatives[0].value == pytest.approx(21.11, abs=0.005)
    assert "standard uncertainty of 0.30 degC" in doubt.what


def test_a_missing_digit_stays_on_the_gauge() -> None:
    """No digit is put behind the last one that the gauge shows, although it would always help."""
    assert doubted(240.0133, 240.012, 0.0002, resolution=0.0001).alternatives == ()


def test_a_kind_with_many_chances_counts_less() -> None:
    """A lucky digit does not come before a missing sign that explains the reading as well."""
    found = [one.what for one in doubted(-0.1, 0.102, 0.003, resolution=MICRON).alternatives]
    assert found[0] == "the sign is missing or too many"


def test_the_sentence_says_it_in_the_unit_of_the_reading() -> None:
    """Found, expected and standard uncertainty stand in thou, where the gauge reads thou."""
    doubt = doubted(0.0635, 0.0127, 0.00508, unit="thou", resolution=0.00254)
    assert doubt.what == (
        "2.5 thou was found where 0.50 thou is expected, with a standard uncertainty of 0.20 thou: "
        "10 times that"
    )
    assert doubt.surprise == pytest.approx(10)


@pytest.mark.parametrize("std", [0.0, -1.0, float("nan"), float("inf")])
def test_a_surprise_needs_an_uncertainty(std: float) -> None:
    """Where nothing is left open there is nothing to compare with."""
    with pytest.raises(RequestError):
        doubt_about(1.0, 2.0, std)


@given(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3), st.floats(1e-6, 10), st.sampled_from([0.0, 0.001, 0.0127]))
def test_what_is_offered_would_be_believed(
    found: float, expected: float, std: float, resolution: float
) -> None:
    """Every alternative lies within three standard uncertainties, differs from the reading, and comes once."""
    doubt = doubt_about(found, expected, std, resolution=resolution, nominal=25.0)
    if doubt is None:
        assert abs(found - expected) <= 3 * std * (1 + 1e-9)
        return
    values = [float(np.asarray(one.value)) for one in doubt.alternatives]
    assert all(abs(v - expected) < 3 * std * (1 + 1e-9) and v != found for v in values)
    assert len({round(v / std, 6) for v in values}) == len(values)


# A straightness sweep: a smooth expectation with a wide prior, and a gauge that reads to a micron.
PLACES = np.linspace(0, 1, 11)
EXPECTED = np.zeros(11)
WIDE = 0.02**2 * np.exp(-((PLACES[:, None] - PLACES) ** 2) / 0.5) + MICRON**2 * np.eye(11)
TRUE = 0.016 * PLACES * (1 - PLACES) * 4


def sweep(found: np.ndarray, covariance: np.ndarray = WIDE) -> SweepDoubt:
    """The doubt about a sweep that is doubted."""
    doubt = doubt_about_sweep(found, EXPECTED, covariance, resolution=MICRON)
    assert doubt is not None
    return doubt


def test_a_smooth_sweep_is_believed() -> None:
    """A bow well inside of what the prior allows is no surprise."""
    assert doubt_about_sweep(np.round(TRUE, 3), EXPECTED, WIDE) is None


def test_one_value_off_is_told_from_its_neighbours() -> None:
    """A value within the prior, but with two digits exchanged, is found; the others say what it should be."""
    found = np.round(TRUE, 3)
    found[5] = 0.061  # 0.016 on the gauge
    doubt = sweep(found)
    assert doubt.place == 5
    assert doubt.at_place is not None
    assert doubt.at_place.alternatives[0].value == pytest.approx(0.016)
    assert "without value 6 the others are as expected" in doubt.what


def test_a_value_that_only_its_neighbours_doubt() -> None:
    """12 µm too much, under a prior of 20 µm, is no surprise alone and one among its neighbours."""
    found = np.round(TRUE, 3)
    found[3] += 0.012
    doubt = sweep(found)
    assert max(map(abs, doubt.surprises)) < 3
    assert doubt.place == 3


def test_two_values_off_name_no_single_one() -> None:
    """Where two values stick out, no one of them is blamed alone."""
    found = np.round(TRUE, 3)
    found[[2, 8]] += 0.03
    assert sweep(found).place is None


def test_a_whole_sweep_in_the_wrong_unit() -> None:
    """A sweep written in µm under a heading of mm is seen as such."""
    doubt = sweep(np.round(TRUE, 3) * 1000)
    assert doubt.alternatives[0].what == "µm are written as mm"
    assert doubt.alternatives[0].value == pytest.approx(tuple(np.round(TRUE, 3)))


def test_a_sweep_from_the_wrong_end() -> None:
    """Values written from the far end are seen, where the expectation has an end."""
    slope = np.arange(11) * 0.002
    doubt = doubt_about_sweep(slope[::-1], slope, MICRON**2 * np.eye(11))
    assert doubt is not None
    assert doubt.alternatives[0].what == "the values are written from the wrong end"


def test_the_overall_surprise_is_that_of_chi_squared() -> None:
    """The overall surprise has the two-sided normal probability of the sum of squares."""
    found = np.array([0.004, -0.004, 0.004, -0.004, 0.0035])
    doubt = doubt_about_sweep(found, np.zeros(5), 0.0012**2 * np.eye(5))
    assert doubt is not None
    wanted = stats.norm.isf(stats.chi2.sf((found**2).sum() / 0.0012**2, 5) / 2)
    assert doubt.overall == pytest.approx(wanted, rel=1e-9)


def test_a_sweep_without_its_mean_can_be_judged() -> None:
    """Zeroed by its mean, the covariance is singular; the same value is found off."""
    zeroing = np.eye(11) - np.full((11, 11), 1 / 11)
    found = np.round(TRUE, 3)
    found[5] += 0.03
    doubt = doubt_about_sweep(zeroing @ found, EXPECTED, zeroing @ WIDE @ zeroing)
    assert doubt is not None
    assert doubt.place == 5


def test_a_value_fixed_by_the_zeroing_is_no_surprise() -> None:
    """Where the sweep is set to zero, a zero with no uncertainty is not held against anything."""
    matrix = MICRON**2 * np.diag([0.0, 1.0, 1.0, 1.0])
    assert doubt_about_sweep([0, 0.001, -0.001, 0], np.zeros(4), matrix) is None


def test_sound_sweeps_are_seldom_asked_about() -> None:
    """Of sweeps drawn from their own covariance, one in ten or fewer is asked about."""
    draws = np.random.default_rng(3).multivariate_normal(EXPECTED, WIDE, 400)
    assert sum(doubt_about_sweep(one, EXPECTED, WIDE) is not None for one in draws) < 40


def test_a_sweep_that_cannot_be_judged_is_refused() -> None:
    """Sizes that do not fit, a covariance of zero, and numbers that are none are refused."""
    for found, matrix in (
        (np.zeros(3), np.eye(4)),
        (np.zeros(4), np.zeros((4, 4))),
        (np.full(4, np.nan), np.eye(4)),
        (np.zeros(4), np.full((4, 4), np.inf)),
    ):
        with pytest.raises(RequestError):
            doubt_about_sweep(found, np.zeros(4), matrix)
