"""What if: values picked from the description, what changing them brings, and the lines that would change."""

from collections.abc import Mapping, Sequence
from zlib import crc32

from loopwright.sheets.drawing import Scale, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_figures import change_figure
from loopwright.studies.as_built import StandingAsBuilt, TargetAsBuilt
from loopwright.studies.books import WhatIfAsBuilt
from loopwright.studies.driving import target_now
from loopwright.studies.statements import Proposal, Statement, found_among, statements, statements_at
from loopwright.web.views.kit import button, field, form, head, paper, row, stats
from loopwright.web.views.longwork import not_done
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import sentence
from loopwright.web.views.standing import target_path
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST = 20
"""Values that are listed at once."""
SUGGESTED = 8


def field_name(path: str) -> str:
    """Name of the field of a form in which the new value of a path is typed."""
    return f"to-{crc32(path.encode()):08x}"


def tried_key(work: Work, changes: Mapping[str, str]) -> tuple[object, ...]:
    """Name under which what changes bring is kept: it holds until the next entry."""
    return "what if", work.bench.last, tuple(sorted(changes.items()))


# choosing


def choosing(work: Work, reader: Reader, words: str, chosen: Sequence[str]) -> Markup:
    """The head of the page, the search for values, and what it found; without words, what carries most now."""
    asked = form(
        "find",
        tag(
            "div",
            field(say("what_if.find"), "words", value=words, type="search", hint=say("what_if.find_hint")),
            class_="fields",
        ),
        row(button(say("what_if.find_do"))),
        stay=True,
        id="find",
    )
    found = _found(work, words, chosen) if words.strip() else _suggested(work, chosen)
    return joined(
        head(say("what_if.title"), say("what_if.lede")), paper(say("what_if.find_title"), asked, found)
    )


def _found(work: Work, words: str, chosen: Sequence[str]) -> Markup:
    every = found_among(statements(work.bench), words)
    if not every:
        return empty(say("what_if.found_none"), say("what_if.found_none_what"))
    shown = every[:MOST]
    told = plural("what_if.found", len(every))
    if len(every) > MOST:
        told = say("what_if.found_some", shown=MOST, count=len(every))
    rows = [_statement_row(one, chosen) for one in shown]
    heads = (say("what_if.field"), say("what_if.typed"), say("what_if.do"))
    return joined(tag("p", told, class_="note", role="status"), table(heads, rows, class_="values"))


def _statement_row(one: Statement, chosen: Sequence[str]) -> Sequence[Child]:
    return (
        tag("span", one.path, class_="path"),
        tag("code", one.typed or say("what_if.nothing")),
        _pick(one.path, chosen),
    )


def _pick(path: str, chosen: Sequence[str]) -> Markup:
    if path in chosen:
        return tag("span", say("what_if.picked"), class_="beside")
    return tag(
        "button",
        say("what_if.pick"),
        type="button",
        data_act="pick",
        data_path=path,
        aria_label=say("what_if.pick_name", path=path),
    )


def _suggested(work: Work, chosen: Sequence[str]) -> Markup | None:
    """Values that carry most of the target that is held worst."""
    if not work.bench.build.targets:
        return None
    worst = min(work.front.targets, key=lambda t: (t.chance, -t.expected / t.limit)).name
    best = _carrying(work, worst)
    rows = [
        (
            tag("span", one.path, class_="path"),
            tag("code", one.typed),
            percent(max(share, 0.0)),
            _pick(one.path, chosen),
        )
        for one, share in best
    ]
    heads = (say("what_if.field"), say("what_if.typed"), ">" + say("what_if.carries"), say("what_if.do"))
    title = tag("summary", say("what_if.suggested", name=worst))
    return tag("details", title, table(heads, rows, class_="values"), open=not chosen, id="suggested")


def _carrying(work: Work, name: str) -> list[tuple[Statement, float]]:
    """Values that carry most of what is not known of a target, with the share of the field they belong to."""
    now = work.kept(("target now", name), lambda: target_now(work.bench, name))
    shares: dict[str, float] = {}
    for driver in now.drivers:
        shares[driver.field] = shares.get(driver.field, 0.0) + driver.unknown
    out: list[tuple[Statement, float]] = []
    for path, share in sorted(shares.items(), key=lambda item: -item[1])[: 2 * SUGGESTED]:
        stated = [s for s in statements(work.bench) if s.path == path or s.path.startswith(f"{path}/")]
        out += [(one, share) for one in stated]
    return out[:SUGGESTED]


# changing


def changing(work: Work, reader: Reader, chosen: Sequence[str], offered: Proposal | None) -> Markup:
    """A field for each chosen value, and, once somebody wants to take them in, the lines that would change.

    Args:
        work: the book.
        reader: who looks.
        chosen: paths.
        offered: what would be saved; None as long as nobody asked for it.
    """
    if not chosen:
        return paper(say("what_if.changes"), tag("p", say("what_if.changes_none"), class_="note"))
    lines = [_line(statements_at(work.bench, path)[0]) for path in chosen]
    return paper(
        say("what_if.changes"),
        form(
            "try",
            tag("ul", *lines, class_="changed"),
            row(button(say("what_if.see"), first=offered is None)),
            _offer(offered) if offered is not None else None,
            stay=True,
            id="changed",
        ),
    )


