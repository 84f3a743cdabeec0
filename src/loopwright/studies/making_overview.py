"""How far the making of a build is described and done: counts for the head of the shop's pages."""

from dataclasses import dataclass

from loopwright.studies.bench import Bench
from loopwright.studies.shop_lists import made_parts


@dataclass(frozen=True)
class MakingOverview:
    """Counts.

    Attributes:
        made: parts that are made and not bought.
        finished: those whose every dim was read and that are good, or taken as they are.
        routed: parts that are made and have a route.
        unrouted: names of those that have none.
        blanks: open parts that say what they are cut from.
        blankless: names of open parts that are made and do not say so.
        ops: ops in all routes.
        machines, tools: of the shop.
        bars: bars and sheets that lie in the shop.
        proven: cutting data that the shop has proven.
        alternatives: other ways of making that the routes allow.
        choosing: parts that have some.
    """

    made: int
    finished: int
    routed: int
    unrouted: tuple[str, ...]
    blanks: int
    blankless: tuple[str, ...]
    ops: int
    machines: int
    tools: int
    bars: int
    proven: int
    alternatives: int
    choosing: int

    @property
    def open(self) -> int:
        """Made parts that are not finished."""
        return self.made - self.finished


def making_overview(bench: Bench) -> MakingOverview:
    """How far the making of a build is.

    Args:
        bench: the build as it stands.
    """
    build = bench.build
    made = {name: part for name, part in build.parts.items() if not part.bought}
    finished = made_parts(bench) & made.keys()
    open_ = {name: part for name, part in made.items() if name not in finished}
    ops = [(name, op) for name, part in made.items() for op in part.route]
    shop = build.shop
    return MakingOverview(
        made=len(made),
        finished=len(finished),
        routed=sum(bool(part.route) for part in made.values()),
        unrouted=tuple(name for name, part in made.items() if not part.route),
        blanks=sum(part.blank is not None for part in open_.values()),
        blankless=tuple(name for name, part in open_.items() if part.blank is None),
        ops=len(ops),
        machines=len(shop.machines),
        tools=len(shop.tools),
        bars=sum(0 if bar.buy else bar.pieces for bar in shop.bars.values()),
        proven=len(shop.proven),
        alternatives=sum(len(op.alternatives) for _, op in ops),
        choosing=len({name for name, op in ops if op.alternatives}),
    )
