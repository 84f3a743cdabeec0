"""The shop's machines: what is taken for each, and what its own parts say it holds."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.loop.sources import MadeDim
from loopwright.making.capabilities import Holds, holds
from loopwright.making.found_capability import found_capability
from loopwright.making.made_dims import made
from loopwright.model.build import Build
from loopwright.model.records import Reading
from loopwright.model.shop import Capability
from loopwright.studies.bench import Bench
from loopwright.studies.verdicts import verdicts

Array = NDArray[np.float64]

DOUBT_ASSUMED, DOUBT_STATED = np.log(2.0), np.log(1.3)
"""How well a standard deviation is taken to be known before any reading: within a factor of two where the handbook is
taken, of 1.3 where the shop states it; ours."""

LEAST_DOUBT = 0.02
"""No standard deviation is taken to be known better than to 2 %."""


@dataclass(frozen=True)
class MachineHolds:
    """What one machine holds in one op.

    Attributes:
        machine: its name.
        op: name of the op.
        taken: standard deviations that are reckoned with: of a cut, a setting, a seating, mm; of the angle, rad.
        source: who says so.
        assumed: at least one is the handbook's.
        field: where the build file states it, or would.
        parts: so many parts are made so.
        read: so many of their dims were read.
        factor: by which the readings say the standard deviations are to be multiplied; None where none was read.
        factor_range: 95 % range of that.
        informed: share of the doubt that the readings took away.
        differs: the range does not hold 1, so the machine scatters otherwise than is taken for it.
        known_within: factor within which what is taken is held to be known, one standard uncertainty, before any
            reading that counts here.
        counted: so many of its dims were read, and are in what is taken already; they count no second time.
        of_diameter: on round surfaces what is taken is of the diameter; else of the radius.
    """

    machine: str
    op: str
    taken: tuple[float, float, float, float]
    source: str
    assumed: bool
    field: str
    parts: int
    read: int
    factor: float | None
    factor_range: tuple[float, float] | None
    informed: float
    differs: bool
    known_within: float = 2.0
    counted: int = 0
    of_diameter: bool = False

    @property
    def found(self) -> tuple[float, float, float] | None:
        """Standard deviations of cut, setting and seating as found, mm; None where nothing was read."""
        if self.factor is None:
            return None
        cut, setting, seating, _ = self.taken
        return self.factor * cut, self.factor * setting, self.factor * seating


@dataclass(frozen=True)
class MachineLine:
    """A machine of the shop.

    Attributes:
        name: its name.
        kind: what kind it is.
        envelope: largest piece, mm; None where not stated.
        speeds: slowest and fastest, rev/min; None where not stated.
        power: W; None where not stated.
        rate: what an hour costs; None.
        holds: what it holds, by op.
    """

    name: str
    kind: str
    envelope: tuple[float, float, float] | None
    speeds: tuple[float, float] | None
    power: float | None
    rate: float | None
    holds: tuple[MachineHolds, ...]


def shop_machines(build: Build, bench: Bench | None = None) -> tuple[MachineLine, ...]:
    """The machines of a build's shop.

    Args:
        build: the build.
        bench: with the readings of its parts; None where there is no book.
    """
    uses = _uses(build)
    dims = made(build).dims
    known = [] if bench is None else list(_readings(bench, dims))
    found = _found(build, dims, uses, known)
    return tuple(
        MachineLine(
            name, one.kind, one.envelope, one.speeds, one.power, one.rate,
            tuple(found[key] for key in found if key[0] == name),
        )
        for name, one in build.shop.machines.items()
    )  # fmt: skip


def _uses(build: Build) -> dict[tuple[str, str], tuple[Holds, set[str]]]:
    """For each machine and op what it holds, and the parts that are made so."""
    out: dict[tuple[str, str], tuple[Holds, set[str]]] = {}
    for name, part in build.parts.items():
        for op in part.route:
            known = holds(build.shop, op)
            if known is not None and op.machine is not None and op.cuts:
                out.setdefault((op.machine, op.op), (known, set()))[1].add(name)
    return out


def _line(
    key: tuple[str, str], one: Holds, *, members: int, seen: int, counted: int, factor: float | None = None,
    factor_range: tuple[float, float] | None = None, informed: float = 0.0,
) -> MachineHolds:  # fmt: skip
    return MachineHolds(
        machine=key[0],
        op=key[1],
        taken=(one.cut, one.setting, one.seating, one.angular),
        source=one.source,
        assumed=one.assumed,
        field=one.field,
        parts=members,
        read=seen,
        factor=factor,
        factor_range=factor_range,
        informed=informed,
        differs=factor_range is not None and not factor_range[0] <= 1 <= factor_range[1],
        known_within=float(np.exp(_doubt(one))),
        counted=counted,
        of_diameter=one.of_diameter,
    )


def _doubt(one: Holds) -> float:
    """How well it is known before any reading: standard uncertainty of the logarithm."""
    if one.known_within is not None:
        return max(float(np.log(one.known_within)), LEAST_DOUBT)
    return float(DOUBT_ASSUMED if one.assumed else DOUBT_STATED)


def _readings(bench: Bench, dims: Mapping[str, MadeDim]) -> Iterator[tuple[str, float, float, int]]:
    """For each dim that was read of a part as made: path, found less expected, variance, mm², and last entry."""
    entries = {
        reading.of: entry.number for entry, reading in bench.having(Reading) if reading.subject == "dim"
    }
    nominals = {path: bench.build.dim(path) for path in dims}
    read = {path for path, some in bench.readings_of_dims.items() if _as_made(bench, some)}
    for one in verdicts(bench).dims:
        dim = nominals.get(one.dim)
        if dim is not None and one.dim in read and dim.quantity == "length":
            yield one.dim, one.value - dim.nominal - dims[one.dim].mean, one.std**2, entries[one.dim]


def _as_made(bench: Bench, readings: Sequence[Reading]) -> bool:
    """It was read before anything was done to the machine that may have changed it."""
    first = bench.states()[0][0] if bench.states() else bench.state
    return any(reading.state in (None, first) for reading in readings)


def _found(
    build: Build,
    dims: Mapping[str, MadeDim],
    uses: Mapping[tuple[str, str], tuple[Holds, set[str]]],
    known: Sequence[tuple[str, float, float, int]],
) -> dict[tuple[str, str], MachineHolds]:
    paths = [path for path, *_ in known]
    base = _covariance(dims, paths)
    parts = [
        _covariance(made(_louder(build, *key, one)).dims, paths) - base if paths else base
        for key, (one, _) in uses.items()
    ]
    # what a reading told once is in what is stated; it goes on counting there, at a factor of one
    last = np.array([entry for *_, entry in known])
    fresh = [last > one.readings_to for one, _ in uses.values()]
    whole, parts = parts, [part * np.outer(new, new) for part, new in zip(parts, fresh)]
    noise = np.diag([variance for _, _, variance, _ in known])
    rest = base - sum(parts, np.zeros_like(base)) + noise
    values, vectors = np.linalg.eigh((rest + rest.T) / 2)
    rest = (vectors * np.maximum(values, 1e-12)) @ vectors.T
    doubt = np.array([_doubt(one) for one, _ in uses.values()])
    answer = found_capability(np.array([off for _, off, *_ in known]), parts, rest, doubt)
    low, high = answer.range()
    out = {}
    for i, (key, (one, members)) in enumerate(uses.items()):
        seen, every = (int((np.diag(part) > 1e-14).sum()) if paths else 0 for part in (parts[i], whole[i]))
        out[key] = _line(
            key, one, members=len(members), seen=seen, counted=every - seen,
            factor=float(answer.factor[i]) if seen else None,
            factor_range=(float(low[i]), float(high[i])) if seen else None,
            informed=float(answer.informed[i]) if seen else 0.0,
        )  # fmt: skip
    return out


def _louder(build: Build, machine: str, op: str, one: Holds) -> Build:
    """The build with a machine that has twice the variance in one op."""
    root = float(np.sqrt(2.0))
    shop = build.shop
    stated = Capability(
        cut=root * one.cut,
        setting=root * one.setting,
        seating=root * one.seating,
        of_diameter=one.of_diameter,
    )
    changed = shop.machines[machine].model_copy(
        update={"holds": {**shop.machines[machine].holds, op: stated}}
    )
    machines = {**shop.machines, machine: changed}
    return build.model_copy(update={"shop": shop.model_copy(update={"machines": machines})})


def _covariance(dims: Mapping[str, MadeDim], paths: Sequence[str]) -> Array:
    """Of what is known of some dims before any reading, mm², (paths, paths)."""
    out = np.diag([dims[path].std ** 2 for path in paths]) if paths else np.zeros((0, 0))
    names: dict[str, list[tuple[int, float]]] = {}
    for row, path in enumerate(paths):
        for share in dims[path].shares:
            names.setdefault(share.name, []).append((row, share.factor * share.std))
    for some in names.values():
        rows, sizes = np.array([row for row, _ in some]), np.array([size for _, size in some])
        out[np.ix_(rows, rows)] += np.outer(sizes, sizes)
    return np.asarray(out)