def _line(one: Statement) -> Markup:
    hint = say("what_if.stands", typed=one.typed) if one.typed else say("what_if.stands_not")
    leave = tag(
        "button",
        say("what_if.leave"),
        type="button",
        data_act="leave",
        data_path=one.path,
        class_="quiet",
        aria_label=say("what_if.leave_name", path=one.path),
    )
    typed = field(one.path, field_name(one.path), value=one.typed, hint=hint, keep=f"what-if/{one.path}")
    return tag("li", typed, leave, id=f"line-{field_name(one.path)}")


def _offer(offered: Proposal) -> Markup:
    lines = [_changed_line(line) for line in offered.difference.splitlines()]
    return tag(
        "div",
        tag("p", say("what_if.take_note"), class_="note"),
        tag("div", *lines, class_="lines", role="group", aria_label=say("what_if.take_note"), tabindex="0"),
        tag("input", type="hidden", name="upon", value=str(offered.upon)),
        field(say("what_if.why"), "why", hint=say("what_if.why_hint"), keep="what-if-why"),
        row(
            tag("button", say("what_if.save"), type="submit", class_="first", data_act="save"),
            tag("button", say("what_if.not_now"), type="submit", class_="quiet", data_act="not_now"),
        ),
        class_="offer",
        id="offer",
    )


def _changed_line(line: str) -> Markup:
    kind = {"-": "gone", "+": "come"}.get(line[:1], "where")
    return tag("code", line, class_=kind)


# what it brings


def brings(work: Work, reader: Reader, changes: Mapping[str, str], going: bool) -> Markup:
    """What changes bring, where that was worked out; else the way to it, or nothing while that goes on."""
    if not changes:
        return Markup()
    found: WhatIfAsBuilt | None = work.lasting.get(tried_key(work, changes))
    if found is None:
        return Markup() if going else not_done(say("what_if.stale"), say("what_if.see"), "see")
    shown = work.shown(reader)
    before = {t.name: t for t in found.before.targets}
    after = {t.name: t for t in found.after.targets}
    rows = [_brought(shown, before.get(name), after.get(name)) for name in {**before, **after}]
    heads = (
        say("what_if.target"),
        say("what_if.figure"),
        ">" + say("what_if.limit"),
        ">" + say("what_if.built"),
        ">" + say("what_if.chance"),
        ">" + say("what_if.set"),
        ">" + say("what_if.designed"),
        ">" + say("what_if.designed_chance"),
    )
    return paper(
        say("what_if.brings"),
        tag("p", say("what_if.brings_note"), class_="note"),
        stats(
            (say("what_if.as_built"), _all(found.before, found.after, 1), say("what_if.all")),
            (say("what_if.as_designed"), _all(found.before, found.after, 0), say("what_if.all")),
        ),
        table(heads, rows, class_="brings"),
        tag("ul", *[tag("li", sentence(note)) for note in found.after.notes], class_="plain")
        if found.after.notes
        else None,
        row(button(say("what_if.take"), "take")),
    )


def _all(before: StandingAsBuilt, after: StandingAsBuilt, which: int) -> Markup:
    doubt = max(t.chance_std for t in (*before.targets, *after.targets))
    was, now = (percent(found.chance_of_all[which], doubt) for found in (before, after))
    return _from_to(was, now)


def _brought(shown: Shown, was: TargetAsBuilt | None, now: TargetAsBuilt | None) -> Sequence[Child]:
    if was is None or now is None:
        one = was or now
        assert one is not None
        return (
            one.name,
            tag("span", say("what_if.gone" if now is None else "what_if.fresh")),
            "",
            "",
            "",
            "",
            "",
            "",
        )
    scale = Scale(0.0, shown.number(max(was.limit, now.limit, was.expected, now.expected), now.dimension))
    sizes = [shown.error(t.expected, t.dimension) for t in (was, now)]
    said = say("what_if.said", name=now.name, before=sizes[0], after=sizes[1])
    figure = change_figure(
        shown.number(was.expected, was.dimension), shown.number(now.expected, now.dimension), scale, said
    )
    return (
        tag("a", now.name, href=target_path(now.name)),
        figure,
        _from_to(*(shown.limit(t.limit, t.dimension) for t in (was, now))),
        _from_to(*sizes),
        _from_to(*(percent(t.chance, t.chance_std) for t in (was, now))),
        _from_to(*(percent(t.adjusted_chance, t.chance_std) for t in (was, now))),
        _from_to(*(shown.error(t.designed, t.dimension) for t in (was, now))),
        _from_to(*(percent(t.designed_chance, t.chance_std) for t in (was, now))),
    )


def _from_to(was: str, now: str) -> Markup:
    """As it was and as it is; said once where it stayed."""
    if was == now:
        return joined(now)
    return joined(tag("span", f"{was} →", class_="was nowrap"), " ", tag("b", now, class_="nowrap"))
