"""The front page and the page of a target: what they say is what the studies say, and it leads on."""

from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window
from early_books import early
from loopwright.book import create, open_book
from loopwright.buildfile import examples
from loopwright.model.records import Revision
from loopwright.sheets.shown import percent
from loopwright.studies.as_built import Action
from loopwright.studies.driving import thorough_now
from loopwright.web.pages.standing import design_of, is_designed, keep_design, keep_shapes
from loopwright.web.views.standing import action_way, front
from loopwright.web.views.target import target
from loopwright.web.views.target_designed import designed
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
READER = Reader("Ada")
HOLE, TRAM = "hole position", "spindle square to table, front to back"


class Silent:
    """Nobody waits, nobody listens."""

    def progress(self, done: int, wanted: int | None) -> None:
        """Says nothing."""

    def cancelled(self) -> bool:
        """Goes on."""
        return False


@pytest.fixture(scope="module")
def done(demo_archive: Path) -> Work:
    """The book of the invented history, to be looked at."""
    return Work(str(demo_archive))


def begun(demo_archive: Path, tmp_path: Path, entries: int) -> Work:
    """The same book as it was after so many entries."""
    return Work(str(early(demo_archive, entries, tmp_path / "early.book")))


def test_every_target_stands_there_as_designed_and_as_built(done: Work) -> None:
    """Sizes, chances and verdicts are those of the study, each target with a way to its page."""
    found, shown, markup = done.front, done.shown(READER), front(done, READER)
    for t in found.targets:
        assert shown.error(t.designed, t.dimension) in markup
        assert f"<b>{shown.error(t.expected, t.dimension)}</b>" in markup
        assert percent(t.adjusted_chance, t.chance_std) in markup
        assert t.verdict in markup
    assert percent(found.chance_of_all[0], 0.001)[:4] in markup
    assert 'href="/targets/hole%20position"' in markup
    for count in found.counts.values():
        assert f"<b>{count}</b>" in markup


def test_a_reader_who_thinks_in_thou_sees_thou(done: Work) -> None:
    """The build is metric; the reader's units rule."""
    markup = front(done, Reader("Ada", units="inch"))
    assert "0.28 thou" in markup
    assert "7.1 µm" not in markup


@pytest.mark.parametrize(
    ("entries", "way"),
    [
        (2, "/bench?of=spindle%20tram%20front%20to%20back"),
        (11, "/bench?again=11"),
        (25, "/parts/column"),
        (45, "/fit-up/"),
    ],
)
def test_each_action_has_one_button_that_leads_to_it(
    demo_archive: Path, tmp_path: Path, entries: int, way: str
) -> None:
    """Read, look again, decide, set: at four moments of the invented history."""
    work = begun(demo_archive, tmp_path, entries)
    markup = front(work, READER)
    assert f'href="{way}' in markup
    assert markup.count('class="card"') == len(work.front.actions) >= 1


def test_a_calibration_leads_to_its_gauge() -> None:
    """Names are written as an address takes them."""
    action = Action("calibrate the level", "calibrate", "", None, "", "level 0.02 mm/m")
    assert action_way(action)[1] == "/gauges/level%200.02%20mm%2Fm"


def test_a_book_without_readings_says_that_it_stands_as_designed(demo_archive: Path, tmp_path: Path) -> None:
    """And what to read first."""
    markup = front(begun(demo_archive, tmp_path, 2), READER)
    assert say("standing.nothing_read") in markup
    assert say("standing.moved_none") in markup


def test_a_reading_that_surprises_asks_for_a_second_look(demo_archive: Path, tmp_path: Path) -> None:
    """It stands above everything else that is to be done."""
    markup = front(begun(demo_archive, tmp_path, 11), READER)
    assert say("standing.surprise", entry=11, name="pad_RL/height") in markup
    assert markup.index(say("standing.surprises")) < markup.index('class="cards"')


