"""The book in the browser: looked through, its entries, states compared, taken home."""

import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window
from loopwright.book import import_archive, open_book, verify
from loopwright.model.records import Reading, State
from loopwright.web import downloads
from loopwright.web.views import book as views
from loopwright.web.views import book_entry
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
PAGES = ("/book/47", "/book/42", "/book/states", "/book/revisions", "/book/keeping", "/book/1")
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture
def work(demo_book: Path) -> Work:
    """The shipped history as the bench process has it."""
    return Work(str(demo_book))


@pytest.mark.parametrize(
    ("path", "width", "dark"), list(zip(PAGES, (390, 1440, 1440, 390, 820, 390), (0, 1, 0, 1, 0, 1)))
)
def test_every_page_of_it_opens_fits_and_keeps_nobody_out(
    shown: Served, window: Windows, path: str, width: int, dark: int
) -> None:
    """At the three widths, light and dark; with what is worked out slowly, once it is there."""
    one = window(width, dark=bool(dark))
    one.page.goto(shown.address + path)
    one.page.wait_for_selector("#content h1")
    if path == "/book/states":
        one.page.get_by_role("heading", name="Two states side by side").wait_for()
    if path in ("/book/47", "/book/42"):
        one.page.locator(".effect").first.wait_for()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(one.page, options={"runOnly": {"type": "tag", "values": WCAG}}).response["violations"]
    assert [
        (v["id"], v["nodes"][0]["html"][:150]) for v in found if v["impact"] in ("serious", "critical")
    ] == []
    one.is_clean()


def test_the_history_is_looked_through_and_turned(shown: Served, window: Windows) -> None:
    """What is asked for stands in the address, so that it can be kept and sent."""
    one = window()
    page = one.page
    page.goto(f"{shown.address}/book")
    page.get_by_role("link", name="Older").click()
    page.get_by_role("link", name="29", exact=True).wait_for()
    page.get_by_label("Words").fill("foil")
    page.get_by_label("Kind", exact=True).select_option("state")
    page.get_by_role("button", name="Show these").click()
    page.get_by_text("1 of 79 entries").wait_for()
    assert "words=foil" in page.url
    page.get_by_role("link", name="47", exact=True).click()
    page.get_by_role("heading", name="Entry 47").wait_for()
    page.go_back()
    page.get_by_text("1 of 79 entries").wait_for()
    one.is_clean()


def test_two_states_are_compared(shown: Served, window: Windows) -> None:
    """What did the shims bring: state 2 beside state 3."""
    one = window()
    page = one.page
    page.goto(f"{shown.address}/book/states")
    page.get_by_label("From state").select_option("2")
    page.get_by_label("to state").select_option("3")
    page.get_by_role("button", name="Compare").click()
    page.get_by_text("What lies between the end of state 2 and the end of state 3").wait_for()
    told = page.locator("#pick").inner_text()
    assert "column on base/front left set to 10.0 µm" in told
    assert "14.6 arcsec → 4.4 arcsec" in told
    one.is_clean()


def test_an_entry_is_withdrawn_with_its_reason(demo: Served, window: Windows) -> None:
    """Without one it is refused; then it no longer counts, here and in the book."""
    one = window()
    page = one.page
    page.goto(f"{demo.address}/book/79")
    page.get_by_role("button", name="Withdraw entry 79").click()
    page.get_by_text("No reason was given").wait_for()
    page.get_by_role("button", name="Close").click()
    page.get_by_label("Why it is withdrawn").fill("square stood on a chip")
    page.get_by_role("button", name="Withdraw entry 79").click()
    page.locator(".notice", has_text="Entry 79 is withdrawn").wait_for()
    page.locator(".chip", has_text="no longer counts").wait_for()
    assert demo.book is not None
    with open_book(demo.book) as book:
        assert book.entries("withdrawal")[-1].supersedes == 79
        assert 79 not in [entry.number for entry in book.standing()]
    one.is_clean()


def test_the_book_is_taken_home_and_looked_through(demo: Served, window: Windows, tmp_path: Path) -> None:
    """The copy opens as a book, the archive makes an equal one; names are ours; nothing stays behind."""
    one = window()
    page = one.page
    page.goto(f"{demo.address}/book/keeping")
    got: list[Path] = []
    for words in ("Download a copy", "Download the archive"):
        with page.expect_download() as taken:
            page.get_by_role("link", name=words).click()
        got.append(tmp_path / taken.value.suggested_filename)
        taken.value.save_as(got[-1])
    copy, archive = got
    assert copy.name.startswith("clock-plate-drilling-machine-")
    assert (copy.suffix, archive.suffix) == (".book", ".txt")
    assert verify(copy).sound
    assert demo.book is not None
    with open_book(demo.book) as book, import_archive(archive, tmp_path / "again.book") as again:
        assert again.entries() == book.entries()
    page.get_by_role("button", name="Look it through").click()
    page.get_by_text("Sound: 79 entries were read").wait_for()
    assert not list(Path(tempfile.gettempdir()).glob(f"{downloads.PREFIX}*"))
    one.is_clean()


def test_a_state_is_corrected_in_the_unit_beside_the_field(work: Work) -> None:
    """12 beside µm is 0.012 mm; the state keeps its number and the machine its newest."""
    typed = {"set/column on base/front left": "12", "reason": "measured the foil"}
    made = book_entry.correct(work, Reader("Ada"), 47, typed, "k", None)
    entry = work.book.entry(made.number)
    assert isinstance(entry.record, State)
    assert (entry.supersedes, entry.of, entry.why) == (47, 3, "measured the foil")
    assert [c.value for c in entry.record.changes] == [0.012, 0.01]
    assert work.bench.state == 4
    assert "no longer counts" in str(book_entry.one_entry(work, Reader(), 47))


def test_every_kind_of_entry_is_told(work: Work) -> None:
    """Each has a page and a line of its own; nothing of a reading is left out."""
    with_all = [entry.number for entry in work.book.entries()]
    for number in with_all:
        assert f"Entry {number}" in str(book_entry.one_entry(work, Reader(), number))
    entry = work.book.entry(42)
    assert isinstance(entry.record, Reading)
    told = str(book_entry.one_entry(work, Reader(), 42))
    for contribution in entry.record.evaluated.contributions:
        assert contribution.name in told
    assert told.count("<tr>") > len(entry.record.raw)


def test_who_may_only_look_is_offered_nothing_to_change(work: Work) -> None:
    """No form at all."""
    assert str(book_entry.mending(work, Reader("Eve", "read"), 47)) == ""


def test_what_stands_in_an_address_is_trusted_in_nothing(work: Work) -> None:
    """Whatever is asked for, it is text."""
    asked = {"words": "<script>alert(1)</script>", "state": "7; drop", "before": "-3", "kind": "%"}
    told = str(views.history(work, Reader(), asked))
    assert "<script>" not in told
    assert views.path_of(asked, before=20).startswith("/book?words=%3Cscript")


def test_a_difference_says_by_sign_what_came_and_went(work: Work) -> None:
    """Not by colour alone."""
    from loopwright.model.records import Revision

    drawn = str(views.difference_of(Revision(text="", difference="line 2\n- b: 2\n+ b: 3"), first=False))
    assert ">− b: 2</span>" in drawn
    assert ">+ b: 3</span>" in drawn
    assert "2 lines of difference" in drawn
