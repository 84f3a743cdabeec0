"""Whether entries, one after the other, make a book: as they are read from an archive, or looked through."""

import re

from loopwright.model.records import Concession, Entry, Reading, State, Verdict, Withdrawal

MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")


class Continuity:
    """Looks at entries in their order, and says what is wrong with each.

    >>> from loopwright.model.records import Stock
    >>> foil = Stock(what="shim foil", size=0.05, count=3)
    >>> late = Entry(number=2, key="a", at="2026-05-04T07:00:00.000Z", who="Ana", of=1, record=foil)
    >>> Continuity().faults(late)
    ['entry 2 stands where number 1 belongs']
    """

    def __init__(self) -> None:
        self.last = 0
        self.keys: set[str] = set()
        self.things: dict[int, tuple[str, int | None]] = {}
        self.superseded: set[int] = set()
        self.counts: dict[str, int] = {}

    def faults(self, entry: Entry) -> list[str]:
        """What is wrong with an entry, after those that were shown before."""
        found = [
            text for text in (*self._of_line(entry), self._of_chain(entry), self._of_record(entry)) if text
        ]
        self.last = entry.number
        self.keys.add(entry.key)
        self.counts[entry.record.kind] = max(self.counts.get(entry.record.kind, 0), entry.of or 0)
        thing = self.things.get(entry.supersedes or 0)
        self.things[entry.number] = thing or (entry.record.kind, entry.of)
        if entry.supersedes is not None:
            self.superseded.add(entry.supersedes)
        return found

    def missing(self) -> list[str]:
        """What a whole book has and this one has not."""
        named = {"revision": "description", "state": "state of the machine"}
        return [f"there is no {name} in it" for kind, name in named.items() if not self.counts.get(kind)]

    def _of_line(self, entry: Entry) -> list[str]:
        number, found = entry.number, []
        if number != self.last + 1:
            found.append(f"entry {number} stands where number {self.last + 1} belongs")
        if entry.key in self.keys:
            found.append(f"entry {number} has the key of an earlier one")
        if not MOMENT.fullmatch(entry.at):
            found.append(f"entry {number} was made at no time that can be read: '{entry.at[:40]}'")
        return found

    def _of_chain(self, entry: Entry) -> str | None:
        number, target, kind = entry.number, entry.supersedes, entry.record.kind
        following = self.counts.get(kind, 0) + 1
        if target is None:
            if isinstance(entry.record, Withdrawal):
                return f"entry {number} withdraws nothing"
            return (
                None if entry.of == following else f"entry {number} is not {kind} {entry.of}, but {following}"
            )
        thing = self.things.get(target)
        if thing is None:
            return f"entry {number} supersedes entry {target}, which does not stand before it"
        if target in self.superseded:
            return f"entry {number} supersedes entry {target}, which another one has superseded"
        if thing[0] == "revision":
            return f"entry {number} supersedes a revision, which stays"
        if isinstance(entry.record, Withdrawal):
            return (
                None
                if entry.of == following
                else f"entry {number} is not withdrawal {entry.of}, but {following}"
            )
        if thing != (kind, entry.of):
            return f"entry {number} is {kind} {entry.of} and supersedes {thing[0]} {thing[1]}"
        return None

    def _of_record(self, entry: Entry) -> str | None:
        record, states = entry.record, self.counts.get("state", 0)
        if isinstance(record, Reading | Verdict | Concession) and not 1 <= record.state <= states:
            return f"entry {entry.number} belongs to state {record.state}, which does not stand before it"
        if isinstance(record, State):
            parent, own = record.parent, entry.of or 0
            if (parent is None) != (own == 1) or (parent is not None and not 1 <= parent < own):
                return f"entry {entry.number} is state {own} and follows on {parent or 'none'}"
        return None
