"""From the texts of raw readings to numbers, with every mistake at its cell; and what one reading is worth."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from math import hypot

import numpy as np

from loopwright import units
from loopwright.errors import Problem, QuantityError, RequestError
from loopwright.measuring.gauging import budget_of
from loopwright.measuring.table_columns import pointed
from loopwright.model.build import Build, Units
from loopwright.model.indications import Gauge
from loopwright.model.records import Method, RawColumn
from loopwright.model.spread import Shape
from loopwright.studies.bench import Bench, gauges_in_use
from loopwright.studies.evaluating_forms import Array, Given, Kind, OneReading, Part, Read, Setting, Wanted
from loopwright.units import Dimension
from loopwright.units.reading import split

MOST_READINGS = 5000
"""Rows of one evaluation; more are a file that holds something else."""


@dataclass(frozen=True)
class Shop:
    """What an evaluation knows of the shop that it is made in.

    Attributes:
        units: of bare numbers and of answers.
        assume: shape of a bare ± limit.
        confidence: of expanded uncertainties; None takes the factor 2.
        gauges: instruments by name, as their last calibration left them.
    """

    units: Units = field(default_factory=Units)
    assume: Shape = Shape.RECTANGULAR
    confidence: float | None = None
    gauges: Mapping[str, Gauge] = field(default_factory=dict)


def shop_of(build: Build, gauges: Mapping[str, Gauge] | None = None) -> Shop:
    """The shop of a build, with its gauges as the build file states them unless others are given."""
    return Shop(build.units, build.assume, build.confidence, build.gauges if gauges is None else gauges)


def shop_of_bench(bench: Bench) -> Shop:
    """The shop of a book: its gauges are as their last calibration in the book left them."""
    return shop_of(bench.build, gauges_in_use(bench))


def in_units(shop: Shop | None, answer: Sequence[str], *, like: tuple[Kind, Given] | None = None) -> Shop:
    """A shop whose answers are in other units.

    Args:
        shop: None is one that knows nothing.
        answer: units of the answer: one of small lengths, one of angles, or both.
        like: an evaluation whose readings are in the units of the answer, where ``answer`` does not say.

    Raises:
        RequestError: one of them is a unit of neither.

    >>> in_units(None, ["thou"]).units.small_length
    'thou'
    """
    found = Shop() if shop is None else shop
    changes: dict[str, str] = {} if like is None else _typed_units(*like)
    for unit in answer:
        if _is_unit(unit, Dimension.LENGTH):
            changes["errors"] = unit
        elif _is_unit(unit, Dimension.ANGLE):
            changes["angle"] = unit
        else:
            raise RequestError(
                f"'{unit}' is not a unit of length or angle", "use µm, thou, µm/m, arcsec or another"
            )
    return replace(found, units=found.units.model_copy(update=changes))


def _typed_units(kind: Kind, given: Given) -> dict[str, str]:
    """Units in which readings and places were typed, as the units of a shop."""
    out: dict[str, str] = {}
    for column in kind.columns:
        unit = given.units.get(column.name)
        if unit is None or column.dimension is None or not _is_unit(unit, column.dimension):
            continue
        if column.dimension is Dimension.LENGTH:
            small = column.role == "reading" and not column.sizes
            out.setdefault("errors" if small else "length", unit)
        elif column.role == "reading":
            out.setdefault("angle", unit)
    return out


@dataclass(frozen=True)
class Checked:
    """What was typed, as numbers, and all that is wrong with it; numbers count only where nothing is."""

    read: Read
    reading: OneReading
    problems: tuple[Problem, ...]


def checked(kind: Kind, given: Given, shop: Shop) -> Checked:
    """What was typed, as numbers, with a problem for everything that cannot be used.

    Args:
        kind: the evaluation.
        given: as typed.
        shop: gauges, and units of bare numbers.
    """
    work = _Checking(kind, given, shop)
    columns = {one.name: work.numbers(one) for one in kind.columns if one.role != "name" and work.has(one)}
    words = {one.name: tuple(work.texts(one)) for one in kind.columns if one.role == "name" and work.has(one)}
    settings = {one.name: work.setting(one) for one in kind.settings}
    work.look_at_the_whole()
    one = work.one_reading()
    read = Read(columns, words, settings, one.own, one.shared, shop.units)
    return Checked(read, one, tuple(work.problems))


def said_wrong(kind: Kind, given: Given, shop: Shop) -> tuple[Problem, ...]:
    """What is wrong with all but the columns: told before somebody types thirty values in vain."""
    work = _Checking(kind, given, shop)
    for one in kind.settings:
        work.setting(one)
    work.one_reading()
    return tuple(work.problems)


def as_request(problems: tuple[Problem, ...]) -> RequestError:
    """One error for what was typed: its first mistake, and how many more there are.

    >>> str(as_request((Problem("height 2", "is empty", "write it"),)))
    'height 2: is empty; write it'
    """
    first = problems[0]
    more = f" (and {len(problems) - 1} more)" if len(problems) > 1 else ""
    return RequestError(f"{first.field + ': ' if first.field else ''}{first.what}{more}", first.remedy)


def method_of(kind: Kind, given: Given, read: Read, shop: Shop) -> Method:
    """What a book keeps of an evaluation: raw readings as typed and as numbers, and the settings."""
    work = _Checking(kind, given, shop)
    columns = [
        RawColumn(
            name=one.name,
            reading=one.role == "reading",
            unit=work.unit(one) or "",
            typed=tuple(work.texts(one)),
            numbers=_plain(read.columns.get(one.name), len(work.texts(one))),
        )
        for one in kind.columns
        if work.has(one)
    ]
    settings = {one.name: text for one in kind.settings if (text := work.said(one))}
    return Method(
        evaluation=kind.name, columns=tuple(columns), settings=settings, stated=given.u, file=given.file
    )


def _plain(numbers: Array | None, count: int) -> tuple[float | None, ...]:
    if numbers is None:
        return (None,) * count
    return tuple(None if np.isnan(one) else float(one) for one in numbers)


class _Checking:
    """Reads cell after cell, and gathers what is wrong."""

    def __init__(self, kind: Kind, given: Given, shop: Shop) -> None:
        self.kind, self.given, self.shop = kind, given, shop
        self.problems: list[Problem] = []

    def said_wrong(self, field_: str, what: str, remedy: str) -> None:
        """A mistake in what is said once, which no table holds."""
        self.problems.append(Problem(field_, what, remedy))

    def wrong(self, field_: str, what: str, remedy: str, row: int | None = None) -> None:
        file, lines = self.given.file, self.given.lines
        line = lines[row] if row is not None and row < len(lines) else None
        if file is None and row is not None:
            field_ = f"{field_} {row + 1}"
        self.problems.append(Problem(field_, what, remedy, file, line))

    def heading(self, column: Wanted) -> str:
        return self.given.headings.get(column.name, column.name)

    def texts(self, column: Wanted) -> list[str]:
        return [str(text).strip() for text in self.given.columns.get(column.name, ())]

    def has(self, column: Wanted) -> bool:
        return any(self.texts(column))

    def unit(self, column: Wanted) -> str | None:
        """The unit of a bare number of a column; None refuses one."""
        said = self.given.units.get(column.name)
        return said or (column.unit(self.shop.units) if column.role == "place" else None)

    def numbers(self, column: Wanted) -> Array:
        assert column.dimension is not None
        unit = self.unit(column)
        if unit is not None and not _is_unit(unit, column.dimension):
            self.wrong(
                self.heading(column),
                f"'{unit}' is not a unit of {column.dimension}",
                f"use {', '.join(units.units_of(column.dimension)[:5])}",
            )
            return np.full(len(self.texts(column)), np.nan)
        if unit is None and (bare := self._bare(column)) > 1:
            self.wrong(
                self.heading(column),
                f"has {bare} numbers without a unit",
                f"say it once for the column: {column.name} [{column.unit(self.shop.units)}]",
            )
            unit = column.unit(self.shop.units)
        return np.array(
            [self._cell(column, text, unit, row) for row, text in enumerate(self.texts(column))], float
        )

    def _bare(self, column: Wanted) -> int:
        """How many numbers of a column name no unit."""
        assert column.dimension is not None
        count = 0
        for text in self.texts(column):
            try:
                count += bool(text) and split(pointed(text, self.given.decimal), column.dimension)[1] is None
            except QuantityError:  # told where the number is read
                continue
        return count

    def _cell(self, column: Wanted, text: str, unit: str | None, row: int) -> float:
        assert column.dimension is not None
        if not text:
            if not column.gaps:
                self.wrong(self.heading(column), "is empty", "write the value, or take the line out", row)
            return np.nan
        try:
            return units.parse(pointed(text, self.given.decimal), column.dimension, bare=unit)
        except QuantityError as error:
            remedy = error.remedy
            if unit is None and "has no unit" in error.what:
                usual = column.unit(self.shop.units)
                remedy = f"say it behind the number, or once for the column: {column.name} [{usual}]"
            self.wrong(self.heading(column), error.what, remedy, row)
            return np.nan

    def said(self, setting: Setting) -> str | None:
        """What was typed for a setting, or what holds where nothing was."""
        return (self.given.settings.get(setting.name) or "").strip() or setting.default

    def setting(self, setting: Setting) -> float | str | tuple[int, ...] | None:
        text = self.said(setting)
        if text is None:
            if setting.needed:
                self.said_wrong(setting.name, "is missing", f"say it: {setting.help}")
            return None
        if setting.counts:
            return self._counts(setting, text)
        if setting.dimension is not None:
            return self._quantity(setting, text)
        if setting.choices and text.casefold() not in {word.casefold() for word in setting.choices}:
            self.said_wrong(setting.name, f"'{text[:60]}' will not do", f"use {', '.join(setting.choices)}")
            return None
        return next((word for word in setting.choices if word.casefold() == text.casefold()), text)

    def _quantity(self, setting: Setting, text: str) -> float | None:
        assert setting.dimension is not None
        try:
            found = units.parse(text, setting.dimension, bare=setting.bare(self.shop.units))
        except QuantityError as error:
            self.said_wrong(setting.name, error.what, error.remedy)
            return None
        if found < 0 and not setting.signed:
            self.said_wrong(setting.name, f"'{text}' is below zero", "give it without a sign")
        return found

    def _counts(self, setting: Setting, text: str) -> tuple[int, ...] | None:
        parts = [part.strip() for part in text.replace(" x ", ",").split(",")]
        if len(parts) != setting.counts or not all(part.isascii() and part.isdigit() for part in parts):
            many = "a whole number" if setting.counts == 1 else f"{setting.counts} whole numbers, with commas"
            self.said_wrong(setting.name, f"'{text[:60]}' is not {many}", f"write {setting.help}")
            return None
        return tuple(int(part) for part in parts)

    def look_at_the_whole(self) -> None:
        """Columns that are missing, unknown, of unlike length, too short or too long."""
        for name in self.given.columns:
            if name not in {one.name for one in self.kind.columns}:
                known = ", ".join(one.name for one in self.kind.columns)
                self.wrong(name, f"is nothing that '{self.kind.name}' reads", f"it reads {known}")
        for name in self.given.settings:
            if name not in {one.name for one in self.kind.settings}:
                known = ", ".join(one.name for one in self.kind.settings) or "none"
                self.said_wrong(name, f"is no setting of '{self.kind.name}'", f"its settings are: {known}")
        missing = [one for one in self.kind.columns if one.needed and not self.has(one)]
        for one in missing:
            self.wrong(one.name, "has no values", f"give {one.help}")
        counts = {one.name: len(self.texts(one)) for one in self.kind.columns if self.has(one)}
        if len(set(counts.values())) > 1:
            said = ", ".join(f"{name} {count}" for name, count in counts.items())
            self.wrong("", f"the columns differ in length: {said}", "give one value of each in every line")
        rows = max(counts.values(), default=0)
        if not missing and rows < self.kind.least:
            readings = "1 reading" if rows == 1 else f"{rows} readings"
            self.wrong("", f"there are only {readings}", f"this needs {self.kind.least} or more")
        if rows > MOST_READINGS:
            self.wrong(
                "", f"there are {rows} readings", f"give {MOST_READINGS} at most, or every n-th of them"
            )

    def one_reading(self) -> OneReading:
        """What one reading is worth, by what was stated or by its gauge."""
        reads, nothing = self.kind.reads, OneReading(0.0, 0.0, self.kind.reads)
        if (self.given.u is None) == (self.given.gauge is None):
            both = self.given.u is not None
            self.said_wrong(
                "u",
                "the uncertainty of one reading is said twice"
                if both
                else "what one reading is worth is not said",
                f"give its standard uncertainty, as in u = {_EXAMPLE[reads]}, "
                "or the name of a gauge of the build; one of the two",
            )
            return nothing
        if self.given.u is not None:
            return self._stated(self.given.u)
        gauge = self.shop.gauges.get(self.given.gauge or "")
        if gauge is None:
            known = ", ".join(f"'{name}'" for name in self.shop.gauges) or "none; name its book or build file"
            self.said_wrong("gauge", f"there is no gauge '{self.given.gauge}'", f"the build has {known}")
            return nothing
        if gauge.dimension is not reads:
            self.said_wrong(
                "gauge",
                f"'{self.given.gauge}' reads {gauge.dimension}, and here {reads} is read",
                f"name a gauge that reads {reads}",
            )
            return nothing
        return self._of_gauge(gauge, reads)

    def _stated(self, text: str) -> OneReading:
        reads = self.kind.reads
        try:
            found = units.parse(text, reads)
        except QuantityError as error:
            self.said_wrong("u", error.what, error.remedy)
            return OneReading(0.0, 0.0, reads)
        if not found > 0:
            self.said_wrong(
                "u", f"'{text}' is not over zero", "no gauge reads without error; give what is known"
            )
        return OneReading(
            found, 0.0, reads, stated=text.strip(), parts=(Part("stated for one reading", found),)
        )

    def _of_gauge(self, gauge: Gauge, reads: Dimension) -> OneReading:
        on = None
        if self.given.taken:
            try:
                on = date.fromisoformat(self.given.taken[:10])
            except ValueError:
                self.said_wrong("taken", f"'{self.given.taken}' is not a day", "write 2026-11-25")
        budget = budget_of(gauge, [0.0], assume=self.shop.assume, on=on)
        if not budget.own_std > 0:
            self.said_wrong(
                "gauge",
                f"'{self.given.gauge}' states neither resolution nor repeatability",
                "state them in the build file, or give u",
            )
        return OneReading(
            budget.own_std,
            budget.shared_std,
            reads,
            gauge=self.given.gauge,
            parts=tuple(Part(c.name, c.std) for c in budget.contributions),
            remarks=budget.remarks,
        )


_EXAMPLE = {Dimension.LENGTH: "'0.5 µm'", Dimension.ANGLE: "'0.5 arcsec'"}


def _is_unit(unit: str, dimension: Dimension) -> bool:
    try:
        units.parse(f"1 {unit}", dimension)
    except QuantityError:
        return False
    return True


def whole_std(one: OneReading) -> float:
    """Standard uncertainty of one reading by itself.

    >>> whole_std(OneReading(3.0, 4.0, Dimension.LENGTH))
    5.0
    """
    return hypot(one.own, one.shared)
