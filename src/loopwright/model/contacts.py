"""Where bodies touch: contacts, rails and blocks, drives, and how they can be set."""

from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    Field,
    PlainSerializer,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WithJsonSchema,
    WrapValidator,
    model_validator,
)

from loopwright.model.base import (
    Context,
    Direction,
    Frozen,
    Name,
    NonNegativeForce,
    NonNegativeLength,
    Point,
    PositiveLength,
    mistake,
    quantity,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.model.parts import DimSum
from loopwright.model.spread import NONE, AngleSpread, LengthSpread, Warmth
from loopwright.units import Dimension


def _above_zero(value: float) -> tuple[str, str] | None:
    return None if value > 0 else ("holds nothing", "give a stiffness above zero, such as 300 N/µm")


Stiffness = Annotated[float, quantity(Dimension.STIFFNESS, _above_zero)]
RotaryStiffness = Annotated[float, quantity(Dimension.ROTARY_STIFFNESS, _above_zero)]


class AdjusterKind(StrEnum):
    """How a contact can be set."""

    SHIM = "shim"
    SPACER = "spacer"
    JACK_SCREW = "jack screw"
    FLOAT = "float"
    ECCENTRIC = "eccentric"
    SCRAPING = "scraping"


def _read_range(value: Any, info: Context) -> Any:
    parts = value
    if isinstance(value, str):
        for dash in ("…", "...", "..", " to "):
            if dash in value:
                head, _, tail = value.partition(dash)
                unit = tail.strip().lstrip("+-−0123456789./ eE")
                parts = [
                    head if any(c.isalpha() for c in head) or not unit else f"{head.strip()} {unit}",
                    tail,
                ]
                break
    if isinstance(parts, (str, dict)) or not hasattr(parts, "__len__") or len(parts) != 2:
        raise mistake(f"{short(value)} is not a range", "write 0…0.2, or [0, 0.2]")
    low, high = (read_quantity(p.strip() if isinstance(p, str) else p, info, Dimension.LENGTH) for p in parts)
    if not low < high:
        raise mistake(f"{short(value)} is an empty range", "write the smaller end first: 0…0.2")
    return low, high


def _write_range(value: tuple[float, float] | None, info: Context) -> Any:
    return None if value is None else [write_quantity(v, Dimension.LENGTH, info) for v in value]


Range = Annotated[
    tuple[float, float],
    BeforeValidator(_read_range),
    PlainSerializer(_write_range, when_used="json"),
    WithJsonSchema({"type": ["string", "array"], "description": "from…to, e.g. '0…0.2 mm'"}),
]


class Adjuster(Frozen):
    """A contact that may be set: how, how far, in what steps, and what locking it shifts."""

    kind: AdjusterKind
    """How it is set."""
    range: Range
    """How far it can be set, along the contact's normal."""
    increment: NonNegativeLength = 0.0
    """Smallest step; 0 is continuous."""
    setting: LengthSpread = NONE
    """How well a setting is hit."""
    lock_shift: LengthSpread = NONE
    """What locking it moves."""


class Seat(Frozen):
    """What one contact has, whatever it touches: where it comes from, how stiff it is, what presses it."""

    dims: DimSum = Field(default=[])
    """Signed sum of dims that moves the contact along its normal."""
    deviation: LengthSpread = NONE
    """The contact's own deviation along its normal, beside the dims."""
    stiffness: Stiffness | None = None
    """Stiffness along the normal; left out: the build's 'contact_stiffness'."""
    preload: NonNegativeForce = 0.0
    """Force that presses it together before any load."""
    adjust: Adjuster | None = None
    """How it can be set."""


def _seat_or_free(value: Any, handler: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
    if isinstance(value, dict):
        return Seat.model_validate(value, context=info.context)
    if isinstance(value, Seat) or value in (None, "free"):
        return handler(value)
    raise mistake(f"{short(value)} is not a contact", "write free, or {stiffness: 100 N/µm}")


SideSeat = Annotated[Seat | Literal["free"], WrapValidator(_seat_or_free)]
OwnSideSeat = Annotated[Seat | Literal["free"] | None, WrapValidator(_seat_or_free)]


class Contact(Seat):
    """A point where a joint touches, with a normal from parent to child."""

    at: Point
    """Where it touches, machine coordinates at the home pose."""
    normal: Direction
    """From parent to child."""


class RailLine(Seat):
    """One of the two lines that a rail gives its blocks: its height, or its side."""

    straightness: NonNegativeLength = 0.0
    """Width of the band about its best line that it stays in, over its length, at the build's confidence."""
    modes: int = Field(strict=True, default=4, ge=1, le=12)
    """How many smooth shapes the profile is made of."""
    slope: AngleSpread = NONE
    """Slope of its best line against the direction of travel, about the middle of the rail."""


class Rail(Frozen):
    """A rail: two lines along the travel."""

    height: RailLine = RailLine()
    """Along the guide's normal."""
    side: RailLine = RailLine()
    """Across: normal x direction of travel, turned so that it completes a right-handed set."""
    ends: Annotated[
        tuple[float, float] | None,
        BeforeValidator(lambda v, info: None if v is None else _read_range(v, info)),
        PlainSerializer(_write_range, when_used="json"),
        WithJsonSchema({"type": ["string", "array", "null"], "description": "from…to along the travel"}),
    ] = None
    """Where the rail begins and ends along the travel; left out: just as long as its blocks need."""


class Block(Frozen):
    """A carriage or runner on a rail: a contact along the guide's normal and one to the side.

    What its contacts leave out they have from the guide's 'every_block'.
    """

    rail: str
    """Name of its rail."""
    at: Point
    """Its centre at the home pose."""
    height: Seat | None = None
    """Contact along the normal; left out: that of the guide's 'every_block'."""
    side: OwnSideSeat = None
    """Contact to the side, or free where this rail does not locate; left out: that of 'every_block'."""


class EveryBlock(Frozen):
    """What every block of a guide has, unless it says otherwise."""

    height: Seat = Seat()
    """Contact along the normal."""
    side: SideSeat = Seat()
    """Contact to the side, or free."""


class Guide(Frozen):
    """Rails and the blocks that ride on them: contacts that move with the axis."""

    normal: Direction
    """Of the rails' mounting face, from parent to child."""
    rails_on: Literal["parent", "child"] = "parent"
    """Which body carries the rails; the blocks are on the other."""
    rails: dict[Name, Rail] = Field(min_length=1)
    """The rails, by name."""
    blocks: dict[Name, Block] = Field(min_length=1)
    """The blocks, by name."""
    every_block: EveryBlock = EveryBlock()
    """What every block has."""


class LeadError(Frozen):
    """How far the travel is from what was commanded: by grade, or by its parts."""

    grade: str | None = None
    """Accuracy grade: P1, P3, P5 (ISO 3408-3), T3, T5, T7, T10, or C0 to C10 (JIS B 1192)."""
    travel: LengthSpread = NONE
    """Mean travel deviation over the whole travel (a slope)."""
    bandwidth: NonNegativeLength = 0.0
    """Width of the band about the mean line, over the whole travel."""
    revolution: NonNegativeLength = 0.0
    """Width of the band within one revolution; needs 'lead'."""
    modes: int = Field(strict=True, default=4, ge=1, le=12)
    """How many smooth shapes the band is made of."""

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.grade is not None and (not self.travel.certain or self.bandwidth or self.revolution):
            raise mistake(
                "a grade stands beside values of its own",
                "give the grade, or travel, bandwidth and revolution",
            )
        return self


def completed(own: Seat, general: Seat) -> Seat:
    """A contact whose fields that were left out are taken from another.

    >>> completed(Seat(preload=5.0), Seat(stiffness=1e5)).stiffness
    100000.0
    """
    left_out = {
        name: getattr(general, name)
        for name, field in Seat.model_fields.items()
        if getattr(own, name) == field.get_default(call_default_factory=True)
    }
    return own.model_copy(update=left_out)


class Drive(Frozen):
    """What holds an axis along its own direction: one contact, whose deviation is the lead error."""

    kind: Literal["ball screw", "lead screw", "belt", "rack", "linear motor", "cylinder", "worm"]
    """What it is."""
    at: Point
    """Where it takes hold of the child (the nut, the forcer) at the home pose."""
    lead_error: LeadError = LeadError()
    """Its lead error."""
    dims: DimSum = Field(default=[])
    """Signed sum of dims that moves its hold along the axis, such as brackets and a nut spacer."""
    lead: PositiveLength | None = None
    """Travel in one revolution."""
    stiffness: Stiffness | None = None
    """Stiffness along the axis, of all the drive train; left out: the build's 'contact_stiffness'."""
    fixed_at: Point | None = None
    """Where screw, belt or scale is held on the parent; it grows from here. Left out: the nut's home place."""
    free_at: Point | None = None
    """Where the other bearing of a screw stands on the parent; only to say how the screw lines up with its nut."""
    root_diameter: PositiveLength | None = None
    """Root diameter of a screw; only to say how hard it bends where it does not line up."""
    material: str | None = None
    """Material of the screw or scale; left out: it grows like the parent body."""
    above_room: Warmth = NONE
    """How much warmer than the room it runs."""
    deviation: LengthSpread = NONE
    """A fixed offset of the hold (matters where two drives share an axis)."""
    adjust: Adjuster | None = None
    """How the offset can be set."""
