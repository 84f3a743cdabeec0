"""Entering in a book: one transaction, in which what others did meanwhile is taken into account and told."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import uuid4

from sqlalchemy import Connection

from loopwright.book import clashing, queries
from loopwright.book.differing import difference
from loopwright.book.rows import Rows, same_when_read
from loopwright.errors import RequestError
from loopwright.model.records import Concession, Entry, Reading, Record, Revision, State, Verdict, Withdrawal


@dataclass(frozen=True, slots=True)
class Draft:
    """One thing to be entered.

    Attributes:
        record: what is to be said.
        why: the reason, for people.
        key: names the entry whatever happens: sent again with the same key, it is entered once.
        supersedes: number of the entry that it corrects or withdraws.
        state_of: place in the same list (from 0) of the State to which this one belongs, when that State
            has no number yet; the record's own ``state`` is then not looked at.
    """

    record: Record
    why: str = ""
    key: str | None = None
    supersedes: int | None = None
    state_of: int | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """What became of a draft.

    Attributes:
        entry: as it stands in the book.
        meanwhile: what others entered since the writer last looked, in order.
        clashes: those of them that touch the same dim, test, adjuster, gauge, state or corrected entry.
        told: what the book did differently from what was asked, one sentence each.
        again: it was in the book already under this key; nothing was added.
    """

    entry: Entry
    meanwhile: tuple[Entry, ...] = ()
    clashes: tuple[Entry, ...] = ()
    told: tuple[str, ...] = ()
    again: bool = False


def enter(
    connection: Connection, drafts: Sequence[Draft], *, who: str, station: str, seen: int | None, at: str
) -> tuple[Written, ...]:
    """Enter drafts, in order. The caller holds the transaction, in which nobody else can write.

    Raises:
        RequestError: a draft cannot be entered by anyone: it belongs to a state or corrects an entry that
            there never was. Nothing of the list is entered then.
    """
    work = _Work(connection, who, station, at, seen)
    work.look_up([draft.key for draft in drafts if draft.key is not None])
    made = [work.enter(draft) for draft in drafts]
    work.rows.flush()
    own = {one.entry.number for one in made}
    work.meanwhile = tuple(entry for entry in work.meanwhile if entry.number not in own)
    return tuple(replace(one, meanwhile=work.meanwhile, clashes=work.clashes(one.entry)) for one in made)


class _Work:
    """One transaction: what is in the book, and what is being added to it."""

    def __init__(self, connection: Connection, who: str, station: str, at: str, seen: int | None) -> None:
        self.connection, self.who, self.station, self.at = connection, who, station, at
        self.last = queries.last_number(connection)
        self.seen = self.last if seen is None else seen
        self.meanwhile: tuple[Entry, ...] = ()
        if self.seen < self.last:
            self.meanwhile = queries.load(connection, queries.ENTRIES.number > self.seen)
        self.counts: dict[str, int] = {}
        self.keys: dict[str, int] = {}
        self.made: dict[int, Entry] = {}
        self.order: list[Entry] = []
        self.rows = Rows(connection)

    def look_up(self, keys: list[str]) -> None:
        self.keys = queries.numbers_by_key(self.connection, keys)

    def get(self, number: int) -> Entry | None:
        if number in self.made:
            return self.made[number]
        found = queries.load(self.connection, queries.ENTRIES.number == number)
        return found[0] if found else None

    def known(self, number: int) -> Entry:
        found = self.get(number)
        if found is None:
            raise RequestError(
                f"there is no entry {number} in this book", "look up the number of the entry you mean"
            )
        return found

    def count(self, kind: str) -> int:
        if kind not in self.counts:
            self.counts[kind] = queries.count_of(self.connection, kind)
        return self.counts[kind]

    def chain(self, entry: Entry) -> tuple[Entry, Entry]:
        """First and last of the corrections to which an entry belongs."""
        first = last = entry
        while first.supersedes is not None:
            first = self.known(first.supersedes)
        self.rows.flush()
        while (after := queries.successor(self.connection, last.number)) is not None:
            last = self.known(after)
        return first, last

    def enter(self, draft: Draft) -> Written:
        if draft.key is not None and draft.key in self.keys:
            written = self._again(draft, self.known(self.keys[draft.key]))
        else:
            written = self._anew(draft)
        self.order.append(written.entry)
        return written

    def _again(self, draft: Draft, first: Entry) -> Written:
        same = _blank(self._in_its_state(draft)) == _blank(first.record) and draft.why == first.why
        same = same and self.who == first.who
        if same and draft.supersedes is not None and first.supersedes is not None:
            target = self.known(draft.supersedes)
            same = self.chain(target)[0] == self.chain(first)[0]
        elif draft.supersedes is not None or first.supersedes is not None:
            same = False
        if not same:
            raise RequestError(
                f"the key '{draft.key}' was given to entry {first.number}, which says something else",
                "send this one with a key of its own",
            )
        return Written(first, again=True)

    def _anew(self, draft: Draft) -> Written:
        record, number, told = self._in_its_state(draft), self.last + 1, list[str]()
        if not same_when_read(record):
            raise RequestError(
                "the columns hold something that would not come back as it is",
                "keep texts, numbers, lists and tables of them",
            )
        supersedes, of = None, self.count(record.kind) + 1
        if draft.supersedes is not None:
            supersedes, of = self._placed(record, self.known(draft.supersedes), of, told)
        elif isinstance(record, Withdrawal):
            raise RequestError("a withdrawal names no entry", "say which entry no longer counts")
        record = self._fitted(record, supersedes, told)
        entry = Entry(
            number=number,
            key=draft.key or uuid4().hex,
            at=self.at,
            who=self.who,
            station=self.station,
            why=draft.why,
            supersedes=supersedes,
            of=of,
            record=record,
        )
        self.rows.add(entry)
        self.last, self.made[number], self.keys[entry.key] = number, entry, number
        self.counts[record.kind] = max(self.count(record.kind), of)
        return Written(entry, told=tuple(told))

    def _in_its_state(self, draft: Draft) -> Record:
        record = draft.record
        if draft.state_of is None:
            return record
        if not isinstance(record, Reading | Verdict | Concession) or not draft.state_of < len(self.order):
            raise RequestError(
                f"'state_of' {draft.state_of} names nothing that was entered before",
                "give the place of a State that comes earlier in the same list",
            )
        state = self.order[draft.state_of]
        if not isinstance(state.record, State) or state.of is None:
            raise RequestError(
                f"'state_of' {draft.state_of} names a {state.record.kind}", "give the place of a State"
            )
        return record.model_copy(update={"state": state.of})

    def _placed(self, record: Record, asked: Entry, of: int, told: list[str]) -> tuple[int, int]:
        """Number of the entry superseded and, of a correction, that of the thing it says anew."""
        first, last = self.chain(asked)
        kind = first.record.kind
        if isinstance(record, Withdrawal):
            self._may_be_withdrawn(first)
        elif record.kind != kind:
            raise RequestError(
                f"entry {asked.number} is a {kind}; a {record.kind} cannot take its place",
                f"correct it by a {kind}, or withdraw it",
            )
        elif kind == "revision":
            raise RequestError(
                f"entry {asked.number} is a revision, and the newest one counts anyway",
                "save the text that is right as a new revision",
            )
        else:
            assert first.of is not None
            of = first.of
        if last.number != asked.number:
            done = "withdrawn" if isinstance(last.record, Withdrawal) else "superseded"
            told.append(
                f"entry {asked.number} had been {done} by {last.number} ({last.who}): "
                f"yours follows on {last.number}"
            )
        return last.number, of

    def _may_be_withdrawn(self, first: Entry) -> None:
        kind, number = first.record.kind, first.number
        if kind == "revision":
            raise RequestError(
                f"entry {number} is a revision, which stays",
                "save the text that is right as a new revision; the newest one counts",
            )
        if kind != "state":
            return
        assert first.of is not None
        self.rows.flush()
        belonging = queries.load(self.connection, queries.in_state(first.of), queries.standing())
        children = [
            entry
            for entry in queries.load(self.connection, queries.ENTRIES.kind == "state", queries.standing())
            if isinstance(entry.record, State) and entry.record.parent == first.of
        ]
        seen = [e for e in (*belonging, *children) if e.record.kind != "state" or e.of != first.of]
        seen = [entry for entry in seen if entry.number <= self.seen]
        if first.of == 1 or seen:
            what = "is the start of the machine" if first.of == 1 else f"has entry {seen[0].number} in it"
            raise RequestError(
                f"state {first.of} {what} and cannot be withdrawn",
                "correct it by a state that supersedes it",
            )

    def _fitted(self, record: Record, supersedes: int | None, told: list[str]) -> Record:
        """The record as it fits what is in the book by now."""
        match record:
            case State():
                return self._after_the_newest(record, supersedes, told)
            case Revision():
                return self._against_the_newest(record, told)
            case Reading() | Verdict() | Concession():
                if not 1 <= record.state <= self.count("state"):
                    raise RequestError(
                        f"there is no state {record.state} of this machine",
                        f"the newest is state {self.count('state')}",
                    )
        return record

    def _after_the_newest(self, record: State, supersedes: int | None, told: list[str]) -> State:
        if supersedes is None:
            self.rows.flush()
            parent = queries.newest_state(self.connection) or None
        else:
            before = self.known(supersedes)
            while not isinstance(before.record, State):
                assert before.supersedes is not None
                before = self.known(before.supersedes)
            parent = before.record.parent
        if record.parent == parent:
            return record
        if record.parent is not None:
            if not 1 <= record.parent <= self.count("state"):
                raise RequestError(
                    f"there is no state {record.parent} of this machine",
                    f"the newest is state {self.count('state')}",
                )
            told.append(
                f"state {record.parent} is no longer the newest: yours follows on state {parent}"
                if supersedes is None
                else f"the state corrected follows on state {parent}: so does yours"
            )
        return record.model_copy(update={"parent": parent})

    def _against_the_newest(self, record: Revision, told: list[str]) -> Revision:
        self.rows.flush()
        number = queries.count_of(self.connection, "revision")
        kind, of = queries.ENTRIES.kind, queries.ENTRIES.of_number
        found = queries.load(self.connection, kind == "revision", of == number)
        newer = [entry for entry in self.meanwhile if isinstance(entry.record, Revision)]
        if not found or (record.difference and not newer):
            return record
        assert isinstance(found[0].record, Revision)
        if newer:
            told.append(
                f"entry {newer[-1].number} ({newer[-1].who}) saved another revision meanwhile: "
                "the difference is to that one, and its changes are gone unless yours has them too"
            )
        return record.model_copy(update={"difference": difference(found[0].record.text, record.text)})

    def clashes(self, entry: Entry) -> tuple[Entry, ...]:
        """Those of the entries made meanwhile that touch what this one touches."""
        others = self.meanwhile
        if not others:
            return ()
        roots: dict[int, int] = {}
        targets: dict[int, Entry] = {}
        for one in (entry, *others):
            if one.supersedes is not None:
                first, _ = self.chain(one)
                roots[one.number] = first.number
                targets[one.number] = first
        return tuple(other for other in others if clashing.clash(entry, other, roots, targets))


def _blank(record: Record) -> Record:
    """A record without what the book itself puts into it."""
    match record:
        case State():
            return record.model_copy(update={"parent": None})
        case Revision():
            return record.model_copy(update={"difference": ""})
    return record
