"""What has to be set up on each machine: what is held how, where its zero is, which tools, which sizes to set."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from loopwright.errors import Cancelled
from loopwright.handbook.operations import OPERATIONS
from loopwright.making.cutting_records import CutData
from loopwright.making.planned import number_of
from loopwright.model.build import Build, Units
from loopwright.studies.route_sheet import CutLine, OpLine, route_sheet
from loopwright.studies.shop_sheets import Code, chosen_parts, codes_of, cutting_for

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

NOT_NAMED = "no machine named"


@dataclass(frozen=True)
class Zero:
    """From where sizes are counted in a direction.

    Attributes:
        direction: X, Y, Z, or 'round'.
        surface: it is this one; '' for the axis of the setup.
    """

    direction: str
    surface: str


@dataclass(frozen=True)
class SetUpCut:
    """A size to set.

    Attributes:
        part: that is cut; op: number of the op; does: its name.
        cut: the cut with its working dim.
        place: that is the place of an axis, not the size of a surface.
        data: its tool and cutting data.
    """

    part: str
    op: int
    does: str
    cut: CutLine
    place: bool
    data: CutData | None


@dataclass(frozen=True)
class SetUp:
    """One clamping.

    Attributes:
        name: of it; '' where the route gives none.
        parts: that are run in it before it is broken.
        codes: of those parts.
        together: matched set; '' for none.
        as_one: they are clamped as one.
        ops: numbers and names of the ops that are done in it, as those of the first part.
        held: how it is held; '' where nothing is said.
        datum: surfaces on which it stands and is pushed against.
        zeros: from where sizes are counted.
        cuts: sizes to set, in the order of work.
        minutes: of setting up.
        notes: of the ops.
        hazards: names of what can hurt someone.
    """

    name: str
    parts: tuple[str, ...]
    codes: tuple[Code, ...]
    together: str
    as_one: bool
    ops: tuple[tuple[int, str], ...]
    held: str
    datum: tuple[str, ...]
    zeros: tuple[Zero, ...]
    cuts: tuple[SetUpCut, ...]
    minutes: float
    notes: tuple[str, ...]
    hazards: tuple[str, ...]


@dataclass(frozen=True)
class MachineSetUps:
    """All that is clamped on one machine.

    Attributes:
        build: name of the machine that is built; units: in which its builder reads.
        machine: of the shop; '' where the route names none.
        kind: of it; '' where it is not known.
        speeds: slowest and fastest of its spindle, 1/min; None where they are not stated.
        setups: in the order in which the parts need them.
    """

    build: str
    units: Units
    machine: str
    kind: str
    speeds: tuple[float, float] | None
    setups: tuple[SetUp, ...]


@dataclass(frozen=True)
class _Clamping:
    """Ops of one part that follow each other in one clamping, with their numbers in the route."""

    part: str
    places: tuple[int, ...]
    lines: tuple[OpLine, ...]

    @property
    def first(self) -> OpLine:
        return self.lines[0]

    @property
    def key(self) -> tuple[object, ...]:
        """Clampings with the same key are one setup: of a matched set, or of parts that are held and cut alike."""
        first, ops = self.first, tuple(line.op for line in self.lines)
        if first.together:
            return (first.machine, first.setup, first.together, ops)
        cuts = tuple(_size(line.op, cut) for line in self.lines for cut in line.cuts)
        held = tuple((line.number, line.datum, line.held, line.note) for line in self.lines)
        return (first.machine, first.setup, "", ops, cuts, held)


def _size(does: str, cut: CutLine) -> tuple[object, ...]:
    """A size to set, to a tenth of a µm."""
    rounded = [None if value is None else round(value, 4) for value in (cut.size, cut.half)]
    return (does, cut.surface, cut.measured_from, cut.tool, cut.thread, *rounded)


def setups(
    build: Build,
    names: Sequence[str] = (),
    *,
    booked: bool = False,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
) -> tuple[MachineSetUps, ...]:
    """What has to be set up on each machine; sawing is on the saw list, and heat and hand work need no setup.

    Args:
        build: the build, in the units in which its sheets are to be read.
        names: parts; none names all that have a route.
        booked: the build has a book, so that a code can open a part's page.
        progress: called with the parts done and how many there are.
        cancelled: asked now and then; True stops.

    Raises:
        RequestError: there is no such part.
        Cancelled: it was stopped.
    """
    asked = [name for name in chosen_parts(build, names) if build.parts[name].route]
    found: dict[tuple[object, ...], list[_Clamping]] = {}
    for number, name in enumerate(asked):
        if cancelled is not None and cancelled():
            raise Cancelled(f"stopped after {number} of {len(asked)} parts")
        for clamping in _clampings(name, route_sheet(build, name).ops):
            found.setdefault(clamping.key, []).append(clamping)
        if progress is not None:
            progress(number + 1, len(asked))
    codes = codes_of(build, booked=booked)
    machines: dict[str, list[SetUp]] = {}
    for clampings in found.values():
        machines.setdefault(clampings[0].first.machine, []).append(_setup(build, clampings, codes))
    order = [*build.shop.machines, *(name for name in machines if name not in build.shop.machines)]
    return tuple(_machine(build, name, machines[name]) for name in order if name in machines)


def _machine(build: Build, name: str, found: Sequence[SetUp]) -> MachineSetUps:
    machine = build.shop.machines.get(name)
    kind, speeds = ("", None) if machine is None else (machine.kind, machine.speeds)
    return MachineSetUps(build.name, build.units, name, kind, speeds, tuple(found))


def _clampings(part: str, ops: Sequence[OpLine]) -> Iterator[_Clamping]:
    places: list[int] = []
    for place, line in enumerate(ops):
        before = ops[places[-1]] if places else None
        same = (
            before is not None
            and places[-1] == place - 1
            and line.setup
            and (line.setup, line.machine) == (before.setup, before.machine)
        )
        if not same and places:
            yield _Clamping(part, tuple(places), tuple(ops[i] for i in places))
            places = []
        if line.cuts and line.op != "saw" and OPERATIONS[line.op].cuts:
            places.append(place)
    if places:
        yield _Clamping(part, tuple(places), tuple(ops[i] for i in places))


def _setup(build: Build, found: Sequence[_Clamping], codes: dict[str, Code]) -> SetUp:
    first = found[0]
    lines = [line for clamping in found for line in clamping.lines]
    parts = tuple(dict.fromkeys(clamping.part for clamping in found))
    cuts = tuple(cut for clamping in found for cut in _cuts(build, clamping))
    zeros = dict.fromkeys(
        Zero(cut.cut.direction, cut.cut.measured_from)
        for cut in cuts
        if cut.cut.direction and cut.cut.size is not None
    )
    return SetUp(
        name=first.first.setup,
        parts=parts,
        codes=tuple(codes[part] for part in parts),
        together=first.first.together,
        as_one=any(line.as_one for line in lines),
        ops=tuple((line.number, line.op) for line in first.lines),
        held=next((line.held for line in lines if line.held), ""),
        datum=tuple(dict.fromkeys(surface for line in lines for surface in line.datum)),
        zeros=tuple(zeros),
        cuts=_told_once(cuts, parts),
        minutes=max(sum(line.setting_up for line in clamping.lines) for clamping in found),
        notes=tuple(dict.fromkeys(line.note for line in lines if line.note)),
        hazards=tuple(dict.fromkeys(hazard for line in lines for hazard in line.cautions)),
    )


def _told_once(cuts: Sequence[SetUpCut], parts: Sequence[str]) -> tuple[SetUpCut, ...]:
    """Sizes that are the same on every part of a set stand there once, without a name."""
    if len(parts) < 2:
        return tuple(cuts)
    many: dict[tuple[object, ...], list[SetUpCut]] = {}
    for one in cuts:
        many.setdefault(_size(one.does, one.cut), []).append(one)
    out: list[SetUpCut] = []
    for group in many.values():
        if {one.part for one in group} == set(parts):
            first = group[0]
            out.append(SetUpCut("", first.op, first.does, first.cut, first.place, first.data))
        else:
            out += group
    return tuple(out)


def _cuts(build: Build, clamping: _Clamping) -> Iterator[SetUpCut]:
    surfaces = build.parts[clamping.part].surfaces
    for place, line in zip(clamping.places, clamping.lines):
        data = {cut.surface: cut for cut in cutting_for(build, clamping.part, place, line).cuts}
        for cut in line.cuts:
            axis = surfaces[cut.surface].round and not cut.diameter and cut.size is not None
            yield SetUpCut(clamping.part, number_of(place), line.op, cut, axis, data.get(cut.surface))
