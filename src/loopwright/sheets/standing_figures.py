"""The drawings of a target: its three answers, the spread of its worst error, what a change brings."""

from collections.abc import Sequence
from typing import Protocol

from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import (
    Scale,
    box,
    drawing,
    graduations,
    in_figures,
    lettering,
    line,
    mark,
    plain,
    reach,
    rule_along,
    witness_line,
)
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.reports import MonteCarloStanding, TargetStanding
from loopwright.units import Dimension

SHAPES = {"expected": "round", "coverage": "diamond", "worst": "block"}
"""Mark of each answer."""

_FARTHEST = 5.0
"""A worst case further out than so many times the rest is an arrow, or it would press the rest together."""
_ROW = 46.0


def three_answers(target: TargetStanding) -> dict[str, tuple[str, float]]:
    """Key, name and value of the three answers, mm or rad."""
    return {
        "expected": ("expected", target.expected),
        "coverage": (
            f"{words.confidence(target.monte_carlo.confidence)} of machines",
            words.at_confidence(target),
        ),
        "worst": ("everything at its limit", target.worst_case),
    }


def answers_figure(shown: Shown, target: TargetStanding, before: TargetStanding | None = None) -> Markup:
    """The three answers and the limit on one scribed scale; with ``before``, each as it was and as it is."""
    answers = three_answers(target)
    was = {key: value for key, (_, value) in three_answers(before).items()} if before is not None else {}
    near = max(
        target.limit, *[v for key, (_, v) in answers.items() if key != "worst"], was.get("coverage", 0)
    )
    far = max(answers["worst"][1], was.get("worst", 0.0))
    scale = Scale(0.0, 1.04 * shown.number(min(max(near, far), _FARTHEST * near), target.dimension))
    bottom = 30 + _ROW * len(answers)
    limit = scale.at(shown.number(target.limit, target.dimension))
    said = f"limit {shown.limit(target.limit, target.dimension)}"
    told = [f"{name} {shown.error(value, target.dimension)}" for name, value in answers.values()]
    return drawing(
        bottom + 34,
        f"{said}; " + "; ".join(told),
        box(limit, 20, 100 - limit, bottom - 20, "beyond"),
        witness_line(limit, 20, bottom, said),
        lettering(limit, 12, said, _side(limit, "limit-word")),
        *[
            _answer_row(shown, target, scale, key, 62 + _ROW * n, was.get(key))
            for n, key in enumerate(answers)
        ],
        rule_along(scale, bottom, shown.unit(target.dimension)),
        class_="scale" if before is None else "scale both",
    )


def _answer_row(
    shown: Shown, target: TargetStanding, scale: Scale, key: str, y: float, was: float | None
) -> Markup:
    name, value = three_answers(target)[key]
    said, number = shown.error(value, target.dimension), shown.number(value, target.dimension)
    out, place = number > scale.high, scale.at(number)
    gone, earlier = None, None
    if was is not None:
        before, said = (words.beside(shown, v, was, target.dimension) for v in (was, value))
        old = shown.number(was, target.dimension)
        gone = mark(
            scale.at(old), y, "away" if old > scale.high else SHAPES[key], "hollow", f"before: {before}"
        )
        earlier = tag("tspan", f"{before} → ")
    return joined(
        line(0, y, place, y, "scribed reach"),
        gone,
        mark(place, y, "away" if out else SHAPES[key], f"solid {key}", f"{name}: {said}"),
        lettering(100, y - 12, "off the scale", "tick right") if out else None,
        tag("text", f"{name} ", earlier, tag("tspan", said, class_="value"), y=y, class_="answer"),
    )


def _side(place: float, class_: str) -> str:
    """Lettering at a line stands on the side that has room."""
    return f"{class_} before" if place > 70 else class_ if place < 15 else f"{class_} middle"


