"""loopwright history --replay: entry by entry, what each one brought."""

import json

import pytest
from click.testing import CliRunner

from loopwright.book import create
from loopwright.buildfile import examples
from loopwright.cli import group
from loopwright.errors import RequestError


def say(*words: str) -> str:
    """Output of a command that must succeed."""
    done = CliRunner().invoke(group, list(words))
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A book with a reading, its correction, a setting and a count of foil."""
    path = str(tmp_path_factory.mktemp("replay") / "m.book")
    create(path, examples.text("clock-plate"), build_name="Clock-plate", who="Ada").close()
    tram = ("record", "spindle tram front to back", "--unit", "arcsec", "-b", path, "--who", "Ada")
    say(*tram, "12")
    say(*tram, "11", "--instead-of", "3")
    say("book", "stock", "shim foil", "0.05", "--count", "4", "-b", path, "--who", "Ada")
    say("fitup", "set", "column on base/rear left=0.01", "--why", "nose low", "-b", path, "--who", "Ada")
    return path


def test_each_entry_is_shown_with_what_it_brought(book: str) -> None:
    """A reading narrows what is not known; a correction and a setting move what is expected; a count moves nothing."""
    found = {
        e["entry"]: e["targets"]
        for e in json.loads(say("history", "--replay", "--json", "-b", book))["entries"]
    }
    assert list(found) == [1, 2, 3, 4, 5, 6]
    assert found[1] == found[5] == []
    tram = [next(t for t in found[n] if "front to back" in t["target"]) for n in (3, 4, 6)]
    read, corrected, was_set = tram
    assert read["unknown"][1] < read["unknown"][0]
    assert corrected["expected"][0] == read["expected"][1]
    assert corrected["expected"][1] != corrected["expected"][0]
    assert was_set["expected"][0] == corrected["expected"][1]


def test_the_last_step_ends_where_the_machine_stands(book: str) -> None:
    """What the replay ends with is what the front page shows."""
    last = json.loads(say("history", "--replay", "--json", "--since", "5", "-b", book))["entries"][-1]
    page = json.loads(say("standing", "--json", "-b", book))
    expected = {t["target"]: t["expected"][1] for t in last["targets"]}
    for target in page["targets"]:
        name = target.get("target") or target["name"]
        now = target["as_built"]["expected"] if "as_built" in target else target["expected"]
        assert expected[name] == pytest.approx(now[-1] if isinstance(now, list) else now, rel=1e-6)


def test_it_is_shown_for_people(book: str) -> None:
    """Number, day, who and what of each entry, and the targets that moved."""
    words = say("history", "--replay", "--since", "2", "-b", book)
    for part in ("entry 3", "Ada", "spindle tram front to back", "at the tool", "entry 6"):
        assert part in words


def test_a_standing_of_the_past_is_what_the_replay_shows(book: str) -> None:
    """Standing --until shows every target as the replay left it at that entry, and says so."""
    entries = json.loads(say("history", "--replay", "--json", "-b", book))["entries"]
    for entry in (e for e in entries if e["targets"]):
        page = json.loads(say("standing", "--until", str(entry["entry"]), "--json", "-b", book))
        expected = {t["target"]: t["expected"][1] for t in entry["targets"]}
        for target in page["targets"]:
            assert target["as_built"]["expected"] == pytest.approx(expected[target["name"]], rel=1e-6)
        assert page["entries"] == entry["entry"]
    assert "as it stood with entry 3; the book has 6 entries now" in say(
        "standing", "--until", "3", "-b", book
    )
    assert json.loads(say("fitup", "plan", "--quick", "--until", "2", "--json", "-b", book))["steps"]


@pytest.mark.parametrize(
    ("words", "told"), [(("--until", "7"), "entries 1 to 6"), (("--until", "0"), "no entry 0")]
)
def test_an_entry_that_is_not_there_is_told(book: str, words: tuple[str, str], told: str) -> None:
    """An entry before the first or after the last is refused, and what there is is named."""
    with pytest.raises(RequestError) as refused:
        CliRunner().invoke(group, ["standing", *words, "-b", book], catch_exceptions=False)
    assert told in f"{refused.value.what} {refused.value.remedy}"
