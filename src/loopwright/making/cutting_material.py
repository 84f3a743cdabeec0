"""The material of a part as an op finds it: which group it is cut as, and how hard it has become on the way."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, cast

from loopwright.errors import LoopwrightError
from loopwright.handbook.cutting_speeds import MaterialGroup, group_for
from loopwright.handbook.hardness import Scale, interpolated
from loopwright.handbook.heat_treatment import tempered_hardness, treatment
from loopwright.model.parts import Part
from loopwright.model.routes import Hardness, Op

HARD_FROM = 45.0
"""From here on a steel counts as hardened for grinding, HRC."""
_SCALES: dict[str, Scale] = {"HRC": "HRC", "HV": "HV", "HB": "HBW"}
Scales = Literal["HRC", "HV", "HB"]
_STATED = re.compile(r"(\d+(?:\.\d+)?)\s*(?:…|\.{2,3}|-|–|to)\s*(\d+(?:\.\d+)?)\s*(HRC|HV|HB)\b")


@dataclass(frozen=True)
class AsCut:
    """A material as it is cut.

    Attributes:
        material: its name; '' where the part states none.
        condition: in which it was bought; '' where that is not stated.
        group: of materials that are cut alike; None where the handbook has none.
        hardness: (least, greatest), HRC; None for soft, or where nobody knows.
        hardened: it went through hardening.
        words: how hard, and how that is known.
        refusal: why there is no group, and what would do; '' where there is one.
    """

    material: str
    condition: str
    group: MaterialGroup | None
    hardness: tuple[float, float] | None
    hardened: bool
    words: str
    refusal: str

    @property
    def hard(self) -> bool:
        """It is as hard as only grinding, carbide and CBN cut it."""
        return self.hardened and (self.hardness is None or sum(self.hardness) / 2 >= HARD_FROM)


def material_at(part: Part, route: Sequence[Op], index: int) -> AsCut:
    """The material of a part as the op at ``index`` of a route finds it.

    Args:
        part: the part.
        route: its ops; those before ``index`` have been done.
        index: of the op, from nought.
    """
    hardness, words = _stated(part.condition)
    hardened = hardness is not None and hardness[1] > 20
    for op in route[:index]:
        if op.op == "harden":
            hardened = True
            hardness, words = _after_hardening(part.material or "", op)
        elif op.op == "temper" and hardened:
            hardness, words = _after_temper(part.material or "", op, hardness, words)
    group, refusal = _group(part.material, hardened, hardness)
    bought = part.condition or ""
    said = words or (bought and f"{bought}, as bought") or "as bought: soft"
    return AsCut(part.material or "", bought, group, hardness, hardened, said, refusal)


def _group(
    material: str | None, hardened: bool, hardness: tuple[float, float] | None
) -> tuple[MaterialGroup | None, str]:
    if material is None:
        return None, "the part states no material; write material: tool steel O1"
    if hardened and hardness is None:
        return (
            None,
            f"how hard '{material}' is here is not known; write hardness: 60…62 HRC beside the op harden",
        )
    try:
        return group_for(material, hardness_hrc=None if hardness is None else sum(hardness) / 2), ""
    except LoopwrightError as error:
        return None, str(error)


def _stated(condition: str | None) -> tuple[tuple[float, float] | None, str]:
    found = _STATED.search(condition or "")
    if found is None:
        return None, ""
    said = Hardness(scale=cast("Scales", found[3]), low=float(found[1]), high=float(found[2]))
    return _hrc(said), f"{condition}, as bought"


def _hrc(stated: Hardness) -> tuple[float, float] | None:
    scale = _SCALES.get(stated.scale)
    if scale is None:
        return None
    try:
        low, high = (
            v if scale == "HRC" else interpolated(v, scale, "HRC") for v in (stated.low, stated.high)
        )
    except LoopwrightError:
        return None  # below the table: soft
    return low, high


def _after_hardening(material: str, op: Op) -> tuple[tuple[float, float] | None, str]:
    if op.hardness is not None:
        return _hrc(op.hardness), f"hardened, {_shown(op.hardness)} as the route has it"
    try:
        band = treatment(material).as_quenched_hrc
    except LoopwrightError:
        return None, "hardened; how hard is not known"
    return (band.low, band.high), f"hardened, {band.low:g} to {band.high:g} HRC as quenched (handbook)"


def _after_temper(
    material: str, op: Op, before: tuple[float, float] | None, words: str
) -> tuple[tuple[float, float] | None, str]:
    if op.hardness is not None:
        return _hrc(op.hardness), f"hardened and tempered, {_shown(op.hardness)} as the route has it"
    unknown = before, f"{words}; what tempering leaves of it is not stated"
    if op.temperature is None:
        return unknown
    try:
        band = tempered_hardness(material, op.temperature)
    except LoopwrightError:
        return unknown
    return (band.low, band.high), f"hardened and tempered, {band.low:.0f} to {band.high:.0f} HRC (handbook)"


def _shown(stated: Hardness) -> str:
    return f"{stated.low:g} to {stated.high:g} {stated.scale}"
