"""Tolerance chart: changes of a plan. Another datum, another order, one setup for two cuts, one cut made better."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, groupby
from typing import Literal

from loopwright.making.chart import Cut, CutSpread, Limits, Plan
from loopwright.making.chart_layout import Groups
from loopwright.making.chart_tree import Tree, paths_of

__all__ = ["Change", "ChangeKind", "changes", "opened", "tightened"]

ChangeKind = Literal["written", "datum", "order", "order and datum", "one setup", "tighter"]


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a plan.

    Attributes:
        kind: 'written' when a working dim is only written from another surface of its setup, 'datum' when a setup is
            seated on another surface, 'order' when two setups change places, 'order and datum' when a setup moves
            behind another and is seated on what that made, 'one setup' when a cut is made in the setup of its partner,
            'tighter' when one cut is made better.
        cuts: the cuts it is about, as numbers in ``plan.cuts``.
        what: the change in words, with the op numbers of the plan as it was.
        plan: the changed plan; sizes of the cuts it is about are left to be found, and ops may be numbered anew.
        factor: on the spread of the cut, below 1 for 'tighter', else 1.
    """

    kind: ChangeKind
    cuts: tuple[int, ...]
    what: str
    plan: Plan
    factor: float = 1.0


def opened(plan: Plan, k: float, cuts: Iterable[int] | None = None) -> Plan:
    """The plan with given sizes and tolerances left to be found.

    Where nothing is known of a spread, the tolerance that was given is taken for what the cut can be held to. A size
    that nothing else settles stays.

    Args:
        plan: a plan without problems.
        k: standard deviations that a capability stands for.
        cuts: which cuts are opened; None for all.
    """
    tree = Tree.of(plan)
    groups = Groups(len(plan.cuts))
    for closing in paths_of(tree).closings:
        groups.join(closing.start, closing.end)
    out = list(plan.cuts)
    for i in range(len(out)) if cuts is None else cuts:
        datum = tree.datum[i]
        if datum is not None and not (out[i].size is not None and groups.join(i, datum)):
            out[i] = _open(out[i], k)
    return replace(plan, cuts=tuple(out))


def _open(cut: Cut, k: float) -> Cut:
    known = cut.spread.known or not cut.half
    spread = cut.spread if known else replace(cut.spread, cut=(cut.half or 0.0) / k)
    return replace(cut, size=None, tolerance=None, spread=spread)


def tightened(plan: Plan, i: int, factor: float) -> Change:
    """A change that makes one cut better: its spreads, and its tolerance where one is given, times a factor.

    Setting, seating and angle are of the setup, so all cuts of it gain. What was shared under a key it then has for
    its own.
    """
    cut = plan.cuts[i]
    new = {
        j: replace(other, spread=_better(other.spread, factor))
        for j, other in enumerate(plan.cuts)
        if other.setup == cut.setup
    }
    own = replace(new[i].spread, cut=cut.spread.cut * factor, shared_cut="")
    size = None if cut.size is None else Limits.around(cut.size.mean, cut.size.half * factor)
    tolerance = None if cut.tolerance is None else cut.tolerance * factor
    new[i] = replace(cut, spread=own, size=size, tolerance=tolerance)
    what = f"make {Tree.of(plan).name(i)} better, to {factor:.2g} of its spread"
    return Change("tighter", (i,), what, _with(plan, new), factor)


def _better(spread: CutSpread, factor: float) -> CutSpread:
    """A spread with what it has of its setup times a factor."""
    return replace(
        spread,
        setting=spread.setting * factor,
        seating=spread.seating * factor,
        angle=spread.angle * factor,
        shared_setting="",
        shared_seating="",
        shared_angle="",
    )


def _with(plan: Plan, new: dict[int, Cut]) -> Plan:
    return replace(plan, cuts=tuple(new.get(i, cut) for i, cut in enumerate(plan.cuts)))


