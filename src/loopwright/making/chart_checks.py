"""Tolerance chart: everything that is wrong with a plan, at once, each with the chain of surfaces it is about."""

from collections.abc import Iterator
from itertools import pairwise
from math import isfinite

import numpy as np

from loopwright.errors import Problem
from loopwright.making.chart import Cut, Heat, Limits, Plan
from loopwright.making.chart_layout import positions, senses, settled
from loopwright.making.chart_tree import Paths, Tree, paths_of

__all__ = ["problems", "removes_nothing", "structure"]

MANY_HEATS = 8
"""Heat treatments in one chart; each doubles the corners of the worst case."""


def problems(plan: Plan) -> tuple[Problem, ...]:
    """Everything that keeps a plan from being charted.

    Looks for: records that contradict themselves; surfaces located twice at once, or not at all; a datum that is not
    there when it is wanted, or that is located in a circle; setups seated on two surfaces, left and taken up again, or
    heated; blueprint dims between surfaces that nothing joins, or that contradict each other; working dims that
    nothing settles; cuts that remove nothing.

    Args:
        plan: the plan.

    Returns:
        The problems; ``field`` is a path such as ``cuts/3``, counted from 0 in the order of the plan. Empty when the
        plan can be charted.

    Source: a plan is right when working dims and surface states form a tree (O. R. Wade, *Tolerance Control in Design
        and Manufacturing*, 1967; from memory). The rules for setups are ours.

    >>> from loopwright.making.chart import Finished, Surface
    >>> ends = (Surface("left", -1), Surface("right", 1))
    >>> cuts = (Cut("left", "right", 1, "saw"), Cut("right", "left", 2, "chuck"))
    >>> for problem in problems(Plan("pin", ends, cuts, (Finished("length", "left", "right", 20, -0.1, 0.1),))):
    ...     print(problem.field, problem.what)
    cuts/0 'left' (op 1) is located in a circle: left (op 1) <- right (op 2) <- left (op 1)
    """
    found = structure(plan)
    unheated = not any(problem.field.startswith("heats") for problem in found)
    return (*found, *removes_nothing(plan)) if unheated else found


def structure(plan: Plan) -> tuple[Problem, ...]:
    """What is wrong with a plan apart from sizes that remove nothing, which an audit lists itself."""
    tree = Tree.of(plan)
    records = (*_surfaces(plan), *_cuts(plan), *_heats(plan), *_blueprint(plan), *_whole(plan))
    located = (*_twice(tree), *_absent(tree), *_references(tree), *_never_made(tree))
    setups = (*_seats(tree), *_left(tree), *_heated(tree))
    found = (*records, *located, *setups, *_joins(tree))
    return found if records else (*found, *_settles(paths_of(tree)))


def _surfaces(plan: Plan) -> Iterator[Problem]:
    seen: set[str] = set()
    for number, surface in enumerate(plan.surfaces):
        field = f"surfaces/{number}"
        if not surface.name:
            yield Problem(field, "has no name", "give it one")
        elif surface.name in seen:
            yield Problem(field, f"'{surface.name}' is there twice", "give each surface its own name")
        if surface.facing not in (-1, 0, 1):
            yield Problem(field, f"'{surface.name}' faces {surface.facing}", "take +1, -1, or 0 for an axis")
        seen.add(surface.name)


def _whole(plan: Plan) -> Iterator[Problem]:
    if not plan.finished:
        yield Problem(
            "finished", "there is no dim of the blueprint", "give the dims that the part has to have"
        )
    if not 0 < plan.shown_times < float("inf"):
        yield Problem("shown_times", f"is {plan.shown_times:g}", "take 1, or 2 for diameters")
    if not 0 < plan.confidence < 1:
        yield Problem("confidence", f"is {plan.confidence:g}", "take a chance between 0 and 1, such as 0.95")


def _cuts(plan: Plan) -> Iterator[Problem]:
    known = plan.facings
    for number, cut in enumerate(plan.cuts):
        field = f"cuts/{number}"
        for name in dict.fromkeys((cut.makes, cut.datum)):
            if name is not None and name not in known:
                yield Problem(
                    field, f"{_named(cut)}: there is no surface '{name}'", "list it among the surfaces"
                )
        for what, remedy in _wrong_numbers(cut):
            yield Problem(field, f"{_named(cut)}: {what}", remedy)
        if cut.datum is None and cut.half is not None:
            what = (
                f"{_named(cut)} is the first reference and has a size, but no datum that the size counts from"
            )
            yield Problem(field, what, "name its datum, or leave the size out")
        if cut.coat and known.get(cut.makes) == 0:
            yield Problem(field, f"{_named(cut)} coats an axis", "coat the surface about it")
    yield from _two_spreads(plan)


