"""Every dim that was read, against its limits."""

from dataclasses import dataclass

from loopwright.asbuilt.conformity import Conformity, Verdict, decide
from loopwright.model.build import Units
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.recording import limits_of
from loopwright.units import Dimension

ORDER = (Verdict.NOT_CONFORMING, Verdict.UNDECIDED, Verdict.CONFORMING)


@dataclass(frozen=True)
class DimVerdict:
    """One dim and what can be said of it.

    Attributes:
        dim: 'part/dim'.
        dimension: of its numbers.
        value, std: by its readings alone, and the standard uncertainty of that; mm or rad.
        readings: how many there are of the part as it is.
        conformity: verdict with its probability; None where the dim has no limits.
        concession: what was decided of it; '' where nothing was.
    """

    dim: str
    dimension: Dimension
    value: float
    std: float
    readings: int
    conformity: Conformity | None
    concession: str


@dataclass(frozen=True)
class Parts:
    """Every dim that was read.

    Attributes:
        build: its name; units: in which the user reads.
        state: of the machine.
        dims: those out of tolerance first, then those that are undecided, then by the file.
        unread: how many dims were not read.
    """

    build: str
    units: Units
    state: int
    dims: tuple[DimVerdict, ...]
    unread: int


def verdicts(bench: Bench, *, part: str | None = None) -> Parts:
    """Every dim that was read, against its limits.

    Args:
        bench: the build as it stands.
        part: only its dims; None takes all.
    """
    decided = {dim: concession.decision for concession in bench.concessions() for dim in concession.dims}
    read = {r.of for _, r in bench.having(Reading) if r.subject == "dim" and r.item is None}
    asked = [path for path in bench.loop.dims if part is None or path.partition("/")[0] == part]
    out = []
    for path in asked:
        found = dim_from_readings(bench, path) if path in read else None
        dim = bench.build.dim(path)
        if found is None or dim is None:
            continue
        value, std, count = found
        limits = limits_of(bench, path)
        conformity = None if limits is None else decide(value, std, lower=limits[0], upper=limits[1])
        out.append(DimVerdict(path, dim.dimension, value, std, count, conformity, decided.get(path, "")))
    out.sort(key=lambda one: ORDER.index(one.conformity.verdict) if one.conformity else len(ORDER))
    return Parts(bench.build.name, bench.build.units, bench.state, tuple(out), len(asked) - len(out))
