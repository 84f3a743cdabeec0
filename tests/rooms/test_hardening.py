"""Hardness, heat treatment, distortion and skins: what is refused, and what a sheet is told."""

import pickle
import subprocess
import sys

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.cautions import CAUTIONS
from loopwright.handbook.decarburization import furnace_skin, oversize_of_clean_bar, rolled_allowance
from loopwright.handbook.distortion import (
    BENDING_STRAIN,
    HOLDING,
    RELIEVED_BEFORE,
    bend_of,
    martensite_growth,
    nitriding_growth,
    ring_ovality,
    size_change,
    warp,
)
from loopwright.handbook.hardness import (
    convert,
    least_thickness,
    permanent_depth,
    spacing_rockwell,
    usable_tests,
    vickers_diagonal,
)
from loopwright.handbook.heat_treatment import (
    hardens,
    soak_minutes,
    stress_relief,
    temper_for,
    temper_hours,
    tempered_hardness,
    treatment,
)
from loopwright.handbook.heat_treatment_tables import STRESS_RELIEFS, TEMPERING, TREATMENTS

# hardness


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: convert(60, "HRC", "HRB"), "no hardness scale 'HRB'"),
        (lambda: convert(70, "HRC", "HV"), "from 20 to 68 HRC; test in the scale"),
        (lambda: convert(67, "HRC", "HBW"), "to HBW, which runs from 20 to 65 HRC"),
        (lambda: convert(float("nan"), "HRC", "HV"), "outside the conversion table"),
        (lambda: permanent_depth(60, "HRX"), "no Rockwell scale 'HRX'"),
        (lambda: permanent_depth(100, "HRC"), "from 0 to under 100"),
        (lambda: least_thickness(-1), "is not a hardness"),
        (lambda: vickers_diagonal(0, 10), "must be over 0"),
        (lambda: usable_tests(60, 0), "over 0"),
        (lambda: usable_tests(15, 5), "ASTM E140"),
        (lambda: spacing_rockwell(90, "HRB"), "with a ball"),
    ],
)
def test_hardness_refuses_what_it_does_not_know(call: object, said: str) -> None:
    """A scale, a value or a piece outside what is known is refused with what would do."""
    with pytest.raises(OutOfRange, match=said):
        call()  # type: ignore[operator]


def test_a_thin_ring_is_tested_another_way() -> None:
    """A 62 HRC washer of 3 mm bears HRC, one of 0.6 mm HRA, one of 0.3 mm only Vickers, a foil nothing."""
    assert usable_tests(62, 3.0) == ("HRC", "HRA", "HV30", "HV10", "HV5", "HV1")
    assert usable_tests(62, 0.6)[0] == "HRA"
    assert usable_tests(62, 0.3)[0] == "HV10"
    assert usable_tests(62, 0.01) == ()


def test_a_ball_needs_fifteen_depths() -> None:
    """HRB 80 leaves 0.1 mm, and the piece is 1.5 mm thick; E18's table here has no HRB."""
    found = least_thickness(80, "HRB")
    assert (found.by_depth_mm, found.by_table_mm, found.mm) == pytest.approx((1.5, None, 1.5))


def test_a_superficial_scale_counts_half_as_deep() -> None:
    """HR15N at the same number leaves half the depth of HRC."""
    assert permanent_depth(60, "HR15N") == pytest.approx(permanent_depth(60, "HRC") / 2)


# hardening and tempering


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: treatment("S7"), "no heat treatment of 'S7'.*tool steel O1"),
        (lambda: soak_minutes("8620", 20), "depth of case"),
        (lambda: soak_minutes("O1", 0), "over 0"),
        (lambda: temper_hours("nitriding", 20), "not tempered afterwards"),
        (lambda: tempered_hardness("nitriding", 200), "not tempered afterwards"),
        (lambda: tempered_hardness("O1", 100), "149 to 649 °C"),
        (lambda: tempered_hardness("D2", 650), "150 to 595 °C"),
        (lambda: temper_for("O1", 60, 58), "upside down"),
        (lambda: temper_for("O1", 66, 68), "nearest is about 64 HRC, tempered at 149 °C.*harder steel"),
        (lambda: temper_for("A2", 20, 25), "nearest is about 34 HRC, tempered at 704 °C.*annealed"),
        (lambda: temper_for("8620", 40, 45), "nearest is about 58 HRC"),
        (lambda: temper_for("O1", float("nan"), 60), "upside down"),
        (lambda: hardens("O1", -1), "over 0"),
        (lambda: stress_relief("brass"), "no stress relief of 'brass'.*grey cast iron"),
    ],
)
def test_heat_treatment_refuses_what_cannot_be(call: object, said: str) -> None:
    """What no source covers is refused, with where they end or the nearest that can be had."""
    with pytest.raises(OutOfRange, match=said):
        call()  # type: ignore[operator]


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("O1", "tool steel O1"),
        ("gauge plate", "tool steel O1"),
        ("Tool Steel a2", "tool steel A2"),
        ("4140", "alloy steel 4140"),
        ("normalized steel", "carbon steel 1045"),
        ("8620", "case hardening steel 8620"),
        ("nitrided steel", "nitriding"),
    ],
)
def test_steels_go_by_the_names_of_the_trade(said: str, name: str) -> None:
    """A steel is found by its number, by a trade name, in any case."""
    assert treatment(said).name == name


