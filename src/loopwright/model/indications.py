"""What is asked of the machine and what can be read on it: targets, tests, and the gauges that read them."""

import re
from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    SerializationInfo,
    ValidationInfo,
    WithJsonSchema,
    field_serializer,
    model_validator,
)

from loopwright.errors import LoopwrightError
from loopwright.handbook.materials import material as handbook_material
from loopwright.model.base import (
    Context,
    Direction,
    Frozen,
    NonNegativeExpansion,
    Point,
    Text,
    YesNo,
    for_file,
    gathered,
    mistake,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.model.spread import (
    NONE,
    AngleSpread,
    LengthSpread,
    Spread,
    read_spread,
    spread_schema,
    write_spread,
)
from loopwright.units import Dimension

COMPONENTS = ("X", "Y", "Z", "XY", "YZ", "ZX", "XYZ", "A", "B", "C")
"""What can be asked of an indication: a displacement, the size of several together, or a rotation."""

ROTARY_LETTERS = "ABCDE"
"""Axis letters that ISO 841 gives to rotary axes; all others are linear."""

MOST_STEPS = 100_000


def axis_dimension(letter: str) -> Dimension:
    """What the position of an axis is measured in, by its letter (ISO 841)."""
    return Dimension.ANGLE if letter[:1] in ROTARY_LETTERS else Dimension.LENGTH


def _positions(value: Any, remedy: str) -> dict[str, Any]:
    if not isinstance(value, dict) or not all(isinstance(k, str) for k in value):
        raise mistake("is left empty" if value is None else f"{short(value)} does not name axes", remedy)
    return value


def _read_pose(value: Any, info: Context) -> dict[str, float]:
    found = _positions(value, "write {X: 160, Y: 110}")
    return gathered(found.items(), lambda axis, v: read_quantity(v, info, axis_dimension(axis)))


class Span(Frozen):
    """From where to where along one axis, and in what steps."""

    start: float
    """First position, mm or rad."""
    end: float
    """Last position."""
    step: float | None = None
    """Distance of the positions; left out: five of them."""


def _read_span(axis: str, value: Any, info: Context) -> Span:
    if isinstance(value, Span):
        return value
    if isinstance(value, (str, dict)) or not hasattr(value, "__len__") or len(value) not in (2, 3):
        raise mistake(f"{short(value)} is not a span", "write [from, to] or [from, to, step]")
    numbers = [read_quantity(v, info, axis_dimension(axis)) for v in value]
    if not numbers[0] < numbers[1]:
        raise mistake(f"{short(list(value))} goes nowhere", "write the smaller end first: [0, 320]")
    if len(numbers) == 3:
        if numbers[2] <= 0:
            raise mistake(f"a step of {short(value[2])} leads nowhere", "give a step above zero")
        if (numbers[1] - numbers[0]) / numbers[2] > MOST_STEPS:
            raise mistake(f"{short(list(value))} has more than {MOST_STEPS} steps", "take a coarser step")
    return Span(start=numbers[0], end=numbers[1], step=numbers[2] if len(numbers) == 3 else None)


def _read_spans(value: Any, info: Context) -> dict[str, Span]:
    found = _positions(value, "write {X: [0, 320]}")
    return gathered(found.items(), lambda axis, v: _read_span(axis, v, info))


def _write_pose(value: dict[str, float], info: Context) -> dict[str, Any]:
    return {axis: write_quantity(v, axis_dimension(axis), info) for axis, v in value.items()}


def _write_spans(value: dict[str, Span], info: Context) -> dict[str, list[Any]]:
    return {
        axis: [
            write_quantity(v, axis_dimension(axis), info) for v in (s.start, s.end, s.step) if v is not None
        ]
        for axis, s in value.items()
    }


_POSITION = {"type": ["string", "number"], "description": "length, or angle for a rotary axis or a rotation"}
Pose = Annotated[
    dict[str, float],
    BeforeValidator(_read_pose),
    PlainSerializer(_write_pose, when_used="json"),
    WithJsonSchema(
        {
            "type": "object",
            "additionalProperties": _POSITION,
            "description": "axis positions: {X: 160, Y: 110}",
        }
    ),
]
Spans = Annotated[
    dict[str, Span],
    BeforeValidator(_read_spans),
    PlainSerializer(_write_spans, when_used="json"),
    WithJsonSchema(
        {
            "type": "object",
            "additionalProperties": {"type": "array", "items": _POSITION, "minItems": 2, "maxItems": 3},
            "description": "spans of axes: {X: [from, to, step]}",
        }
    ),
]


_ZEROING_REMEDY = "write none, mean, line, or {at: {X: 160}}"


def _read_zeroing(value: Any, info: Context) -> Any:
    if isinstance(value, str) and value in ("none", "mean", "line"):
        return {"how": value}
    if isinstance(value, dict) and set(value) == {"at"}:
        return {"how": "at", "at": value["at"]}
    if isinstance(value, Zeroing) or (isinstance(value, dict) and "how" in value and not for_file(info)):
        return value
    what = "is left empty" if value is None else f"{short(value)} is not a way to zero"
    raise mistake(what, _ZEROING_REMEDY)


class Zeroing(Frozen):
    """How an indication is zeroed before it is read."""

    how: Literal["none", "mean", "line", "at"] = "none"
    """Not at all; by its mean; by its best line (best plane over several axes); or at a pose."""
    at: Pose = Field(default={})
    """The pose at which it is set to zero; axes not named stand where 'holding' says, or at home."""


ZeroingField = Annotated[
    Zeroing,
    BeforeValidator(_read_zeroing),
    PlainSerializer(
        lambda z, info: {"at": _write_pose(z.at, info)} if z.how == "at" else z.how, when_used="json"
    ),
    WithJsonSchema(
        {
            "anyOf": [
                {"enum": ["none", "mean", "line"]},
                {
                    "type": "object",
                    "required": ["at"],
                    "additionalProperties": False,
                    "properties": {
                        "at": {
                            "type": "object",
                            "additionalProperties": _POSITION,
                            "description": "pose at which it is zero; others stand where 'holding' says, or at home",
                        }
                    },
                },
            ],
            "description": "none, mean, line, or {at: {X: 160, Y: 110}}",
        }
    ),
]


def _with_sweep(schema: dict[str, Any]) -> None:
    """A file may say 'sweep' for 'over'."""
    over = schema["properties"]["over"]
    schema["properties"]["sweep"] = {**over, "description": "Another word for 'over'."}


class Indication(Frozen):
    """Relative displacement or rotation of two bodies, at a point, over poses, zeroed in a stated way.

    It is the movement of the second body against the first, at a point that stays on the second.
    """

    model_config = ConfigDict(json_schema_extra=_with_sweep)

    between: tuple[str, str]
    """The two bodies: the work (or datum) side first, the tool (or indicator) side second."""
    point: Point = (0.0, 0.0, 0.0)
    """Where, machine coordinates at the home pose; the point stays on the second body."""
    component: Literal["X", "Y", "Z", "XY", "YZ", "ZX", "XYZ", "A", "B", "C"] | None = None
    """What is asked: X, Y, Z; several together as the size of their vector; or a rotation A, B, C."""
    along: Direction | None = None
    """Instead of a component: one direction."""
    over: Spans = Field(default={})
    """The axes that move, each [from, to] or [from, to, step]; axes not named stay where 'holding' says."""
    holding: Pose = Field(default={})
    """Where the other axes stand; home if not named."""
    turns_with: str | None = None
    """The body with which the directions turn; left out: they stay with the machine."""
    zeroed: ZeroingField = Zeroing()
    """How it is zeroed."""
    under: list[str] = Field(default=[])
    """Process loads that act while it is read; gravity always acts."""
    note: str | None = None
    """Anything to know about it."""

    @model_validator(mode="before")
    @classmethod
    def _sweep_is_over(cls, value: Any) -> Any:
        if isinstance(value, dict) and "sweep" in value:
            if "over" in value:
                raise mistake("'sweep' and 'over' say the same", "keep one of them")
            return {("over" if key == "sweep" else key): item for key, item in value.items()}
        return value

    @model_validator(mode="after")
    def _one_question(self) -> Self:
        if (self.component is None) == (self.along is None):
            raise mistake("needs 'component' or 'along', one of the two", "write component: XY, or along: +Y")
        if self.between[0] == self.between[1]:
            raise mistake(
                f"is between '{self.between[0]}' and itself", "name the work side and the tool side"
            )
        return self

    @property
    def angular(self) -> bool:
        """A rotation."""
        return self.component in ("A", "B", "C")

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""
        return Dimension.ANGLE if self.angular else Dimension.LENGTH

    @property
    def components(self) -> tuple[str, ...]:
        """The single components that make it up: ('X', 'Y') for XY, ('along',) for a direction."""
        return ("along",) if self.component is None else tuple(self.component)


def _written(value: Any, dimension: Dimension, info: Context) -> Any:
    if isinstance(value, Spread):
        return write_spread(value, dimension, info)
    return None if value is None else write_quantity(value, dimension, info)


def _angular_or_not(value: Any, info: ValidationInfo) -> Dimension:
    return Dimension.ANGLE if info.data.get("component") in ("A", "B", "C") else Dimension.LENGTH


def _read_limit(value: Any, info: ValidationInfo) -> float:
    found = read_quantity(value, info, _angular_or_not(value, info))
    if found <= 0:
        raise mistake(f"a limit of {short(value)} cannot be held", "give a limit above zero")
    return found


class Target(Indication):
    """An indication with a limit that the machine must hold: its size stays within the limit."""

    limit: Annotated[float, BeforeValidator(_read_limit), WithJsonSchema(_POSITION)]
    """Largest size allowed, to either side."""

    @field_serializer("limit", when_used="json")
    def _write_limit(self, value: float, info: SerializationInfo) -> Any:
        return _written(value, self.dimension, info)

    @model_validator(mode="after")
    def _has_a_volume(self) -> Self:
        if not self.over:
            raise mistake(
                "does not say over which poses it must hold", "write over: {X: [0, 320], Y: [0, 220]}"
            )
        return self


class Test(Indication):
    """An indication that someone can read."""

    gauge: str | None = None
    """The gauge that reads it."""
    artefact: str | None = None
    """What it reads against."""
    minutes: float = Field(strict=True, default=10.0, gt=0, le=10_000)
    """Work in it, once."""
    repeats: int = Field(strict=True, default=1, ge=1, le=1000)
    """How often each pose is read."""
    limit: Annotated[
        float | None,
        BeforeValidator(lambda v, info: None if v is None else _read_limit(v, info)),
        WithJsonSchema({"type": ["string", "number", "null"]}),
    ] = None
    """What is acceptable, where there is such a limit."""

    @field_serializer("limit", when_used="json")
    def _write_limit(self, value: float | None, info: SerializationInfo) -> Any:
        return _written(value, self.dimension, info)


def _read_gauge_value(value: Any, info: ValidationInfo, spread_wanted: bool) -> Any:
    dimension = Dimension.ANGLE if info.data.get("reads") == "angle" else Dimension.LENGTH
    if spread_wanted:
        return read_spread(value, info, dimension)
    found = read_quantity(value, info, dimension)
    if found < 0:
        raise mistake(f"{short(value)} is negative", "give zero or more")
    return found


_GaugeValue = Annotated[
    float, BeforeValidator(lambda v, info: _read_gauge_value(v, info, False)), WithJsonSchema(_POSITION)
]
_GaugeSpread = Annotated[
    Spread,
    BeforeValidator(lambda v, info: _read_gauge_value(v, info, True)),
    WithJsonSchema(spread_schema(Dimension.LENGTH)),
]


_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _read_date(value: Any) -> Any:
    if value is None or type(value) is date:
        return value
    if isinstance(value, str) and _DATE.fullmatch(value.strip()):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            raise mistake(f"{short(value)} is not in the calendar", "check month and day") from None
    raise mistake(f"{short(value)} is not a date", "write year-month-day: 2026-11-25")


Date = Annotated[
    date | None,
    Text(
        lambda value, _: _read_date(value),
        lambda value, _: None if value is None else value.isoformat(),
        {"type": ["string", "null"], "format": "date", "description": "date: 2026-11-25"},
    ),
]


def _read_material(value: Any) -> Any:
    if isinstance(value, str):
        try:
            handbook_material(value[:100])
        except LoopwrightError as error:
            what, _, remedy = str(error).partition("; ")
            raise mistake(what, f"{remedy.partition(', or state')[0]}, or give 'expansion'") from None
    return value


_ScaleMaterial = Annotated[
    str | None, BeforeValidator(_read_material), WithJsonSchema({"type": ["string", "null"]})
]


class _Grows(Frozen):
    """What a thing that sizes are compared with is made of."""

    material: _ScaleMaterial = None
    """Material of its scale or body, by its name in the handbook; left out: 'expansion', else steel."""
    expansion: NonNegativeExpansion | None = None
    """Coefficient of expansion of its scale or body, instead of a material."""
    expansion_std: NonNegativeExpansion | None = None
    """Standard uncertainty of that coefficient; left out: a tenth of it."""

    @model_validator(mode="after")
    def _one_growth(self) -> Self:
        if self.material is not None and self.expansion is not None:
            raise mistake("has a material and an expansion", "keep one of them")
        if self.expansion_std is not None and self.expansion is None:
            raise mistake("'expansion_std' stands alone", "write expansion: 11.5 µm/m/K beside it")
        return self


class Gauge(_Grows):
    """An instrument."""

    reads: Literal["length", "angle"] = "length"
    """What it reads."""
    resolution: _GaugeValue = 0.0
    """Smallest step it shows."""
    calibration: _GaugeSpread = NONE
    """How far its calibration leaves it open, over its range; a known 'value' is what it reads too much."""
    repeatability: _GaugeSpread = NONE
    """How readings of one thing scatter."""
    reversal: _GaugeSpread = NONE
    """What it loses when the direction turns."""
    drift_per_kelvin: _GaugeSpread = NONE
    """How far its zero moves for each kelvin that it warms after it was set."""
    verified: YesNo = False
    """Somebody has checked these figures on the gauge itself; else they are its maker's, or a guess."""
    calibrated: Date = None
    """Day of its last calibration."""
    due: Date = None
    """Day on which the next calibration is due; it may be used after that, and its readings will say so."""
    note: str | None = None
    """Anything to know about it."""

    @field_serializer(
        "resolution", "calibration", "repeatability", "reversal", "drift_per_kelvin", when_used="json"
    )
    def _write_value(self, value: Any, info: SerializationInfo) -> Any:
        return _written(value, self.dimension, info)

    @model_validator(mode="after")
    def _dates_in_order(self) -> Self:
        if self.calibrated is not None and self.due is not None and self.due < self.calibrated:
            raise mistake("is due before it was calibrated", "exchange 'calibrated' and 'due', or mend one")
        return self

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""
        return Dimension(self.reads)


class Artefact(_Grows):
    """What a test reads against: straightedge, square, gauge block."""

    straightness: LengthSpread = NONE
    """How far its working line is from straight."""
    squareness: AngleSpread = NONE
    """How far its working faces are from square to one another."""
    note: str | None = None
    """Anything to know about it."""
