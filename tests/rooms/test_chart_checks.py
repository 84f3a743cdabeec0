"""What is wrong with a plan for a tolerance chart is told at once, with the chain and with a remedy."""

from dataclasses import replace

import pytest

from loopwright.errors import BuildError, Problem
from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_checks import problems
from loopwright.making.chart_limits import limits
from loopwright.making.chart_means import means
from loopwright.making.chart_solving import chart

SURFACES = (Surface("left", -1), Surface("step", 1), Surface("right", 1))
LENGTH = Finished("length", "left", "right", 40, -0.1, 0.1)
HEAD = Finished("head", "step", "right", 15, -0.1, 0.1)
CUTS = (
    Cut("left", None, 10, "saw"),
    Cut("right", "left", 20, "first"),
    Cut("step", "right", 30, "first"),
    Cut("left", "right", 40, "second", least=0.3),
)
GOOD = Plan("shaft", SURFACES, CUTS, (LENGTH, HEAD))


def with_cuts(*cuts: Cut, finished: tuple[Finished, ...] = GOOD.finished) -> Plan:
    """The shaft with other cuts."""
    return replace(GOOD, cuts=cuts, finished=finished)


def changed(number: int, **what: object) -> Plan:
    """The shaft with one cut changed."""
    return with_cuts(*CUTS[:number], replace(CUTS[number], **what), *CUTS[number + 1 :])


def only(plan: Plan) -> Problem:
    """The one problem of a plan, which says what would do."""
    (problem,) = problems(plan)
    assert problem.remedy
    return problem


def test_nothing_wrong() -> None:
    """A right plan has no problems."""
    assert problems(GOOD) == ()


CASES = {
    "twice at once": (
        with_cuts(*CUTS, Cut("left", "step", 40, "third", least=0.1)),
        "cuts/4",
        "left (op 40) <- right (op 20) <- left (op 10), and left (op 40) <- step (op 30) <- right (op 20)",
    ),
    "datum later": (
        changed(1, datum="step"),
        "cuts/1",
        "circle: right (op 20) <- step (op 30) <- right (op 20)",
    ),
    "datum not there yet": (
        with_cuts(CUTS[0], replace(CUTS[1], op=25), Cut("step", "right", 20, "zero")),
        "cuts/2",
        "its datum is not there yet, it is first made as right (op 25) <- left (op 10)",
    ),
    "datum never made": (
        replace(changed(2, datum="far"), surfaces=(*SURFACES, Surface("far", 1))),
        "cuts/2",
        "no cut makes its datum",
    ),
    "coated before it is there": (
        with_cuts(*CUTS[:2], Cut("step", "step", 25, "bath", size=Limits(0.01)), CUTS[3]),
        "cuts/2",
        "coated before it is there",
    ),
    "second reference": (changed(1, datum=None), "cuts/1", "second first reference beside left (op 10)"),
    "never made": (with_cuts(CUTS[0], CUTS[1], finished=(LENGTH,)), "surfaces/1", "'step' is never located"),
    "taken up again": (
        with_cuts(*CUTS, Cut("step", "right", 50, "first", least=0.1)),
        "cuts/4",
        "setup 'first' is left and taken up again for step (op 50)",
    ),
    "heated in the setup": (
        replace(GOOD, heats=(Heat(20, 0.0, 0.0, 0.0),)),
        "heats/0",
        "falls into setup 'first'",
    ),
    "no side": (
        replace(
            with_cuts(*CUTS, Cut("pad", "left", 50, "third", size=Limits(3.0))),
            surfaces=(*SURFACES, Surface("pad", 1)),
        ),
        "cuts/4",
        "on which side of 'left'",
    ),
    "nothing settles it": (
        with_cuts(*CUTS, finished=(LENGTH,)),
        "cuts/2",
        "nothing settles the size of step (op 30); the chain is step (op 30) <- right (op 20)",
    ),
    "contradiction": (
        replace(GOOD, finished=(*GOOD.finished, Finished("body", "left", "step", 26, -0.1, 0.1))),
        "finished/2",
        "fix 'left' to 'step' already",
    ),
    "removes nothing": (
        with_cuts(
            CUTS[0],
            replace(CUTS[1], size=Limits(39.9)),
            CUTS[2],
            replace(CUTS[3], size=Limits(40.0)),
        ),
        "cuts/3",
        "removes nothing: left (op 40) <- right (op 20) <- left (op 10) leaves -0.1 mm",
    ),
    "reference with a size": (changed(0, size=Limits(3.0)), "cuts/0", "no datum that the size counts from"),
    "unknown surface": (changed(2, datum="stepp"), "cuts/2", "no surface 'stepp'"),
    "two sizes": (changed(2, size=Limits(15.0), tolerance=0.1), "cuts/2", "a tolerance as well"),
    "limits crossed": (changed(2, size=Limits(15.0, 0.1, -0.1)), "cuts/2", "lower limit is above"),
    "negative spread": (changed(2, spread=CutSpread(cut=-1.0)), "cuts/2", "a spread is negative"),
    "negative least": (changed(3, least=-0.1), "cuts/3", "the least stock is -0.1"),
    "most below least": (changed(3, most=0.1), "cuts/3", "is below the least"),
    "negative tolerance": (changed(3, tolerance=-0.1), "cuts/3", "the tolerance is -0.1"),
    "one key, two spreads": (
        replace(
            GOOD,
            cuts=(
                *CUTS[:2],
                replace(CUTS[2], spread=CutSpread(cut=0.01, shared_cut="t1")),
                replace(CUTS[3], spread=CutSpread(cut=0.02, shared_cut="t1")),
            ),
        ),
        "cuts/3",
        "the cut 't1' has a spread of 0.02, and elsewhere 0.01",
    ),
    "heat out of order": (replace(GOOD, heats=(Heat(35, 0.1, 0.2, 0.3),)), "heats/0", "not in order"),
    "heat with a negative spread": (
        replace(GOOD, heats=(Heat(35, 0.2, 0.1, 0.3, -1.0),)),
        "heats/0",
        "negative",
    ),
    "no number": (replace(GOOD, heats=(Heat(35, float("nan"), 0.1, 0.3),)), "heats/0", "no number"),
    "too many heats": (replace(GOOD, heats=(Heat(50, 0.0, 0.0, 0.0),) * 9), "heats", "9 heat treatments"),
    "dim twice": (replace(GOOD, finished=(*GOOD.finished, HEAD)), "finished/2", "'head' is there twice"),
    "dim to itself": (
        replace(GOOD, finished=(*GOOD.finished, Finished("x", "left", "left", 0.0, 0.0, 0.0))),
        "finished/2",
        "to itself",
    ),
    "dim off the part": (
        replace(GOOD, finished=(*GOOD.finished, Finished("x", "left", "far", 0.0, 0.0, 0.0))),
        "finished/2",
        "no surface 'far'",
    ),
    "axis of the reference": (
        replace(GOOD, finished=(*GOOD.finished, Finished("x", None, "left", 1.0, 0.0, 0.0)), cuts=CUTS[:3]),
        "finished/2",
        "the first reference itself",
    ),
    "surface twice": (
        replace(GOOD, surfaces=(*SURFACES, SURFACES[1])),
        "surfaces/3",
        "'step' is there twice",
    ),
    "no name": (replace(GOOD, surfaces=(*SURFACES, Surface("", 1))), "surfaces/3", "has no name"),
    "confidence": (replace(GOOD, confidence=95.0), "confidence", "is 95"),
    "shown": (replace(GOOD, shown_times=0.0), "shown_times", "is 0"),
}


