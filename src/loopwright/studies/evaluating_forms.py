"""What an evaluation of raw readings asks for and what it answers, as data that any face can show."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from loopwright import units
from loopwright.measuring.inputs import Uncertainty
from loopwright.model.build import Units
from loopwright.model.records import Method
from loopwright.units import Dimension

Array = NDArray[np.float64]
Role = Literal["place", "reading", "name"]


@dataclass(frozen=True)
class Wanted:
    """A column of values that an evaluation asks for.

    Attributes:
        name: in the trade's word.
        help: what to type, in one line.
        role: 'place' where it was read, 'reading' what the gauge showed, 'name' a word that is no number.
        dimension: of the values; None for a name.
        needed: it cannot be left out.
        gaps: single cells may stay empty.
        sizes: the values are whole sizes, and not small readings.
        also: other headings under which it is found in a table.
        argument: what the library's messages call it.
    """

    name: str
    help: str
    role: Role
    dimension: Dimension | None = Dimension.LENGTH
    needed: bool = True
    gaps: bool = False
    sizes: bool = False
    also: tuple[str, ...] = ()
    argument: str = ""

    def unit(self, shown: Units) -> str:
        """The unit that a form proposes for it: '' for a name.

        >>> HEIGHT.unit(Units()), POSITION.unit(Units(length="in"))
        ('µm', 'in')
        """
        if self.dimension is None:
            return ""
        if self.dimension is Dimension.ANGLE:
            return "deg" if self.role == "place" else shown.angle
        return shown.length if self.role == "place" or self.sizes else shown.small_length


POSITION = Wanted(
    "position",
    "where along the line",
    "place",
    also=("pos", "x", "y", "z", "travel", "place", "station", "distance", "nominal"),
    argument="x",
)
HEIGHT = Wanted(
    "height",
    "what the indicator showed, positive upwards",
    "reading",
    also=("reading", "indication", "indicator", "dial", "deviation", "value", "h"),
    argument="h",
)
FIRST = Wanted(
    "first", "reading before the turn", "reading", also=("first reading", "before", "normal", "reading 1")
)
SECOND = Wanted(
    "second", "reading after the turn", "reading", also=("second reading", "after", "reversed", "reading 2")
)
TURN = Wanted(
    "angle",
    "where round the turn",
    "place",
    Dimension.ANGLE,
    also=("position", "turn", "theta", "deg"),
    argument="angles",
)


@dataclass(frozen=True)
class Setting:
    """One thing that is said once for all readings.

    Attributes:
        name: in the trade's word.
        help: what to type, in one line.
        dimension: of a quantity; None for words and counts.
        choices: the only words that will do; none for anything else.
        default: as typed; None where there is none.
        needed: it cannot be left out.
        counts: it is this many whole numbers parted by ','; 0 for anything else.
        unit: of a bare number, where it is not the build's own for sizes.
        signed: it may be below zero.
    """

    name: str
    help: str
    dimension: Dimension | None = None
    choices: tuple[str, ...] = ()
    default: str | None = None
    needed: bool = False
    counts: int = 0
    unit: str | None = None
    signed: bool = False

    def bare(self, shown: Units) -> str | None:
        """The unit of a bare number; None where it is no quantity, or a bare number is refused."""
        if self.dimension is Dimension.LENGTH:
            return self.unit or shown.length
        return self.unit or (shown.angle if self.dimension is Dimension.ANGLE else None)


@dataclass(frozen=True)
class Read:
    """What was typed, as numbers in mm and rad.

    Attributes:
        columns: numbers by column, (rows,), NaN where a cell is empty; only columns that were given.
        words: texts by column of names, (rows,).
        settings: by name: a float, a word, a tuple of whole numbers, or None where nothing was said.
        own: standard uncertainty of one reading on its own.
        shared: standard uncertainty of what all readings have in common, as a gauge's calibration.
        units: in which the answer is told.
    """

    columns: Mapping[str, Array]
    words: Mapping[str, tuple[str, ...]]
    settings: Mapping[str, float | str | tuple[int, ...] | None]
    own: float
    shared: float = 0.0
    units: Units = field(default_factory=Units)

    def column(self, name: str) -> Array:
        """One column, (rows,)."""
        return self.columns[name]

    def number(self, name: str) -> float | None:
        """A setting that is a quantity."""
        found = self.settings.get(name)
        return float(found) if isinstance(found, float | int) else None

    def length(self, name: str) -> float:
        """A quantity that was needed or has a default, and is therefore there."""
        found = self.number(name)
        assert found is not None
        return found

    def word(self, name: str) -> str:
        """A setting that is one of some words."""
        return str(self.settings[name])

    def size(self, value: float) -> str:
        """A length in words, in the unit of lengths: '200 mm'."""
        return units.format_value(value, Dimension.LENGTH, self.units.length, digits=4)

    def small(self, value: float, dimension: Dimension = Dimension.LENGTH) -> str:
        """A small length or angle in words, in the unit of errors: '1.3 µm'."""
        return units.format_value(value, dimension, self.units.shown(dimension), digits=2)

    def in_common(self, count: int) -> Array | None:
        """Covariance of what so many readings have in common, (count, count); None for nothing."""
        return np.full((count, count), self.shared**2) if self.shared else None

    def doubt(self, count: int) -> Uncertainty:
        """How uncertain so many readings are."""
        return Uncertainty(np.full(count, self.own), self.in_common(count))


@dataclass(frozen=True)
class Part:
    """Where some of a result's uncertainty comes from: cause and standard uncertainty in the unit of the result."""

    name: str
    std: float


