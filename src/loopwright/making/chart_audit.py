"""Tolerance chart: what is wrong with working dims that somebody wrote."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import erf
from typing import Literal

import numpy as np

from loopwright.errors import Problem
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_checks import structure
from loopwright.making.chart_limits import Widths
from loopwright.making.chart_solving import Resultant, Solution, charted
from loopwright.making.chart_tree import Tree
from loopwright.making.chart_words import limits, on_diameter, times_of

__all__ = ["Audit", "Finding", "audit"]

Fault = Literal["finished", "no stock", "stock", "too much stock", "narrow", "twice", "unused"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong with a plan as written.

    Attributes:
        kind: 'finished' for a blueprint dim that may leave its limits, 'no stock' for a cut that may find nothing to
            remove, 'stock' and 'too much stock' for one that may find less or more than asked, 'narrow' for a
            tolerance that the cut cannot hold, 'twice' for a surface that is dimensioned twice, 'unused' for a working
            dim that nothing depends on.
        field: what it is about, a path such as ``cuts/3``, counted from 0 in the order of the plan.
        what: what is wrong, with its path.
        remedy: what would do.
        by: by how much in worst case, mm; on the diameter where the plan is shown so.
        chance: that it turns out well all the same; 1 where that is no matter of chance.
        path: the working dims of the path, as numbers in ``plan.cuts``.
    """

    kind: Fault
    field: str
    what: str
    remedy: str
    by: float = 0.0
    chance: float = 1.0
    path: tuple[int, ...] = ()


@dataclass(frozen=True)
class Audit:
    """What an audit found.

    Attributes:
        problems: what keeps the plan from being charted; then there is no solution.
        findings: what is wrong with the sizes, the worst first.
        solution: the plan charted, without the cuts that dimension a surface twice.
    """

    problems: tuple[Problem, ...]
    findings: tuple[Finding, ...]
    solution: Solution | None

    @property
    def clean(self) -> bool:
        """Whether nothing was found."""
        return not self.problems and not self.findings


def audit(plan: Plan, *, k: float = 3.0) -> Audit:
    """Everything that is wrong with a plan whose working dims are written.

    Every blueprint dim that may leave its limits, every stock that may be short or gone, every tolerance that its cut
    cannot hold, every surface dimensioned twice at once, every working dim that nothing depends on. Sizes that are not
    written are found as :func:`~loopwright.making.chart_solving.chart` does.

    Args:
        plan: the plan.
        k: a cut can be held to ± k standard deviations.

    Returns:
        The audit.

    Raises:
        RequestError: a k out of range.

    Source: the balance of a chart, O. R. Wade, *Tolerance Control in Design and Manufacturing* (1967), from memory.

    >>> from loopwright.making.chart import Cut, Finished, Limits, Surface
    >>> pin = Plan("pin", (Surface("left", -1), Surface("right", 1)), (
    ...     Cut("left", None, 1, "bar"), Cut("right", "left", 2, "chuck", size=Limits(20.6, -0.2, 0.2)),
    ...     Cut("left", "right", 3, "flip", size=Limits(20, -0.1, 0.1), least=0.5)),
    ...     (Finished("length", "left", "right", 20, -0.1, 0.1),))
    >>> [(finding.kind, round(finding.by, 3)) for finding in audit(pin).findings]
    [('stock', 0.2)]
    """
    twice, kept = _twice(plan)
    once = replace(plan, cuts=tuple(plan.cuts[i] for i in kept))
    if found := structure(once):
        return Audit(tuple(_back(problem, kept) for problem in found), tuple(twice), None)
    case = Case.of(once, k, checked=True)
    solution = charted(case, Widths())
    results = [
        _result(once, result, kept) for result in (*solution.finished, *solution.stock) if not result.holds
    ]
    findings = sorted((*results, *_narrow(solution, kept)), key=lambda finding: (finding.chance, -finding.by))
    return Audit((), (*findings, *twice, *_unused(case, kept)), solution)


