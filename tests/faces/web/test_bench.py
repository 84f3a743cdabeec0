"""The bench: readings typed one after the other, by keys alone, and never lost."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import quote

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, Route

from browsers import Served, Window, serving
from loopwright.book import open_book
from loopwright.model.records import Reading, Withdrawal

Windows = Callable[..., Window]


@pytest.fixture(scope="module")
def bench(demo_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of the invented history that all tests here write in, each about something of its own."""
    with serving(
        Path(shutil.copy(demo_archive, tmp_path_factory.mktemp("bench") / "clock-plate.book"))
    ) as served:
        yield served


FIELD = "#bench-value:focus"
SWEEP, OTHER = "X straight in Y", "X straight in Z"
MADE = (
    "base/saddle/table/column/slide/pad_FL/pad_FR/stop_rear/spindle_bracket_low/head_key/X_bracket_fixed/X_bracket_free/"
    "X_nut_housing/Y_bracket_fixed/Z_nut_housing"
)


def opened(window: Windows, served: Served, path: str, width: int = 1440) -> Window:
    """The bench with the field ready to be typed in."""
    one = window(width)
    one.page.goto(served.address + path)
    one.page.wait_for_selector(FIELD)
    return one


def typed(page: Page, *values: str) -> None:
    """As a gauge with a keyboard plug types them."""
    for value in values:
        page.keyboard.type(value)
        page.keyboard.press("Enter")


def readings(served: Served, of: str) -> list[Reading]:
    """Readings of something that are in the book."""
    assert served.book is not None
    with open_book(served.book) as book:
        return [e.record for e in book.entries("reading", subject=of) if isinstance(e.record, Reading)]


def last_entry(served: Served) -> str:
    """Number of the last entry of the book."""
    assert served.book is not None
    with open_book(served.book) as book:
        return str(book.last_number)


def test_the_verdict_and_the_effect_at_the_tool_stand_there_at_once(bench: Served, window: Windows) -> None:
    """Large, beside the field of the next reading, which has the focus already."""
    one = opened(window, bench, "/bench?part=slide")
    typed(one.page, "20.003")
    one.page.wait_for_selector(".answer")
    assert one.page.locator(".answer h2").inner_text() == "slide/seat_left"
    assert "conforming" in one.page.inner_text(".answer-verdict")
    assert "At the tool" in one.page.inner_text(".answer")
    assert "Where the uncertainty comes from" in one.page.inner_text(".answer")
    one.page.wait_for_selector(FIELD)
    assert one.page.inner_text(".bench-title") == "slide/seat_right"
    found = Axe().run(
        one.page, options={"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag22aa"]}}
    )
    assert [v["id"] for v in found.response["violations"] if v["impact"] in ("serious", "critical")] == []
    one.is_clean()


def test_a_surprise_is_asked_about_and_may_be_read_again(bench: Served, window: Windows) -> None:
    """A new value and Enter is the answer of a gauge; a letter takes what was meant; nothing goes in by itself."""
    dim = "stop_rear/thickness"
    one = opened(window, bench, "/bench?of=" + quote(dim, safe=""))
    typed(one.page, "10.02")
    one.page.wait_for_selector(".asked")
    assert "10.002 mm" in one.page.inner_text(".asked")
    assert readings(bench, dim) == []
    typed(one.page, "10.21")
    one.page.wait_for_function("document.querySelector('.asked-why')?.textContent.includes('10.21')")
    typed(one.page, "10.003")
    one.page.wait_for_selector(".answer")
    assert [r.typed for r in readings(bench, dim)] == [(("10.003",),)]
    one.is_clean()


def test_what_was_meant_is_taken_by_its_letter(bench: Served, window: Windows) -> None:
    """The slip stays in the note."""
    dim = "column/Z_shoulder"
    one = opened(window, bench, "/bench?of=" + quote(dim, safe=""))
    typed(one.page, "50.02")
    one.page.wait_for_selector(".asked")
    typed(one.page, "a")
    one.page.wait_for_selector(".answer")
    (found,) = readings(bench, dim)
    assert found.raw == ((50.002,),)
    assert "typed as 50.02" in (found.note or "")


def test_a_value_that_cannot_be_read_is_told_while_the_gauge_is_in_the_hand(
    bench: Served, window: Windows
) -> None:
    """And the sheet goes back to it; the others stay."""
    one = opened(window, bench, f"/bench?of={quote(SWEEP)}")
    typed(one.page, "0.1", "0.2x")
    one.page.wait_for_selector("#bench-wrong:not([hidden])")
    assert one.page.input_value("#bench-value") == "0.2x"
    typed(one.page, "0.2")
    assert one.page.locator(".bench-values b").all_inner_texts()[:3] == ["0.1", "0.2", ""]