@dataclass(frozen=True)
class Result:
    """One number that was found.

    Attributes:
        name: in the trade's words.
        value: mm or rad; a plain number where it has no dimension; None where the readings do not tell it.
        u: standard uncertainty, likewise; None where the value has none or is None, infinite where nothing is known.
        dimension: of the value.
        signed: its sign says something.
        wide: a whole angle, told in degrees.
        fits: for what it is meant when it is entered in a book: 'right angle' (it counts from 90°), 'A', 'B' or 'C'
            (a rotation about X, Y or Z), or a statement on a screw, as 'mean travel'.
        parts: where its uncertainty comes from.
        note: what else to know, as why there is no value.
    """

    name: str
    value: float | None
    u: float | None
    dimension: Dimension = Dimension.LENGTH
    signed: bool = False
    wide: bool = False
    fits: str = ""
    parts: tuple[Part, ...] = ()
    note: str = ""

    def unit(self, shown: Units) -> str:
        """Unit in which it is told."""
        return (
            "deg" if self.wide else "" if self.dimension is Dimension.NUMBER else shown.shown(self.dimension)
        )


@dataclass(frozen=True)
class Heading:
    """A column of a table of results.

    Attributes:
        name: of the column.
        dimension: of its numbers; None for words and counts.
        role: 'place', 'value', 'u' (standard uncertainty of the value to its left) or 'text'.
        wide: whole angles, told in degrees.
        signed: the sign of its values says something.
        digits: figures that say something where no uncertainty stands beside.
    """

    name: str
    dimension: Dimension | None = Dimension.LENGTH
    role: Literal["place", "value", "u", "text"] = "value"
    wide: bool = False
    signed: bool = True
    digits: int = 4

    def unit(self, shown: Units) -> str:
        """Unit of its numbers; '' where they have none."""
        if self.dimension is None or self.dimension is Dimension.NUMBER:
            return ""
        if self.wide:
            return "deg"
        return (
            shown.length
            if self.role == "place" and self.dimension is Dimension.LENGTH
            else shown.shown(self.dimension)
        )


Cell = float | str | None


@dataclass(frozen=True)
class Table:
    """What was found at each place.

    Attributes:
        title: what it lists.
        headings: of its columns.
        rows: mm, rad or words; None where there is nothing.
    """

    title: str
    headings: tuple[Heading, ...]
    rows: tuple[tuple[Cell, ...], ...]