def _twice(plan: Plan) -> tuple[list[Finding], list[int]]:
    """Cuts that dimension a surface which another cut of the same op does already, and the cuts that are left."""
    tree = Tree.of(plan)
    findings, kept = [], []
    for i, former in enumerate(tree.former):
        if former is None or plan.cuts[former].op != plan.cuts[i].op:
            kept.append(i)
            continue
        what = f"{tree.name(i)} is dimensioned twice: {tree.chain(former)}, and {tree.chain(i)}"
        remedy = "keep one dim; put the other in brackets, without limits"
        findings.append(Finding("twice", f"cuts/{i}", what, remedy, path=(former, i)))
    return findings, kept


def _back(problem: Problem, kept: list[int]) -> Problem:
    """A problem with its cut counted as in the plan that was given."""
    place, _, number = problem.field.partition("/")
    return replace(problem, field=f"cuts/{kept[int(number)]}") if place == "cuts" and number else problem


def _result(plan: Plan, result: Resultant, kept: list[int]) -> Finding:
    path = tuple(kept[i] for i, _ in result.path)
    times = times_of(plan, result)
    by = times * max(result.below, result.above)
    reaches = f"it comes to {limits(plan, result.low, result.high, times)} in worst case, over {result.words}"
    if result.kind == "finished":
        asked = limits(plan, result.asked_low, result.asked_high, times)
        what = f"'{result.name}' is to be {asked}; {reaches}"
        remedy = _to_the_middle(plan, result, times)
        return Finding("finished", f"finished/{result.index}", what, remedy, by, result.chance, path)
    field = f"cuts/{kept[result.index]}"
    kind: Fault = "too much stock" if not result.below else "no stock" if result.low <= 0 else "stock"
    end, least = (result.asked_high, "most") if not result.below else (result.asked_low, "least")
    asked = f"at {least} {plan.said(end, times, 6)}{on_diameter(times)}"
    more = f"leave {plan.said(result.below, times)} more{on_diameter(times)} at the former cut"
    remedy = "leave less" if not result.below else more
    what = f"the {result.name} is to be {asked}; {reaches}"
    return Finding(kind, field, what, remedy, by, result.chance, path)


def _to_the_middle(plan: Plan, result: Resultant, times: float) -> str:
    """What would bring a blueprint dim into its limits: its middle first, then its tolerance."""
    off = (result.asked_low + result.asked_high - result.low - result.high) / 2
    width = result.asked_high - result.asked_low
    tighter = "tighten a cut of the path, or locate one of the surfaces from the other"
    if abs(off) < 0.05 * width:
        return tighter
    moved = (
        f"make it {plan.said(abs(off), times, 3)} {'larger' if off > 0 else 'smaller'}{on_diameter(times)}"
    )
    return f"{moved}, into the middle of its limits" + (
        f"; {tighter}" if result.high - result.low > width else ""
    )


def _narrow(solution: Solution, kept: list[int]) -> Iterator[Finding]:
    for dim in solution.working:
        if dim.share < 1 - 1e-9:
            plan, cut = solution.plan, solution.plan.cuts[dim.cut]
            times = plan.shown(cut.datum, cut.makes, grows=cut.grows)
            by = times * (dim.capability - dim.half)
            half, able = (plan.said(v, times, 3) for v in (dim.half, dim.capability))
            held = f"±{half}{on_diameter(times)}, and can be held to ±{able}"
            what = f"'{cut.makes}' (op {cut.op}) is to be held to {held}"
            chance = erf(solution.k * dim.share / 2**0.5)
            number, remedy = kept[dim.cut], "allow more, or make the cut better"
            yield Finding("narrow", f"cuts/{number}", what, remedy, by, chance, (number,))


def _unused(case: Case, kept: list[int]) -> Iterator[Finding]:
    """Working dims that no blueprint dim and no stock depends on."""
    tree = case.paths.tree
    for i in np.flatnonzero(case.working & ~(case.paths.sign != 0).any(axis=0)).tolist():
        what = f"the working dim of {tree.name(i)} is used by nothing: {tree.chain(i)}"
        yield Finding(
            "unused",
            f"cuts/{kept[i]}",
            what,
            "give the dim that needs it, or leave its size open",
            path=(kept[i],),
        )
