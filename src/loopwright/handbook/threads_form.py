r"""The 60° thread itself: its basic profile, the depth to cut it, and the area that carries a screw's load.

One profile serves ISO metric threads (ISO 68-1) and Unified threads (ASME B1.1): a sharp V of height
H = (√3/2) P, cut off by H/8 at the crest of the screw and by H/4 at the crest of the nut. Lengths are mm.
"""

import math
from dataclasses import dataclass
from typing import Final, Literal

from loopwright.errors import OutOfRange

Form = Literal["M", "UN"]

INCH: Final = 25.4
_SQRT3: Final = math.sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Thread:
    """A standard thread, whatever its tolerances.

    Attributes:
        name: as the trade writes it: 'M6', 'M8×1', '1/4-20 UNC'.
        form: 'M' (ISO 68-1) or 'UN' (ASME B1.1).
        diameter_mm: nominal, or basic major, diameter, mm.
        pitch_mm: distance from one thread to the next, mm; also the lead: these are single-start threads.
        series: 'coarse' or 'fine', or 'UNC', 'UNF', 'UNEF'.
        listed_in: the standard that lists it: 'ISO 262', 'ISO 261, second choice', 'ASME B1.1'.
    """

    name: str
    form: Form
    diameter_mm: float
    pitch_mm: float
    series: str
    listed_in: str

    @property
    def threads_per_inch(self) -> float:
        """25.4 mm over the pitch."""
        return INCH / self.pitch_mm

    @property
    def lead_angle(self) -> float:
        """Angle of the helix at the pitch cylinder, rad."""
        return math.atan(self.pitch_mm / (math.pi * profile(self).pitch_diameter))


@dataclass(frozen=True, slots=True)
class Profile:
    """Basic sizes of a thread; what a thread mill's program and a lathe's threading cycle are made from.

    Attributes:
        height: H of the sharp V, mm.
        major: D = d, mm.
        pitch_diameter: D2 = d2, mm.
        minor: D1 = d1, the minor diameter of the basic profile and of the nut, mm.
        screw_minor: d3, the minor diameter of a screw with a rounded root, mm: d - 17/12 H (metric), d - 11/8
            H (UNR).
        crest_flat: P/8, the flat on the screw's crest, mm.
        nut_flat: P/4, the flat on the nut's crest, mm.
    """

    height: float
    major: float
    pitch_diameter: float
    minor: float
    screw_minor: float
    crest_flat: float
    nut_flat: float


@dataclass(frozen=True, slots=True)
class Infeed:
    """How deep a single-point tool goes.

    Attributes:
        radial: straight in, square to the axis, from the crest, mm.
        along_compound: the same depth fed along a compound slide, mm; None when none was named.
        source: the rule the depth follows.
    """

    radial: float
    along_compound: float | None
    source: str


@dataclass(frozen=True, slots=True)
class ThreadLimits:
    """Limits of size of a screw's or a nut's thread, mm; None where the standard sets no limit.

    Attributes:
        thread: the thread.
        tolerance_class: '6g', '6H', '5g6g', '2A', '3B' ...
        external: a screw; False for a nut.
        major: (least, greatest) major diameter; a nut has no greatest.
        pitch_diameter: (least, greatest).
        minor: (least, greatest). Of a screw the greatest is that of the flat root, which every GO gauge clears;
            the least is with the smallest root radius the standard allows, and none for Unified threads.
        rounded_root: greatest minor diameter of the UNR form; None for nuts and for metric threads.
        source: standard and how its numbers are known.
    """

    thread: Thread
    tolerance_class: str
    external: bool
    major: tuple[float, float | None]
    pitch_diameter: tuple[float, float]
    minor: tuple[float | None, float]
    rounded_root: float | None
    source: str


def profile(thread: Thread) -> Profile:
    """Basic profile of a thread.

    Args:
        thread: the thread.

    Returns:
        Sizes in mm, not rounded (ISO 724 prints them to 0.001 mm).

    Source: ISO 68-1 and ISO 724; ASME B1.1, section 2. d3 of a metric screw: DIN 13-1 (root radius H/6).
    Checked in tests/published/test_iso_724.py.

    >>> p = profile(Thread("M8", "M", 8, 1.25, "coarse", "ISO 262"))
    >>> round(p.pitch_diameter, 3), round(p.minor, 3), round(p.screw_minor, 3)
    (7.188, 6.647, 6.466)
    """
    d, pitch = thread.diameter_mm, thread.pitch_mm
    height = _SQRT3 / 2 * pitch
    root = 17 / 12 if thread.form == "M" else 11 / 8
    return Profile(
        height=height,
        major=d,
        pitch_diameter=d - 3 / 4 * height,
        minor=d - 5 / 4 * height,
        screw_minor=d - root * height,
        crest_flat=pitch / 8,
        nut_flat=pitch / 4,
    )


