"""What must hold of a tolerance chart, whatever the plan. Parts are made here step by step, without its mathematics."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_changes import changes
from loopwright.making.chart_checks import problems
from loopwright.making.chart_limits import Widths, limits
from loopwright.making.chart_means import means
from loopwright.making.chart_solving import Solution, chart
from loopwright.making.chart_sources import joined, sources
from loopwright.making.chart_tree import Tree, paths

SEEDS = st.integers(0, 2**32 - 1)
DRAWS = 20_000


@dataclass
class Workshop:
    """Draws a plan at random, and never a wrong one."""

    draw: np.random.Generator
    cuts: list[Cut]

    def spread(self) -> CutSpread:
        """Some thousandths, and sometimes an angle."""
        cut, setting, seating = self.draw.uniform(0.001, 0.01, 3)
        angle = (
            {"angle": 20e-6, "over": float(self.draw.uniform(50, 150))} if self.draw.random() < 0.2 else {}
        )
        return CutSpread(float(cut), float(setting), float(seating), **angle)

    def setup(self) -> tuple[str, str | None, list[str]]:
        """The setup that is standing, its seat, and what was cut in it."""
        name = self.cuts[-1].setup
        inside = [cut for cut in self.cuts if cut.setup == name]
        return name, inside[0].datum, [cut.makes for cut in inside]

    def add(self, makes: str, present: list[str]) -> None:
        """One more cut, in the setup that is standing or in a new one."""
        op = self.cuts[-1].op + 10
        others = [name for name in present if name != makes]
        name, seat, made = self.setup()
        if seat is not None and makes not in (seat, *made) and self.draw.random() < 0.4:
            datum = str(self.draw.choice([seat, *made]))
        else:
            name, datum = f"setup {op}", str(self.draw.choice(others))
        least = float(self.draw.uniform(0.05, 0.5))
        self.cuts.append(Cut(makes, datum, op, name, self.spread(), least=least))


def random_plan(seed: int, *, heats: int = 0, name: str = "part", most: int = 6) -> Plan:
    """Up to ``most`` surfaces, each cut once to three times, in setups of one cut or more."""
    draw = np.random.Generator(np.random.PCG64(seed))
    count = int(draw.integers(2, most + 1))
    names = [f"s{i}" for i in range(count)]
    shop = Workshop(draw, [Cut("s0", None, 0, "saw")])
    for i in range(1, count):
        shop.add(names[i], names[:i])
    for _ in range(int(draw.integers(0, 2 * count))):
        shop.add(str(draw.choice(names)), names)
    at = np.cumsum(draw.uniform(2, 30, count))[draw.permutation(count)]
    finished = []
    for i in range(1, count):
        j, half = int(draw.integers(i)), float(draw.uniform(0.02, 0.3))
        finished.append(Finished(f"d{i}", names[j], names[i], float(at[i] - at[j]), -half, half))
    surfaces = tuple(Surface(n, 1 if draw.random() < 0.5 else -1) for n in names)
    ends = [max(c.op for c in shop.cuts if c.setup == setup) for setup in {c.setup for c in shop.cuts}]
    after = sorted(int(op) for op in draw.choice(ends, heats))
    ranges = [np.sort(draw.uniform(-0.002, 0.002, 2)) for _ in after]
    treated = tuple(Heat(op, float(r.mean()), float(r[0]), float(r[1])) for op, r in zip(after, ranges))
    return Plan(name, surfaces, tuple(shop.cuts), tuple(finished), treated)


def made(plan: Plan, offset: dict[int, np.ndarray], growth: np.ndarray) -> dict[tuple[str, int], np.ndarray]:
    """Makes parts step by step: what each blueprint dim and each stock comes to, one value for each part.

    ``offset[i]`` says where cut i puts its surface, given its datum's place; a heat treatment moves everything.
    """
    order = sorted(range(len(plan.cuts)), key=lambda i: plan.cuts[i].op)
    facing, here, out = plan.facings, {}, {}
    waiting = sorted(range(len(plan.heats)), key=lambda h: plan.heats[h].after_op)
    for i in [*order, None]:
        op = np.inf if i is None else plan.cuts[i].op
        while waiting and plan.heats[waiting[0]].after_op < op:
            here = {name: x * (1 + growth[waiting[0]]) for name, x in here.items()}
            waiting.pop(0)
        if i is None:
            break
        cut = plan.cuts[i]
        place = offset[i] if cut.datum is None else here[cut.datum] + offset[i]
        if cut.makes in here:
            out["stock", i] = facing[cut.makes] * (here[cut.makes] - place)
        here[cut.makes] = place
    return out | {("finished", n): here[dim.b] - here[str(dim.a)] for n, dim in enumerate(plan.finished)}


def every(found: Solution) -> dict[tuple[str, int], object]:
    """All results by kind and index."""
    return {(r.kind, r.index): r for r in (*found.finished, *found.stock)}


@given(SEEDS, st.integers(0, 2))
def test_random_plans_are_right_and_hold(seed: int, heats: int) -> None:
    """A plan drawn right has no problems; its dims hold in worst case, and each stock is just what was asked."""
    plan = random_plan(seed, heats=heats)
    assert problems(plan) == ()
    found = chart(plan)
    # where growth alone passes the limits there is nothing that tolerances could do
    assert all(result.holds or (result.room <= 0 and found.share == 0) for result in found.finished)
    assert [r.low for r in found.stock] == pytest.approx(
        [plan.cuts[r.index].least for r in found.stock], abs=1e-9
    )
    assert found.feasible == (found.share >= 1 - 1e-9)


@given(SEEDS, st.integers(0, 2))
def test_worst_case_holds_every_corner(seed: int, heats: int) -> None:
    """No part made at corners of its tolerances leaves the worst case, and a part at the right corner reaches it."""
    plan = random_plan(seed, heats=heats)
    found = chart(plan)
    sizes, halves = found.sizes(), found.halves()
    draw = np.random.Generator(np.random.PCG64(seed))
    corner = draw.choice([-1.0, 1.0], (200, len(sizes)))
    growth = np.array([draw.choice([h.low, h.high], 200) for h in plan.heats])
    values = made(plan, {i: sizes[i] + corner[:, i] * halves[i] for i in range(len(sizes))}, growth)
    ends = [np.array([h.low, h.high]) for h in plan.heats]
    grid = np.array(np.meshgrid(*ends)).reshape(heats, 2**heats)
    for key, result in every(found).items():
        assert values[key].min() >= result.low - 1e-9
        assert values[key].max() <= result.high + 1e-9
        side = np.zeros(len(sizes))
        for i, sign in result.path:
            side[i] = sign
        high = made(plan, {i: sizes[i] + side[i] * halves[i] for i in range(len(sizes))}, grid)
        assert np.max(high[key]) == pytest.approx(result.high, abs=1e-9)


@given(SEEDS, st.integers(0, 1))
@settings(max_examples=30)
def test_spreads_against_parts_made(seed: int, heats: int) -> None:
    """The standard deviation of each dim and stock is that of parts made by the thousand, setup by setup."""
    plan = random_plan(seed, heats=heats)
    found = chart(plan)
    sizes, tree = found.sizes(), Tree.of(plan)
    draw = np.random.Generator(np.random.PCG64(seed))
    of_setup: dict[tuple[str, str], np.ndarray] = {}
    from_origin: dict[int, np.ndarray] = {}
    offset: dict[int, np.ndarray] = {0: np.zeros(DRAWS)}
    for i in tree.order[1:]:
        cut, s = plan.cuts[i], plan.cuts[i].spread
        for kind in ("setting", "seating", "angle"):
            of_setup.setdefault((cut.setup, kind), draw.normal(size=DRAWS))
        setup = s.setting * of_setup[cut.setup, "setting"] + s.seating * of_setup[cut.setup, "seating"]
        setup = setup + s.angle * s.over * of_setup[cut.setup, "angle"]
        from_origin[i] = setup + draw.normal(size=DRAWS) * s.cut
        datum = tree.datum[i]
        same = datum is not None and plan.cuts[datum].setup == cut.setup
        offset[i] = sizes[i] + from_origin[i] - (from_origin[datum] if same else 0.0)
    growth = np.array([draw.normal(h.mean, h.standard, DRAWS) for h in plan.heats]).reshape(-1, DRAWS)
    for key, values in made(plan, offset, growth).items():
        result = every(found)[key]
        # where cuts of one setup state several settings, the chart lets one draw be the same number of deviations
        assert values.std() == pytest.approx(result.std, rel=4 / (2 * DRAWS) ** 0.5)
        assert values.mean() == pytest.approx(result.mean, abs=4 * result.std / DRAWS**0.5 + 1e-6)


@given(SEEDS, st.integers(0, 1))
def test_the_order_in_which_a_plan_is_written_is_nothing(seed: int, heats: int) -> None:
    """Cuts and surfaces may be listed in any order; op numbers alone say when they are made."""
    plan = random_plan(seed, heats=heats)
    turn = np.random.Generator(np.random.PCG64(seed)).permutation(len(plan.cuts)).tolist()
    other = replace(plan, cuts=tuple(plan.cuts[i] for i in turn), surfaces=plan.surfaces[::-1])
    one, two = chart(plan), chart(other)
    assert two.sizes() == pytest.approx(one.sizes()[turn], abs=1e-9)
    assert two.halves() == pytest.approx(one.halves()[turn], abs=1e-9)
    assert [r.std for r in two.finished] == pytest.approx([r.std for r in one.finished])


@given(SEEDS)
def test_cuts_that_know_nothing_of_each_other_may_change_places(seed: int) -> None:
    """Two neighbouring setups that share no surface give the same chart in either order."""
    plan = random_plan(seed)
    order = sorted(range(len(plan.cuts)), key=lambda i: plan.cuts[i].op)
    alone = [
        i for i in order if sum(c.setup == plan.cuts[i].setup for c in plan.cuts) == 1 and plan.cuts[i].datum
    ]
    pairs = [(i, j) for i, j in pairwise(order) if i in alone and j in alone]
    apart = [
        (i, j)
        for i, j in pairs
        if plan.cuts[i].makes not in (plan.cuts[j].makes, plan.cuts[j].datum)
        and plan.cuts[j].makes != plan.cuts[i].datum
    ]
    assume(apart)
    i, j = apart[0]
    cuts = list(plan.cuts)
    cuts[i], cuts[j] = replace(cuts[i], op=cuts[j].op), replace(cuts[j], op=cuts[i].op)
    one, two = chart(plan), chart(replace(plan, cuts=tuple(cuts)))
    assert two.sizes() == pytest.approx(one.sizes(), abs=1e-9)
    assert [r.std for r in two.finished] == pytest.approx([r.std for r in one.finished])


@given(SEEDS, st.floats(0.1, 0.95), st.integers(0, 1))
def test_a_better_cut_never_widens_a_dim(seed: int, factor: float, heats: int) -> None:
    """A narrower tolerance widens no blueprint dim in worst case, and a better cut none by chance."""
    plan = random_plan(seed, heats=heats)
    halves = chart(plan).halves()
    cuts = tuple(c if c.datum is None else replace(c, tolerance=float(t)) for c, t in zip(plan.cuts, halves))
    number = 1 + seed % (len(cuts) - 1)
    better = replace(cuts[number], tolerance=halves[number] * factor)
    spread = replace(better.spread, cut=better.spread.cut * factor)
    one = chart(replace(plan, cuts=cuts))
    two = chart(replace(plan, cuts=(*cuts[:number], replace(better, spread=spread), *cuts[number + 1 :])))
    for a, b in zip(one.finished, two.finished):
        # with less stock to leave, lengths that grow by heat get shorter or longer by that, which is next to nothing
        assert b.high - b.low <= (a.high - a.low) * (1 + 1e-3 * heats) + 1e-9
        assert b.std <= a.std * (1 + 1e-3 * heats) + 1e-12


@given(SEEDS, st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_setting_cancels_between_faces_of_one_setup(seed: int, setting: float, seating: float) -> None:
    """Whatever the setting and the seating, the dim between two faces of one setup sees their two cuts only."""
    cut = np.random.Generator(np.random.PCG64(seed)).uniform(0.001, 0.01, 2)
    by = [CutSpread(float(c), setting, seating) for c in cut]
    surfaces = (Surface("end", -1), Surface("a", 1), Surface("b", 1))
    cuts = (Cut("end", None, 1, "saw"), Cut("a", "end", 2, "mill", by[0]), Cut("b", "end", 2, "mill", by[1]))
    plan = Plan(
        "bar", surfaces, cuts, (Finished("ab", "a", "b", 5, -1, 1), Finished("a", "end", "a", 5, -1, 1))
    )
    found = chart(plan)
    assert found.finished[0].std == pytest.approx(np.hypot(*cut))
    assert found.finished[1].std == pytest.approx(np.sqrt(cut[0] ** 2 + setting**2 + seating**2))


@given(SEEDS, st.floats(0.001, 0.05))
def test_one_fixture_for_two_parts(seed: int, setting: float) -> None:
    """Two parts cut last against one setting have its variance in common, and nothing else."""
    both = []
    for name, way in (("one", 1), ("two", -1)):
        plan = random_plan(seed, name=name)
        last = plan.cuts[-1]
        others = [s.name for s in plan.surfaces if s.name != last.makes]
        by = CutSpread(0.002, setting, 0.003, shared_setting="fixture")
        extra = Cut(last.makes, others[0], last.op + 10, "fixture", by)
        dim = Finished("dim", others[0], last.makes, 5.0, -1.0, 1.0)
        if way < 0:
            dim = Finished("dim", last.makes, others[0], -5.0, -1.0, 1.0)
        both.append(sources(replace(plan, cuts=(*plan.cuts, extra), finished=_and(plan, dim))))
    all_ = joined(both)
    first = all_.finished.index("dim")
    second = len(all_.finished) - 1 - all_.finished[::-1].index("dim")
    assert all_.plans[first] != all_.plans[second]
    assert all_.covariance[first, second] == pytest.approx(-(setting**2))


def _and(plan: Plan, dim: Finished) -> tuple[Finished, ...]:
    """The blueprint with one dim more, and without the one that would close a ring with it."""
    joined_: dict[str, str] = {s.name: s.name for s in plan.surfaces}

    def top(name: str) -> str:
        return name if joined_[name] == name else top(joined_[name])

    out = []
    for one in (dim, *plan.finished):
        if top(str(one.a)) != top(one.b):
            joined_[top(str(one.a))] = top(one.b)
            out.append(one)
    return tuple(out)


@given(SEEDS)
def test_the_common_share_is_the_optimum_of_the_programme(seed: int) -> None:
    """The common share is what a general solver finds, the even one is no worse in any cut's stead, and duals agree."""
    plan = random_plan(seed)
    found = limits(plan)
    sign, c = np.abs(paths(plan).sign[: len(plan.finished)]), found.capability
    room = np.array([dim.limits.half for dim in plan.finished])
    free = np.flatnonzero(c > 0)
    seen = free[(sign[:, free] > 0).any(axis=0)]
    # variables: tolerances, then s; t >= s c
    least = np.hstack([-np.eye(len(seen)), c[seen][:, None]])
    table = np.vstack([np.hstack([sign[:, seen], np.zeros((len(room), 1))]), least])
    cost = np.append(np.zeros(len(seen)), -1.0)
    lp = linprog(cost, table, np.append(room, np.zeros(len(seen))), bounds=(0, None), method="highs")
    # a cut that no dim sees gets a share of one, which does not count here
    common = (found.halves[seen] / c[seen]).min()
    assert common == pytest.approx(-lp.fun)
    assert (sign @ found.halves <= room + 1e-9).all()
    if found.common < 1 and (rates := np.flatnonzero(found.rate)).size == 1:
        assert -lp.ineqlin.marginals[rates[0]] == pytest.approx(found.rate[rates[0]], rel=1e-6)
    most = limits(plan, widths=Widths(aim="sum"))
    assert most.share[seen].sum() >= found.share[seen].sum() - 1e-6
    assert (sign @ most.halves <= room + 1e-9).all()
    assert most.common == pytest.approx(found.common)


