"""ISO 6507-1, Vickers hardness test: thickness of the piece and spacing of the indentations.

Edition 2018 read in part at ulstandardspdf.com (spacing) and an earlier edition, 6.3, as a text copy
(th4.ilovetranslation.com): the piece or layer is at least one and a half diagonals thick; on steel, centres are
three diagonals apart and two and a half from an edge.
"""

import pytest

from loopwright.handbook.hardness import least_thickness_vickers, spacing_vickers, vickers_diagonal


@pytest.mark.parametrize("force", [0.5, 1, 5, 10, 30])
def test_thickness_and_spacing_in_diagonals(force: float) -> None:
    """One and a half diagonals thick, three between centres, two and a half to an edge, whatever the force."""
    diagonal = vickers_diagonal(700, force)
    assert least_thickness_vickers(700, force) == pytest.approx(1.5 * diagonal)
    found = spacing_vickers(700, force)
    assert (found.between, found.to_edge) == pytest.approx((3 * diagonal, 2.5 * diagonal))


def test_the_constant_of_the_scale() -> None:
    """HV = 1.8544 F/d² with F in kgf (definition of the scale)."""
    assert 1.8544 * 10 / vickers_diagonal(500, 10) ** 2 == pytest.approx(500, abs=0.02)
