"""The HTML report of a standing: what it says, that it stands alone, and that no name breaks it."""

import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import pytest

from loopwright.sheets.drawing import Scale, graduations, reach
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.sheets.standing_page import page
from loopwright.sheets.standing_words import chance, counted_share, verdict
from loopwright.studies import example_loop, load_text, standing
from loopwright.studies.reports import Standing, TargetStanding, WhatIf

EMPTY = {"meta", "br", "hr", "col", "img", "link", "input", "wbr"}
HOSTILE = """<script>alert(1)</script> & "x" 'y' </style> \\ {0}"""

ONE_AXIS = """
format: loopwright-build/1
name: Quill on its column
bodies: {column: {}, quill: {}}
joints:
  slide:
    kind: linear
    parent: column
    child: quill
    along: +Z
    travel: [0, 120]
    errors: {EXZ: ±2 µm, EYZ: ±2 µm, EZZ: ±10 µm}
    errors_at: [0, 0, 0]
targets:
  sideways: {between: [column, quill], point: [0, 0, 0], component: X, over: {Z: [0, 120, 20]}, limit: 3 µm}
"""


@cache
def found() -> Standing:
    """The shipped example, with few trials."""
    return standing(example_loop("clock-plate"), trials=2000)


@cache
def whole() -> str:
    """Its report."""
    return page(found())


