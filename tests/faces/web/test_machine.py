"""The page of the machine: its axes move, what is on it is picked, and the figures are of the pose that is drawn."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page

from browsers import Served, Window
from loopwright.book import create
from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.sheets.markup import Markup
from loopwright.studies.machine_view import machine_at
from loopwright.web.views import machine as views
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

Windows = Callable[..., Window]
ANSWERED = 0.1
"""Seconds from a touch to the drawing of the new pose, at best; a busy machine is slower."""


@pytest.fixture(scope="module")
def work(demo_archive: Path) -> Work:
    """The book of the clock-plate machine, open."""
    return Work(str(demo_archive))


@pytest.fixture(scope="module")
def gantry(tmp_path_factory: pytest.TempPathFactory) -> Work:
    """A book of the other example, with nothing read yet."""
    path = tmp_path_factory.mktemp("gantry") / "gantry.book"
    create(
        str(path), examples.text("guitar-gantry"), build_name="Gantry", who="Ada", file="gantry.yaml"
    ).close()
    return Work(str(path))


def opened(window: Windows, served: Served, path: str = "/machine", width: int = 1440) -> Page:
    """The page, drawn to its end."""
    page = window(width).page
    page.goto(served.address + path)
    page.wait_for_selector("svg[data-drawn]")
    return page


def at(page: Page) -> dict[str, Any]:
    """What the drawing was made from."""
    found: dict[str, Any] = json.loads(page.locator("#machine-at").get_attribute("data-at") or "{}")
    return found


def slid(page: Page, letter: str, to: float) -> None:
    """Moves a slider, and waits for the drawing of that pose."""
    asked = int(page.locator("#machine-drawing").get_attribute("data-answered") or 0) + 1
    page.evaluate(
        "([letter, to]) => { const s = document.querySelector(`[data-axis=${letter}]`); s.value = to;"
        " s.dispatchEvent(new Event('input', {bubbles: true})); }",
        [letter, to],
    )
    page.wait_for_function(f"Number(document.querySelector('#machine-drawing').dataset.answered) >= {asked}")


def test_a_slider_moves_the_machine_and_its_figures(shown: Served, window: Windows, work: Work) -> None:
    """What is drawn and what is written are of one pose, which is the study's own; the answer comes in a moment."""
    page = opened(window, shown)
    took = []
    for to in (100, 140, 180):
        slid(page, "X", to)
        took.append(int(page.locator("#machine-drawing").get_attribute("data-round-trip") or 0))
    drawn = at(page)
    assert drawn["pose"]["X"] == "180"
    found = machine_at(work.bench, {letter: float(value) for letter, value in drawn["pose"].items()})
    assert np.allclose(np.reshape(drawn["points"], (-1, 3)), found.points, atol=1e-3)
    assert np.allclose(np.reshape(drawn["moves"], (-1, 3)), found.moves * 1e6, atol=1)
    assert "X 180 mm" in page.locator(".machine-pose").inner_text()
    assert page.get_by_label(say("machine.position", letter="X")).input_value() == "180"
    assert min(took) < ANSWERED * 1000
    assert "X=180" in page.url


def test_a_position_is_typed_in_any_unit(shown: Served, window: Windows) -> None:
    """Two inches; one that is out of reach stays in its field with what would do."""
    page = opened(window, shown)
    field = page.get_by_label(say("machine.position", letter="Y"))
    field.fill("2 in")
    field.press("Enter")
    page.wait_for_function("document.querySelector('.machine-pose').textContent.includes('50.8')")
    field.fill("900")
    field.press("Enter")
    page.locator(".notice", has_text="its travel is").wait_for()
    assert field.input_value() == "900"
    assert field.get_attribute("aria-invalid") == "true"
    assert "50.8" in page.locator(".machine-pose").inner_text()


def test_two_positions_typed_at_one_go_both_count(shown: Served, window: Windows) -> None:
    """The second is entered before the first is answered, and is not lost."""
    page = opened(window, shown)
    page.evaluate(
        """([one, two]) => {
            for (const [label, text] of [[one, '40'], [two, '30']]) {
                const field = document.querySelector(`[data-typed="${label}"]`);
                field.value = text;
                field.dispatchEvent(new Event('input', { bubbles: true }));
                field.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true }));
            }
        }""",
        ["X", "Y"],
    )
    page.wait_for_function("document.querySelector('.machine-pose').textContent.includes('X 40')")
    page.wait_for_function("document.querySelector('.machine-pose').textContent.includes('Y 30')")


