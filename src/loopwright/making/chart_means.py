"""Tolerance chart: mean sizes of the working dims, from blueprint and least stock in one linear solve."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from loopwright.errors import RequestError
from loopwright.making.chart import Plan
from loopwright.making.chart_case import Case
from loopwright.making.chart_tree import Array

__all__ = ["Means", "means"]

ROUNDS = 8
"""Of finding at which end of a growth each stock is least; two are enough where growths are small."""


@dataclass(frozen=True, eq=False)
class Means:
    """Mean sizes of the working dims.

    Attributes:
        sizes: signed mean of each, position of the surface minus that of its datum, mm, (cuts,); 0 for the first
            reference. What was given is kept as it is.
        notes: what given sizes settle already, so that no mean could be chosen for it, in words.
    """

    sizes: Array
    notes: tuple[str, ...]


def means(plan: Plan, tolerances: ArrayLike) -> Means:
    """Mean sizes that put each blueprint dim in the middle of its limits and each least stock to what is asked.

    The mean of a stock is its least plus half its worst-case range, so it depends on the tolerances, which therefore
    come first. Growth by heat is met in the middle of its range for blueprint dims, and at its worse end for stock.

    Args:
        plan: the plan.
        tolerances: half the tolerance of each working dim, mm, (cuts,); where the plan gives one, that counts.

    Returns:
        The means.

    Raises:
        BuildError: the plan has problems, among them sizes that nothing settles.
        RequestError: another number of tolerances, or one below zero.

    Source: working dims from the last op backwards as O. R. Wade, *Tolerance Control in Design and Manufacturing*
        (1967), has it (from memory), here as one set of equations.

    >>> from loopwright.making.chart import Cut, Finished, Surface
    >>> pin = Plan("pin", (Surface("left", -1), Surface("right", 1)), (
    ...     Cut("left", None, 1, "bar"), Cut("right", "left", 2, "chuck"),
    ...     Cut("left", "right", 3, "flip", least=0.5)), (Finished("length", "left", "right", 20, -0.1, 0.1),))
    >>> [round(size, 6) for size in means(pin, [0, 0.2, 0.1]).sizes.tolist()]
    [0.0, 20.8, -20.0]
    """
    case = Case.of(plan)
    given = np.asarray(tolerances, float)
    if given.shape != (len(plan.cuts),):
        raise RequestError(
            f"tolerances of shape {given.shape}", f"give one for each of the {len(plan.cuts)} cuts"
        )
    if not (given >= 0).all():
        raise RequestError("a tolerance is below zero or no number", "give half the tolerance, zero or more")
    return Means(sizes_of(case, np.where(case.free, given, case.given_halves)), notes(case))


def sizes_of(case: Case, halves: Array) -> Array:
    """Signed mean of each working dim, mm, (cuts,).

    Args:
        case: the plan.
        halves: half the tolerance of each working dim, mm, (cuts,).
    """
    paths, chosen = case.paths, case.chosen
    find = case.working & ~case.placed
    stock = ~case.is_finished
    low, high = case.asked
    ends = paths.corners.min(axis=0)[:, None], paths.corners.max(axis=0)[:, None]
    middle = paths.middle
    growth = np.broadcast_to(middle[:, None], (len(middle), len(chosen)))
    at_middle = paths.at(middle)
    sizes = case.given_sizes
    for _ in range(ROUNDS):
        rows = paths.at(growth)
        wanted = np.where(stock, low + np.abs(rows) @ halves, (low + np.where(stock, low, high)) / 2)
        target = np.where(case.is_axis, 0.0, wanted)
        rest = target - rows @ case.given_sizes
        sizes = case.given_sizes.copy()
        sizes[find] = np.linalg.solve(rows[np.ix_(chosen, find)], rest[chosen])
        rising = paths.slopes(at_middle * sizes - np.abs(at_middle) * halves, middle) > 0
        worse = np.where(stock, np.where(rising, *ends), middle[:, None])
        if np.array_equal(worse, growth):
            break
        growth = worse
    return sizes


def notes(case: Case) -> tuple[str, ...]:
    """What given sizes settle, so that its mean cannot be chosen, in words."""
    out = []
    for row in np.flatnonzero(~case.chosen).tolist():
        closing = case.paths.closings[row]
        if closing.kind == "finished":
            name = f"'{case.plan.finished[closing.index].name}' is not put in the middle of its limits"
        else:
            name = f"the stock on {case.paths.tree.name(closing.index)} is not chosen"
        out.append(f"{name}: it follows from {case.paths.words(row)}")
    return tuple(out)
