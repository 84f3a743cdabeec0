"""How bodies and screws grow when they are warmer than the reference temperature."""

from dataclasses import dataclass

from loopwright.handbook.materials import material
from loopwright.loop.sources import Source, SourceKind, SourceList
from loopwright.model.build import Build
from loopwright.model.spread import NONE, Spread
from loopwright.units import Dimension

Strain = tuple[tuple[int, float], ...]
"""A strain as a sum over sources: (place in x, factor)."""


@dataclass(frozen=True)
class Growth:
    """The strain of every body and drive as a function of the sources.

    Attributes:
        bodies: by body name.
        drives: by (joint, drive path).
        left_out: bodies whose material is not known, so that their growth is left out.
    """

    bodies: dict[str, Strain]
    drives: dict[tuple[str, str], Strain]
    left_out: tuple[str, ...]


def expansion(build: Build, name: str) -> tuple[float, float]:
    """Coefficient of expansion of a named material and its standard uncertainty, 1/K."""
    if name in build.materials:
        own = build.materials[name]
        return own.expansion, own.expansion_std
    found = material(name)
    return found.expansion, found.expansion_std


def _own_warmth(above_room: Spread, every_body: Spread) -> Spread:
    """A body's own departure from the room: what it says itself, with the general limits where it gives none."""
    if not above_room.certain:
        return above_room
    return every_body.model_copy(update={"value": every_body.value + above_room.value})


class _Heater:
    def __init__(self, build: Build, sources: SourceList) -> None:
        self.build, self.sources = build, sources
        room = build.heat.room
        self._room_spread = room.model_copy(update={"value": room.value - build.heat.reference})
        self._room: int | None = None
        self._coefficients: dict[str, int] = {}

    def room(self) -> int:
        if self._room is None:
            self._room = self.sources.add(
                Source(
                    "room temperature",
                    SourceKind.HEAT,
                    Dimension.TEMPERATURE_DIFFERENCE,
                    self._room_spread,
                    "heat/room",
                )
            )
        return self._room

    def strain(self, material_name: str, own: Spread, source: Source) -> Strain:
        """Strain of one thing: its coefficient times its warmth, to first order about the expected values."""
        alpha, alpha_std = expansion(self.build, material_name)
        terms: list[tuple[int, float]] = []
        if not self._room_spread.certain or self._room_spread.mean:
            terms.append((self.room(), alpha))
        if not own.certain or own.mean:
            terms.append((self.sources.add(source), alpha))
        warmth = self._room_spread.mean + own.mean
        if alpha_std and warmth:
            terms.append((self._coefficient(material_name, alpha_std), warmth))
        return tuple(terms)

    def _coefficient(self, name: str, std: float) -> int:
        if name not in self._coefficients:
            field = f"materials/{name}" if name in self.build.materials else f"handbook: {name}"
            self._coefficients[name] = self.sources.add(
                Source(f"expansion of {name}", SourceKind.HEAT, Dimension.EXPANSION, Spread(std=std), field)
            )
        return self._coefficients[name]


def add_growth(build: Build, sources: SourceList) -> Growth:
    """Adds the sources of heat: the room, what each body and screw has of its own, and the coefficients.

    Bodies of one material share the deviation of its coefficient.
    """
    heater = _Heater(build, sources)
    bodies: dict[str, Strain] = {}
    left_out = []
    for name, body in build.bodies.items():
        material_name = build.material_of(name)
        if material_name is None:
            left_out.append(name)
            bodies[name] = ()
            continue
        own = _own_warmth(body.above_room, build.heat.every_body)
        source = Source(
            f"warmth of {name}",
            SourceKind.HEAT,
            Dimension.TEMPERATURE_DIFFERENCE,
            own,
            f"bodies/{name}/above_room",
        )
        bodies[name] = heater.strain(material_name, own, source)
    drives: dict[tuple[str, str], Strain] = {}
    for joint_name, joint in build.joints.items():
        for path, drive in joint.every_drive():
            if drive.material is None:
                drives[joint_name, path] = bodies.get(joint.parent, ())
                continue
            own = _own_warmth(drive.above_room, build.heat.every_body)
            source = Source(
                f"warmth of {joint_name} {path}",
                SourceKind.HEAT,
                Dimension.TEMPERATURE_DIFFERENCE,
                own,
                f"joints/{joint_name}/{path}/above_room",
                joint=joint_name,
            )
            drives[joint_name, path] = heater.strain(drive.material, own, source)
    warm = any(bodies.values()) or any(drives.values()) or _heat_is_stated(build)
    return Growth(bodies, drives, tuple(left_out) if warm else ())


def _heat_is_stated(build: Build) -> bool:
    heat = build.heat
    return not heat.room.certain or heat.room.mean != heat.reference or heat.every_body != NONE
