"""The route of a part on its page: dragged, moved by keys, typed, checked, undone, looked over, saved; never lost."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from browsers import Served, Window, serving
from loopwright.book import create, open_book
from loopwright.buildfile import read_text
from loopwright.buildfile.editing import parsed
from loopwright.model.records import Revision
from loopwright.web.pages.description import Draft
from loopwright.web.pages.route import done
from loopwright.web.views import description, route
from loopwright.web.views.description import CHANGES, FIELDS, Sheet
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from made_parts import BRACKET, GAUGES, PADS, RING, text

Windows = Callable[..., Window]
PLAIN = "\n  plain: {material: brass, dims: {height: 5 ±0.1}}\n  bearing: {bought: true}\n"
WHOLE = text(RING.replace("12 ±0.005", "12 ±0.02"), BRACKET, PADS, PLAIN, head=GAUGES)
RING_OPS = ["saw", "turn", "turn", "harden", "temper", "surface grind", "surface grind", "cylindrical grind"]


@pytest.fixture(scope="module")
def made_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book of parts with routes, to be copied."""
    path = tmp_path_factory.mktemp("made") / "made.book"
    create(path, WHOLE, build_name="made parts", who="Ada", file="made.yaml").close()
    return path


@pytest.fixture(scope="module")
def made(made_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server of a copy; what is not saved stays in the window where it was done, and one test saves, the last."""
    with serving(Path(shutil.copy(made_book, tmp_path_factory.mktemp("served") / "made.book"))) as served:
        yield served


def opened(window: Windows, served: Served, path: str = "/parts/ring/route", *, touch: bool = False) -> Page:
    """The page, with its script at work."""
    page = window(touch=touch).page
    page.goto(served.address + path)
    page.wait_for_selector("#description-kept[data-ready]", state="attached")
    return page


def is_in_order(page: Page, wanted: list[str]) -> None:
    """Waits until the list has these ops in this order."""
    expect(page.locator(".route-name")).to_have_text([f"{10 * n + 10} {op}" for n, op in enumerate(wanted)])


def moved(op: int, to: int) -> list[str]:
    """The ops of the ring with one of them at another place."""
    rest = [one for n, one in enumerate(RING_OPS) if n != op]
    return [*rest[:to], RING_OPS[op], *rest[to:]]


def centre(page: Page, selector: str) -> tuple[float, float]:
    """Where something is, after it was brought into sight."""
    page.locator(selector).scroll_into_view_if_needed()
    box = page.locator(selector).bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def middle(page: Page, op: int) -> float:
    """Middle of an op down the window."""
    box = page.locator(f"#route-op-{op}").bounding_box()
    assert box is not None
    return box["y"] + box["height"] / 2


def test_an_op_is_dragged_with_a_pointer_and_with_a_finger(made: Served, window: Windows) -> None:
    """It goes where it is let go, the focus with it; what that does is said; undone, all is as it was."""
    page = opened(window, made)
    x, y = centre(page, "#route-op-0 .route-grip")
    down = middle(page, 1) - middle(page, 0) + 8
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + down / 2, steps=2)
    page.mouse.move(x, y + down, steps=3)
    page.mouse.up()
    is_in_order(page, moved(0, 1))
    expect(page.locator("#route-op-1 .route-grip")).to_be_focused()
    page.locator("#route-effect").wait_for()
    page.locator("[data-act='description undo']").click()
    is_in_order(page, RING_OPS)
    page.keyboard.press("Escape")

    page = opened(window, made, touch=True)
    x, y = centre(page, "#route-op-4 .route-grip")
    touch = page.context.new_cdp_session(page)
    up = middle(page, 4) - middle(page, 3) + 8
    touch.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for place in (y - 10, y - up / 2, y - up):
        touch.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [{"x": x, "y": place}]})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    is_in_order(page, moved(4, 3))


def test_an_op_is_moved_by_keys_by_buttons_and_by_its_number(made: Served, window: Windows) -> None:
    """Nobody needs a pointer; each is one change, and the focus stays with the op."""
    page = opened(window, made)
    page.locator("#route-op-0 .route-grip").focus()
    page.keyboard.press("ArrowDown")
    is_in_order(page, moved(0, 1))
    expect(page.locator("#route-op-1 .route-grip")).to_be_focused()
    page.keyboard.press("ArrowUp")
    is_in_order(page, RING_OPS)
    page.get_by_role("button", name=say("route.up", number=40, op="harden")).press("Enter")
    is_in_order(page, moved(3, 2))
    expect(page.locator("#route-op-2 .route-step.up")).to_be_focused()
    page.get_by_text(plural("description.changed", 3)).wait_for()
    page.locator("[data-act='description undo']").click()
    page.get_by_role("button", name=say("route.change_op", number=80, op="cylindrical grind")).click()
    page.locator("#f-place-80").fill("25")
    page.get_by_role("button", name=say("route.place_do")).click()
    is_in_order(page, moved(7, 2))


def test_a_route_is_begun_from_nothing(made: Served, window: Windows) -> None:
    """Surfaces, between which the dim is measured, the first ops and what they cut; then its chart is there."""
    page = window().page
    page.goto(made.address + "/parts/plain")
    page.get_by_role("link", name=say("making.tab_chart")).click()
    page.get_by_role("link", name=say("making.begin")).click()
    for name, faces in (("foot", "-Z"), ("top", "+Z")):
        expect(page.locator("#f-new-surface")).to_have_value("")
        page.wait_for_timeout(500)  # what comes of the surface before is drawn in two strokes
        page.locator("#f-new-surface").fill(name)
        page.locator("#f-new-faces").select_option(faces)
        page.get_by_role("button", name=say("route.add_surface")).click()
        page.get_by_label(name, exact=True).wait_for(state="attached")
    page.get_by_role("button", name=say("route.add_do")).click()
    for name in ("foot", "top"):
        page.locator(".route-form .route-asking select").first.select_option(name)
        page.get_by_role("button", name=say("route.add_cut"), exact=True).click()
        page.locator(".route-cut legend", has_text=name).wait_for()
    page.get_by_text(plural("description.changed", 5)).wait_for()
    assert page.locator(".description-tools .chip").first.inner_text() == say("description.sound")


def test_what_is_typed_is_checked_and_survives_a_reload_and_a_killed_server(
    made: Served, window: Windows
) -> None:
    """The mistake stands at its field with what would do; looked over, it is saved as one new revision."""
    page = opened(window, made, "/parts/ring/route?op=20")
    page.get_by_label(say("route.field.machine"), exact=True).fill("big lathe")
    wrong = page.locator(".route-form .wrong").first
    wrong.wait_for()
    assert "lathe" in wrong.inner_text()
    expect(page.locator("#route-op-1 .route-name + .chip")).to_be_visible()
    page.get_by_label(say("route.field.machine"), exact=True).fill("lathe")
    wrong.wait_for(state="detached")
    page.get_by_label(say("route.field.minutes"), exact=True).fill("35")
    page.locator("#route-op-1 .route-said", has_text="35 min").wait_for()
    page.get_by_label(say("route.op"), exact=True).last.select_option("deburr")
    page.locator("#f-new-at").fill("75")
    page.get_by_role("button", name=say("route.add_do")).click()
    wanted = [*RING_OPS[:7], "deburr", RING_OPS[7]]
    is_in_order(page, wanted)

    page.reload()
    is_in_order(page, wanted)
    made.stop(kill=True)
    page.locator("#route-op-0 .route-grip").focus()
    made.start()  # the page finds it by itself
    page.wait_for_function("document.documentElement.dataset.link !== 'lost'")
    is_in_order(page, wanted)

    page.get_by_role("button", name=say("description.review")).click()
    changed = page.locator("section", has=page.get_by_role("heading", name=say("route.changed")))
    expect(changed.locator("tbody tr")).to_have_count(2)
    expect(changed).to_contain_text("35")
    page.get_by_label(say("description.why")).fill("edges cut our fingers")
    page.get_by_role("button", name=say("description.save_do"), exact=True).click()
    page.locator(".notice", has_text="Saved as revision").wait_for()
    assert made.book is not None
    with open_book(str(made.book)) as book:
        entry = book.newest_revision()
    assert isinstance(entry.record, Revision)
    assert (entry.who, entry.why) == ("Ada", "edges cut our fingers")
    ring = read_text(entry.record.text).parts["ring"]
    assert ([op.op for op in ring.route], ring.route[1].minutes) == (wanted, 35)
    assert entry.record.text.count("\n") == WHOLE.count("\n") + 1


# ------------------------------------------------------------------------------------------ without a browser


@pytest.fixture(scope="module")
def work(made_book: Path) -> Iterator[Work]:
    """The book, open."""
    held = Work(str(made_book))
    yield held
    held.close()


def drawn(work: Work, name: str, changed: str | None = None, *, role: str = "edit", **given: object) -> str:
    """The page of a route as markup."""
    base = description.newest_revision(work, Reader())
    it = Sheet(base.entry, changed or base.text, steps=changed is not None, **given)  # type: ignore[arg-type]
    return route.sheet(work, Reader("Ada", role), name, it)


def test_who_may_not_edit_sees_the_route_and_no_tools(work: Work) -> None:
    """Neither grip nor form; the working dims are there all the same."""
    seen = drawn(work, "ring", role="record")
    assert "route-grip" not in seen
    assert "description-tools" not in seen
    assert "60.04" in seen
    assert "route-grip" in drawn(work, "ring")


def test_a_matched_set_names_its_mates_and_what_is_measured(work: Work) -> None:
    """As the route says."""
    seen = drawn(work, "pad A")
    assert say("route.together", set="pads", parts="pad B") in seen.replace("&#x27;", "'")
    assert "height, flat" in seen


def test_a_bought_part_has_no_route_and_says_so(work: Work) -> None:
    """And nothing asks to begin one."""
    assert say("making.is_bought") in drawn(work, "bearing")
    assert say("route.begin_surfaces") in drawn(work, "plain")


def test_what_changes_do_stands_below_the_list_and_beside_the_tools(work: Work) -> None:
    """Also while somebody looks them over."""
    base = description.newest_revision(work, Reader())
    step = done(work, Reader(), "set", base.text, "parts/ring/route/6/cuts/right/size", ("12 ±0.1",))
    draft = Draft(base, [step], 1)
    for show in (FIELDS, CHANGES):
        seen = drawn(work, "ring", draft.text, show=show)
        assert plural("route.no_longer", 1) in seen
        assert 'id="route-effect"' in seen
    assert parsed(draft.text).data["parts"]["ring"]["route"][6]["cuts"]["right"]["size"] == "12 ±0.1"
