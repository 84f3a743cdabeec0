"""The bench: what to read next, and the sheet on which readings are typed one after the other."""

import json
from collections.abc import Callable, Mapping, Sequence
from itertools import accumulate, takewhile
from typing import TypeVar
from urllib.parse import quote

from loopwright.errors import RequestError
from loopwright.loop.threads import one_thread
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.bench_list import (
    BenchList,
    Readable,
    bench_list,
    find,
    of_item,
    of_part,
    of_step,
)
from loopwright.studies.next_readings import NextReadings, next_readings
from loopwright.web.views.bench_plan import Plan, plan_of, plan_of_correction
from loopwright.web.views.bench_sheet import sheet_markup
from loopwright.web.views.kit import (
    button,
    field,
    form,
    head,
    link,
    minutes,
    pager,
    paper,
    row,
    tabs,
    turned_to,
)
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import sentence
from loopwright.web.views.standing import worth_instead
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_IN_A_ROW = 200
"""Things that are put on the bench one after the other; more are taken in several goes."""
MOST_PARTS = 40
"""Parts that are put on the bench at once."""
AFTERWARDS = 6
"""So many of the most worthwhile readings follow what was asked for."""
RANKED = 12
ON_ONE = 40
"""Things on one page of a long list."""
Thing = TypeVar("Thing")
BYS = ("next", "step", "test", "part", "item")


def address(of: str, **more: str | None) -> str:
    """Address at which something is read."""
    fields = {"of": of, **{name: value for name, value in more.items() if value}}
    return "/bench?" + "&".join(f"{name}={quote(value, safe='')}" for name, value in fields.items())


def ranked(work: Work) -> NextReadings | None:
    """What is worth most to read next; None where the build has no target."""

    def rank() -> NextReadings | None:
        with one_thread():
            try:
                return next_readings(work.bench, with_chance=3)
            except RequestError:
                return None

    return work.kept("bench: next", rank)


# choosing


def choosing(work: Work, reader: Reader, by: str, words: str = "", page: str = "") -> Markup:
    """What can be read: the most worthwhile first, or by step, test, part or item; or what a search finds.

    Args:
        work: with the build.
        reader: who looks.
        by: one of ``BYS``.
        words: that are searched; '' searches nothing.
        page: of a long list, as the address has it.
    """
    found = bench_list(work.bench)
    by = by if by in BYS else "next"
    body = _found(work, words) if words else _BODIES[by](work, found, page)
    return tag(
        "div",
        head(say("bench.title"), say("bench.lede")),
        form(
            "bench_find",
            row(
                field(say("bench.find"), "words", value=words, type="search"),
                button(say("bench.find_do")),
            ),
            stay=True,
            id="bench-find",
        ),
        tabs(
            say("bench.by"),
            *[(say(f"bench.by_{one}"), f"/bench?by={one}", one == by and not words) for one in BYS],
            (say("evaluate.title"), "/bench/evaluate", False),
        ),
        body,
        class_="bench-choose",
    )


def _found(work: Work, words: str) -> Markup:
    found, count = find(work.bench, words)
    if not found:
        return empty(say("bench.nothing_found", words=words), say("bench.nothing_found_remedy"))
    more = (
        tag("p", say("bench.more_found", shown=len(found), count=count), class_="note")
        if count > len(found)
        else None
    )
    return paper(plural("bench.found", count), _readables(found), more)


def _readables(things: Sequence[Readable]) -> Markup:
    return tag("ul", *[_readable(one) for one in things], class_="things")


def _readable(one: Readable) -> Markup:
    said = [
        minutes(one.minutes),
        plural("bench.readings", one.readings) if one.readings else _unread(one),
    ]
    return _thing(one.of, address(one.of), *said)


def _unread(one: Readable) -> str:
    return say("bench.unread") if one.subject == "dim" else say("bench.unread_in_state")


def _thing(name: str, path: str, *said: str) -> Markup:
    notes = " · ".join(one for one in said if one)
    return tag(
        "li",
        tag("a", tag("span", name, class_="thing-name"), tag("span", notes, class_="thing-note"), href=path),
    )


