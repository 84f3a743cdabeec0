"""Every part with where it stands: read or not, within its limits or not, conceded, and what it carries at the tool."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from loopwright.asbuilt.conformity import Conformity, Verdict
from loopwright.model.build import Units
from loopwright.model.records import Reading
from loopwright.studies.bench import Bench
from loopwright.studies.carried import shares
from loopwright.studies.verdicts import DimVerdict, Parts, verdicts

NOT_READ, PARTLY, CONFORMING = "not read", "partly read", "conforming"
NOT_CONFORMING, UNDECIDED, CONCEDED, NO_DIMS = "not conforming", "undecided", "conceded", "no dims"
STATES = (NOT_CONFORMING, UNDECIDED, CONCEDED, NOT_READ, PARTLY, CONFORMING, NO_DIMS)
"""Where a part or a dim may stand, what asks for a decision first."""

SORTS = ("name", "state", "share", "probability")


@dataclass(frozen=True)
class PartLine:
    """One part in the list.

    Attributes:
        name: of the part.
        material: of it.
        bought: rather than made.
        dims: how many it has; read: how many of them were read.
        state: one of ``STATES``.
        probability: that the dim that is worst off lies within its limits; None where none can be judged.
        worst: that dim.
        share: largest share of a target's variance that one of its dims carries now.
        last: entry of its newest reading that counts; 0 where there is none.
    """

    name: str
    material: str
    bought: bool
    dims: int
    read: int
    state: str
    probability: float | None
    worst: str
    share: float
    last: int


@dataclass(frozen=True)
class PartsList:
    """Every part.

    Attributes:
        build: its name; units: in which the user reads.
        state: number of the state of the machine.
        lines: one for each part, in the order of the description.
    """

    build: str
    units: Units
    state: int
    lines: tuple[PartLine, ...]


def parts_list(bench: Bench, read: Parts | None = None) -> PartsList:
    """Every part of a build as it stands.

    Args:
        bench: the build as it stands.
        read: the verdict on every dim that was read; None works it out.
    """
    judged: dict[str, list[DimVerdict]] = {}
    for one in (read or verdicts(bench)).dims:
        judged.setdefault(one.dim.partition("/")[0], []).append(one)
    carried: dict[str, float] = {}
    for dim, share in shares(bench).items():
        of = dim.partition("/")[0]
        carried[of] = max(carried.get(of, 0.0), share)
    last = {
        r.of.partition("/")[0]: e.number
        for e, r in bench.having(Reading)
        if r.subject == "dim" and not r.item
    }
    lines = []
    for name, part in bench.build.parts.items():
        found = judged.get(name, [])
        states = [dim_state(one.conformity, one.concession) for one in found]
        states += [NOT_READ] * (len(part.dims) - len(found))
        worst = min(
            (one for one in found if one.conformity is not None),
            key=lambda one: one.conformity.probability if one.conformity else 1.0,
            default=None,
        )
        lines.append(
            PartLine(
                name,
                part.material or "",
                bool(part.bought),
                len(part.dims),
                len(found),
                part_state(states),
                None if worst is None or worst.conformity is None else worst.conformity.probability,
                "" if worst is None else worst.dim,
                carried.get(name, 0.0),
                last.get(name, 0),
            )
        )
    return PartsList(bench.build.name, bench.build.units, bench.state, tuple(lines))


def dim_state(conformity: Conformity | None, concession: str) -> str:
    """One word for a dim that was read.

    >>> dim_state(None, "")
    'conforming'
    """
    if conformity is None or conformity.verdict is Verdict.CONFORMING:
        return CONFORMING
    if concession and concession not in ("remake", "refuse"):
        return CONCEDED
    return NOT_CONFORMING if conformity.verdict is Verdict.NOT_CONFORMING else UNDECIDED


def part_state(dims: Iterable[str]) -> str:
    """One word for a part from those of its dims.

    >>> part_state(["conforming", "not read"]), part_state(["conforming", "undecided"]), part_state([])
    ('partly read', 'undecided', 'no dims')
    """
    found = set(dims)
    for state in (NOT_CONFORMING, UNDECIDED, CONCEDED):
        if state in found:
            return state
    if found == {NOT_READ}:
        return NOT_READ
    return NO_DIMS if not found else PARTLY if NOT_READ in found else CONFORMING


def chosen(
    lines: Sequence[PartLine],
    *,
    state: str = "",
    bought: bool | None = None,
    words: str = "",
    sort: str = "name",
) -> list[PartLine]:
    """Parts that are asked for, in the order that is asked for.

    Args:
        lines: all of them.
        state: only those that stand so; '' takes all.
        bought: only bought ones, or only made ones; None takes both.
        words: all of which stand in the name or the material.
        sort: one of ``SORTS``; anything else leaves the order of the description.
    """
    wanted = words.casefold().split()
    out = [
        one
        for one in lines
        if (not state or one.state == state)
        and (bought is None or one.bought == bought)
        and all(word in f"{one.name} {one.material}".casefold() for word in wanted)
    ]
    if sort == "name":
        out.sort(key=lambda one: one.name.casefold())
    elif sort == "state":
        out.sort(key=lambda one: STATES.index(one.state))
    elif sort == "share":
        out.sort(key=lambda one: -one.share)
    elif sort == "probability":
        out.sort(key=lambda one: 2.0 if one.probability is None else one.probability)
    return out
