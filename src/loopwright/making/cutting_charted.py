"""What each cut of a part takes off, as its tolerance charts have it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright.making.chart_checks import problems
from loopwright.making.chart_solving import chart
from loopwright.making.planned import ROUND, plans_of
from loopwright.model.build import Build
from loopwright.model.routes import Op


@dataclass(frozen=True, slots=True)
class Removal:
    """Stock that a cut finds, on a face or on the diameter, mm.

    Attributes:
        least: in worst case.
        mean: expected.
        most: in worst case.
    """

    least: float
    mean: float
    most: float


def removals(build: Build, name: str, route: Sequence[Op]) -> Mapping[str, Removal]:
    """Stock of every cut that follows another on its surface, by the field path of the cut.

    Args:
        build: the build.
        name: of the part.
        route: its ops, which may differ from those of the part in an alternative that is tried.

    Returns:
        The stocks; a direction whose chart has a mistake has none.
    """
    part = build.parts[name]
    if list(route) != part.route:
        other = part.model_copy(update={"route": list(route)})
        build = build.model_copy(update={"parts": {**build.parts, name: other}})
    planned, found = plans_of(build, name), {}
    for direction, one in planned.charts.items():
        if planned.wrong.get(direction) or problems(one.plan):
            continue
        times = 2.0 if direction == ROUND else 1.0
        for stock in chart(one.plan).stock:
            ends = (times * v for v in (stock.low, stock.mean, stock.high))
            found[one.cuts[stock.index]] = Removal(*ends)
    return found


class LastAsked:
    """Removals of the part that was asked for last: an op after the other is asked of one part."""

    def __init__(self) -> None:
        self._kept: tuple[Build, str, list[Op], Mapping[str, Removal]] | None = None

    def of(self, build: Build, name: str, route: Sequence[Op]) -> Mapping[str, Removal]:
        """As :func:`removals`."""
        kept = self._kept
        if kept is not None and kept[0] is build and kept[1] == name and kept[2] == list(route):
            return kept[3]
        found = removals(build, name, route)
        self._kept = (build, name, list(route), found)
        return found
