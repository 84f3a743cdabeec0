"""The pages of a part's making: tolerance charts and their audit, stock to leave, cutting data, sheets."""

import time
from collections.abc import Callable, Iterator
from html import escape
from pathlib import Path
from urllib.parse import quote

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from browsers import Served, Window, serving
from loopwright.book import create
from loopwright.errors import RequestError
from loopwright.studies.chart_sheet import chart_sheet
from loopwright.studies.cutting_sheet import cutting_sheet
from loopwright.studies.stock_sheet import stock_sheet
from loopwright.web.pages.making import file_name
from loopwright.web.views import part_chart, part_cutting, part_sheets, part_stock
from loopwright.web.views.making import title
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling
from made_parts import BRACKET, GAUGES, PADS, RING, text
from pdf_text import Pdf

Windows = Callable[..., Window]
PAGES = ("route", "chart", "stock", "cutting", "sheets")
WIDTHS = (390, 820, 1440)
PLAIN = "\n  plain: {material: brass, dims: {height: 5 ±0.1}}\n  bearing: {bought: true}\n"
READER = Reader("Ada")
SOON, BUSY = 0.3, 4
"""Seconds that a page may take, and so many times slower a machine may be that runs other tests too."""


@pytest.fixture(scope="module")
def made_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of parts with routes."""
    path = tmp_path_factory.mktemp("made") / "made.book"
    create(path, text(RING, BRACKET, PADS, PLAIN, head=GAUGES), build_name="made parts", who="Ada").close()
    return path


@pytest.fixture(scope="module")
def made(made_book: Path) -> Iterator[Served]:
    """A server of it."""
    with serving(made_book) as served:
        yield served


@pytest.fixture(scope="module")
def work(made_book: Path) -> Iterator[Work]:
    """The book, open."""
    held = Work(str(made_book))
    yield held
    held.close()


def serious(one: Window) -> list[tuple[str, list[str]]]:
    """What keeps somebody out, by the rules of axe-core for WCAG 2.2 AA."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(one.page, options={"runOnly": {"type": "tag", "values": tags}})
    return [
        (v["id"], [node["html"][:160] for node in v["nodes"]][:3])
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]


def test_every_page_fits_and_anybody_can_use_it(made: Served, window: Windows) -> None:
    """At three widths, with an op open in light and dark, and where there is no route."""
    one = window()
    for path in (
        "/parts/ring/route?op=80",
        "/parts/ring/chart",
        "/parts/pad%20A/cutting?op=20",
        "/parts/plain/chart",
    ):
        one.page.set_viewport_size({"width": 1440, "height": 900})
        one.page.emulate_media(color_scheme="light")
        one.page.goto(made.address + path)
        one.page.wait_for_function("!document.querySelector('#content .region > .working')")
        one.page.wait_for_selector("#content h1")
        for width in WIDTHS:
            one.page.set_viewport_size({"width": width, "height": 900})
            assert one.page.evaluate("document.documentElement.scrollWidth") <= width, (path, width)
        for look in ("light", "dark") if "route" in path else ("light",):
            one.page.emulate_media(color_scheme=look)
            assert serious(one) == [], (path, look)
    one.is_clean()


def test_the_ways_between_the_pages_are_walked(made: Served, window: Windows) -> None:
    """From the part to each of them in one frame; the page that is open is marked."""
    one = window(820)
    one.page.goto(made.address + "/parts/ring")
    one.page.evaluate("window.stays = true")
    for name in PAGES:
        one.page.get_by_role("link", name=say(f"making.tab_{name}"), exact=True).click()
        one.page.get_by_role("heading", name=say(f"making.title_{name}", part="ring")).wait_for()
        expect(one.page.locator(".tabs [aria-current=page]")).to_have_text(say(f"making.tab_{name}"))
    assert one.page.evaluate("window.stays") is True
    one.is_clean()


def test_working_dims_that_somebody_wrote_are_audited(made: Served, window: Windows) -> None:
    """Every violation with its chain; what cannot be read is told at its field; what was typed stays."""
    one = window()
    one.page.goto(made.address + "/parts/ring/chart")
    expect(one.page.locator("svg.tolerance-chart")).to_have_count(2)
    last = one.page.get_by_label(say("chart.audit_cut", op=70, does="surface grind", surface="right"))
    last.fill("13 ±0.01")
    one.page.get_by_role("button", name=say("chart.audit_do")).click()
    one.page.locator("#audit .refusal", has_text="thickness").wait_for()
    assert last.input_value() == "13 ±0.01"
    last.fill("thirteen")
    one.page.get_by_role("button", name=say("chart.audit_do")).click()
    one.page.locator("#audit .wrong", has_text="thirteen").wait_for()
    one.page.get_by_role("button", name=say("chart.audit_found")).click()
    one.page.locator("#audit .wrong").wait_for(state="detached")
    one.is_clean()


def test_another_chance_and_window_are_asked_for(made: Served, window: Windows) -> None:
    """They stand in the address; a chance that cannot be is refused with what would do."""
    one = window()
    one.page.goto(made.address + "/parts/ring/stock")
    one.page.get_by_label(say("stock.chance")).fill("90 %")
    one.page.get_by_label(say("stock.window")).fill("0.2")
    one.page.get_by_role("button", name=say("stock.again")).click()
    one.page.get_by_text(say("stock.so_that", chance="90 %")).wait_for()
    assert "chance=90" in one.page.url
    one.page.goto(f"{made.address}/parts/ring/stock?chance={quote('101 %')}")
    one.page.locator("#content .refusal").wait_for()
    one.is_clean()


