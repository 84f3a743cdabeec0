"""The saw list: which piece comes from which bar, so that as little as possible has to be bought."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from time import monotonic

import numpy as np

from loopwright.errors import BuildError, Problem
from loopwright.making.sawing_checks import mistakes
from loopwright.making.sawing_plans import Settled, first_plan, settle
from loopwright.making.sawing_records import (
    Bar,
    Cancel,
    Cut,
    Metal,
    Offcut,
    Piece,
    Progress,
    Proof,
    Purchase,
    Saw,
    SawList,
    SawnBar,
)
from loopwright.making.sawing_task import (
    STEPS,
    Plan,
    Task,
    Watch,
    dearest,
    made,
    to_leave_most,
    to_make_all,
    to_spend_least,
)

__all__ = [
    "Bar",
    "Cut",
    "Metal",
    "Offcut",
    "Piece",
    "Proof",
    "Purchase",
    "Saw",
    "SawList",
    "SawnBar",
    "saw_list",
]

SLACK = 100
"""Steps by which pieces may exceed a bar: what rounding their lengths leaves, a ten-thousandth of a micrometre each."""
STAGES = 3
DIVES = 6
"""Attempts at the second aim, which nobody waits for as long as for the first."""
FOR_MONEY = 0.7
"""Part of the time of a section that the first aim may take."""


def saw_list(
    pieces: Sequence[Piece],
    bars: Sequence[Bar],
    saw: Saw,
    *,
    metals: Mapping[str, Metal] | None = None,
    within: float = 0.01,
    seconds: float = 10.0,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> SawList:
    """Which piece to saw from which bar.

    First aim: the least cost of what is bought; bars of price 0, those in the rack, cost nothing. Second aim, at
    that cost: the rack worth most when all is sawn, where a length counts by its square and one too short to keep
    counts nothing. So off-cuts are used before whole bars, and one long end is left rather than two short ones.

    A bar loses ``end_loss`` where it is faced, and each piece takes its length and one kerf. What is left is no
    shorter than the grip; without a grip the last cut may run out at the end. A piece that would be the rest itself,
    without being sawn off, is not counted on. The cheapest list is proven where the list is small; else it is as
    near to the bound as ``within`` says, unless time runs out.

    Args:
        pieces: what is wanted.
        bars: what there is, and what can be bought.
        saw: what the saw takes.
        metals: of each section, for the weight of what is bought.
        within: gap between cost and bound that is good enough for the first aim, as a share of the cost.
        seconds: time after which the best list found so far is taken; a step or two may run over.
        progress: called with the stages done and how many there are.
        cancelled: asked now and then; True stops.

    Returns:
        The saw list; the same for any order of what is given, as long as time does not run out.

    Raises:
        BuildError: everything that is wrong with what is given; or pieces for which the bars do not suffice.
        Cancelled: ``cancelled`` said so.

    Source: L. V. Kantorovich, Management Science 6 (1960) 366; P. C. Gilmore and R. E. Gomory, Operations Research
        9 (1961) 849 (ways to saw a bar as columns); both from memory.
    Checked in: tests/published/test_cutting_stock_*.py.

    Three legs of 700 mm and two rails of 400 mm; an off-cut of 1300 mm lies in the rack:

    >>> legs, rails = Piece("leg", 700, 3, "angle 30"), Piece("rail", 400, 2, "angle 30")
    >>> rack = Bar("off-cut 7", 1300, 1, "angle 30", faced=True)
    >>> shop = Bar("2 m", 2000, None, "angle 30", price=12.5)
    >>> done = saw_list([legs, rails], [rack, shop], Saw(kerf=2, grip=50, end_loss=5, least_offcut=150))
    >>> done.cost, done.gap, [(p.bar, p.count) for p in done.purchases]
    (12.5, 0.0, [('2 m', 1)])
    >>> [(bar.bar, [cut.mark for cut in bar.cuts], bar.rest, bar.kept) for bar in done.bars]
    [('off-cut 7', [700.0, 1102.0], 196.0, True), ('2 m', [700.0, 1402.0, 1804.0], 189.0, True)]
    """
    metals = metals or {}
    if problems := mistakes(pieces, bars, saw, metals):
        raise BuildError(problems)
    sections = sorted({piece.section for piece in pieces if piece.count})
    watch, end = Watch(STAGES * len(sections), 0.0, progress, cancelled), monotonic() + seconds
    missing: list[Problem] = []
    sawn: list[SawnBar] = []
    proofs: list[Proof] = []
    for number, section in enumerate(sections):
        bench = _Bench.of(section, pieces, bars, saw)
        turn = monotonic() + max(end - monotonic(), 0.0) / (len(sections) - number)
        start, short = _complete(bench, watch, turn)
        if short is not None:
            missing.append(short)
        if not missing:
            plan, proof = _best(bench, start, watch, turn, within)
            sawn += bench.sawn(plan)
            proofs.append(proof)
    if missing:
        raise BuildError(missing)
    return SawList(tuple(sawn), _purchases(sawn, metals), tuple(proofs))


@dataclass(frozen=True)
class _Bench:
    """One section: its task in whole numbers, and the names that belong to the numbers.

    Attributes:
        section: section and material.
        saw: what it takes.
        task: pieces and bars.
        names: of the pieces of each size, with their number.
        bars: of each kind, with as many as there are.
    """

    section: str
    saw: Saw
    task: Task
    names: tuple[tuple[tuple[str, int], ...], ...]
    bars: tuple[tuple[tuple[Bar, int], ...], ...]

    @classmethod
    def of(cls, section: str, pieces: Sequence[Piece], bars: Sequence[Bar], saw: Saw) -> "_Bench":
        """The pieces and bars of a section, those of the same length together, in an order of their own."""
        sizes: defaultdict[int, list[tuple[str, int]]] = defaultdict(list)
        for piece in sorted((p for p in pieces if p.section == section and p.count), key=lambda p: p.name):
            sizes[_steps(piece.length) + _steps(saw.kerf)].append((piece.name, piece.count))
        longest_first = sorted(sizes, reverse=True)
        wanted = [sum(count for _, count in sizes[size]) for size in longest_first]
        kinds: defaultdict[tuple[float, int, int], list[tuple[Bar, int]]] = defaultdict(list)
        for bar in sorted((b for b in bars if b.section == section), key=lambda b: b.name):
            rest = _steps(bar.length) - (0 if bar.faced else _steps(saw.end_loss))
            count = sum(wanted) if bar.count is None else min(bar.count, sum(wanted))
            if count and rest - _vice(saw) >= longest_first[-1]:
                kinds[bar.price, rest, _steps(bar.length)].append((bar, count))
        order = sorted(kinds)
        task = Task(
            sizes=np.array(longest_first, np.int64),
            wanted=np.array(wanted, np.int64),
            room=np.array([rest - _vice(saw) for _, rest, _ in order], np.int64),
            rest=np.array([rest for _, rest, _ in order], np.int64),
            length=np.array([length for _, _, length in order], np.int64),
            count=np.array([min(sum(n for _, n in kinds[kind]), sum(wanted)) for kind in order], np.int64),
            price=np.array([price for price, _, _ in order]),
            least=_steps(saw.least_offcut),
        )
        named = tuple(tuple(sizes[size]) for size in longest_first)
        return cls(section, saw, task, named, tuple(tuple(kinds[kind]) for kind in order))

    def sawn(self, plan: Plan) -> list[SawnBar]:
        """The bars of a plan by name, with the names of what comes from them."""
        pieces = [iter([name for name, count in names for _ in range(count)]) for names in self.names]
        supply = [iter([(bar, n + 1) for bar, count in bars for n in range(count)]) for bars in self.bars]
        found = []
        for pattern in sorted(plan, key=lambda p: (p.kind, tuple(-count for count in p.counts))):
            for _ in range(pattern.times):
                bar, number = next(supply[pattern.kind])
                found.append(
                    self._one(bar, number, [next(pieces[i]) for i in _sizes(pattern.counts)], pattern.counts)
                )
        return found

    def _one(self, bar: Bar, number: int, names: list[str], counts: tuple[int, ...]) -> SawnBar:
        facing = 0.0 if bar.faced else self.saw.end_loss
        steps = [int(self.task.sizes[size]) for size in _sizes(counts)]
        kerf = _steps(self.saw.kerf)
        marks = np.cumsum(steps) - kerf
        cuts = [
            Cut(name, (size - kerf) / STEPS, int(mark) / STEPS)
            for name, size, mark in zip(names, steps, marks)
        ]
        rest = max(_steps(bar.length) - _steps(facing) - sum(steps), 0)
        kept = rest >= max(self.task.least, SLACK)
        return SawnBar(
            bar.name, number, self.section, bar.length, bar.price, facing, tuple(cuts), rest / STEPS, kept
        )


def _steps(length: float) -> int:
    return round(length * STEPS)


def _vice(saw: Saw) -> int:
    """What a bar cannot give; less than nothing where the last cut may run out at its end."""
    return (_steps(saw.grip) or -_steps(saw.kerf)) - SLACK


def _sizes(counts: tuple[int, ...]) -> list[int]:
    """The sizes of the pieces one by one, the longest first."""
    return [size for size, count in enumerate(counts) for _ in range(count)]


def _complete(bench: _Bench, watch: Watch, turn: float) -> tuple[Plan, Problem | None]:
    """A plan that makes all pieces; or what is missing from the one that makes most."""
    task, watch.until = bench.task, turn
    plan, proven = first_plan(task), True
    if (made(task, plan) < task.wanted).any():
        found = settle(task, to_make_all(task), plan, watch, 0.0)
        plan, proven = found.plan, found.proven
    watch.stage()
    short = task.wanted - made(task, plan)
    if not short.any():
        return plan, None
    kerf = _steps(bench.saw.kerf)
    lines = [
        f"{count} of {(int(size) - kerf) / STEPS:.6g} mm"
        for size, count in zip(task.sizes, short.tolist())
        if count
    ]
    verb = "the bars do not suffice" if proven else "no list was found in time that makes do with the bars"
    what = (
        f"{verb}: {short.sum()} of {task.wanted.sum()} pieces are left over, for instance {', '.join(lines)}"
    )
    return plan, Problem(f"bars/{bench.section}", what, "enter a length to buy with its price, or more bars")


def _best(bench: _Bench, start: Plan, watch: Watch, turn: float, within: float) -> tuple[Plan, Proof]:
    """The plan for both aims, and how good it is."""
    task, unit = bench.task, dearest(bench.task)
    now = monotonic()
    watch.until = now + FOR_MONEY * max(turn - now, 0.0)
    money = settle(task, to_spend_least(task), start, watch, within)
    watch.stage()
    watch.until = turn
    rack: Settled = settle(task, to_leave_most(task, money.cost * unit), money.plan, watch, within, DIVES)
    watch.stage()
    spent = sum(float(task.price[p.kind]) * p.times for p in rack.plan)
    short = 0.0 if rack.proven else (rack.cost - rack.bound) * float(task.length.max()) / STEPS
    return rack.plan, Proof(bench.section, spent, min(money.bound * unit, spent), money.how, short, rack.how)


def _purchases(bars: Sequence[SawnBar], metals: Mapping[str, Metal]) -> tuple[Purchase, ...]:
    """The bars that are bought, by section and name."""
    found = []
    for (section, name), group in groupby(
        sorted((b for b in bars if b.price > 0), key=lambda b: (b.section, b.bar)),
        lambda b: (b.section, b.bar),
    ):
        of_it = list(group)
        metal = metals.get(section)
        mass = None if metal is None else metal.mass(of_it[0].length * len(of_it))
        found.append(Purchase(name, section, of_it[0].length, len(of_it), of_it[0].price, mass))
    return tuple(found)
