"""The frame around every page."""

from collections.abc import Callable

import pytest

from browsers import Served, Window

Windows = Callable[..., Window]


@pytest.mark.parametrize("width", [390, 820, 1440])
def test_the_front_page_opens_at_every_width_without_a_word_on_the_console(
    shown: Served, window: Windows, width: int
) -> None:
    """It is no wider than the screen."""
    one = window(width)
    one.page.goto(shown.address)
    one.page.wait_for_selector("main h1")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    one.is_clean()


def test_a_page_that_does_not_exist_says_so_and_shows_the_way_back(shown: Served, window: Windows) -> None:
    """Nobody is left before a blank page."""
    one = window()
    one.page.goto(f"{shown.address}/no/such/page")
    one.page.get_by_role("heading", name="No such page").wait_for()
    one.page.get_by_role("link", name="Where it stands").last.click()
    one.page.get_by_role("heading", name="Where it stands").wait_for()


def test_the_name_and_the_units_of_a_reader_stay_on_the_device(shown: Served, window: Windows) -> None:
    """They are there after the page is opened anew."""
    one = window()
    one.page.goto(shown.address)
    one.page.get_by_text("Name, units, look").click()
    one.page.get_by_label("Name under which you enter").fill("Mai")
    one.page.get_by_label("Name under which you enter").press("Tab")
    one.page.locator("header dd", has_text="Mai").wait_for()
    one.page.get_by_text("Name, units, look").click()
    one.page.get_by_label("inch").check()
    one.page.locator("#content", has_text="thou").wait_for()
    one.page.reload()
    one.page.locator("#content", has_text="thou").wait_for()
    one.is_clean()
