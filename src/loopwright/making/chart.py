"""Tolerance chart: what one direction of a part is, as plain records.

A chart follows one direction of one part. Positions are mm along that direction; for round surfaces they are radii
from an axis. Every cut makes a new state of a surface and is located from its datum, so the states and the working
dims between them form a tree. Blueprint dims and stock removals are never cut directly: each is a path in that tree.

Source: the chart as O. R. Wade, *Tolerance Control in Design and Manufacturing* (1967), and D. F. Eary and G. E.
Johnson, *Process Engineering for Manufacturing* (1962), lay it down (from memory). The split of a cut's spread into
cut, setting, seating and angle, and the keys by which parts share them, are ours.
"""

from dataclasses import dataclass
from typing import Literal

from loopwright import units
from loopwright.units import Dimension

__all__ = ["Cut", "CutSpread", "Finished", "Heat", "Limits", "Plan", "Surface"]


@dataclass(frozen=True, slots=True)
class Limits:
    """A size with its limits, mm.

    Attributes:
        nominal: the size.
        lower: lower limit deviation, counted from the nominal.
        upper: upper limit deviation.

    >>> Limits(39.6, 0.0, 0.1).mean
    39.65
    """

    nominal: float
    lower: float = 0.0
    upper: float = 0.0

    @classmethod
    def around(cls, mean: float, half: float) -> "Limits":
        """The size ``mean`` ± ``half``, both mm.

        >>> Limits.around(25.125, 0.015).upper
        0.015
        """
        return cls(mean, -half, half)

    @property
    def mean(self) -> float:
        """Middle of the limits, mm."""
        return self.nominal + (self.lower + self.upper) / 2

    @property
    def half(self) -> float:
        """Half the tolerance, mm."""
        return (self.upper - self.lower) / 2


