"""What the routes of a build say of its dims, for the loop; nothing is loaded where no part has one."""

from collections.abc import Iterable, Mapping

from loopwright.errors import Problem
from loopwright.loop.sources import MadeDim
from loopwright.model.build import Build


def dims_as_made(build: Build, problems: Iterable[Problem] = ()) -> Mapping[str, MadeDim]:
    """For 'part/dim' what is known of it from its route.

    Args:
        build: the build.
        problems: what is wrong with it; a part with a mistake keeps its limits.

    >>> from loopwright.studies import example_loop
    >>> dims_as_made(example_loop("guitar-gantry").build)
    {}
    """
    routed = {name for name, part in build.parts.items() if part.route}
    fields = [problem.field.split("/") for problem in problems]
    routed -= {field[1] for field in fields if field[0] == "parts" and len(field) > 1}
    if not routed or ["shop"] in [field[:1] for field in fields]:
        return {}
    from loopwright.making.made_dims import made

    return made(build, parts=[name for name in build.parts if name in routed]).dims