def test_a_thing_is_picked_by_key_by_press_and_from_the_list(shown: Served, window: Windows) -> None:
    """A body by its number, a contact with the arrow keys, a joint from the list; the address leads back."""
    page = opened(window, shown)
    page.locator(".balloon-mark [role=button]").first.focus()
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Body 1: base").wait_for()
    for _ in range(9):
        page.keyboard.press("ArrowRight")
    name = page.evaluate("document.activeElement.getAttribute('aria-label')")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name=name, exact=True).wait_for()
    page.locator(".mark.picked").first.wait_for()
    page.locator(".machine-tree button", has_text="column on base").click()
    page.get_by_role("heading", name="column on base", exact=True).wait_for()
    page.locator(".machine-picked button", has_text="front left").click()
    page.get_by_role("heading", name="Contact front left of column on base").wait_for()
    page.get_by_text("base/landing_FL", exact=True).first.wait_for()
    page.reload()
    page.get_by_role("heading", name="Contact front left of column on base").wait_for()
    assert page.locator(".machine-picked a", has_text=say("machine.edit")).get_attribute("href") == (
        "/description?at=joints%2Fcolumn%20on%20base%2Fcontacts%2Ffront%20left"
    )


def test_the_drawing_turns_by_keys_and_says_its_scale(shown: Served, window: Windows) -> None:
    """Standard views, arrow keys, zoom; small motions as much enlarged as it says."""
    page = opened(window, shown)

    def drawn() -> str:
        page.evaluate("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")
        return page.locator(".solids .rib").first.get_attribute("d") or ""

    pictures = [drawn()]
    page.get_by_role("button", name=say("machine.view_front"), exact=True).click()
    pictures.append(drawn())
    page.locator("svg.machine-svg").focus()
    for key in ("ArrowLeft", "ArrowUp", "+", "Shift+ArrowDown"):
        page.keyboard.press(key)
        pictures.append(drawn())
    assert len(set(pictures)) == len(pictures)
    before = page.locator(".expected path").first.get_attribute("d")
    page.get_by_label(say("machine.times")).select_option("5000")
    page.locator(".stated", has_text="5\u202f000").wait_for()
    assert page.locator(".expected path").first.get_attribute("d") != before
    page.get_by_label(say("machine.times")).select_option("0")
    page.locator(".stated", has_text=say("machine.stated_off")).wait_for()
    assert not page.locator("g.expected").first.is_visible()


def test_another_target_has_its_own_figures(shown: Served, window: Windows) -> None:
    """A rotation, and what it says of an axis that stands where it does not ask."""
    page = opened(window, shown, "/machine?Z=60")
    page.get_by_label(say("machine.target"), exact=True).select_option(
        "spindle square to table, front to back"
    )
    page.get_by_text("Z stands at 60 mm; this target asks at 0 mm.").wait_for()
    assert "arcsec" in page.locator(".machine-tool .stats").inner_text()


def test_a_phone_shows_it_all_below_one_another(shown: Served, window: Windows) -> None:
    """And no wider than it is; the drawing can be turned with a finger while the page still scrolls."""
    page = opened(window, shown, "/machine/Y%20slide", width=390)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.evaluate("getComputedStyle(document.querySelector('.machine-svg')).touchAction") == "pan-y"


# ------------------------------------------------------------------------------------------ without a browser


@pytest.mark.parametrize("units", ["", "inch", "metric"])
def test_it_speaks_the_readers_units(gantry: Work, units: str) -> None:
    """Positions, errors and forces as they think of them."""
    reader = Reader(units=units)
    page = str(views.stage(gantry, reader, {}, None)) + str(views.now(gantry, reader, {}, None, "", "1", ""))
    assert ("thou" in page.replace("(", "")) is True
    metric = units == "metric"
    assert (">mm<" in page) is metric
    assert views.pose_for(gantry, reader, {"X": "10"})["X"] == (10.0 if metric else 254.0)


def test_everything_can_be_picked(work: Work, gantry: Work) -> None:
    """Marks, joints, bodies and meetings of tool and work, every second of them, have something to say."""
    for one in (work, gantry):
        found = machine_at(one.bench, {})
        picks = {f"body/{body.name}" for body in found.form.bodies}
        picks |= {f"joint/{name}" for name in one.bench.build.joints}
        picks |= {f"mark/{mark.joint}/{mark.path}" for mark in found.form.marks if mark.path}
        picks |= {f"place/{number}" for number in range(len(found.places))}
        for picked in sorted(picks)[::2]:
            page = views.now(one, Reader(), {}, None, picked, "1", "")
            assert isinstance(page, Markup)
            assert 'id="machine-picked"' in page, picked


def test_what_is_not_there_is_refused(work: Work) -> None:
    """With the way to what is."""
    with pytest.raises(RequestError, match="nothing at"):
        views.now(work, Reader(), {}, None, "mark/Y slide/nothing", "1", "")
    with pytest.raises(RequestError, match="nothing at"):
        views.now(work, Reader(), {}, None, "joint/nothing", "1", "")


def test_a_machine_without_targets_or_axes_is_drawn_too(tmp_path: Path) -> None:
    """With the way to a target."""
    text = (
        "format: loopwright-build/1\nname: block\nbodies: {block: {mass: 1 kg, centre_of_mass: [0, 0, 0]}}\n"
    )
    path = tmp_path / "block.book"
    create(str(path), text, build_name="block", who="Ada", file="block.yaml").close()
    one = Work(str(path))
    page = views.stage(one, Reader(), {}, None) + views.now(one, Reader(), {}, None, "body/block", "1", "")
    assert say("machine.no_target") in page
    assert say("machine.no_axes") in page
    one.close()