U = Heading("u", role="u", signed=False)
AT = Heading("position", role="place")


def with_u(*names: str, dimension: Dimension = Dimension.LENGTH) -> tuple[Heading, ...]:
    """Columns of values, each with its standard uncertainty to its right.

    >>> [one.name for one in with_u("motion", "straightedge")]
    ['motion', 'u', 'straightedge', 'u']
    """
    beside = replace(U, dimension=dimension)
    return tuple(one for name in names for one in (Heading(name, dimension), beside))


def table_of(title: str, headings: Sequence[Heading], *columns: Array | Sequence[Cell]) -> Table:
    """A table from its columns, each (rows,).

    >>> table_of("heights", (AT, Heading("height")), [0.0, 100.0], [0.0, 0.001]).rows
    ((0.0, 0.0), (100.0, 0.001))
    """
    plain = [column.tolist() if isinstance(column, np.ndarray) else column for column in columns]
    return Table(title, tuple(headings), tuple(zip(*plain)))


@dataclass(frozen=True)
class Loop:
    """A closed loop of level readings.

    Attributes:
        stations: where it goes round, mm, (x, y) each; the last is joined to the first.
        error: height missing after one turn round, mm.
        u: standard uncertainty that the stated uncertainty of the readings allows it, mm.
    """

    stations: tuple[tuple[float, float], ...]
    error: float
    u: float


@dataclass(frozen=True)
class Judged:
    """One value against one limit.

    Attributes:
        name: letters of the value, as 'e_sa'.
        says: the same in words.
        value, u: mm; None where it could not be read.
        limit: mm.
        both_sides: the limit holds to both sides of zero.
        probability: that the true value keeps it; None without a value.
        verdict: conforming, not conforming or undecided.
        standard: of the limit, with its edition.
        source: how the limit is known.
        reason: why it is undecided; '' otherwise.
    """

    name: str
    says: str
    value: float | None
    u: float | None
    limit: float
    both_sides: bool
    probability: float | None
    verdict: str
    standard: str
    source: str
    reason: str


@dataclass(frozen=True)
class Grading:
    """A screw against a grade.

    Attributes:
        grade: as 'C5'; '' where no grade was proven.
        by: grade whose limits these are.
        verdict: on all its limits together.
        lines: one for each limit.
        confidence: probability from which a limit counts as kept.
        notes: what it rests on.
    """

    grade: str
    by: str
    verdict: str
    lines: tuple[Judged, ...]
    confidence: float
    notes: tuple[str, ...]


@dataclass(frozen=True)
class Shared:
    """An error that values of a sweep have in common, beside the gauge's own.

    Attributes:
        name: what it is.
        std: its standard uncertainty.
        column: how much of it is in each value, (m,).
        stays: it is the artefact's, and the same whenever that is used.
    """

    name: str
    std: float
    column: Array
    stays: bool = False


@dataclass(frozen=True)
class Sweep:
    """Values along a sweep, as a test of the book takes them.

    Attributes:
        what: what they are.
        positions: along the axis, mm, (m,).
        values: mm or rad, (m,).
        dimension: of the values.
        rows: how each value comes of the readings, (m, readings); None where each is one reading.
        zero: what its zero leaves open: 'line' (offset and slope), 'mean' (offset) or 'none'.
        turned: an artefact was turned over between two readings, so its own error cancels.
        shared: errors that values have in common, beside the gauge's own.
    """

    what: str
    positions: Array
    values: Array
    dimension: Dimension = Dimension.LENGTH
    rows: Array | None = None
    zero: Literal["line", "mean", "none"] = "mean"
    turned: bool = False
    shared: tuple[Shared, ...] = ()


