"""The shop's pages: making at a glance, blanks and saw list, machines and tools, change of route, sheets."""

import re
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from browsers import Served, Window, serving
from loopwright.book import create, open_book
from loopwright.errors import RequestError
from loopwright.model.records import Evaluated, Reading, Revision
from loopwright.studies.statements import described
from loopwright.web.offering import proposal_of, save_proposal
from loopwright.web.pages import machines as machines_page
from loopwright.web.pages import route_change as change_page
from loopwright.web.pages import saw_list as saw_page
from loopwright.web.pages.shop_sheets import parts_meant
from loopwright.web.printing import Order, sheets_made
from loopwright.web.views import machines, route_change, saw_list, shop, shop_sheets
from loopwright.web.views import standing as standing_views
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from two_posts import CHOOSING

Windows = Callable[..., Window]
READER, LOOKING = Reader("Ada"), Reader("Eve", role="read")
BLANK = "    material: low carbon steel\n    blank: {section: flat 50 x 20, length: 42}\n"
STOCK = """shop:
  hour: 48
  keep: 100
  tools: {fly cutter 80: {kind: fly cutter, diameter: 80, material: carbide, stick_out: 55}}
  bars:
    steel flat 50 x 20: {material: low carbon steel, section: flat 50 x 20, length: 90, note: behind the saw}
    steel flat 50 x 20 new: {material: low carbon steel, section: flat 50 x 20, length: 500, price: 38, buy: true}
  proven:
    - {op: face, material: low carbon steel, speed: 90 m/min, feed: 0.1, note: with paraffin}
"""
MACHINES = "    saw: {kind: bandsaw, kerf: 1.1, grip: 40, rate: 3}\n"
TEXT = (
    CHOOSING.replace("shop:\n", STOCK)
    .replace("    mill:\n", MACHINES + "    mill:\n")
    .replace("  left:\n    dims: {", f"  left:\n{BLANK}    dims: {{side: 40 ±0.2, ")
    .replace("  right:\n    dims: {", f"  right:\n{BLANK}    dims: {{side: 40 ±0.2, ")
)
"""Two posts that are sawn, milled to height, and could be made in other ways."""


class Silent:
    """Nobody waits, nobody listens."""

    def progress(self, done: int, wanted: int | None) -> None:
        """Says nothing."""

    def cancelled(self) -> bool:
        """Goes on."""
        return False


def book_of(folder: Path, text: str = TEXT, *, read: bool = False) -> Path:
    """A book of two posts; with both of them read, far from each other."""
    where = folder / "posts.book"
    with create(str(where), text, build_name="two posts", who="Ada", file="posts.yaml", why="first") as held:
        for part, off in (("left", 0.03), ("right", -0.03)) if read else ():
            value = Evaluated(values=(12 + off,), stds=(0.0005,))
            record = Reading(subject="dim", of=f"{part}/height", state=1, raw=((12 + off,),), evaluated=value)
            held.append(record, who="Ada")
    return where


@pytest.fixture(scope="module")
def work(tmp_path_factory: pytest.TempPathFactory) -> Work:
    """The book of two posts, to be looked at."""
    return Work(str(book_of(tmp_path_factory.mktemp("posts"))))


@pytest.fixture
def written(tmp_path: Path) -> Work:
    """One of two posts that were read, to be written in."""
    return Work(str(book_of(tmp_path, read=True)))


def words(markup: str) -> str:
    """What a reader sees."""
    return " ".join(re.sub(r"<[^>]*>", " ", markup).split())


# at a glance


def test_making_at_a_glance_counts_and_leads_on(work: Work) -> None:
    """Two parts with blanks and routes, four machines; each card leads to its page."""
    seen = shop.shop(work, READER)
    for path in shop.PLACES.values():
        assert f'href="{path}"' in seen
    assert plural("shop.blanks_open", 2) in seen
    assert plural("shop.machines", 4) in seen
    assert plural("shop.alternatives", 4) in seen