class Reader(HTMLParser):
    """Reads a page strictly: every element closed in its turn; keeps tags, texts and ids."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.ids: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_startendtag(tag, attrs)
        if tag not in EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len({name for name, _ in attrs}) == len(attrs), f"{tag} says something twice"
        self.tags.append((tag, dict(attrs)))
        self.ids += [value for name, value in attrs if name == "id" and value]

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"{tag} is closed and was not open"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    @property
    def text(self) -> str:
        return "".join(self.words)


def renamed(target: TargetStanding) -> TargetStanding:
    """A target whose every name is hostile."""
    return replace(
        target,
        name=HOSTILE,
        asks=HOSTILE,
        component=HOSTILE,
        zeroed=HOSTILE,
        components=tuple(replace(c, name=HOSTILE) for c in target.components),
        sources=tuple(
            replace(s, name=HOSTILE, part=HOSTILE, joint=HOSTILE, field=f"parts/{HOSTILE}/dims/{HOSTILE}")
            for s in target.sources
        ),
        drivers=tuple(
            replace(s, name=HOSTILE, part=HOSTILE, joint=HOSTILE, field=f"parts/{HOSTILE}/dims/{HOSTILE}")
            for s in target.drivers
        ),
        by_kind={HOSTILE: 1.0},
        by_joint={HOSTILE: 1.0},
        by_part={HOSTILE: 1.0},
        tightenings=tuple(
            replace(t, name=HOSTILE, part=HOSTILE, field=f"parts/{HOSTILE}/dims/{n}")
            for n, t in enumerate(target.tightenings)
        ),
        pairings=tuple(replace(p, first=HOSTILE, second=HOSTILE) for p in target.pairings),
        stiffness=target.stiffness
        and replace(target.stiffness, shares={d: {HOSTILE: 1.0} for d in target.stiffness.directions}),
    )


def with_hostile_names(given: Standing) -> Standing:
    """A standing whose every name is hostile."""
    return replace(
        given,
        build=HOSTILE,
        file=HOSTILE,
        targets=tuple(renamed(t) for t in given.targets),
        misfits=tuple(
            replace(j, joint=HOSTILE, worst=tuple(replace(c, contact=HOSTILE) for c in j.worst))
            for j in given.misfits
        ),
        assumptions=(HOSTILE,),
        idle_dims=(HOSTILE,),
    )


def test_every_target_stands_there_with_its_chance_and_its_three_answers() -> None:
    """Each sheet names its target, its limit, the chance to hold it and the three answers."""
    text, shown = Reader(whole()).text, Shown(found().units)
    for target in found().targets:
        assert target.name in text
        sheet = re.search(rf'<h2 id="[^"]*">{target.name}</h2>.*?</section>', whole(), re.S)
        assert sheet is not None
        words = Reader(f"<p>{sheet[0].removesuffix('</section>')}</p>").text
        assert f"{chance(target.monte_carlo)} chance to hold" in words
        assert f"limit {shown.limit(target.limit, target.dimension)}" in words
        for size in (target.expected, target.monte_carlo.quantiles[0.95], target.worst_case):
            assert shown.error(size, target.dimension) in words


def test_the_page_says_how_it_was_found() -> None:
    """Machine, seed, number of machines drawn, confidence, assumptions and idle dims are on the page."""
    text = Reader(whole()).text
    for words in (
        found().build,
        "2\u00a0000 machines, seed 0",
        "confidence95\u00a0%",
        *found().assumptions,
        *found().idle_dims,
    ):
        assert words in text


def test_every_over_constrained_joint_is_listed() -> None:
    """Each over-constrained joint has its heading."""
    for joint in found().misfits:
        assert f"<h4>{joint.joint}<small>" in whole()


def test_the_page_is_well_formed() -> None:
    """Every element is closed in its turn, no id stands twice, and every link leads to one."""
    read = Reader(whole())
    assert read.tags[0][0] == "html"
    assert len(read.ids) == len(set(read.ids))
    links = [attributes["href"] for name, attributes in read.tags if name == "a"]
    assert {link.removeprefix("#") for link in links if link} <= set(read.ids)


def test_the_page_needs_nothing_besides_itself() -> None:
    """No address, script, image, frame or style sheet from elsewhere is in it, and the browser is told so."""
    read = Reader(whole())
    names = {name for name, _ in read.tags}
    assert not names & {"script", "link", "img", "iframe", "object", "embed", "base", "form", "image", "use"}
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", whole(), re.I)
    fetched = [
        a for _, attributes in read.tags for a in attributes if a in ("src", "srcset", "data", "action")
    ]
    handlers = [a for _, attributes in read.tags for a in attributes if a.startswith("on")]
    assert (fetched, handlers) == ([], [])
    policies = [a["content"] for n, a in read.tags if n == "meta" and "http-equiv" in a]
    assert policies == ["default-src 'none'; style-src 'unsafe-inline'"]


def test_no_name_breaks_the_page() -> None:
    """Names full of markup and quotes come out as the same text, and as nothing else."""
    hostile = page(with_hostile_names(found()))
    read, plain = Reader(hostile), Reader(whole())
    assert HOSTILE in read.text
    assert "<script" not in hostile
    assert {name for name, _ in read.tags} == {name for name, _ in plain.tags}
    assert not [
        a
        for _, attributes in read.tags
        for a in attributes
        if a.startswith(("on", "alert", "x")) and a not in ("x", "x1", "x2")
    ]


def test_the_same_record_gives_the_same_page() -> None:
    """Two reports of one standing are equal to the letter."""
    assert page(found()) == whole()


def test_the_page_is_small() -> None:
    """The report of the example is well below a megabyte."""
    assert len(whole().encode()) < 1_000_000


def test_every_drawing_says_itself_in_words() -> None:
    """A drawing that is no ornament has a text for those who do not see it."""
    drawings = [a for name, a in Reader(whole()).tags if name == "svg" and a.get("class") != "at"]
    assert drawings
    assert all(a.get("aria-label") or a.get("aria-hidden") == "true" for a in drawings)


def test_a_single_axis_is_a_line_and_no_axis_is_no_map() -> None:
    """Where one axis moves the report draws a line; where none moves it leaves the map out."""
    given = standing(load_text(ONE_AXIS), trials=500)
    assert "along Z, in µm" in Reader(page(given)).text
    still = replace(given, targets=(replace(given.targets[0], maps=(), worst_pose={}, stiffness=None),))
    assert "Where in the volume" not in Reader(page(still)).text
    assert "at the worst pose, home" in Reader(page(still)).text


def test_a_map_of_many_poses_stays_small() -> None:
    """A map of 100 by 100 poses is drawn in runs of one tint, with its table thinned out."""
    target = found().targets[0]
    places = tuple(float(n) for n in range(100))
    sizes = tuple(tuple(0.0001 * (r + n) for n in range(100)) for r in range(100))
    large = replace(target.maps[0], across_values=places, up_values=places, size=sizes)
    text = page(replace(found(), targets=(replace(target, maps=(large,)),)))
    assert "thinned out" in text
    assert len(text.encode()) < 1_000_000


def test_a_comparison_stands_first_with_both_values() -> None:
    """What was changed, and the chance before and after, come before everything else."""
    before = found()
    better = replace(before.targets[0].monte_carlo, chance=0.993, chance_std=0.002)
    after = replace(before, targets=(replace(before.targets[0], monte_carlo=better), *before.targets[1:]))
    text = page(WhatIf({f"parts/{HOSTILE}": "240 ±0.01"}, before, after))
    first = Reader(text).text.partition("Overview, with the change")[0]
    for words in (HOSTILE, "240 ±0.01", chance(before.targets[0].monte_carlo), "99.3 %", "points, better"):
        assert words in first
    assert "no more than sampling" in first


@pytest.mark.parametrize(
    ("share", "sign"), [(0.7, "short"), (0.94, "open"), (0.955, "open"), (0.999, "enough"), (1.0, "enough")]
)
def test_the_verdict_is_open_where_sampling_could_turn_it(share: float, sign: str) -> None:
    """A chance within two standard uncertainties of the confidence asked for decides nothing."""
    target = found().targets[0]
    drawn = replace(target.monte_carlo, confidence=0.95, chance=share, chance_std=0.006)
    assert verdict(replace(target, monte_carlo=drawn)).sign == sign


def test_a_counted_share_is_never_a_bare_hundred() -> None:
    """All of N trials tell no more than 1 - 3/N: the rule of three, common practice (from memory)."""
    assert [counted_share(1.0, 0.0, n) for n in (100, 300, 3000)] == ["over 95 %", "over 99 %", "over 99.9 %"]
    assert counted_share(0.0, 0.0, 3000) == "under 0.1 %"


def test_graduations_are_round_and_reach_covers() -> None:
    """A rule is divided by 1, 2 or 5 times a power of ten, and its end is no less than what it carries."""
    assert graduations(23.0) == [0.0, 5.0, 10.0, 15.0, 20.0]
    assert reach(23.0) == 25.0
    assert graduations(reach(0.0123))[-1] >= 0.0123
    assert graduations(float("nan")) == [0.0]


def test_a_scale_keeps_its_drawing() -> None:
    """What lies off a scale is drawn at its end, never outside."""
    scale = Scale(0.0, 50.0)
    assert [scale.at(v) for v in (-1.0, 25.0, 60.0, float("inf"), float("nan"))] == [0, 50, 100, 100, 0]


def test_only_markup_passes_unescaped() -> None:
    """Text is escaped in content and attributes; markup made by a tag is kept."""
    assert tag("p", "<b>", tag("i", "&"), title='"<') == '<p title="&quot;&lt;">&lt;b&gt;<i>&amp;</i></p>'
    assert isinstance(joined("a", None), Markup)