def _wrong_numbers(cut: Cut) -> Iterator[tuple[str, str]]:
    """What is wrong with the numbers of one cut, each with its remedy."""
    s = cut.spread
    spreads = (s.cut, s.setting, s.seating, s.angle, s.over)
    if not all(isfinite(value) and value >= 0 for value in spreads):
        yield "a spread is negative or no number", "give standard deviations, zero or more"
    if cut.size is not None and (wrong := _wrong_limits(cut.size)):
        yield wrong
    if cut.size is not None and cut.tolerance is not None:
        yield "it has a size with limits and a tolerance as well", "give the one or the other"
    if cut.tolerance is not None and not (isfinite(cut.tolerance) and cut.tolerance >= 0):
        yield f"the tolerance is {cut.tolerance:g}", "give half the tolerance in mm, zero or more"
    if not (isfinite(cut.least) and cut.least >= 0):
        yield f"the least stock is {cut.least:g}", "give zero or more"
    elif cut.most is not None and not cut.most >= cut.least:
        yield f"the most stock, {cut.most:g}, is below the least, {cut.least:g}", "give more, or leave it out"


def _wrong_limits(limits: Limits) -> tuple[str, str] | None:
    if not all(isfinite(value) for value in (limits.nominal, limits.lower, limits.upper)):
        return "a size is no number", "give finite numbers"
    if limits.lower > limits.upper:
        return "the lower limit is above the upper one", "write them the other way round"
    return None


def _two_spreads(plan: Plan) -> Iterator[Problem]:
    """Keys that stand for two spreads: what is one draw has one size."""
    seen: dict[tuple[str, str], float] = {}
    for number, cut in enumerate(plan.cuts):
        s = cut.spread
        keyed = (("setting", s.shared_setting, s.setting), ("seating", s.shared_seating, s.seating))
        for kind, key, std in (*keyed, ("cut", s.shared_cut, s.cut), ("angle", s.shared_angle, s.angle)):
            first = seen.setdefault((kind, key), std) if key else std
            if first != std:
                what = f"{_named(cut)}: the {kind} '{key}' has a spread of {std:g}, and elsewhere {first:g}"
                yield Problem(f"cuts/{number}", what, "give what is shared one spread, or two keys")


def _heats(plan: Plan) -> Iterator[Problem]:
    for number, heat in enumerate(plan.heats):
        if wrong := _wrong_heat(heat):
            yield Problem(f"heats/{number}", f"after op {heat.after_op}: {wrong[0]}", wrong[1])
    if len(plan.heats) > MANY_HEATS:
        what = f"there are {len(plan.heats)} heat treatments"
        yield Problem(
            "heats", what, f"take those together that no cut lies between; {MANY_HEATS} can be charted"
        )


def _wrong_heat(heat: Heat) -> tuple[str, str] | None:
    if not all(isfinite(g) for g in (heat.mean, heat.low, heat.high, heat.standard)):
        return "a growth is no number", "give finite numbers"
    if not -1 < heat.low <= heat.mean <= heat.high:
        return "least, expected and most growth are not in order", "give low <= mean <= high, as mm per mm"
    if heat.standard < 0:
        return "the spread of the growth is negative", "give zero or more"
    return None


def _blueprint(plan: Plan) -> Iterator[Problem]:
    known, seen = plan.facings, set[str]()
    for number, dim in enumerate(plan.finished):
        field, named = f"finished/{number}", f"'{dim.name}'"
        for name in (dim.a, dim.b):
            if name is not None and name not in known:
                yield Problem(field, f"{named}: there is no surface '{name}'", "list it among the surfaces")
        if dim.name in seen:
            yield Problem(field, f"{named} is there twice", "give each dim its own name")
        if dim.a == dim.b:
            yield Problem(field, f"{named} goes from '{dim.a}' to itself", "name two surfaces")
        if wrong := _wrong_limits(dim.limits):
            yield Problem(field, f"{named}: {wrong[0]}", wrong[1])
        seen.add(dim.name)


def _named(cut: Cut) -> str:
    return f"'{cut.makes}' (op {cut.op})"


