"""What if: other values of the description, what they bring, and the way to take them in."""

from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window
from loopwright.book import open_book
from loopwright.errors import BuildError, RequestError
from loopwright.model.records import Revision
from loopwright.sheets.shown import percent
from loopwright.studies.statements import described
from loopwright.web.pages.what_if import brought_by, differing, keep, paths_at, proposed, save
from loopwright.web.views import what_if as views
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
READER = Reader("Ada")
LEAN, LIMIT = "parts/column/dims/foot_lean", "targets/hole position/limit"
CHANGE = {LIMIT: "11 µm"}


class Silent:
    """Nobody waits, nobody listens."""

    def progress(self, done: int, wanted: int | None) -> None:
        """Says nothing."""

    def cancelled(self) -> bool:
        """Goes on."""
        return False


@pytest.fixture(scope="module")
def work(demo_archive: Path) -> Work:
    """The book of the invented history, to be looked at."""
    return Work(str(demo_archive))


def test_values_are_found_by_words_and_shown_as_typed(work: Work) -> None:
    """At most a screenful of them; without words, those that carry most."""
    found = views.choosing(work, READER, "column foot_lean arcsec", [])
    assert plural("what_if.found", 1) in found
    assert "<code>90 deg ±8 arcsec</code>" in found
    many = views.choosing(work, READER, "slide", [])
    assert many.count('data-act="pick"') == views.MOST
    assert say("what_if.found_none") in views.choosing(work, READER, "no such words", [])
    assert views.choosing(work, READER, "", []).count('data-act="pick"') == views.SUGGESTED


def test_a_path_that_holds_several_values_brings_all_of_them(work: Work) -> None:
    """As a profile that is stated by three numbers."""
    assert len(paths_at(work, READER, "joints/X slide/drive/lead_error")) == 3
    with pytest.raises(RequestError):
        paths_at(work, READER, "column/no_such_dim")


def test_what_is_typed_as_it_stands_is_no_change(work: Work) -> None:
    """Only what differs counts."""
    assert differing(work, READER, {LEAN: "90 deg ±8 arcsec", **CHANGE}) == CHANGE
    with pytest.raises(RequestError, match="stands"):
        differing(work, READER, {LEAN: "90 deg ±8 arcsec"})


def test_what_a_change_brings_stands_beside_what_is(work: Work) -> None:
    """A narrower limit leaves the error and lowers the chance."""
    assert views.brings(work, READER, CHANGE, True) == ""
    assert say("what_if.see") in views.brings(work, READER, CHANGE, False)
    keep(work, READER, *brought_by(work, READER, CHANGE, telling=Silent()))  # type: ignore[arg-type]
    found = work.lasting[views.tried_key(work, CHANGE)]
    was, now = found.before.targets[0], found.after.targets[0]
    assert now.expected == pytest.approx(was.expected)
    assert now.chance < was.chance
    markup = views.brings(work, READER, CHANGE, False)
    assert percent(now.chance, now.chance_std) in markup
    assert "11 µm" in markup


def test_a_change_that_cannot_be_read_is_told_with_its_line(work: Work) -> None:
    """Before anything is worked out."""
    with pytest.raises(BuildError) as error:
        brought_by(work, READER, {LIMIT: "11 pints"}, telling=Silent())  # type: ignore[arg-type]
    assert error.value.problems[0].line is not None


def test_a_description_that_somebody_else_changed_is_not_saved_over(demo_book: Path) -> None:
    """The lines are to be looked at once more; saved twice with one key it is entered once."""
    work = Work(str(demo_book))
    upon = described(work.bench)[0]
    number = save(work, READER, CHANGE, "tighter", "a key", upon)
    assert work.book.entry(number).why == "tighter"
    with pytest.raises(RequestError, match="someone else"):
        save(work, READER, {LEAN: "90 deg ±2 arcsec"}, "", "another key", upon)
    offered = proposed(work, READER, {LEAN: "90 deg ±2 arcsec"})
    assert offered.upon == number


def test_a_value_is_tried_and_taken_in(demo: Served, window: Windows) -> None:
    """Found by words, typed, tried, shown line by line, saved with a reason; then the front page has it."""
    one = window()
    one.page.goto(f"{demo.address}/what-if")
    one.page.get_by_label(say("what_if.find"), exact=True).fill("hole limit")
    one.page.get_by_role("button", name=say("what_if.find_do"), exact=True).click()
    one.page.get_by_role("button", name=say("what_if.pick_name", path=LIMIT)).click()
    one.page.get_by_label(LIMIT, exact=True).fill("11 µm")
    one.page.get_by_role("button", name=say("what_if.see")).click()
    one.page.get_by_role("heading", name=say("what_if.brings")).wait_for()
    one.page.get_by_role("button", name=say("what_if.take")).click()
    one.page.locator(".lines .come", has_text="limit: 11 µm").wait_for()
    found = Axe().run(one.page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    one.page.get_by_label(say("what_if.why")).fill("the plates got finer")
    one.page.get_by_role("button", name=say("what_if.save")).click()
    one.page.get_by_text(say("what_if.saved", number=80)).wait_for()
    with open_book(demo.book) as book:
        entry = book.newest_revision()
        assert isinstance(entry.record, Revision)
        assert (entry.number, entry.why, entry.who) == (80, "the plates got finer", "Ada")
        assert "limit: 11 µm" in entry.record.text
    one.page.get_by_role("link", name=say("standing.title")).first.click()
    one.page.get_by_text("of 11 µm").first.wait_for()
    one.is_clean()
