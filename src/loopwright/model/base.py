"""What every piece of a build shares: it is frozen, it refuses unknown fields, it reads units as typed.

A number given by a program is in internal units (mm, rad, N, kg, K). A text, or a number in a file, is read
with the file's own units: ``buildfile`` passes them as context, so the same types serve the library and the
file. The same context makes records write themselves in those units; without it they use internal units.
"""

from collections.abc import Callable, Iterable, Mapping
from copy import deepcopy
from typing import Annotated, Any, Protocol, TypeVar

from pydantic import (
    BaseModel,
    ConfigDict,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    SerializationInfo,
    SerializerFunctionWrapHandler,
    ValidationError,
    ValidationInfo,
    model_serializer,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, ErrorDetails, InitErrorDetails, PydanticCustomError, core_schema

from loopwright import units
from loopwright.errors import QuantityError
from loopwright.units import Dimension

SUGGESTED_UNITS: Mapping[Dimension, str] = {
    Dimension.LENGTH: "mm",
    Dimension.ANGLE: "arcsec",
    Dimension.MASS: "kg",
    Dimension.FORCE: "N",
    Dimension.TORQUE: "N·m",
    Dimension.STIFFNESS: "N/µm",
    Dimension.ROTARY_STIFFNESS: "N·m/rad",
    Dimension.TEMPERATURE: "degC",
    Dimension.TEMPERATURE_DIFFERENCE: "K",
    Dimension.TIME: "min",
    Dimension.EXPANSION: "µm/m/K",
    Dimension.PRESSURE: "GPa",
    Dimension.DENSITY: "kg/m³",
}


INCHES = ("in", "ft", "thou", "tenths", "µin", '"', "inch", "inches")
"""Units of length of a shop that works in inches."""


class Frozen(BaseModel):
    """Base of every record of a build."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        populate_by_name=True,
        allow_inf_nan=False,
    )

    @model_serializer(mode="wrap")
    def _leave_defaults_out(
        self, handler: SerializerFunctionWrapHandler, info: SerializationInfo
    ) -> dict[str, Any]:
        # pydantic itself keeps the defaults of fields that have a serializer of their own
        out: dict[str, Any] = handler(self)
        if not info.exclude_defaults:
            return out
        fields = type(self).model_fields
        return {
            name: value
            for name, value in out.items()
            if getattr(self, name) != fields[name].get_default(call_default_factory=True)
        }


class Context(Protocol):
    """Where the units of a file are found: pydantic's information on what it validates or serializes."""

    @property
    def context(self) -> Any:
        """A mapping with 'units', or None when the numbers come from a program."""


def mistake(what: str, remedy: str) -> PydanticCustomError:
    """An error that carries its remedy, for validators to raise."""
    return PydanticCustomError("mistake", "{what}", {"what": what, "remedy": remedy})


Found = TypeVar("Found")


def gathered(values: Iterable[tuple[str, Any]], read: Callable[[str, Any], Found]) -> dict[str, Found]:
    """Values read one by one, by their keys.

    Raises:
        ValidationError: what was wrong with any of them, each mistake at its own key.
    """
    out: dict[str, Found] = {}
    wrong: list[InitErrorDetails] = []
    for key, value in values:
        try:
            out[key] = read(key, value)
        except PydanticCustomError as error:
            wrong.append({"type": error, "loc": (key,), "input": value})
        except ValidationError as error:
            wrong += [_below(key, one) for one in error.errors(include_url=False)]
    if wrong:
        raise ValidationError.from_exception_data("values", wrong)
    return out


def _below(key: str, error: ErrorDetails) -> InitErrorDetails:
    """The same error, one key further down."""
    context = error.get("ctx", {})
    kind: str | PydanticCustomError = error["type"]
    if kind == "mistake":
        kind = mistake(context["what"], context["remedy"])
    return {"type": kind, "loc": (key, *error["loc"]), "input": error["input"], "ctx": context}


def for_file(info: Context) -> bool:
    """Whether values come from a file, or go to one, with units of its own."""
    return bool(info.context) and "units" in info.context


def bare_unit(info: Context, dimension: Dimension) -> str | None:
    """The unit that a number without one takes in this file, or None when the numbers come from a program."""
    unit: str | None = info.context["units"].get(dimension) if for_file(info) else None
    return unit


def read_quantity(value: Any, info: Context, dimension: Dimension) -> float:
    """A value as a program or a file gives it, in internal units."""
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not info.context:
        return finite(float(value))
    try:
        return units.parse(value, dimension, bare=bare_unit(info, dimension))
    except QuantityError as error:
        raise mistake(error.what, error.remedy) from None


def write_quantity(value: float, dimension: Dimension, info: Context) -> str | float:
    """A quantity as a file holds it: in the file's units where that is exact, a length as a bare number."""
    if not for_file(info):
        return units.format_exact(value, dimension)
    if dimension is Dimension.RATIO:
        return value
    found: list[tuple[int, str | float]] = []
    for unit in writing_units(info, dimension):
        number = exact_number(value, dimension, unit)
        if number is not None and is_bare(unit, dimension, info):
            found.append((effort(number, unit, dimension, info), float(number)))
        elif number is not None:
            found.append((effort(number, unit, dimension, info), f"{number} {unit}"))
    return min(found, key=lambda one: one[0])[1] if found else units.format_exact(value, dimension)


def effort(number: str, unit: str, dimension: Dimension, info: Context) -> int:
    """How hard a number is to read in a unit: by its digits, and by a unit that is not the file's own."""
    own = unit in ("1", bare_unit(info, dimension))
    digits = len(number.replace(".", "").lstrip("+-0"))
    return 2 * digits + 20 * ("e" in number) + (0 if own else len(unit) + 4)


def is_bare(unit: str, dimension: Dimension, info: Context) -> bool:
    """Whether numbers are written to a file without this unit."""
    return unit == "1" or (dimension is Dimension.LENGTH and unit == bare_unit(info, dimension))


def writing_units(info: Context, dimension: Dimension) -> list[str]:
    """The units in which a quantity may be written to a file, the one that people expect first."""
    own = bare_unit(info, dimension)
    inches = bare_unit(info, Dimension.LENGTH) in INCHES
    others = [SUGGESTED_UNITS.get(dimension), units.units_of(dimension)[0]]
    if dimension is Dimension.LENGTH:
        others.insert(0, "thou" if inches else "µm")
    if dimension is Dimension.ANGLE:
        others += ["deg", "thou/ft" if inches else "µm/m"]
    return list(dict.fromkeys(unit for unit in (own, *others) if unit is not None))


def exact_number(value: float, dimension: Dimension, unit: str) -> str | None:
    """The shortest number that reads back to the very float in this unit; None where it takes many digits."""
    written = units.convert(value, dimension, unit) + 0.0  # and never a minus zero
    for text in (f"{written:.6g}", f"{written:.9g}", f"{written:.12g}"):
        try:
            if units.parse(text, dimension, bare=unit) == value:
                return text
        except QuantityError:  # too large or too small for this unit
            return None
    return None


def short(value: Any) -> str:
    """A value as messages show it."""
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "…"


def finite(value: float) -> float:
    """The value, if it is a number at all."""
    if value != value or value in (float("inf"), float("-inf")):
        raise mistake(f"{value} is not a number that can be used", "give a finite number")
    return value


Check = Callable[[float], tuple[str, str] | None]
"""Looks at a value in internal units; None, or what is wrong with it and what would do."""


def _positive(value: float) -> tuple[str, str] | None:
    return None if value > 0 else ("is not above zero", "give a value above zero")


def _not_negative(value: float) -> tuple[str, str] | None:
    return None if value >= 0 else ("is negative", "give zero or more")


def quantity_schema(dimension: Dimension) -> dict[str, Any]:
    """JSON Schema of a quantity: a text with a unit, or a bare number in the file's unit."""
    example = f"12.5 {SUGGESTED_UNITS.get(dimension, '')}".strip()
    return {"type": ["string", "number"], "description": f"{dimension.value}, e.g. '{example}'"}


class Text:
    """How a field is read from and written to text: metadata for Annotated.

    Attributes:
        read: takes what a program or a file gives, and the validation context; returns the value.
        write: the value as a file holds it; None leaves it to the type.
        schema: JSON Schema of what a file may hold.
    """

    def __init__(
        self,
        read: Callable[[Any, ValidationInfo], Any],
        write: Callable[[Any, SerializationInfo], Any] | None,
        schema: dict[str, Any],
    ) -> None:
        self.read, self.write, self.schema = read, write, schema

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        """Reads before the type checks, and writes for JSON."""
        inner = handler(source)
        if self.write is None:
            return core_schema.with_info_before_validator_function(self.read, inner)
        writing = core_schema.plain_serializer_function_ser_schema(
            self.write, info_arg=True, when_used="json"
        )
        return core_schema.with_info_before_validator_function(self.read, inner, serialization=writing)

    def __get_pydantic_json_schema__(self, _: CoreSchema, __: GetJsonSchemaHandler) -> JsonSchemaValue:
        """The schema as given; a copy, as its receiver writes a field's own description into it."""
        return deepcopy(self.schema)


def quantity(dimension: Dimension, check: Check | None = None) -> Text:
    """Metadata of a field that holds one quantity: a float inside, text with its unit outside."""

    def read(value: Any, info: ValidationInfo) -> float:
        found = read_quantity(value, info, dimension)
        wrong = None if check is None else check(found)
        if wrong is not None:
            raise mistake(f"{short(value)} {wrong[0]}", wrong[1])
        return found

    return Text(read, lambda value, info: write_quantity(value, dimension, info), quantity_schema(dimension))


Length = Annotated[float, quantity(Dimension.LENGTH)]
PositiveLength = Annotated[float, quantity(Dimension.LENGTH, _positive)]
NonNegativeLength = Annotated[float, quantity(Dimension.LENGTH, _not_negative)]
Angle = Annotated[float, quantity(Dimension.ANGLE)]
PositiveAngle = Annotated[float, quantity(Dimension.ANGLE, _positive)]
Temperature = Annotated[float, quantity(Dimension.TEMPERATURE)]
Fraction = Annotated[float, quantity(Dimension.RATIO, _not_negative)]
Force = Annotated[float, quantity(Dimension.FORCE)]
NonNegativeForce = Annotated[float, quantity(Dimension.FORCE, _not_negative)]
Expansion = Annotated[float, quantity(Dimension.EXPANSION)]
NonNegativeExpansion = Annotated[float, quantity(Dimension.EXPANSION, _not_negative)]
Pressure = Annotated[float, quantity(Dimension.PRESSURE, _positive)]
Density = Annotated[float, quantity(Dimension.DENSITY, _positive)]


def _name(value: Any) -> str:
    if not isinstance(value, str):
        raise mistake(f"the name {short(value)} is not text", f"put it in quotes: '{short(value)}'")
    if len(value) > MOST_LETTERS:
        raise mistake(
            f"the name {value[:20]!r}… has {len(value)} letters", f"use {MOST_LETTERS} letters at most"
        )
    if not value.strip() or value != value.strip():
        raise mistake(f"the name {value!r} is empty or has blanks around it", "give it a plain name")
    if "/" in value:
        raise mistake(
            f"the name '{value}' has a '/' in it", "'/' parts a path, as in column/height; leave it out"
        )
    if not value.isprintable():
        raise mistake(f"the name {value!r} holds a control character", "take it out")
    return value


def _yes_or_no(value: Any) -> bool:
    if value in ("yes", "no"):
        return bool(value == "yes")
    if not isinstance(value, bool):
        raise mistake(f"{short(value)} is neither true nor false", "write true or false")
    return value


YesNo = Annotated[bool, Text(lambda value, _: _yes_or_no(value), None, {"enum": [True, False, "yes", "no"]})]

MOST_LETTERS = 80
"""Length of the longest name."""

Name = Annotated[
    str,
    Text(
        lambda value, _: _name(value),
        None,
        {"type": "string", "maxLength": MOST_LETTERS, "pattern": "^[^/]+$"},
    ),
]


def _point(value: Any, info: ValidationInfo) -> tuple[float, float, float]:
    if isinstance(value, (str, bytes)) or not hasattr(value, "__len__") or len(value) != 3:
        raise mistake(
            f"{short(value)} is not a point",
            "give three coordinates: [x, y, z]; the decimal mark is a point, as in 12.5",
        )
    x, y, z = (read_quantity(v, info, Dimension.LENGTH) for v in value)
    return x, y, z


Point = Annotated[
    tuple[float, float, float],
    Text(
        _point,
        lambda p, info: [write_quantity(v, Dimension.LENGTH, info) for v in p],
        {
            "type": "array",
            "items": quantity_schema(Dimension.LENGTH),
            "minItems": 3,
            "maxItems": 3,
            "description": "machine coordinates at the home pose, [x, y, z]",
        },
    ),
]

_AXIS_DIRECTIONS = {
    sign + letter: tuple((1.0 if sign != "-" else -1.0) * (letter == one) for one in "XYZ")
    for sign in ("+", "-", "")
    for letter in "XYZ"
}


def _direction(value: Any) -> tuple[float, float, float]:
    if isinstance(value, str):
        found = _AXIS_DIRECTIONS.get(value.replace("−", "-").strip().upper())
        if found is None:
            raise mistake(
                f"'{value}' is not a direction", "write +X, -X, +Y, -Y, +Z or -Z, or a vector [0, 0.6, 0.8]"
            )
        return found[0] + 0.0, found[1] + 0.0, found[2] + 0.0
    if not hasattr(value, "__len__") or len(value) != 3 or not all(_is_number(v) for v in value):
        raise mistake(
            f"{short(value)} is not a direction", "write +Z, or three plain numbers such as [0, 0.6, 0.8]"
        )
    x, y, z = (finite(float(v)) for v in value)
    size = (x * x + y * y + z * z) ** 0.5
    if size < 1e-9:
        raise mistake(
            "a direction of zero length points nowhere", "write +Z, or a vector such as [0, 0.6, 0.8]"
        )
    # an already normal vector is left alone, so that reading what was written gives the same numbers
    if abs(size - 1) < 1e-12:
        return x + 0.0, y + 0.0, z + 0.0
    return x / size + 0.0, y / size + 0.0, z / size + 0.0


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _write_direction(value: tuple[float, float, float]) -> str | list[float]:
    for name, direction in _AXIS_DIRECTIONS.items():
        if len(name) == 2 and direction == value:
            return name
    return list(value)


Direction = Annotated[
    tuple[float, float, float],
    Text(
        lambda value, _: _direction(value),
        lambda value, _: _write_direction(value),
        {
            "anyOf": [
                {"type": "string", "pattern": "^ *[+−-]?[XYZxyz] *$"},
                {"type": "array", "items": {"type": "number"}, "minItems": 3, "maxItems": 3},
            ],
            "description": "a direction in machine coordinates",
        },
    ),
]