def test_what_is_typed_is_there_after_a_reload(bench: Served, window: Windows) -> None:
    """Also the value that is not finished."""
    one = opened(window, bench, f"/bench?of={quote(SWEEP)}")
    typed(one.page, "0.1", "0.2")
    one.page.keyboard.type("0.3")
    one.page.reload()
    one.page.wait_for_selector(FIELD)
    assert one.page.input_value("#bench-value") == "0.3"
    assert one.page.inner_text(".bench-place") == "X 80 mm"
    one.page.keyboard.press("Enter")
    typed(one.page, "0.1", "0.2", "0.1", "0", "0.1", "0.2")
    one.page.wait_for_selector(".answer")
    (found,) = [r for r in readings(bench, SWEEP) if r.state == 4]
    assert found.typed == (
        ("0.1",),
        ("0.2",),
        ("0.3",),
        ("0.1",),
        ("0.2",),
        ("0.1",),
        ("0",),
        ("0.1",),
        ("0.2",),
    )


def test_a_server_that_dies_in_the_middle_loses_nothing(bench: Served, window: Windows) -> None:
    """The sweep is typed to its end without it, kept on the device, and goes in by itself when it is back."""
    one = opened(window, bench, f"/bench?of={quote(OTHER)}")
    typed(one.page, "0.1", "0.2", "0.3")
    bench.stop(kill=True)
    typed(one.page, "0.1", "0.2", "0.1", "0", "0.1", "0.2")
    one.page.get_by_text("Kept here, not yet in the book: 1").wait_for()
    bench.start()
    one.page.wait_for_function("document.querySelector('.bench-unsent')?.hidden ?? false", timeout=30_000)
    found = [r for r in readings(bench, OTHER) if r.state == 4]
    assert [r.typed[2] for r in found] == [("0.3",)]
    assert len(found[0].typed) == 9


def test_who_may_not_enter_is_told_and_keeps_what_was_typed(bench: Served, window: Windows) -> None:
    """A refusal without a page of its own is said in words, and the reading is not thrown away by itself."""
    one = opened(window, bench, "/bench?of=" + quote("slide/key_offset", safe=""))
    refused = (
        '{"problems": [{"field": "", "what": "your role is read", "remedy": "ask whoever keeps the book"}]}'
    )
    one.page.route("**/api/readings?page=true", lambda route: route.fulfill(status=403, body=refused))
    typed(one.page, "75.001")
    one.page.get_by_text("your role is read; ask whoever keeps the book").first.wait_for()
    one.page.unroute("**/api/readings?page=true")
    one.page.get_by_role("button", name="Correct it").first.click()
    typed(one.page, "75.002")
    one.page.wait_for_selector(".answer")
    assert [r.typed for r in readings(bench, "slide/key_offset")] == [(("75.002",),)]


def test_an_answer_that_is_lost_does_not_enter_twice(bench: Served, window: Windows) -> None:
    """The reading was in the book before the line broke; sent again it is found there."""
    dim = "base/Y_shoulder"
    one = opened(window, bench, "/bench?of=" + quote(dim, safe=""))
    lost: list[str] = []

    def lose_the_first(route: Route) -> None:
        if not lost:
            lost.append(route.request.post_data or "")
            route.fetch()
            route.abort()
        else:
            route.continue_()

    one.page.route("**/api/readings?page=true", lose_the_first)
    typed(one.page, "30.001")
    one.page.locator(".answer", has_text="entered once").wait_for()
    assert len(readings(bench, dim)) == 1


def test_two_at_once_hear_of_each_other(bench: Served, window: Windows) -> None:
    """Both readings stand; who came second is told."""
    path = "/bench?of=" + quote("base/Y_seat_left", safe="")
    first, second = opened(window, bench, path), window()
    second.context.add_cookies([{"name": "loopwright_who", "value": "Mai", "url": bench.address}])
    second.page.goto(bench.address + path)
    second.page.wait_for_selector(FIELD)
    typed(second.page, "70.002")
    second.page.wait_for_selector(".answer")
    first.page.wait_for_function(
        "n => document.getElementById('bench-live').dataset.last === n", arg=last_entry(bench)
    )
    typed(first.page, "70.001")
    first.page.wait_for_selector(".answer")
    assert "Mai entered" in first.page.inner_text(".answer-told")
    assert len(readings(bench, "base/Y_seat_left")) == 2


def test_a_reading_is_corrected_or_withdrawn(bench: Served, window: Windows) -> None:
    """Enter alone keeps a value; what was wrong stays in the book and no longer counts."""
    one = opened(window, bench, "/bench?again=23")
    typed(one.page, "", "85.001", "")
    one.page.wait_for_selector(".answer")
    assert readings(bench, "column/Z_seat_left")[-1].typed == (("84.999", "85.001", "85.000"),)
    number = re.search(r"Entry (\d+)", one.page.inner_text(".answer"))
    assert number is not None
    one.page.get_by_role("link", name="Correct this reading").click()
    one.page.get_by_label("Why it no longer counts").fill("probe was loose")
    one.page.get_by_role("button", name=f"Withdraw entry {number[1]}").click()
    one.page.get_by_text(f"Entry {number[1]} no longer counts").wait_for()
    assert bench.book is not None
    with open_book(bench.book) as book:
        last = book.entry(book.last_number)
        assert isinstance(last.record, Withdrawal)
        assert last.supersedes == int(number[1])


