"""Gauges and the drawer of foil in the browser."""

from collections.abc import Callable
from datetime import date

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window
from loopwright.book import open_book
from loopwright.errors import RequestError
from loopwright.model.records import Calibration, Stock
from loopwright.studies.gauges import GaugeReading
from loopwright.web.views import gauges, stock
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
EMPTY = dict.fromkeys(("done", "due", "std", "limit", "error", "good", "certificate", "note"), "")


@pytest.fixture
def work(demo_book: "object") -> Work:
    """The shipped history as the bench process has it."""
    return Work(str(demo_book))


@pytest.mark.parametrize(("width", "dark"), [(390, False), (1440, True)])
def test_a_gauge_opens_fits_and_keeps_nobody_out(
    shown: Served, window: Windows, width: int, dark: bool
) -> None:
    """No word on the console, nothing serious by axe-core."""
    one = window(width, dark=dark)
    one.page.goto(f"{shown.address}/gauges/micrometer")
    one.page.get_by_role("heading", name="micrometer").wait_for()
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    found = Axe().run(one.page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    one.is_clean()


def test_a_calibration_is_entered_and_the_form_is_empty_again(demo: Served, window: Windows) -> None:
    """What was typed bare is in the unit beside the field; the gauge is in date at once."""
    one = window()
    page = one.page
    page.goto(f"{demo.address}/gauges/precision%20level")
    page.get_by_text("overdue", exact=True).wait_for()
    page.get_by_label("day of the calibration").fill("2026-11-20")
    page.get_by_label("next due").fill("2030-11-20")
    page.get_by_label("standard uncertainty it leaves").fill("0.4")
    page.get_by_role("button", name="Enter the calibration").click()
    page.get_by_text("in date", exact=True).wait_for()
    page.wait_for_function("document.querySelector('#calibrate input[name=std]').value === ''")
    assert demo.book is not None
    with open_book(demo.book) as book:
        record = book.entries("calibration")[-1].record
    assert isinstance(record, Calibration)
    assert (record.done, record.due, record.verified) == ("2026-11-20", "2030-11-20", True)
    # 0.4 arcsec, one of which is π/648000 rad
    assert record.std == pytest.approx(0.4 * 3.141592653589793 / 648_000)
    one.is_clean()


def test_a_count_is_entered_in_its_row(demo: Served, window: Windows) -> None:
    """Only the number of pieces is typed; the thickness is that of the row."""
    one = window(820)
    page = one.page
    page.goto(f"{demo.address}/stock")
    page.get_by_label("pieces of shim foil 20 µm").fill("4")
    page.get_by_label("pieces of shim foil 20 µm").press("Enter")
    page.locator(".notice", has_text="4 pieces of shim foil 20 µm").wait_for()
    assert demo.book is not None
    with open_book(demo.book) as book:
        record = book.entries("stock")[-1].record
    assert isinstance(record, Stock)
    assert (record.size, record.count, record.std) == (0.02, 4, 0.0005)
    one.is_clean()


def test_overdue_is_said_by_shape_and_word(work: Work) -> None:
    """Never by colour alone."""
    told = str(gauges.everything(work, Reader()))
    assert "overdue" in told
    assert told.count('class="chip') == len(work.bench.build.gauges)


def test_a_limit_in_thou_leaves_its_standard_uncertainty(work: Work) -> None:
    """±0.1 thou, all values alike likely, leaves 0.1 thou / √3."""
    inch = Reader("Ada", units="inch")
    made = gauges.enter_calibration(
        work, inch, "micrometer", {**EMPTY, "limit": "± 0.1", "good": "on"}, "k", None
    )
    record = work.book.entry(made.number).record
    assert isinstance(record, Calibration)
    assert record.std == pytest.approx(0.00254 / 3**0.5)
    assert date.fromisoformat(record.done) is not None


@pytest.mark.parametrize(
    ("count", "size"), [("many", "20"), ("-1", "20"), ("", "20"), ("3", ""), ("3", "thin")]
)
def test_a_count_that_is_none_is_refused(work: Work, count: str, size: str) -> None:
    """Nothing is entered, and it is said what would do."""
    typed = {"what": "", "size": size, "std": "", "count": count, "note": ""}
    with pytest.raises(RequestError):
        stock.enter_count(work, Reader("Ada"), typed, "k", None)
    assert work.book.last_number == 79


def test_a_reading_off_the_chart_stands_at_its_edge() -> None:
    """Its value is still said."""
    one = GaugeReading(7, "a/b", "2026-11-20T08:00:00Z", "Ada", 9.0, 9.0)
    drawn = str(gauges.strip([one], []))
    assert "off by +9.0" in drawn
    assert f'y="{gauges.MIDDLE - gauges.HALF:g}"' in drawn


def test_an_empty_drawer_says_what_to_do(work: Work) -> None:
    """Foil that was never counted is no foil that is used up."""
    for entry in work.bench.having(Stock):
        work.book.append(_withdrawal(), who="Ada", supersedes=entry[0].number)
    assert "Nothing counted yet" in str(stock.everything(work, Reader()))


def _withdrawal() -> "object":
    from loopwright.model.records import Withdrawal

    return Withdrawal(reason="never was")
