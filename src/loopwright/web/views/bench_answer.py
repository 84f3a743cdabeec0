"""What the bench shows of a reading: entered, with its verdict and what it brought; asked about; or refused."""

from collections.abc import Sequence
from typing import Any
from urllib.parse import quote

from loopwright.errors import Problem
from loopwright.model.records import Entry, Reading
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.effect import TargetEffect
from loopwright.studies.entering import Doubted, Entered
from loopwright.studies.recording import Considered
from loopwright.web.views.bench_drawn import moved_figure, sweep_figure
from loopwright.web.views.bench_words import chance_words, name_of, sized, verdict_chip, verdict_words
from loopwright.web.views.fit_up_figures import error_parts
from loopwright.web.views.kit import chip, link, more
from loopwright.web.views.saying import problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

Data = dict[str, Any]

MOVED = 0.002
"""Share of a limit from which a target is said to have moved."""
MOST_TOLD = 5


def entered_page(work: Work, reader: Reader, found: Entered) -> Data:
    """What is shown of a reading that is in the book: a line for the list, and the whole.

    Args:
        work: with the book.
        reader: in whose units it is told.
        found: what became of it.
    """
    shown = Shown(reader.units_of(found.came.bench.build.units))
    return {
        "line": str(_line(shown, found)),
        "short": str(_short(shown, found)),
        "full": str(_answer(shown, found)),
        "entry": found.written.entry.number,
    }


def _line(shown: Shown, found: Entered) -> Markup:
    considered = found.considered
    held = considered.conformity
    verdict = None if held is None else verdict_chip(held)
    return joined(tag("b", headline(shown, considered)), " ", verdict)


def _short(shown: Shown, found: Entered) -> Markup:
    """What a small screen shows beside the next field: the value, the verdict, and the target that moved most."""
    moved = [one for one in found.came.targets if _has_moved(one)]
    most = max(moved, key=lambda one: abs(one.after - one.before) / one.limit, default=None)
    effect = None
    if most is not None:
        sizes = _from_to(shown.error(most.before, most.dimension), shown.error(most.after, most.dimension))
        effect = tag("span", most.name, " ", sizes)
    return joined(tag("span", name_of(found.considered.reading)), " ", _line(shown, found), " ", effect)


def _answer(shown: Shown, found: Entered) -> Markup:
    considered, reading = found.considered, found.considered.reading
    entry = found.written.entry
    asked = (
        tag("p", chip("look again", say("bench.kept_asked")), class_="answer-kept") if reading.kept else None
    )
    about = say("bench.entered", number=entry.number, gauge=reading.gauge or "", state=reading.state)
    return tag(
        "div",
        tag("p", about, class_="eyebrow"),
        tag("h2", name_of(reading)),
        _head(shown, considered, _nominal(found)),
        asked,
        _told(found),
        _beside(shown, found.bench, considered),
        _at_the_tool(shown, found.came.targets, reading),
        _budget(shown, considered),
        _onward(entry, reading),
        class_="answer",
    )


def _nominal(found: Entered) -> float | None:
    """Size on the drawing of what was read, where it has one."""
    reading = found.considered.reading
    dim = found.bench.build.dim(reading.of) if reading.subject == "dim" else None
    return None if dim is None else dim.nominal


def _head(shown: Shown, considered: Considered, nominal: float | None) -> Markup:
    reading, held = considered.reading, considered.conformity
    expanded = reading.evaluated.expanded
    spread = None if expanded is None else "± " + shown.error(expanded, considered.dimension)
    many = len(reading.evaluated.values)
    count = say("bench.at_most", count=many) if many > 1 else None
    words = None if held is None else tag("p", verdict_words(shown, held, considered.dimension, nominal))
    return tag(
        "div",
        tag("p", headline(shown, considered), " ", tag("small", spread) if spread else None, class_="figure"),
        tag("p", count, class_="note") if count else None,
        tag("div", verdict_chip(held), words, class_="answer-verdict"),
        class_="answer-head",
    )


def headline(shown: Shown, considered: Considered) -> str:
    """A reading in one figure: its value, or of a sweep the one furthest off."""
    reading, dimension = considered.reading, considered.dimension
    values = reading.evaluated.values
    std = _std(reading)
    if len(values) == 1 and reading.subject in ("dim", "gap"):
        small = reading.item is not None and abs(values[0]) < 1
        return (
            shown.error_known(values[0], std, dimension, sign=True)
            if small
            else sized(shown, values[0], dimension, std)
        )
    if len(values) == 1:
        return shown.error_known(values[0], std, dimension, sign=True)
    found = values if considered.look is None else considered.look.found
    return shown.error_known(float(max(found, key=abs)), std, dimension, sign=True)


