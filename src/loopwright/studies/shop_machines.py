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
            if known is not None and op.machine is not None and (op.cuts or known.cut):
                out.setdefault((op.machine, op.op), (known, set()))[1].add(name)
    return out


def _readings(bench: Bench, dims: Mapping[str, MadeDim]) -> Iterator[tuple[str, float, float]]:
    """For each dim that was read of a part as made: path, found less expected, and variance of the reading, mm²."""
    nominals = {path: bench.build.dim(path) for path in dims}
    read = {path for path, some in bench.readings_of_dims.items() if _as_made(bench, some)}
    for one in verdicts(bench).dims:
        dim = nominals.get(one.dim)
        if dim is not None and one.dim in read and dim.quantity == "length":
            yield one.dim, one.value - dim.nominal - dims[one.dim].mean, one.std**2


def _as_made(bench: Bench, readings: Sequence[Reading]) -> bool:
    """It was read before anything was done to the machine that may have changed it."""
    first = bench.states()[0][0] if bench.states() else bench.state
    return any(reading.state in (None, first) for reading in readings)


def _found(
    build: Build,
    dims: Mapping[str, MadeDim],
    uses: Mapping[tuple[str, str], tuple[Holds, set[str]]],
    known: Sequence[tuple[str, float, float]],
) -> dict[tuple[str, str], MachineHolds]:
    paths = [path for path, _, _ in known]
    base = _covariance(dims, paths)
    parts = [
        _covariance(made(_louder(build, *key, one)).dims, paths) - base for key, (one, _) in uses.items()
    ]
    noise = np.diag([variance for _, _, variance in known])
    rest = base - sum(parts, np.zeros_like(base)) + noise
    values, vectors = np.linalg.eigh((rest + rest.T) / 2)
    rest = (vectors * np.maximum(values, 1e-12)) @ vectors.T
    doubt = np.array([DOUBT_ASSUMED if one.assumed else DOUBT_STATED for one, _ in uses.values()])
    answer = found_capability(np.array([off for _, off, _ in known]), parts, rest, doubt)
    low, high = answer.range()
    out = {}
    for i, (key, (one, members)) in enumerate(uses.items()):
        seen = int((np.diag(parts[i]) > 1e-14).sum()) if paths else 0
        out[key] = MachineHolds(
            machine=key[0],
            op=key[1],
            taken=(one.cut, one.setting, one.seating, one.angular),
            source=one.source,
            assumed=one.assumed,
            field=one.field,
            parts=len(members),
            read=seen,
            factor=float(answer.factor[i]) if seen else None,
            factor_range=(float(low[i]), float(high[i])) if seen else None,
            informed=float(answer.informed[i]) if seen else 0.0,
            differs=bool(seen and not low[i] <= 1 <= high[i]),
        )
    return out


def _louder(build: Build, machine: str, op: str, one: Holds) -> Build:
    """The build with a machine that has twice the variance in one op."""
    root = float(np.sqrt(2.0))
    shop = build.shop
    stated = Capability(cut=root * one.cut, setting=root * one.setting, seating=root * one.seating)
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
