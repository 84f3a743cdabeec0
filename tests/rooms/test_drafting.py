"""A first description from a few answers can always be read back, and stands somewhere."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.errors import BuildError
from loopwright.studies import check_text, load_text, standing
from loopwright.studies.drafting import (
    BEARINGS,
    DRIVINGS,
    LETTERS,
    MAKINGS,
    NORMALS,
    TOOL,
    WORK,
    Plan,
    Slide,
    draft,
)

DRILL = Plan(
    "Small drill",
    (
        Slide("Y", WORK, 220, 260, 200, (0, 0, -90)),
        Slide("X", WORK, 320, 200, 240, (0, 0, -50)),
        Slide("Z", TOOL, 120, 120, 150, (0, 150, 80), faces="front"),
    ),
    0.05,
)
LENGTHS = st.floats(20, 2000)
PLACES = st.floats(-800, 800)


@st.composite
def slides(draw: st.DrawFn, letter: str) -> Slide:
    """Any slide of an axis."""
    across_it = [n for n, way in NORMALS.items() if not way["XYZ".index(letter)]]
    return Slide(
        letter,
        draw(st.sampled_from((WORK, TOOL))),
        draw(LENGTHS),
        draw(LENGTHS),
        draw(LENGTHS),
        (draw(PLACES), draw(PLACES), draw(PLACES)),
        draw(st.sampled_from(across_it)),
        draw(st.sampled_from(list(BEARINGS))),
        draw(st.sampled_from(list(DRIVINGS))),
        draw(st.sampled_from(list(MAKINGS))),
        draw(st.floats(0, 500)),
    )


@st.composite
def plans(draw: st.DrawFn) -> Plan:
    """Any machine of one to three axes."""
    letters = draw(st.lists(st.sampled_from(LETTERS), min_size=1, max_size=3, unique=True))
    name = draw(st.text(min_size=1, max_size=40).filter(lambda t: t.strip() and t.isprintable()))
    return Plan(
        name,
        tuple(draw(slides(letter)) for letter in letters),
        draw(st.floats(0.001, 1)),
        inches=draw(st.booleans()),
    )


@given(plans())
@settings(max_examples=25)
def test_whatever_is_answered_the_description_has_no_mistake(plan: Plan) -> None:
    """Every joint is held, every name is known, and the name of the machine comes back as it was given."""
    text = draft(plan)
    checked = check_text(text)
    assert checked.problems == ()
    assert checked.build == plan.name.strip()
    assert {"parts", "tests", "targets"} <= {name for name, count in checked.counts.items() if count}


def test_it_stands_somewhere_and_every_axis_has_its_tests() -> None:
    """The error at the tool is known to be that large before anything is measured."""
    loop = load_text(draft(DRILL))
    found = standing(loop, trials=2000)
    assert 0 < found.targets[0].expected < 1
    names = set(loop.build.tests)
    assert {"X straight in Y", "X straight in Z", "Z positioning", "X square to Y"} <= names
    assert len(names) == 3 * 3 + 3


def test_inches_and_millimetres_describe_the_same_machine() -> None:
    """To the digits that are written."""
    metric, inch = (
        standing(load_text(draft(Plan(DRILL.name, DRILL.slides, DRILL.limit, inches=inches))), trials=2000)
        for inches in (False, True)
    )
    assert inch.units.length == "in"
    assert np.isclose(metric.targets[0].expected, inch.targets[0].expected, rtol=0.02)


def test_what_carries_the_work_goes_the_other_way() -> None:
    """X counts the way of the tool over the work, ISO 841: a table under a fixed tool moves to -X as X grows."""
    joints = load_text(draft(DRILL)).build.joints
    assert joints["X slide"].along[0] == -1  # type: ignore[union-attr]
    assert joints["Z slide"].along[2] == 1  # type: ignore[union-attr]
    assert (joints["Y slide"].parent, joints["X slide"].parent) == ("base", "Y saddle")


def test_everything_that_is_wrong_is_told_at_once() -> None:
    """With the field and what would do."""
    bad = Slide("X", "neither", -1, 0, 100, (0, 0, 0), faces="left", bearing="magic", mass=-1)
    with pytest.raises(BuildError) as found:
        draft(Plan(" ", (bad, Slide("X", WORK, 1, 1, 1, (0, 0, 0))), 0))
    fields = {problem.field for problem in found.value.problems}
    assert fields == {
        "name",
        "limit",
        "slides",
        "slides/1/travel",
        "slides/1/across",
        "slides/1/moves",
        "slides/1/bearing",
        "slides/1/mass",
    }


def test_rails_that_look_along_the_axis_are_refused() -> None:
    """They could not lead it."""
    with pytest.raises(BuildError, match="rails that look right cannot guide X"):
        draft(Plan("One", (Slide("X", WORK, 100, 100, 100, (0, 0, 0), faces="right"),), 0.1))


@pytest.mark.parametrize(
    "name", ["yes", "3", "a: b", "it's", "# no", "ü", "[x]", "- a", "*a", "&a", "!x", "%"]
)
def test_any_name_stays_as_it_is(name: str) -> None:
    """Whatever YAML would make of it."""
    assert check_text(draft(Plan(name, DRILL.slides, 0.05))).build == name
