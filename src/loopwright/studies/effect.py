"""What an entry of the book brought: where every target stood before it, and where it stands with it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from loopwright.asbuilt.knowledge import Knowledge
from loopwright.asbuilt.worth import Prospect
from loopwright.book import Book, Written
from loopwright.errors import RequestError
from loopwright.model.records import Entry, Reading, Revision, State, Withdrawal
from loopwright.studies.as_built import sizes
from loopwright.studies.bench import Bench, bench
from loopwright.studies.books import bench_of
from loopwright.units import Dimension


@dataclass(frozen=True)
class TargetEffect:
    """One target before and after; mm or rad.

    Attributes:
        name, dimension, limit: of the target.
        before, after: expected size of the error at the worst pose.
        unknown_before, unknown_after: standard uncertainty at the worst pose.
        chance_before, chance_after: to meet the limit everywhere, every deviation counted as normal.
    """

    name: str
    dimension: Dimension
    limit: float
    before: float
    after: float
    unknown_before: float
    unknown_after: float
    chance_before: float
    chance_after: float


def effect(before: Bench, after: Bench) -> tuple[TargetEffect, ...]:
    """Every target that both know, before and after.

    Args:
        before: the build without the entry.
        after: the build with it.
    """
    names = [name for name in after.build.targets if name in before.build.targets]
    was, now = _stand(before, names), _stand(after, names)
    return tuple(
        TargetEffect(
            name, after.target(name).dimension, after.target(name).limit, a[0], b[0], a[1], b[1], a[2], b[2]
        )
        for name, a, b in zip(names, was, now)
    )


def _stand(found: Bench, names: list[str]) -> list[tuple[float, float, float]]:
    """Expected size, standard uncertainty and chance of each target; kept, as now is before the next entry."""
    if not names:
        return []
    key = ("stand", tuple(names), found.state)
    kept: tuple[Knowledge, list[tuple[float, float, float]]] | None = found.kept.get(key)
    if kept is not None and kept[0] is found.knowledge:
        return kept[1]
    rows = [found.rows(name) for name in names]
    limits = [found.target(name).limit for name in names]
    chances = [left.chance or 0.0 for left in Prospect(found.knowledge, rows, limits).now()]
    out = []
    for one, chance in zip(rows, chances):
        size, _, _, unknown = sizes(found.knowledge, one, found.state)
        out.append((size, unknown, chance))
    found.kept[key] = found.knowledge, out
    return out


@dataclass(frozen=True)
class Brought:
    """The build with what was entered, and what that brought.

    Attributes:
        bench: the build as it now stands.
        targets: each target before and after.
        left_out: readings that no longer count: entry number and reason.
    """

    bench: Bench
    targets: tuple[TargetEffect, ...]
    left_out: tuple[tuple[int, str], ...]


def brought(book: Book, before: Bench, written: Written) -> Brought:
    """What an entry that was just made brought, apart from what others entered meanwhile.

    Args:
        book: open.
        before: the build as the writer saw it.
        written: what became of the entry.
    """
    if written.meanwhile or written.again:
        before = bench_of(book, until=written.entry.number - 1)
    record = written.entry.record
    quick = isinstance(record, Reading) and not written.again
    after = before.with_reading(written.entry) if quick else bench_of(book, until=written.entry.number)
    known = {number for number, _ in before.left_out}
    fresh = tuple(one for one in after.left_out if one[0] not in known)
    return Brought(after, effect(before, after), fresh)


def replay(book: Book, *, since: int = 0) -> Iterator[tuple[Entry, tuple[TargetEffect, ...]]]:
    """Every entry of a book in turn, with what it brought at the time.

    Args:
        book: open.
        since: only entries after this one.

    Yields:
        The entry, and every target before and after it; no targets for what moves none, and for the first description.
    """
    every = book.entries()
    now: Bench | None = None
    for count, entry in enumerate(every, 1):
        before = now
        moves = (
            isinstance(entry.record, Reading | State | Revision | Withdrawal) or entry.supersedes is not None
        )
        if now is not None and isinstance(entry.record, Reading) and entry.supersedes is None:
            now = now.with_reading(entry)
        elif now is None or moves or entry.record.kind == "calibration":
            now = bench(every[:count], last=entry.number, book=book.info.build_name, like=now)
        else:
            now = replace(now, entries=(*now.entries, entry), last=entry.number)
        if entry.number > since:
            yield entry, effect(before, now) if before is not None and moves else ()


def without_entry(found: Bench, number: int) -> Bench:
    """The build as if one entry had not been made, as when it is about to be corrected.

    Raises:
        RequestError: no entry that counts has this number.
    """
    rest = [entry for entry in found.entries if entry.number != number]
    if len(rest) == len(found.entries):
        raise RequestError(
            f"there is no entry {number} that counts",
            "look it up: loopwright history; or it was corrected before",
        )
    return bench(rest, last=found.last, book=found.book, like=found)
