"""How far a thing may be from its nominal, as its drawing or its maker states it."""

from collections.abc import Callable
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError

from loopwright import units
from loopwright.errors import QuantityError
from loopwright.model.base import (
    SUGGESTED_UNITS,
    Context,
    Frozen,
    Text,
    bare_unit,
    effort,
    exact_number,
    finite,
    for_file,
    gathered,
    is_bare,
    mistake,
    quantity_schema,
    read_quantity,
    short,
    write_quantity,
    writing_units,
)
from loopwright.units import Dimension


class Shape(StrEnum):
    """Shape of the distribution between the limits (JCGM 100, 4.3.7 to 4.4.6; JCGM 101, 6.4)."""

    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    NORMAL = "normal"
    ARCSINE = "arcsine"
    TRAPEZOIDAL = "trapezoidal"


class Spread(Frozen):
    """A deviation: what is known of it (``value``) and how far it may be from that (limits or a std).

    All numbers in the internal unit of what it describes. ``std`` and limits exclude each other.

    >>> Spread(lower=-0.01, upper=0.02).mean
    0.005
    """

    value: float = 0.0
    """Known deviation from nominal; the limits are counted from it."""
    lower: float = 0.0
    """Lower limit, counted from value."""
    upper: float = 0.0
    """Upper limit, counted from value."""
    std: float | None = None
    """Standard deviation, where that is known instead of limits."""
    shape: Shape | None = None
    """Shape between the limits; left out: the build's 'assume'."""
    multiple: float | None = Field(default=None, strict=True)
    """Normal shape only: how many standard deviations the half-width stands for; left out: 2."""
    top: float | None = Field(default=None, strict=True)
    """Trapezoidal shape only: width of the flat top as a fraction of the base; left out: 0.5."""

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        for number in (self.value, self.lower, self.upper, self.std or 0.0):
            finite(number)
        if self.lower > self.upper:
            raise mistake(
                "the lower limit is above the upper one", "write the upper limit first: +0.02/-0.01"
            )
        if self.std is not None and self.std < 0:
            raise mistake("'std' is negative", "give zero or more")
        if self.std is not None and (self.lower or self.upper):
            raise mistake("'std' stands beside limits", "give the one or the other")
        if self.std is not None and self.shape not in (None, Shape.NORMAL):
            raise mistake(
                f"'std' goes with the normal shape, not with {self.shape}",
                "leave 'shape' out, or give limits",
            )
        if self.multiple is not None and (self.shape is not Shape.NORMAL or not 0 < self.multiple <= 10):
            raise mistake(
                "'multiple' belongs to the normal shape and lies between 0 and 10",
                "write shape: normal beside it",
            )
        if self.top is not None and (self.shape is not Shape.TRAPEZOIDAL or not 0 <= self.top <= 1):
            raise mistake(
                "'top' belongs to the trapezoidal shape and lies between 0 and 1", "write shape: trapezoidal"
            )
        return self

    @property
    def mean(self) -> float:
        """Expected deviation: the known value, moved to the middle of the limits."""
        return self.value + (self.lower + self.upper) / 2

    @property
    def half(self) -> float:
        """Half the width between the limits; 0 where only a standard deviation is known."""
        return (self.upper - self.lower) / 2

    @property
    def certain(self) -> bool:
        """Nothing is left open: no limits and no standard deviation."""
        return self.half == 0 and not self.std


NONE = Spread()
"""A deviation that is exactly zero."""

_KEYS = ("value", "limits", "lower", "upper", "std", "shape", "multiple", "top")
_LIMITS_REMEDY = (
    "write ±0.01 for limits, {std: 0.004} for a standard deviation, or {value: 0.01} for a known deviation"
)


def read_limits(value: Any, info: Context, dimension: Dimension) -> tuple[float, float]:
    """Lower and upper limit from a text such as '±5 µm'."""
    try:
        return units.parse_limits(value, dimension, bare=bare_unit(info, dimension))
    except QuantityError as error:
        raise mistake(error.what, error.remedy) from None


def _from_text(value: str, info: Context, dimension: Dimension) -> dict[str, Any]:
    try:
        lower, upper = units.parse_limits(value, dimension, bare=bare_unit(info, dimension))
        return {"lower": lower, "upper": upper}
    except QuantityError as not_limits:
        if value.lstrip()[:1] == "±":
            raise mistake(not_limits.what, not_limits.remedy) from None
        if not any(sign in value[1:] for sign in ("±", "+-", "+/-", "/+", "/-")):
            raise mistake(not_limits.what, _LIMITS_REMEDY) from None
    try:
        found = units.parse_toleranced(value, dimension, bare=bare_unit(info, dimension))
    except QuantityError as error:
        raise mistake(error.what, error.remedy) from None
    return {"value": found.nominal, "lower": found.lower or 0.0, "upper": found.upper or 0.0}


_AMOUNTS = ("value", "std", "lower", "upper", "nominal")
_LIMITS = ("limits", "lower", "upper", "std")


