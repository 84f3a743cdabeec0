"""What the heat treatment of an op does to the lengths of a part: hardening, and the temper that follows it."""

from dataclasses import dataclass

from loopwright.errors import LoopwrightError
from loopwright.handbook.bands import Spread
from loopwright.handbook.distortion import (
    hottest_known,
    nitriding_growth,
    size_change,
    size_change_between,
)
from loopwright.handbook.hardness import interpolated
from loopwright.handbook.heat_treatment import temper_for, treatment
from loopwright.making.chart import Heat
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.build import Build
from loopwright.model.parts import Part
from loopwright.model.routes import Hardness, Op

WIDE = (0.0, -0.001, 0.001)
"""Growth of a steel that the handbook does not have: an assumption, wide on purpose."""
KEPT = (0.0, -0.0001, 0.0001)
"""Growth of the core of a part that is nitrided below its temper: an assumption."""
_KEPT_SOURCE = "assumption: nitriding below the temper leaves the core to size within 0.01 %"
SCALES = {"HRC": "HRC", "HV": "HV", "HB": "HBW"}
"""Scales of a route that are converted to HRC, and their names in the conversion table."""


@dataclass(frozen=True)
class Growth:
    """By how much all lengths of a part are longer after an op that heats.

    Attributes:
        spread: as a fraction, with its source.
        std: standard deviation; None where it lies evenly between the ends.
        tempered: the temper that it counts, in words; '' for none.
        assumed: what was assumed for want of a statement, in words; '' for nothing.
        stated: the route states it.
    """

    spread: Spread
    std: float | None
    tempered: str = ""
    assumed: str = ""
    stated: bool = False


