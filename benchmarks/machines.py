"""Synthetic machines of any size: three linear axes on guides, and a work stack of fixed plates on many pads.

They are no good as machines. They have what a real one has: dims, contacts, rails, screws, weights and heat.
The number of sources and of poses can be chosen freely.
"""

from typing import Any

from loopwright.model.build import Build, Units

PADS_IN_JOINT = 60
"""Most pads below one plate; more pads make more plates."""
SOURCES_OF_AXES = 200
"""What the three axes, the weights and the heat bring along, without any pad."""
SOURCES_OF_PAD = 4
"""Two dims, the contact's own deviation, its own stiffness."""
SOURCES_OF_PLATE = 3
"""Its weight, its warmth and what the stiffness of its pads has in common."""

AXES = {"Y": "X", "X": "Y", "Z": "Z"}
"""Order of the carriages on each other, from the base up, and the direction in which blocks are set apart."""


def machine(
    sources: int,
    steps: int,
    *,
    assume: str = "rectangular",
    tests: int = 0,
    gauges: dict[str, Any] | None = None,
) -> Build:
    """A machine with about so many open sources and a target over steps³ poses.

    Args:
        sources: at least 300.
        steps: stations along each of the three axes.
        assume: shape of bare limits.
        tests: straightness tests along each axis, side by side.
        gauges: for the tests ('indicator') and the dims.
    """
    pads = round((sources - SOURCES_OF_AXES) / (SOURCES_OF_PAD + SOURCES_OF_PLATE / PADS_IN_JOINT))
    count = -(-pads // PADS_IN_JOINT)
    plates = [pads // count + (number < pads % count) for number in range(count)]
    data = {
        "name": f"synthetic machine of about {sources} sources",
        "assume": assume,
        "heat": {"room": "21 degC ±2 K", "every_body": "±0.5 K"},
        "parts": {**_axis_parts(), **_plate_parts(plates)},
        "bodies": {**_axis_bodies(), **_plate_bodies(plates)},
        "joints": {**_axes(), **_plates(plates)},
        "loads": {
            "cut": {"on": "carriage Z", "against": _top(plates), "at": [0, 0, 0], "force": ["±20 N"] * 3}
        },
        "targets": {"tool point": _target(_top(plates), steps)},
        "gauges": gauges or {},
        "tests": _tests(_top(plates), tests),
    }
    return Build.model_validate(data, context={"units": Units().bare()})


def _tests(work: str, count: int) -> dict[str, Any]:
    return {
        f"straight {letter} at {number}": {
            "between": [work, "carriage Z"],
            "along": "+X" if letter == "Z" else "+Z",
            "sweep": {letter: [0, 300, 50]},
            "holding": {other: 300 * number / count for other in "XYZ" if other != letter},
            "gauge": "indicator",
            "zeroed": "line",
            "minutes": 20,
        }
        for letter in "XYZ"
        for number in range(count)
    }


def _target(work: str, steps: int) -> dict[str, Any]:
    over = {letter: [0, 300, 300 / (steps - 1)] for letter in "XYZ"}
    return {
        "between": [work, "carriage Z"],
        "point": [0, 0, 0],
        "component": "XYZ",
        "over": over,
        "zeroed": {"at": {"X": 150, "Y": 150, "Z": 150}},
        "under": ["cut"],
        "limit": "60 µm",
    }


def _top(plates: list[int]) -> str:
    return f"plate {len(plates) - 1}" if plates else "base"


def _axis_bodies() -> dict[str, Any]:
    carried = {
        f"carriage {letter}": {
            "parts": [f"carriage_{letter}"],
            "mass": "40 ±2",
            "centre_of_mass": [100, 50, 50],
        }
        for letter in AXES
    }
    return {"base": {"parts": ["base"]}, **carried}


def _axis_parts() -> dict[str, Any]:
    corners = ("front_left", "front_right", "rear_left", "rear_right")
    rails = {f"seat_{letter}_{rail}": "30 ±0.01" for letter in AXES for rail in ("left", "right")}
    parts: dict[str, Any] = {"base": {"material": "grey cast iron", "dims": rails}}
    for letter in AXES:
        dims = {f"boss_{corner}": "20 ±0.005" for corner in corners}
        parts[f"carriage_{letter}"] = {"material": "grey cast iron", "dims": dims}
    return parts


def _axes() -> dict[str, Any]:
    joints, parent = {}, "base"
    for letter in AXES:
        joints[f"{letter} slide"] = _axis(letter, parent)
        parent = f"carriage {letter}"
    return joints


def _axis(letter: str, parent: str) -> dict[str, Any]:
    along, across, normal = {"X": (0, 1, 2), "Y": (1, 0, 2), "Z": (2, 0, 1)}[letter]

    def at(ahead: float, aside: float) -> list[float]:
        point = [0.0, 0.0, 0.0]
        point[along], point[across], point[normal] = ahead, aside, -200.0
        return point

    line = {"deviation": "±0.002", "straightness": "10 µm", "slope": "±10 arcsec", "modes": 6}
    rails = {
        rail: {"height": {**line, "dims": [f"+base/seat_{letter}_{rail}"]}, "side": line}
        for rail in ("left", "right")
    }
    places = {"front": 150.0, "rear": -150.0}, {"left": -120.0, "right": 120.0}
    blocks = {
        f"{end} {side}": {
            "rail": side,
            "at": at(ahead, aside),
            "height": {"dims": [f"+carriage_{letter}/boss_{end}_{side}"], "deviation": "±0.003"},
            "side": {"deviation": "±0.003"},
        }
        for end, ahead in places[0].items()
        for side, aside in places[1].items()
    }
    return {
        "kind": "linear",
        "parent": parent,
        "child": f"carriage {letter}",
        "along": f"+{letter}",
        "travel": [0, 300],
        "guide": {"normal": "+" + "XYZ"[normal], "rails": rails, "blocks": blocks},
        "drive": {
            "kind": "ball screw",
            "at": at(0, 0),
            "lead": 5,
            "lead_error": {"grade": "T5"},
            "material": "bearing steel",
        },
    }


def _plate_parts(plates: list[int]) -> dict[str, Any]:
    return {
        f"plate_{number}": {
            "material": "low carbon steel",
            "dims": {f"{what}_{pad}": "12 ±0.01" for pad in range(pads) for what in ("pad", "recess")},
        }
        for number, pads in enumerate(plates)
    }


def _plate_bodies(plates: list[int]) -> dict[str, Any]:
    return {
        f"plate {number}": {"parts": [f"plate_{number}"], "mass": "8 ±1", "centre_of_mass": [150, 150, 0]}
        for number in range(len(plates))
    }


def _plates(plates: list[int]) -> dict[str, Any]:
    joints = {}
    for number, pads in enumerate(plates):
        parent = f"plate {number - 1}" if number else "base"
        contacts = {f"pad {pad}": _pad(number, pad) for pad in range(pads)}
        joints[f"plate {number} on {parent}"] = {
            "kind": "fixed",
            "parent": parent,
            "child": f"plate {number}",
            "contacts": contacts,
        }
    return joints


def _pad(plate: int, pad: int) -> dict[str, Any]:
    """Three pads of each six lie below the plate, three stop it at its sides: it is held all round."""
    x, y = 75.0 * (pad % 5), 50.0 * (pad * pad % 7)
    below = ([x, y, -20.0], "+Z")
    beside = {3: ([20.0, y, 0.0], "+Y"), 4: ([280.0, y, 0.0], "+Y"), 5: ([0.0, y, 0.0], "+X")}
    at, normal = beside.get(pad % 6, below)
    dims = [f"+plate_{plate}/pad_{pad}", f"-plate_{plate}/recess_{pad}"]
    return {"at": at, "normal": normal, "dims": dims, "deviation": "±0.005", "stiffness": "200 N/µm"}
