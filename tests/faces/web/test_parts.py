"""Parts: the list with its filters, a part with what it carries, concession, and bought parts."""

import csv
import io
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window, serving
from loopwright.book import open_book
from loopwright.model.records import Concession, State
from loopwright.studies.bench_sheet import sheet
from loopwright.web.views.bench_words import chance_words, stated
from loopwright.web.views.parts import PAGE, address, listing, table_of
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
AXE = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag22aa"]}}


@pytest.fixture(scope="module")
def shop(demo_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of the invented history that all tests here write in."""
    with serving(
        Path(shutil.copy(demo_archive, tmp_path_factory.mktemp("shop") / "clock-plate.book"))
    ) as served:
        yield served


@pytest.fixture(scope="module")
def work(demo_archive: Path) -> Iterator[Work]:
    """The same without a server, for views alone."""
    held = Work(str(demo_archive))
    yield held
    held.close()


def test_filters_stand_in_the_address_so_that_it_can_be_shared(shop: Served, window: Windows) -> None:
    """By state, by bought, by words, and the order."""
    one = window()
    one.page.goto(f"{shop.address}/parts")
    one.page.get_by_role("navigation", name="By where they stand").get_by_role(
        "link", name="conceded"
    ).click()
    one.page.get_by_role("heading", name="1 of 38 parts").wait_for()
    assert one.page.url.endswith("/parts?state=conceded")
    other = window(390)
    other.page.goto(f"{shop.address}/parts?find=tool+steel&sort=share")
    other.page.get_by_role("heading", name="13 of 38 parts").wait_for()
    assert other.page.evaluate("document.documentElement.scrollWidth") <= 390
    one.is_clean()


def test_ticked_parts_go_on_the_bench_and_into_a_table(shop: Served, window: Windows) -> None:
    """One after the other; the table holds every dim of them."""
    one = window()
    one.page.goto(f"{shop.address}/parts")
    one.page.get_by_label("Tick pad_FL").check()
    one.page.get_by_label("Tick saddle").check()
    with one.page.expect_download() as download:
        one.page.get_by_role("button", name="Save as a table").click()
    text = Path(download.value.path()).read_text("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["part"] for row in rows} == {"pad_FL", "saddle"}
    assert len(rows) == 7
    one.page.get_by_role("button", name="Put on the bench").click()
    one.page.wait_for_selector("#bench-value:focus")
    assert one.page.locator(".bench-count span").first.inner_text() == "1 of 7"


def test_a_table_holds_numbers_and_no_formula(work: Work) -> None:
    """A part that is called like one is a text; limits are those of the drawing."""
    name, content = table_of(work, Reader(), {}, ["pad_FL"])
    row = next(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))
    assert name == "clock-plate-drilling-machine-parts.csv"
    assert (row["nominal"], row["lower limit"], row["upper limit"], row["unit"]) == (
        "12",
        "11.99",
        "12.01",
        "mm",
    )
    assert float(row["size by its readings"]) == pytest.approx(12.0036, abs=1e-4)


def test_a_large_list_is_shown_page_by_page(work: Work) -> None:
    """A page of the list never holds more than a screen can use."""
    assert PAGE < 60
    assert "Page 1 of" not in str(listing(work, Reader(), {}))
    assert address({"state": "conceded", "page": "3"}, sort="share") == "/parts?state=conceded&sort=share"


def test_a_part_says_what_it_carries_and_what_was_decided(shop: Served, window: Windows) -> None:
    """With every reading, its mates, where it is used; and nothing keeps anybody out."""
    one = window()
    one.page.goto(f"{shop.address}/parts/column")
    one.page.get_by_role("heading", name="foot_square").wait_for()
    text = one.page.inner_text("#content")
    for words in (
        "90 deg ±8 arcsec",
        "spindle square to table, front to back",
        "What was decided",
        "Z rail seats",
    ):
        assert words in text
    found = Axe().run(one.page, options=AXE)
    assert [v["id"] for v in found.response["violations"] if v["impact"] in ("serious", "critical")] == []
    one.is_clean()


def test_a_part_out_of_tolerance_is_decided_on(shop: Served, window: Windows) -> None:
    """Every way with its chance; terms and reason stay with the decision."""
    one = window()
    one.page.goto(f"{shop.address}/parts/Y_nut_spacer")
    one.page.get_by_role("heading", name="Ways to go on").wait_for()
    assert "use as it is" in one.page.inner_text(".ways-table")
    assert "make anew" in one.page.inner_text(".ways-table")
    one.page.get_by_label("Terms").fill("lay a foil behind it")
    one.page.get_by_label("Reason").fill("two hours against ten")
    found = Axe().run(one.page, options=AXE)
    assert [v["id"] for v in found.response["violations"] if v["impact"] in ("serious", "critical")] == []
    one.page.get_by_role("button", name="Enter the decision").click()
    one.page.get_by_text("decided.").wait_for()
    assert shop.book is not None
    with open_book(shop.book) as book:
        entry = book.entry(book.last_number)
    assert isinstance(entry.record, Concession)
    assert (entry.record.part, entry.record.decision) == ("Y_nut_spacer", "use as is")
    assert (entry.record.terms, entry.why) == ("lay a foil behind it", "two hours against ten")
    one.page.locator(".part-state", has_text="conceded").wait_for()
    one.is_clean()


def test_screws_are_chosen_and_put_in(shop: Served, window: Windows) -> None:
    """The best for two places against taking them as they come; putting them in begins a new state."""
    one = window()
    one.page.goto(f"{shop.address}/bought")
    assert "C2" in one.page.locator("tr", has_text="K3").inner_text()
    one.page.get_by_role("link", name="Choose which goes where").click()
    one.page.get_by_label("Z slide/drive").uncheck()
    one.page.get_by_role("button", name="Choose which goes where").click()
    one.page.get_by_role("heading", name="The best choice").wait_for()
    text = one.page.inner_text(".bought-best")
    assert "taken as they come" in text
    assert "All 72 ways" in text
    found = Axe().run(one.page, options=AXE)
    assert [v["id"] for v in found.response["violations"] if v["impact"] in ("serious", "critical")] == []
    one.page.get_by_role("button", name="They are in place").click()
    one.page.get_by_text("put in place").wait_for()
    assert shop.book is not None
    with open_book(shop.book) as book:
        record = book.newest_state().record
    assert isinstance(record, State)
    assert {change.of for change in record.changes} == {"Y slide/drive", "X slide/drive"}
    one.is_clean()


@pytest.mark.parametrize(
    "path",
    ["/parts/nothing", "/bought/nothing", "/bench?of=nothing", "/bench?again=9999", "/bench?part=nothing"],
)
def test_what_is_not_there_is_said_so(shop: Served, window: Windows, path: str) -> None:
    """With a remedy, and the page still stands."""
    one = window()
    one.page.goto(shop.address + path)
    one.page.locator("#content .refusal").wait_for()
    one.is_clean()


@pytest.mark.parametrize(
    ("dim", "units", "words"),
    [
        ("column/Z_seat_left", "", "85 ±0.02 mm"),
        ("column/foot_square", "", "90 deg ±8 arcsec"),
        ("head_key/width", "", "12 0/-0.011 mm"),
        ("column/Z_seat_left", "inch", "3.346457 ±0.000787 in"),
    ],
)
def test_a_drawing_is_said_as_a_drawing_has_it(work: Work, dim: str, units: str, words: str) -> None:
    """Nominal and limits; 12 h6 is 0/-11 µm (ISO 286-2:2010, table of shaft deviations)."""
    found = sheet(work.bench, dim)
    assert found.nominal is not None
    assert (
        stated(work.shown(Reader(units=units)), found.nominal, found.limits, found.asked.dimension) == words
    )


def test_a_chance_that_was_counted_is_never_rounded_to_certainty() -> None:
    """99.89 % is not 100 %."""
    assert (chance_words(0.9989), chance_words(1.0), chance_words(0.5)) == (
        "over 99 %",
        "over 99.9 %",
        "50 %",
    )