def _by_next(work: Work, found: BenchList, page: str) -> Markup:
    ranking = ranked(work)
    worth = [] if ranking is None else list(ranking.worthwhile[:RANKED])
    if ranking is None or not worth:
        told = say("bench.no_target") if ranking is None else sentence(ranking.nothing)
        return joined(
            empty(say("bench.nothing_worth"), told, worth_instead(work) if ranking is not None else None),
            paper(say("bench.by_test"), _readables(found.tests)),
        )
    items = [
        _thing(
            one.name,
            address(one.name),
            minutes(one.minutes),
            say("bench.gain", gain=percent(one.gain), target=one.target),
        )
        for one in worth
    ]
    return paper(
        say("bench.next_title"),
        tag("p", say("bench.next_note"), class_="note"),
        row(link(say("bench.take_all"), "/bench?next=all", first=True)),
        tag("ol", *items, class_="things"),
    )


def _by_step(work: Work, found: BenchList, page: str) -> Markup:
    if not found.steps:
        return empty(say("bench.no_steps"), say("bench.no_steps_remedy"))
    rows = [
        tag(
            "li",
            tag(
                "a",
                tag("span", f"{step.number}  {step.name}", class_="thing-name"),
                tag(
                    "span",
                    ", ".join(one.of for one in step.reads),
                    " · ",
                    plural("bench.missing", step.missing) if step.missing else say("bench.all_read"),
                    class_="thing-note",
                ),
                href=f"/bench?step={step.number}",
            ),
        )
        for step in found.steps
    ]
    return paper(say("bench.by_step"), tag("ul", *rows, class_="things"))


def _by_test(work: Work, found: BenchList, page: str) -> Markup:
    if not found.tests and not found.gaps:
        return empty(say("bench.no_tests"), say("bench.no_tests_remedy"))
    tests, turn = _turned(found.tests, "test", page)
    return joined(
        paper(say("bench.tests"), _readables(tests), turn) if tests else None,
        paper(say("bench.gaps"), tag("p", say("bench.gaps_note"), class_="note"), _readables(found.gaps))
        if found.gaps
        else None,
    )


def _turned(things: Sequence[Thing], by: str, asked: str) -> tuple[Sequence[Thing], Markup | None]:
    """What stands on one page of a long list, and the way to the others."""
    page, pages = turned_to(asked, len(things), ON_ONE)
    turn = pager(say("bench.pages"), page, pages, lambda other: f"/bench?by={by}&page={other}")
    return things[(page - 1) * ON_ONE : page * ON_ONE], turn


def _by_part(work: Work, found: BenchList, page: str) -> Markup:
    if not found.parts:
        return empty(say("bench.no_parts"), say("bench.no_parts_remedy"))
    parts, turn = _turned(found.parts, "part", page)
    items = [
        _thing(
            one.name,
            f"/bench?part={quote(one.name, safe='')}",
            say("bench.part_read", read=one.read, dims=one.dims),
        )
        for one in parts
    ]
    return paper(plural("bench.parts", len(found.parts)), tag("ul", *items, class_="things close"), turn)


def _by_item(work: Work, found: BenchList, page: str) -> Markup:
    every = [one for one in found.kinds if one.serials] + [one for one in found.kinds if not one.serials]
    kinds, turn = _turned(every, "item", page)
    papers = []
    for place, kind in enumerate(kinds):
        items = [
            _thing(serial, f"/bench?kind={quote(kind.kind, safe='')}&item={quote(serial, safe='')}")
            for serial in kind.serials
        ]
        fresh = form(
            "bench_item",
            row(
                field(say("bench.serial"), f"item-{place}", hint=say("bench.serial_hint")),
                button(say("bench.read_item")),
            ),
            tag("input", type="hidden", name="kind", value=kind.kind),
            tag("input", type="hidden", name="place", value=str(place)),
        )
        papers.append(
            paper(
                kind.kind,
                tag("p", say("bench.reads", whats=", ".join(kind.whats)), class_="note"),
                tag("ul", *items, class_="things close") if items else None,
                fresh,
            )
        )
    return joined(*papers, turn) if papers else empty(say("bench.no_items"), say("bench.no_items_remedy"))


_BODIES: Mapping[str, Callable[[Work, BenchList, str], Markup]] = {
    "next": _by_next,
    "step": _by_step,
    "test": _by_test,
    "part": _by_part,
    "item": _by_item,
}


# reading


