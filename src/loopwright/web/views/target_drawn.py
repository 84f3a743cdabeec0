"""The drawings of one target: its answers on one scale, and what carries how much of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from loopwright.sheets.drawing import (
    Scale,
    box,
    drawing,
    lettering,
    line,
    mark,
    rule_along,
    table,
    witness_line,
)
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.units import Dimension
from loopwright.web.wording import say

ROW = 46.0
FARTHEST = 1.5
"""What is further out than so many times the rest is an arrow, or it would press the rest together."""


@dataclass(frozen=True)
class Answer:
    """One answer about a target; mm or rad.

    Attributes:
        shape: of its mark.
        name, meaning: in words.
        designed, built: as designed and as built; None where there is none.
    """

    shape: str
    name: str
    meaning: str
    designed: float | None
    built: float | None

    @property
    def values(self) -> list[float]:
        """Those that there are."""
        return [value for value in (self.designed, self.built) if value is not None]


def answers_figure(
    shown: Shown, name: str, limit: float, dimension: Dimension, answers: Sequence[Answer]
) -> Markup:
    """Answers and limit on one scribed scale: hollow as designed, solid as built."""
    near = max(limit, *[value for answer in answers if answer.built is not None for value in answer.values])
    far = max(value for answer in answers for value in answer.values)
    scale = Scale(0.0, 1.04 * shown.number(min(max(near, far), FARTHEST * near), dimension))
    bottom = 30 + ROW * len(answers)
    place = scale.at(shown.number(limit, dimension))
    said = say("target.limit", size=shown.limit(limit, dimension))
    told = "; ".join(f"{a.name} " + ", ".join(_said(shown, a, dimension).values()) for a in answers)
    side = "limit-word before" if place > 70 else "limit-word" if place < 15 else "limit-word middle"
    return drawing(
        bottom + 34,
        say("target.answers", name=name, limit=said, answers=told),
        box(place, 20, 100 - place, bottom - 20, "beyond"),
        witness_line(place, 20, bottom, said),
        lettering(place, 12, said, side),
        *[_row(shown, answer, dimension, scale, 62 + ROW * n) for n, answer in enumerate(answers)],
        rule_along(scale, bottom, shown.unit(dimension)),
        class_="scale both",
    )


def _said(shown: Shown, answer: Answer, dimension: Dimension) -> dict[str, str]:
    out = {}
    if answer.designed is not None:
        out["before"] = say("target.before", size=shown.error(answer.designed, dimension))
    if answer.built is not None:
        out["now"] = say("target.now", size=shown.error(answer.built, dimension))
    return out


def _row(shown: Shown, answer: Answer, dimension: Dimension, scale: Scale, y: float) -> Markup:
    said = _said(shown, answer, dimension)
    marks, places = [], []
    for value, class_, hover in (
        (answer.designed, "hollow", said.get("before")),
        (answer.built, "solid", said.get("now")),
    ):
        if value is None or hover is None:
            continue
        number = shown.number(value, dimension)
        places.append(scale.at(number))
        marks.append(mark(places[-1], y, "away" if number > scale.high else answer.shape, class_, hover))
        if number > scale.high:
            marks.append(lettering(100, y - 12, say("target.off_scale"), "tick right"))
    sizes = [shown.error(value, dimension) for value in answer.values]
    said_now = tag("tspan", sizes[-1], class_="value")
    earlier = tag("tspan", f"{sizes[0]} → ") if len(sizes) > 1 else None
    return joined(
        line(0, y, places[-1], y, "scribed reach"),
        *marks,
        tag("text", f"{answer.name} ", earlier, said_now, y=y, class_="answer"),
    )


def answers_table(shown: Shown, dimension: Dimension, answers: Sequence[Answer]) -> Markup:
    """The same as a table, with what each means."""
    rows = [
        (
            joined(tag("span", a.name), tag("span", a.meaning, class_="path")),
            "" if a.designed is None else shown.error(a.designed, dimension),
            "" if a.built is None else shown.error(a.built, dimension),
        )
        for a in answers
    ]
    return table((say("target.answer"), ">" + say("target.designed"), ">" + say("target.built")), rows)


def reach_of(values: Sequence[float]) -> Scale:
    """A scale for bars to either side of zero; with nothing below zero it begins there."""
    top = max(abs(value) for value in values)
    return Scale(-top if min(values) < 0 else 0.0, top)


def signed_bar(value: float, reach: Scale, said: str) -> Markup:
    """A number as a bar: what adds goes to the right of zero, what takes away to the left and is hatched."""
    zero = reach.at(0.0)
    low, high = sorted((zero, reach.at(value)))
    class_ = "adds" if value >= 0 else "takes"
    return drawing(
        18,
        said,
        line(zero, 0, zero, 18, "scribed thin"),
        box(low, 3, max(high - low, 0.4), 12, class_, said),
        class_="signed",
    )
