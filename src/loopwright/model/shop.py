"""The shop: its machines and what they hold, its tools, the material it has, and what it has proven."""

from typing import Annotated, Any, Literal, Self

from pydantic import BeforeValidator, Field, WithJsonSchema, model_validator

from loopwright.handbook.operations import MACHINES
from loopwright.model.base import (
    Angle,
    Fraction,
    Frozen,
    Name,
    NonNegativeLength,
    Point,
    PositiveAngle,
    PositiveLength,
    YesNo,
    mistake,
    quantity,
    short,
)
from loopwright.model.blanks import Bar
from loopwright.model.routes import OpName
from loopwright.units import Dimension


def _positive(value: float) -> tuple[str, str] | None:
    return None if value > 0 else ("is not above zero", "give a value above zero")


PositiveSpeed = Annotated[float, quantity(Dimension.SPEED, _positive)]
PositivePower = Annotated[float, quantity(Dimension.POWER, _positive)]
Rotations = Annotated[float, Field(gt=0, le=1_000_000)]


def _machine(value: Any) -> Any:
    if value not in MACHINES:
        raise mistake(f"{short(value)} is not a kind of machine", f"use one of {', '.join(MACHINES)}")
    return value


MachineKind = Annotated[str, BeforeValidator(_machine), WithJsonSchema({"enum": list(MACHINES)})]
ToolKind = Literal[
    "end mill",
    "face mill",
    "fly cutter",
    "drill",
    "reamer",
    "boring bar",
    "turning tool",
    "parting tool",
    "tap",
    "thread mill",
    "thread tool",
    "grinding wheel",
    "saw blade",
    "lap",
    "chamfer tool",
]


class Capability(Frozen):
    """What a machine holds in one kind of op, as standard deviations; what is left out comes from the handbook."""

    cut: NonNegativeLength | None = None
    """Of one cut against the next, in one setup; on a face, or on the radius of a round surface."""
    setting: NonNegativeLength | None = None
    """Of a setting: touching off, a stop, an offset; the same for all that is cut before it is broken."""
    seating: NonNegativeLength | None = None
    """Of seating one piece on its datum; of a round piece, how far its axis runs out of true."""
    angular: PositiveAngle | None = None
    """Of the angle that it gives what it cuts in one setup: squareness or taper."""
    of_diameter: YesNo = False
    """On a round surface they are of the diameter, as the handbook's are; left out: of the radius."""
    known_within: Annotated[float | None, Field(ge=1.0, le=100.0)] = None
    """They are known within this factor, as one standard uncertainty; left out: 1.3."""
    readings_to: Annotated[int | None, Field(ge=1)] = None
    """Number of the last entry of the book whose readings are in them already."""
    note: str | None = None
    """Where they come from."""


class Machine(Frozen):
    """A machine of the shop."""

    kind: MachineKind
    """What kind it is."""
    envelope: Point | None = None
    """Largest piece that it takes: along X, Y and Z; of a lathe swing, swing and length between centres."""
    speeds: tuple[Rotations, Rotations] | None = None
    """Slowest and fastest speed of its spindle, in revolutions a minute."""
    power: PositivePower | None = None
    """At the spindle."""
    rate: Annotated[float | None, Field(ge=0)] = None
    """What an hour on it costs, in the shop's own money."""
    setting_up: Annotated[float, Field(ge=0, le=10_000)] = 15.0
    """Minutes to set up for one setup, where the op gives none."""
    kerf: NonNegativeLength | None = None
    """Of a saw, width of its cut; left out: from the handbook."""
    grip: NonNegativeLength | None = None
    """Of a saw, length of a bar that it has to hold and cannot cut."""
    holds: dict[OpName, Capability] = Field(default={})
    """What it holds, by op."""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.speeds is not None and self.speeds[1] < self.speeds[0]:
            raise mistake("the faster speed comes first", "write the slower first: speeds: [60, 4000]")
        return self


class Tool(Frozen):
    """A cutting tool of the shop."""

    kind: ToolKind
    """What kind it is."""
    diameter: PositiveLength | None = None
    """Of the cutter, the wheel, or the shank of a boring bar."""
    material: Literal["HSS", "carbide", "diamond", "CBN", "aluminium oxide", "silicon carbide"] = "HSS"
    """What cuts."""
    edges: Annotated[int, Field(ge=1, le=500)] = 1
    """Teeth or flutes."""
    stick_out: PositiveLength | None = None
    """How far it stands out of its holder."""
    nose_radius: NonNegativeLength | None = None
    """Radius of its corner."""
    lead_angle: Angle | None = None
    """Angle of its edge to the feed: 90 deg for a shoulder."""
    speed_limit: Rotations | None = None
    """Fastest that it may turn, as marked on it, in revolutions a minute; a grinding wheel has one."""
    edge_radius: NonNegativeLength | None = None
    """Sharpness of its edge; left out: from the handbook."""


class Proven(Frozen):
    """Cutting data that this shop has proven; they win over the handbook's."""

    op: OpName
    """In which op."""
    material: str
    """In which material."""
    tool: str | None = None
    """With which tool; left out: any."""
    machine: str | None = None
    """On which machine; left out: any."""
    speed: PositiveSpeed | None = None
    """Cutting speed."""
    feed: PositiveLength | None = None
    """For each tooth of a milling cutter, else for each turn."""
    depth: PositiveLength | None = None
    """Of one pass."""
    note: str | None = None
    """When and on what it was tried."""


class Shop(Frozen):
    """What the shop has to make parts with."""

    machines: dict[Name, Machine] = Field(default={})
    """Machines, by name."""
    tools: dict[Name, Tool] = Field(default={})
    """Tools, by name."""
    bars: dict[Name, Bar] = Field(default={})
    """Bars and plates, in the shop or to be bought."""
    sawn: list[str] = Field(default=[])
    """Parts whose blanks are sawn already, and lie ready."""
    proven: list[Proven] = Field(default=[])
    """Cutting data of its own."""
    clean_up: Fraction = 0.99
    """Chance at which a finishing op must clean up all over."""
    hour: Annotated[float | None, Field(ge=0)] = None
    """What an attended hour costs, in the shop's own money."""
    keep: NonNegativeLength = 100.0
    """Off-cuts of this length and more are kept."""
    address: str | None = None
    """Where the pages are reached in the shop's network, for the codes on the sheets: http://bench.local:8080."""
