"""Small machines drawn at random for the property tests: trees of seats, guides, declared axes and rotary
tables.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from loopwright.asbuilt.prior import Prior, prior_of
from loopwright.loop import Loop, compile_loop
from loopwright.model.base import Frozen
from loopwright.model.build import Build
from loopwright.model.indications import Indication
from loopwright.model.spread import Shape, Spread

Array = NDArray[np.float64]

LINEAR_LETTERS, ROTARY_LETTERS = "XYZUVW", "ABCDE"
HELD_EXACTLY = ("seat", "table on contacts")
AXES = ("declared axis", "guide", "declared table", "table on contacts")
KINDS = ("seat", "pads", *AXES)


@dataclass(frozen=True)
class Plan:
    """What a small machine is made of; the numbers follow from the seed.

    Attributes:
        tool, work: kinds of the joints from the base to the tool and to the work.
        seed: of every number.
        loads, heat: whether they act.
        step: size of contact deviations, mm.
        tilt: size of angular deviations, rad.
        room: expected temperature of the room where heat acts, degC.
    """

    tool: tuple[str, ...]
    work: tuple[str, ...]
    seed: int
    loads: bool = False
    heat: bool = False
    step: float = 0.01
    tilt: float = 1e-4
    room: float = 20.0


@dataclass
class Making:
    """A small machine while it is put together."""

    plan: Plan
    draw: np.random.Generator
    parts: dict[str, Any] = field(default_factory=dict)
    bodies: dict[str, Any] = field(default_factory=dict)
    joints: dict[str, Any] = field(default_factory=dict)
    linear: int = 0
    rotary: int = 0

    def point(self, reach: float = 300.0) -> Array:
        return self.draw.uniform(-reach, reach, 3)

    def spread(self, size: float) -> Spread:
        """Limits of a random shape; or a standard deviation."""
        half = float(size * self.draw.uniform(0.3, 1.0))
        shape = self.draw.choice([*Shape, None, "std"])
        if shape == "std":
            return Spread(std=half / 2)
        return Spread(lower=-half, upper=half, shape=shape)

    def frame(self) -> Array:
        """Three unit vectors at right angles, right-handed, rows."""
        turned, _ = np.linalg.qr(self.draw.normal(size=(3, 3)))
        turned = turned * np.sign(np.linalg.det(turned))
        return turned if self.draw.random() < 0.5 else np.eye(3)[:, self.draw.permutation([0, 1, 2])]

    def deviation(self, name: str, part: str) -> dict[str, Any]:
        """Half of the contacts move with a dim of the part, the others by themselves."""
        if self.draw.random() < 0.5:
            self.parts.setdefault(part, {"dims": {}})["dims"][name] = {
                "nominal": 10.0,
                "spread": self.spread(self.plan.step),
            }
            return {"dims": [{"dim": f"{part}/{name}", "times": float(self.draw.choice([-1.0, 1.0]))}]}
        return {"deviation": self.spread(self.plan.step)}

    def contact(self, name: str, part: str, at: Array, normal: Array) -> dict[str, Any]:
        return {
            "at": tuple(at.tolist()),
            "normal": tuple((normal / np.linalg.norm(normal)).tolist()),
            "stiffness": float(self.draw.uniform(5e4, 5e5)),
            **self.deviation(name, part),
        }

    def letter(self, rotary: bool) -> str:
        letters, number = (ROTARY_LETTERS, self.rotary) if rotary else (LINEAR_LETTERS, self.linear)
        self.rotary, self.linear = self.rotary + rotary, self.linear + (not rotary)
        return letters[number]


def seat(making: Making, name: str, spare: int = 0) -> dict[str, Any]:
    """Three points, two points, one point; with spare ones the plane has more than three."""
    centre, (u, v, w) = making.point(), making.frame()
    size = making.draw.uniform(60, 200)
    plane = [(-1, -1), (1, -1), (0, 1), (1, 1), (-1, 1)][: 3 + spare]
    places = [(centre + size * (a * u + b * v), w) for a, b in plane]
    places += [(centre + size * (a * u - v), v) for a in (-1, 1)] + [(centre - size * u, u)]
    contacts = {f"c{i}": making.contact(f"c{i}", name, at, n) for i, (at, n) in enumerate(places)}
    return {"kind": "fixed", "contacts": contacts}


def _errors(making: Making, letter: str, chosen: tuple[str, ...], squares: list[str]) -> dict[str, Any]:
    errors: dict[str, Any] = {}
    for one in chosen:
        size = making.plan.tilt if one in "ABC" else making.plan.step
        varies = "constant" if making.draw.random() < 0.3 else "smoothly"
        errors[f"E{one}{letter}"] = {**fields_of(making.spread(size)), "varies": varies}
    for one in squares:
        errors[f"{one}0{letter}"] = fields_of(making.spread(making.plan.tilt))
    return errors


def fields_of(spread: Spread) -> dict[str, Any]:
    """A spread as the fields of a declared error motion."""
    return {key: value for key, value in spread.model_dump().items() if value}


def declared_axis(making: Making, name: str) -> dict[str, Any]:
    """A linear axis by its ISO 230-1 letters."""
    letter, along = making.letter(False), making.frame()[0]
    across = [one for i, one in enumerate("ABC") if abs(along[i]) < 0.9]
    home = float(making.draw.uniform(-50, 50))
    stiffness = dict.fromkeys("XYZ", 100000.0) | dict.fromkeys("ABC", 1000000000.0)
    return {
        "kind": "linear", "axis": letter, "along": tuple(along.tolist()), "home": home,
        "travel": (home - 100, home + 150), "errors_at": tuple(making.point().tolist()),
        "errors": _errors(making, letter, tuple("XYZABC"), across),
        **({"stiffness": stiffness} if making.draw.random() < 0.5 else {}),
    }  # fmt: skip


def declared_table(making: Making, name: str) -> dict[str, Any]:
    """A rotary axis by its ISO 230-1 letters, off the machine's origin."""
    letter, about = making.letter(True), making.frame()[2]
    across = [one for i, one in enumerate("ABC") if abs(about[i]) < 0.9]
    at = making.point()
    return {
        "kind": "rotary", "axis": letter, "about": tuple(about.tolist()), "at": tuple(at.tolist()),
        "home": 0.2, "travel": (-2.0, 3.0), "errors_at": tuple((at + 40 * about).tolist()),
        "errors": _errors(making, letter, tuple("XYZABC"), across),
    }  # fmt: skip


