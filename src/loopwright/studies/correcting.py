"""Corrections of what was set: a state typed anew takes the place of the wrong one, which stays in the book."""

from collections.abc import Mapping

from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.model.records import Entry, State
from loopwright.studies.bench import Bench
from loopwright.studies.fitup_done import Done, WhatWasDone, what_was_done


def corrected_state(found: Bench, entry: Entry, values: Mapping[str, str], *, bare: Units) -> State:
    """A state of the machine with what was set typed anew.

    Args:
        found: the build as it stands.
        entry: that is corrected.
        values: new value as typed, by path; what is empty stays as it was entered.
        bare: units of values that are typed without one.

    Raises:
        RequestError: the entry is no state, or nothing was typed.
        BuildError: values that cannot be read, all of them at once.
    """
    record = entry.record
    if not isinstance(record, State):
        raise RequestError(f"entry {entry.number} is no state of the machine", "correct it where it was made")
    typed = {path: text for path, text in values.items() if text.strip()}
    if not typed:
        raise RequestError("no value was typed", "type where it stands in fact")
    done = [Done(path, text) for path, text in typed.items()]
    anew = what_was_done(found, WhatWasDone(done, record.reason), bare=bare)
    fresh = {change.of: change.value for change in anew.changes}
    changes = tuple(
        change.model_copy(update={"value": fresh[change.of]}) if change.of in fresh else change
        for change in record.changes
    )
    return record.model_copy(update={"changes": changes})
