"""One part: dims with limits, readings and verdicts, what they carry, where it is used, what was decided."""

from collections.abc import Sequence
from urllib.parse import quote

from loopwright.asbuilt.conformity import Conformity
from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import Scale, drawing, lettering, line, mark, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.carried import Carried
from loopwright.studies.part_sheet import Decided, DimSheet, OneReading, PartSheet, part_sheet
from loopwright.studies.parts_list import NOT_CONFORMING, NOT_READ, UNDECIDED
from loopwright.units import Dimension
from loopwright.web.views.address import address_label
from loopwright.web.views.bench_words import day, sized, stated, stated_size, verdict_words
from loopwright.web.views.kit import chance, chip, head, link, more, pager, paper, row, turned_to
from loopwright.web.views.making import ways
from loopwright.web.views.parts import path_of, state_chip
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_READINGS = 12
"""Readings of a dim that are shown at once; the others are behind a lid."""
MOST_MATES = 8
MOST_DIMS = 12
"""Dims of a part on one page."""
APART = 22.0
"""Per cent of the width from one number of a drawing to the next, so that they do not touch on a telephone."""


def part(work: Work, reader: Reader, name: str, asked: str = "") -> Markup:
    """The page of a part.

    Args:
        work: with the build.
        reader: who looks.
        name: of the part.
        asked: which of the pages of its dims, where it has many.

    Raises:
        RequestError: there is no such part.
    """
    sheet = sheet_of(work, name)
    shown = work.shown(reader)
    page, pages = turned_to(asked, len(sheet.dims), MOST_DIMS)
    dims = sheet.dims[(page - 1) * MOST_DIMS : page * MOST_DIMS]
    return tag(
        "div",
        _head(sheet),
        None if sheet.bought else ways(name),
        _every_dim(sheet) if pages > 1 else None,
        *([_dim(shown, dim) for dim in dims] or [empty(say("parts.no_dims"), say("parts.no_dims_remedy"))]),
        pager(say("parts.dim_pages"), page, pages, lambda other: f"{path_of(name)}?page={other}"),
        _used(sheet),
        _concessions(sheet),
        address_label(work, "part", name),
        class_="part-page",
    )


def sheet_of(work: Work, name: str) -> PartSheet:
    """What is known of a part; worked out once until the book changes."""

    def make() -> PartSheet:
        with one_thread():
            return part_sheet(work.book, work.bench, name)

    return work.kept(("part", name), make)


def _head(sheet: PartSheet) -> Markup:
    facts = [
        sheet.material or say("parts.material_open"),
        say("parts.kind_bought" if sheet.bought else "parts.kind_made"),
        say("parts.of_body", bodies=", ".join(sheet.bodies)) if sheet.bodies else say("parts.of_no_body"),
    ]
    items = [
        tag(
            "p",
            say("parts.item_in_place", serial=serial or say("parts.no_serial"), entry=entry),
            class_="told",
        )
        for _, serial, entry in sheet.items
    ]
    read = (
        link(say("parts.read_it"), f"/bench?part={quote(sheet.name, safe='')}", first=True)
        if sheet.dims
        else None
    )
    return joined(
        head(sheet.name, None, tag("p", state_chip(sheet.state), class_="part-state")),
        tag("p", " · ".join(facts), class_="lede"),
        tag("p", sentence(sheet.note)) if sheet.note else None,
        *items,
        row(
            read,
            link(
                say("parts.in_description"),
                f"/description?at={quote('parts/' + sheet.name, safe='')}",
                quiet=True,
            ),
            link(say("parts.title"), "/parts", quiet=True),
        ),
    )


def _every_dim(sheet: PartSheet) -> Markup:
    """All dims of a part with many, by name: those that ask for a decision at once, all of them behind a lid."""
    items = [
        (
            dim.state,
            tag(
                "li",
                tag(
                    "a",
                    tag("span", dim.dim.partition("/")[2], class_="thing-name"),
                    state_chip(dim.state),
                    href=f"{path_of(sheet.name)}?page={place // MOST_DIMS + 1}",
                ),
            ),
        )
        for place, dim in enumerate(sheet.dims)
    ]
    out = [item for state, item in items if state in (NOT_CONFORMING, UNDECIDED)]
    return paper(
        plural("parts.dims", len(items)),
        tag("ul", *out, class_="things close") if out else None,
        more(
            say("parts.every_dim"),
            tag("ul", *[item for _, item in items], class_="things close"),
            id="every-dim",
        ),
    )


