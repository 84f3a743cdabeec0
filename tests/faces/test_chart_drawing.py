"""The tolerance chart as a drawing: each cut an arrow from its datum to its surface, on the screen and on paper.

Layout: columns of surfaces, a row for each cut, the stock beside it and the dims of the drawing below, as in D. F. Eary
and G. E. Johnson, *Process Engineering for Manufacturing* (1962), from memory. The parts are invented.
"""

import re
import xml.etree.ElementTree as ET
from functools import lru_cache
from itertools import pairwise

import pytest

from loopwright.making.chart_picture import Arrow, ChartPicture, Column, Foot
from loopwright.model.build import Units
from loopwright.sheets.chart_drawing import LEFT, MOST_ROWS, RIGHT, chart_drawing, charts_for_paper
from loopwright.sheets.markup import Markup
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.chart_sheet import chart_sheet
from made_parts import BRACKET, build, thin_ring

SVG = "{http://www.w3.org/2000/svg}"
WIDTH = 527.0
SIZES = ShopSizes(Units())


@lru_cache(maxsize=1)
def pictures() -> dict[str, ChartPicture]:
    """The ring's charts, by direction."""
    return {one.direction: one.picture for one in chart_sheet(thin_ring(), "ring").charts if one.picture}


def parsed(drawing: Markup) -> ET.Element:
    """A drawing as a tree; on the screen it has no name space of its own."""
    return ET.fromstring(drawing)


def share(text: str | None) -> float:
    """A place in per cent."""
    assert text is not None
    return float(text.removesuffix("%"))


def cuts(root: ET.Element) -> list[tuple[float, float]]:
    """From where to where each arrow goes, per cent."""
    lines = [one for one in root.iter() if "cut" in one.get("class", "").split()]
    return [(share(one.get("x1")), share(one.get("x2"))) for one in lines]


@pytest.mark.parametrize("direction", ["Z", "round"])
def test_every_cut_is_an_arrow_from_datum_to_surface(direction: str) -> None:
    """Arrows run between the columns that the chart names, in the order of work."""
    picture = pictures()[direction]
    root = parsed(charts_for_paper(picture, SIZES, WIDTH)[0])
    step = (RIGHT - LEFT) / len(picture.columns)
    columns = [LEFT + step * (n + 0.5) for n in range(len(picture.columns))]
    wanted = [(columns[a.start], columns[a.end]) for a in picture.arrows if a.start is not None]
    assert cuts(root) == [pytest.approx(pair, abs=1e-3) for pair in wanted]


def test_numbers_stand_beside_their_cut() -> None:
    """Working dim and stock of a row are those of the chart, and the drawing's dims stand below with their limits."""
    picture = pictures()["Z"]
    words = [
        text.text or "" for text in parsed(charts_for_paper(picture, SIZES, WIDTH)[0]).iter(f"{SVG}text")
    ]
    for arrow in picture.arrows:
        if arrow.size is not None and arrow.half is not None:
            assert any(SIZES.working(arrow.size, arrow.half)[0] in word for word in words), arrow
        if arrow.balance is not None:
            assert SIZES.stock(arrow.balance.low, arrow.balance.high)[0] in words
    assert "11.995 to 12.005" in words
    assert any("every length grows 0.05 % to 0.18 %" in word for word in words)


def test_what_is_not_held_is_marked_without_colour() -> None:
    """A working dim tighter than its machine, and a dim that is missed, carry a sign that black ink can print."""
    tight = BRACKET.replace("op: lap, machine: plate, datum: [top], cuts: {foot: {}}", LAPPED)
    (picture,) = (one.picture for one in chart_sheet(build(tight), "bracket").charts if one.direction == "Z")
    assert picture is not None
    words = [
        text.text or "" for text in parsed(charts_for_paper(picture, SIZES, WIDTH)[0]).iter(f"{SVG}text")
    ]
    assert "not held !" in words
    assert "[30.100 ±0.010]" in words


LAPPED = "op: lap, machine: plate, datum: [top], cuts: {foot: {size: 30.1 ±0.01}}"


def test_on_paper_it_is_black_on_white_and_needs_no_page() -> None:
    """Its colours are greys, it has a view box in points, and no custom property is asked of a page."""
    (drawing,) = charts_for_paper(pictures()["Z"], SIZES, WIDTH)
    root = parsed(drawing)
    assert root.tag == f"{SVG}svg"
    assert float(root.get("viewBox", "").split()[2]) == WIDTH
    assert "var(" not in drawing
    for colour in re.findall(r"#([0-9a-f]{3,6})\b", drawing):
        assert len(set(colour)) == 1


def test_on_the_screen_it_takes_the_colours_of_the_page() -> None:
    """It is as wide as its place, says what it is, names each cut under the pointer, and brings no colour."""
    drawing = chart_drawing(pictures()["Z"], SIZES)
    root = parsed(drawing)
    assert root.get("width") == "100%"
    assert root.get("role") == "img"
    assert "ring" in root.get("aria-label", "")
    assert "#" not in drawing
    titles = [one.text or "" for one in root.iter("title")]
    assert any("op 70 surface grind" in title and "right from left" in title for title in titles)


def test_a_long_chart_goes_on_in_the_next_drawing() -> None:
    """Rows are shared out evenly, none is lost, and each drawing has its columns named."""
    long = _long(2 * MOST_ROWS)
    drawings = [parsed(one) for one in charts_for_paper(long, SIZES, WIDTH)]
    assert len(drawings) == 3
    assert sum(len(cuts(root)) for root in drawings) == 2 * MOST_ROWS
    for root in drawings:
        assert [t.text for t in root.iter(f"{SVG}text")].count("left") == 1


def test_rows_do_not_run_into_each_other() -> None:
    """Rows lie as far apart as lettering needs, also where many names lean over their columns."""
    columns = tuple(Column(f"a_face_with_a_long_name_{n}", 1, float(n)) for n in range(9))
    picture = ChartPicture("wide", columns, _long(5).arrows, (), (), 1.0)
    (drawing,) = charts_for_paper(picture, SIZES, WIDTH)
    root = parsed(drawing)
    rows = sorted({float(one.get("y1", "0")) for one in root.iter() if one.get("class") == "cut"})
    assert all(later - before >= 18 for before, later in pairwise(rows))
    assert "…" in drawing


def _long(many: int) -> ChartPicture:
    columns = (Column("left", -1, 0.0), Column("right", 1, 10.0))
    arrows = tuple(
        Arrow(
            n, 10 * n, "turn", "", False, n % 2, 1 - n % 2, 0.0, 10.0, 1, False, 10.0, 0.05, False, True, None
        )
        for n in range(many)
    )
    foot = Foot("length", 0, 1, 9.9, 10.1, 9.95, 10.05, 1.0, True, False)
    return ChartPicture("long", columns, arrows, (), (foot,), 1.0)