def read_spread_fields(
    value: dict[str, Any], info: Context, dimension: Dimension, keys: tuple[str, ...] = _KEYS
) -> dict[str, Any]:
    """The fields of a Spread, and what else ``keys`` names, from a mapping as written in a file.

    Raises:
        ValidationError: what is wrong with each field, at its key.
        PydanticCustomError: fields that do not go together.
    """

    def read(key: str, item: Any) -> Any:
        if key in _AMOUNTS:
            return read_quantity(item, info, dimension)
        return read_limits(item, info, dimension) if key == "limits" else item

    if "limits" in value and ("lower" in value or "upper" in value):
        raise mistake("'limits' stands beside 'lower' or 'upper'", "write limits: +0.02/-0.01 alone")
    fields = gathered(((key, value[key]) for key in keys if key in value), read)
    if "shape" in fields and not any(key in fields for key in (*_LIMITS, "fit")):
        raise mistake("has a shape and no limits", "write limits: ±0.01 beside it")
    if "limits" in fields:
        fields["lower"], fields["upper"] = fields.pop("limits")
    return fields


def read_spread(value: Any, info: Context, dimension: Dimension) -> Spread:
    """A deviation as a program or a file gives it."""
    if isinstance(value, Spread):
        return value
    if isinstance(value, str):
        return Spread(**_from_text(value, info, dimension))
    if isinstance(value, dict):
        unknown = [key for key in value if key not in _KEYS]
        if unknown:
            raise mistake(f"there is no field {short(unknown[0])} in a deviation", f"use {', '.join(_KEYS)}")
        return Spread.model_validate(read_spread_fields(value, info, dimension))
    what = "is left empty" if value is None else f"{short(value)} has no sign of limits"
    raise mistake(what, _LIMITS_REMEDY)


def write_spread(spread: Spread, dimension: Dimension, info: Context) -> Any:
    """A Spread as a file holds it: as '±0.02' where that says it all, else its fields as a mapping."""
    text = _as_text(spread, dimension, info) if for_file(info) else None
    return spread_fields(spread, dimension, info) if text is None else text


def spread_fields(spread: Spread, dimension: Dimension, info: Context) -> dict[str, Any]:
    """The fields of a Spread as a file holds them: only what differs from nothing."""
    out: dict[str, Any] = {}
    if spread.value:
        out["value"] = write_quantity(spread.value, dimension, info)
    if spread.std is not None:
        out["std"] = write_quantity(spread.std, dimension, info)
    elif (limits := write_limits(spread.lower, spread.upper, dimension, info)) is not None:
        out["limits"] = limits
    else:
        out["lower"] = write_quantity(spread.lower, dimension, info)
        out["upper"] = write_quantity(spread.upper, dimension, info)
    for key in ("shape", "multiple", "top"):
        if (given := getattr(spread, key)) is not None:
            out[key] = given.value if isinstance(given, Shape) else given
    return out


def write_limits(lower: float, upper: float, dimension: Dimension, info: Context) -> str | None:
    """A pair of limits as one text; None where it takes many digits."""
    if not for_file(info):
        return "±" + units.format_exact(upper + 0.0, dimension) if lower == -upper else None
    texts: list[tuple[int, str]] = []
    for unit in writing_units(info, dimension):
        high, low = (exact_number(v, dimension, unit) for v in (upper, lower))
        if high is None or low is None:
            continue
        pair = f"±{high}" if lower == -upper else f"{'+' * (upper > 0)}{high}/{'+' * (lower > 0)}{low}"
        text = pair if is_bare(unit, dimension, info) else f"{pair} {unit}"
        if attempt(read_limits, text, info, dimension) == (lower, upper):
            texts.append((effort(pair, unit, dimension, info), text))
    return min(texts)[1] if texts else None


def attempt(read: Callable[..., Any], *given: Any) -> Any:
    """What a reading function makes of something, None where it refuses."""
    try:
        return read(*given)
    except (PydanticCustomError, ValidationError):
        return None


def _as_text(spread: Spread, dimension: Dimension, info: Context) -> str | None:
    if spread.std is not None or spread.shape is not None:
        return None
    text = write_limits(spread.lower, spread.upper, dimension, info)
    if text is not None and spread.value:
        text = f"{shown(write_quantity(spread.value, dimension, info))} {text}"
    return text if text is not None and attempt(read_spread, text, info, dimension) == spread else None


def shown(value: str | float) -> str:
    """What write_quantity gives, inside of a text."""
    return value if isinstance(value, str) else f"{value:.12g}"


