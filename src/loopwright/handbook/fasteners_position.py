"""Position tolerances of holes for screws: how much two hole patterns may miss each other and still take the screws.

Floating: the screw passes with clearance through every part (bolt and nut). Fixed: one part holds the screw (tapped
hole, stud, pressed pin). All tolerances are diameters of position zones at maximum material condition; all
lengths are in one unit, mm.
"""

from typing import Final

from loopwright.errors import OutOfRange

PROJECTED_ZONE: Final = (
    "The tapped or pressed hole needs a projected tolerance zone, as long as the part above it is thick: a screw that "
    "leans in its thread sweeps more above the face than in it. Without that zone the clearance hole must be larger."
)
"""A caution for whoever is given a position tolerance of a tapped hole."""


def floating_tolerance(hole_mmc_mm: float, fastener_mmc_mm: float) -> float:
    """Position tolerance of each part's clearance hole when the screw floats: T = H - F.

    Args:
        hole_mmc_mm: H, least diameter of the clearance hole, mm.
        fastener_mmc_mm: F, greatest diameter of the screw, mm.

    Returns:
        T, diameter of the position zone at MMC, mm, for each part by itself.

    Raises:
        OutOfRange: a hole that is not larger than the screw.

    Source: ASME Y14.5M-1994, appendix B, B3 (from memory). Checked in
    tests/published/test_asme_y14_5_appendix_b.py.

    >>> round(floating_tolerance(6.44, 6.00), 3)
    0.44
    """
    return _clearance(hole_mmc_mm, fastener_mmc_mm)


def floating_hole(fastener_mmc_mm: float, tolerance_mm: float) -> float:
    """Least clearance hole when the screw floats: H = F + T, mm.

    >>> round(floating_hole(6.0, 0.44), 3)
    6.44
    """
    return _size(fastener_mmc_mm) + _tolerance(tolerance_mm)


def fixed_tolerances(
    hole_mmc_mm: float, fastener_mmc_mm: float, *, share_of_tapped: float = 0.5, lean: float = 0.0
) -> tuple[float, float]:
    """Position tolerances of the clearance hole and of the hole that holds the screw: T1 + T2 (1 + 2P/D) = H - F.

    Args:
        hole_mmc_mm: H, least diameter of the clearance hole, mm.
        fastener_mmc_mm: F, greatest diameter of the screw, mm.
        share_of_tapped: part of T1 + T2 that the tapped hole gets, 0 to 1; half gives both (H - F)/2. A drilled and
            tapped hole is the harder one to place and often gets 0.6 to 0.7 (common practice).
        lean: P/D, thickness of the part above over the length of thread engaged, when the tapped hole has no
            projected tolerance zone; 0 with one.

    Returns:
        (clearance hole, tapped hole), diameters of the position zones at MMC, mm. See :data:`PROJECTED_ZONE`.

    Raises:
        OutOfRange: a hole that is not larger than the screw, a share beyond 0 to 1, a negative lean.

    Source: ASME Y14.5M-1994, appendix B, B4 and B5 (from memory; the half also in a published textbook). Checked in
    tests/published/test_asme_y14_5_appendix_b.py.

    >>> [round(t, 3) for t in fixed_tolerances(6.44, 6.00)]
    [0.22, 0.22]
    """
    room = _clearance(hole_mmc_mm, fastener_mmc_mm)
    if not 0 <= share_of_tapped <= 1:
        raise OutOfRange(
            f"a share of {share_of_tapped:g} is none; give the tapped hole 0 to 1, commonly 0.5 to 0.7"
        )
    both = room / (1 + 2 * _lean(lean) * share_of_tapped)
    return both * (1 - share_of_tapped), both * share_of_tapped


def fixed_hole(
    fastener_mmc_mm: float, clearance_tolerance_mm: float, tapped_tolerance_mm: float, *, lean: float = 0.0
) -> float:
    """Least clearance hole when one part holds the screw: H = F + T1 + T2 (1 + 2P/D), mm.

    Args:
        fastener_mmc_mm: F, greatest diameter of the screw, mm.
        clearance_tolerance_mm: T1, position zone of the clearance hole, mm.
        tapped_tolerance_mm: T2, position zone of the tapped hole, mm.
        lean: P/D without a projected tolerance zone, 0 with one; see :func:`fixed_tolerances`.

    Raises:
        OutOfRange: a negative size, tolerance or lean.

    Source: as :func:`fixed_tolerances`.

    >>> round(fixed_hole(6.0, 0.22, 0.22), 3), round(fixed_hole(6.0, 0.22, 0.22, lean=1.0), 3)
    (6.44, 6.88)
    """
    widened = _tolerance(tapped_tolerance_mm) * (1 + 2 * _lean(lean))
    return _size(fastener_mmc_mm) + _tolerance(clearance_tolerance_mm) + widened


def _clearance(hole_mm: float, fastener_mm: float) -> float:
    if not _size(fastener_mm) < hole_mm < float("inf"):
        raise OutOfRange(
            f"a hole of {hole_mm:g} mm leaves a screw of {fastener_mm:g} mm no position tolerance; enlarge the hole"
        )
    return hole_mm - fastener_mm


def _size(value: float) -> float:
    if not 0 < value < float("inf"):
        raise OutOfRange(f"{value:g} mm is not the diameter of a screw; give its greatest diameter, over 0")
    return value


def _tolerance(value: float) -> float:
    if not 0 <= value < float("inf"):
        raise OutOfRange(f"{value:g} mm is not a position tolerance; give a diameter of 0 or more")
    return value


def _lean(value: float) -> float:
    if not 0 <= value < float("inf"):
        raise OutOfRange(f"a lean of {value:g} is none; give thickness above over thread engaged, 0 or more")
    return value
