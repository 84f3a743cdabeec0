"""One machine being built: its whole description."""

from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, model_validator

from loopwright import units
from loopwright.errors import QuantityError
from loopwright.model.base import (
    Direction,
    Fraction,
    Frozen,
    Name,
    NonNegativeLength,
    Point,
    PositiveAngle,
    PositiveLength,
    Temperature,
    gathered,
    mistake,
    short,
)
from loopwright.model.contacts import Range, Stiffness
from loopwright.model.indications import Artefact, Gauge, Target, Test
from loopwright.model.joints import Body, Joint
from loopwright.model.parts import Dim, MadeTogether, Material, Part
from loopwright.model.shop import Shop
from loopwright.model.spread import (
    NONE,
    ForceAmount,
    LengthSpread,
    RatioSpread,
    RoomTemperature,
    Shape,
    Spread,
    TorqueAmount,
    Warmth,
)
from loopwright.units import Dimension

FORMAT = "loopwright-build/1"
"""The format of build files that this version reads and writes."""

_UNIT_KEYS = {
    "length": Dimension.LENGTH,
    "angle": Dimension.ANGLE,
    "mass": Dimension.MASS,
    "force": Dimension.FORCE,
    "torque": Dimension.TORQUE,
    "stiffness": Dimension.STIFFNESS,
    "rotary_stiffness": Dimension.ROTARY_STIFFNESS,
    "temperature": Dimension.TEMPERATURE,
    "temperature_difference": Dimension.TEMPERATURE_DIFFERENCE,
}


class Units(Frozen):
    """The units that bare numbers take, and in which answers are given."""

    length: str = "mm"
    """Lengths and coordinates."""
    angle: str = "arcsec"
    """Angles and slopes."""
    mass: str = "kg"
    """Masses."""
    force: str = "N"
    """Forces."""
    torque: str = "N·m"
    """Torques."""
    stiffness: str = "N/µm"
    """Stiffness of contacts."""
    rotary_stiffness: str = "N·m/rad"
    """Stiffness against turning."""
    temperature: str = "degC"
    """Temperatures."""
    temperature_difference: str = "K"
    """Differences of temperature."""
    errors: str | None = None
    """Unit in which small errors are shown; left out: µm with metric lengths, thou with inches."""

    @model_validator(mode="after")
    def _known(self) -> Self:
        given = {key: getattr(self, key) for key in (*_UNIT_KEYS, "errors")}
        dimensions = {**_UNIT_KEYS, "errors": Dimension.LENGTH}
        gathered(
            ((key, unit) for key, unit in given.items() if unit is not None),
            lambda key, unit: _check_unit(unit, dimensions[key]),
        )
        return self

    def bare(self) -> dict[Dimension, str]:
        """The unit of a bare number, by dimension."""
        return {dimension: getattr(self, key) for key, dimension in _UNIT_KEYS.items()} | {
            Dimension.RATIO: "1"
        }

    @property
    def small_length(self) -> str:
        """Unit in which errors and limits are shown."""
        if self.errors is not None:
            return self.errors
        return "thou" if self.length in ("in", "ft", "thou", '"') else "µm"

    def shown(self, dimension: Dimension) -> str:
        """Unit in which a small value of this dimension is shown."""
        return self.small_length if dimension is Dimension.LENGTH else self.bare().get(dimension, "")


def _check_unit(unit: str, dimension: Dimension) -> None:
    try:
        units.parse(f"1 {unit}", dimension)
    except QuantityError as error:
        raise mistake(error.what, error.remedy) from None


def _probability(value: float) -> float:
    if not 0.5 <= value < 1:
        raise mistake(f"{value:g} is not a confidence", "give a share from 50 % to under 100 %, such as 95 %")
    return value


class Closure(Frozen):
    """A gap left in the loop, to be filled by a part that is sized last."""

    joint: str
    """The joint in which the gap is."""
    contact: str
    """The contact that the part will make."""
    part: str | None = None
    """The part that fills it."""
    range: Range | None = None
    """Sizes in which that part can be made."""
    increment: NonNegativeLength = 0.0
    """Steps of its size; 0 is continuous."""


def _three_amounts(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, (str, bytes, dict)) or not hasattr(value, "__len__") or len(value) != 3:
        raise mistake(f"{short(value)} is not a vector", "give three amounts: [0, 0, -300 N]")
    return value


_Three = BeforeValidator(_three_amounts)


class ProcessLoad(Frozen):
    """A force of the work: it acts on one body, and its reaction on another."""

    on: str
    """The body it acts on."""
    against: str | None = None
    """The body that takes the reaction; left out: something outside of the machine."""
    at: Point
    """Where, at the home pose; the point stays on 'on'."""
    force: Annotated[tuple[ForceAmount, ForceAmount, ForceAmount], _Three] = (NONE, NONE, NONE)
    """Along X, Y, Z, each with its limits."""
    torque: Annotated[tuple[TorqueAmount, TorqueAmount, TorqueAmount], _Three] = (NONE, NONE, NONE)
    """About X, Y, Z."""


