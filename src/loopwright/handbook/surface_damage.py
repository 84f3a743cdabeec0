"""How deep a cut harms what it leaves: its roughness, and the torn, bent or hardened metal under it.

The next cut has to go under both, else it polishes a spoilt skin. Handbooks of process planning give the two depths
for each way of cutting and add them: R, from peak to valley, and T, the layer under it. They are mm per side.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from loopwright.errors import OutOfRange
from loopwright.handbook.bands import Band
from loopwright.handbook.operations import operation

Blank = Literal["rolled", "drawn", "casting"]

_COURSE: Final = "handbook tables 12 and 25 of allowances, as quoted in a course work at ukrbukva.net 10080"
_RECALLED: Final = (
    "A. G. Kosilova and R. K. Meshcheryakov, handbook of the process engineer, volume 1, from memory"
)
_COMMON: Final = "common practice"

_BY_OP: Final[Mapping[str, Band]] = MappingProxyType(
    {
        "saw": Band(0.15, 0.35, _COMMON),
        "part off": Band(0.06, 0.15, _COMMON),
        "rough out": Band(0.10, 0.20, f"{_COURSE} (50 + 50 µm); the high end common practice"),
        "drill": Band(0.06, 0.12, _RECALLED),
        "square up": Band(0.03, 0.08, _RECALLED),
        "face": Band(0.03, 0.08, _RECALLED),
        "contour": Band(0.03, 0.08, _RECALLED),
        "turn": Band(
            0.02, 0.06, f"{_COURSE} (25 + 25 µm, its last pass 5 + 15 µm); the high end ukrbukva.net 69992"
        ),
        "bore": Band(0.02, 0.06, f"{_COURSE}, as turning"),
        "ream": Band(0.01, 0.035, _RECALLED),
        "surface grind": Band(
            0.005,
            0.02,
            f"{_COURSE} (5 + 15 µm, its last pass, taken to be ground); the low end common practice",
        ),
        "cylindrical grind": Band(
            0.005,
            0.02,
            f"{_COURSE} (5 + 15 µm, its last pass, taken to be ground); the low end common practice",
        ),
        "lap": Band(0.0, 0.002, _COMMON),
    }
)

_BY_BLANK: Final[Mapping[Blank, Band]] = MappingProxyType(
    {
        "rolled": Band(
            0.20, 0.36, f"{_COURSE} (160 + 200 µm); the low end a course work at ukrbukva.net 69992 (200 µm)"
        ),
        "drawn": Band(0.05, 0.12, _COMMON),
        "casting": Band(0.30, 0.60, _RECALLED),
    }
)


def damage_by(op: str) -> Band:
    """Depth of roughness and harmed metal that an operation leaves, mm per side.

    Args:
        op: one of :data:`loopwright.handbook.operations.OPS` that leaves a machined surface. Spark erosion is none
            of them; what it leaves is ground off or polished by its own rule.

    Returns:
        From careful work with a sharp tool to what is usual.

    Raises:
        OutOfRange: no such operation, or one that leaves no machined surface.

    Source: each band's own. Checked in tests/published/test_harmed_layers.py.

    >>> damage_by("turn")[:2]
    (0.02, 0.06)
    """
    name = operation(op).name
    found = _BY_OP.get(name)
    if found is None:
        raise OutOfRange(
            f"no depth of harmed metal under '{name}' here; there is one for {', '.join(_BY_OP)}"
        )
    return found


def damage_of_blank(blank: Blank) -> Band:
    """Depth of roughness and harmed metal of a surface that nobody has cut yet, mm per side.

    A skin without carbon can go deeper, see :mod:`loopwright.handbook.decarburization`.

    Args:
        blank: 'rolled' (hot), 'drawn' (cold, or peeled) or 'casting'.

    Raises:
        OutOfRange: another blank.

    Source: each band's own. Checked in tests/published/test_harmed_layers.py.

    >>> damage_of_blank("rolled").high
    0.36
    """
    found = _BY_BLANK.get(blank)
    if found is None:
        raise OutOfRange(f"no skin of a '{blank}' blank here; use one of {', '.join(_BY_BLANK)}")
    return found