@pytest.mark.parametrize(("plan", "field", "said"), CASES.values(), ids=CASES)
def test_each_problem_is_named(plan: Plan, field: str, said: str) -> None:
    """Each kind of mistake is told at its place, with the chain it is about, and a remedy."""
    found = [problem for problem in problems(plan) if problem.field == field and said in problem.what]
    assert len(found) == 1, [str(problem) for problem in problems(plan)]
    assert found[0].remedy


def test_two_seats() -> None:
    """A setup that is located from two surfaces that it did not cut is named with both chains."""
    cuts = (*CUTS[:2], Cut("left", "right", 30, "second", least=0.3), Cut("step", "right", 40, "third"))
    both = with_cuts(*cuts, Cut("right", "left", 41, "third", least=0.1))
    problem = only(both)
    assert problem.field == "cuts/4"
    assert "setup 'third' is seated on two surfaces: step (op 40) <- right (op 20)" in problem.what
    assert "right (op 41) <- left (op 30)" in problem.what


def test_nothing_joins_two_references() -> None:
    """A dim between two chains with a reference each is named besides the second reference."""
    cuts = (CUTS[0], replace(CUTS[1], datum=None), CUTS[2])
    apart = problems(with_cuts(*cuts))
    assert [problem.field for problem in apart] == ["cuts/1", "finished/0"]
    assert "nothing joins 'left' and 'right': left (op 10), and right (op 20)" in apart[1].what


def test_every_mistake_at_once() -> None:
    """Five mistakes of five kinds are told together."""
    wrong = replace(
        with_cuts(
            CUTS[0],
            replace(CUTS[1], datum="step"),
            CUTS[2],
            replace(CUTS[3], least=-1.0),
        ),
        surfaces=(*SURFACES, Surface("far", 1), Surface("near", 0)),
        finished=(*GOOD.finished, Finished("x", "left", "nowhere", 0.0, 0.0, 0.0)),
        heats=(Heat(20, 1.0, 0.0, 0.0),),
    )
    fields = {problem.field for problem in problems(wrong)}
    assert fields >= {"cuts/1", "cuts/3", "surfaces/3", "surfaces/4", "finished/2", "heats/0"}


def test_a_plan_with_nothing_in_it() -> None:
    """An empty plan is told what it lacks."""
    assert {problem.field for problem in problems(Plan("", (), (), ()))} == {"cuts", "finished"}


@pytest.mark.parametrize("ask", [chart, limits, lambda plan: means(plan, [0.0] * 4)])
def test_a_wrong_plan_is_not_charted(ask: object) -> None:
    """Asking anything of a wrong plan raises all its problems."""
    with pytest.raises(BuildError) as caught:
        ask(changed(2, datum="stepp"))  # type: ignore[operator]
    assert caught.value.problems[0].field == "cuts/2"
