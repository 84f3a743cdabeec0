"""What the handbook says when it is asked for something it does not have, and how it reads names."""

import doctest
import pickle
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook import beams, geometry, heat
from loopwright.handbook.limits_and_fits import fit, fundamental_deviation, limits, standard_tolerance
from loopwright.handbook.materials import MATERIALS, material
from loopwright.handbook.screws import lead_error


@pytest.mark.parametrize("text", ["", "7H", "H", "H7/g6", "Q7", "l6", "hJ6", "H19", "H 007", "Hello"])
def test_a_text_that_is_no_class_is_told_what_one_looks_like(text: str) -> None:
    """What cannot be read as a class is a QuantityError that shows one, or the grades there are."""
    with pytest.raises(QuantityError) as caught:
        limits(25, text)
    assert "not a " in caught.value.what
    assert "'H7'" in caught.value.remedy or "1 to 18" in caught.value.remedy


@pytest.mark.parametrize(
    ("size", "tolerance_class", "said"),
    [
        (0, "H7", "over 0 up to 3150 mm"),
        (-5, "H7", "over 0 up to 3150 mm"),
        (float("nan"), "js6", "over 0 up to 3150 mm"),
        (4000, "h6", "over 0 up to 3150 mm"),
        (4000, "k12", "over 0 up to 3150 mm"),
        (600, "IT0", "ends at 500 mm"),
        (600, "x7", "no x7 at 600 mm"),
        (600, "C11", "no C11 at 600 mm"),
        (20, "t6", "no t6 at 20 mm"),
        (20, "j9", "no j9 at 20 mm"),
        (20, "J5", "no J5 at 20 mm"),
        (20, "cd8", "no cd8 at 20 mm"),
        (20, "K9", "K8 or finer, or JS9"),
        (20, "P2", "start at grade 3"),
    ],
)
def test_a_class_that_the_tables_lack(size: float, tolerance_class: str, said: str) -> None:
    """A value outside the tables is refused with what was asked and where the table ends."""
    with pytest.raises(OutOfRange, match=said):
        limits(size, tolerance_class)


def test_classes_are_read_as_people_write_them() -> None:
    """Spaces do not matter, 'Js' is JS, and grades may be numbers."""
    assert limits(25, " H 7 ") == limits(25, "H7")
    assert limits(40, "Js7") == limits(40, "JS7")
    assert standard_tolerance(25, 7) == standard_tolerance(25, "IT7") == standard_tolerance(25, "7")
    assert standard_tolerance(25, "01") < standard_tolerance(25, 0)
    assert fundamental_deviation(25, "js", 7) == -fundamental_deviation(25, "JS", 7) == limits(25, "js7")[0]


def test_zero_is_not_printed_as_minus_zero() -> None:
    """The lower deviation of H is 0, not -0."""
    assert str(limits(25, "H7")[0]) == "0.0"
    assert str(fundamental_deviation(25, "H", 7)) == "0.0"


@pytest.mark.parametrize("text", ["H7", "g6/H7", "H7/G6", "h7/g6", "H7/", "/g6"])
def test_a_fit_is_a_hole_and_a_shaft(text: str) -> None:
    """A fit names the hole first and the shaft second."""
    with pytest.raises(QuantityError, match="write"):
        fit(25, text)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("CAST IRON", "grey cast iron"),
        ("gray-cast-iron", "grey cast iron"),
        ("aluminum 6061", "aluminium 6061"),
        ("6061 Aluminum", "aluminium 6061"),
        ("normalized steel", "normalised steel"),
        ("polymer concrete", "epoxy granite"),
        ("O1", "tool steel O1"),
        ("17-4", "stainless steel 17-4"),
        ("quartz glass", "fused silica"),
    ],
)
def test_materials_go_by_the_names_of_the_trade(said: str, name: str) -> None:
    """Case, hyphens, spelling and the order of words do not matter."""
    assert material(said).name == name


def test_an_unknown_material_names_its_neighbours() -> None:
    """The message of an unknown material offers the nearest names, or all of them."""
    with pytest.raises(OutOfRange, match=r"nearest: .*stainless steel 303"):
        material("stainless steel 305")
    with pytest.raises(OutOfRange, match="steel, low carbon steel"):
        material("xyzzy")


def test_every_material_survives_a_worker_process() -> None:
    """A material can be handed to another process."""
    assert pickle.loads(pickle.dumps(MATERIALS["steel"])) == MATERIALS["steel"]


@pytest.mark.parametrize(
    ("grade", "travel", "said"),
    [
        ("C2", 801, "JIS B 1192 grade C2 ends here at 800 mm; for 801 mm"),
        ("C5", 1601, "ends here at 1600 mm"),
        ("P3", 4001, "ISO 3408-3:2006 grade P3 ends here at 4000 mm"),
        ("P7", 300, "use P1, P3, P5 or a T grade"),
        ("C6", 300, "use one of C0, C1"),
        ("T7", 0, "over 0"),
        ("T7", float("inf"), "over 0"),
        ("C5", float("nan"), "over 0"),
    ],
)
def test_a_screw_outside_its_table(grade: str, travel: float, said: str) -> None:
    """A travel beyond the table, or a grade without one, is refused by name."""
    with pytest.raises(OutOfRange, match=said):
        lead_error(grade, travel)


