"""What a book holds: readings, states of the machine, calibrations, concessions, verdicts, as typed data.

Numbers are in internal units (mm, rad, K; temperatures in degrees Celsius). What a person typed is kept beside
them as it was typed.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, TypeAdapter, field_validator, model_validator

from loopwright.model.base import Frozen, mistake

Number = Annotated[float, Field(allow_inf_nan=False)]
Uncertainty = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Label = Annotated[str, Field(min_length=1, max_length=200)]
Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class Revision(Frozen):
    """A description of the build as it was saved."""

    kind: Literal["revision"] = "revision"
    text: str = Field(max_length=1_000_000)
    """The build file, byte for byte."""
    file: str | None = None
    """Name of the file it came from."""
    difference: str = ""
    """What changed since the revision before, for people."""


class Change(Frozen):
    """One thing that was done to the machine."""

    what: Literal["set", "sized", "renewed"]
    """An adjuster was set; a dim was brought to size (ground, shimmed, scraped); a part was exchanged or made anew."""
    of: Label
    """'joint/contact' (or the longer path of an adjuster), 'part/dim', or the part."""
    value: Number | None = None
    """Where it now stands: the adjuster's setting along the contact's normal, or the dim's size, mm or rad."""
    std: Uncertainty = 0.0
    """How well that is known, standard uncertainty."""
    lock_std: Uncertainty = 0.0
    """What locking it may have moved, standard uncertainty."""
    item: Label | None = None
    """Serial of the item that was put in, where a part was exchanged for one that was inspected."""
    planned: Number | None = None
    """What had been asked for, mm or rad."""

    @model_validator(mode="after")
    def _says_where_it_stands(self) -> Self:
        if (self.value is None) != (self.what == "renewed"):
            raise mistake(
                f"'{self.of}' was {self.what}" + (", but to what?" if self.value is None else " to a value"),
                "give 'value' for what was set or sized, and none for what was renewed",
            )
        return self


class State(Frozen):
    """The machine from one change to the next. Readings belong to a state."""

    kind: Literal["state"] = "state"
    parent: int | None = None
    """Number of the state before; None for the first."""
    reason: str
    """Why it was made, for people."""
    cause: Literal["start", "adjustment", "replacement", "rework"] = "adjustment"
    """What made it."""
    changes: tuple[Change, ...] = ()
    """What was done, all of it at once."""
    step: str | None = None
    """The step of the fit-up that it belongs to."""


class Warm(Frozen):
    """A temperature as it was read: degrees Celsius and standard uncertainty, K."""

    value: Number
    std: Uncertainty = 0.0


class Effect(Frozen):
    """An error that several values have in common, such as the calibration error of a gauge.

    Effects of one name are one and the same error, in whatever readings they occur.
    """

    name: Label
    std: Uncertainty
    """Standard uncertainty, mm or rad."""
    column: tuple[Number, ...]
    """How much of it is in each value."""


class Contribution(Frozen):
    """One line of a reading's uncertainty budget, for people."""

    name: Label
    std: Uncertainty
    """In the unit of the value, mm or rad."""
    dof: float | None = None
    """Degrees of freedom; None where there is no end to them."""
    how: Literal["A", "B"] = "B"
    """By statistics, or by other means (JCGM 100)."""
    shared: bool = False
    """In common with other readings."""


class Evaluated(Frozen):
    """What was made of raw values: one value for each pose, and how well it is known."""

    values: tuple[Number, ...]
    """mm or rad; corrected to 20 degC where a temperature was read."""
    stds: tuple[Uncertainty, ...]
    """Standard uncertainty of each value on its own."""
    effects: tuple[Effect, ...] = ()
    """What several values have in common."""
    contributions: tuple[Contribution, ...] = ()
    """Where the uncertainty comes from, for one value."""
    expanded: Uncertainty | None = None
    """Expanded uncertainty of one value, at the confidence of the build."""
    notes: tuple[str, ...] = ()
    """What was corrected or assumed."""

    @model_validator(mode="after")
    def _one_for_each(self) -> Self:
        lengths = {len(self.stds), *(len(effect.column) for effect in self.effects)}
        if lengths != {len(self.values)} or not self.values:
            raise mistake(
                "values, uncertainties and effects are not as many as each other", "give one for each pose"
            )
        return self


class RawColumn(Frozen):
    """One column of raw readings: what was read, or where."""

    name: Label
    reading: bool
    """A gauge showed it; else it says where that was."""
    unit: str = ""
    """Unit of those of its numbers that name none."""
    typed: tuple[str, ...]
    """As it was typed; '' where nothing was."""
    numbers: tuple[Number | None, ...]
    """The same as numbers, mm or rad; None where nothing was typed, or no number."""

    @model_validator(mode="after")
    def _one_for_each(self) -> Self:
        if len(self.typed) != len(self.numbers):
            raise mistake("texts and numbers are not as many as each other", "give one number for each text")
        return self


class Method(Frozen):
    """How values were worked out of raw readings; the readings themselves, which stay what they are."""

    evaluation: Label
    """Its name, such as 'straightedge reversal'."""
    columns: tuple[RawColumn, ...]
    """What was read, and where."""
    settings: dict[str, str] = Field(default={})
    """What was said once for all readings, as typed."""
    stated: str | None = None
    """Standard uncertainty of one reading as it was typed; None where it is that of the gauge."""
    result: str = ""
    """Which of its results the values are."""
    file: str | None = None
    """Name of the table that the readings came from."""


