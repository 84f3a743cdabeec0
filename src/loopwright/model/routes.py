"""How a part is made: its surfaces, and the ordered ops that turn a blank into it."""

import re
from collections.abc import Iterator
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    PlainSerializer,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import CoreSchema

from loopwright.handbook.operations import OPS
from loopwright.model.base import (
    Frozen,
    Name,
    NonNegativeLength,
    PositiveLength,
    Temperature,
    mistake,
    short,
)
from loopwright.model.dims import DimField
from loopwright.model.spread import LengthSpread, RatioSpread

FACES = ("+X", "-X", "+Y", "-Y", "+Z", "-Z")
ROUND = ("outside", "inside")
Direction = Literal["X", "Y", "Z"]


class Surface(Frozen):
    """A face of a part, or a round surface.

    >>> Surface(faces="+Z").along
    'Z'
    """

    faces: Literal["+X", "-X", "+Y", "-Y", "+Z", "-Z", "outside", "inside"]
    """Where the material ends: the direction in which a flat face looks, in the part's own axes; 'outside' for a
    shaft or rim, 'inside' for a bore."""
    axis: Direction | None = None
    """Direction of the axis of a round surface; left out: Z."""
    size: tuple[PositiveLength, PositiveLength] | None = None
    """Length and width of a flat face; of a round one its length and its diameter."""

    @property
    def round(self) -> bool:
        """It is round, so its size is a diameter."""
        return self.faces in ROUND

    @property
    def along(self) -> str:
        """Direction in which a flat face looks; '' for a round surface."""
        return "" if self.round else self.faces[1]

    @property
    def places(self) -> str:
        """Directions in which it has a place: one for a flat face, two for the axis of a round surface."""
        return "XYZ".replace(self.axis or "Z", "") if self.round else self.along

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.axis is not None and not self.round:
            raise mistake("a flat face has no axis", "leave 'axis' out, or write faces: outside or inside")
        return self


def _read_surface(value: Any) -> Any:
    if isinstance(value, str):
        text = value.strip().replace("\N{MINUS SIGN}", "-")
        if text not in (*FACES, *ROUND):
            raise mistake(
                f"{short(value)} says not where it faces", f"write one of {', '.join((*FACES, *ROUND))}"
            )
        return {"faces": text}
    return value


def _write_surface(surface: Surface, info: Any) -> Any:
    if surface == Surface(faces=surface.faces):
        return surface.faces
    return surface.model_dump(mode="json", context=info.context, exclude_defaults=True)


class _OrWhereItFaces:
    """In the schema of the format: a surface of which nothing else is said is written as where it faces."""

    @staticmethod
    def __get_pydantic_json_schema__(core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"anyOf": [{"enum": [*FACES, *ROUND]}, handler(core)]}


SurfaceField = Annotated[
    Surface,
    BeforeValidator(_read_surface),
    PlainSerializer(_write_surface, when_used="json"),
    _OrWhereItFaces,
]


class Measure(Frozen):
    """Between which surfaces a dim is measured."""

    between: tuple[str, str] | None = None
    """The surface from which it counts, and the one to which; the second lies on the + side of the first."""
    across: str | None = None
    """The round surface whose diameter it is."""
    along: Direction | None = None
    """Direction, where both surfaces are round."""

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if (self.between is None) == (self.across is None):
            raise mistake("is neither between two surfaces nor across one", "write [foot, top], or bore")
        return self


def _read_measure(value: Any) -> Any:
    if isinstance(value, str):
        return {"across": value.strip()}
    if isinstance(value, (list, tuple)):
        if len(value) != 2 or not all(isinstance(name, str) for name in value):
            raise mistake(f"{short(value)} is not a pair of surfaces", "write [foot, top], or bore")
        return {"between": tuple(value)}
    return value


def _write_measure(span: Measure) -> Any:
    if span.across is not None:
        return span.across
    if span.along is None and span.between is not None:
        return list(span.between)
    return {"between": list(span.between or ()), "along": span.along}


MeasureField = Annotated[
    Measure,
    BeforeValidator(_read_measure),
    PlainSerializer(_write_measure, when_used="json"),
    WithJsonSchema(
        {
            "description": "[from, to] for a length, the name of a round surface for its diameter",
            "anyOf": [
                {"type": "string"},
                {"type": "array", "items": {"type": "string"}, "minItems": 2, "maxItems": 2},
                {
                    "type": "object",
                    "additionalProperties": False,
                    "required": ["between", "along"],
                    "properties": {
                        "between": {
                            "type": "array",
                            "items": {"type": "string"},
                            "minItems": 2,
                            "maxItems": 2,
                            "description": "the surface from which it counts, and the one to which",
                        },
                        "along": {
                            "enum": ["X", "Y", "Z"],
                            "description": "direction in which it is measured",
                        },
                    },
                },
            ],
        }
    ),
]


class Geometrical(Frozen):
    """A geometrical tolerance by its name in ISO 1101."""

    kind: Literal[
        "straightness",
        "flatness",
        "roundness",
        "cylindricity",
        "parallelism",
        "perpendicularity",
        "angularity",
        "position",
        "coaxiality",
        "symmetry",
        "circular run-out",
        "total run-out",
    ]
    """Its name."""
    of: str
    """The surface that must keep it."""
    to: list[str] = Field(default=[])
    """The datum surfaces; form has none."""
    within: PositiveLength
    """Width of the zone; of a round zone its diameter."""
    over: PositiveLength | None = None
    """Length over which an orientation is held; left out: the longer side of the surface."""

    @property
    def orients(self) -> bool:
        """It holds a direction, so that it lets the surface lean by an angle."""
        return self.kind in ("parallelism", "perpendicularity", "angularity")

    @property
    def places(self) -> bool:
        """It holds a place, so that it lets the surface move."""
        return self.kind in ("position", "coaxiality", "symmetry")

    @model_validator(mode="after")
    def _sound(self) -> Self:
        form = not (self.orients or self.places or "run-out" in self.kind)
        if form and self.to:
            raise mistake(f"{self.kind} has no datum", "leave 'to' out")
        if not form and not self.to:
            raise mistake(f"{self.kind} needs a datum", "name it: to: [foot]")
        return self


