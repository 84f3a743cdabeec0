"""What a machine was found to hold, taken over into the description as what the shop states."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from loopwright import units
from loopwright.buildfile.editing import insert, parsed, set_value, value_at
from loopwright.buildfile.yaml_layout import flow
from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.studies.shop_machines import MachineHolds, MachineLine
from loopwright.units import Dimension

TELLS = 0.05
"""Readings that take away less of the doubt than this share are not worth stating."""


@dataclass(frozen=True)
class Taken:
    """What was taken over.

    Attributes:
        text: of the build file then.
        holds: ops of machines that are stated anew.
    """

    text: str
    holds: tuple[MachineHolds, ...]


def found_entry(
    one: MachineHolds, shown: Units, *, last: int, day: str, stated: dict[str, Any] | None = None
) -> dict[str, Any]:
    """A capability as found, as it stands in a build file.

    Args:
        one: with readings that count.
        shown: units of the build.
        last: number of the last entry of the book that is in it.
        day: when it was found.
        stated: what the build file states so far; its angle, which no length tells of, stays.
    """
    assert one.found is not None
    assert one.factor_range is not None
    unit = shown.shown(Dimension.LENGTH)
    sizes = {
        name: _written(value, unit)
        for name, value in zip(("cut", "setting", "seating"), one.found)
        if value > 0
    }
    # the range is four standard uncertainties of the logarithm wide
    within = (one.factor_range[1] / one.factor_range[0]) ** 0.25
    kept = {name: value for name, value in (stated or {}).items() if name == "angular" or value == 0}
    dims = "1 dim" if one.read == 1 else f"{one.read} dims"
    return {
        **sizes,
        **kept,
        **({"of_diameter": True} if one.of_diameter else {}),
        "known_within": max(float(f"{within:.3g}"), 1.01),
        "readings_to": last,
        "note": f"found from {dims} of its own parts, {day}",
    }


def _written(value: float, unit: str) -> str:
    """A standard deviation to two digits, which is more than is known of it."""
    shown = float(units.convert(value, Dimension.LENGTH, unit))
    return f"{float(f'{shown:.2g}'):.12g} {unit}"


def take_found(
    text: str,
    lines: Sequence[MachineLine],
    machine: str,
    op: str | None = None,
    *,
    shown: Units,
    last: int,
    day: str,
    file: str | None = None,
) -> Taken:
    """The description with what a machine was found to hold as what the shop states of it.

    The readings that were counted go into it and count no second time; later ones sharpen it further.

    Args:
        text: of the build file.
        lines: the machines, with what the readings say.
        machine: name of one of them.
        op: of which; None takes all of which the readings tell enough.
        shown: units of the build.
        last: number of the last entry of the book that was counted.
        day: when.
        file: its name, for messages.

    Raises:
        RequestError: there is no such machine or op, or no reading tells of it.
    """
    chosen = _chosen(lines, machine, op)
    for one in chosen:
        stated = value_at(parsed(text, file).data, one.field.split("/"))
        entry = found_entry(one, shown, last=last, day=day, stated=stated)
        if stated is None:
            text = insert(text, one.field, entry, file)
        else:
            text = set_value(text, one.field, flow(entry), file, apart=True)
    return Taken(text, chosen)


def _meant(
    lines: Sequence[MachineLine], machine: str, op: str | None
) -> tuple[MachineLine, list[MachineHolds]]:
    """The machine of a name, and its ops that are meant."""
    line = next((one for one in lines if one.name == machine), None)
    if line is None:
        known = ", ".join(one.name for one in lines) or "none; describe them under shop/machines"
        raise RequestError(f"there is no machine '{machine}'", f"there are: {known}")
    of_it = [one for one in line.holds if op in (None, one.op)]
    if op is not None and not of_it:
        ops = ", ".join(one.op for one in line.holds)
        raise RequestError(
            f"nothing is made by '{op}' on '{machine}'",
            f"its ops are: {ops}" if ops else "name a machine that cuts",
        )
    return line, of_it


def _chosen(lines: Sequence[MachineLine], machine: str, op: str | None) -> tuple[MachineHolds, ...]:
    _, of_it = _meant(lines, machine, op)
    if not of_it:
        raise RequestError(f"nothing is cut on '{machine}'", "name a machine that cuts")
    telling = tuple(one for one in of_it if one.factor is not None and one.informed >= TELLS)
    if not telling:
        raise RequestError(*_too_little(of_it, machine))
    return telling


def _too_little(of_it: Sequence[MachineHolds], machine: str) -> tuple[str, str]:
    """What is wrong, and what would do, where no reading tells enough."""
    most = max(of_it, key=lambda one: one.informed)
    if any(one.counted for one in of_it) and not most.read:
        return (
            f"all readings of parts made on '{machine}' are in what is stated already",
            "read more of its parts: loopwright record PART/DIM VALUE",
        )
    if not most.read:
        return (
            f"no dim of a part made on '{machine}' was read",
            "read some, in the state in which they came off it: loopwright record PART/DIM VALUE",
        )
    return (
        f"the readings tell too little of '{machine}': they take away {100 * most.informed:.0f} % of the doubt",
        f"read more dims made in different settings; {100 * TELLS:.0f} % at least are worth stating",
    )


def stated_line(one: MachineHolds, shown: Units) -> dict[str, Any]:
    """What was found as one would write it in a build file by hand.

    Args:
        one: with readings that count.
        shown: units of the build.
    """
    entry = found_entry(one, shown, last=1, day="")
    angle = _angle(one.taken[3], shown)
    return {**{name: value for name, value in entry.items() if name not in ("readings_to", "note")}, **angle}


def _angle(value: float, shown: Units) -> dict[str, str]:
    unit = shown.shown(Dimension.ANGLE)
    return (
        {"angular": f"{float(f'{units.convert(value, Dimension.ANGLE, unit):.3g}'):.12g} {unit}"}
        if value
        else {}
    )


def named(lines: Sequence[MachineLine], machine: str = "", op: str = "") -> tuple[MachineLine, ...]:
    """The machines that are meant; all of them where none is named.

    Args:
        lines: all machines.
        machine: name of one; '' for all.
        op: name of one of its ops; '' for all.

    Raises:
        RequestError: there is no such machine, or nothing is made so on it.
    """
    if not machine:
        return tuple(lines)
    line, of_it = _meant(lines, machine, op or None)
    return (replace(line, holds=tuple(of_it)),)
