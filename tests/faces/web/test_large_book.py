"""A large book, of 300 parts, 2,000 dims and 5,000 readings: long lists are turned over, and nothing is half done."""

import csv
import io
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from browsers import Served, Window, serving
from loopwright.errors import RequestError
from loopwright.web.views import bench as bench_views
from loopwright.web.views import book as book_views
from loopwright.web.views import part as part_views
from loopwright.web.views import parts as parts_views
from loopwright.web.views.part import MOST_DIMS
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
READER = Reader("Ada")
PARTS, DIMS, READINGS = 300, 2000, 5000
MOST_MARKUP = 130_000
"""Characters of one piece of a page, with which turning to another takes a fraction of a second."""


@pytest.fixture(scope="module")
def large(large_archive: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the book."""
    return Path(shutil.copy(large_archive, tmp_path_factory.mktemp("looked")))


@pytest.fixture(scope="module")
def work(large: Path) -> Iterator[Work]:
    """The book, open."""
    held = Work(str(large))
    yield held
    held.close()


@pytest.fixture(scope="module")
def served(large: Path) -> Iterator[Served]:
    """A server of it."""
    with serving(large) as found:
        yield found


@pytest.fixture(scope="module")
def names(work: Work) -> list[str]:
    """Every part, in the order of the list."""
    return [one.name for one in parts_views.found_parts(work, {})]


def dims_of(work: Work, parts: tuple[str, ...]) -> int:
    """Dims of some parts together."""
    return sum(len(work.bench.build.parts[name].dims) for name in parts)


def test_it_is_as_large_as_it_says(work: Work, names: list[str]) -> None:
    """Counted in the description and in the book."""
    build = work.bench.build
    counts = len(names), sum(len(part.dims) for part in build.parts.values()), work.book.last_number
    assert counts == (PARTS, DIMS, READINGS + 2)


def test_more_parts_than_are_taken_at_once_come_whole(work: Work, names: list[str]) -> None:
    """As many as are read in a row, each with all of its dims, and one more would be too many; never more than 40."""
    taken, every = bench_views.parts_at_once(work, READER, names)
    assert (every, taken) == (PARTS, tuple(names[: len(taken)]))
    assert dims_of(work, taken) <= bench_views.MOST_IN_A_ROW < dims_of(work, (*taken, names[len(taken)]))
    sheet = bench_views.reading(work, READER, {"parts": "/".join(taken)})
    assert all(f"{part}/{dim}" in sheet for part in taken for dim in work.bench.build.parts[part].dims)
    assert len(taken) <= bench_views.MOST_PARTS


def test_there_is_a_cap_on_parts_as_well(
    work: Work, names: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """41 parts of one dim each are one too many for the address that names them."""
    monkeypatch.setattr(bench_views, "MOST_IN_A_ROW", 10_000)
    assert bench_views.parts_at_once(work, READER, names[:41]) == (tuple(names[:40]), 41)
    assert bench_views.parts_at_once(work, READER, names[:40]) == (tuple(names[:40]), 40)


def test_one_part_with_more_dims_than_are_read_in_a_row_says_so(
    work: Work, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is taken all the same, and the sheet says how many are on it."""
    monkeypatch.setattr(bench_views, "MOST_IN_A_ROW", 50)
    assert bench_views.parts_at_once(work, READER, ["plate_0", "plate_1"]) == (("plate_0",), 2)
    count = len(work.bench.build.parts["plate_0"].dims)
    sheet = bench_views.reading(work, READER, {"part": "plate_0"})
    assert say("bench.first_ones", count=50, every=count) in sheet


def test_parts_without_dims_are_refused(work: Work) -> None:
    """And those that are not there."""
    with pytest.raises(RequestError, match="none of these parts has a dim"):
        bench_views.parts_at_once(work, READER, ["nothing", "no more"])


def test_long_lists_are_turned_over(work: Work, names: list[str]) -> None:
    """Parts, the bench by part, the dims of a part and the book: a screenful or two at a time, and all of it."""
    for page, last in (("", "Page 1 of 8"), ("8", "Page 8 of 8")):
        listed = parts_views.listing(work, READER, {"page": page})
        assert listed.count('name="part"') <= parts_views.PAGE
        assert last in listed
        bench = bench_views.choosing(work, READER, "part", "", page)
        assert bench.count("/bench?part=") <= bench_views.ON_ONE
        assert last in bench
    assert names[-1] in bench_views.choosing(work, READER, "part", "", "8")
    whole = [part_views.part(work, READER, "plate_0", str(page)) for page in range(1, 8)]
    dims = work.bench.build.parts["plate_0"].dims
    assert "Page 7 of 7" in whole[-1]
    for number, dim in enumerate(dims):
        assert f"<h2>{dim}</h2>" in whole[number // MOST_DIMS]
    history = book_views.history(work, READER, {})
    assert history.count("<tr") <= book_views.PAGE + 1
    pieces = (listed, bench, *whole, history)
    assert max(len(piece) for piece in pieces) < MOST_MARKUP


def test_all_are_ticked_and_the_first_of_them_are_on_the_bench(
    served: Served, window: Windows, work: Work, names: list[str]
) -> None:
    """Pressed once with nothing ticked: what was taken is said with its number and its last, and that much is there."""
    taken, _ = bench_views.parts_at_once(work, READER, names)
    before = work.book.last_number
    one = window()
    one.page.goto(f"{served.address}/parts")
    one.page.get_by_role("button", name="Put on the bench").click()
    one.page.wait_for_selector("#bench-value:focus")
    said = plural("parts.first_ones", len(taken), every=PARTS, last=taken[-1])
    expect(one.page.locator(".notice")).to_contain_text(said)
    count = one.page.locator(".bench-count span").first
    expect(count).to_have_text(f"1 of {dims_of(work, taken)}")
    one.page.go_back()
    with one.page.expect_download() as download:
        one.page.get_by_role("button", name="Save as a table").click()
    rows = list(csv.DictReader(io.StringIO(Path(download.value.path()).read_text("utf-8-sig"))))
    assert (len(rows), len({row["part"] for row in rows})) == (DIMS, PARTS)
    assert work.book.last_number == before
    one.is_clean()


PATHS = ("/", "/parts?page=8", "/parts/plate_0", "/bench?by=part&page=8", "/bench?part=plate_0", "/book")
MORE = ("/description?at=parts", "/machine", "/targets/tool%20point", "/next", "/what-if", "/bench?by=test")


@pytest.mark.parametrize("width", [390, 1440])
def test_every_page_opens_and_fits(served: Served, window: Windows, width: int) -> None:
    """No wider than the screen, and no list without an end."""
    one = window(width)
    for path in (*PATHS, *MORE):
        one.page.goto(served.address + path)
        one.page.wait_for_selector("#content h1")
        one.page.wait_for_function("!document.querySelector('#content .region > .working')")
        assert one.page.evaluate("document.documentElement.scrollWidth") <= width, path
        assert one.page.evaluate("document.querySelectorAll('#content *').length") < 4000, path
        assert one.page.evaluate("document.querySelectorAll('#content li, #content tr').length") < 400, path
    one.is_clean()