def heat_of(build: Build, part: Part, op: Op, number: int, name: str) -> Heat | None:
    """Growth of all lengths in an op; None where it does not heat, or only relieves and changes no size.

    Args:
        build: the build.
        part: the part.
        op: the op.
        number: of the op in its charts: ten times its place in the route, from one.
        name: of the part.
    """
    found = growth_of(build, part, number // 10 - 1)
    if found is None:
        return None
    shared = f"{op.together}: {op.op}" if op.together else f"{name}: {op.op}, op {number}"
    return Heat(number, found.spread.mean, found.spread.low, found.spread.high, found.std, shared)


def growth_of(build: Build, part: Part, index: int) -> Growth | None:
    """Growth of all lengths in an op of a route.

    What hardening leaves is the size after tempering: where nothing is cut between the two, it all counts with the
    hardening, for that is when the shop next sees the part. Where something is cut between them, the hardening counts
    as quenched and the temper the difference to it, and the spread of the difference is that of the tempered size.

    Args:
        build: the build.
        part: the part.
        index: of the op in its route, from nought.

    Returns:
        The growth; None where the op changes no size.
    """
    op = part.route[index]
    if op.grows is not None:
        std = standard_uncertainty(op.grows, build.assume)
        half = op.grows.half if op.grows.std is None else 3 * std
        mean = op.grows.mean
        return Growth(Spread(mean, mean - half, mean + half, "stated in the route"), std, stated=True)
    if op.op == "harden":
        tempers = tempers_after(part, index)
        if not tempers:
            return _looked_up(part, None, "", "as quenched: the route has no temper after it")
        cut_hard = any(between.cuts for between in part.route[index + 1 : tempers[0]])
        if cut_hard or any(part.route[one].grows is not None for one in tempers):
            return _looked_up(part, None, "", "")
        return _tempered(part, tempers)
    return _of_temper(part, index) if op.op == "temper" else None


def tempers_after(part: Part, index: int) -> list[int]:
    """Tempers that belong to a hardening: those after it, before the part is hardened again.

    Args:
        part: the part.
        index: of the hardening in its route, from nought.
    """
    found = []
    for number in range(index + 1, len(part.route)):
        if part.route[number].op == "harden":
            break
        if part.route[number].op == "temper":
            found.append(number)
    return found


def _of_temper(part: Part, index: int) -> Growth | None:
    """What a temper does by itself: the change from the quenched size, where that was cut or measured between."""
    first = next((n for n in reversed(range(index)) if part.route[n].op == "harden"), None)
    if first is None or part.route[first].grows is not None:
        return None
    tempers = tempers_after(part, first)
    cut_hard = any(between.cuts for between in part.route[first + 1 : tempers[0]])
    if index != tempers[0] or not cut_hard or any(part.route[one].grows is not None for one in tempers):
        return None
    after, before = _tempered(part, tempers), _looked_up(part, None, "", "")
    low, mean, high = (
        v - before.spread.mean for v in (after.spread.low, after.spread.mean, after.spread.high)
    )
    spread = Spread(mean, low, high, f"{after.spread.source}; less the size as quenched")
    return Growth(spread, after.std, after.tempered, after.assumed)


def _tempered(part: Part, tempers: list[int]) -> Growth:
    """Size after tempering; the hottest temper decides."""
    ops = " and ".join(str(10 * (one + 1)) for one in tempers)
    stated = [t for one in tempers if (t := part.route[one].temperature) is not None]
    if stated:
        return _looked_up(part, max(stated), f"tempered at {max(stated):.0f} °C in op {ops}", "")
    steel = part.material or ""
    aim = next((h for one in reversed(tempers) if (h := part.route[one].hardness) is not None), None)
    try:
        if aim is not None and (hrc := in_hrc(aim)) is not None:
            band = temper_for(steel, *hrc).degc
            asked = f"{aim.low:g} to {aim.high:g} {aim.scale}"
            spread = size_change_between(steel, band.low, band.high)
            return Growth(
                spread, spread.std, f"tempered in op {ops}",
                f"op {ops} states no temperature: taken as {band.low:.0f} to {band.high:.0f} °C, which lead to {asked}",
            )  # fmt: skip
    except LoopwrightError:
        pass
    try:
        spread = size_change_between(steel, 0.0, hottest_known(steel))
    except LoopwrightError as error:
        return _unknown(f"tempered in op {ops}", str(error))
    why = f"op {ops} states no temperature, and none follows from a hardness: any temper of the table is allowed for"
    return Growth(spread, spread.std, f"tempered in op {ops}", why)


def in_hrc(asked: Hardness) -> tuple[float, float] | None:
    """A range of hardness in HRC; None where the conversion table does not have it."""
    scale = SCALES.get(asked.scale)
    if scale is None:
        return None
    try:
        low, high = (interpolated(v, scale, "HRC") for v in (asked.low, asked.high))  # type: ignore[arg-type]
    except LoopwrightError:
        return None
    return low, high


def _looked_up(part: Part, temper: float | None, tempered: str, assumed: str) -> Growth:
    if _nitrides(part):
        low, high = (1000 * v for v in nitriding_growth()[:2])
        skin = f"the skin that nitriding adds, {low:.0f} to {high:.0f} µm a side, is not in it"
        said = f"{skin}: give the surface a cut that adds it"
        return Growth(Spread(*KEPT, _KEPT_SOURCE), None, tempered, said)
    try:
        found = size_change(part.material or "", temper)
    except LoopwrightError as error:
        return _unknown(tempered, str(error))
    return Growth(found, found.std, tempered, assumed)


def _nitrides(part: Part) -> bool:
    try:
        return treatment(part.material or "").quench == "none"
    except LoopwrightError:
        return False


def _unknown(tempered: str, why: str) -> Growth:
    source = "assumption: the handbook has no growth of this steel so treated; treat a trial piece"
    low, high = (100 * end for end in WIDE[1:])
    return Growth(
        Spread(*WIDE, source),
        None,
        tempered,
        f"{why}; {low:+.1f} to {high:+.1f} % is assumed, wide on purpose",
    )
