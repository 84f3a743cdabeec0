"""One entry of the book with everything in it, what it brought, and the ways to correct or withdraw it."""

from loopwright.errors import RequestError
from loopwright.model.records import Reading, Withdrawal
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.correcting import corrected_state
from loopwright.studies.effect import TargetEffect
from loopwright.studies.entry_told import EntryTold, effect_of, entry_told
from loopwright.web.views.book import chronicle_of, turned
from loopwright.web.views.book_effect import brought, moved
from loopwright.web.views.book_entered import Entered, entered, seen_field
from loopwright.web.views.book_record import body_of
from loopwright.web.views.book_words import about_path, counts_chip, entry_path, kind_word, what, when
from loopwright.web.views.fit_up_figures import stands_words
from loopwright.web.views.kit import button, field, form, head, link, paper, row
from loopwright.web.views.longwork import not_done
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling


def number_of(text: str) -> int:
    """Number of an entry from an address.

    Raises:
        RequestError: it is none.
    """
    if not text.isdecimal() or len(text) > 9:
        raise RequestError(f"'{text}' is no number of an entry", "go by the history of the book")
    return int(text)


def is_there(work: Work, reader: Reader, number: int) -> None:
    """Refuses a number that no entry has.

    Raises:
        RequestError: it has none.
    """
    entry_told(work.bench, chronicle_of(work), number)


def one_entry(work: Work, reader: Reader, number: int) -> Markup:
    """Everything in an entry."""
    told = entry_told(work.bench, chronicle_of(work), number)
    entry, shown = told.line.entry, work.shown(reader)
    lede = say("book.entry_lede", kind=kind_word(entry.record.kind), when=when(entry.at), who=entry.who)
    if entry.station:
        lede += say("book.entry_station", station=entry.station)
    return joined(
        head(say("book.entry_title", number=number), lede),
        _around(told),
        tag("p", what(entry, shown, work.bench), class_="said-in-short"),
        _state_of_it(told),
        paper(say("book.why"), tag("p", sentence(entry.why))) if entry.why else None,
        *body_of(work.bench, shown, told),
        _chain(work.bench, shown, told),
    )


def _around(told: EntryTold) -> Markup:
    number = told.line.entry.number
    before = (
        link(say("book.previous", number=number - 1), entry_path(number - 1), quiet=True)
        if number > told.first
        else None
    )
    after = (
        link(say("book.next", number=number + 1), entry_path(number + 1), quiet=True)
        if number < told.last
        else None
    )
    return tag(
        "nav",
        row(link(say("book.back"), "/book", quiet=True), before, after),
        aria_label=say("book.pages"),
        class_="turn",
    )


def _state_of_it(told: EntryTold) -> Markup | None:
    if isinstance(told.line.entry.record, Withdrawal):
        return None
    by = told.line.by
    instead = tag("a", say("book.entry_n", number=by), href=entry_path(by)) if by is not None else None
    out = (
        tag("p", say("book.not_counted", why=sentence(told.left_out)), class_="told")
        if told.left_out
        else None
    )
    return joined(row(counts_chip(told.line.gone, by), instead), out)


def _chain(bench: Bench, shown: Shown, told: EntryTold) -> Markup | None:
    if len(told.chain) < 2:
        return None
    items = [
        tag(
            "li",
            tag("a", say("book.entry_n", number=one.entry.number), href=entry_path(one.entry.number)),
            f", {when(one.entry.at)}, {one.entry.who}: ",
            what(one.entry, shown, bench),
            aria_current="true" if one.entry.number == told.line.entry.number else None,
        )
        for one in told.chain
    ]
    return paper(
        say("book.chain"), tag("p", say("book.chain_told"), class_="note"), tag("ol", *items, class_="chain")
    )


# what it brought


def effect(work: Work, reader: Reader, number: int, *, telling: Telling) -> tuple[TargetEffect, ...]:
    """What an entry brought at the time; long work."""
    return effect_of(work.book, work.bench, number)


def effect_told(
    work: Work, reader: Reader, targets: tuple[TargetEffect, ...] | None, stopped: bool = False
) -> Markup:
    """What an entry brought; while that is worked out the way to stop it, and then the way to begin it again."""
    if stopped:
        again = not_done(say("frame.stopped_work"), say("book.effect_again"), "effect_again")
        return paper(say("book.effect_title"), again)
    if targets is None:
        return paper(
            say("book.effect_title"),
            tag("p", say("book.effect_working"), class_="working", role="status"),
            row(button(say("frame.stop"), "effect_stop")),
        )
    if not targets:
        return paper(say("book.effect_title"), tag("p", say("book.effect_first"), class_="note"))
    if not moved(targets):
        return paper(say("book.effect_title"), tag("p", say("book.effect_none"), class_="note"))
    return paper(
        say("book.effect_title"),
        tag("p", say("book.effect_told"), class_="note"),
        brought(work.shown(reader), targets),
    )


