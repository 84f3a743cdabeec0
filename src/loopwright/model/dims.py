"""A dimension of a part: nominal, limits, and how a shop writes them."""

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, PlainSerializer, WithJsonSchema

from loopwright import units
from loopwright.errors import LoopwrightError, QuantityError
from loopwright.handbook.limits_and_fits import limits as iso_limits
from loopwright.model.base import (
    Context,
    Frozen,
    bare_unit,
    for_file,
    mistake,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.model.spread import (
    Spread,
    attempt,
    read_spread_fields,
    shown,
    spread_fields,
    spread_schema,
    write_limits,
)
from loopwright.units import Dimension


class Dim(Frozen):
    """A dimension of a part that matters: nominal and how far it may be from it.

    >>> Dim(nominal=240.0, spread=Spread(lower=-0.02, upper=0.02)).spread.half
    0.02
    """

    nominal: float
    """Nominal size (inside: mm or rad)."""
    spread: Spread | None = None
    """Known deviation and limits, counted from the nominal; left out: the build's 'general_limits'."""
    quantity: Literal["length", "angle"] = "length"
    """What it measures."""
    fit: str | None = None
    """ISO 286 tolerance class that gave the limits, such as H7."""

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""
        return Dimension(self.quantity)


def _limits_of_class(nominal: float, fit: str) -> tuple[float, float]:
    try:
        return iso_limits(nominal, fit)
    except LoopwrightError as error:
        raise mistake(f"'{fit}' at {nominal:g} mm: {error}", "write the limits, such as +0.021/0") from None


def _toleranced(text: str, info: Context) -> tuple[units.Toleranced, Dimension]:
    try:
        return units.parse_toleranced(
            text, Dimension.LENGTH, bare=bare_unit(info, Dimension.LENGTH)
        ), Dimension.LENGTH
    except QuantityError as as_length:
        try:
            return units.parse_toleranced(text, Dimension.ANGLE), Dimension.ANGLE
        except QuantityError as as_angle:
            # the nominal's unit says what was meant
            meant = "is an angle" in as_length.what and "has no unit" not in as_angle.what
            error = as_angle if meant else as_length
            raise mistake(error.what, error.remedy) from None


def _dim_from_text(text: str, info: Context) -> dict[str, Any]:
    found, dimension = _toleranced(text, info)
    out: dict[str, Any] = {"nominal": found.nominal, "quantity": dimension.value}
    if found.fit is not None:
        lower, upper = _limits_of_class(found.nominal, found.fit)
        return out | {"fit": found.fit, "spread": Spread(lower=lower, upper=upper)}
    if found.lower is not None and found.upper is not None:
        out["spread"] = Spread(lower=found.lower, upper=found.upper)
    return out


_DIM_KEYS = (
    "nominal",
    "value",
    "limits",
    "lower",
    "upper",
    "std",
    "shape",
    "multiple",
    "top",
    "quantity",
    "fit",
)


def _dim_from_mapping(value: dict[str, Any], info: Context) -> dict[str, Any]:
    unknown = [key for key in value if key not in _DIM_KEYS]
    if unknown:
        close = get_close_matches(str(unknown[0]), _DIM_KEYS, n=1)
        remedy = f"did you mean '{close[0]}'?" if close else f"use {', '.join(_DIM_KEYS)}"
        raise mistake(f"there is no field {short(unknown[0])} in a dim", remedy)
    if value.get("nominal") is None:
        raise mistake("has no nominal", "write nominal: 240 mm, or the short form '240 ±0.02'")
    dimension = _dimension_of(value, info)
    if dimension is Dimension.ANGLE and value.get("fit") is not None:
        raise mistake(
            "is an angle, and ISO 286 classes are for lengths", "write the limits, such as ±20 arcsec"
        )
    found = read_spread_fields(value, info, dimension, _DIM_KEYS)
    out = {key: found.pop(key) for key in ("nominal", "quantity", "fit") if key in found}
    if isinstance(out.get("fit"), str) and not {"std", "lower", "upper"} & set(found):
        found["lower"], found["upper"] = _limits_of_class(out["nominal"], out["fit"])
    if dimension is Dimension.ANGLE:
        out["quantity"] = "angle"
    return out | ({"spread": Spread.model_validate(found)} if found else {})


def _dimension_of(value: dict[str, Any], info: Context) -> Dimension:
    """What a dim measures, by its own word or by the unit of its nominal."""
    nominal = value["nominal"]
    if "quantity" in value or not isinstance(nominal, str):
        return Dimension.ANGLE if value.get("quantity") == "angle" else Dimension.LENGTH
    as_length = attempt(read_quantity, nominal, info, Dimension.LENGTH)
    as_angle = attempt(read_quantity, nominal, info, Dimension.ANGLE)
    return Dimension.ANGLE if as_length is None and as_angle is not None else Dimension.LENGTH


def _read_dim(value: Any, info: Context) -> Any:
    if isinstance(value, str):
        return _dim_from_text(value, info)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return {"nominal": read_quantity(value, info, Dimension.LENGTH)}
    if value is None:
        raise mistake("is left empty", "write its nominal and limits, such as 240 ±0.02")
    if isinstance(value, dict) and not isinstance(value.get("spread"), Spread):
        return _dim_from_mapping(value, info)
    return value


def _write_dim(dim: Dim, info: Context) -> Any:
    if for_file(info):
        for text in _dim_texts(dim, info):
            found = attempt(_dim_from_text, text, info)
            if found is not None and Dim(**found) == dim:
                return text
    out: dict[str, Any] = {"nominal": write_quantity(dim.nominal, dim.dimension, info)}
    if dim.quantity != "length" and not for_file(info):  # there the unit says so
        out["quantity"] = dim.quantity
    if dim.fit is not None:
        out["fit"] = dim.fit
    return out | (spread_fields(dim.spread, dim.dimension, info) if dim.spread is not None else {})


def _dim_texts(dim: Dim, info: Context) -> Iterator[str]:
    """Ways of writing a dim in one text; not each says all that the dim does."""
    nominal = shown(write_quantity(dim.nominal, dim.dimension, info))
    if dim.fit is not None:
        yield f"{nominal} {dim.fit}"
    elif dim.spread is None:
        yield nominal
    elif (limits := write_limits(dim.spread.lower, dim.spread.upper, dim.dimension, info)) is not None:
        yield f"{nominal} {limits}"


_DIM_SCHEMA = {
    "description": "a dim: '240 ±0.02', '25 H7', '12 +0.02/-0.01', '90 deg ±20 arcsec', or a mapping",
    "anyOf": [
        {"type": ["string", "number"]},
        {
            "type": "object",
            "required": ["nominal"],
            "additionalProperties": False,
            "properties": {
                **spread_schema(Dimension.LENGTH)["anyOf"][1]["properties"],
                "nominal": {"type": ["string", "number"], "description": "nominal size: 240, 90 deg"},
                "quantity": {
                    "enum": ["length", "angle"],
                    "description": "what it measures, where the unit of 'nominal' does not say so",
                },
                "fit": {
                    "type": ["string", "null"],
                    "description": "ISO 286 class such as H7 or g6; gives the limits where there are no others",
                },
            },
        },
    ],
}

DimField = Annotated[
    Dim,
    BeforeValidator(_read_dim),
    PlainSerializer(_write_dim, when_used="json"),
    WithJsonSchema(_DIM_SCHEMA),
]