def test_what_the_test_must_show() -> None:
    """For 60 to 62 HRC in O1: 64 to 65 as quenched, 60 to 62 after one temper near 450 °F."""
    found = temper_for("O1", 60, 62)
    assert found.as_quenched_hrc[:2] == (64, 65)
    assert found.must_show_hrc == (60, 62)
    assert found.degc.holds((450 - 32) / 1.8)
    assert (found.tempers, found.brittle) == (1, False)


def test_a_temper_that_makes_brittle_is_marked() -> None:
    """4140 tempered to 46 to 50 HRC passes through 230 to 370 °C; to 30 to 34 HRC it does not."""
    assert temper_for("4140", 46, 50).brittle
    assert not temper_for("4140", 30, 34).brittle


def test_a_wish_finer_than_the_makers_is_marked() -> None:
    """A2 to 57 to 58 HRC is finer than the makers agree; O1 to 56 to 60 HRC is not."""
    assert temper_for("A2", 57, 58).wide
    assert not temper_for("O1", 56, 60).wide


def test_a_wish_past_the_end_takes_what_there_is() -> None:
    """O1 at 63 HRC or more is tempered at the coolest temperature that the sources have."""
    found = temper_for("O1", 63, 68)
    assert found.degc.low == pytest.approx((300 - 32) / 1.8)
    assert tempered_hardness("O1", found.degc.high).middle == pytest.approx(63)


def test_a_thin_section_still_soaks_its_least() -> None:
    """Three millimetres of O1 soak 20 minutes and temper two hours."""
    assert soak_minutes("O1", 3)[:2] == (20, 20)
    assert temper_hours("O1", 3)[:2] == (2, 2)


def test_a_case_is_never_through() -> None:
    """8620 and nitrided parts are hard in the skin only, however thin."""
    assert hardens("8620", 5) == hardens("nitriding", 5) == "skin only"


def test_every_treatment_is_complete() -> None:
    """Bands stand upright and have sources, tempers have tables, cautions exist, names are their own."""
    for name, how in TREATMENTS.items():
        bands = [how.harden_degc, how.as_quenched_hrc, how.soak_min_per_25mm, how.quench_to_degc]
        bands += [how.full_section_mm, how.temper_h_per_25mm, how.brittle_degc]
        assert all(band.low <= band.high and band.source for band in bands if band is not None)
        assert (how.tempers > 0) == (how.temper_h_per_25mm is not None) == (name in TEMPERING)
        assert set(how.cautions) <= set(CAUTIONS)
        assert "oven" in how.cautions
        assert how.name == name
        assert treatment(name) is how
    for relief in STRESS_RELIEFS.values():
        assert relief.degc.low < relief.degc.high
        assert stress_relief(relief.material) is relief


def test_every_tempering_table_is_in_order() -> None:
    """Rows go from cool to hot, ranges from soft to hard, and no temper is shorter than two hours."""
    for name, sources in TEMPERING.items():
        assert treatment(name).least_temper_h == 2
        for source in sources:
            at = [row[0] for row in source.rows]
            assert at == sorted(set(at))
            assert all(20 <= low <= high <= 68 for _, low, high in source.rows)


def test_an_oil_quench_brings_its_cautions() -> None:
    """Every steel that is quenched in oil names the cautions of the oil."""
    oiled = [how for how in TREATMENTS.values() if how.quench == "oil"]
    assert len(oiled) == 3
    assert all("oil quench" in how.cautions for how in oiled)


# distortion


def test_warp_is_the_elastic_bow_of_a_strain() -> None:
    """Bow = ε L² / 8 t, with a third and three times of it as range."""
    found = warp(200, 10, "oil")
    assert found.mean == pytest.approx(BENDING_STRAIN["oil"] * 200**2 / 80)
    assert (found.low, found.high) == pytest.approx((found.mean / 3, found.mean * 3))
    assert "assumption" in found.source


def test_holding_and_relief_are_factors() -> None:
    """A part held flat, or relieved before, warps less; one lying free more."""
    hung = warp(200, 10, "oil").mean
    assert warp(200, 10, "oil", held="lying free").mean == pytest.approx(HOLDING["lying free"] * hung)
    assert warp(200, 10, "oil", relieved=True).mean == pytest.approx(RELIEVED_BEFORE * hung)
    on_a_plug = ring_ovality(60, 6, "oil", held="clamped or on a plug").mean
    assert on_a_plug == pytest.approx(HOLDING["clamped or on a plug"] * ring_ovality(60, 6, "oil").mean)