# correcting and withdrawing


def mending(work: Work, reader: Reader, number: int) -> Markup:
    """Forms by which an entry is corrected or withdrawn; nothing where it cannot be, or who looks may not."""
    told = entry_told(work.bench, chronicle_of(work), number)
    if not told.may_go or not reader.may("record"):
        return Markup()
    return joined(_correct(work, reader, told), _withdraw(work, number))


def _withdraw(work: Work, number: int) -> Markup:
    return paper(
        say("book.withdraw"),
        tag("p", say("book.withdraw_told"), class_="note"),
        form(
            "entry_withdraw",
            seen_field(work, f"withdraw/{number}"),
            field(
                say("book.withdraw_why"), "reason", of="withdraw", keep=f"withdraw/{number}", required=True
            ),
            row(button(say("book.withdraw_do", number=number))),
            id="withdraw-form",
        ),
        id="withdraw",
    )


def _correct(work: Work, reader: Reader, told: EntryTold) -> Markup | None:
    record, number = told.line.entry.record, told.line.entry.number
    if isinstance(record, Reading):
        again = link(say("book.correct_again"), f"/bench?again={number}", first=True)
        return paper(
            say("book.correct"), tag("p", say("book.correct_told"), class_="note"), row(again), id="correct"
        )
    if told.made is None or all(one.value is None for one in told.made.things):
        return None
    return paper(
        say("book.correct"),
        tag("p", say("book.correct_told"), class_="note"),
        form(
            "entry_correct",
            seen_field(work, f"correct/{number}"),
            tag("div", *_state_fields(work.shown(reader), told), class_="fields level"),
            field(say("book.correct_why"), "reason", keep=f"correct/{number}", required=True),
            row(button(say("book.correct_do"), first=True)),
            id="correct-form",
        ),
        id="correct",
    )


def _state_fields(shown: Shown, told: EntryTold) -> list[Markup]:
    assert told.made is not None
    out = []
    for one in told.made.things:
        if one.value is None:
            continue
        sized = one.what == "sized"
        unit = shown.units.bare()[one.dimension] if sized else shown.unit(one.dimension)
        out.append(
            field(
                say("book.set_value", of=one.name),
                f"set/{one.name}",
                unit=unit,
                number=True,
                hint=say("book.set_was", value=stands_words(shown, one.value, one.dimension, one.what)),
            )
        )
    return out


def correct(
    work: Work, reader: Reader, number: int, typed: dict[str, str], key: str, seen: int | None
) -> Entered:
    """Enters a correction of what was set, as typed.

    Args:
        work: with the book.
        reader: who corrects.
        number: of the entry.
        typed: fields of the form.
        key: of the new entry.
        seen: last entry that the page had seen.

    Raises:
        RequestError: no reason was given, or the entry is none of a state.
        BuildError: values that cannot be read.
    """
    why = _reason(typed)
    values = {name.removeprefix("set/"): text for name, text in typed.items() if name.startswith("set/")}
    record = corrected_state(work.bench, work.book.entry(number), values, bare=work.shown(reader).units)
    return entered(
        work.book.append(
            record,
            who=reader.who or say("frame.nobody"),
            why=why,
            station=reader.station,
            key=key,
            supersedes=number,
            seen=seen,
        )
    )


def withdraw(work: Work, reader: Reader, number: int, reason: str, key: str, seen: int | None) -> Entered:
    """Withdraws an entry: it stays in the book and no longer counts.

    Raises:
        RequestError: no reason was given, or it cannot be withdrawn.
    """
    told = entry_told(work.bench, chronicle_of(work), number)
    if not told.may_go and not told.line.gone:
        raise RequestError(say("book.stands_fast"), "")
    record = Withdrawal(reason=_reason({"reason": reason}))
    return entered(
        work.book.append(
            record,
            who=reader.who or say("frame.nobody"),
            station=reader.station,
            key=key,
            supersedes=number,
            seen=seen,
        )
    )


def _reason(typed: dict[str, str]) -> str:
    why = typed.get("reason", "").strip()
    if not why:
        raise RequestError(say("book.no_reason"), say("book.no_reason_remedy"))
    return why


__all__ = [
    "about_path",
    "correct",
    "effect",
    "effect_told",
    "mending",
    "number_of",
    "one_entry",
    "turned",
    "withdraw",
]
