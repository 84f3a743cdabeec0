"""Depth of roughness and harmed metal under a cut, as printed.

KM: a course work on making a shaft at ukrbukva.net 10080, read in an extract. It quotes tables 12 and 25 (pp. 186
    and 188) of the handbook that it lists first; that this is A. G. Kosilova, R. K. Meshcheryakov, *Spravochnik
    tekhnologa-mashinostroitelya*, volume 1, is from memory. Roughness R and harmed layer T of rolled bar 160 + 200 µm;
    after roughing 50 + 50; after the next pass 25 + 25; after the last 5 + 15, here taken to be ground.
VINT: a course work on the making of a screw at ukrbukva.net 69992, with the same method: rolled blank R + T = 200 µm;
    turning 30 + 30.
"""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.surface_damage import damage_by, damage_of_blank


@pytest.mark.parametrize(
    ("op", "roughness", "layer"),
    [("rough out", 50, 50), ("turn", 25, 25), ("turn", 30, 30), ("cylindrical grind", 5, 15)],
)
def test_harmed_layer_lies_in_the_band(op: str, roughness: float, layer: float) -> None:
    """KM, VINT: roughing leaves 50 + 50 µm, turning 25 + 25 and 30 + 30, the last pass 5 + 15."""
    assert damage_by(op).low <= (roughness + layer) / 1000 + 1e-12
    assert damage_by(op).high >= (roughness + layer) / 1000 - 1e-12


def test_rolled_bar() -> None:
    """KM, VINT: the skin of rolled bar is 160 + 200 µm in the one and 200 µm in the other; both are the ends."""
    assert damage_of_blank("rolled")[:2] == pytest.approx((0.200, 0.160 + 0.200))


def test_what_is_not_known_is_refused() -> None:
    """An op that leaves no machined surface, and a blank that is none, are refused with what there is."""
    with pytest.raises(OutOfRange, match="rough out"):
        damage_by("harden")
    with pytest.raises(OutOfRange, match="casting"):
        damage_of_blank("forged")  # type: ignore[arg-type]
