"""The machine from state to state: a chart of every target, the figures, and any two states side by side."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from loopwright.sheets.drawing import (
    Scale,
    drawing,
    graduations,
    lettering,
    line,
    mark,
    plain,
    reach,
    spread_out,
    table,
)
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.state_comparison import StatesCompared, StateStood, Stood, states_compared
from loopwright.units import Dimension
from loopwright.web.views.book import turned
from loopwright.web.views.book_effect import brought, moved
from loopwright.web.views.book_words import day, entry_path, thing_words
from loopwright.web.views.fit_up_figures import legend
from loopwright.web.views.kit import button, chance, choice, form, head, paper, row
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

TOP, BOTTOM = 14.0, 150.0
LETTERED = 12


def compare(work: Work, reader: Reader, *, telling: Telling) -> StatesCompared:
    """Works out the machine in each of its states; long work."""
    return states_compared(work.bench, progress=telling.progress, cancel=telling.cancelled)


def keep(work: Work, reader: Reader, found: StatesCompared) -> None:
    """Keeps what was worked out for whoever asks next, until the description changes."""
    work.bench.kept["states compared"] = found


def is_kept(work: Work, reader: Reader) -> bool:
    """Whether it is worked out and still holds."""
    found = _kept(work)
    return found is not None and found.last == work.bench.last


def _kept(work: Work) -> StatesCompared | None:
    found: StatesCompared | None = work.bench.kept.get("states compared")
    return found


def title(work: Work, reader: Reader) -> Markup:
    """The head of the page, which is there at once."""
    return joined(head(say("book.title"), say("book.states_lede")), turned("states", reader))


def states(work: Work, reader: Reader, pair: tuple[int, int] | None, stopped: bool) -> Markup:
    """The machine from state to state, as far as it was worked out.

    Args:
        work: with the book.
        reader: who looks.
        pair: two states that are compared; None takes the last two.
        stopped: somebody stopped the work.
    """
    found, shown = _kept(work), work.shown(reader)
    anew = row(button(say("book.states_anew"), "states_again"))
    if found is None:
        return paper(None, tag("p", say("frame.stopped")), anew) if stopped else Markup()
    stale = found.last != work.bench.last
    told = (
        tag("div", tag("p", say("book.states_stale", entry=found.last)), anew, class_="told")
        if stale
        else None
    )
    if len(found.states) < 2:
        return joined(told, empty(say("book.tab_states"), say("book.states_one")), _table(shown, found))
    numbers = [one.number for one in found.states]
    first, second = pair if pair and set(pair) <= set(numbers) else (numbers[-2], numbers[-1])
    return joined(
        told,
        _charts(shown, found),
        _pick(shown, found, first, second),
        _table(shown, found),
    )


def _charts(shown: Shown, found: StatesCompared) -> Markup:
    figures = [
        tag("figure", tag("figcaption", name), _chart(shown, found, k, dimension, limit), class_="plane")
        for k, (name, dimension, limit) in enumerate(found.targets)
    ]
    return paper(
        say("book.states_chart"),
        tag("p", say("book.states_chart_told"), class_="note"),
        tag("div", *figures, class_="planes"),
        legend(
            ("round", "hollow", say("book.states_begun")),
            ("round", "solid", say("book.states_ended")),
        ),
    )


def _chart(shown: Shown, found: StatesCompared, number: int, dimension: Dimension, limit: float) -> Markup:
    unit = shown.unit(dimension)

    def value(size: float) -> float:
        return shown.number(size, dimension)

    high = [value(s.ended[number].expected + s.ended[number].unknown) for s in found.states]
    high += [value(s.begun[number].expected) for s in found.states]
    steps = graduations(reach(max(*high, value(limit)), 4), 4)
    down = Scale(steps[-1], 0.0)

    def y(size: float) -> float:
        return TOP + (BOTTOM - TOP) * down.share(size)

    count = len(found.states)
    places = [100 * (k + 0.5) / count for k in range(count)]
    ends = [(x, y(value(s.ended[number].expected))) for x, s in zip(places, found.states)]
    return drawing(
        BOTTOM + 42,
        f"{found.targets[number][0]}: "
        + "; ".join(_said(shown, s, s.ended[number], dimension) for s in found.states[-LETTERED:]),
        *[
            joined(line(0, y(v), 100, y(v), "rest"), lettering(0, y(v) + 4, plain(v), "tick left", dx=-6))
            for v in steps
        ],
        line(0, y(value(limit)), 100, y(value(limit)), "limit"),
        *[line(*a, *b, "curve") for a, b in pairwise(ends)],
        *[piece for x, s in zip(places, found.states) for piece in _marks(shown, s, number, dimension, x, y)],
        *[
            lettering(places[k], BOTTOM + 18, str(found.states[k].number), "tick")
            for k in spread_out(count, LETTERED)
        ],
        lettering(0, BOTTOM + 38, unit, "axis-name"),
        lettering(100, BOTTOM + 38, f"{say('book.states_state')} →", "axis-name right"),
        lettering(
            100,
            y(value(limit)) - 6,
            f"{say('book.limit')} {shown.limit(limit, dimension)}",
            "limit-word before",
        ),
        class_="map",
    )


def _marks(
    shown: Shown, one: StateStood, number: int, dimension: Dimension, x: float, y: Callable[[float], float]
) -> list[Markup]:
    begun, ended = one.begun[number], one.ended[number]
    at = [y(shown.number(v, dimension)) for v in (begun.expected, ended.expected)]
    low, high = (
        y(shown.number(max(ended.expected + sign * ended.unknown, 0.0), dimension)) for sign in (-1, 1)
    )
    pieces = [line(x, low, x, high, "scribed thin"), line(x - 0.8, low, x + 0.8, low, "scribed thin")]
    pieces.append(line(x - 0.8, high, x + 0.8, high, "scribed thin"))
    if begun != ended:
        pieces.append(mark(x, at[0], "round", "hollow", _said(shown, one, begun, dimension)))
    pieces.append(mark(x, at[1], "round", "solid", _said(shown, one, ended, dimension)))
    return pieces


def _said(shown: Shown, one: StateStood, stood: Stood, dimension: Dimension) -> str:
    return say(
        "book.states_mark",
        number=one.number,
        when=day(one.at),
        expected=shown.error(stood.expected, dimension),
        unknown=shown.error(stood.unknown, dimension),
    )


def _pick(shown: Shown, found: StatesCompared, first: int, second: int) -> Markup:
    words = {str(s.number): say("book.states_option", number=s.number, reason=s.reason) for s in found.states}
    between = found.between(first, second)
    return paper(
        say("book.states_pick"),
        form(
            "states_pick",
            tag(
                "div",
                choice(say("book.states_first"), "first", words, value=str(first)),
                choice(say("book.states_second"), "second", words, value=str(second)),
                class_="fields level wide",
            ),
            row(button(say("book.states_compare"), first=True)),
            stay=True,
        ),
        tag("h3", say("book.states_between", first=between.first, second=between.second)),
        tag("ol", *[_passed(shown, one) for one in between.states], class_="passed"),
        brought(shown, between.targets)
        if moved(between.targets)
        else tag("p", say("book.effect_none"), class_="note"),
        id="pick",
    )


def _passed(shown: Shown, one: StateStood) -> Markup:
    things = "; ".join(thing_words(thing, shown) for thing in one.things)
    return tag(
        "li",
        tag("a", say("book.states_in_state", number=one.number), href=entry_path(one.entry)),
        f", {day(one.at)}, {one.who}: {one.reason}; ",
        plural("book.states_readings", one.readings),
        tag("span", things, class_="beside under") if things else None,
    )


def _table(shown: Shown, found: StatesCompared) -> Markup:
    head_ = (
        say("book.states_state"),
        *[f">{name}" for name, *_ in found.targets],
        ">" + say("book.states_readings", count="").strip(),
    )
    rows: list[Sequence[Child]] = []
    for one in found.states:
        cells = [
            joined(
                tag("b", shown.error(stood.expected, dimension)),
                tag("span", f"± {shown.error(stood.unknown, dimension)}", class_="beside under"),
                tag("span", chance(stood.chance), class_="beside under"),
            )
            for (_, dimension, _), stood in zip(found.targets, one.ended)
        ]
        name = joined(
            tag("a", say("book.states_in_state", number=one.number), href=entry_path(one.entry)),
            tag("span", f"{day(one.at)}, {one.who}: {one.reason}", class_="beside under"),
        )
        rows.append((name, *cells, str(one.readings)))
    return paper(
        say("book.states_table"),
        tag("p", say("book.states_table_told"), class_="note"),
        table(head_, rows, class_="blocks"),
    )