@given(SEEDS)
@settings(max_examples=20)
def test_no_other_tolerances_do_better(seed: int) -> None:
    """On small plans, of all tolerances on a grid none that hold the blueprint has a larger least share."""
    plan = random_plan(seed, most=3)
    found = limits(plan)
    sign, c = np.abs(paths(plan).sign[: len(plan.finished)]), found.capability
    seen = np.flatnonzero((sign > 0).any(axis=0) & (c > 0))
    assume(0 < len(seen) <= 4)
    room = np.array([dim.limits.half for dim in plan.finished])
    top = 2 * (found.halves[seen] / c[seen]).min()
    shares = np.array(np.meshgrid(*[np.linspace(0, top, 13)] * len(seen))).reshape(len(seen), -1)
    holds = (sign[:, seen] @ (shares * c[seen][:, None]) <= room[:, None]).all(axis=0)
    assert shares[:, holds].min(axis=0).max() <= (found.halves[seen] / c[seen]).min() + 1e-9


@given(SEEDS)
def test_evening_out_goes_as_far_as_it_can(seed: int) -> None:
    """No tolerance can be widened without narrowing one whose share is no larger."""
    plan = random_plan(seed)
    found = limits(plan)
    sign = np.abs(paths(plan).sign[: len(plan.finished)])
    full = np.array([dim.limits.half for dim in plan.finished]) - sign @ found.halves <= 1e-9
    for i in np.flatnonzero((sign > 0).any(axis=0) & (found.capability > 0)):
        rows = full & (sign[:, i] > 0)
        largest = [found.share[sign[row] > 0].max() for row in np.flatnonzero(rows)]
        assert any(found.share[i] >= share - 1e-9 for share in largest)


