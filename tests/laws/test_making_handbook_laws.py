"""What must hold in the shop's tables whatever the numbers: order, scaling, inverse, and no source left outside."""

from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.errors import OutOfRange
from loopwright.handbook import stock_allowances as stock
from loopwright.handbook.decarburization import rolled_allowance
from loopwright.handbook.distortion import ring_ovality, size_change, warp
from loopwright.handbook.hardness import (
    TABLE,
    convert,
    interpolated,
    least_thickness,
    spacing_rockwell,
    usable_tests,
)
from loopwright.handbook.heat_treatment import LEAST_WIDTH_HRC, soak_minutes, temper_for, tempered_hardness
from loopwright.handbook.heat_treatment_tables import TEMPERING
from loopwright.handbook.process_capability import grade_of, relative_cost, usual_tolerance

HRC = st.floats(20, 68)
SCALES = st.sampled_from(["HV", "HRA", "HBW"])
STEELS = st.sampled_from(sorted(TEMPERING))
LENGTH = st.floats(10, 250)
TOLERANCED = st.sampled_from("saw drill ream bore turn lap".split())


# hardness


def test_every_column_rises() -> None:
    """A harder row is harder in every scale."""
    for column in TABLE.values():
        assert all(a < b for a, b in pairwise(column))
    assert [len(TABLE[scale]) for scale in ("HRC", "HV", "HRA", "HBW")] == [49, 49, 49, 46]


@given(st.floats(20, 65), st.floats(20, 65), SCALES)
def test_harder_is_harder_in_every_scale(one: float, other: float, scale: str) -> None:
    """Conversion keeps the order."""
    soft, hard = sorted((one, other))
    assert interpolated(soft, "HRC", scale) <= interpolated(hard, "HRC", scale)  # type: ignore[arg-type]


@given(st.floats(20, 65), SCALES)
def test_there_and_back_without_rounding(hrc: float, scale: str) -> None:
    """Interpolation has its inverse."""
    there = interpolated(hrc, "HRC", scale)  # type: ignore[arg-type]
    assert interpolated(there, scale, "HRC") == pytest.approx(hrc, abs=1e-9)  # type: ignore[arg-type]


@given(HRC)
def test_there_and_back_within_rounding(hrc: float) -> None:
    """Through whole Vickers and back to whole HRC moves a value by no more than the two roundings."""
    hv = convert(hrc, "HRC", "HV")
    assert abs(convert(hv, "HV", "HRC") - hrc) <= 0.5 + 0.5 / 5


@given(st.integers(20, 68))
def test_a_whole_value_comes_back(hrc: int) -> None:
    """A whole HRC through whole Vickers comes back as itself."""
    assert convert(convert(hrc, "HRC", "HV"), "HV", "HRC") == hrc


@given(HRC, HRC)
def test_a_harder_piece_may_be_thinner(one: float, other: float) -> None:
    """Least thickness and spacing fall with hardness."""
    soft, hard = sorted((one, other))
    assert least_thickness(hard).mm <= least_thickness(soft).mm
    assert spacing_rockwell(hard).between <= spacing_rockwell(soft).between


@given(HRC, st.floats(0.01, 3), st.floats(0.01, 3))
def test_a_thicker_piece_bears_every_test_of_a_thinner(hrc: float, one: float, other: float) -> None:
    """No test is lost by more thickness."""
    thin, thick = sorted((one, other))
    assert set(usable_tests(hrc, thin)) <= set(usable_tests(hrc, thick))


# tempering


def ends(steel: str) -> tuple[float, float]:
    """Coolest and hottest temper of all sources of a steel."""
    rows = [row[0] for source in TEMPERING[steel] for row in source.rows]
    return min(rows), max(rows)


def within(steel: str, share: float) -> float:
    """A temperature of the table by its share of the way."""
    low, high = ends(steel)
    return low + share * (high - low)


@given(STEELS, st.floats(0, 1), st.floats(0, 1))
def test_hotter_is_never_harder(steel: str, one: float, other: float) -> None:
    """Both ends of the band never rise with the tempering temperature."""
    cool, hot = (tempered_hardness(steel, within(steel, share)) for share in sorted((one, other)))
    assert hot.low <= cool.low + 1e-9
    assert hot.high <= cool.high + 1e-9


@given(STEELS, st.floats(0, 1))
def test_no_source_is_left_outside(steel: str, share: float) -> None:
    """At every temperature the band holds every source that covers it, and is at least 2 HRC wide."""
    at = within(steel, share)
    band = tempered_hardness(steel, at)
    assert band.high - band.low >= LEAST_WIDTH_HRC - 1e-9
    for source in TEMPERING[steel]:
        for (t0, low0, high0), (t1, low1, high1) in pairwise(source.rows):
            if t0 <= at <= t1:
                part = (at - t0) / (t1 - t0)
                assert band.low <= low0 + part * (low1 - low0) + 1e-9
                assert band.high >= high0 + part * (high1 - high0) - 1e-9