class Drawn(Protocol):
    """A target of which machines were drawn, as designed or as built."""

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""

    @property
    def limit(self) -> float:
        """Its limit, mm or rad."""

    @property
    def monte_carlo(self) -> MonteCarloStanding:
        """How the worst error is spread."""


def histogram_figure(shown: Shown, target: Drawn, reach_to: float = 0.0) -> Markup:
    """How the worst error over the volume is spread over the machines drawn, with the limit through it.

    Args:
        shown: formats numbers.
        target: whose error it is.
        reach_to: the scale goes at least so far, mm or rad, so that two of them can be held side by side.
    """
    unit, drawn = shown.unit(target.dimension), target.monte_carlo
    bars = [
        (shown.number(low, target.dimension), shown.number(high, target.dimension), share)
        for low, high, share in drawn.histogram
    ]
    rows = [(f"{low:.3g} to {high:.3g} {unit}", percent(share)) for low, high, share in bars if share > 0]
    quantiles = [
        (f"{words.confidence(p)} are below", shown.error(v, target.dimension, digits=3))
        for p, v in drawn.quantiles.items()
    ]
    figures = in_figures("These bars as a table", ("worst error", ">machines"), [*rows, *quantiles])
    return joined(_histogram(shown, target, bars, reach_to), figures)


def _histogram(
    shown: Shown, target: Drawn, bars: Sequence[tuple[float, float, float]], reach_to: float
) -> Markup:
    unit, drawn = shown.unit(target.dimension), target.monte_carlo
    limit = shown.number(target.limit, target.dimension)
    covered = shown.number(drawn.quantiles[drawn.confidence], target.dimension)
    told = f"{words.confidence(drawn.confidence)} of machines are below {covered:.3g} {unit}"
    far = max(bars[-1][1] if bars else limit, shown.number(reach_to, target.dimension))
    scale = Scale(0.0, max(far, limit * 1.06))
    tallest = reach(max((100 * share for *_, share in bars), default=1.0), 4)
    top, bottom, place = 24.0, 204.0, scale.at(limit)
    height = (bottom - top) / tallest
    rests = [(bottom - v * height, f"{plain(v)} %") for v in graduations(tallest, 4)[1:]]
    return drawing(
        bottom + 34,
        f"Histogram of the worst error of {words.counted(drawn.trials)} machines. {told}. "
        f"The limit is {limit:.3g} {unit}.",
        *[joined(line(0, y, 100, y, "rest"), lettering(0, y - 4, v, "tick first")) for y, v in rests],
        *[piece for bar in bars for piece in _bar(bar, scale, limit, bottom, height, unit)],
        witness_line(place, top - 6, bottom, f"limit {limit:.3g} {unit}"),
        lettering(place, 12, "limit", _side(place, "limit-word")),
        mark(scale.at(covered), bottom, "diamond", "solid coverage", told),
        rule_along(scale, bottom, unit),
        class_="histogram",
    )


def _bar(
    bar: tuple[float, float, float], scale: Scale, limit: float, bottom: float, height: float, unit: str
) -> list[Markup]:
    """One bar; where the limit goes through it, in two pieces."""
    low, high, share = bar
    cut = min(max(limit, low), high)
    hover = f"{low:.3g} to {high:.3g} {unit}: {percent(share)} of machines"
    tall = 100 * share * height
    if share <= 0:
        return []
    return [
        box(scale.at(a), bottom - tall, scale.at(b) - scale.at(a), tall, class_, hover)
        for a, b, class_ in ((low, cut, "bar within"), (cut, high, "bar over"))
        if b > a
    ]


def change_figure(now: float, then: float, scale: Scale, said: str) -> Markup:
    """From a hollow mark to a solid one on a common scale."""
    return drawing(
        18,
        said,
        line(0, 9, scale.at(then), 9, "rest"),
        line(scale.at(then), 9, scale.at(now), 9, "scribed"),
        mark(scale.at(now), 9, "round", "hollow", said),
        mark(scale.at(then), 9, "round", "solid expected", said),
        class_="change",
    )
