"""Bodies, and the joints that tie a child body to its parent."""

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import Annotated, Any, Literal, Self

from pydantic import (
    BeforeValidator,
    Field,
    FieldSerializationInfo,
    ValidationInfo,
    WithJsonSchema,
    field_serializer,
    field_validator,
    model_validator,
)

from loopwright.model.base import (
    Direction,
    Frozen,
    Name,
    Point,
    YesNo,
    gathered,
    mistake,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.model.contacts import (
    Adjuster,
    Contact,
    Drive,
    Guide,
    LeadError,
    RotaryStiffness,
    Seat,
    Stiffness,
)
from loopwright.model.error_motions import (
    ErrorMotion,
    error_motion_schema,
    letter,
    read_error_motion,
    write_error_motion,
)
from loopwright.model.indications import ROTARY_LETTERS
from loopwright.model.spread import NONE, Mass, Warmth
from loopwright.units import Dimension


class Body(Frozen):
    """A rigid piece of the structural loop."""

    parts: list[str] = Field(default=[])
    """The parts it consists of."""
    material: str | None = None
    """What it grows like when warm; left out: the material of its first part that has one."""
    mass: Mass = NONE
    """Its mass, with limits if they matter."""
    centre_of_mass: Point | None = None
    """At the home pose; needed where it has a mass and is carried."""
    above_room: Warmth = NONE
    """How much warmer than the room it is, with limits."""


class JointKind(StrEnum):
    """What a joint lets its child do."""

    FIXED = "fixed"
    LINEAR = "linear"
    ROTARY = "rotary"


class JointStiffness(Frozen):
    """Lumped stiffness of a joint that is described by its error motions only, at its 'errors_at'."""

    X: Stiffness | None = None
    """Along X."""
    Y: Stiffness | None = None
    """Along Y."""
    Z: Stiffness | None = None
    """Along Z."""
    A: RotaryStiffness | None = None
    """About X."""
    B: RotaryStiffness | None = None
    """About Y."""
    C: RotaryStiffness | None = None
    """About Z."""


_AXIS_QUANTITY = {"type": ["string", "number"], "description": "length; for a rotary joint an angle"}
_ERRORS_SCHEMA = {
    "type": "object",
    "additionalProperties": False,
    "patternProperties": {r"^(E[XYZABC][A-Z][0-9]?|[ABC]0[A-Z][0-9]?)$": error_motion_schema()},
    "description": "error motions by ISO 230-1 letters",
}


def _axis_letter(value: Any) -> Any:
    if value is not None and not (isinstance(value, str) and re.fullmatch("[A-Z][0-9]?", value)):
        raise mistake(
            f"{short(value)} is not an axis letter", "write one capital letter, or one with a digit: W, X2"
        )
    return value


_AXIS_SCHEMA = WithJsonSchema({"type": ["string", "null"], "pattern": "^[A-Z][0-9]?$"})


class Joint(Frozen):
    """Ties a child body to a parent: by contacts, by a guide, by error motions, or by several of these."""

    kind: JointKind
    """What it lets the child do."""
    parent: str
    """The body that carries."""
    child: str
    """The body that is carried."""
    axis: Annotated[str | None, BeforeValidator(_axis_letter), _AXIS_SCHEMA] = None
    """Axis letter (ISO 841); left out: from 'along' or 'about'."""
    along: Direction | None = None
    """Linear joints: the direction in which a positive move takes the child."""
    about: Direction | None = None
    """Rotary joints: direction of the axis, right-handed."""
    at: Point | None = None
    """Rotary joints: a point on the axis."""
    travel: Annotated[
        tuple[float, float] | None,
        WithJsonSchema({"type": "array", "items": _AXIS_QUANTITY, "minItems": 2, "maxItems": 2}),
    ] = None
    """[from, to] of the axis."""
    home: Annotated[float, WithJsonSchema(_AXIS_QUANTITY)] = 0.0
    """Axis position at the home pose, at which all coordinates are given."""
    contacts: dict[Name, Contact] = Field(default={})
    """Contacts, by name."""
    contacts_on: Literal["parent", "child"] | None = None
    """Which body the contact points stay on as the axis moves; left out: the child if linear, else the parent."""
    guide: Guide | None = None
    """Rails and blocks."""
    drive: Drive | None = None
    """What holds the axis along itself."""
    drives: dict[Name, Drive] = Field(default={})
    """Several drives on one axis, by name."""
    errors: Annotated[dict[str, ErrorMotion], WithJsonSchema(_ERRORS_SCHEMA)] = Field(default={})
    """Declared error motions."""
    errors_at: Point | None = None
    """Point of the carriage, at home, at which the error motions are stated."""
    stiffness: JointStiffness | None = None
    """Lumped stiffness at 'errors_at', where no contacts are described."""
    perfect: YesNo = False
    """true where the joint has neither contacts nor errors, on purpose."""

    @property
    def position(self) -> Dimension:
        """What its axis position is measured in."""
        return Dimension.ANGLE if self.kind is JointKind.ROTARY else Dimension.LENGTH

    @property
    def letter(self) -> str | None:
        """The axis letter, given or taken from the direction; None for a fixed joint."""
        if self.kind is JointKind.FIXED:
            return None
        if self.axis is not None:
            return self.axis
        direction = self.about if self.kind is JointKind.ROTARY else self.along
        names = "ABC" if self.kind is JointKind.ROTARY else "XYZ"
        return None if direction is None else names[max(range(3), key=lambda i: abs(direction[i]))]

    @property
    def direction(self) -> tuple[float, float, float] | None:
        """Direction of its motion."""
        return self.about if self.kind is JointKind.ROTARY else self.along

    def every_drive(self) -> Iterator[tuple[str, Drive]]:
        """Its drives with their paths below the joint: 'drive', or 'drives/left'."""
        if self.drive is not None:
            yield "drive", self.drive
        for name, drive in self.drives.items():
            yield f"drives/{name}", drive

    @property
    def has_contacts(self) -> bool:
        """It touches somewhere: contacts, a guide or a drive."""
        return bool(self.contacts or self.guide or self.drive or self.drives)

    @field_validator("travel", "home", mode="before")
    @classmethod
    def _read_position(cls, value: Any, info: ValidationInfo) -> Any:
        rotary = info.data.get("kind") is JointKind.ROTARY
        dimension = Dimension.ANGLE if rotary else Dimension.LENGTH
        if info.field_name == "home":
            return read_quantity(value, info, dimension)
        if value is None:
            return None
        if isinstance(value, (str, dict)) or not hasattr(value, "__len__") or len(value) != 2:
            raise mistake(f"{short(value)} is not a travel", "write [from, to], such as [0, 220]")
        low, high = (read_quantity(v, info, dimension) for v in value)
        if not low < high:
            raise mistake(f"{short(value)} goes nowhere", "write the smaller end first: [0, 220]")
        return low, high

    @field_validator("errors", mode="before")
    @classmethod
    def _read_errors(cls, value: Any, info: ValidationInfo) -> Any:
        if not isinstance(value, dict):
            raise mistake(f"{short(value)} are not error motions", "write {EXX: ±0.004, EBX: ±6 arcsec}")
        rotary = info.data.get("kind") is JointKind.ROTARY
        position = Dimension.ANGLE if rotary else Dimension.LENGTH
        return gathered(
            value.items(), lambda letters, motion: read_error_motion(letters, motion, info, position)
        )

    @field_serializer("travel", "home", "errors", when_used="json")
    def _write_by_kind(self, value: Any, info: FieldSerializationInfo) -> Any:
        if info.field_name == "errors":
            return {
                name: write_error_motion(name, motion, self.position, info) for name, motion in value.items()
            }
        if isinstance(value, tuple):
            return [write_quantity(v, self.position, info) for v in value]
        return None if value is None else write_quantity(value, self.position, info)

    @model_validator(mode="after")
    def _fits_its_kind(self) -> Self:
        _check_motion(self)
        _check_extras(self)
        gathered([("errors", self.errors)], lambda _, errors: _check_letters(errors, self.letter))
        return self


def _check_letters(errors: dict[str, ErrorMotion], axis: str | None) -> None:
    def check(letters: str, _: ErrorMotion) -> None:
        spoken_of = letter(letters).axis
        if spoken_of != axis:
            what = f"'{letters}' speaks of axis {spoken_of}, and this is axis {axis}"
            raise mistake(what, f"end the letters with {axis}, or set 'axis'")

    gathered(errors.items(), check)


def _check_motion(joint: Joint) -> None:
    name = joint.letter or ""
    if name and (name[0] in ROTARY_LETTERS) != (joint.kind is JointKind.ROTARY):
        raise mistake(
            f"axis letter {name} does not go with a {joint.kind.value} joint",
            "ISO 841: A to E are rotary axes, the other letters linear ones",
        )
    if joint.kind is JointKind.LINEAR and (joint.along is None or joint.travel is None):
        raise mistake("a linear joint needs its direction and travel", "write along: +X and travel: [0, 300]")
    if joint.kind is JointKind.ROTARY and (joint.about is None or joint.at is None or joint.travel is None):
        raise mistake(
            "a rotary joint needs its axis and travel",
            "write about: +Z, at: [x, y, z] and travel: [0 deg, 360 deg]",
        )
    if joint.kind is JointKind.FIXED and (joint.travel or joint.along or joint.about or joint.axis):
        raise mistake(
            "a fixed joint has no axis, direction or travel", "leave them out, or make it linear or rotary"
        )


def _check_extras(joint: Joint) -> None:
    if joint.kind is not JointKind.LINEAR and joint.guide is not None:
        raise mistake("only a linear joint can have a guide", "use contacts, or make the joint linear")
    if joint.kind is JointKind.FIXED and (joint.drive or joint.drives):
        raise mistake("a fixed joint has no drive", "leave the drive out, or make the joint linear")
    if joint.kind is JointKind.ROTARY and any(d.lead_error != LeadError() for _, d in joint.every_drive()):
        raise mistake(
            "a rotary drive has no lead error; its indexing error is an error motion of the axis",
            f"declare it under 'errors', such as E{joint.letter}{joint.letter}: ±5 arcsec",
        )
    if joint.drive and joint.drives:
        raise mistake("'drive' and 'drives' stand side by side", "put all of them under 'drives'")
    if joint.kind is JointKind.FIXED and joint.errors:
        raise mistake(
            "error motions belong to an axis, and a fixed joint has none", "describe its contacts instead"
        )
    if joint.errors and joint.errors_at is None:
        raise mistake("error motions are stated without a place", "write errors_at: [x, y, z]")
    if joint.stiffness is not None and (joint.has_contacts or joint.errors_at is None):
        raise mistake(
            "a lumped stiffness needs 'errors_at', and no contacts beside it",
            "give stiffness at each contact instead",
        )
    if joint.perfect and (joint.has_contacts or joint.errors):
        raise mistake("is called perfect and has contacts or errors", "leave 'perfect' out")
    if not (joint.perfect or joint.has_contacts or joint.errors or joint.stiffness):
        raise mistake(
            "has no contacts, no guide and no errors", "describe how it touches, or write perfect: true"
        )


def adjusters(joint: Joint) -> dict[str, Adjuster]:
    """What can be set in a joint, by its path below the joint: 'front left', 'guide/rails/B/side', 'drive'."""
    out = {name: contact.adjust for name, contact in joint.contacts.items()}
    out |= {path: drive.adjust for path, drive in joint.every_drive()}
    for name, rail in joint.guide.rails.items() if joint.guide is not None else ():
        out |= {f"guide/rails/{name}/{line}": getattr(rail, line).adjust for line in ("height", "side")}
    for name, block in joint.guide.blocks.items() if joint.guide is not None else ():
        for line in ("height", "side"):
            seat = getattr(block, line)
            if isinstance(seat, Seat):
                out[f"guide/blocks/{name}/{line}"] = seat.adjust
    return {path: adjuster for path, adjuster in out.items() if adjuster is not None}
