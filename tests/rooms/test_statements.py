"""What a description says, value by value, and what it would say with some of them changed."""

import pytest

from loopwright.buildfile import examples
from loopwright.buildfile.editing import set_value
from loopwright.errors import BuildError, RequestError
from loopwright.model.records import Entry, Record, Revision, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.statements import found_among, proposal, statements, statements_at

LEAN = "parts/column/dims/foot_lean"


def entry(number: int, record: Record) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=1, record=record)


@pytest.fixture(scope="module")
def start() -> Bench:
    """The clock-plate machine before any reading."""
    described = Revision(text=examples.text("clock-plate"), file="clock-plate.yaml")
    return bench([entry(1, described), entry(2, State(reason="as assembled", cause="start"))])


def test_every_value_stands_on_its_line_as_it_was_typed(start: Bench) -> None:
    """What is shown is what the file says, to the letter."""
    lines = examples.text("clock-plate").splitlines()
    every = statements(start)
    assert len(every) > 500
    for one in every:
        assert one.line is not None
        assert one.typed.split(" ")[0] in " ".join(lines[one.line - 1 : one.line + 1]), one


def test_writing_what_stands_there_changes_nothing(start: Bench) -> None:
    """Paths and values are those that the file is edited by; every 70th of them is tried."""
    text = examples.text("clock-plate")
    for one in statements(start)[3::70]:
        if not one.typed.startswith("*"):
            assert set_value(text, one.path, one.typed) == text, one.path


def test_a_value_is_found_by_words_of_its_path_and_of_itself(start: Bench) -> None:
    """All of the words must be there, in any order."""
    assert [one.path for one in found_among(statements(start), "LEAN column arcsec")] == [LEAN]
    assert found_among(statements(start), "no such words") == ()


def test_a_dim_goes_by_its_short_name_and_a_group_by_all_that_is_in_it(start: Bench) -> None:
    """A field that the format knows and the file leaves out can be stated."""
    assert statements_at(start, "column/foot_lean")[0].path == LEAN
    inside = statements_at(start, "joints/X slide/drive/lead_error")
    assert {one.path.rpartition("/")[2] for one in inside} == {"travel", "bandwidth", "revolution"}
    (fresh,) = statements_at(start, "parts/column/bought")
    assert (fresh.typed, fresh.line) == ("", None)
    with pytest.raises(RequestError, match="no 'foot_leen'"):
        statements_at(start, "column/foot_leen")


def test_a_proposal_shows_the_lines_that_change_and_keeps_all_others(start: Bench) -> None:
    """The comment behind the value stays."""
    found = proposal(start, {LEAN: "90 deg ±2 arcsec"})
    gone = set(examples.text("clock-plate").splitlines()) - set(found.text.splitlines())
    come = set(found.text.splitlines()) - set(examples.text("clock-plate").splitlines())
    assert [line.count("±8 arcsec") for line in gone] == [1]
    assert [line.split("#")[1] for line in gone] == [line.split("#")[1] for line in come]
    assert all(f"+ {line}" in found.difference for line in come)
    assert (found.upon, found.file) == (1, "clock-plate.yaml")


def test_a_proposal_that_changes_nothing_or_cannot_be_used_is_told(start: Bench) -> None:
    """Every mistake comes with its line, before anybody saves it."""
    with pytest.raises(RequestError, match="nothing is changed"):
        proposal(start, {LEAN: "90 deg ±8 arcsec"})
    with pytest.raises(BuildError) as error:
        proposal(start, {LEAN: "90 dgg"})
    assert error.value.problems[0].field == LEAN
