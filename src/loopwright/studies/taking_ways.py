"""Other ways of making taken into the description: an alternative in the place of the op that it replaces."""

from collections.abc import Sequence

from loopwright.book import difference
from loopwright.buildfile.editing import parsed, remove, value_at
from loopwright.buildfile.moving import insert_at
from loopwright.errors import RequestError
from loopwright.studies.bench import Bench
from loopwright.studies.checking import load_text
from loopwright.studies.statements import Proposal, described

ALTERNATIVES = "alternatives"
MEASURING = ("inspect", "gauge")


def with_ways(text: str, fields: Sequence[str]) -> str:
    r"""A build file with alternatives in the place of the ops that allow them.

    What stood there goes out, with its other alternatives: an alternative of several ops has no place to keep them.
    What was measured after it is measured after the last op of the alternative, where none of those says otherwise.

    Args:
        text: a build file.
        fields: paths of the alternatives, as in 'parts/column/route/4/alternatives/ground'.

    Raises:
        RequestError: there is no such alternative, or two of them are of one op.
        BuildError: the text is not YAML.

    >>> text = "parts: {a: {route: [{op: saw}, {op: face, alternatives: {ground: [{op: surface grind}]}}]}}"
    >>> with_ways(text, ["parts/a/route/1/alternatives/ground"])
    'parts: {a: {route: [{op: saw}, {op: surface grind}]}}'
    """
    data, wanted = parsed(text).data, dict[tuple[str, int], list[object]]()
    for field in fields:
        route, index, name = _place_of(field)
        ops = value_at(data, [*route.split("/"), str(index), ALTERNATIVES])
        if not isinstance(ops, dict) or not isinstance(ops.get(name), list):
            raise RequestError(
                f"there is no alternative '{field[:120]}'", "look for the cheapest change once more"
            )
        if (route, index) in wanted:
            raise RequestError(f"two alternatives of one op: {route}/{index}", "take one of them")
        wanted[route, index] = _measured(ops[name], value_at(data, [*route.split("/"), str(index)]))
    # from the last op on, so that the places of those before it stay
    for (route, index), ops in sorted(wanted.items(), key=lambda one: one[0], reverse=True):
        for step, op in enumerate(ops, 1):
            text = insert_at(text, route, op, index + step)
        text = remove(text, f"{route}/{index}")
    return text


def _measured(ops: Sequence[object], before: object) -> list[object]:
    """Ops of an alternative with what was measured after the op that they replace."""
    asked = {name: before[name] for name in MEASURING if isinstance(before, dict) and name in before}
    last = ops[-1] if ops else None
    if "inspect" not in asked or not isinstance(last, dict):
        return list(ops)
    if any(isinstance(op, dict) and "inspect" in op for op in ops):
        return list(ops)
    return [*ops[:-1], {**last, **{name: value for name, value in asked.items() if name not in last}}]


def _place_of(field: str) -> tuple[str, int, str]:
    """Path of the route, place of the op in it, and name of the alternative."""
    above, _, name = field.partition(f"/{ALTERNATIVES}/")
    route, _, index = above.rpartition("/")
    if not name or not index.isdecimal():
        raise RequestError(
            f"'{field[:120]}' is no alternative of an op", "look for the cheapest change once more"
        )
    return route, int(index), name


def ways_taken(bench: Bench, fields: Sequence[str]) -> Proposal:
    """The newest description with alternatives taken in, looked through as if it were to be saved.

    Args:
        bench: the build as it stands.
        fields: paths of the alternatives.

    Raises:
        RequestError: there is no such alternative any more.
        BuildError: the description has mistakes with them; all of them are in it.
    """
    number, revision = described(bench)
    text = with_ways(revision.text, fields)
    if text == revision.text:
        raise RequestError("nothing is changed", "choose at least one alternative")
    load_text(text, revision.file)
    return Proposal(dict.fromkeys(fields, ""), text, revision.file, number, difference(revision.text, text))
