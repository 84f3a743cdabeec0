"""Entries of the book in words: one line of each, and the small things that every page of the book says."""

import re
from datetime import datetime
from typing import Any
from urllib.parse import quote

from loopwright import units
from loopwright.model.records import (
    Calibration,
    Change,
    ColumnsKept,
    Concession,
    Entry,
    Reading,
    Revision,
    State,
    Stock,
    Verdict,
    Withdrawal,
)
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.entry_told import measured_in
from loopwright.studies.fitup_progress import RULE, SetOne
from loopwright.studies.fitup_sights import dimension_of
from loopwright.units import Dimension
from loopwright.web.views.fit_up_figures import stands_words
from loopwright.web.views.kit import chip
from loopwright.web.wording import say

TYPED = 5
"""Values of a sweep that a line has room for."""
SURPRISING = 3.0
BARE = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")
"""A number without a unit."""
TYPED_IN = {
    Dimension.LENGTH: ("mm", "µm", "in", "thou", "tenth"),
    Dimension.ANGLE: ("arcsec", "deg", "arcmin", "mm/m", "µm/m"),
}
"""Units that numbers are typed in, those that are met most first."""


def when(at: str) -> str:
    """A time as a clock on the wall of the shop shows it."""
    return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")


def day(at: str) -> str:
    """The day of a time, by the same clock."""
    return when(at)[:10]


def kind_word(kind: str) -> str:
    """A kind of entry in a word."""
    return say(f"book.kind_{kind}")


def what(entry: Entry, shown: Shown, bench: Bench) -> Markup:
    """What an entry says, in a line."""
    record: Any = entry.record
    match record:
        case Revision():
            return joined(
                say("book.line_revision_file", file=record.file) if record.file else say("book.line_revision")
            )
        case State():
            done = "; ".join(change_words(change, shown) for change in record.changes)
            line = say("book.line_state", number=entry.of, reason=record.reason)
            return joined(line, tag("span", done, class_="beside under") if done else None)
        case Reading():
            return _reading(record, typed_unit(record, measured_in(bench, record)))
        case Calibration():
            return joined(_calibration(record))
        case Concession():
            dims = ", ".join(record.dims)
            line = say("book.line_concession", dims=dims, decision=record.decision)
            return joined(line, tag("span", record.terms, class_="beside under") if record.terms else None)
        case Verdict():
            key = "book.line_accepted" if record.rule.startswith(RULE) else "book.line_verdict"
            return joined(say(key, of=record.of, verdict=record.verdict))
        case Stock():
            thick = shown.limit(record.size, Dimension.LENGTH)
            return joined(say("book.line_stock", count=record.count, what=record.what, size=thick))
        case ColumnsKept():
            return joined(say("book.line_columns", name=record.name))
        case Withdrawal():
            return joined(say("book.line_withdrawal", number=entry.supersedes, reason=record.reason))
    return joined(str(record.kind))


def name_of(record: Reading) -> str:
    """What was read, in words."""
    name = say("book.of_item", of=record.of, item=record.item) if record.item else record.of
    return say("book.against", of=name, other=record.against) if record.against else name


def typed_unit(record: Reading, dimension: Dimension) -> str:
    """Unit that bare numbers of a reading were typed in, as what was made of them tells; '' where nothing does."""
    pairs = [pair for texts, values in zip(record.typed, record.raw) for pair in zip(texts, values)]
    bare = [(float(text), value) for text, value in pairs if BARE.fullmatch(text) and value]
    if not bare:
        return ""
    for unit in TYPED_IN.get(dimension, ()):
        factor = float(units.factor(unit, dimension))
        if all(abs(number * factor - value) <= 1e-6 * abs(value) for number, value in bare):
            return unit
    return ""


def _reading(record: Reading, unit: str) -> Markup:
    poses = [", ".join(repeats) for repeats in record.typed]
    typed = " | ".join(poses[:TYPED]) + (f" {unit}" if unit else "")
    more = "; " + say("book.typed_more", count=len(poses)) if len(poses) > TYPED else ""
    high = record.surprise is not None and record.surprise > SURPRISING
    surprise = say("book.surprise", value=f"{record.surprise:.1f}") if high else ""
    kept = say("book.kept") if record.kept else ""
    beside = "; ".join(words for words in (record.gauge or "", surprise, kept, record.note or "") if words)
    return joined(
        tag("b", name_of(record)),
        " = " if typed else None,
        tag("span", typed + more, class_="typed") if typed else None,
        tag("span", beside, class_="beside under") if beside else None,
    )


def _calibration(record: Calibration) -> str:
    key = "book.line_calibration_due" if record.due else "book.line_calibration"
    words = say(key, gauge=record.gauge, done=record.done, due=record.due)
    return words if record.verified else f"{words}, {say('book.line_not_in_order')}"


def change_words(change: Change, shown: Shown) -> str:
    """One thing that was done, in words."""
    return _done(shown, change.what, change.of, change.value, change.planned, change.item, change.std)


def thing_words(one: SetOne, shown: Shown) -> str:
    """The same of what a study tells of it."""
    return _done(shown, one.what, one.name, one.value, one.planned, one.item, one.std)


def _done(
    shown: Shown,
    done: str,
    of: str,
    value: float | None,
    planned: float | None,
    item: str | None,
    std: float,
) -> str:
    if value is None:
        key = "book.change_renewed_item" if item else "book.change_renewed"
        return say(key, of=of, item=item)
    dimension = dimension_of(of)
    words = say(f"book.change_{done}", of=of, value=stands_words(shown, value, dimension, done, std))
    if planned is None:
        return words
    asked = stands_words(shown, planned, dimension, done, std)
    return f"{words}, {say('book.change_planned', value=asked)}"


def entry_path(number: int) -> str:
    """Address of the page of an entry."""
    return f"/book/{number}"


def about_path(name: str) -> str:
    """Address of the history of a thing."""
    return f"/book?about={quote(name, safe='')}"


def counts_chip(gone: bool, by: int | None) -> Child:
    """Whether an entry still counts, as a shape and a word."""
    if not gone:
        return chip("conforming", say("book.counts"))
    return chip("not conforming", say("book.gone"))