def test_the_front_page_shows_both_ways(work: Work) -> None:
    """What limits alone let one expect, and what the routes leave, side by side, drawn and in figures."""
    seen = words(standing_views.front(work, READER))
    assert say("both_ways.title") in seen
    assert say("both_ways.in_limits") in seen
    assert say("both_ways.as_made") in seen
    assert plural("both_ways.routed", 2, made=2) in seen


# blanks


def test_the_saw_list_draws_every_piece_to_scale(work: Work) -> None:
    """One post comes off the short bar, the other off one that is bought; the drawing holds piece, cut and end."""
    last, found = saw_page.list_of(work, READER, Silent())  # type: ignore[arg-type]
    assert not saw_page.is_worked_out(work, READER)
    saw_page.keep(work, READER, last, found)
    seen = saw_list.listing(work, READER, "", False)
    pieces = [one for bar in found.bars for one in bar.cuts]
    assert seen.count('class="saw-piece"') == len(pieces) + 1  # and one in the key
    assert sum(one.pieces for one in found.pieces) == 2
    widths = [float(w) for w in re.findall(r'width="([\d.]+)%"[^>]*class="saw-piece"', seen)]
    longest = max(bar.length for bar in found.bars)
    assert widths == pytest.approx([100 * (p.length + p.within) / longest for p in pieces], abs=0.05)
    assert say("saw_list.buy_first") in seen
    assert "behind the saw" in seen
    assert 'data-act="sawn"' in seen
    assert 'data-act="sawn"' not in saw_list.listing(work, LOOKING, "", False)
    inch = saw_list.listing(work, replace(READER, units="inch"), "", False)
    assert "19.68" in inch or "19.69" in inch  # 500 mm


def test_what_is_sawn_leaves_the_shop_and_its_end_comes_in(written: Work) -> None:
    """The used bar is gone, the end lies there, and the next list has nothing to saw."""
    last, found = saw_page.list_of(written, READER, Silent())  # type: ignore[arg-type]
    saw_page.keep(written, READER, last, found)
    offer = saw_page.sawn_proposed(written, READER, saw_page.list_to_saw(written, READER), Silent())  # type: ignore[arg-type]
    number = save_proposal(written, READER, offer, "sawn", "")
    build = written.bench.build
    assert written.bench.last == number
    assert set(build.shop.sawn) == {"left", "right"}
    assert "steel flat 50 x 20" not in build.shop.bars
    _, after = saw_page.list_of(written, READER, Silent())  # type: ignore[arg-type]
    assert after.pieces == ()
    with pytest.raises(RequestError, match=say("saw_list.stale")):
        saw_page.sawn_proposed(written, READER, (last, found), Silent())  # type: ignore[arg-type]
    with pytest.raises(RequestError, match=re.escape(say("offered.meanwhile"))):
        save_proposal(written, READER, offer, "sawn twice", "")


# machines


def test_machines_say_what_is_taken_and_who_says_so(work: Work) -> None:
    """The mill as the shop states it, the grinder as the handbook has it; nothing is read, so nothing is claimed."""
    seen = words(machines.machines(work, READER, {}))
    assert "2.0 µm 15.0 µm 3.0 µm 10.0 arcsec" in seen
    assert say("machines.stated") in seen
    assert say("machines.factor") not in seen
    machines_page.keep(work, READER, *machines_page.found_of(work, READER, Silent()))  # type: ignore[arg-type]
    assert say("machines.shows_none") in machines.shows(work, READER, False)
    tools = words(machines.tools(work, READER, {}))
    assert "fly cutter 80 fly cutter 80 mm 1 carbide 55 mm" in tools
    assert "90 m/min" in tools
    assert "295 ft/min" in words(machines.tools(work, replace(READER, units="inch"), {}))


