"""The drawings of the front page: every target against its limit, and how much of the machine is known."""

from collections.abc import Sequence

from loopwright.sheets.drawing import (
    MARKS,
    Scale,
    box,
    drawing,
    line,
    mark,
    rule_along,
    witness_line,
)
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.as_built import TargetAsBuilt
from loopwright.web.views.kit import chip
from loopwright.web.wording import say

ROW, FOOT = 56.0, 34.0
LEAST, MOST = 1.18, 2.6
"""How far the common scale goes at least and at most, in limits; what is further out is an arrow."""
CHIPS = {"enough": "conforming", "not yet": "not conforming", "too close to call": "undecided"}


def verdict_chip(verdict: str) -> Markup:
    """The verdict on a target as a shape and a word."""
    return chip(CHIPS[verdict], verdict)


def against_limits(shown: Shown, targets: Sequence[TargetAsBuilt], paths: Sequence[str]) -> Markup:
    """Every target on one scale that counts in limits, with its chance and verdict.

    Args:
        shown: formats numbers.
        targets: as they stand.
        paths: address of the page of each.
    """
    far = max(max(t.expected, t.designed, t.coverage) / t.limit for t in targets)
    scale = Scale(0.0, min(max(LEAST, 1.05 * far), MOST))
    rows = [_row(shown, target, path, scale) for target, path in zip(targets, paths)]
    percents = Scale(0.0, 100 * scale.high)
    rule = drawing(FOOT, say("standing.scale"), rule_along(percents, 1.0, "%", most=4))
    foot = tag("li", tag("span"), rule, tag("span"), class_="foot", aria_hidden="true")
    return joined(tag("ol", *rows, foot, class_="against"), _legend(targets[0].confidence))


def _row(shown: Shown, target: TargetAsBuilt, path: str, scale: Scale) -> Markup:
    numbers = tag(
        "span",
        tag("b", shown.error(target.expected, target.dimension)),
        " ",
        say("standing.of", limit=shown.limit(target.limit, target.dimension)),
        class_="numbers",
    )
    chance = tag(
        "span",
        tag("b", percent(target.chance, target.chance_std)),
        verdict_chip(target.verdict),
        class_="held",
    )
    name = tag("a", target.name, href=path)
    return tag("li", tag("span", name, numbers, class_="which"), _strip(shown, target, scale), chance)


def _strip(shown: Shown, target: TargetAsBuilt, scale: Scale) -> Markup:
    """One target: hollow as designed, solid as built, a diamond where the asked-for share of machines keeps below."""
    middle, limit = ROW / 2, scale.at(1.0)
    built, designed, covered = (
        value / target.limit for value in (target.expected, target.designed, target.coverage)
    )
    said = {
        "designed": say("standing.designed_is", size=shown.error(target.designed, target.dimension)),
        "built": say("standing.built_is", size=shown.error(target.expected, target.dimension)),
        "covered": say(
            "standing.covered_is",
            share=percent(target.confidence),
            size=shown.error(target.coverage, target.dimension),
        ),
    }
    return drawing(
        ROW,
        "; ".join([target.name, *said.values()]),
        box(limit, 0, 100 - limit, ROW, "beyond"),
        line(0, middle, scale.at(covered), middle, "rest"),
        line(0, middle, scale.at(built), middle, "scribed reach"),
        witness_line(
            limit, 0, ROW, say("standing.limit_is", size=shown.limit(target.limit, target.dimension))
        ),
        mark(scale.at(designed), middle, _shape(designed, scale, "round"), "hollow", said["designed"]),
        mark(scale.at(covered), middle, _shape(covered, scale, "diamond"), "hollow", said["covered"]),
        mark(scale.at(built), middle, _shape(built, scale, "round"), "solid expected", said["built"]),
    )


def _shape(value: float, scale: Scale, shape: str) -> str:
    return "away" if value > scale.high else shape


def _legend(confidence: float) -> Markup:
    entries = (
        ("round", "hollow", say("standing.legend_designed")),
        ("round", "solid expected", say("standing.legend_built")),
        ("diamond", "hollow", say("standing.legend_covered", share=percent(confidence))),
    )
    items = [tag("li", legend_sign(shape, class_), words) for shape, class_, words in entries]
    return tag("ul", *items, class_="key")


def legend_sign(shape: str, class_: str) -> Markup:
    """A mark as it stands in a drawing, for the words beside it."""
    outline = tag("path", d=MARKS[shape], class_=class_)
    return tag(
        "svg", outline, viewBox="-9 -9 18 18", width=18, height=18, aria_hidden="true", class_="legend-mark"
    )


def known_bar(measured: int, assumed: int, unresolved: int) -> Markup:
    """How many deviations are measured, assumed and unresolved, as three pieces of one bar."""
    whole = measured + assumed + unresolved or 1
    pieces, start = [], 0.0
    told = say("standing.known_bar", measured=measured, assumed=assumed, unresolved=unresolved)
    for count, class_ in ((measured, "measured"), (assumed, "assumed"), (unresolved, "unresolved")):
        share = 100 * count / whole
        if count:
            pieces.append(box(start, 1, share, 26, class_, told))
        start += share
    return drawing(28, told, *pieces, class_="known")