def table_on_contacts(making: Making, name: str) -> dict[str, Any]:
    """A rotary table on three feet and two side pads, turned by a worm, off the machine's origin."""
    letter, (u, v, w), at = making.letter(True), making.frame(), making.point()
    radius = making.draw.uniform(60, 150)
    turns = [0.1, 2.2, 4.3]
    feet = [(at + radius * (np.cos(t) * u + np.sin(t) * v) - 20 * w, w) for t in turns]
    pads = [(at + radius * u, u), (at + radius * v, v)]
    contacts = {f"c{i}": making.contact(f"c{i}", name, p, n) for i, (p, n) in enumerate(feet + pads)}
    drive = {
        "kind": "worm", "at": tuple((at - radius * u).tolist()),
        "stiffness": 2e5, "deviation": making.spread(making.plan.step),
    }  # fmt: skip
    return {
        "kind": "rotary", "axis": letter, "about": tuple(w.tolist()), "at": tuple(at.tolist()),
        "home": -0.1, "travel": (-1.0, 1.0), "contacts": contacts, "drive": drive,
        "contacts_on": str(making.draw.choice(["parent", "child"])),
    }  # fmt: skip


def guide(making: Making, name: str) -> dict[str, Any]:
    """Two rails, four blocks and a screw: nine contacts where six would do."""
    letter, (along, across, up), centre = making.letter(False), making.frame(), making.point()
    span, length = making.draw.uniform(80, 200, 2)
    plan = making.plan

    def line() -> dict[str, Any]:
        return {
            "deviation": making.spread(plan.step), "slope": making.spread(plan.tilt),
            "straightness": plan.step * making.draw.uniform(0.2, 1),
        }  # fmt: skip

    blocks = {
        f"b{i}{j}": {
            "rail": f"r{i}",
            "at": tuple((centre + (i - 0.5) * span * across + (j - 0.5) * length * along).tolist()),
            "height": {
                "stiffness": float(making.draw.uniform(1e5, 4e5)),
                **making.deviation(f"b{i}{j}", name),
            },
            **({"side": "free"} if i and making.draw.random() < 0.5 else {}),
        }
        for i in (0, 1)
        for j in (0, 1)
    }
    home = float(making.draw.uniform(0, 100))
    drive = {
        "kind": "ball screw", "at": tuple((centre + 10 * across).tolist()),
        "fixed_at": tuple((centre + 10 * across - 150 * along).tolist()), "stiffness": 1e5,
        "lead_error": {"travel": making.spread(2 * plan.step), "bandwidth": plan.step},
        **({"material": "steel", "above_room": making.spread(2.0)} if plan.heat else {}),
    }  # fmt: skip
    return {
        "kind": "linear", "axis": letter, "along": tuple(along.tolist()), "home": home, "travel": (-20, 200),
        "guide": {
            "normal": tuple(up.tolist()), "rails_on": str(making.draw.choice(["parent", "child"])),
            "rails": {rail: {"height": line(), "side": line()} for rail in ("r0", "r1")}, "blocks": blocks,
        },
        "drive": drive,
    }  # fmt: skip


MAKERS: dict[str, Callable[[Making, str], dict[str, Any]]] = {
    "seat": seat,
    "pads": lambda making, name: seat(making, name, spare=2),
    "declared axis": declared_axis,
    "guide": guide,
    "declared table": declared_table,
    "table on contacts": table_on_contacts,
}


