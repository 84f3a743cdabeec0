"""Kyocera, general catalogue 2021-2022, p. M136: helical milling with inserts.

docs.steelcam.org/kyocera/osnovnoj-katalog-kyocera-2021-2022-page908: smallest hole 2 D - 16, largest 2 D - 3 mm; the
greatest width of cut of the insert when plunging is 8 mm, so that D - 16 in the middle of the face cuts nothing. The
corner of 1.5 mm that makes the largest hole is inferred from it.
"""

import pytest

from loopwright.handbook.cutting_geometry import helical_holes


@pytest.mark.parametrize("diameter", [25, 28, 32, 35, 40, 50])
def test_smallest_and_largest_hole(diameter: float) -> None:
    """2 D - 16 and 2 D - 3 for each cutter of the page."""
    found = helical_holes(diameter, corner_radius=1.5, dead_centre=diameter - 16)
    assert (found.smallest, found.largest) == pytest.approx((2 * diameter - 16, 2 * diameter - 3))