def test_a_ring_of_two_halves_is_as_a_bar() -> None:
    """Ovality of a thin ring is ε D²/(3 w): 0.08 mm at 60 mm mean diameter and 6 mm wall in oil."""
    found = ring_ovality(60, 6, "oil")
    assert found[:3] == pytest.approx((0.08, 0.08 / 3, 0.24))
    assert found.mean == pytest.approx(4e-4 * 3600 / 18)


def test_the_quench_sets_the_warp() -> None:
    """Water bends most, then oil, air, and the rest."""
    assert [bend_of(s) for s in ("1045", "O1", "A2", "nitriding")] == ["water", "oil", "air", "nitriding"]
    strains = [BENDING_STRAIN[bend] for bend in ("water", "oil", "air", "nitriding")]
    assert strains == sorted(strains, reverse=True)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: size_change("nitriding"), "nitriding_growth"),
        (lambda: size_change("D2", 540), "ends at 510 °C; measure a trial piece"),
        (lambda: size_change("A2", 539), "ends at 538 °C"),
        (lambda: size_change("O1", -1), "degC over 0"),
        (lambda: martensite_growth(1.2), "0 to 1 %"),
        (lambda: warp(5, 10, "oil"), "length over its thickness"),
        (lambda: warp(100, 0, "oil"), "length over its thickness"),
        (lambda: warp(700, 10, "oil"), "70 times.*trial piece"),
        (lambda: warp(100, 10, "salt"), "use one of water"),  # type: ignore[arg-type]
        (lambda: warp(100, 10, "oil", held="by hand"), "use one of hung"),  # type: ignore[arg-type]
        (lambda: ring_ovality(100, 2, "oil"), "50 walls.*on a plug"),
        (lambda: ring_ovality(10, 20, "oil"), "is no ring"),
    ],
)
def test_distortion_refuses_what_the_rule_does_not_reach(call: object, said: str) -> None:
    """A part beyond the rule, or a word it does not know, is refused with what would do."""
    with pytest.raises(OutOfRange, match=said):
        call()  # type: ignore[operator]


def test_the_temper_decides_the_size() -> None:
    """O1 tempered at 177 °C has its own range, and a fraction becomes millimetres."""
    found = size_change("O1", 177).times(100)
    assert found.mean == pytest.approx(0.12)
    assert found.std == pytest.approx((found.high - found.low) / 4)


def test_unknown_growth_is_an_honest_range() -> None:
    """8620 grows 0 to 0.05 %, and nitriding 5 to 25 µm a side: both marked as common practice."""
    assert size_change("8620")[:3] == pytest.approx((0.00025, 0, 0.0005))
    assert "common practice" in size_change("8620").source
    assert nitriding_growth()[:2] == (0.005, 0.025)
    assert "common practice" in nitriding_growth().source


# skins


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: rolled_allowance(30, 20), "thickness first"),
        (lambda: rolled_allowance(10, 260), "ends at 254 mm"),
        (lambda: rolled_allowance(float("nan"), 20), "thickness first"),
        (lambda: oversize_of_clean_bar("round", 5), "6.35"),
        (lambda: oversize_of_clean_bar("round", 310), "under 306"),
        (lambda: oversize_of_clean_bar("hexagon", 20), "no oversize of clean hexagon"),  # type: ignore[arg-type]
        (lambda: oversize_of_clean_bar("flat", 0), "no oversize"),
        (lambda: furnace_skin("prayer"), "use one of vacuum or gas"),  # type: ignore[arg-type]
    ],
)
def test_skins_outside_their_tables(call: object, said: str) -> None:
    """A bar outside the table is refused with where it ends."""
    with pytest.raises(OutOfRange, match=said):
        call()  # type: ignore[operator]


def test_protection_thins_the_skin() -> None:
    """The better the protection, the thinner the skin of the furnace."""
    order = [furnace_skin(p).high for p in ("vacuum or gas", "foil or pack", "coating", "none")]  # type: ignore[arg-type]
    assert order == sorted(order)


def test_answers_survive_a_worker_process() -> None:
    """What the handbook answers can be handed to another process."""
    for answer in (temper_for("O1", 58, 60), treatment("O1"), size_change("A2"), rolled_allowance(10, 20)):
        assert pickle.loads(pickle.dumps(answer)) == answer


def test_the_making_pages_of_the_handbook_open_without_numpy() -> None:
    """Looking up a temper, a stock or a capability loads neither NumPy nor SciPy."""
    names = "cautions, decarburization, distortion, hardness, heat_treatment, process_capability, stock_allowances"
    asked = "'numpy' in sys.modules, 'scipy' in sys.modules"
    code = f"import sys; from loopwright.handbook import {names}; print({asked})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