def made(plan: Plan) -> Build:
    """The machine of a plan."""
    making = Making(plan, np.random.Generator(np.random.PCG64(plan.seed)))
    making.bodies["base"] = {}
    for side, kinds in (("tool", plan.tool), ("work", plan.work)):
        parent = "base"
        for number, kind in enumerate(kinds, 1):
            child = f"{side} {number}"
            joint = MAKERS[kind](making, child)
            making.joints[f"{child} joint"] = {**joint, "parent": parent, "child": child}
            making.bodies[child] = {}
            parent = child
    for body in making.bodies.values():
        if plan.heat:
            body["material"] = str(making.draw.choice(["steel", "aluminium", "grey cast iron"]))
            body["above_room"] = making.spread(1.5)
        if plan.loads:
            body["mass"] = Spread(value=float(making.draw.uniform(2, 40)), lower=-1, upper=1)
            body["centre_of_mass"] = tuple(making.point().tolist())
    tools = [name for name in making.bodies if name.startswith("tool")]
    return Build.model_validate(
        {
            "name": "small machine",
            "parts": making.parts,
            "bodies": making.bodies,
            "joints": making.joints,
            "down": (0.0, 0.0, -1.0) if plan.loads else None,
            "heat": {"room": Spread(value=plan.room, lower=-2.0, upper=2.0)} if plan.heat else {},
            "loads": _cut(making, tools[-1]) if plan.loads else {},
        }
    )


def _cut(making: Making, tool: str) -> dict[str, Any]:
    force = tuple(Spread(value=float(v), lower=-5, upper=5) for v in making.draw.uniform(-80, 80, 3))
    return {"cut": {"on": tool, "against": "base", "at": tuple(making.point().tolist()), "force": force}}


@dataclass(frozen=True)
class Small:
    """A small machine with what is asked of it."""

    plan: Plan
    build: Build
    loop: Loop
    prior: Prior
    asked: Indication
    poses: dict[str, Array]


def small(plan: Plan, poses: int = 4) -> Small:
    """The machine of a plan, solved, with an indication between the ends of its two branches."""
    build = made(plan)
    return with_question(plan, build, poses)


def with_question(plan: Plan, build: Build, poses: int = 4) -> Small:
    """A build of a plan, solved, asked between the ends of its two branches at random poses."""
    draw = np.random.Generator(np.random.PCG64(plan.seed + 1))
    bodies = list(build.bodies)
    tool = [name for name in bodies if name.startswith("tool")][-1]
    work = [name for name in bodies if name == "base" or name.startswith("work")][-1]
    point = tuple(draw.uniform(-300, 300, 3).tolist())
    asked = Indication(between=(work, tool), point=point, component="XYZ", under=list(build.loads))
    at = {}
    for letter, name in build.axes().items():
        travel = build.joints[name].travel
        assert travel is not None
        at[letter] = draw.uniform(*travel, poses)
    loop = compile_loop(build)
    return Small(plan, build, loop, prior_of(loop.sources, build.assume), asked, at)


def plans(
    kinds: tuple[str, ...] = KINDS,
    *,
    loads: bool | None = None,
    heat: bool | None = None,
    most: int = 3,
    room: float = 20.0,
    step: float = 0.01,
    tilt: float = 1e-4,
) -> st.SearchStrategy[Plan]:
    """Random plans; loads and heat act, do not act, or either (None)."""
    kind = st.sampled_from(kinds)
    yes_or_no = {None: st.booleans(), True: st.just(True), False: st.just(False)}
    return st.builds(
        Plan,
        tool=st.lists(kind, min_size=1, max_size=most).map(tuple),
        work=st.lists(kind, max_size=most - 1).map(tuple),
        seed=st.integers(0, 2**32 - 1),
        loads=yes_or_no[loads],
        heat=yes_or_no[heat],
        room=st.just(room),
        step=st.just(step),
        tilt=st.just(tilt),
    )


Change = Callable[[str, Any], Any]
"""What becomes of a field: takes its name and value, returns the new value."""


def changed(record: Any, change: Change, name: str = "") -> Any:
    """The same record with every field passed through a change, inner fields first."""
    if isinstance(record, Frozen):
        fields = {key: changed(getattr(record, key), change, key) for key in type(record).model_fields}
        return change(name, record.model_copy(update=fields))
    if isinstance(record, Mapping):
        return change(name, {key: changed(value, change) for key, value in record.items()})
    if isinstance(record, (list, tuple)) and record and isinstance(record[0], Frozen):
        return change(name, type(record)(changed(value, change) for value in record))
    return change(name, record)


def asked_again(before: Small, change: Change, indication: Change | None = None) -> Small:
    """The same question at the same poses, of a machine with every field passed through a change."""
    build = changed(before.build, change)
    loop = compile_loop(build)
    asked = changed(before.asked, indication or change)
    return Small(before.plan, build, loop, prior_of(loop.sources, build.assume), asked, before.poses)
