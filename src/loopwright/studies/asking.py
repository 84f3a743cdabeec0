"""What a person who reads a gauge is asked for: one value after the other, with the pose at which to read it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.loop.kinematics import poses_of
from loopwright.model.build import Units
from loopwright.model.indications import axis_dimension
from loopwright.studies.bench import Bench
from loopwright.units import Dimension


@dataclass(frozen=True)
class Asked:
    """The values that a reading consists of.

    Attributes:
        of: what is read.
        units: in which the user reads.
        dimension: of the values.
        unit: of values that are typed without one.
        gauge: that reads it; None where none is named.
        poses: axis positions of each value, mm or rad; empty where it has none.
        names: of each value, where it is not told by its pose: the dims of a comparison.
        repeats: how often each is read; None: until nothing more comes.
        note: of the test, such as how to set up.
    """

    of: str
    units: Units
    dimension: Dimension
    unit: str
    gauge: str | None
    poses: tuple[Mapping[str, float], ...]
    names: tuple[str, ...]
    repeats: int | None
    note: str | None = None


def asked(
    bench: Bench,
    of: str,
    *,
    against: str | None = None,
    item: str | None = None,
    poses: Mapping[str, Sequence[str]] | None = None,
    unit: str | None = None,
    gauge: str | None = None,
) -> Asked:
    """The values to ask for.

    Args:
        bench: the build as it stands.
        of: what is read.
        against: the other dim of a comparison.
        item: serial, of one of several items.
        unit: of values without one, where it is not the build's own.
        gauge: that reads it, where it is not the test's own.
        poses: axis positions as typed, where they are not the test's own.

    Raises:
        RequestError: there is no such dim, test or closure, or a position cannot be read.
    """
    build = bench.build
    test = build.tests.get(of) if against is None and item is None else None
    if test is not None:
        places = _typed_poses(bench, poses) if poses else _poses(bench, of)
        wanted = unit or build.units.shown(test.dimension)
        return Asked(
            of, build.units, test.dimension, wanted, gauge or test.gauge, places, (), test.repeats, test.note
        )
    dim = build.dim(of)
    if dim is None and item is None and of not in build.closures:
        raise no_such(bench, of)
    if against is not None and build.dim(against) is None:
        raise no_such(bench, against)
    dimension = dim.dimension if dim is not None else Dimension.LENGTH
    names = (of,) if against is None else (of, against)
    return Asked(
        of,
        build.units,
        dimension,
        unit or build.units.bare()[dimension],
        gauge,
        ({},) * len(names),
        names,
        None,
    )


def no_such(bench: Bench, of: str) -> RequestError:
    """The error for what the build does not have, with what may have been meant."""
    from difflib import get_close_matches

    build = bench.build
    known = [*build.tests, *build.closures, *bench.loop.dims]
    lower = {name.lower(): name for name in known}
    close = [lower[name] for name in get_close_matches(of.lower(), lower, n=3, cutoff=0.5)]
    meant = (
        "did you mean " + " or ".join(f"'{name}'" for name in close) + "?" if close else "name it as part/dim"
    )
    return RequestError(f"there is no dim, test or closure '{of}'", meant)


def _poses(bench: Bench, test: str) -> tuple[Mapping[str, float], ...]:
    found = poses_of(bench.build, bench.build.tests[test], test)
    count = max((len(values) for values in found.values()), default=1)
    return tuple({letter: float(values[i]) for letter, values in found.items()} for i in range(count))


def _typed_poses(bench: Bench, poses: Mapping[str, Sequence[str]]) -> tuple[Mapping[str, float], ...]:
    read = {}
    for letter, positions in poses.items():
        dimension = axis_dimension(letter)
        bare = "deg" if dimension is Dimension.ANGLE else bench.build.units.length
        try:
            read[letter] = [units.parse(text, dimension, bare=bare) for text in positions]
        except QuantityError as error:
            raise RequestError(f"position of {letter}: {error.what}", error.remedy) from None
    counts = {len(positions) for positions in read.values()}
    if len(counts) != 1:
        raise RequestError(
            "the axes have not the same number of positions", "give one of each for every value"
        )
    return tuple({letter: values[i] for letter, values in read.items()} for i in range(counts.pop()))


def look_at_value(asked: Asked, text: str) -> None:
    """Looks whether a value that was typed can be read, so that it is told while the gauge is still in the hand.

    Raises:
        RequestError: it cannot.
    """
    try:
        units.parse(text, asked.dimension, bare=asked.unit)
    except QuantityError as error:
        raise RequestError(error.what, error.remedy) from None