def _twice(tree: Tree) -> Iterator[Problem]:
    for i in tree.order:
        before = tree.former[i]
        if before is not None and tree.plan.cuts[before].op == tree.plan.cuts[i].op:
            both = f"{tree.chain(before)}, and {tree.chain(i)}"
            what = f"{_named(tree.plan.cuts[i])} is located twice at once, with nothing to remove between: {both}"
            yield Problem(
                f"cuts/{i}", what, "leave one of them out, or give the second cut an op number of its own"
            )


def _absent(tree: Tree) -> Iterator[Problem]:
    """Cuts whose datum is not there when they are made."""
    cuts = tree.plan.cuts
    first = {cuts[i].makes: i for i in reversed(tree.order)}
    for i in tree.order:
        wanted = cuts[i].datum
        if wanted is None or tree.datum[i] is not None or wanted not in tree.plan.facings:
            continue
        named = _named(cuts[i])
        maker = first.get(wanted)
        if wanted == cuts[i].makes:
            what, remedy = f"{named} is to be coated before it is there", "cut it in an earlier op"
        elif maker is None:
            what, remedy = (
                f"{named} <- '{wanted}': no cut makes its datum",
                f"add the cut that makes '{wanted}'",
            )
        elif circle := _circle(tree, i, first):
            what = f"{named} is located in a circle: {circle}"
            remedy = "locate one of them from a surface that is there before, or make it the first reference (no datum)"
        else:
            what = (
                f"{named} <- '{wanted}': its datum is not there yet, it is first made as {tree.chain(maker)}"
            )
            remedy = "change the order, or take a datum that is there"
        yield Problem(f"cuts/{i}", what, remedy)


def _circle(tree: Tree, start: int, first: dict[str, int]) -> str:
    """The chain of datums from a cut back to itself, or ''."""
    cuts = tree.plan.cuts
    chain = [start]
    while (wanted := cuts[chain[-1]].datum) in first and wanted is not None:
        present = tree.datum[chain[-1]]
        chain.append(first[wanted] if present is None else present)
        if chain[-1] in chain[:-1]:
            return " <- ".join(tree.name(i) for i in chain) if chain[-1] == start else ""
    return ""


def _references(tree: Tree) -> Iterator[Problem]:
    """More than one first reference, or no cut at all."""
    cuts = tree.plan.cuts
    first = [i for i in tree.order if cuts[i].datum is None]
    if not cuts:
        yield Problem(
            "cuts", "there is no cut", "add the sawn or cast end, or the axis, as a cut without datum"
        )
    for i in first[1:]:
        what = f"{_named(cuts[i])} is a second first reference beside {tree.name(first[0])}; nothing joins the two"
        yield Problem(f"cuts/{i}", what, "name its datum")


def _never_made(tree: Tree) -> Iterator[Problem]:
    for number, surface in enumerate(tree.plan.surfaces):
        if surface.name not in tree.last:
            what = f"'{surface.name}' is never located: no cut makes it"
            yield Problem(f"surfaces/{number}", what, "add the cut that makes it, or leave the surface out")


def _seats(tree: Tree) -> Iterator[Problem]:
    """Setups that are seated on two surfaces, or on two states of one."""
    cuts = tree.plan.cuts
    seats: dict[str, int] = {}
    for i in tree.order:
        datum = tree.datum[i]
        if cuts[i].grows or tree.inside[i] or datum is None:
            continue
        first = seats.setdefault(cuts[i].setup, i)
        if tree.datum[first] != datum:
            both = f"{tree.chain(first)}, and {tree.chain(i)}"
            what = f"setup '{cuts[i].setup}' is seated on two surfaces: {both}"
            remedy = "give the second its own setup, or locate it from a surface that is cut in this one"
            yield Problem(f"cuts/{i}", what, remedy)


def _left(tree: Tree) -> Iterator[Problem]:
    """Setups that are left for another and taken up again: nothing holds the origin meanwhile."""
    cuts = tree.plan.cuts
    order = [i for i in tree.order if not cuts[i].grows]
    seen = {cuts[i].setup: i for i in order[:1]}
    for before, i in pairwise(order):
        setup = cuts[i].setup
        if setup in seen and cuts[before].setup != setup:
            names = f"{tree.name(seen[setup])}, then {tree.name(before)} in '{cuts[before].setup}'"
            what = f"setup '{setup}' is left and taken up again for {tree.name(i)}: {names}"
            yield Problem(
                f"cuts/{i}", what, "name the second clamping as a setup of its own, or change the order"
            )
        seen[setup] = i