def reading(work: Work, reader: Reader, asked: Mapping[str, str]) -> Markup:
    """The sheet on which readings are typed.

    Args:
        work: with the build.
        reader: who reads.
        asked: what the address asks for: 'of' (with 'against' or 'item'), 'part', 'parts', 'step', 'kind' with 'item',
            'again', or 'next'.

    Raises:
        RequestError: there is nothing of that to be read.
    """
    shown = work.shown(reader)
    title, names, item = _wanted(work, asked)
    plans = _plans(work, shown, asked, names, item)
    if "again" not in asked:
        most = AFTERWARDS if plans else RANKED
        plans += _afterwards(work, shown, {plan["of"] for plan in plans}, most=most)
    told = (
        say("bench.first_ones", count=MOST_IN_A_ROW, every=f"{len(names):,}")
        if len(names) > MOST_IN_A_ROW
        else None
    )
    return sheet_markup(
        work, reader, title, _run_of(asked), plans, correcting=_number(asked.get("again", "")), told=told
    )


def plans_next(work: Work, reader: Reader) -> list[Plan]:
    """The most worthwhile readings, as the script of the bench is told of them."""
    return _afterwards(work, work.shown(reader), set(), most=RANKED)


def parts_at_once(work: Work, reader: Reader, parts: Sequence[str]) -> tuple[tuple[str, ...], int]:
    """The first of some parts that are put on the bench in one go, each with all its dims, and how many have dims.

    Raises:
        RequestError: none of them has anything to be read.
    """
    known = work.bench.build.parts
    counts = {part: len(known[part].dims) for part in parts if part in known and known[part].dims}
    if not counts:
        raise RequestError(say("bench.no_dims"), say("bench.no_dims_remedy"))
    sums = accumulate(counts.values())
    fitting = sum(1 for _ in takewhile(lambda count: count <= MOST_IN_A_ROW, sums))
    return tuple(counts)[: min(max(fitting, 1), MOST_PARTS)], len(counts)


def _plans(
    work: Work, shown: Shown, asked: Mapping[str, str], names: Sequence[str], item: str | None
) -> list[Plan]:
    if "again" in asked:
        return [plan_of_correction(work.bench, shown, _number(asked["again"]) or 0)]
    against = asked.get("against") or None
    return [plan_of(work.bench, shown, name, against=against, item=item) for name in names[:MOST_IN_A_ROW]]


def _wanted(work: Work, asked: Mapping[str, str]) -> tuple[str, tuple[str, ...], str | None]:
    """What is to be read: a title, names, and the serial of an item."""
    bench = work.bench
    item = asked.get("item") or None
    if "of" in asked:
        return say("bench.title"), (asked["of"],), item
    if item is not None:
        kind = asked.get("kind", "")
        return say("bench.name_item", of=kind, item=item), of_item(bench, kind), item
    if "part" in asked:
        return asked["part"], of_part(bench, asked["part"]), None
    if "parts" in asked:
        parts = [one for one in asked["parts"].split("/") if one]
        names = tuple(name for part in parts if bench.build.parts.get(part) for name in _dims(work, part))
        if not names:
            raise RequestError(say("bench.no_dims"), say("bench.no_dims_remedy"))
        return plural("bench.parts", len(parts)), names, None
    if "step" in asked:
        number = asked["step"]
        return say("bench.step", step=_step_name(work, number)), of_step(bench, number), None
    if "again" in asked:
        return say("bench.correcting"), (), None
    ranking = ranked(work)
    if ranking is None or not ranking.worthwhile:
        raise RequestError(say("bench.nothing_worth"), "" if ranking is None else ranking.nothing)
    return say("bench.next_title"), (), None


def _dims(work: Work, part: str) -> tuple[str, ...]:
    return of_part(work.bench, part) if work.bench.build.parts[part].dims else ()


def _step_name(work: Work, number: str) -> str:
    steps = work.bench.build.fit_up
    place = _number(number)
    return f"{place} {steps[place - 1].step}" if place and place <= len(steps) else number


def _number(text: str) -> int | None:
    return int(text) if text.isdecimal() and len(text) < 9 else None


def _afterwards(work: Work, shown: Shown, taken: set[str], *, most: int = AFTERWARDS) -> list[Plan]:
    """What is worth reading after what was asked for."""
    ranking = ranked(work)
    names = [] if ranking is None else [one.name for one in ranking.worthwhile if one.name not in taken]
    return [plan_of(work.bench, shown, name) | {"offered": True} for name in names[:most]]


def _run_of(asked: Mapping[str, str]) -> str:
    """Name of what is read in a row, under which this device keeps how far it is."""
    return json.dumps(sorted(asked.items()))
