"""Parts, their dims, and what is cut together."""

from collections.abc import Mapping
from typing import Annotated, Any, Self

from pydantic import BeforeValidator, Field, PlainSerializer, WithJsonSchema, model_validator

from loopwright import units
from loopwright.errors import QuantityError
from loopwright.model.base import (
    Context,
    Density,
    Expansion,
    Frozen,
    Name,
    NonNegativeExpansion,
    Pressure,
    YesNo,
    bare_unit,
    for_file,
    gathered,
    mistake,
    short,
    write_quantity,
)
from loopwright.model.blanks import Blank
from loopwright.model.dims import Dim, DimField
from loopwright.model.routes import Geometrical, MeasureField, Op, Surface, SurfaceField
from loopwright.model.spread import LengthSpread, Shape, Spread
from loopwright.units import Dimension


class Part(Frozen):
    """A thing that is made or bought."""

    material: str | None = None
    """Name of a material of the handbook, or of the build's own 'materials'."""
    condition: str | None = None
    """Condition in which its material is bought: annealed, cold drawn, as cast."""
    dims: dict[Name, DimField] = Field(default={})
    """Its dims that matter, by name."""
    bought: YesNo = False
    """Bought rather than made."""
    blank: Blank | None = None
    """What it is cut from."""
    surfaces: dict[Name, SurfaceField] = Field(default={})
    """Its surfaces, by name: where each faces."""
    spans: dict[Name, MeasureField] = Field(default={})
    """For dims, by name, the surfaces between which, or across which, they are measured."""
    geometry: dict[Name, Geometrical] = Field(default={})
    """Geometrical tolerances that matter, by name."""
    route: list[Op] = Field(default=[])
    """The ordered ops that make it."""
    mark: Annotated[str | None, Field(max_length=40)] = None
    """What is engraved or stamped on it, so that it can be told from others."""
    note: str | None = None
    """Anything its maker should know."""

    def every_dim(self) -> dict[str, Dim]:
        """Its dims, and its geometrical tolerances as deviations of a direction or a place from nought."""
        tolerances = {
            name: found
            for name, one in self.geometry.items()
            if (found := as_dim(one, self.surfaces)) is not None
        }
        return {**self.dims, **tolerances}


def as_dim(tolerance: Geometrical, surfaces: Mapping[str, Surface]) -> Dim | None:
    """A geometrical tolerance as a dim of nominal nought; None for a form or a run-out, which moves nothing rigid.

    A surface may lean as far as its zone lets it over its length; a place may be off by half the width of its zone.
    Source: ISO 1101, zones of orientation and location.

    >>> flat = {"top": Surface(faces="+Z", size=(100.0, 40.0))}
    >>> as_dim(Geometrical(kind="parallelism", of="top", to=["foot"], within=0.01), flat).spread.half
    0.0001
    """
    if tolerance.orients:
        size = surfaces[tolerance.of].size if tolerance.of in surfaces else None
        over = tolerance.over or (max(size) if size else None)
        if over is None:
            return None
        lean = tolerance.within / over
        return Dim(nominal=0.0, spread=Spread(lower=-lean, upper=lean), quantity="angle")
    if tolerance.places:
        half = tolerance.within / 2
        return Dim(nominal=0.0, spread=Spread(lower=-half, upper=half))
    return None


class MadeTogether(Frozen):
    """Dims cut in one setup, or on one fixture with one program: a shared deviation, and each dim's own.

    The two replace the limits of the dims themselves; the nominals stay.
    """

    dims: list[str] = Field(min_length=2)
    """The dims, each as part/dim."""
    shared: LengthSpread
    """Deviation that all of them have in common."""
    own: LengthSpread
    """Deviation of each on its own."""

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        twice = {dim for dim in self.dims if self.dims.count(dim) > 1}
        if twice:
            raise mistake(f"'{sorted(twice)[0]}' stands in it twice", "name every dim once")
        return self


class DimTerm(Frozen):
    """One dim in the signed sum that places a contact."""

    dim: str
    """The dim, as part/dim."""
    times: float = Field(default=1.0, strict=True)
    """Factor, +1 or -1 for most; for an angle its lever, with its sign (inside: mm)."""
    lever: bool = False
    """True where 'times' is a length. In a file its unit says so."""


_TERM_KEYS = ("dim", "times")
_TERM_REMEDY = "write +pad/height, {dim: pad/height, times: 0.5}, or {dim: pad/tilt, times: 80 mm}"


def _read_term(value: Any, info: Context) -> Any:
    if isinstance(value, str):
        text = value.strip()
        sign = -1.0 if text[:1] in ("-", "\N{MINUS SIGN}") else 1.0
        return {"dim": text[text[:1] in ("+", "-", "\N{MINUS SIGN}") :].strip(), "times": sign}
    if isinstance(value, DimTerm) or not for_file(info):
        return value
    if not isinstance(value, dict):
        raise mistake(f"{short(value)} is not a dim with a sign", _TERM_REMEDY)
    unknown = [key for key in value if key not in _TERM_KEYS]
    if unknown:
        raise mistake(f"there is no field {short(unknown[0])} beside a dim", _TERM_REMEDY)
    if isinstance(value.get("times"), str):
        return {**value, **gathered([("times", value["times"])], lambda _, text: _lever(text)), "lever": True}
    return value


def _lever(text: str) -> float:
    try:
        return units.parse(text, Dimension.LENGTH)
    except QuantityError as error:
        raise mistake(error.what, error.remedy) from None


def _write_term(term: DimTerm, info: Context) -> str | dict[str, Any]:
    if abs(term.times) == 1 and not term.lever:
        return ("+" if term.times > 0 else "-") + term.dim
    if not for_file(info):
        return {"dim": term.dim, "times": term.times} | ({"lever": True} if term.lever else {})
    times = write_quantity(term.times, Dimension.LENGTH, info) if term.lever else term.times
    if term.lever and not isinstance(times, str):
        times = f"{times:.12g} {bare_unit(info, Dimension.LENGTH)}"
    return {"dim": term.dim, "times": times}


DimSum = list[
    Annotated[
        DimTerm,
        BeforeValidator(_read_term),
        PlainSerializer(_write_term, when_used="json"),
        WithJsonSchema(
            {
                "anyOf": [
                    {"type": "string", "examples": ["+pad/height"]},
                    {
                        "type": "object",
                        "required": ["dim"],
                        "additionalProperties": False,
                        "properties": {
                            "dim": {"type": "string", "description": "part/dim"},
                            "times": {
                                "type": ["number", "string"],
                                "description": "factor; for an angle its lever, a length with its unit",
                            },
                        },
                    },
                ]
            }
        ),
    ]
]


class Material(Frozen):
    """A material of the build's own, beside those of the handbook."""

    expansion: Expansion
    """Coefficient of linear expansion near 20 °C."""
    expansion_std: NonNegativeExpansion = 0.0
    """Its standard uncertainty."""
    modulus: Pressure | None = None
    """Young's modulus."""
    density: Density | None = None
    """Density."""


__all__ = ["Dim", "DimSum", "DimTerm", "MadeTogether", "Material", "Part", "Shape"]