def _dim(shown: Shown, dim: DimSheet) -> Markup:
    name = dim.dim.partition("/")[2]
    drawn = stated(shown, dim.nominal, dim.limits, dim.dimension)
    about = [say("parts.drawing", size=drawn)]
    about += [_stated(dim.stated)] if dim.stated else []
    about += (
        [say("parts.sized", size=sized(shown, dim.sized, dim.dimension))] if dim.sized is not None else []
    )
    return paper(
        None,
        tag(
            "div",
            tag("h2", name),
            state_chip(dim.state),
            class_="spread",
        ),
        tag("p", " · ".join(about), class_="note"),
        _found(shown, dim),
        _carries(shown, dim),
        _readings(shown, dim),
        _mates(dim),
        row(
            link(say("parts.read_dim"), f"/bench?of={quote(dim.dim, safe='')}"),
            link(say("parts.history"), f"/book?about={quote(dim.dim, safe='')}", quiet=True),
        ),
        class_="dim",
    )


def _stated(stated_: str) -> str:
    own, _, group = stated_.partition("made together: ")
    own = own.rstrip("; ")
    words = {"own": say("parts.stated_own"), "general limits": say("parts.stated_general"), "": ""}
    said = words.get(own, say("parts.stated_fit", fit=own))
    together = say("parts.stated_together", group=group) if group else ""
    return " · ".join(one for one in (said, together) if one)


def _found(shown: Shown, dim: DimSheet) -> Markup:
    best = say(
        "parts.plus_minus",
        size=sized(shown, dim.best, dim.dimension, dim.best_std),
        spread=shown.error(dim.best_std, dim.dimension),
    )
    if dim.value is None or dim.std is None:
        return tag("dl", _fact(say("parts.not_read_expected"), best), class_="answer-facts")
    found = say(
        "parts.plus_minus",
        size=sized(shown, dim.value, dim.dimension, dim.std),
        spread=shown.error(dim.std, dim.dimension),
    )
    facts = [_fact(say("parts.by_readings"), tag("b", found)), _fact(say("parts.best"), best)]
    held = dim.conformity
    verdict = (
        None
        if held is None
        else tag("p", verdict_words(shown, held, dim.dimension, dim.nominal), class_="note")
    )
    picture = None if held is None else _against_limits(shown, held, dim.dimension, dim.nominal)
    return joined(tag("dl", *facts, class_="answer-facts"), picture, verdict)


def _fact(name: str, value: Child) -> Markup:
    return tag("div", tag("dt", name), tag("dd", value))


def _against_limits(shown: Shown, held: Conformity, dimension: Dimension, nominal: float) -> Markup | None:
    """The value with its uncertainty between its limits, which are pricked out."""
    low, high = held.lower - nominal, held.upper - nominal
    if abs(low) == float("inf") or abs(high) == float("inf"):
        return None
    value, reach = held.value - nominal, 2 * held.std
    ends = min(low, value - reach), max(high, value + reach)
    room = 0.08 * (ends[1] - ends[0])
    scale = Scale(ends[0] - room, ends[1] + room)
    said = say(
        "parts.lies",
        value=shown.error_known(value, held.std, dimension, sign=True),
        lower=shown.error(low, dimension, sign=True),
        upper=shown.error(high, dimension, sign=True),
    )
    limits = [
        joined(
            line(scale.at(v), 4, scale.at(v), 30, "limit"),
            *[tag("circle", cx=f"{scale.at(v):.5g}%", cy=y, r=2.2, class_="punch") for y in (7, 17, 27)],
            lettering(scale.at(v), 47, shown.error(v, dimension, sign=True), f"tick {side}"),
        )
        for v, side in ((low, "first"), (high, "left"))
    ]
    room_for_size = min(scale.at(0.0) - scale.at(low), scale.at(high) - scale.at(0.0)) > APART
    drawn_size = stated_size(shown, nominal, dimension)
    return drawing(
        58,
        said,
        line(0, 17, 100, 17, "rest"),
        line(scale.at(0.0), 11, scale.at(0.0), 23, "scribed thin"),
        lettering(scale.at(0.0), 47, drawn_size, "tick") if room_for_size else None,
        *limits,
        line(scale.at(value - reach), 17, scale.at(value + reach), 17, "scribed"),
        mark(scale.at(value), 17, "diamond", "solid", said),
        class_="between",
    )


def _carries(shown: Shown, dim: DimSheet) -> Markup:
    if not dim.carries:
        return tag("p", say("parts.carries_nothing"), class_="note")
    rows = [_carried(shown, one) for one in dim.carries]
    heads = [
        say("parts.target"),
        ">" + say("parts.known"),
        ">" + say("parts.unknown_now"),
        ">" + say("parts.unknown_before"),
        ">" + say("parts.share_now"),
        ">" + say("parts.share_before"),
    ]
    return joined(tag("h3", say("parts.carries")), table(heads, rows, class_="blocks carries"))


def _carried(shown: Shown, one: Carried) -> Sequence[Child]:
    d = one.dimension
    return (
        one.target,
        shown.error(one.known, d) if one.known > 1e-3 * one.limit else "—",
        tag("b", shown.error(one.unknown, d)) if one.unknown > 1e-3 * one.limit else "—",
        shown.error(one.before, d) if one.before > 1e-3 * one.limit else "—",
        tag("b", percent(one.share)),
        percent(one.share_before),
    )


