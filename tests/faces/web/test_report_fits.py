"""The report of a budget fits the window: no table of it has to be scrolled sideways."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from loopwright.sheets.standing_page import page
from loopwright.studies import example_loop, standing

TOO_WIDE = """() => [...document.querySelectorAll('.tabled')]
    .filter(one => one.checkVisibility() && one.scrollWidth > one.clientWidth + 1)
    .map(one => `${one.firstElementChild.className}: ${one.scrollWidth - one.clientWidth} px too wide`)
    .concat(document.documentElement.scrollWidth > innerWidth ? ['the page itself'] : [])"""
CUT = """() => [...document.querySelectorAll('.overview td:last-child')]
    .filter(one => one.getBoundingClientRect().right > one.closest('.tabled').getBoundingClientRect().right + 1)
    .length"""
WIDTHS = (360, 390, 720, 721, 820, 900, 1000, 1001, 1050, 1064, 1065, 1100, 1150, 1185, 1200, 1264, 1440)


@pytest.mark.parametrize("name", ["clock-plate", "guitar-gantry"])
def test_no_table_is_cut(name: str, browser: Browser, tmp_path: Path) -> None:
    """At every width of a window, and on A4 and Letter paper, all columns of all tables are there to be seen."""
    report = tmp_path / "report.html"
    report.write_text(page(standing(example_loop(name), trials=500)), "utf-8")
    window = browser.new_page()
    try:
        window.goto(report.as_uri())
        for width in WIDTHS:
            window.set_viewport_size({"width": width, "height": 900})
            assert (width, window.evaluate(TOO_WIDE), window.evaluate(CUT)) == (width, [], 0)
        window.emulate_media(media="print")
        for paper, width in (("A4", 703), ("Letter", 725)):
            window.set_viewport_size({"width": width, "height": 1000})
            assert (paper, window.evaluate(TOO_WIDE), window.evaluate(CUT)) == (paper, [], 0)
    finally:
        window.close()