def test_a_sheet_is_made_in_the_back_room_and_handed_over(made: Served, window: Windows) -> None:
    """A PDF of the part on the paper that was chosen, named after both."""
    one = window()
    one.page.goto(made.address + "/parts/ring/sheets")
    one.page.get_by_label(say("part_sheets.paper")).select_option("letter")
    with one.page.expect_download(timeout=60_000) as download:
        one.page.get_by_role(
            "button", name=say("part_sheets.make_of", kind=say("part_sheets.traveller"))
        ).click()
    assert download.value.suggested_filename == "ring-traveller.pdf"
    pdf = Path(download.value.path()).read_bytes()
    assert Pdf(pdf).size == (612, 792)
    assert "ring" in Pdf(pdf).text
    one.page.locator(".notice", has_text="ring-traveller.pdf").wait_for()
    one.is_clean()


# ------------------------------------------------------------------------------------------ without a browser


def test_the_chart_page_says_what_the_study_found(work: Work) -> None:
    """Every working dim, every dim of the drawing and every stock removal, in worst case and by chance."""
    sheet = chart_sheet(work.bench.build, "ring")
    seen = part_chart.charts(work, READER, "ring")
    for one in sheet.charts:
        for chain in (*one.finished, *one.stock):
            assert chain.name in seen
        for line in one.lacking:
            assert escape(line[1:40]) in seen
    assert say("chart.free") in seen
    assert "±0.0003" in part_chart.charts(work, Reader("Ada", units="inch"), "ring")
    found = part_chart.computed(work, READER, "ring")
    assert set(found) == {dim.field for one in sheet.charts for dim in one.working}


def test_the_stock_page_says_what_to_leave_and_why(work: Work) -> None:
    """Every cause drawn and in the table with its source; what more stock costs in minutes; hardness and cautions."""
    sheet = stock_sheet(work.bench.build, "ring")
    seen = part_stock.stock(work, READER, "ring", {})
    for one in sheet.surfaces:
        for cause in one.causes:
            assert escape(cause.name) in seen
    assert seen.count("stock-bars") == sum(bool(one.causes) for one in sheet.surfaces)
    assert "min to grind off" in seen
    assert "60 to 62 HRC" in seen
    assert escape(sheet.defers) in seen
    assert " in " in part_stock.stock(work, Reader("Ada", units="inch"), "ring", {})
    with pytest.raises(RequestError):
        part_stock.stock(work, READER, "ring", {"window": "wide"})


def test_the_cutting_page_says_how_each_op_is_cut(work: Work) -> None:
    """Passes, what limits them, warnings and sources of the op that is picked; the others in a line each."""
    data = cutting_sheet(work.bench.build, "ring", "20").cutting
    seen = part_cutting.cutting(work, READER, "ring", "20")
    for cut in data.cuts:
        for line in (*cut.limits, *(one.text for one in cut.warnings)):
            assert escape(line[1:30]) in seen
    assert say("cutting.op_of", number=20, op="turn") in seen
    assert say("cutting.op_of", number=60, op="surface grind") in part_cutting.cutting(
        work, READER, "ring", "60"
    )
    with pytest.raises(RequestError):
        part_cutting.cutting(work, READER, "ring", "999")


def test_surfaces_that_are_cut_alike_share_their_data(work: Work) -> None:
    """One block for both ends that the saw makes."""
    assert say("cutting.cut", surface="left, right", way="sawing") in part_cutting.cutting(
        work, READER, "ring", "10"
    )


def test_a_part_without_a_route_is_invited_to_begin_one(work: Work) -> None:
    """A bought one is not; one that is not there is refused."""
    for here in PAGES[1:]:
        assert "/parts/plain/route" in title(work, READER, "plain", here)
        assert say("making.is_bought") in title(work, READER, "bearing", here)
    for view in (part_chart.charts, part_sheets.sheets):
        assert "/parts/plain/route" in view(work, READER, "plain")
        with pytest.raises(RequestError):
            view(work, READER, "nothing")
    assert part_cutting.cutting(work, READER, "plain", "") == ""
    assert part_chart.audit(work, READER, "plain", None) == part_stock.stock(work, READER, "plain", {}) == ""


def test_only_sheets_of_one_part_are_made(work: Work) -> None:
    """Another kind, paper or unit is refused before anything is printed."""
    telling = Telling(lambda *_: None, None)
    for asked in (("saw", "a4", ""), ("labels", "a9", ""), ("labels", "a4", "cubits")):
        with pytest.raises(RequestError):
            part_sheets.pdf_of_part(work, READER, "ring", *asked, telling=telling)
    found = part_sheets.pdf_of_part(work, READER, "pad A", "labels", "a4", "both", telling=telling)
    assert found.pdf.startswith(b"%PDF")
    assert file_name("pad A", "labels") == "pad-a-labels.pdf"


def test_they_come_soon_and_sooner_the_second_time(work: Work) -> None:
    """What was worked out is kept until the book changes."""
    views = (
        lambda: part_chart.charts(work, READER, "bracket"),
        lambda: part_stock.stock(work, READER, "bracket", {}),
        lambda: part_cutting.cutting(work, READER, "bracket", ""),
    )
    for view in views:
        view()
        begun = time.perf_counter()
        view()
        assert time.perf_counter() - begun < BUSY * SOON / 10