def spread_schema(dimension: Dimension) -> dict[str, Any]:
    """JSON Schema of a deviation."""
    one = quantity_schema(dimension)
    return {
        "description": f"deviation ({dimension.value}): '±0.01', '+0.02/-0.01', '0.003 ±0.001', or a mapping",
        "anyOf": [
            {"type": "string"},
            {
                "type": "object",
                "additionalProperties": False,
                "properties": {
                    "value": one | {"description": "known deviation, from which the limits are counted"},
                    "limits": {"type": "string", "description": "both limits: ±0.01, or +0.02/-0.01"},
                    "lower": one | {"description": "lower limit, counted from the value, with its sign"},
                    "upper": one | {"description": "upper limit, counted from the value, with its sign"},
                    "std": one | {"description": "standard deviation, instead of limits"},
                    "shape": {
                        "enum": [shape.value for shape in Shape],
                        "description": "shape between the limits; left out: the build's 'assume'",
                    },
                    "multiple": {
                        "type": "number",
                        "exclusiveMinimum": 0,
                        "maximum": 10,
                        "description": "normal shape: how many standard deviations the limits are out; left out: 2",
                    },
                    "top": {
                        "type": "number",
                        "minimum": 0,
                        "maximum": 1,
                        "description": "trapezoidal shape: flat top as a share of the base; left out: 0.5",
                    },
                },
            },
        ],
    }


def spread(dimension: Dimension) -> Text:
    """Metadata of a field that holds a deviation of one dimension."""
    return Text(
        lambda value, info: read_spread(value, info, dimension),
        lambda value, info: write_spread(value, dimension, info),
        spread_schema(dimension),
    )


LengthSpread = Annotated[Spread, spread(Dimension.LENGTH)]
AngleSpread = Annotated[Spread, spread(Dimension.ANGLE)]
RatioSpread = Annotated[Spread, spread(Dimension.RATIO)]


def _bare_value(value: Any, info: Context, dimension: Dimension) -> Any:
    """For loads and masses a plain value without limits is what people mean."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Spread(value=read_quantity(value, info, dimension))
    if isinstance(value, str):
        try:
            return Spread(value=units.parse(value, dimension, bare=bare_unit(info, dimension)))
        except QuantityError:
            return read_spread(value, info, dimension)
    return read_spread(value, info, dimension)


def _write_amount(value: Spread, dimension: Dimension, info: Context) -> Any:
    if for_file(info) and value == Spread(value=value.value):
        return write_quantity(value.value, dimension, info)
    return write_spread(value, dimension, info)


def amount(dimension: Dimension) -> Text:
    """Metadata of a field that holds an amount which may carry limits: '85 kg', or '85 kg ±5 kg'."""
    unit = SUGGESTED_UNITS[dimension]
    return Text(
        lambda value, info: _bare_value(value, info, dimension),
        lambda value, info: _write_amount(value, dimension, info),
        _amount_schema(dimension, f"with or without limits: '85 {unit}', '85 {unit} ±5 {unit}'"),
    )


def _amount_schema(dimension: Dimension, examples: str) -> dict[str, Any]:
    return {
        "anyOf": [{"type": "number"}, *spread_schema(dimension)["anyOf"]],
        "description": f"{dimension.value}, {examples}",
    }


Mass = Annotated[Spread, amount(Dimension.MASS)]
ForceAmount = Annotated[Spread, amount(Dimension.FORCE)]
TorqueAmount = Annotated[Spread, amount(Dimension.TORQUE)]
Warmth = Annotated[Spread, amount(Dimension.TEMPERATURE_DIFFERENCE)]


def _room(value: Any, info: Context) -> Any:
    if isinstance(value, Spread):
        return value
    if isinstance(value, dict) and "value" in value:
        rest = read_spread(
            {k: v for k, v in value.items() if k != "value"}, info, Dimension.TEMPERATURE_DIFFERENCE
        )
        return rest.model_copy(update={"value": read_quantity(value["value"], info, Dimension.TEMPERATURE)})
    if isinstance(value, str):
        try:
            found = units.parse_toleranced(
                value, Dimension.TEMPERATURE, bare=bare_unit(info, Dimension.TEMPERATURE)
            )
        except QuantityError as error:
            raise mistake(error.what, error.remedy) from None
        return Spread(value=found.nominal, lower=found.lower or 0.0, upper=found.upper or 0.0)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Spread(value=read_quantity(value, info, Dimension.TEMPERATURE))
    raise mistake(f"{short(value)} is not a temperature", "write 22 degC ±1.5 K")


def _write_room(value: Spread, info: Context) -> Any:
    room = write_quantity(value.value, Dimension.TEMPERATURE, info)
    if for_file(info) and value == Spread(value=value.value):
        return room
    rest = write_spread(value.model_copy(update={"value": 0.0}), Dimension.TEMPERATURE_DIFFERENCE, info)
    text = f"{room} {rest}"
    if isinstance(rest, str) and attempt(_room, text, info) == value:
        return text
    return {"value": room} | (rest if isinstance(rest, dict) else {"limits": rest})


RoomTemperature = Annotated[
    Spread,
    Text(
        _room,
        _write_room,
        _amount_schema(Dimension.TEMPERATURE, "with limits: '22 degC ±1.5 K'"),
    ),
]