def stress_area(thread: Thread) -> float:
    r"""Area that a screw's tensile stress is counted on, mm².

    .. math:: A_s = \frac{\pi}{4} \left(\frac{d_2 + d_1 - H/6}{2}\right)^2 \text{ (metric)},\quad
              A_s = \frac{\pi}{4} (d - 0.9743\,P)^2 \text{ (Unified)}

    Args:
        thread: the thread.

    Returns:
        mm², not rounded (ISO 898-1 prints three figures).

    Source: ISO 898-1:2013, 9.1.6.1; ASME B1.1, appendix B. The two formulas differ by about 2 %; each belongs to
    the strength classes of its own system. Checked in tests/published/test_iso_898_1_stress_area.py and
    tests/published/test_asme_b1_1.py.

    >>> round(stress_area(Thread("M8", "M", 8, 1.25, "coarse", "ISO 262")), 1)
    36.6
    """
    p = profile(thread)
    if thread.form == "UN":
        mean = p.major - 9 * _SQRT3 / 16 * thread.pitch_mm
    else:
        mean = (p.pitch_diameter + p.minor - p.height / 6) / 2
    return math.pi / 4 * mean**2


def infeed(thread: Thread, *, external: bool, compound_degrees: float | None = None) -> Infeed:
    """Depth of a single-point thread at basic size, from the crest to the root.

    Screw: 0.6134 P (metric, 17/24 H, root radius H/6) or 0.5954 P (UNR, 11/16 H). Nut: 0.5413 P (5/8 H), both
    systems. A tool with another nose than the standard root needs another depth, and the limits are
    held by the pitch diameter, never by the depth alone: measure over wires or with a gauge before the last cut.

    Args:
        thread: the thread.
        external: a screw; False for a nut.
        compound_degrees: how far the compound slide is turned from square to the axis, 0 up to 30; the trade
            sets 29 to 29.5, so that one flank cuts. None feeds straight in.

    Returns:
        The depth, mm on the radius.

    Raises:
        OutOfRange: a compound turned more than half the thread angle, which would cut the far flank false.

    Source: ISO 68-1 with DIN 13-1 (0.6134 P); ISO 68-1 (0.5413 P); ASME B1.1 (0.5954 P). The compound: common
    practice. Checked in tests/published/test_iso_724.py.

    >>> t = Thread("M8", "M", 8, 1.25, "coarse", "ISO 262")
    >>> round(infeed(t, external=True).radial, 3), round(infeed(t, external=False).radial, 3)
    (0.767, 0.677)
    """
    p = profile(thread)
    radial = (p.major - (p.screw_minor if external else p.minor)) / 2
    if not external:
        source = "5/8 H = 0.5413 P, ISO 68-1"
    elif thread.form == "M":
        source = "17/24 H = 0.6134 P, ISO 68-1 with the root radius H/6 of DIN 13-1"
    else:
        source = "11/16 H = 0.5954 P, UNR form of ASME B1.1"
    if compound_degrees is None:
        return Infeed(radial, None, source)
    if not 0 <= compound_degrees <= 30:
        raise OutOfRange(
            f"a compound turned {compound_degrees:g}° cannot cut a 60° thread; turn it 0 to 30° from square to "
            "the axis, commonly 29 to 29.5°"
        )
    return Infeed(radial, radial / math.cos(math.radians(compound_degrees)), source)


def infeed_passes(depth_mm: float, passes: int) -> tuple[float, ...]:
    """Depth after each pass when every pass takes off the same area of metal.

    Args:
        depth_mm: full radial depth, mm, over 0.
        passes: number of passes, 1 or more.

    Returns:
        Depth after pass k: depth √(k/n), mm; the last is the full depth. Spring passes come on top.

    Raises:
        OutOfRange: no depth, or no pass.

    Source: area of a V grows with the square of its depth; common practice.

    >>> [round(d, 3) for d in infeed_passes(0.6, 4)]
    [0.3, 0.424, 0.52, 0.6]
    """
    if not depth_mm > 0 or passes < 1:
        raise OutOfRange(
            f"{depth_mm:g} mm in {passes} passes is no thread; give a depth over 0 and a pass or more"
        )
    return tuple(depth_mm * math.sqrt(k / passes) for k in range(1, passes + 1))