class Cut(Frozen):
    """What one op does to one surface: it makes it, or takes stock off it."""

    measured_from: str | None = None
    """Surface from which it is measured; left out: the datum of the op that looks along the same direction."""
    size: DimField | None = None
    """Working dim with its limits, as somebody has written it; left out: found by the tolerance chart."""
    least: NonNegativeLength | None = None
    """Least stock that it takes off, on a face or on the diameter; left out: what the op needs to clean up."""
    adds: LengthSpread | None = None
    """Thickness that plating, a bond line or a coat adds, instead of taking something off."""
    tool: str | None = None
    """Tool of the shop."""
    depth: PositiveLength | None = None
    """Depth of one pass; left out: from the handbook, as the machine and the tool allow."""
    width: PositiveLength | None = None
    """Width of cut across the feed; left out: that of the tool or the face."""
    length: PositiveLength | None = None
    """Length that is fed along, or depth of a hole; left out: from the size of the surface."""
    thread: str | None = None
    """Thread that is cut, such as M6 or M8x1-6H."""


class Hardness(Frozen):
    """What a hardness test must show."""

    scale: Literal["HRC", "HV", "HB", "HRB"]
    """Scale of the test."""
    low: Annotated[float, Field(gt=0, lt=3000)]
    """Lowest that will do."""
    high: Annotated[float, Field(gt=0, lt=3000)]
    """Highest that will do."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.high < self.low:
            raise mistake("the higher limit comes first", "write the lower first: 60…62 HRC")
        return self


_HARDNESS = re.compile(
    r"(?P<low>\d+(\.\d+)?)\s*(?:…|\.{2,3}|-|–|to)\s*(?P<high>\d+(\.\d+)?)\s*(?P<scale>[A-Z]+)"
)


def _read_hardness(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    found = _HARDNESS.fullmatch(value.strip())
    if found is None:
        raise mistake(f"{short(value)} is not a range of hardness", "write 60…62 HRC")
    return {"scale": found["scale"], "low": float(found["low"]), "high": float(found["high"])}


HardnessField = Annotated[
    Hardness,
    BeforeValidator(_read_hardness),
    PlainSerializer(lambda h: f"{h.low:g}…{h.high:g} {h.scale}", when_used="json"),
    WithJsonSchema({"type": "string", "description": "range with its scale: '60…62 HRC'"}),
]

Minutes = Annotated[float, Field(ge=0, le=100_000)]


def _known_op(value: Any) -> Any:
    if value not in OPS:
        raise mistake(f"{short(value)} is not an op", f"use one of {', '.join(OPS)}")
    return value


OpName = Annotated[str, BeforeValidator(_known_op), WithJsonSchema({"enum": list(OPS)})]


class Op(Frozen):
    """One operation: where, how it is held, what it cuts, how long it takes."""

    op: OpName
    """What is done, by its name in the trade."""
    machine: str | None = None
    """Machine of the shop."""
    setup: Name | None = None
    """Name of the clamping; ops that follow each other under one name are done without unclamping."""
    together: Name | None = None
    """Matched set: this op is run on all parts whose ops carry the same name before the setting is broken."""
    as_one: bool = False
    """The parts of the matched set are clamped as one, and one cut goes through all of them."""
    datum: list[str] = Field(default=[])
    """Surfaces that it stands on and is pushed against; they locate what is cut."""
    held: Literal["free", "clamped", "magnet", "chuck", "centres", "bonded"] | None = None
    """How it is held; a thin part that is pulled flat springs back."""
    cuts: dict[Name, Cut] = Field(default={})
    """Surfaces that it makes or takes stock off, by name."""
    tool: str | None = None
    """Tool of the shop, for all its cuts."""
    grows: RatioSpread | None = None
    """Growth of all lengths in heat treatment, as a fraction with limits; left out: from the handbook."""
    temperature: Temperature | None = None
    """Of an oven or a bath; left out: from the handbook."""
    hardness: HardnessField | None = None
    """What the hardness test must show afterwards."""
    adds: LengthSpread | None = None
    """Thickness of a bond line."""
    minutes: Minutes | None = None
    """Attended minutes for one part, setting up not counted; left out: estimated."""
    setting_up: Minutes | None = None
    """Attended minutes to set up, once for the part or its matched set."""
    unattended: Minutes = 0.0
    """Minutes in which nobody need stand by."""
    inspect: list[str] = Field(default=[])
    """Dims and surfaces that are measured before it leaves the machine."""
    gauge: str | None = None
    """Gauge for that."""
    note: str | None = None
    """Anything to know about it."""
    alternatives: dict[Name, list["Op"]] = Field(default={})
    """Other ways that the shop would accept, each as the ops that take its place."""

    @model_validator(mode="after")
    def _sound(self) -> Self:
        if self.as_one and self.together is None:
            raise mistake("is cut as one with nothing", "name the matched set: together: bracket pair")
        return self


def nested(ops: list[Op]) -> Iterator[Op]:
    """Every op of a route, those of alternatives too."""
    for op in ops:
        yield op
        for others in op.alternatives.values():
            yield from nested(others)