@given(STEELS, st.floats(20, 68), st.floats(0, 10))
def test_an_offered_temper_gives_what_was_wished(steel: str, low: float, width: float) -> None:
    """The middle of the band lies in the wish at both ends of the offered temperatures, or the wish is refused."""
    hardest, softest = (tempered_hardness(steel, at).middle for at in ends(steel))
    if low > hardest or low + width < softest:
        with pytest.raises(OutOfRange, match="nearest"):
            temper_for(steel, low, low + width)
        return
    found = temper_for(steel, low, low + width)
    assert found.degc.low <= found.degc.high + 1e-9
    for at in (found.degc.low, found.degc.high):
        band = tempered_hardness(steel, at)
        assert low - 1e-6 <= band.middle <= low + width + 1e-6
        assert found.expected_hrc.low - 1e-6 <= band.low
        assert band.high <= found.expected_hrc.high + 1e-6


@given(st.floats(1, 100), st.floats(1, 100))
def test_a_thicker_section_soaks_no_shorter(one: float, other: float) -> None:
    """Soaking time never falls with the section."""
    thin, thick = (soak_minutes("O1", s) for s in sorted((one, other)))
    assert thin.low <= thick.low
    assert thin.high <= thick.high


# distortion


@given(
    st.sampled_from("O1 A2 4140 1045 8620".split()),
    st.one_of(st.none(), st.floats(150, 500)),
    st.floats(1, 500),
)
def test_growth_scales_with_the_part(steel: str, temper: float | None, length: float) -> None:
    """Mean within its range, and twice the part grows twice as much."""
    found = size_change(steel, temper)
    assert found.low <= found.mean <= found.high
    assert found.times(2 * length).mean == pytest.approx(2 * found.times(length).mean)


@given(LENGTH, st.floats(10, 50), st.floats(1, 2))
def test_warp_goes_with_the_square_of_length_over_thickness(
    length: float, thickness: float, k: float
) -> None:
    """K times as long warps k² times as much; k times as thick a k-th; all sizes k times, k times."""
    assume(length > 2 * thickness)
    base = warp(length, thickness, "oil").mean
    assert warp(k * length, thickness, "oil").mean == pytest.approx(k * k * base)
    assert warp(length, k * thickness, "oil").mean == pytest.approx(base / k)
    assert warp(k * length, k * thickness, "oil").mean == pytest.approx(k * base)


@given(st.floats(40, 100), st.floats(5, 20), st.floats(1, 2))
def test_ovality_goes_with_the_square_of_diameter_over_wall(diameter: float, wall: float, k: float) -> None:
    """K times the diameter is k² times as oval; k times the wall a k-th."""
    base = ring_ovality(diameter, wall, "air").mean
    assert ring_ovality(k * diameter, wall, "air").mean == pytest.approx(k * k * base)
    assert ring_ovality(diameter, k * wall, "air").mean == pytest.approx(base / k)


# stock and skins


@given(st.floats(1, 250), st.floats(1, 250), st.floats(1, 250))
def test_a_larger_bar_loses_no_less(one: float, two: float, three: float) -> None:
    """Allowances never fall with the width, or with the thickness, and the skin is under the allowance."""
    thin, middle, wide = sorted((one, two, three))
    narrow, broad, thick = (
        rolled_allowance(thin, middle),
        rolled_allowance(thin, wide),
        rolled_allowance(middle, wide),
    )
    for less, more in ((narrow, broad), (broad, thick)):
        assert less.on_thickness <= more.on_thickness
        assert less.on_width <= more.on_width
    assert narrow.skin_on_thickness < narrow.on_thickness <= narrow.on_width


@given(st.floats(0.5, 50), st.floats(0.5, 50))
def test_stock_never_falls_with_size(one: float, other: float) -> None:
    """Reaming, boring and grinding leave no less on a larger diameter."""
    small, large = sorted((one, other))
    for less, more in [
        (stock.reaming(small), stock.reaming(large)),
        (stock.reaming(small, by_hand=True), stock.reaming(large, by_hand=True)),
        (stock.finish_boring(small), stock.finish_boring(large)),
        (stock.cylindrical_grinding(small, small), stock.cylindrical_grinding(large, large)),
    ]:
        assert less.low <= more.low
        assert less.high <= more.high
        assert 0 < less.low < less.high


@given(TOLERANCED, st.floats(1.01, 500))
def test_grades_read_backwards(op: str, size: float) -> None:
    """The width of a grade has that grade, and the usual tolerance has its two."""
    found = usual_tolerance(op, size)
    assert (grade_of(size, found.low), grade_of(size, found.high)) == found.grades


@given(st.floats(0.0127, 0.0762), st.floats(0.0127, 0.0762))
def test_a_finer_tolerance_costs_more(one: float, other: float) -> None:
    """Cost never falls as the tolerance is tightened."""
    fine, coarse = sorted((one, other))
    assert relative_cost(fine) >= relative_cost(coarse) - 1e-12
