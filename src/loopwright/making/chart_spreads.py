"""Tolerance chart: what each working dim scatters by, over independent sources that cuts, setups and parts share."""

from dataclasses import dataclass, field

import numpy as np

from loopwright.making.chart import Cut
from loopwright.making.chart_tree import Array, Tree

__all__ = ["Kind", "Spreads", "spreads"]

Kind = str
"""One of 'cut', 'setting', 'seating', 'angle', 'heat'."""


@dataclass(frozen=True, eq=False)
class Spreads:
    """Deviation of each working dim as a sum over independent sources.

    Attributes:
        kinds: kind of each source.
        keys: key of each source; with its kind it is the same source wherever it turns up.
        std: standard deviation of each, (sources,): mm, for angles rad.
        coefficients: what a source brings to each working dim, (cuts, sources); for angles mm per rad.
        seating: the part of it that seating brings to what a cut leaves against its seat, (cuts, sources).
        unknown: source and cut where nothing is known of the spread; ``std`` is 0 there.
    """

    kinds: tuple[Kind, ...]
    keys: tuple[str, ...]
    std: Array
    coefficients: Array
    seating: Array
    unknown: tuple[tuple[int, int], ...]

    def with_tolerances(self, halves: Array, k: float) -> Array:
        """Standard deviation of each source, with half the tolerance over k where nothing is known, (sources,)."""
        std = self.std.copy()
        for source, cut in self.unknown:
            std[source] = halves[cut] / k
        return std

    @property
    def of_cuts(self) -> Array:
        """Standard deviation of each working dim, mm, (cuts,); 0 where it is not known."""
        return np.asarray(np.sqrt(((self.coefficients * self.std) ** 2).sum(axis=1)))


@dataclass
class _Register:
    """Sources as they turn up."""

    numbers: dict[tuple[Kind, str], int] = field(default_factory=dict)
    std: list[float] = field(default_factory=list)
    entries: list[tuple[int, int, float, float]] = field(default_factory=list)

    def add(self, cut: int, kind: Kind, key: str, std: float, coefficient: float = 1.0) -> int:
        """A source that acts on a cut; its number."""
        number = self.numbers.setdefault((kind, key), len(self.std))
        if number == len(self.std):
            self.std.append(0.0)
        self.std[number] = max(self.std[number], std)
        self.entries.append((cut, number, coefficient, std))
        return number

    def matrix(self, cuts: int, kind: Kind | None = None) -> Array:
        """Coefficients, (cuts, sources), of one kind or all; where one draw has two sizes, the largest counts 1."""
        out = np.zeros((cuts, len(self.std)))
        kinds = [name for name, _ in self.numbers]
        for cut, number, coefficient, std in self.entries:
            if kind in (None, kinds[number]):
                out[cut, number] = coefficient * (std / self.std[number] if self.std[number] else 1.0)
        return out


def spreads(tree: Tree, senses: tuple[int, ...]) -> Spreads:
    """The sources of a plan, and what each brings to each working dim.

    A surface that is cut from the setup's origin sees seating, setting, angle and its own cut. A working dim between
    two surfaces of one setup sees the difference of the two, so that seating, setting and an equal angle cancel.

    Args:
        tree: of the plan.
        senses: side of its datum on which each cut lies; what grows scatters along it.

    Returns:
        The spreads.

    Source: sources that are independent, and coefficients that say how much of each arrives: JCGM 100:2008, 5.1.2 and
        F.1.2.3. The split of a cut into seating, setting, angle and its own, and the shared keys, are ours.
    """
    register, unknown = _Register(), []
    for i in tree.order:
        number = _enter(register, tree, i)
        if number is not None and tree.datum[i] is not None:
            unknown.append((number, i))
    cuts = len(tree.datum)
    own = register.matrix(cuts)
    out = np.zeros_like(own)
    blank = {i for _, i in unknown}
    for i, datum in enumerate(tree.datum):
        if datum is not None:
            grows = tree.plan.cuts[i].grows
            out[i] = own[i] * ((senses[i] or 1) if grows else 1)
            if tree.inside[i] and i not in blank:
                out[i] -= 0.0 if datum in blank else own[datum]
    kinds = tuple(kind for kind, _ in register.numbers)
    keys = tuple(key for _, key in register.numbers)
    seating = register.matrix(cuts, "seating")
    return Spreads(kinds, keys, np.array(register.std, float), out, seating, tuple(unknown))


def _enter(register: _Register, tree: Tree, i: int) -> int | None:
    """Enters the sources of a cut; the number of the one that is not known, or None."""
    plan, cut = tree.plan, tree.plan.cuts[i]
    spread, setup = cut.spread, f"{plan.name}/{cut.setup}"
    if not spread.known:
        return register.add(i, "cut", _own(plan.name, cut), 0.0)
    shared = (
        ("setting", spread.shared_setting),
        ("seating", spread.shared_seating),
        ("cut", spread.shared_cut),
    )
    for (kind, key), std in zip(shared, (spread.setting, spread.seating, spread.cut)):
        if std:
            register.add(i, kind, key or (_own(plan.name, cut) if kind == "cut" else setup), std)
    if spread.angle * spread.over:
        register.add(i, "angle", spread.shared_angle or setup, spread.angle, spread.over)
    return None


def _own(plan: str, cut: Cut) -> str:
    return f"{plan}/{cut.makes} op {cut.op}"