def test_what_the_parts_show_is_drawn_and_can_be_taken_over(written: Work) -> None:
    """Two posts 30 µm off show a mill that scatters more; its line stands in the description afterwards."""
    machines_page.keep(written, READER, *machines_page.found_of(written, READER, Silent()))  # type: ignore[arg-type]
    seen = machines.shows(written, READER, False)
    assert seen.count('class="span"') == 1
    every = machines.machines(written, READER, {})
    assert 'data-act="take_found"' in every
    assert 'data-act="take_found"' not in machines.machines(written, LOOKING, {})
    offer = machines_page.found_proposed(
        written,
        READER,
        machines_page.lines_to_take(written, READER),
        "mill",
        "face",
        Silent(),  # type: ignore[arg-type]
    )
    last = written.bench.last
    save_proposal(written, READER, offer, "found", "")
    stated = written.bench.build.shop.machines["mill"].holds["face"]
    assert stated.readings_to == last
    assert stated.setting is not None
    assert stated.setting > 0.015
    machines_page.keep(written, READER, *machines_page.found_of(written, READER, Silent()))  # type: ignore[arg-type]
    assert say("machines.state_counted") in machines.machines(written, READER, {})


def test_a_shop_of_many_machines_and_tools_is_paged(tmp_path: Path) -> None:
    """Forty tools at a time."""
    tools = ", ".join(f"drill {n}: {{kind: drill, diameter: {n}}}" for n in range(1, 300))
    work = Work(str(book_of(tmp_path, re.sub("tools: {.*", f"tools: {{{tools}}}", TEXT))))
    seen = machines.tools(work, READER, {"tools": "3"})
    assert "drill 81<" in seen
    assert "drill 80<" not in seen
    assert say("frame.page_of", page=3, pages=8) in seen


# the cheapest change


def test_the_answer_says_what_to_change_what_it_costs_and_brings(work: Work) -> None:
    """Grinding both posts: 48 min more, at 48 an hour; proven; and the budget both ways and with it."""
    wished = change_page.chance_of(work, READER, "99.9")
    assert wished == change_page.chance_of(work, READER, "99.9 %") == pytest.approx(0.999)
    last, found = change_page.change_of(work, READER, wished, ("level",), Silent())  # type: ignore[arg-type]
    change_page.keep(work, READER, wished, ("level",), last, found)
    assert change_page.is_found(work, READER, wished, ("level",))
    seen = words(route_change.answer(work, READER, wished, ("level",), False))
    assert plural("route_change.answer_change", 2) in seen
    assert "48 min more" in seen
    assert "38 more" in seen
    assert say("route_change.proven") in seen
    assert say("both_ways.changed") in seen
    assert say("route_change.take") in seen
    assert say("route_change.take") not in words(
        route_change.answer(work, LOOKING, wished, ("level",), False)
    )


def test_where_nothing_can_be_chosen_the_page_says_what_would_allow_it(
    demo_archive: Path, tmp_path: Path
) -> None:
    """No alternative in any route, no machine, no blank: each page has its own way on."""
    bare = (
        TEXT[: TEXT.index("shop:")]
        + "parts:\n  left: {dims: {height: 12 ±0.1}}\nbodies: {base: {parts: [left]}}\n"
    )
    work = Work(str(book_of(tmp_path, bare)))
    assert say("route_change.no_targets") in route_change.asking(work, READER)
    assert say("machines.none") in machines.top(work, READER)
    assert machines.machines(work, READER, {}) == machines.tools(work, READER, {}) == ""
    last, found = saw_page.list_of(work, READER, Silent())  # type: ignore[arg-type]
    saw_page.keep(work, READER, last, found)
    assert say("saw_list.no_blanks") in saw_list.listing(work, READER, "", False)
    assert plural("shop.lacks_unrouted", 1, names="‘left’") in shop.shop(work, READER)
    demo = Work(str(demo_archive))
    if not shop.overview_of(demo).alternatives:
        assert say("route_change.none") in route_change.asking(demo, READER)


def test_what_changes_nothing_is_not_offered(written: Work) -> None:
    """The description as it stands is no offer."""
    with pytest.raises(RequestError, match=say("offered.unchanged")):
        proposal_of(written.bench, described(written.bench)[1].text)


# sheets