def changes(
    plan: Plan, k: float, chains: Sequence[Sequence[int]], pairs: Iterable[tuple[int, int]]
) -> list[Change]:
    """Changes of datum, order and setup that touch the chains given; whether they help, solving them tells.

    Nothing moves over a heat treatment or over what grows, no surface is finished before it is roughed, and a setup is
    moved as a whole.

    Args:
        plan: a plan without problems.
        k: standard deviations that a capability stands for.
        chains: cuts of each chain that has too little room.
        pairs: the last cuts of the two surfaces of each blueprint dim among them.
    """
    work = _Work(plan, k)
    touched = list(dict.fromkeys(i for chain in chains for i in chain if not plan.cuts[i].grows))
    found = [*work.written(touched), *work.seated(touched), *work.exchanged(touched)]
    for one, other in pairs:
        earlier, later = sorted((one, other), key=work.place.__getitem__)
        found += [*work.behind(earlier, later), *work.together(earlier, later)]
    return list({change.plan: change for change in reversed(found)}.values())[::-1]


class _Work:
    """A plan as a sequence of setups, to be changed."""

    def __init__(self, plan: Plan, k: float) -> None:
        self.plan, self.k, self.tree = plan, k, Tree.of(plan)
        self.order = self.tree.order
        self.place = {i: number for number, i in enumerate(self.order)}
        self.segment = dict(zip(self.order, _segments(self.tree)))
        groups = groupby(self.order, key=lambda i: (plan.cuts[i].setup, self.segment[i]))
        self.blocks = [list(group) for _, group in groups]
        self.block_of = {i: number for number, block in enumerate(self.blocks) for i in block}

    def setup(self, number: int) -> str:
        """Name of the setup of a block."""
        return f"setup '{self.plan.cuts[self.blocks[number][0]].setup}'"

    def written(self, touched: list[int]) -> Iterator[Change]:
        """Working dims written from another surface of the same setup, or from its seat."""
        cuts, tree = self.plan.cuts, self.tree
        for i in touched:
            seat = tree.seats[i]
            others = [j for j in self.blocks[self.block_of[i]] if self.place[j] < self.place[i]]
            for j in (*others, *([] if seat is None else [seat])):
                name = cuts[j].makes
                if name not in (cuts[i].datum, cuts[i].makes):
                    what = f"write the dim of {tree.name(i)} from {tree.name(j)}"
                    yield Change("written", (i,), what, self._located({i: name}))

    def seated(self, touched: list[int]) -> Iterator[Change]:
        """Setups seated on another surface that is there."""
        cuts, tree, facing = self.plan.cuts, self.tree, self.plan.facings
        for number in dict.fromkeys(self.block_of[i] for i in touched):
            block = self.blocks[number]
            seat = tree.seats[block[0]]
            if seat is None:
                continue
            there = {cuts[j].makes: j for j in self.order[: self.place[block[0]]]}
            made = {cuts[i].makes for i in block} | {cuts[seat].makes}
            on_seat = tuple(i for i in block if tree.datum[i] == seat)
            for name, state in there.items():
                if name not in made and (facing[name] == 0) == (facing[cuts[seat].makes] == 0):
                    what = f"seat {self.setup(number)} on {tree.name(state)}"
                    yield Change("datum", on_seat, what, self._located(dict.fromkeys(on_seat, name)))

    def exchanged(self, touched: list[int]) -> Iterator[Change]:
        """Two setups that change places."""
        concerned = {self.block_of[i] for i in touched}
        for p, q in combinations(range(1, len(self.blocks)), 2):
            if concerned.isdisjoint({p, q}):
                continue
            b = self.blocks
            moved = (*b[p], *b[q])
            if (plan := self._ordered([*b[:p], b[q], *b[p + 1 : q], b[p], *b[q + 1 :]])) is not None:
                what = f"let {self.setup(q)} and {self.setup(p)} change places"
                yield Change("order", moved, what, opened(plan, self.k, moved))

    def behind(self, earlier: int, later: int) -> Iterator[Change]:
        """The setup of the earlier cut moved behind that of the later one, and seated on what that made."""
        p, q = self.block_of[earlier], self.block_of[later]
        block, b, seat = self.blocks[p], self.blocks, self.tree.seats[earlier]
        if p in (0, q) or seat is None:
            return
        plan = self._ordered([*b[:p], *b[p + 1 : q + 1], block, *b[q + 1 :]])
        if plan is not None:
            on_seat = [i for i in block if self.tree.datum[i] == seat]
            what = f"do {self.setup(p)} after {self.tree.name(later)}, and seat it on that"
            new = self._located(dict.fromkeys(on_seat, self.plan.cuts[later].makes), plan)
            yield Change("order and datum", tuple(block), what, opened(new, self.k, block))

    def together(self, earlier: int, later: int) -> Iterator[Change]:
        """One of two cuts made in the setup of the other, with its dim from that."""
        cuts = self.plan.cuts
        for i, partner in ((later, earlier), (earlier, later)):
            host, s = cuts[partner], cuts[i].spread
            if (
                self.block_of[i] in (0, self.block_of[partner])
                or cuts[i].grows
                or host.grows
                or host.datum is None
            ):
                continue
            blocks = [[j for j in block if j != i] for block in self.blocks]
            blocks[self.block_of[partner]].append(i)
            spread = replace(host.spread, cut=s.cut, shared_cut=s.shared_cut, over=s.over or host.spread.over)
            guest = replace(cuts[i], setup=host.setup, spread=spread)
            plan = self._ordered(blocks, {i: guest})
            if plan is not None:
                what = f"cut {self.tree.name(i)} together with {self.tree.name(partner)}, in setup '{host.setup}'"
                yield Change("one setup", (i, partner), what, self._located({i: host.makes}, plan))

    def _located(self, datum: dict[int, str], plan: Plan | None = None) -> Plan:
        """Cuts located from other surfaces, with their sizes left to be found."""
        base = self.plan if plan is None else plan
        cuts = {i: replace(_open(base.cuts[i], self.k), datum=name, sense=0) for i, name in datum.items()}
        return _with(base, cuts)

    def _ordered(self, blocks: list[list[int]], new: dict[int, Cut] | None = None) -> Plan | None:
        """The plan in another order; None where a surface or a heat treatment would be out of turn."""
        order, cuts = [i for block in blocks for i in block], list(_with(self.plan, new or {}).cuts)
        if [self.segment[i] for i in order] != [self.segment[i] for i in self.order]:
            return None
        if _by_surface(cuts, order) != _by_surface(cuts, self.order):
            return None
        runs = [list(run) for _, run in groupby(order, key=lambda i: (cuts[i].setup, cuts[i].op))]
        ops = sorted({cut.op for cut in cuts})
        numbers = ops if len(ops) == len(runs) else [10 * (n + 1) for n in range(len(runs))]
        done = [sum(cut.op <= heat.after_op for cut in cuts) for heat in self.plan.heats]
        for op, run in zip(numbers, runs):
            for i in run:
                cuts[i] = replace(cuts[i], op=op)
        heats = tuple(
            replace(heat, after_op=cuts[order[n - 1]].op if n else numbers[0] - 1)
            for heat, n in zip(self.plan.heats, done)
        )
        return replace(self.plan, cuts=tuple(cuts), heats=heats)


def _by_surface(cuts: Sequence[Cut], order: Iterable[int]) -> dict[str, list[int]]:
    """Cuts of each surface in the order of work."""
    out: dict[str, list[int]] = {}
    for i in order:
        out.setdefault(cuts[i].makes, []).append(i)
    return out


def _segments(tree: Tree) -> list[int]:
    """Stretch of the plan between two heat treatments or growths, for each cut in order; each growth is its own."""
    out, number = [], 0
    before: tuple[int, bool] | None = None
    for i in tree.order:
        cut = tree.plan.cuts[i]
        now = (sum(heat.after_op < cut.op for heat in tree.plan.heats), cut.grows)
        number += before is not None and (now != before or cut.grows)
        before = now
        out.append(number)
    return out