def test_transport_screws_have_no_band_over_the_travel() -> None:
    """Class T limits e_p = 2 (l_u/300) v_300 and v_300 only, and says so by None."""
    found = lead_error("t7", 450)
    assert found.travel_deviation == pytest.approx(0.156)
    assert (found.grade, found.bandwidth_travel, found.bandwidth_revolution) == ("T7", None, None)
    assert found.bandwidth_300 == pytest.approx(0.052)


def test_a_coarse_screw_shorter_than_300_mm_is_allowed_all_of_300_mm() -> None:
    """C7 over 100 mm may be off as much as over 300 mm; over 600 mm twice that."""
    found = [lead_error("C7", travel).travel_deviation for travel in (100, 300, 600)]
    assert found == pytest.approx([0.05, 0.05, 0.1])


def test_every_screw_says_how_it_is_known() -> None:
    """Numbers from memory say so."""
    assert "read" in lead_error("C5", 400).source
    assert lead_error("C5", 1500).source == lead_error("P3", 400).source == "from memory"


def test_beams_refuse_what_is_not_a_beam() -> None:
    """A load, a position or a support beyond the beam, an unknown way to hold it, an impossible section."""
    with pytest.raises(OutOfRange, match="airy, bessel"):
        beams.support_spacing("nodal")
    with pytest.raises(OutOfRange, match="beyond the end"):
        beams.sag_profile(600, 1000, 500, 1, 1)
    with pytest.raises(OutOfRange, match="spacing of the supports"):
        beams.total_sag(1000, 1001, 1, 1)
    with pytest.raises(OutOfRange, match="beyond the beam"):
        beams.load_deflection(1, 1001, 1000, 1, "simple")
    with pytest.raises(OutOfRange, match="'cantilever', 'simple' or 'fixed'"):
        beams.load_deflection(1, 10, 1000, 1, "welded")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="'cantilever', 'simple' or 'fixed'"):
        beams.own_weight_deflection(1, 1, 1, "welded")  # type: ignore[arg-type]
    with pytest.raises(OutOfRange, match="wall"):
        beams.rectangle_second_moment(20, 40, 11)
    with pytest.raises(OutOfRange, match="bore"):
        beams.round_second_moment(20, 20)


def test_geometry_refuses_what_cannot_be() -> None:
    """A stack taller than the sine bar, an angle beyond a right angle, a rectangle without a side."""
    with pytest.raises(OutOfRange, match="longer bar"):
        geometry.sine_bar_angle(100, 101)
    with pytest.raises(OutOfRange, match="right angle"):
        geometry.sine_bar_height(100, 1.6)
    with pytest.raises(OutOfRange, match="right angle"):
        geometry.sine_bar_sensitivity(100, np.pi / 2)
    with pytest.raises(OutOfRange, match="both sides"):
        geometry.squareness_from_diagonals(1, 1, 0, 1)


def test_arrays_go_in_and_come_out() -> None:
    """Lengths, spacings and rises broadcast."""
    assert beams.total_sag(np.array([500.0, 1000.0]), 400, 0.1, 1e9).shape == (2,)
    assert beams.sag_profile(np.linspace(-50, 50, 5), np.full((3, 1), 100.0), 60, 1, 1).shape == (3, 5)
    found = heat.growth(np.array([100.0, 200.0]), np.array([[1.0], [2.0]]), 11.5e-6)
    assert found.value.shape == found.std.shape == (2, 2)
    assert geometry.abbe_error(100, np.zeros(4)).shape == (4,)


def test_the_handbook_opens_without_scipy() -> None:
    """Reading a table does not load heavy libraries; the lookups load no NumPy either."""
    names = "limits_and_fits, materials, screws"
    asked = "'numpy' in sys.modules, 'scipy' in sys.modules"
    code = f"import sys; from loopwright.handbook import {names}; print({asked})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_the_page_of_the_handbook_shows_every_material_as_it_is() -> None:
    """The reference page's table of materials is the code's."""
    page = (Path(__file__).parents[2] / "docs/reference/handbook.md").read_text(encoding="utf-8")
    for m in MATERIALS.values():
        expansion = f"{m.expansion * 1e6:.4g} ± {m.expansion_std * 1e6:.2g}"
        modulus = f"{m.modulus / 1e3:.3g} ± {m.modulus_std / 1e3:.2g}"
        assert f"| {m.name} | {expansion} | {modulus} | {m.poisson:.2f} | {m.density:.0f} |" in page


def test_the_examples_on_the_page_of_the_handbook_run() -> None:
    """What the reference page prints is what the code answers."""
    page = Path(__file__).parents[2] / "docs/reference/handbook.md"
    found = doctest.testfile(str(page), module_relative=False, encoding="utf-8")
    assert found.attempted > 10
    assert found.failed == 0
