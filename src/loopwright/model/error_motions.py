"""Error motions of an axis by their ISO 230-1 letters."""

import re
from enum import StrEnum
from typing import Any, Self

from pydantic import Field, model_validator

from loopwright.model.base import (
    Context,
    Frozen,
    finite,
    gathered,
    mistake,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.model.spread import (
    NONE,
    Spread,
    read_spread,
    read_spread_fields,
    shown,
    spread_fields,
    spread_schema,
    write_spread,
)
from loopwright.units import Dimension

_MOTION = re.compile(r"E([XYZABC])([A-Z][0-9]?)")
_SQUARENESS = re.compile(r"([ABC])0([A-Z][0-9]?)")


class Varies(StrEnum):
    """How an error motion changes along the axis."""

    SMOOTHLY = "smoothly"
    CONSTANT = "constant"


class ErrorMotion(Frozen):
    """One declared error motion of an axis: how large, and how it changes along the travel."""

    spread: Spread = NONE
    """Known value and limits (inside: mm or rad)."""
    varies: Varies = Varies.SMOOTHLY
    """'smoothly' along the axis within the limits, or one 'constant' for all of it."""
    modes: int = Field(strict=True, default=3, ge=1, le=12)
    """How many smooth shapes it is made of."""
    table: dict[float, float] = Field(default={})
    """Known values by position of the axis (straight lines between, level beyond), added to the spread."""

    @model_validator(mode="after")
    def _table_is_finite(self) -> Self:
        for number in (*self.table.keys(), *self.table.values()):
            finite(number)
        return self


class Letter(Frozen):
    """What the letters of an error motion say.

    >>> letter("EBX").angular, letter("EBX").direction, letter("A0Z").squareness
    (True, 'B', True)
    """

    direction: str
    """X, Y, Z for a displacement, A, B, C for a rotation about them."""
    axis: str
    """The axis that moves."""
    squareness: bool
    """A squareness such as C0Y: a tilt of the direction of travel, which does not turn the carriage."""

    @property
    def angular(self) -> bool:
        """Measured as an angle."""
        return self.direction in "ABC"

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""
        return Dimension.ANGLE if self.angular else Dimension.LENGTH


def letter(text: str) -> Letter:
    """Reads the letters of ISO 230-1: EXX, EYX, EAX, ... and A0Z, B0Z, C0Y.

    Raises:
        PydanticCustomError: they are not such letters.
    """
    if found := _MOTION.fullmatch(text):
        return Letter(direction=found[1], axis=found[2], squareness=False)
    if found := _SQUARENESS.fullmatch(text):
        return Letter(direction=found[1], axis=found[2], squareness=True)
    raise mistake(
        f"{short(text)} is not an error motion",
        "use ISO 230-1 letters: EXX, EYX, EZX, EAX, EBX, ECX, or A0Z, B0Z, C0Y",
    )


_KEYS = ("value", "limits", "lower", "upper", "std", "shape", "multiple", "top", "varies", "modes", "table")


def read_error_motion(letters: str, value: Any, info: Context, position: Dimension) -> ErrorMotion:
    """An error motion as written in a file, in the unit that its letters ask for."""
    if isinstance(value, ErrorMotion):
        return value
    dimension = letter(letters).dimension
    if not isinstance(value, dict):
        return ErrorMotion(spread=read_spread(value, info, dimension))
    unknown = [key for key in value if key not in _KEYS]
    if unknown:
        raise mistake(f"there is no field {short(unknown[0])} in an error motion", f"use {', '.join(_KEYS)}")
    fields: dict[str, Any] = {key: value[key] for key in ("varies", "modes") if key in value}
    if "table" in value:
        fields["table"] = _read_table(value["table"], info, position, dimension)
    spread = Spread.model_validate(read_spread_fields(value, info, dimension))
    return ErrorMotion(spread=spread, **fields)


def _read_table(value: Any, info: Context, position: Dimension, dimension: Dimension) -> dict[float, float]:
    if not isinstance(value, dict) or len(value) < 2:
        raise mistake(
            "the table of an error motion needs two positions or more", "write {0: 0, 100: 2 µm, 200: 3 µm}"
        )
    found = gathered(
        value.items(), lambda q, e: (read_quantity(q, info, position), read_quantity(e, info, dimension))
    )
    if len(dict(found.values())) < len(found):
        raise mistake("the table has a position twice", "keep one of them")
    return dict(sorted(found.values()))


def write_error_motion(letters: str, motion: ErrorMotion, position: Dimension, info: Context) -> Any:
    """An error motion as a file holds it."""
    dimension = letter(letters).dimension
    if motion == ErrorMotion(spread=motion.spread):
        return write_spread(motion.spread, dimension, info)
    out = spread_fields(motion.spread, dimension, info)
    if motion.varies is not Varies.SMOOTHLY:
        out["varies"] = motion.varies.value
    if motion.modes != ErrorMotion.model_fields["modes"].default:
        out["modes"] = motion.modes
    if motion.table:
        out["table"] = {
            shown(write_quantity(q, position, info)): write_quantity(e, dimension, info)
            for q, e in motion.table.items()
        }
    return out


def error_motion_schema() -> dict[str, Any]:
    """JSON Schema of one error motion."""
    schema = spread_schema(Dimension.LENGTH)
    properties = schema["anyOf"][1]["properties"] | {
        "varies": {
            "enum": [v.value for v in Varies],
            "default": "smoothly",
            "description": "smoothly along the axis within the limits, or one constant for all of it",
        },
        "modes": {
            "type": "integer",
            "minimum": 1,
            "maximum": 12,
            "default": 3,
            "description": "how many smooth shapes it is made of",
        },
        "table": {
            "type": "object",
            "minProperties": 2,
            "additionalProperties": {"type": ["string", "number"]},
            "description": "known values by position of the axis, straight lines between: {0: 0, 100: 2 µm}",
        },
    }
    return {
        "description": "length, or angle for rotations: ±0.004, or a mapping",
        "anyOf": [{"type": "string"}, schema["anyOf"][1] | {"properties": properties}],
    }
