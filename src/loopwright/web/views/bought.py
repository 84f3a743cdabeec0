"""Bought parts: inspected items with what was found of them, which goes where, and what choosing brings."""

from collections.abc import Mapping, Sequence
from urllib.parse import quote

from loopwright.errors import RequestError
from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import Scale, drawing, lettering, line, mark, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.bought_sheet import Bought, BoughtKind, GradeFound, Inspected, bought
from loopwright.studies.choosing import Chosen, choose
from loopwright.studies.effect import brought
from loopwright.studies.fitup_bench import state_after
from loopwright.units import Dimension
from loopwright.web.views.bench_words import sized
from loopwright.web.views.kit import button, chip, choice, field, form, head, link, more, paper, row, tick
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

RANKED = 6
MOST_ITEMS = 60
VERDICTS = {"keep": "conforming", "send back": "not conforming", "undecided": "undecided"}


def all_bought(work: Work) -> Bought:
    """Everything that is bought; worked out once until the book changes."""

    def make() -> Bought:
        with one_thread():
            return bought(work.bench)

    return work.kept("bought", make)


def listing(work: Work, reader: Reader) -> Markup:
    """Kinds of bought parts with their inspected items."""
    found, shown = all_bought(work), work.shown(reader)
    inspected = [kind for kind in found.kinds if kind.items]
    waiting = [kind for kind in found.kinds if not kind.items]
    if not found.kinds:
        body = empty(say("bought.none"), say("bought.none_remedy"))
    else:
        body = joined(*[_kind(shown, kind) for kind in inspected], _waiting(waiting))
    return tag("div", head(say("bought.title"), say("bought.lede")), body, class_="bought")


def _kind(shown: Shown, kind: BoughtKind) -> Markup:
    whats = [what for what in kind.whats if any(item.what == what for one in kind.items for item in one.read)]
    graded = any(one.grades for one in kind.items)
    heads = [say("bought.item"), *(f">{what}" for what in whats)]
    heads += [say("bought.grade")] if graded else []
    heads += [say("bought.place"), ""]
    rows = [_item(shown, kind.kind, one, whats, graded) for one in kind.items[:MOST_ITEMS]]
    rest = len(kind.items) - MOST_ITEMS
    return paper(
        kind.kind,
        tag("p", plural("bought.inspected", len(kind.items), places=len(kind.places)), class_="note"),
        table(heads, rows, class_="items"),
        tag("p", plural("bought.more_items", rest), class_="note") if rest > 0 else None,
        _sources(kind),
        row(
            link(say("bought.choose"), f"/bought/{quote(kind.kind, safe='')}", first=True)
            if kind.places
            else None,
            link(say("bought.inspect"), "/bench?by=item"),
        ),
        class_="bought-kind",
    )


def _item(shown: Shown, kind: str, one: Inspected, whats: Sequence[str], graded: bool) -> Sequence[Child]:
    read = {item.what: item for item in one.read}
    cells: list[Child] = [tag("b", one.serial)]
    for what in whats:
        item = read.get(what)
        cells.append("" if item is None else _found(shown, what, item.value, item.std))
    if graded:
        cells.append(joined(*[tag("span", _grade(found), " ", class_="grade") for found in one.grades]))
    cells.append(one.place or tag("span", say("bought.on_bench"), class_="was"))
    path = f"/bench?kind={quote(kind, safe='')}&item={quote(one.serial, safe='')}"
    cells.append(tag("a", say("bought.read_again"), href=path))
    return cells


def _found(shown: Shown, what: str, value: float, std: float) -> str:
    """What was found of an item; a deviation has a sign, a band and a size have none."""
    if abs(value) > 1.0:
        return sized(shown, value, Dimension.LENGTH, std)
    return shown.error_known(value, std, Dimension.LENGTH, sign=what == "mean travel")


def _grade(found: GradeFound) -> Markup:
    words = found.grade or say("bought.no_grade")
    why = say("bought.not_finer", finer=found.finer) if found.finer else ""
    return tag("span", words, title=f"{found.system}. {why}".strip())


def _sources(kind: BoughtKind) -> Markup | None:
    found = {one.system: one.source for item in kind.items for one in item.grades if one.source}
    if not found:
        return None
    listed = "; ".join(f"{system}: {source}" for system, source in found.items())
    return tag("p", say("bought.grades_are", sources=listed), class_="note")


