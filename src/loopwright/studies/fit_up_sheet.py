"""The steps of assembly as a sheet to work from and to write on."""

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.asbuilt.observing import adjuster_at
from loopwright.loop.kinematics import poses_of
from loopwright.model.build import Build, FitUpStep, Units
from loopwright.studies.addresses import addresses
from loopwright.studies.shop_sheets import Code
from loopwright.units import Dimension

MOST_POSES = 24
"""Boxes for so many poses are drawn; of more, the first so many."""


@dataclass(frozen=True)
class StepReading:
    """What is read in a step.

    Attributes:
        name: of the test, the dim, or the closure.
        kind: 'test', 'dim' or 'gap'.
        what: bodies and component, in words; ''.
        dimension: of its values.
        gauge, artefact: to be used; '' where none is named.
        minutes: of work; None where nobody knows.
        limit: what is acceptable, to either side; None where nothing is stated.
        low, high: of a dim or a gap, the sizes that it may have; None where nothing is stated.
        poses: where the axes stand for each value, mm or rad; empty where it has none.
        more: so many poses have no box.
        repeats: how often each is read.
        note: of the test.
    """

    name: str
    kind: str
    what: str
    dimension: Dimension
    gauge: str
    artefact: str
    minutes: float | None
    limit: float | None
    low: float | None
    high: float | None
    poses: tuple[Mapping[str, float], ...]
    more: int
    repeats: int
    note: str


@dataclass(frozen=True)
class StepSetting:
    """What is set in a step.

    Attributes:
        path: of the adjuster, or the closure's contact.
        kind: shim, jack screw, float, … or 'ground to size'; '' where nothing is known of it.
        part: that is ground; '' for anything else.
        dimension: of its range.
        low, high: its range, mm or rad; None where nothing is stated.
        increment: its steps; 0 for any size.
    """

    path: str
    kind: str
    part: str
    dimension: Dimension
    low: float | None
    high: float | None
    increment: float


@dataclass(frozen=True)
class SheetStep:
    """A step of the assembly.

    Attributes:
        number: counted from 1.
        name: what is done.
        code: its address.
        note: of it.
        seat: what is put in place.
        readings: what is read.
        settings: what is set.
        accept: what is good enough, mm or rad, to either side; None where nothing is stated.
        dimension: of that.
        hazards: names of what can hurt someone.
    """

    number: int
    name: str
    code: Code
    note: str
    seat: tuple[str, ...]
    readings: tuple[StepReading, ...]
    settings: tuple[StepSetting, ...]
    accept: float | None
    dimension: Dimension
    hazards: tuple[str, ...]


@dataclass(frozen=True)
class FitUpSheet:
    """All steps of the assembly.

    Attributes:
        build: name of the machine; units: in which its builder reads.
        steps: in order.
    """

    build: str
    units: Units
    steps: tuple[SheetStep, ...]


def fit_up_sheet(build: Build, *, booked: bool = False) -> FitUpSheet:
    """The steps of assembly, each with what is read and set and what is good enough.

    Args:
        build: the build, in the units in which the sheet is to be read.
        booked: the build has a book, so that a code can open a step's page.
    """
    known = {thing.number: thing.code for thing in addresses(build).things if thing.kind == "step"}
    root = (build.shop.address or "").rstrip("/")
    steps = []
    for number, step in enumerate(build.fit_up, 1):
        code = known.get(number, "") if booked else ""
        text = f"{root}/A/{code}".upper() if code and root else step.step
        steps.append(_step(build, number, step, Code(step.step, text, code)))
    return FitUpSheet(build.name, build.units, tuple(steps))


def _step(build: Build, number: int, step: FitUpStep, code: Code) -> SheetStep:
    angular = step.accept is None and step.accept_angle is not None
    return SheetStep(
        number=number,
        name=step.step,
        code=code,
        note=step.note or "",
        seat=tuple(step.seat),
        readings=tuple(_reading(build, name) for name in step.read),
        settings=tuple(_setting(build, path) for path in step.adjust),
        accept=step.accept_angle if angular else step.accept,
        dimension=Dimension.ANGLE if angular else Dimension.LENGTH,
        hazards=("lifting",) if any(name in build.bodies for name in step.seat) else (),
    )


def _reading(build: Build, name: str) -> StepReading:
    test = build.tests.get(name)
    if test is None:
        return _size(build, name)
    found = poses_of(build, test, name)
    count = max((len(values) for values in found.values()), default=0)
    poses = tuple({letter: float(values[i]) for letter, values in found.items()} for i in range(count))
    what = f"{test.between[1]} against {test.between[0]}"
    return StepReading(
        name, "test", f"{what}, {_component(test.component, test.along)}", test.dimension, test.gauge or "",
        test.artefact or "", test.minutes, test.limit, None, None, poses[:MOST_POSES],
        max(count - MOST_POSES, 0), test.repeats, test.note or "",
    )  # fmt: skip


def _component(component: str | None, along: tuple[float, float, float] | None) -> str:
    if component is not None:
        return f"turning {component}" if component in "ABC" else component
    names = [f"{'-' if v < 0 else '+'}{letter}" for letter, v in zip("XYZ", along or ()) if v]
    return f"along {names[0]}" if len(names) == 1 else "along a slanting direction"


def _size(build: Build, name: str) -> StepReading:
    dim, closure = build.dim(name), build.closures.get(name)
    low = high = None
    if dim is not None and dim.spread is not None:
        middle = dim.nominal + dim.spread.value
        low, high = middle + dim.spread.lower, middle + dim.spread.upper
    elif closure is not None and closure.range is not None:
        low, high = closure.range
    return StepReading(
        name, "gap" if closure is not None else "dim", "", Dimension.LENGTH if dim is None else dim.dimension,
        "", "", None, None, low, high, (), 0, 1, "",
    )  # fmt: skip


def _setting(build: Build, path: str) -> StepSetting:
    adjuster = adjuster_at(build, path)
    dimension = Dimension.ANGLE if path.endswith("/slope") else Dimension.LENGTH
    if adjuster is not None:
        return StepSetting(path, str(adjuster.kind), "", dimension, *adjuster.range, adjuster.increment)
    closure = next((c for c in build.closures.values() if f"{c.joint}/{c.contact}" == path), None)
    part = "" if closure is None or closure.part is None else closure.part
    low, high = (None, None) if closure is None or closure.range is None else closure.range
    kind = "ground to size" if closure is not None else ""
    return StepSetting(path, kind, part, dimension, low, high, 0.0 if closure is None else closure.increment)
