"""The independent deviations of a build: the components of x."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from loopwright.model.build import Build
from loopwright.model.dims import Dim
from loopwright.model.spread import NONE, Spread
from loopwright.units import Dimension


class SourceKind(StrEnum):
    """What a deviation comes from."""

    GEOMETRY = "geometry"
    TOGETHER = "made together"
    GUIDES = "guides"
    DRIVES = "drives"
    LOAD = "load"
    HEAT = "heat"
    MAKING = "making"
    SETTING = "settings"


@dataclass(frozen=True, slots=True)
class Source:
    """One independent deviation.

    Attributes:
        name: for people, unique in a build.
        kind: what it comes from.
        dimension: what it is measured in.
        spread: what is known of it before any reading.
        field: path in the build file of what states it.
        part: the part it belongs to, or None.
        joint: the joint it acts in, or None where it acts in several.
        group: name shared by the sources that one statement of the file makes (the shapes of one profile).
        dim: 'part/dim' where the source is a dim or its own part, else None.
        setting: path of the adjuster that it is the setting of, as 'joint/contact', else None. Settings are known
            (zero until something is set), so they are not counted among the deviations.
    """

    name: str
    kind: SourceKind
    dimension: Dimension
    spread: Spread
    field: str
    part: str | None = None
    joint: str | None = None
    group: str | None = None
    dim: str | None = None
    setting: str | None = None


class SourceList:
    """The sources of a build as they are found."""

    def __init__(self) -> None:
        self._sources: list[Source] = []

    def add(self, source: Source) -> int:
        """Adds a source; returns its place in x."""
        self._sources.append(source)
        return len(self._sources) - 1

    def add_all(self, sources: Iterable[Source]) -> list[int]:
        """Adds several; returns their places."""
        return [self.add(source) for source in sources]

    def mean(self, place: int) -> float:
        """Expected value of one source."""
        return self._sources[place].spread.mean

    def means(self) -> NDArray[np.float64]:
        """Expected value of every source, shape (sources,)."""
        return np.array([source.spread.mean for source in self._sources])

    def done(self) -> tuple[Source, ...]:
        """All of them, in the order of x."""
        return tuple(self._sources)


@dataclass(frozen=True, slots=True)
class Share:
    """A deviation that several dims have in common, and by how much it moves one of them.

    Attributes:
        name: of the deviation, for people; the same name is the same deviation.
        std: its standard uncertainty, mm or rad.
        factor: by how much the dim moves for one of it.
        field: path in the build file of what states it.
    """

    name: str
    std: float
    factor: float
    field: str


@dataclass(frozen=True, slots=True)
class MadeDim:
    """What is known of a dim from the way it is made, instead of from its limits.

    Attributes:
        std: of what it has on its own, mm or rad.
        field: path in the build file of what states that.
        mean: expected deviation from the nominal, mm or rad.
        shares: what it has in common with other dims.
    """

    std: float
    field: str
    mean: float = 0.0
    shares: tuple[Share, ...] = ()


def add_dims(build: Build, sources: SourceList, made: Mapping[str, MadeDim]) -> dict[str, dict[int, float]]:
    """Adds a source for every dim, and one for all that dims have in common; returns what makes up each dim.

    Args:
        build: the build.
        sources: to which they are added.
        made: for 'part/dim' what is known of it from its route; the limits of others tell what is known of them.

    Returns:
        For 'part/dim' the sources and factors whose sum is its deviation: its own first, then those it shares.
    """
    shared = _shared_setups(build, sources, made)
    common: dict[str, int] = {}
    places: dict[str, dict[int, float]] = {}
    for part_name, part in build.parts.items():
        for dim_name, dim in part.every_dim().items():
            path = f"{part_name}/{dim_name}"
            if path in made:
                places[path] = _add_made(sources, common, made[path], path, part_name, dim)
                continue
            group = shared.get(path)
            spread, field = dim.spread or build.general_limits or NONE, _field_of(build, part_name, dim_name)
            if group is not None:
                spread, field = build.made_together[group[0]].own, f"made_together/{group[0]}/own"
            own = sources.add(
                Source(path, SourceKind.GEOMETRY, dim.dimension, spread, field, part=part_name, dim=path)
            )
            places[path] = {own: 1.0} if group is None else {own: 1.0, group[1]: 1.0}
    return places


def _field_of(build: Build, part: str, dim: str) -> str:
    return f"parts/{part}/{'dims' if dim in build.parts[part].dims else 'geometry'}/{dim}"


def _shared_setups(
    build: Build, sources: SourceList, made: Mapping[str, MadeDim]
) -> dict[str, tuple[str, int]]:
    """For every dim that is made together with others its group, and the place of what they share."""
    out: dict[str, tuple[str, int]] = {}
    for name, group in build.made_together.items():
        theirs = [path for path in group.dims if path not in made]
        if not theirs:
            continue
        field = f"made_together/{name}/shared"
        place = sources.add(
            Source(f"{name} (shared)", SourceKind.TOGETHER, Dimension.LENGTH, group.shared, field, group=name)
        )
        out |= dict.fromkeys(theirs, (name, place))
    return out


def _add_made(
    sources: SourceList, common: dict[str, int], made: MadeDim, path: str, part: str, dim: Dim
) -> dict[int, float]:
    own = Source(
        path,
        SourceKind.MAKING,
        dim.dimension,
        Spread(value=made.mean, std=made.std),
        made.field,
        part=part,
        dim=path,
    )
    places = {sources.add(own): 1.0}
    for share in made.shares:
        if share.name not in common:
            spread, kind = Spread(std=share.std), SourceKind.MAKING
            common[share.name] = sources.add(
                Source(share.name, kind, dim.dimension, spread, share.field, group=share.name)
            )
        place = common[share.name]
        places[place] = places.get(place, 0.0) + share.factor
    return places
