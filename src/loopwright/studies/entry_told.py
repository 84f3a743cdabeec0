"""One entry of a book with all that can be said of it: what came before and after it, how it fits, what it brought."""

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.asbuilt.observing import closing_dim
from loopwright.asbuilt.surprise import looks
from loopwright.book import Book
from loopwright.errors import RequestError
from loopwright.loop.threads import one_thread
from loopwright.model.records import Entry, Reading, Revision, State, Withdrawal
from loopwright.studies.asking import asked
from loopwright.studies.bench import Bench, bench
from loopwright.studies.effect import TargetEffect, effect
from loopwright.studies.fitup_progress import Made, made_in
from loopwright.studies.fitup_reading import moving_axis
from loopwright.studies.happened import Chronicle, Line
from loopwright.studies.recording import limits_of
from loopwright.units import Dimension


@dataclass(frozen=True)
class Fit:
    """How a reading fits what everything else lets one expect; mm or rad, a free zero taken out.

    Attributes:
        found, expected, std, each: at each pose; 'std' is of the difference, 'each' the difference in units of it.
        surprise: of all values together, in standard uncertainties.
    """

    found: tuple[float, ...]
    expected: tuple[float, ...]
    std: tuple[float, ...]
    each: tuple[float, ...]
    surprise: float

    def sizes(self, nominal: float) -> tuple[tuple[float, float, float], ...]:
        """Found and expected as they would be read of something nominally so large, and 'std'."""
        return tuple((nominal + f, nominal + e, s) for f, e, s in zip(self.found, self.expected, self.std))


@dataclass(frozen=True)
class EntryTold:
    """One entry.

    Attributes:
        line: the entry, and whether it still counts.
        chain: it, what it took the place of and what took its place, first to last.
        dimension: of its numbers; None where it has none.
        nominal: size that its values are held against, mm or rad; 0 for a test.
        limits: of what was read; None where there are none.
        poses: axis positions of each value of a reading, mm or rad; empty where it has none.
        moving: letter of the one axis that moves between them; '' where none or several do.
        fit: of a reading that counts; None for anything else.
        left_out: why a reading does not count although nobody withdrew it; ''.
        made: of a state: what was done; None for anything else.
        may_go: it can be withdrawn or corrected.
        first, last: numbers of the first and the last entry of the book.
    """

    line: Line
    chain: tuple[Line, ...]
    dimension: Dimension | None
    nominal: float
    limits: tuple[float, float] | None
    poses: tuple[Mapping[str, float], ...]
    moving: str
    fit: Fit | None
    left_out: str
    made: Made | None
    may_go: bool
    first: int
    last: int


def entry_told(found: Bench, told: Chronicle, number: int) -> EntryTold:
    """One entry with all that can be said of it at once.

    Args:
        found: the build as it stands.
        told: every entry of its book.
        number: of the entry.

    Raises:
        RequestError: there is no such entry.
    """
    entry = told.by_number.get(number)
    if entry is None:
        raise RequestError(
            f"there is no entry {number} in this book", f"its entries are 1 to {len(told.entries)}"
        )
    record = entry.record
    line = told.line(entry)
    reading = record if isinstance(record, Reading) else None
    dimension, nominal = _measure(found, reading)
    poses = () if reading is None else _poses(found, reading)
    return EntryTold(
        line=line,
        chain=tuple(told.line(one) for one in _chain(told, entry)),
        dimension=dimension,
        nominal=nominal,
        limits=None if reading is None or reading.item else limits_of(found, reading.of),
        poses=poses,
        moving=moving_axis(poses),
        fit=None if reading is None or line.gone else _fit(found, number),
        left_out=dict(found.left_out).get(number, ""),
        made=made_in(found, entry, record) if isinstance(record, State) else None,
        may_go=not line.gone and not isinstance(record, Withdrawal) and not _is_first(entry),
        first=told.entries[0].number,
        last=told.entries[-1].number,
    )


def _is_first(entry: Entry) -> bool:
    """The first description and the first state are what everything stands on."""
    return isinstance(entry.record, Revision | State) and entry.of == 1


def _chain(told: Chronicle, entry: Entry) -> list[Entry]:
    chain = [entry]
    while (before := told.by_number.get(chain[0].supersedes or 0)) is not None:
        chain.insert(0, before)
    while (after := told.by_number.get(told.superseded.get(chain[-1].number, 0))) is not None:
        chain.append(after)
    return chain


def _measure(found: Bench, reading: Reading | None) -> tuple[Dimension | None, float]:
    """What a reading is measured in, and the size that it is held against."""
    if reading is None:
        return None, 0.0
    test = found.build.tests.get(reading.of) if reading.subject == "test" else None
    if test is not None:
        return test.dimension, 0.0
    closure = found.build.closures.get(reading.of)
    dim = found.build.dim(reading.of if closure is None else closing_dim(found.build, closure) or "")
    if dim is not None and reading.against is None:
        return dim.dimension, dim.nominal
    if dim is not None:
        return dim.dimension, 0.0
    gauge = found.build.gauges.get(reading.gauge or "")
    return (Dimension.LENGTH if gauge is None else gauge.dimension), 0.0


def measured_in(found: Bench, reading: Reading) -> Dimension:
    """What the numbers of a reading are: a length or an angle."""
    return _measure(found, reading)[0] or Dimension.LENGTH


def _poses(found: Bench, reading: Reading) -> tuple[Mapping[str, float], ...]:
    count = len(reading.evaluated.values)
    if reading.poses:
        return tuple({letter: values[k] for letter, values in reading.poses.items()} for k in range(count))
    if reading.subject != "test" or reading.of not in found.build.tests:
        return ()
    poses = asked(found, reading.of).poses
    return tuple(dict(pose) for pose in poses) if len(poses) == count else ()


def _fit(found: Bench, number: int) -> Fit | None:
    seen = found.observation(number)
    if seen is None:
        return None
    (look,) = looks(found.knowledge, [seen])
    return Fit(
        tuple(map(float, look.found)),
        tuple(map(float, look.expected)),
        tuple(map(float, look.std)),
        tuple(map(float, look.each)),
        look.surprise,
    )


def effect_of(book: Book, found: Bench, number: int) -> tuple[TargetEffect, ...]:
    """What one entry brought at the time: every target before it, and with it.

    Args:
        book: open.
        found: the build as it stands, of which what did not change since is used again.
        number: of the entry.

    Returns:
        No target for the first description, before which there was no machine.

    Raises:
        RequestError: there is no such entry.
    """
    if number <= 1:
        book.entry(number)
        return ()
    every = book.entries(until=number)
    if not any(isinstance(entry.record, Revision) for entry in every[:-1]):
        return ()
    with one_thread():
        before = bench(every[:-1], last=number - 1, book=found.book, like=found)
        entry = every[-1]
        if isinstance(entry.record, Reading) and entry.supersedes is None:
            return effect(before, before.with_reading(entry))
        return effect(before, bench(every, last=number, book=found.book, like=before))
