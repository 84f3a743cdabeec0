"""JSON Schema of the answers that ``exchange`` gives."""

from typing import Any

_NUMBER: dict[str, Any] = {"type": "number"}
_OPEN: dict[str, Any] = {"type": ["number", "null"]}
_TEXT: dict[str, Any] = {"type": "string"}
_OPEN_TEXT: dict[str, Any] = {"type": ["string", "null"]}
_SHARE: dict[str, Any] = {"type": "number", "minimum": 0, "maximum": 1.000001}
_CHANCE: dict[str, Any] = {"type": ["number", "null"], "minimum": 0, "maximum": 1}
_COUNT: dict[str, Any] = {"type": "integer", "minimum": 0}
_SHARES: dict[str, Any] = {"type": "object", "additionalProperties": _SHARE}


def _record(optional: tuple[str, ...] = (), **fields: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": fields,
        "required": [name for name in fields if name not in optional],
    }


def _list(of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": of}


_POSE = {"type": "object", "additionalProperties": _record(position=_NUMBER, unit=_TEXT)}

_TARGET = _record(
    ("at_poses",),
    name=_TEXT, asks=_TEXT, component=_TEXT, unit=_TEXT, limit=_NUMBER, zeroed=_TEXT, worst_pose=_POSE,
    expected=_NUMBER,
    components=_list(
        _record(name=_TEXT, bias=_NUMBER, standard_uncertainty=_NUMBER,
                interval={"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2})
    ),
    poses=_COUNT,
    at_poses=_list(_record(pose=_POSE, bias=_list(_NUMBER), standard_uncertainty=_list(_NUMBER))),
    monte_carlo=_record(
        trials=_COUNT, mean=_NUMBER, quantiles={"type": "object", "additionalProperties": _NUMBER},
        quantile_uncertainty=_OPEN,
    ),
    chance=_CHANCE, chance_uncertainty=_OPEN, meets={"type": "boolean"},
    worst_case=_record(size=_NUMBER, pose=_POSE),
    sources=_list(
        _record(name=_TEXT, kind=_TEXT, part=_OPEN_TEXT, joint=_OPEN_TEXT, field=_TEXT, group=_OPEN_TEXT, share=_SHARE,
                share_over_volume=_SHARE)
    ),
    shares=_record(by_kind=_SHARES, by_joint=_SHARES, by_part=_SHARES),
    tightening=_list(
        _record(field=_TEXT, name=_TEXT, part=_OPEN_TEXT, kind=_TEXT, now=_NUMBER, halved=_NUMBER, doubled=_NUMBER)
    ),
    make_together=_list(_record(first=_TEXT, second=_TEXT, now=_NUMBER, together=_NUMBER)),
    exact=_record(
        cases=_COUNT, largest=_NUMBER, difference=_NUMBER, typical_difference=_NUMBER, typical_largest=_NUMBER
    ),
    stiffness={
        "anyOf": [
            {"type": "null"},
            _record(unit=_TEXT, directions={"type": "object", "additionalProperties": _OPEN},
                    compliance_shares={"type": "object", "additionalProperties": _SHARES}),
        ]
    },
)  # fmt: skip

_CONTACT = _record(
    contact=_TEXT, misfit=_NUMBER, force_newton=_NUMBER, clearance=_OPEN, pressed_newton=_NUMBER,
    chance_of_lifting=_CHANCE,
)  # fmt: skip

_STANDING = _record(
    format={"const": "loopwright-budget/1"}, build=_TEXT, file=_OPEN_TEXT, confidence=_NUMBER, sources=_COUNT,
    open_sources=_COUNT, seed=_COUNT, chance_of_all=_CHANCE, targets=_list({"$ref": "#/$defs/target"}),
    over_constraint=_list(_record(joint=_TEXT, contacts=_COUNT, spare=_COUNT, unit=_TEXT, worst=_list(_CONTACT))),
    assumptions=_list(_TEXT), idle_dims=_list(_TEXT),
)  # fmt: skip


def json_schema() -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of what ``loopwright budget FILE --json`` prints.

    >>> json_schema()["title"]
    'Budget, loopwright-budget/1'
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Budget, loopwright-budget/1",
        "anyOf": [
            {"$ref": "#/$defs/standing"},
            _record(
                format={"const": "loopwright-budget/1"},
                changes={"type": "object", "additionalProperties": _TEXT},
                before={"$ref": "#/$defs/standing"},
                after={"$ref": "#/$defs/standing"},
            ),
        ],
        "$defs": {"standing": _STANDING, "target": _TARGET},
    }
