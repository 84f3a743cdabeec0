"""One entry of a book in one line."""

from typing import Any

from loopwright.asbuilt.observing import name_of
from loopwright.cli.sizes import plain_size
from loopwright.model.build import Units
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
from loopwright.sheets.shown import Shown
from loopwright.studies.evaluating_record import words_of
from loopwright.studies.fitup_sights import dimension_of
from loopwright.units import Dimension

_TYPED = 6


def entry_words(entry: Entry, shown: Units) -> str:
    """What an entry says, in a line."""
    record: Any = entry.record
    match record:
        case Revision():
            return f"description saved{f' from {record.file}' if record.file else ''}"
        case State():
            done = "; ".join(change_words(change, shown) for change in record.changes)
            return f"state {entry.of}: {record.reason}" + (f" ({done})" if done else "")
        case Reading():
            return _reading(record)
        case Calibration():
            due = f", next due {record.due}" if record.due else ""
            return (
                f"{record.gauge} calibrated {record.done}{due}{'' if record.verified else ', not in order'}"
            )
        case Concession():
            terms = f", {record.terms}" if record.terms else ""
            return f"concession for {', '.join(record.dims)}: {record.decision}{terms}"
        case Verdict():
            return f"{record.of} {record.verdict} ({record.rule})"
        case Stock():
            return (
                f"{record.count} of {record.what} {plain_size(shown, record.size, Dimension.LENGTH)} in stock"
            )
        case ColumnsKept():
            return f"columns of a table kept as '{record.name}'"
        case Withdrawal():
            return f"entry {entry.supersedes} withdrawn: {record.reason}"
    return str(record.kind)


def _reading(record: Reading) -> str:
    if record.method is not None:
        return f"{name_of(record)} {words_of(record.method)}{_how(record)}"
    typed = [" ".join(repeats) for repeats in record.typed]
    more = f" … {len(typed)} poses" if len(typed) > _TYPED else ""
    return f"{name_of(record)} = {' | '.join(typed[:_TYPED])}{more}{_how(record)}"


def _how(record: Reading) -> str:
    """With what it was read, and what else is to be known of it."""
    gauge = f", {record.gauge}" if record.gauge else ""
    surprise = (
        f", surprise {record.surprise:.1f}" if record.surprise is not None and record.surprise > 3 else ""
    )
    kept = ", kept" if record.kept else ""
    note = f"; {record.note}" if record.note else ""
    return f"{gauge}{surprise}{kept}{note}"


def change_words(change: Change, shown: Units) -> str:
    """One thing that was done, in words."""
    if change.value is None:
        return f"{change.of} exchanged" + (f" for {change.item}" if change.item else "")
    dimension = dimension_of(change.of)
    if change.what == "set":
        planned = (
            "" if change.planned is None else f", planned {Shown(shown).limit(change.planned, dimension)}"
        )
        return f"{change.of} set to {Shown(shown).limit(change.value, dimension)}{planned}"
    planned = "" if change.planned is None else f", planned {plain_size(shown, change.planned, dimension)}"
    return f"{change.of} brought to {plain_size(shown, change.value, dimension)}{planned}"