def test_sheets_are_a_pdf_or_one_file_of_several(work: Work) -> None:
    """One kind is a PDF of its own; all kinds are packed, and what has nothing on it is told with the reason."""
    one = sheets_made(work, READER, Order(("traveller",)), Silent())  # type: ignore[arg-type]
    assert Path(one.path).read_bytes().startswith(b"%PDF")
    assert one.name == "two-posts-traveller.pdf"
    every = sheets_made(work, READER, Order((), ("left",), "letter", "both"), Silent())  # type: ignore[arg-type]
    with zipfile.ZipFile(every.path) as packed:
        assert "two-posts-left-traveller.pdf" in packed.namelist()
    for made in (one, every):
        Path(made.path).unlink()
        Path(made.path).parent.rmdir()
    none = sheets_made(work, READER, Order(("fit-up",)), Silent())  # type: ignore[arg-type]
    assert (none.path, [kind for kind, _ in none.lacking]) == ("", ["fit-up"])


def test_parts_are_chosen_by_words(work: Work) -> None:
    """A whole name means that part alone; nothing means all; what no part has is refused."""
    assert parts_meant(work, READER, "left") == ("left",)
    assert parts_meant(work, READER, "carbon") == ("left", "right")
    assert parts_meant(work, READER, " ") == ()
    with pytest.raises(RequestError, match="spindle"):
        parts_meant(work, READER, "spindle")
    assert plural("shop_sheets.of_parts", 2, every=2, names="‘left’ and ‘right’") in shop_sheets.sheets(
        work, READER, "carbon"
    )


# in the browser


@pytest.fixture(scope="module")
def posts(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of two posts that were read."""
    with serving(book_of(tmp_path_factory.mktemp("served"), read=True)) as served:
        yield served


def test_from_a_wished_chance_to_a_saved_route(posts: Served, window: Windows) -> None:
    """Asked, found in the back room, its lines shown, saved as a new revision."""
    one = window(width=820, height=1180, touch=True)
    page = one.page
    page.goto(posts.address + "/making/change")
    page.get_by_label(say("route_change.wished")).fill("99")
    page.get_by_role("button", name=say("route_change.find")).click()
    page.get_by_role("button", name=say("route_change.take")).click()
    offer = page.locator("#ways-offer")
    offer.get_by_role("button", name=say("offered.save")).wait_for()
    assert "together: posts" in "".join(offer.locator(".come").all_inner_texts())
    assert serious(one) == []
    offer.get_by_role("button", name=say("offered.save")).click()
    page.locator(".notice.done").wait_for()
    with open_book(str(posts.book)) as book:
        texts = [e.record.text for e in book.entries() if isinstance(e.record, Revision)]
    assert len(texts) == 2
    assert texts[1].count("alternatives") == 0
    one.is_clean()


def test_saw_list_machines_and_sheets_in_a_browser(posts: Served, window: Windows) -> None:
    """The list is drawn and printed, what the mill shows is taken over, the traveller is fetched once and then gone."""
    one = window(width=390, height=844, touch=True)
    page = one.page
    page.goto(posts.address + "/making/blanks")
    page.locator(".saw-drawn").first.wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert serious(one) == []
    with page.expect_download() as loading:
        page.get_by_role("button", name=say("saw_list.print_saw")).click()
    assert loading.value.path().read_bytes().startswith(b"%PDF")
    address = loading.value.url
    assert page.request.get(address).status == 404
    page.goto(posts.address + "/making/machines")
    page.locator("#shows").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    page.locator('[data-act="take_found"]').first.click()
    page.locator("#found-offer").get_by_role("button", name=say("offered.not_now")).click()
    page.locator("#found-offer").wait_for(state="detached")
    assert serious(one) == []
    one.said = [line for line in one.said if "404" not in line]
    one.is_clean()


def serious(one: Window) -> list[tuple[str, list[str]]]:
    """What keeps somebody out, by the rules of axe-core for WCAG 2.2 AA."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    found = Axe().run(one.page, options={"runOnly": {"type": "tag", "values": tags}})
    return [
        (v["id"], [node["html"][:160] for node in v["nodes"]][:3])
        for v in found.response["violations"]
        if v["impact"] in ("serious", "critical")
    ]