@dataclass(frozen=True)
class Outcome:
    """What one evaluation makes of numbers; the first result is its headline."""

    results: tuple[Result, ...]
    tables: tuple[Table, ...] = ()
    loops: tuple[Loop, ...] = ()
    grading: Grading | None = None
    sweep: Sweep | None = None
    includes: tuple[str, ...] = ()
    not_seen: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Kind:
    """One evaluation, as a form shows it.

    Attributes:
        name: in the trade's word; a command is called alike, with '-' for the spaces.
        help: what it finds, in one sentence.
        how: how to take the readings, in a few sentences.
        columns: that it asks for, in the order in which they are read.
        settings: what is said once.
        work: what it does with the numbers.
        least: fewest readings in each column.
        cautions: what can hurt someone.
        example: settings and values that give an answer, all invented, as a form or a help text shows them.
    """

    name: str
    help: str
    how: str
    columns: tuple[Wanted, ...]
    settings: tuple[Setting, ...]
    work: Callable[[Read], Outcome]
    least: int = 1
    cautions: tuple[str, ...] = ()
    example: Mapping[str, str] = field(default_factory=dict)

    @property
    def command(self) -> str:
        """What it is called on the command line."""
        return self.name.replace(" ", "-")

    @property
    def places(self) -> tuple[Wanted, ...]:
        """Columns that say where it was read."""
        return tuple(one for one in self.columns if one.role == "place")

    @property
    def readings(self) -> tuple[Wanted, ...]:
        """Columns that a gauge fills."""
        return tuple(one for one in self.columns if one.role == "reading")

    @property
    def reads(self) -> Dimension:
        """What its gauge reads: length or angle."""
        found = self.readings[0].dimension
        assert found is not None
        return found


@dataclass(frozen=True)
class Given:
    """What a person says of an evaluation, as typed.

    Attributes:
        kind: name of the evaluation.
        columns: texts by column, all of one length; '' for an empty cell.
        settings: texts by setting.
        units: unit by column of numbers that name none. Places have the build's; readings must be told.
        u: standard uncertainty of one reading, as '0.5 µm'.
        gauge: or the gauge that it was read with.
        taken: day of the readings (ISO 8601), against which the gauge's due date is held.
        decimal: decimal mark of the numbers, '.' or ','.
        file: name of the table that it comes from, for messages.
        lines: line of the table for each row.
        headings: heading of the table for each column.
    """

    kind: str
    columns: Mapping[str, Sequence[str]]
    settings: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    u: str | None = None
    gauge: str | None = None
    taken: str | None = None
    decimal: str = "."
    file: str | None = None
    lines: Sequence[int] = ()
    headings: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class OneReading:
    """What one reading is worth.

    Attributes:
        own: standard uncertainty of its own, mm or rad.
        shared: of what all readings have in common.
        dimension: length or angle.
        gauge: that it is taken from; None where it was stated.
        stated: as typed; None where it is taken from a gauge.
        parts: where it comes from.
        remarks: what could not be known, or weakens it.
    """

    own: float
    shared: float
    dimension: Dimension
    gauge: str | None = None
    stated: str | None = None
    parts: tuple[Part, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Evaluation:
    """What was made of raw readings.

    Attributes:
        kind: the evaluation.
        given: as typed.
        units: in which it is told.
        readings: how many.
        reading: what one of them is worth.
        results: the first is the headline.
        tables: what was found at each place.
        loops: closure errors of level readings.
        grading: of a screw; None for anything else.
        sweep: values that a test of a book can take; None where there are none.
        includes: what the uncertainty includes.
        not_seen: what it does not.
        notes: what else to know.
        cautions: what can hurt someone.
        confidence: coverage of the expanded uncertainties; None where that is the plain factor 2.
        factor: of the expanded uncertainties.
        method: what a book keeps of it.
    """

    kind: Kind
    given: Given
    units: Units
    readings: int
    reading: OneReading
    results: tuple[Result, ...]
    tables: tuple[Table, ...]
    loops: tuple[Loop, ...]
    grading: Grading | None
    sweep: Sweep | None
    includes: tuple[str, ...]
    not_seen: tuple[str, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]
    confidence: float | None
    factor: float
    method: Method

    @property
    def headline(self) -> Result:
        """What was asked for first."""
        return self.results[0]
