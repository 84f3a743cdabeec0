"""Which entries touch the same thing, so that whoever entered the later one should look at the earlier."""

from loopwright.model.records import (
    Calibration,
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

Thing = tuple[object, ...]


def touches(entry: Entry) -> set[Thing]:
    """What an entry says something about."""
    record = entry.record
    match record:
        case Revision():
            return {("description",)}
        case State():
            changed = {("of", change.of, None) for change in record.changes}
            return {("state", record.parent), ("state", entry.of), ("machine",), *changed}
        case Reading():
            return {("of", name, record.item) for name in (record.of, record.against) if name is not None}
        case Calibration():
            return {("gauge", record.gauge)}
        case Concession():
            return {("of", dim, None) for dim in record.dims}
        case Verdict():
            return {("of", record.of, record.item)}
        case Stock():
            return {("stock", record.what, record.size)}
        case ColumnsKept():
            return {("columns", record.name)}
    return set()


def leans_on(entry: Entry) -> set[Thing]:
    """What an entry takes as given: the state of the machine, the gauge."""
    record = entry.record
    found: set[Thing] = set()
    if isinstance(record, Reading | Verdict | Concession):
        found.add(("state", record.state))
    if isinstance(record, Reading) and record.gauge is not None:
        found.add(("gauge", record.gauge))
    return found


def clash(one: Entry, other: Entry, roots: dict[int, int], targets: dict[int, Entry]) -> bool:
    """Whether two entries touch the same thing, or one touches what the other takes as given.

    Args:
        one: an entry.
        other: another.
        roots: for entries that belong to a chain of corrections, the number of its first.
        targets: for withdrawals, the entry withdrawn.
    """
    if roots.get(one.number, one.number) == roots.get(other.number, other.number):
        return True
    one, other = (_meant(entry, targets) for entry in (one, other))
    said, other_said = touches(one), touches(other)
    return bool(said & other_said or said & leans_on(other) or leans_on(one) & other_said)


def _meant(entry: Entry, targets: dict[int, Entry]) -> Entry:
    """The entry itself, or what it withdraws."""
    return targets.get(entry.number, entry) if isinstance(entry.record, Withdrawal) else entry