def _waiting(kinds: Sequence[BoughtKind]) -> Markup | None:
    if not kinds:
        return None
    items = [
        tag("li", tag("b", kind.kind), " ", tag("small", ", ".join(kind.whats)))
        for kind in kinds[:MOST_ITEMS]
    ]
    return paper(
        say("bought.not_inspected"),
        tag("p", say("bought.not_inspected_note"), class_="note"),
        tag("ul", *items, class_="used"),
        row(link(say("bought.inspect"), "/bench?by=item")),
    )


# choosing


def choosing(work: Work, reader: Reader, kind: str) -> Markup:
    """The form of a choice: which places, which grade was ordered, which targets count.

    Raises:
        RequestError: there are no items of this kind.
    """
    found = kind_of(work, kind)
    if not found.items:
        return joined(
            head(kind),
            empty(
                say("bought.nothing_read"),
                say("bought.nothing_read_note"),
                row(link(say("bought.inspect"), "/bench?by=item")),
            ),
        )
    places = [
        tick(
            joined(
                place.path,
                " ",
                tag(
                    "small",
                    say("bought.now_in", serial=place.serial) if place.serial else say("bought.empty"),
                ),
            ),
            "place",
            value=place.path,
            checked=True,
        )
        for place in found.places
    ]
    ordered = next((place.grade for place in found.places if place.grade), "")
    grades = {"": say("bought.any_grade"), **{name: name for name in found.grades}}
    targets = [tick(name, "target", value=name, checked=True) for name in all_bought(work).targets]
    return joined(
        head(say("bought.choose_title", kind=kind), say("bought.choose_lede", count=len(found.items))),
        paper(
            None,
            form(
                "bought_choose",
                tag("fieldset", tag("legend", say("bought.places")), *places),
                choice(say("bought.ordered"), "grade", grades, value=ordered) if found.grades else None,
                more(
                    say("bought.which_targets"),
                    tag("fieldset", tag("legend", say("bought.targets")), *targets),
                    id="bought-targets",
                ),
                row(
                    button(say("bought.choose"), first=True), link(say("bought.title"), "/bought", quiet=True)
                ),
                stay=True,
                id="bought-choose",
            ),
            class_="bought-form",
        ),
    )


def kind_of(work: Work, kind: str) -> BoughtKind:
    """Items of a kind.

    Raises:
        RequestError: there are none.
    """
    found = next((one for one in all_bought(work).kinds if one.kind == kind), None)
    if found is None:
        raise RequestError(say("bought.no_kind", kind=kind), say("bought.no_kind_remedy"))
    return found


def chosen_items(
    work: Work,
    reader: Reader,
    kind: str,
    places: tuple[str, ...],
    grade: str,
    targets: tuple[str, ...],
    *,
    telling: Telling,
) -> Chosen:
    """The best choice; long work."""
    with one_thread():
        return choose(
            work.bench,
            kind,
            places,
            grade=grade or None,
            targets=targets,
            progress=telling.progress,
            cancel=telling.cancelled,
        )


def answer(work: Work, reader: Reader, found: Chosen | None) -> Markup:
    """What choosing brings: which item goes where, against taking them as they come."""
    if found is None:
        return Markup()
    shown = work.shown(reader)
    best = dict(zip(found.places, found.best))
    return tag(
        "div",
        paper(
            say("bought.best"),
            tag(
                "dl",
                *[tag("div", tag("dt", place), tag("dd", serial)) for place, serial in best.items()],
                class_="best-places",
            ),
            _worth(found),
            form(
                "bought_put",
                *[tag("input", type="hidden", name="place", value=place) for place in found.places],
                *[tag("input", type="hidden", name="serial", value=serial) for serial in found.best],
                field(say("bought.reason"), "reason", value=say("bought.reason_is", kind=found.kind)),
                row(button(say("bought.put_in"), first=True)),
                tag("p", say("bought.put_note"), class_="note"),
                id="bought-put",
                stay=True,
            ),
            class_="bought-best",
        ),
        paper(say("bought.every_item"), _graded(shown, found, best), _ranking(found), class_="bought-all"),
        class_="bought-answer",
    )