def _std(reading: Reading) -> float:
    """Standard uncertainty by which a value is rounded."""
    expanded = reading.evaluated.expanded
    return max(expanded / 2 if expanded else max(reading.evaluated.stds), 1e-9)


def _told(found: Entered) -> Markup | None:
    """What others did meanwhile, and what the book did differently from what was asked."""
    written = found.written
    lines: list[Child] = [tag("li", sentence(one)) for one in written.told]
    if written.again:
        lines.append(tag("li", say("bench.again", number=written.entry.number)))
    others = [entry for entry in written.clashes if entry.who != written.entry.who]
    lines += [tag("li", _clash(entry)) for entry in others[:MOST_TOLD]]
    lines += [
        tag("li", say("bench.left_out", number=n, why=why)) for n, why in found.came.left_out[:MOST_TOLD]
    ]
    newest = found.came.bench.state
    if found.considered.reading.state != newest and found.considered.reading.item is None:
        lines.append(tag("li", say("bench.older_state", state=found.considered.reading.state, newest=newest)))
    return tag("ul", *lines, class_="told answer-told") if lines else None


def _clash(entry: Entry) -> Markup:
    record = entry.record
    what = name_of(record) if isinstance(record, Reading) else str(record.kind)
    href = f"/book?entry={entry.number}"
    return joined(
        say("bench.clash", who=entry.who, what=what),
        " ",
        tag("a", say("bench.entry", number=entry.number), href=href),
    )


def _beside(shown: Shown, bench: Bench, considered: Considered) -> Markup | None:
    """Found beside expected."""
    look, dimension = considered.look, considered.dimension
    if look is None:
        return None
    surprise = tag(
        "div",
        tag("dt", say("bench.surprise")),
        tag("dd", say("bench.surprise_is", times=f"{look.surprise:.1f}")),
    )
    if len(look.found) > 1:
        return joined(
            sweep_figure(shown, bench, considered),
            tag("dl", surprise, class_="answer-facts"),
        )
    std = float(look.std[0])
    off = float(look.found[0]) - float(look.expected[0])
    expected = considered.reading.evaluated.values[0] - off
    cells = [
        (say("bench.expected"), _size_or_error(shown, considered, expected, std)),
        (say("bench.off_by"), shown.error_known(off, std, dimension, sign=True)),
    ]
    facts = [tag("div", tag("dt", name), tag("dd", value)) for name, value in cells]
    return tag("dl", *facts, surprise, class_="answer-facts")


def _size_or_error(shown: Shown, considered: Considered, value: float, std: float) -> str:
    spread = shown.error(std, considered.dimension)
    if considered.reading.subject not in ("dim", "gap"):
        number, known, unit = error_parts(shown, value, std, considered.dimension)
        return f"{number} ± {known} {unit}"
    return say("bench.plus_minus", value=sized(shown, value, considered.dimension, std), spread=spread)


def _at_the_tool(shown: Shown, targets: Sequence[TargetEffect], reading: Reading) -> Markup | None:
    """Every target before the reading and with it; those that did not move in one line."""
    if reading.item is not None:
        return tag("p", say("bench.item_moves_nothing"), class_="note")
    if not targets:
        return None
    moved = [one for one in targets if _has_moved(one)]
    still = [one.name for one in targets if not _has_moved(one)]
    rows = [_moved(shown, one) for one in moved]
    rest = (
        None
        if not still
        else tag("p", plural("bench.still", len(still), names=", ".join(still)), class_="note")
    )
    if not moved:
        rest = tag("p", say("bench.nothing_moved"), class_="note")
    return tag(
        "div", tag("h3", say("bench.at_the_tool")), tag("ul", *rows, class_="tool") if rows else None, rest
    )


def _has_moved(one: TargetEffect) -> bool:
    return (
        max(abs(one.after - one.before), abs(one.unknown_after - one.unknown_before)) > MOVED * one.limit
        or abs(one.chance_after - one.chance_before) > MOVED
    )


