r"""Pitch diameter of a screw by three wires in its grooves and a micrometer across them.

.. math:: M = d_2 + 3w - \frac{\sqrt3}{2} P + \frac34 w \tan^2\lambda

M is the reading, w the wire, P the pitch, λ the lead angle at the basic pitch diameter. The last term is what the
helix adds, up to 3.6 µm with the best wire on a standard thread; many charts leave it out. Lengths are mm.

An error of the wires' diameter counts three times. Use one set of equal wires and its certified diameter, clean the
grooves, and keep the measuring force low: soft work and small wires dent.
"""

import math
from typing import Final

from loopwright.errors import OutOfRange
from loopwright.handbook.threads_form import Thread, ThreadLimits

_LEAST: Final = 7 * math.sqrt(3) / 24
_GREATEST: Final = 7 * math.sqrt(3) / 12


def best_wire(thread: Thread) -> float:
    """Wire that touches the flanks at the pitch line, mm, so that an error of the flank angle hardly counts.

    Source: P / (2 cos 30°), 60° threads; ASME B1.2, appendix B (from memory). Checked in
    tests/published/test_three_wires.py.

    >>> from loopwright.handbook.threads import thread
    >>> round(best_wire(thread("M8")), 4)
    0.7217
    """
    return thread.pitch_mm / (2 * math.cos(math.pi / 6))


def wire_range(thread: Thread) -> tuple[float, float]:
    """Thinnest and thickest wire that can be used, mm: 0.505 P to 1.010 P.

    The thinnest just stands proud of the crests, the thickest just touches the flanks below them. Near the best
    wire is better.

    Source: geometry of the basic profile, crest cut off by H/8.

    >>> from loopwright.handbook.threads import thread
    >>> [round(w, 3) for w in wire_range(thread("M6"))]
    [0.505, 1.01]
    """
    return _LEAST * thread.pitch_mm, _GREATEST * thread.pitch_mm


def over_wires(
    thread: Thread, pitch_diameter_mm: float, wire_mm: float | None = None, *, helix: bool = True
) -> float:
    """What the micrometer reads over three wires.

    Args:
        thread: the thread of the screw; gives pitch and lead angle.
        pitch_diameter_mm: pitch diameter of the screw, mm.
        wire_mm: diameter of the wires, mm; None for the best wire.
        helix: add the term of the lead angle; False where a chart leaves it out.

    Returns:
        Reading over the wires, mm.

    Raises:
        OutOfRange: wires that do not seat on the flanks, or do not stand proud of the crests.

    Source: Machinery's Handbook, *Measuring screw threads*; the term of the lead angle as in NBS Handbook H28 (from
    memory). Checked in tests/published/test_three_wires.py.

    >>> from loopwright.handbook.threads import thread
    >>> round(over_wires(thread("M8"), 7.160), 3)
    8.244
    """
    return pitch_diameter_mm + _above_pitch_line(thread, wire_mm, helix)


def pitch_diameter_from_wires(
    thread: Thread, over_mm: float, wire_mm: float | None = None, *, helix: bool = True
) -> float:
    """Pitch diameter of a screw, mm, from a reading over three wires; arguments as :func:`over_wires`.

    >>> from loopwright.handbook.threads import thread
    >>> round(pitch_diameter_from_wires(thread("M8"), 8.2442), 3)
    7.16
    """
    return over_mm - _above_pitch_line(thread, wire_mm, helix)


def reading_limits(
    limits: ThreadLimits, wire_mm: float | None = None, *, helix: bool = True
) -> tuple[float, float]:
    """Least and greatest reading over three wires of a screw whose pitch diameter is within limits.

    Args:
        limits: of a screw.
        wire_mm: diameter of the wires, mm; None for the best wire.
        helix: as :func:`over_wires`.

    Returns:
        (least, greatest) reading, mm.

    Raises:
        OutOfRange: limits of a nut, or wires of a wrong size.

    >>> from loopwright.handbook.threads import limits
    >>> [round(mm / 25.4, 4) for mm in reading_limits(limits("1/4-20 UNC-2A"), helix=False)]
    [0.256, 0.2597]
    """
    if not limits.external:
        raise OutOfRange(
            f"{limits.thread.name}-{limits.tolerance_class} is a nut; three wires measure a screw"
        )
    least, greatest = limits.pitch_diameter
    above = _above_pitch_line(limits.thread, wire_mm, helix)
    return least + above, greatest + above


def _above_pitch_line(thread: Thread, wire_mm: float | None, helix: bool) -> float:
    """Reading minus pitch diameter, mm."""
    wire = best_wire(thread) if wire_mm is None else wire_mm
    low, high = wire_range(thread)
    if not low <= wire <= high:
        raise OutOfRange(
            f"a wire of {wire:g} mm does not measure {thread.name}; use {low:.3f} to {high:.3f} mm, "
            f"best {best_wire(thread):.3f} mm"
        )
    by_helix = 0.75 * wire * math.tan(thread.lead_angle) ** 2 if helix else 0.0
    return 3 * wire - math.sqrt(3) / 2 * thread.pitch_mm + by_helix