def _worth(found: Chosen) -> Markup:
    """The best choice beside the average and the worst, on one scale that counts in limits."""
    scale = Scale(0.0, max(found.worst, 1.0) * 1.06)
    best, average, worst = (percent(value) for value in (found.objective, found.average, found.worst))
    said = say("bought.worth", best=best, average=average, worst=worst)
    marks = [
        mark(scale.at(found.objective), 26, "diamond", "solid", say("bought.best_is", share=best)),
        mark(scale.at(found.average), 26, "round", "hollow", say("bought.average_is", share=average)),
        mark(scale.at(found.worst), 26, "block", "hollow", say("bought.worst_is", share=worst)),
    ]
    limit = scale.at(1.0)
    picture = drawing(
        58,
        said,
        line(0, 26, 100, 26, "rest"),
        line(scale.at(found.objective), 26, scale.at(found.worst), 26, "scribed"),
        line(limit, 12, limit, 40, "limit"),
        *[tag("circle", cx=f"{limit:.5g}%", cy=y, r=2.2, class_="punch") for y in (15, 26, 37)],
        lettering(limit, 54, say("bought.limit"), "tick left"),
        *marks,
    )
    choices = f"{found.choices:,}"
    said_of_all = (
        say("bought.every_choice", choices=choices) if found.every else say("bought.sampled", choices=choices)
    )
    return joined(
        tag("p", said),
        picture,
        tag("p", say("bought.key"), " ", said_of_all, class_="note"),
    )


def _graded(shown: Shown, found: Chosen, best: Mapping[str, str]) -> Markup:
    whats = list(dict.fromkeys(item.what for _, items in found.items for item in items))
    graded = {one.serial: one for one in found.graded}
    any_grade = any(one.verdict for one in found.graded)
    places = {serial: place for place, serial in best.items()}
    heads = [say("bought.item"), *(f">{what}" for what in whats)]
    heads += [say("bought.against_grade")] if any_grade else []
    heads += [say("bought.goes_to")]
    rows = []
    for serial, items in found.items:
        read = {item.what: item for item in items}
        cells: list[Child] = [tag("b", serial)]
        cells += [
            _found(shown, what, read[what].value, read[what].std) if what in read else "" for what in whats
        ]
        if any_grade:
            one = graded[serial]
            verdict = one.verdict.replace(" ", "_")
            words = say(f"bought.verdict.{verdict}", grade=one.grade or "") if one.verdict else ""
            cells.append(chip(VERDICTS[one.verdict], words) if one.verdict else "")
        cells.append(places.get(serial) or (say("bought.never") if serial in found.aside else ""))
        rows.append(cells)
    sources = sorted({one.source for one in found.graded if one.source})
    notes = [tag("p", say("bought.grades_are", sources="; ".join(sources)), class_="note")] if sources else []
    return joined(table(heads, rows, class_="items"), *notes)


def _ranking(found: Chosen) -> Markup:
    rows: list[Sequence[Child]] = [
        (str(place), ", ".join(serials), percent(objective))
        for place, (serials, objective) in enumerate(found.ranking[:RANKED], 1)
    ]
    heads = [">", say("bought.items_in_order", places=", ".join(found.places)), ">" + say("bought.largest")]
    return more(say("bought.next_best"), table(heads, rows), id="bought-ranking")


def put_in(
    work: Work, reader: Reader, places: tuple[str, ...], serials: tuple[str, ...], reason: str, key: str
) -> tuple[int, str]:
    """Enters that items were put in their places: a new state of the machine.

    Returns:
        Number of the entry, and what it brought, in words.

    Raises:
        RequestError: a place is named twice or not at all.
    """
    bench = work.bench
    exchanged: dict[str, str | None] = dict(zip(places, serials))
    with one_thread():
        state = state_after(bench, {}, reason=reason, exchanged=exchanged)
        written = work.book.append(
            state,
            who=reader.who or say("frame.nobody"),
            station=reader.station,
            key=key or None,
            seen=bench.last,
        )
        came = brought(work.book, bench, written)
        work.hold(came.bench)
    shown = work.shown(reader)
    moved = [
        say(
            "bought.moved",
            name=one.name,
            before=shown.error(one.before, one.dimension),
            after=shown.error(one.after, one.dimension),
        )
        for one in came.targets
        if abs(one.after - one.before) > 0.002 * one.limit
    ]
    return written.entry.number, "; ".join(moved) or say("bought.nothing_moved")