def _readings(shown: Shown, dim: DimSheet) -> Markup:
    if not dim.readings:
        return tag("p", say("parts.never_read"), class_="note")
    heads = [
        say("parts.entry"),
        say("parts.when"),
        say("parts.who"),
        say("parts.gauge"),
        ">" + say("parts.found"),
        say("parts.remarks"),
    ]
    rows = [_reading(shown, dim, one) for one in dim.readings]
    first = table(heads, rows[:MOST_READINGS], class_="blocks readings")
    rest = rows[MOST_READINGS:]
    behind = (
        more(
            plural("parts.more_readings", len(rest)),
            table(heads, rest, class_="blocks readings"),
            id=f"more-{dim.dim}".replace(" ", "-"),
        )
        if rest
        else None
    )
    return joined(tag("h3", plural("parts.readings", len(dim.readings))), first, behind)


def _reading(shown: Shown, dim: DimSheet, one: OneReading) -> Sequence[Child]:
    std = None if one.expanded is None else one.expanded / 2
    if one.against is not None:
        value: Child = say(
            "parts.against",
            value=shown.error_known(one.value, std or 1e-6, dim.dimension, sign=True),
            other=one.against,
        )
    else:
        value = sized(shown, one.value, dim.dimension, std)
    spread = "" if one.expanded is None else " ± " + shown.error(one.expanded, dim.dimension)
    remarks = [
        say("parts.gone") if not one.counts else "",
        say("parts.of_before", state=one.state) if one.counts and not one.of_this else "",
        say("parts.of_item", serial=one.item) if one.item else "",
        say("parts.kept") if one.kept else "",
        one.note or "",
    ]
    said = "; ".join(remark for remark in remarks if remark)
    again = f"/bench?again={one.entry}"
    correct = tag("a", say("parts.correct"), href=again, class_="way-to") if one.counts else None
    about = say("book.entry_n", number=one.entry)
    beside = tag("span", say("parts.entry"), " ", class_="when-narrow")
    number = tag("a", beside, str(one.entry), href=f"/book/{one.entry}", aria_label=about)
    name = number if one.counts else tag("s", number)
    figure = joined(tag("s", value) if not one.counts else value, tag("span", spread, class_="was nowrap"))
    return (
        name,
        day(one.taken or one.at),
        one.who,
        one.gauge or "",
        figure,
        joined(said, " " if said else "", correct),
    )


def _mates(dim: DimSheet) -> Markup | None:
    if not dim.together:
        return None
    mates = [
        joined(", " if number else "", tag("a", mate, href=path_of(mate.partition("/")[0])))
        for number, mate in enumerate(dim.together[:MOST_MATES])
    ]
    rest = len(dim.together) - MOST_MATES
    return tag(
        "p",
        say("parts.together"),
        " ",
        *mates,
        plural("parts.and_more", rest) if rest > 0 else None,
        class_="note",
    )


def _used(sheet: PartSheet) -> Markup | None:
    lines = [
        tag("li", tag("b", joint), ": ", contact, " ", tag("small", f"({', '.join(dims)})"))
        for joint, contact, dims in sheet.contacts
    ]
    lines += [tag("li", say("parts.fills", closure=name)) for name in sheet.closures]
    if not lines:
        return None
    return paper(say("parts.used"), tag("ul", *lines, class_="used"))


def _concessions(sheet: PartSheet) -> Markup | None:
    if not sheet.concessions:
        return None
    return paper(say("parts.decided"), *[_decision(one) for one in sheet.concessions])


def _decision(one: Decided) -> Markup:
    record = one.record
    decision = record.decision.replace(" ", "_")
    chances = ", ".join(f"{name} {chance(held)}" for name, held in record.chances.items())
    return tag(
        "div",
        tag("p", chip("conceded", say(f"conceding.decision.{decision}")), " ", ", ".join(record.dims)),
        tag("p", sentence(record.terms)) if record.terms else None,
        tag("p", sentence(one.why)) if one.why else None,
        tag("p", say("parts.decided_by", who=one.who, at=day(one.at), number=one.entry), class_="note"),
        tag("p", say("parts.chances_then", chances=chances), class_="note") if chances else None,
        tag("p", say("parts.gone_decision"), class_="note") if not one.counts else None,
        class_="told decision",
    )


def asks_for_decision(sheet: PartSheet) -> bool:
    """Whether a dim of it lies outside of its limits, or may, and nothing was decided of it."""
    return any(
        dim.conformity is not None and dim.state in ("not conforming", "undecided") for dim in sheet.dims
    )


def was_read(sheet: PartSheet) -> bool:
    """Whether any of its dims with limits was read."""
    return any(dim.state != NOT_READ and dim.conformity is not None for dim in sheet.dims)
