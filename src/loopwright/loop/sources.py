"""The independent deviations of a build: the components of x."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from loopwright.model.build import Build
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


def add_dims(build: Build, sources: SourceList) -> dict[str, list[int]]:
    """Adds a source for every dim, and one for each shared setup; returns the places that make up each dim.

    Returns:
        For 'part/dim' the sources whose sum is its deviation: its own, and the shared one if it was made together.
    """
    together = {dim: name for name, group in build.made_together.items() for dim in group.dims}
    shared = {
        name: sources.add(
            Source(
                f"{name} (shared)",
                SourceKind.TOGETHER,
                Dimension.LENGTH,
                group.shared,
                f"made_together/{name}/shared",
                group=name,
            )
        )
        for name, group in build.made_together.items()
    }
    places: dict[str, list[int]] = {}
    for part_name, part in build.parts.items():
        for dim_name, dim in part.dims.items():
            path = f"{part_name}/{dim_name}"
            group_name = together.get(path)
            if group_name is None:
                spread, field = (
                    dim.spread or build.general_limits or NONE,
                    f"parts/{part_name}/dims/{dim_name}",
                )
            else:
                spread, field = build.made_together[group_name].own, f"made_together/{group_name}/own"
            own = sources.add(
                Source(path, SourceKind.GEOMETRY, dim.dimension, spread, field, part=part_name, dim=path)
            )
            places[path] = [own] if group_name is None else [own, shared[group_name]]
    return places