def test_a_description_with_mistakes_shows_them_with_their_lines(demo_book: Path) -> None:
    """The page does not go blank, and nothing is worked out of what cannot be."""
    with open_book(demo_book) as book:
        found = book.newest_revision().record
        assert isinstance(found, Revision)
        wrong = found.text.replace("    mass: 21 kg ±1 kg", "    mass: 21 dgg")
        line = 1 + wrong[: wrong.index("dgg")].count("\n")
        book.append(Revision(text=wrong, file=found.file), who="Ada")
    markup = front(Work(str(demo_book)), READER)
    assert say("standing.mistakes_count_one") in markup
    assert f"line {line}" in markup
    assert "dgg" in markup


def test_a_build_without_a_target_says_what_a_target_is(tmp_path: Path) -> None:
    """Where there is nothing to show yet, the page says what will be here."""
    text = examples.text("clock-plate")
    start, end = text.index("\ntargets:"), text.index("\ngauges:")
    create(tmp_path / "drill.book", text[:start] + text[end:], build_name="Drill", who="Ada").close()
    assert say("standing.no_targets") in front(Work(str(tmp_path / "drill.book")), READER)


def test_the_page_of_a_target_shows_the_quick_part_before_the_design_is_worked_out(done: Work) -> None:
    """What the design alone says comes later and stays until the description changes."""
    done.lasting.clear()
    first = target(done, READER, HOLE)
    assert say("target.spread_built") in first
    assert f"<h3>{say('target.spread_designed')}</h3>" not in first
    assert designed(done, READER, HOLE, True) == ""
    assert say("target.again") in designed(done, READER, HOLE, False)
    keep_design(done, READER, HOLE, *design_of(done, READER, HOLE, telling=Silent()))  # type: ignore[arg-type]
    assert is_designed(done, READER, HOLE)
    assert f"<h3>{say('target.spread_designed')}</h3>" in target(done, READER, HOLE)
    assert say("target.lower") in designed(done, READER, HOLE, False)


def test_a_thorough_draw_takes_the_place_of_the_quick_one(demo_archive: Path, tmp_path: Path) -> None:
    """Both chances stand beside each other."""
    work = begun(demo_archive, tmp_path, 2)
    found = thorough_now(work.bench, TRAM, trials=2048)
    keep_shapes(work, READER, TRAM, work.bench.last, found)
    markup = target(work, READER, TRAM)
    assert say("target.spread_shaped") in markup
    assert percent(found.shaped.chance, found.shaped.chance_std) in markup


def test_the_page_of_a_target_fits_and_keeps_nobody_out(shown: Served, window: Windows) -> None:
    """At every width, light and dark, by the rules of axe-core; one press goes over to the picture of the design."""
    one = window(390)
    one.page.goto(f"{shown.address}/targets/hole%20position")
    one.page.get_by_role("heading", name=say("target.lower")).wait_for()
    one.page.get_by_label(say("target.volume_designed"), exact=True).check()
    assert one.page.locator(".planes.designed").is_visible()
    assert not one.page.locator(".planes.built").is_visible()
    for width in (390, 820, 1440):
        one.page.set_viewport_size({"width": width, "height": 900})
        assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    for scheme in ("light", "dark"):
        one.page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        found = Axe().run(one.page).response["violations"]
        assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    one.is_clean()


def test_the_front_page_follows_what_another_program_enters(demo: Served, window: Windows) -> None:
    """Nobody presses anything."""
    one = window()
    one.page.goto(demo.address)
    one.page.get_by_text("Entry 79: Y square to X").wait_for()
    with open_book(demo.book) as book:
        last = book.entry(79)
        book.append(last.record, who="Mai")
    one.page.get_by_text("Entry 80: Y square to X read by Mai").wait_for()
    one.is_clean()


def test_from_the_front_page_to_a_target_and_on_to_what_if(shown: Served, window: Windows) -> None:
    """By links alone, in the same frame."""
    one = window()
    one.page.goto(shown.address)
    one.page.evaluate("window.stays = true")
    one.page.get_by_role("link", name=HOLE).first.click()
    one.page.get_by_role("heading", name=HOLE, exact=True).wait_for()
    one.page.get_by_role("link", name=say("target.try_name", path="heat/room")).first.click()
    one.page.get_by_label("heat/room", exact=True).wait_for()
    assert one.page.evaluate("window.stays") is True
    one.is_clean()