def _moved(shown: Shown, one: TargetEffect) -> Markup:
    d = one.dimension
    before, after, limit = shown.error(one.before, d), shown.error(one.after, d), shown.limit(one.limit, d)
    chance = chance_words(one.chance_before), chance_words(one.chance_after)
    said = say("bench.moved", name=one.name, before=before, after=after, limit=limit)
    unknown = say(
        "bench.unknown_moved",
        before=shown.error(one.unknown_before, d),
        after=shown.error(one.unknown_after, d),
    )
    return tag(
        "li",
        tag("span", one.name, class_="which"),
        tag(
            "span",
            _from_to(before, after),
            " ",
            tag("small", say("bench.of_limit", limit=limit)),
            class_="sizes",
        ),
        tag("span", tag("small", say("bench.chance")), " ", _from_to(*chance), class_="chances"),
        tag("span", moved_figure(one.before, one.after, one.limit, said), class_="moves"),
        tag("small", unknown, class_="unknown"),
    )


def _from_to(before: str, after: str) -> Markup:
    """Two figures with an arrow; the same twice stands once."""
    if before == after:
        return tag("b", after)
    number, _, unit = before.partition(" ")
    first = number if after.endswith(f" {unit}") and unit else before
    return joined(tag("span", first, class_="was"), " → ", tag("b", after))


def _budget(shown: Shown, considered: Considered) -> Markup | None:
    """Where the uncertainty comes from, behind a lid."""
    found, dimension = considered.reading.evaluated, considered.dimension
    rows: list[Sequence[Child]] = [
        (
            one.name,
            shown.error(one.std, dimension),
            say(f"bench.type_{one.how}"),
            "∞" if one.dof is None else f"{one.dof:.3g}",
            say("bench.shared") if one.shared else "",
        )
        for one in sorted(found.contributions, key=lambda c: -c.std)
    ]
    head = [say("bench.from"), ">" + say("bench.standard"), say("bench.type"), ">" + say("bench.dof"), ""]
    notes = [tag("p", sentence(note), class_="note") for note in found.notes]
    return more(say("bench.budget"), table(head, rows), *notes, id="answer-budget") if rows or notes else None


def _onward(entry: Entry, reading: Reading) -> Markup:
    part = reading.of.partition("/")[0]
    links = [link(say("bench.correct"), f"/bench?again={entry.number}")]
    if reading.subject in ("dim", "comparison") and reading.item is None:
        links.append(link(say("bench.see_part"), f"/parts/{quote(part, safe='')}", quiet=True))
    links.append(link(say("bench.see_standing"), "/", quiet=True))
    return tag("div", *links, class_="row answer-onward")


# asked about


def asked_markup(work: Work, reader: Reader, found: Doubted) -> Markup:
    """Why a reading is asked about, what may have been meant, and what can be done."""
    doubt = found.considered.doubt
    assert doubt is not None
    takes = [
        tag(
            "button",
            tag("kbd", chr(ord("a") + number)),
            tag("span", tag("b", one.shown), tag("small", one.what)),
            type="button",
            data_answer="take",
            data_take=str(number),
            class_="take",
        )
        for number, one in enumerate(found.meant)
        if one.typed is not None
    ]
    seen = [
        tag("li", say("bench.may_be", value=one.shown, what=one.what))
        for one in found.meant
        if one.typed is None
    ]
    return tag(
        "div",
        tag("h3", chip("look again", say("bench.asked_title"))),
        tag("p", sentence(doubt.what), class_="asked-why"),
        tag("p", say("bench.was_meant")) if takes else None,
        tag("div", *takes, class_="takes") if takes else None,
        tag("ul", *seen) if seen else None,
        tag(
            "div",
            _answer_button("again", "r", say("bench.read_again")),
            _answer_button("keep", "k", say("bench.keep_it")),
            _answer_button("drop", "", say("bench.throw_away"), quiet=True),
            class_="row",
        ),
        tag("p", say("bench.asked_keys"), class_="note"),
        class_="asked",
    )


def _answer_button(what: str, letter: str, words: str, *, quiet: bool = False) -> Markup:
    key = tag("kbd", letter) if letter else None
    return tag("button", key, words, type="button", data_answer=what, class_="quiet" if quiet else None)


# refused


def refused_page(problems: Sequence[Problem]) -> Data:
    """What is shown of a reading that cannot be used as it was typed."""
    lines = [tag("li", problem_line(Problem("", one.what, one.remedy))) for one in problems]
    full = tag(
        "div",
        tag("h3", chip("look again", say("bench.refused"))),
        tag("ul", *lines),
        tag(
            "div",
            _answer_button("again", "", say("bench.correct_it")),
            _answer_button("drop", "", say("bench.throw_away"), quiet=True),
            class_="row",
        ),
        class_="asked",
    )
    return {"full": str(full)}