def test_gloves_and_figures_on_the_screen(bench: Served, window: Windows) -> None:
    """On a tablet everything can be pressed, and nothing that is pressed is small."""
    one = window(820, 1180, touch=True)
    one.page.goto(bench.address + "/bench?of=" + quote("spindle tram side to side"))
    one.page.wait_for_selector(FIELD)
    one.page.get_by_role("button", name="Figures on the screen").tap()
    for name in ("3", "Change the sign", "Enter"):
        key = one.page.get_by_role("button", name=name, exact=True)
        box = key.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 60
        key.tap()
    one.page.wait_for_selector(".answer, .asked")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 820


def test_a_gauge_that_types_is_heard_wherever_the_focus_is(bench: Served, window: Windows) -> None:
    """Somebody touched the sheet beside the field."""
    one = opened(window, bench, "/bench?of=" + quote("spindle tram side to side"))
    one.page.evaluate("document.activeElement.blur()")
    typed(one.page, "1.0")
    one.page.wait_for_selector(".answer, .asked")


def test_repeats_temperatures_and_deviations_go_with_the_reading(bench: Served, window: Windows) -> None:
    """What was said once stays for the next; a deviation from nominal is typed in small units."""
    one = opened(window, bench, "/bench?of=" + quote("base/Y_seat_right", safe=""))
    page = one.page
    page.get_by_text("Gauge, repeats, temperatures").click()
    page.get_by_label("Read with").select_option("micrometer")
    page.get_by_role("button", name="One reading more of each").click()
    page.get_by_label("Temperature of the part").fill("21.5 ±0.3")
    page.get_by_label("The gauge shows the deviation from nominal").check()
    page.locator("#bench-value").click()
    typed(page, "1", "2")
    page.wait_for_selector(".answer")
    (found,) = readings(bench, "base/Y_seat_right")
    assert (found.gauge, found.raw) == ("micrometer", ((0.001, 0.002),))
    assert found.part_temperature is not None
    assert found.evaluated.values[0] == pytest.approx(70.0015, abs=0.002)


@pytest.mark.parametrize("by", ["next", "step", "test", "part", "item"])
def test_everything_that_can_be_read_is_offered(shown: Served, window: Windows, by: str) -> None:
    """And every line leads to its sheet."""
    one = window(820)
    one.page.goto(f"{shown.address}/bench?by={by}")
    one.page.locator(".things a").first.click()
    one.page.wait_for_selector(FIELD)
    one.is_clean()


def test_a_search_finds_a_dim(shown: Served, window: Windows) -> None:
    """By parts of its name, in any order."""
    one = window()
    one.page.goto(f"{shown.address}/bench")
    one.page.get_by_label("Find a dim, a test or a gap").fill("left seat column")
    one.page.keyboard.press("Enter")
    one.page.get_by_role("link", name="column/Z_seat_left").click()
    one.page.wait_for_selector(FIELD)


def test_raw_readings_are_evaluated_and_entered(bench: Served, window: Windows) -> None:
    """Straightness of a sweep, worked out and then entered with its raw readings."""
    one = window()
    one.page.goto(f"{bench.address}/bench/evaluate/straightness")
    one.page.get_by_label("height", exact=True).fill("0\n0.4\n0.2\n-0.1\n0.2\n0.1\n0.3\n0\n0.1")
    one.page.get_by_label("Or even places: position every").fill("40")
    one.page.get_by_label("Read with").select_option("micron indicator")
    one.page.get_by_role("button", name="Work it out").click()
    one.page.wait_for_selector(".evaluate-found .figure")
    one.page.get_by_label("As", exact=True).fill("X straight in Y")
    one.page.locator("#evaluate-enter").get_by_role("button", name="Enter").click()
    one.page.wait_for_selector(".answer")
    found = readings(bench, "X straight in Y")[-1]
    assert found.method is not None
    assert found.method.evaluation == "straightness"
    one.is_clean()


def test_forty_readings_in_a_row_by_keys_alone(bench: Served, window: Windows) -> None:
    """Each is typed as the drawing has it; Enter enters it and goes on; what is asked about is kept by a letter."""
    one = opened(window, bench, f"/bench?parts={quote(MADE, safe='')}")
    page, seen = one.page, set[str]()
    for _ in range(40):
        title = page.inner_text(".bench-title")
        assert title not in seen
        seen.add(title)
        nominal = re.search(r"Drawing (\d+(?:\.\d+)?)", page.inner_text(".bench-about"))
        assert nominal is not None
        typed(page, nominal[1])
        page.wait_for_function(
            "t => document.querySelector('.bench-title').textContent !== t || document.querySelector('.asked')",
            arg=title,
        )
        if page.query_selector(".asked"):
            typed(page, "k")
            page.wait_for_function("t => document.querySelector('.bench-title').textContent !== t", arg=title)
    assert page.locator(".bench-run li.done").count() == 40
    assert sum(len(readings(bench, title)) for title in seen) >= 40
    one.is_clean()