class Heat(Frozen):
    """Temperatures, and what they are counted from."""

    reference: Temperature = 20.0
    """Where all sizes are true (ISO 1)."""
    room: RoomTemperature = Spread(value=20.0)
    """Of the room, shared by every body, with limits."""
    every_body: Warmth = NONE
    """How far each body may be from the room, on its own."""


class FitUpStep(Frozen):
    """One step of assembly: seat, read, adjust, lock."""

    step: str
    """What is done."""
    seat: list[str] = Field(default=[])
    """Bodies or parts that are put in place."""
    read: list[str] = Field(default=[])
    """What is read: tests, dims as part/dim, and gaps by the name of their closure."""
    adjust: list[str] = Field(default=[])
    """What is set: joint/contact, or the path below the joint, such as X slide/guide/rails/B/side."""
    accept: PositiveLength | None = None
    """What is good enough, as a length."""
    accept_angle: PositiveAngle | None = None
    """What is good enough, as an angle."""
    note: str | None = None
    """Anything to know about it."""


DEFAULT_CONTACT_STIFFNESS = 200_000.0
"""N/mm: a bolted or preloaded rolling contact of small machines, order of magnitude.
Common practice, from memory."""


class Build(Frozen):
    """One machine being built: parts, bodies, joints, what it must hold and what can be read on it."""

    format: Literal["loopwright-build/1"] = "loopwright-build/1"
    """Format of the file."""
    name: str = Field(min_length=1, max_length=200)
    """Name of the machine."""
    note: str | None = None
    """Anything to know about it."""
    units: Units = Units()
    """Units of bare numbers and of answers."""
    assume: Shape = Shape.RECTANGULAR
    """Shape of a bare ± limit."""
    confidence: Annotated[Fraction, AfterValidator(_probability)] = 0.95
    """Coverage of intervals, and the share of profiles that stay in their stated band."""
    general_limits: LengthSpread | None = None
    """Limits of lengths that give none of their own: the title block of the drawings."""
    contact_stiffness: Stiffness = DEFAULT_CONTACT_STIFFNESS
    """Stiffness of contacts that give none of their own."""
    stiffness_shared: RatioSpread = Spread(lower=-0.3, upper=0.3)
    """How far the stiffness of all contacts of a joint together may be from what is stated, as a fraction."""
    stiffness_spread: RatioSpread = Spread(lower=-0.15, upper=0.15)
    """How far the stiffness of one contact may be from that of its neighbours, as a fraction."""
    down: Direction | None = (0.0, 0.0, -1.0)
    """Direction of gravity; null where there is none."""
    heat: Heat = Heat()
    """Temperatures of the room and the bodies."""
    materials: dict[Name, Material] = Field(default={})
    """Materials of its own, by name, beside those of the handbook."""
    parts: dict[Name, Part] = Field(default={})
    """Parts, by name."""
    made_together: dict[Name, MadeTogether] = Field(default={})
    """Dims cut in one setup, by name of the setup."""
    shop: Shop = Shop()
    """What its parts are made with: machines, tools, material."""
    bodies: dict[Name, Body] = Field(min_length=1)
    """Bodies, by name."""
    joints: dict[Name, Joint] = Field(default={})
    """Joints, by name."""
    closures: dict[Name, Closure] = Field(default={})
    """Gaps to be filled by parts that are sized last."""
    loads: dict[Name, ProcessLoad] = Field(default={})
    """Forces of the work, by name."""
    targets: dict[Name, Target] = Field(default={})
    """What the machine must hold."""
    tests: dict[Name, Test] = Field(default={})
    """What can be read on it."""
    gauges: dict[Name, Gauge] = Field(default={})
    """Instruments of the shop."""
    artefacts: dict[Name, Artefact] = Field(default={})
    """Straightedges, squares, blocks."""
    fit_up: list[FitUpStep] = Field(default=[])
    """Steps of assembly, in order."""

    def dim(self, path: str) -> Dim | None:
        """The dim at 'part/dim', or None."""
        part, _, name = path.partition("/")
        if part not in self.parts:
            return None
        return self.parts[part].dims.get(name) or self.parts[part].every_dim().get(name)

    def axes(self) -> dict[str, str]:
        """Axis letters, each with the name of its joint, in the order of the file."""
        return {joint.letter: name for name, joint in self.joints.items() if joint.letter is not None}

    def joint_above(self) -> dict[str, str]:
        """For each carried body the name of the joint that ties it to its parent."""
        return {joint.child: name for name, joint in self.joints.items()}

    def path_to(self, body: str) -> list[str]:
        """Joints from the base to a body, base first. The tree must be sound."""
        above, path = self.joint_above(), []
        while body in above:
            path.append(above[body])
            body = self.joints[above[body]].parent
        return path[::-1]

    def carried_by(self, joint: str) -> list[str]:
        """Every body whose weight goes through a joint, in the order of the file."""
        return [body for body in self.bodies if joint in self.path_to(body)]

    def material_of(self, body: str) -> str | None:
        """Name of the material that a body grows like."""
        own = self.bodies[body]
        if own.material is not None:
            return own.material
        named = (self.parts[part].material for part in own.parts if part in self.parts)
        return next((material for material in named if material is not None), None)