@dataclass(frozen=True, slots=True)
class CutSpread:
    """How a surface scatters about where its working dim wants it: standard deviations, mm.

    All zero says that nothing is known of it. Then the tolerance of the working dim, divided by the number of
    standard deviations that a capability stands for, is taken as one spread of the cut's own.

    Attributes:
        cut: of the cut itself, piece by piece and surface by surface.
        setting: of tool to stop or offset: one draw for all cuts of a setup, so it cancels between them. Where each
            tool is touched off on its own, it belongs into ``cut``.
        seating: of this piece in the setup: one draw for all its cuts in that setup.
        shared_setting: key that other setups or parts may name too; they then share the draw. '' for its own.
        shared_seating: the same for the seating.
        shared_cut: the same for the cut.
        angle: systematic angle of the machine, such as a squareness or a taper, rad; one draw for the setup.
        over: length over which it acts, mm.
        shared_angle: key of the angle, such as the machine's name.
    """

    cut: float = 0.0
    setting: float = 0.0
    seating: float = 0.0
    shared_setting: str = ""
    shared_seating: str = ""
    shared_cut: str = ""
    angle: float = 0.0
    over: float = 0.0
    shared_angle: str = ""

    @property
    def known(self) -> bool:
        """Whether anything at all is known of it."""
        return bool(self.cut or self.setting or self.seating or self.angle * self.over)


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut: it makes a surface, or a new state of it, located from a datum.

    Attributes:
        makes: name of the surface.
        datum: name of the surface that the cut is located from, in its latest state; it may have been cut before in
            the same setup. None for the very first reference of the chart, such as a sawn or cast end or an axis. The
            surface itself for a coat: it grows outward by a thickness.
        op: number of the op; cuts are done in the order of these numbers, and as given within one.
        setup: name of the clamping. Its cuts share one origin, and it is seated on one surface.
        spread: how it scatters.
        size: working dim that somebody wrote, unsigned as on a drawing; None when it is to be found.
        tolerance: half the tolerance of the working dim where that is settled and only the mean is to be found, mm.
        least: least stock that the cut has to remove from the former state of its surface, mm.
        most: most stock that it may remove, mm; None for no limit.
        sense: +1 or -1, the side of the datum on which the surface lies; 0 finds it from the blueprint.
        grown: grows from the datum face rather than being cut from an origin: case depth, plating. A coat is.
        label: what the op is called.

    >>> Cut("right", "left", op=20, setup="chuck", size=Limits.around(25.1, 0.05)).coat
    False
    """

    makes: str
    datum: str | None
    op: int
    setup: str
    spread: CutSpread = CutSpread()
    size: Limits | None = None
    tolerance: float | None = None
    least: float = 0.0
    most: float | None = None
    sense: Literal[-1, 0, 1] = 0
    grown: bool = False
    label: str = ""

    @property
    def coat(self) -> bool:
        """Whether the surface grows outward from its own former state."""
        return self.datum == self.makes

    @property
    def grows(self) -> bool:
        """Whether it grows from its datum rather than being cut from the setup's origin."""
        return self.grown or self.coat

    @property
    def half(self) -> float | None:
        """Half the tolerance of its working dim where that is settled, mm."""
        return self.tolerance if self.size is None else self.size.half


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat treatment: every length that exists then is scaled by 1 + g, with one g for the whole part.

    Attributes:
        after_op: it follows the op of this number.
        mean: expected growth g, mm/mm; negative where the part shrinks.
        low: least growth to reckon with.
        high: most growth to reckon with.
        std: standard deviation of g; None takes it as even between ``low`` and ``high``.
        shared: key of the furnace load, where other parts went through it too; '' for its own.
    """

    after_op: int
    mean: float
    low: float
    high: float
    std: float | None = None
    shared: str = ""

    @property
    def standard(self) -> float:
        """Standard deviation of the growth; (high - low)/√12 where none was given (JCGM 100:2008, 4.3.7)."""
        return (self.high - self.low) / 12**0.5 if self.std is None else self.std


@dataclass(frozen=True, slots=True)
class Surface:
    """A surface of the part, seen along the chart's direction.

    Attributes:
        name: its name.
        facing: direction of its outward normal, out of the material: +1 for a right end or an outside diameter, -1
            for a left end or a bore; 0 for an axis or another line that has no material.
    """

    name: str
    facing: Literal[-1, 0, 1]


@dataclass(frozen=True, slots=True)
class Finished:
    """A dim of the blueprint: position of ``b`` minus position of ``a`` when all is done.

    Attributes:
        name: its name.
        a: the one surface; None for the axis or stop that the setup which cut ``b`` last works from. Such a dim sees
            setting and cut, but not the seating: a turned radius about the spindle, whatever its run-out.
        b: the other surface.
        nominal: mm, positive when ``b`` lies in the positive direction from ``a``.
        lower: lower limit deviation, counted from the nominal, mm.
        upper: upper limit deviation, mm.
    """

    name: str
    a: str | None
    b: str
    nominal: float
    lower: float
    upper: float

    @property
    def limits(self) -> Limits:
        """The dim without its surfaces."""
        return Limits(self.nominal, self.lower, self.upper)


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that is planned along one direction of one part.

    Attributes:
        name: of part and direction; own sources carry it, so two pieces of one part need two names.
        surfaces: the surfaces.
        cuts: the cuts.
        finished: the dims of the blueprint.
        heats: heat treatments.
        shown_times: factor for showing sizes: 2 where the chart is in radii and the drawing in diameters. Where the
            plan has an axis (a surface with facing 0), only dims from an axis are shown so.
        confidence: chance for which likely ranges are stated.
        unit: of lengths in sentences; everything else is mm.
    """

    name: str
    surfaces: tuple[Surface, ...]
    cuts: tuple[Cut, ...]
    finished: tuple[Finished, ...]
    heats: tuple[Heat, ...] = ()
    shown_times: float = 1.0
    confidence: float = 0.95
    unit: str = "mm"

    @property
    def facings(self) -> dict[str, int]:
        """Facing of each surface by name."""
        return {surface.name: surface.facing for surface in self.surfaces}

    def said(self, value: float, times: float = 1.0, digits: int = 4) -> str:
        """A length for a sentence, with its unit: '19.7 mm', '0.775 in'.

        Args:
            value: as in the plan, mm.
            times: factor for showing it, see :meth:`shown`.
            digits: significant digits.

        >>> Plan("bush", (), (), (), shown_times=2).said(9.85, 2)
        '19.7 mm'
        """
        return units.format_value(times * value, Dimension.LENGTH, self.unit, digits=digits)

    def shown(self, one: str | None, other: str, *, grows: bool = False) -> float:
        """Factor by which the distance of two surfaces is shown.

        Args:
            one: a surface; None for the axis of a setup.
            other: the other surface.
            grows: whether it is a thickness that grows, which counts per side.

        Returns:
            ``shown_times``, or 1.
        """
        facing = self.facings
        from_axis = one is None or 0 in (facing.get(one), facing.get(other))
        return self.shown_times if not grows and (from_axis or 0 not in facing.values()) else 1.0