@given(SEEDS, st.integers(0, 1))
def test_means_do_what_they_promise(seed: int, heats: int) -> None:
    """Made at its means, with growth in the middle, a part has every blueprint dim in the middle of its limits."""
    plan = random_plan(seed, heats=heats)
    halves = np.random.Generator(np.random.PCG64(seed)).uniform(0, 0.05, len(plan.cuts))
    sizes = means(plan, halves).sizes
    middle = np.array([[(h.low + h.high) / 2] for h in plan.heats]).reshape(-1, 1)
    values = made(plan, {i: np.array([size]) for i, size in enumerate(sizes)}, middle)
    for number, dim in enumerate(plan.finished):
        assert values["finished", number][0] == pytest.approx(dim.limits.mean, abs=1e-9)


@given(SEEDS)
def test_a_charted_plan_passes_its_audit(seed: int) -> None:
    """Sizes that a chart gives, written down, have no fault but tolerances that the cuts cannot hold."""
    plan = random_plan(seed)
    found = chart(plan)
    assume(all(abs(dim.mean) > 1e-6 for dim in found.working))
    dims = {dim.cut: dim for dim in found.working}
    cuts = tuple(
        replace(c, size=Limits.around(dims[i].size, dims[i].half), sense=1 if dims[i].mean > 0 else -1)
        if i in dims
        else c
        for i, c in enumerate(plan.cuts)
    )
    assert {finding.kind for finding in audit(replace(plan, cuts=cuts)).findings} <= {"narrow"}


@given(SEEDS, st.integers(0, 1))
@settings(max_examples=30)
def test_changes_keep_what_must_stay(seed: int, heats: int) -> None:
    """No change alters the order in which a surface is cut, nor what comes before a heat treatment."""
    plan = random_plan(seed, heats=heats)
    tree = Tree.of(plan)
    chain = [i for i in range(len(plan.cuts)) if tree.datum[i] is not None]
    dims = [(tree.last[str(dim.a)], tree.last[dim.b]) for dim in plan.finished]
    before = _turns(plan)
    for change in changes(plan, 3.0, [chain], dims):
        assert _turns(change.plan) == before
        assert len(change.plan.cuts) == len(plan.cuts)


def _turns(plan: Plan) -> dict[str, list[tuple[int, int]]]:
    """For each surface its cuts in order, each with the number of heat treatments before it."""
    order = sorted(range(len(plan.cuts)), key=lambda i: plan.cuts[i].op)
    out: dict[str, list[tuple[int, int]]] = {}
    for i in order:
        heated = sum(heat.after_op < plan.cuts[i].op for heat in plan.heats)
        out.setdefault(plan.cuts[i].makes, []).append((i, heated))
    return out
