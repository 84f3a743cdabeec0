"""What a new entry of a description begins with: what the build has already, in sizes that a small shop chooses."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

from loopwright.model.base import INCHES

LIMITS = {"mm": ("±0.05", "±0.02", "±0.005"), "in": ("±2 thou", "±1 thou", "±0.2 thou")}
"""Limits of a dim, and of what is made together: in common, and on its own."""
SIZES = {"mm": "10", "in": "1"}
SMALL = {"mm": ("1 µm", "±2 µm", "0.5 µm", "20 µm"), "in": ("0.1 thou", "±0.1 thou", "0.05 thou", "1 thou")}
"""Of a gauge its step, its calibration, its repeatability; of a target its limit."""


def beginning(data: dict[str, Any], keys: Sequence[str], name: str) -> Any:
    """Plain data that a new entry begins with.

    Args:
        data: of the file.
        keys: of the section: ('parts',), ('parts', 'column', 'dims'), ('joints', 'X slide', 'contacts').
        name: of the new entry.

    >>> beginning({}, ("gauges",), "g")
    {'resolution': '1 µm', 'calibration': '±2 µm', 'repeatability': {'std': '0.5 µm'}}
    """
    system = _system(data)
    match tuple(keys):
        case ("parts",):
            return {"material": _usual(data, "parts", "material", "low carbon steel")}
        case ("parts", _, "dims"):
            return f"{SIZES[system]} {LIMITS[system][0]}"
        case ("materials",):
            return {"expansion": "11.5 µm/m/K"}
        case ("made_together",):
            return {"dims": _two_dims(data), "shared": LIMITS[system][1], "own": LIMITS[system][2]}
        case ("bodies",):
            return {}
        case ("joints",):
            return _joint(data)
        case ("closures",):
            return _closure(data)
        case ("loads",):
            return {"on": _tool(data), "against": _work(data), "at": [0, 0, 0], "force": [0, 0, 0]}
        case ("gauges",):
            step, calibration, std, _ = SMALL[system]
            return {"resolution": step, "calibration": calibration, "repeatability": {"std": std}}
        case ("artefacts",):
            return {"straightness": SMALL[system][1]}
        case ("targets" | "tests" as section,):
            return _indication(data, section, system)
    return _of_joint(data, keys, name)


def beginning_of_field(data: dict[str, Any], keys: Sequence[str]) -> Any:
    """Plain data that a field which consists of others begins with.

    Args:
        data: of the file.
        keys: of the field, such as ('joints', 'X slide', 'contacts', 'nut side', 'adjust').

    >>> beginning_of_field({}, ("joints", "j", "contacts", "c", "adjust"))
    {'kind': 'shim', 'range': [0, 0.2]}
    """
    inch = _system(data) == "in"
    match keys[-1]:
        case "adjust":
            return {"kind": "shim", "range": [0, 0.008] if inch else [0, 0.2]}
        case "drive":
            return {"kind": "ball screw", "at": [0, 0, 0]}
        case "guide":
            block = {"rail": "A", "at": [0, 0, 0]}
            return {"normal": "+Z", "rails": {"A": {}}, "blocks": {"front": block, "rear": dict(block)}}
        case "zeroed":
            return "mean"
    return {}


def _system(data: dict[str, Any]) -> str:
    units = data.get("units")
    length = units.get("length", "mm") if isinstance(units, dict) else "mm"
    return "in" if length in INCHES else "mm"


def _usual(data: dict[str, Any], section: str, field: str, otherwise: str) -> str:
    found = Counter(
        e[field] for e in _entries(data, section).values() if isinstance(e, dict) and e.get(field)
    )
    return str(found.most_common(1)[0][0]) if found else otherwise


def _entries(data: Any, section: str) -> dict[str, Any]:
    found = data.get(section) if isinstance(data, dict) else None
    return found if isinstance(found, dict) else {}


def _two_dims(data: dict[str, Any]) -> list[str]:
    """Two dims that are in no setup yet, of like names where there are such."""
    taken = {dim for group in _entries(data, "made_together").values() for dim in group.get("dims", ())}
    free = [
        f"{part}/{dim}"
        for part, held in _entries(data, "parts").items()
        for dim in _entries(held, "dims")
        if f"{part}/{dim}" not in taken
    ]
    by_name: dict[str, list[str]] = {}
    for path in free:
        by_name.setdefault(path.rpartition("/")[2], []).append(path)
    alike = next((paths for paths in by_name.values() if len(paths) > 1), free)
    return alike[:2]


def _joint(data: dict[str, Any]) -> dict[str, Any]:
    bodies = list(_entries(data, "bodies"))
    carried = {joint.get("child") for joint in _entries(data, "joints").values() if isinstance(joint, dict)}
    root = next((body for body in bodies if body not in carried), "")
    loose = [body for body in bodies if body not in carried and body != root]
    return {"kind": "fixed", "parent": root, "child": loose[0] if loose else "", "perfect": True}


def _closure(data: dict[str, Any]) -> dict[str, Any]:
    for name, joint in _entries(data, "joints").items():
        contacts = list(_entries(joint, "contacts"))
        if contacts:
            return {"joint": name, "contact": contacts[0]}
    return {"joint": "", "contact": ""}


def _tool(data: dict[str, Any]) -> str:
    """The last body of a target, or of the build."""
    for target in _entries(data, "targets").values():
        if isinstance(target, dict) and isinstance(target.get("between"), list):
            return str(target["between"][-1])
    return next(reversed(_entries(data, "bodies")), "")


def _work(data: dict[str, Any]) -> str:
    for target in _entries(data, "targets").values():
        if isinstance(target, dict) and isinstance(target.get("between"), list):
            return str(target["between"][0])
    return next(iter(_entries(data, "bodies")), "")


def _indication(data: dict[str, Any], section: str, system: str) -> dict[str, Any]:
    travels = {
        _letter(joint): joint["travel"]
        for joint in _entries(data, "joints").values()
        if isinstance(joint, dict) and isinstance(joint.get("travel"), list) and _letter(joint)
    }
    out: dict[str, Any] = {"between": [_work(data), _tool(data)]}
    if section == "targets":
        over = dict(sorted(travels.items()))
        return out | {"point": [0, 0, 0], "component": "XYZ", "over": over, "limit": SMALL[system][3]}
    first = dict(sorted(travels.items())[:1])
    out |= {"along": "+Z", "sweep": first} if first else {"along": "+Z"}
    gauges = list(_entries(data, "gauges"))
    return out | ({"gauge": gauges[0]} if gauges else {}) | ({"zeroed": "line"} if first else {})


def _letter(joint: dict[str, Any]) -> str:
    if isinstance(joint.get("axis"), str):
        return str(joint["axis"])
    along = joint.get("along")
    return along.strip("+- ").upper() if isinstance(along, str) else ""


def _of_joint(data: dict[str, Any], keys: Sequence[str], name: str) -> Any:
    """Entries of a joint, and of what is in it."""
    joint = _entries(data, "joints").get(keys[1]) if len(keys) > 1 else None
    match tuple(keys[2:]):
        case ("contacts",):
            return {"at": _beside(_entries(joint, "contacts")), "normal": "+Z"}
        case ("guide", "rails"):
            return {}
        case ("guide", "blocks"):
            guide = _entries(joint, "guide")
            rails = list(_entries(guide, "rails"))
            return {"rail": rails[0] if rails else "", "at": _beside(_entries(guide, "blocks"))}
        case ("drives",):
            return {"kind": "ball screw", "at": _beside(_entries(joint, "drives"))}
        case ("errors",):
            return "±5 arcsec" if name[1:2] in ("A", "B", "C") or "0" in name else LIMITS[_system(data)][2]
    return [0, 100] if keys[-1] in ("over", "sweep") else 0


def _beside(others: dict[str, Any]) -> list[Any]:
    """Where the last of its like is, which is nearer than nowhere."""
    places = [other.get("at") for other in others.values() if isinstance(other, dict)]
    found = next((place for place in reversed(places) if isinstance(place, list)), [0, 0, 0])
    return list(found)
