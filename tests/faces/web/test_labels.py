"""Short addresses in the browser: where they lead, what is printed, what is said of a misread one."""

import re
import urllib.error
import urllib.request
from collections.abc import Callable

import pytest
import segno
from axe_playwright_python.sync_playwright import Axe
from click.testing import CliRunner

from browsers import Served, Window
from loopwright.cli import group
from loopwright.studies.addresses import addresses_of
from loopwright.web.views import address as views
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]


@pytest.fixture
def work(demo_book: "object") -> Work:
    """The shipped history as the bench process has it."""
    return Work(str(demo_book))


@pytest.mark.parametrize(
    ("kind", "name", "heading"),
    [
        ("part", "column", "column"),
        ("test", "X straight in Y", "X straight in Y"),
        ("step", "tram the spindle", "Step 8: tram the spindle"),
        ("gauge", "tram bar", "tram bar"),
    ],
)
def test_a_code_opens_the_page_of_its_thing(
    shown: Served, window: Windows, work: Work, kind: str, name: str, heading: str
) -> None:
    """As it is printed, in capitals; and typed in small letters."""
    thing = addresses_of(work.bench).of(kind, name)
    assert thing is not None
    one = window()
    one.page.goto(f"{shown.address}/A/{thing.code}")
    one.page.get_by_role("heading", name=heading).first.wait_for()
    one.page.goto(f"{shown.address}/a/{thing.code.lower()}")
    one.page.get_by_role("heading", name=heading).first.wait_for()
    one.is_clean()


def test_a_misread_code_names_what_is_nearly_the_same(shown: Served, window: Windows, work: Work) -> None:
    """And takes it typed again."""
    thing = addresses_of(work.bench).of("gauge", "micrometer")
    assert thing is not None
    one = window(390)
    one.page.goto(f"{shown.address}/a/{thing.code[1]}{thing.code[0]}{thing.code[2:]}")
    one.page.get_by_text("A character of it was misread").wait_for()
    one.page.get_by_role("link", name="micrometer").wait_for()
    found = Axe().run(one.page).response["violations"]
    assert [v["id"] for v in found if v["impact"] in ("serious", "critical")] == []
    one.page.get_by_label("Code on the label").fill(thing.code)
    one.page.get_by_role("button", name="Open").click()
    one.page.get_by_role("heading", name="micrometer").wait_for()
    one.is_clean()


def test_labels_are_ticked_and_made(shown: Served, window: Windows) -> None:
    """Those of all gauges by one press; on paper stands nothing but the labels."""
    one = window(820)
    page = one.page
    page.goto(f"{shown.address}/labels")
    group_ = page.locator("#group-gauge")
    group_.get_by_role("button", name="Tick all of these").click()
    page.get_by_label("Size of a label").select_option("large")
    page.get_by_role("button", name="Make the labels").click()
    page.get_by_role("heading", name="7 labels").wait_for()
    assert page.locator(".labels.large li").count() == 7
    page.emulate_media(media="print")
    assert page.locator(".labels li").first.is_visible()
    assert not page.get_by_role("button", name="Make the labels").is_visible()
    assert not page.locator("h1").is_visible()
    one.is_clean()


def test_what_is_drawn_is_the_code_of_the_address(work: Work) -> None:
    """The runs of a label's drawing, put together again, are the modules of the QR code of its address in capitals."""
    thing = addresses_of(work.bench).of("part", "column")
    assert thing is not None
    drawn = str(views.label_sheet(work, Reader(), (thing.code,), "http://192.0.2.7:8140", "small"))
    code = segno.make(f"HTTP://192.0.2.7:8140/A/{thing.code}", error="m", micro=False)
    dark = {(x, y) for y, line in enumerate(code.matrix) for x, one in enumerate(line) if one}
    runs = re.findall(r"M(\d+) (\d+)h(\d+)v1", re.search(r'd="([^"]+)"', drawn)[1])  # type: ignore[index]
    assert {(int(x) - 4 + k, int(y) - 4) for x, y, wide in runs for k in range(int(wide))} == dark
    assert code.mode == "alphanumeric"


def test_a_printed_code_is_sent_as_a_picture(shown: Served, work: Work) -> None:
    """For a code that is one; for nothing else."""
    thing = addresses_of(work.bench).things[0]
    with urllib.request.urlopen(f"{shown.address}/code/{thing.code}.svg") as answer:
        assert answer.headers["content-type"] == "image/svg+xml"
        assert b"<svg" in answer.read()
    with pytest.raises(urllib.error.HTTPError, match="404"):
        urllib.request.urlopen(f"{shown.address}/code/2222223.svg")


def test_codes_begin_with_the_address_in_the_network(work: Work) -> None:
    """Where there is one; a code of this machine alone is told to be that."""
    assert views.root_of(["http://192.0.2.7:8140"], "http://localhost:8140/") == "http://192.0.2.7:8140"
    assert "open on this machine only" in str(
        views.choosing(work, Reader(), "", (), "http://localhost:8140", "small")
    )
    assert "open on this machine only" not in str(
        views.choosing(work, Reader(), "", (), "http://192.0.2.7", "small")
    )


def test_the_command_says_the_same_code(work: Work) -> None:
    """By name, by the beginning of one, by the code itself; of a kind; and refuses what there is not."""
    thing = addresses_of(work.bench).of("step", "tram the spindle")
    assert thing is not None
    for asked in ("tram the spindle", "TRAM THE", thing.code.lower()):
        found = CliRunner().invoke(group, ["address", asked, "--book", work.where], catch_exceptions=False)
        assert thing.code in found.output
    gauges = CliRunner().invoke(group, ["address", "--kind", "gauge", "--book", work.where])
    assert "tram bar" in gauges.output
    assert "tram the spindle" not in gauges.output
    assert CliRunner().invoke(group, ["address", "nothing", "--book", work.where]).exception is not None