def _heated(tree: Tree) -> Iterator[Problem]:
    ops: dict[str, list[int]] = {}
    for cut in tree.plan.cuts:
        if not cut.grows:
            ops.setdefault(cut.setup, []).append(cut.op)
    for number, heat in enumerate(tree.plan.heats):
        for setup, of in ops.items():
            if min(of) <= heat.after_op < max(of):
                what = f"the heat treatment after op {heat.after_op} falls into setup '{setup}'"
                yield Problem(f"heats/{number}", what, "name the clamping after it as a setup of its own")


def _joins(tree: Tree) -> Iterator[Problem]:
    """Blueprint dims whose surfaces nothing joins."""
    cuts = tree.plan.cuts
    for number, dim in enumerate(tree.plan.finished):
        named = f"'{dim.name}'"
        ends = [tree.last.get(name) for name in (dim.a, dim.b) if name is not None]
        missing = [name for name in (dim.a, dim.b) if name in tree.plan.facings and name not in tree.last]
        for name in missing:
            yield Problem(
                f"finished/{number}", f"{named}: no cut makes '{name}'", "add the cut that makes it"
            )
        states = [i for i in ends if i is not None]
        if len(states) < len(ends) or not states:
            continue
        roots = [tree.roots[i] for i in states]
        if len(set(roots)) > 1 and all(cuts[i].datum is None for i in roots):
            both = f"{tree.chain(states[0])}, and {tree.chain(states[1])}"
            what = f"{named}: nothing joins '{dim.a}' and '{dim.b}': {both}"
            yield Problem(f"finished/{number}", what, "locate one of the chains from the other")
        elif dim.a is None and tree.seats[states[0]] is None and tree.datum[states[0]] is None:
            what = f"{named} counts from the axis that '{dim.b}' was cut about, but that is the first reference itself"
            yield Problem(f"finished/{number}", what, "name the surface or axis that it counts from")


def _settles(paths: Paths) -> Iterator[Problem]:
    """Sizes whose side, or whose mean, nothing settles; blueprint dims that contradict each other."""
    tree = paths.tree
    side = senses(tree)
    for i, cut in enumerate(tree.plan.cuts):
        if cut.size is not None and not side[i] and tree.datum[i] is not None:
            what = f"{_named(cut)}: no blueprint dim tells on which side of '{cut.datum}' it lies"
            yield Problem(f"cuts/{i}", what, "give its sense, +1 or -1")
    for number in positions(tree)[1]:
        dim = tree.plan.finished[number]
        what = f"'{dim.name}' cannot hold beside the dims before it: together they fix '{dim.a}' to '{dim.b}' already"
        yield Problem(f"finished/{number}", what, "drop one dim of the ring, or mend its figures")
    for states in settled(paths).floating:
        names = ", ".join(tree.name(i) for i in states)
        what = f"nothing settles the size of {names}; the chain is {tree.chain(states[-1])}"
        remedy = f"give a working size, or a blueprint dim for '{tree.plan.cuts[states[-1]].makes}'"
        yield Problem(f"cuts/{states[0]}", what, remedy)


def removes_nothing(plan: Plan) -> tuple[Problem, ...]:
    """Cuts that by the sizes given remove nothing, because the former surface lies inside the new one already.

    Only where all sizes of the path are given; where one is to be found, it is found so that the stock is there.
    """
    tree = Tree.of(plan)
    found, side = paths_of(tree), senses(tree)
    means = [None if cut.size is None or _wrong_limits(cut.size) else cut.size.mean for cut in plan.cuts]
    given = np.array([mean is not None for mean in means], bool)
    value = found.at(found.middle) @ np.array([s * (mean or 0.0) for s, mean in zip(side, means)], float)
    out = []
    for row, closing in enumerate(found.closings):
        on = found.sign[row] != 0
        sound = all(side[i] for i in np.flatnonzero(on))
        if closing.kind == "stock" and value[row] <= 0 and given[on].all() and sound:
            left = plan.said(float(value[row]), plan.shown_times, 6)
            what = f"{_named(plan.cuts[closing.index])} removes nothing: {found.words(row)} leaves {left}"
            remedy = "leave more at the former cut, or turn the surface's facing"
            out.append(Problem(f"cuts/{closing.index}", what, remedy))
    return tuple(out)
