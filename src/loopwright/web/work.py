"""What the workroom holds of one book: open, worked out, and kept warm for the next question."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeVar

from threadpoolctl import threadpool_limits

from loopwright.book import Book, open_book
from loopwright.model.build import Units
from loopwright.model.records import Reading
from loopwright.sheets.shown import Shown
from loopwright.studies.as_built import StandingAsBuilt
from loopwright.studies.bench import Bench, bench
from loopwright.studies.books import bench_of, front_page
from loopwright.units import Dimension

Answer = TypeVar("Answer")

INCH, METRIC = "inch", "metric"
FRONT = "front page"
FEW = 10
"""So many fresh readings are taken in one by one; of more, learning all of them anew is quicker."""


@dataclass(frozen=True)
class Reader:
    """Who looks at a page, what they may do, and the units they think in.

    Attributes:
        who: name under which they enter.
        role: 'read', 'record' or 'edit'; each may do what those before it may.
        units: 'inch', 'metric', or '' for the units of the build.
        station: the screen or bench they sit at.
        signed_in: they came in by name and passphrase.
    """

    who: str = ""
    role: str = "edit"
    units: str = ""
    station: str = ""
    signed_in: bool = False

    def may(self, role: str) -> bool:
        """Whether they may do what asks for a role."""
        ranks = ("read", "record", "edit")
        return ranks.index(self.role) >= ranks.index(role)

    def units_of(self, build: Units) -> Units:
        """Units in which they see numbers of a build, and which bare numbers they type take."""
        return units_for(build, self.units)


def units_for(build: Units, wanted: str) -> Units:
    """The units of a build with its lengths as somebody wants them.

    Args:
        build: its own units.
        wanted: 'inch', 'metric', or '' for its own.

    >>> units_for(Units(), "inch").small_length
    'thou'
    """
    inch = build.small_length in ("thou", "in", "tenth")
    if not wanted or (wanted == INCH) == inch:
        return build
    length, errors = ("in", "thou") if wanted == INCH else ("mm", "µm")
    return build.model_copy(update={"length": length, "errors": errors})


class OnPage(Shown):
    """Formats numbers for a page: what is below zero has a true minus, not a hyphen.

    >>> OnPage(Units()).error_known(-0.0031, 0.0099, Dimension.LENGTH)
    '−3.1 µm'
    """

    def error(self, value: float, dimension: Dimension, *, digits: int = 2, sign: bool = False) -> str:
        """As on paper, with a true minus."""
        return _true_minus(super().error(value, dimension, digits=digits, sign=sign))

    def error_known(
        self, value: float, uncertainty: float, dimension: Dimension, *, sign: bool = False, digits: int = 2
    ) -> str:
        """As on paper, with a true minus."""
        return _true_minus(super().error_known(value, uncertainty, dimension, sign=sign, digits=digits))

    def limit(self, value: float, dimension: Dimension) -> str:
        """As on paper, with a true minus."""
        return _true_minus(super().limit(value, dimension))


def _true_minus(words: str) -> str:
    return "\N{MINUS SIGN}" + words[1:] if words.startswith("-") else words


@dataclass
class Work:
    """One book, open; its build as the book has it, worked out once for all who ask.

    Attributes:
        where: file of the book or address of its database.
        lasting: what long work brought, by a name that says of which entry it is; whoever puts in tidies up.
    """

    where: str
    lasting: dict[object, Any] = field(default_factory=dict)
    _book: Book | None = None
    _bench: Bench | None = None
    _kept: dict[object, Any] = field(default_factory=dict)

    @property
    def book(self) -> Book:
        """The open book."""
        if self._book is None:
            self._book = open_book(self.where)
        return self._book

    def close(self) -> None:
        """Lets go of the book."""
        if self._book is not None:
            self._book.close()
        self._book = self._bench = None
        self._kept.clear()

    @property
    def bench(self) -> Bench:
        """The build with every entry of the book; what others entered since is taken in first."""
        last = self.book.last_number
        if self._bench is None:
            self.hold(bench_of(self.book))
        elif last != self._bench.last:
            self.hold(self._brought_up_to_date(self._bench))
        assert self._bench is not None
        return self._bench

    def hold(self, bench: Bench) -> None:
        """Takes over a build that is already worked out, as after a reading was entered."""
        if self._bench is None or bench.last != self._bench.last:
            self._kept.clear()
        self._bench = bench

    def _brought_up_to_date(self, held: Bench) -> Bench:
        fresh = self.book.entries(since=held.last)
        if len(fresh) <= FEW and all(
            isinstance(entry.record, Reading) and entry.supersedes is None for entry in fresh
        ):
            for entry in fresh:
                held = held.with_reading(entry)
            return held
        every = self.book.entries()
        return bench(every, last=every[-1].number, book=held.book, like=held, apart=True)

    def kept(self, name: object, make: Callable[[], Answer]) -> Answer:
        """What was made under a name since the book last changed; made now where it was not."""
        self.bench  # noqa: B018 - what is kept is of the newest entry only
        if name not in self._kept:
            with threadpool_limits(1):
                self._kept[name] = make()
        found: Answer = self._kept[name]
        return found

    def rest(self) -> None:
        """Lets go of what was made for pages, but for the front page; asked for again, it is made again."""
        self._kept = {name: made for name, made in self._kept.items() if name == FRONT}

    @property
    def front(self) -> StandingAsBuilt:
        """The front page."""
        return self.kept(FRONT, lambda: front_page(self.bench))

    @property
    def front_if_known(self) -> StandingAsBuilt | None:
        """The front page where it is worked out already; a page that only points to it need not wait for it."""
        self.bench  # noqa: B018 - what is kept is of the newest entry only
        found: StandingAsBuilt | None = self._kept.get(FRONT)
        return found

    def shown(self, reader: Reader) -> Shown:
        """Formats numbers as a reader wants them."""
        return OnPage(reader.units_of(self.bench.build.units))