class Reading(Frozen):
    """Recorded values of a dim, a test, a comparison of two dims, or the gap of a closure."""

    kind: Literal["reading"] = "reading"
    subject: Literal["dim", "test", "comparison", "gap"]
    """What sort of thing was read."""
    of: Label
    """'part/dim', the name of the test, or the name of the closure."""
    against: Label | None = None
    """For a comparison: the dim that was taken away from the first."""
    item: Label | None = None
    """Serial of the item that was read, where it is one of several bought or made alike."""
    state: int
    """Number of the state of the machine; for an item on the bench, the one at that time."""
    gauge: Label | None = None
    """What it was read with."""
    typed: tuple[tuple[str, ...], ...] = ()
    """As it was typed: for each pose its repeats."""
    raw: tuple[tuple[Number, ...], ...] = Field(min_length=1, max_length=100_000)
    """The same as numbers, mm or rad."""
    poses: dict[str, tuple[Number, ...]] = Field(default={})
    """Axis positions of each value, where they are not those of the test."""
    both_directions: bool = False
    """Positions were approached from both sides."""
    turned: bool = False
    """Each value is the mean of two, the artefact turned over between them, so its own error cancels."""
    part_temperature: Warm | None = None
    gauge_temperature: Warm | None = None
    taken: str | None = None
    """When it was read (ISO 8601), where that is not when it was recorded."""
    evaluated: Evaluated
    """What was made of it."""
    surprise: Number | None = None
    """How many standard uncertainties it was from what was expected when it was recorded."""
    kept: bool = False
    """It was asked about, and kept."""
    method: Method | None = None
    """How the values were worked out, where they are not what a gauge showed."""
    note: str | None = None

    @field_validator("raw")
    @classmethod
    def _has_values(cls, value: tuple[tuple[float, ...], ...]) -> tuple[tuple[float, ...], ...]:
        if not all(value):
            raise mistake("a pose has no value", "give at least one value for each pose")
        return value

    @model_validator(mode="after")
    def _names_its_partner(self) -> Self:
        if (self.against is None) != (self.subject != "comparison"):
            raise mistake(
                "a comparison has two dims, anything else one", "give 'against' for a comparison only"
            )
        return self


class Calibration(Frozen):
    """A gauge was calibrated, or found to be good."""

    kind: Literal["calibration"] = "calibration"
    gauge: Label
    done: Day
    due: Day | None = None
    std: Uncertainty | None = None
    """Standard uncertainty that the calibration leaves, mm or rad; None keeps what the description says."""
    error: Number = 0.0
    """Known error at the zero: it is taken off every reading, mm or rad."""
    verified: bool = True
    certificate: str | None = None
    note: str | None = None


class Concession(Frozen):
    """A part out of tolerance may be used, and on what terms."""

    kind: Literal["concession"] = "concession"
    part: Label
    dims: tuple[Label, ...] = Field(min_length=1)
    """'part/dim' of what is out of tolerance."""
    state: int
    decision: Literal["use as is", "compensate", "match", "remake", "refuse"]
    terms: str = ""
    """What has to be done for it."""
    chances: dict[str, Number] = Field(default={})
    """Chance to meet each target on these terms, as it was when it was decided."""


class Verdict(Frozen):
    """What was said of a dim or a test against its limits."""

    kind: Literal["verdict"] = "verdict"
    of: Label
    item: Label | None = None
    state: int
    verdict: Literal["conforming", "not conforming", "undecided"]
    value: Number
    std: Uncertainty
    limits: tuple[Number | None, Number | None]
    probability: Annotated[float, Field(ge=0, le=1)]
    """That it conforms."""
    rule: Label
    """The decision rule, guard band included."""


class Stock(Frozen):
    """What lies in the drawer: shim foil and the like, counted."""

    kind: Literal["stock"] = "stock"
    what: Label
    """Such as 'shim foil'."""
    size: Annotated[float, Field(gt=0, allow_inf_nan=False)]
    """Thickness, mm."""
    std: Uncertainty = 0.0
    count: int = Field(ge=0)
    note: str | None = None


class ColumnsKept(Frozen):
    """Which column of a shop's reading file means what, kept under a name."""

    kind: Literal["columns"] = "columns"
    name: Label
    columns: dict[str, Any]


class Withdrawal(Frozen):
    """An entry no longer counts. It stays in the book; the entry that says so names it."""

    kind: Literal["withdrawal"] = "withdrawal"
    reason: str = Field(min_length=1)


Record = Annotated[
    Revision | State | Reading | Calibration | Concession | Verdict | Stock | ColumnsKept | Withdrawal,
    Field(discriminator="kind"),
]
"""Anything that can be entered in a book."""

RECORD: TypeAdapter[Any] = TypeAdapter(Record)
"""Reads and writes records as JSON."""


class Entry(Frozen):
    """One line of a book: who entered what, when, from where and why."""

    number: int
    """Its place in the book, counted from 1; never used twice."""
    key: Label
    """Given by the writer, unique: an entry that is sent twice is entered once."""
    at: str
    """When it was entered, UTC, ISO 8601."""
    who: Label
    station: str = ""
    why: str = ""
    supersedes: int | None = None
    """Number of the entry that this one takes the place of."""
    of: int | None = None
    """Its number among its kind: first revision, second state ... A correction keeps the number of what it corrects."""
    record: Record
