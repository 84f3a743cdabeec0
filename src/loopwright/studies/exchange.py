"""The answers as plain data for other programs: JSON with a stated, versioned format."""

import math
from collections.abc import Mapping
from typing import Any

from loopwright import units
from loopwright.model.build import Units
from loopwright.model.indications import axis_dimension
from loopwright.studies.exchange_schema import FORMAT
from loopwright.studies.reports import Standing, TargetStanding, WhatIf
from loopwright.units import Dimension


def standing_as_data(standing: Standing, *, every_pose: bool = False) -> dict[str, Any]:
    """A standing as JSON-ready data; lengths and angles in the unit that each target names.

    Args:
        standing: the standing.
        every_pose: also bias and standard uncertainty at every pose, which can be long.

    See docs/reference/answers.md for every field.
    """
    return {
        "format": FORMAT,
        "build": standing.build,
        "file": standing.file,
        "confidence": standing.confidence,
        "sources": standing.sources,
        "open_sources": standing.open_sources,
        "seed": standing.seed,
        "chance_of_all": _number(standing.chance_of_all),
        "targets": [
            _target(t, standing.units, every_pose) | _in_limits(standing, t) for t in standing.targets
        ],
        "over_constraint": _misfits(standing),
        "assumptions": list(standing.assumptions),
        "idle_dims": list(standing.idle_dims),
    }


def what_if_as_data(compared: WhatIf, *, every_pose: bool = False) -> dict[str, Any]:
    """Two standings side by side, with what was changed."""
    return {
        "format": FORMAT,
        "changes": dict(compared.changes),
        "before": standing_as_data(compared.before, every_pose=every_pose),
        "after": standing_as_data(compared.after, every_pose=every_pose),
    }


def _number(value: float) -> float | None:
    """JSON knows neither infinity nor not-a-number."""
    return value if math.isfinite(value) else None


class _Small:
    """Turns lengths or angles of one target into plain numbers in its unit."""

    def __init__(self, target: TargetStanding, shown: Units) -> None:
        self.dimension, self.unit = target.dimension, shown.shown(target.dimension)

    def __call__(self, value: float) -> float | None:
        return _number(float(units.convert(value, self.dimension, self.unit)))


def _in_limits(standing: Standing, target: TargetStanding) -> dict[str, Any]:
    found = standing.in_limits.get(target.name)
    if found is None:
        return {"just_in_limits": None}
    expected = _Small(target, standing.units)(found.expected)
    told = {"expected": expected, "chance": found.chance, "chance_uncertainty": found.chance_std}
    return {"just_in_limits": told}


def _target(target: TargetStanding, shown: Units, every_pose: bool) -> dict[str, Any]:
    small = _Small(target, shown)
    return {
        "name": target.name,
        "asks": target.asks,
        "component": target.component,
        "unit": small.unit,
        "limit": small(target.limit),
        "zeroed": target.zeroed,
        "worst_pose": _pose(target.worst_pose, shown),
        "expected": small(target.expected),
        "components": _components(target, small),
        "poses": target.poses,
        **({"at_poses": _at_poses(target, shown)} if every_pose else {}),
        **_chances(target, small),
        "worst_case": {"size": small(target.worst_case), "pose": _pose(target.worst_case_pose, shown)},
        **_drivers(target, small),
        "exact": {
            "cases": target.exact.cases,
            "largest": small(target.exact.largest),
            "difference": small(target.exact.difference),
            "typical_difference": small(target.exact.typical),
            "typical_largest": small(target.exact.typical_largest),
        },
        "stiffness": _stiffness(target, shown),
    }


def _components(target: TargetStanding, small: _Small) -> list[dict[str, Any]]:
    return [
        {
            "name": c.name,
            "bias": small(c.bias),
            "standard_uncertainty": small(c.std),
            "interval": [small(v) for v in c.interval],
        }
        for c in target.components
    ]


def _chances(target: TargetStanding, small: _Small) -> dict[str, Any]:
    drawn = target.monte_carlo
    return {
        "monte_carlo": {
            "trials": drawn.trials,
            "mean": small(drawn.mean),
            "quantiles": {f"{p:g}": small(v) for p, v in drawn.quantiles.items()},
            "quantile_uncertainty": small(drawn.quantile_std),
        },
        "chance": _number(drawn.chance),
        "chance_uncertainty": _number(drawn.chance_std),
        "meets": target.meets,
    }


def _drivers(target: TargetStanding, small: _Small) -> dict[str, Any]:
    return {
        "sources": [
            {
                "name": s.name,
                "kind": s.kind,
                "part": s.part,
                "joint": s.joint,
                "field": s.field,
                "group": s.group,
                "share": s.worst,
                "share_over_volume": s.volume,
            }
            for s in target.sources
        ],
        "shares": {
            "by_kind": dict(target.by_kind),
            "by_joint": dict(target.by_joint),
            "by_part": dict(target.by_part),
        },
        "tightening": [
            {
                "field": t.field,
                "name": t.name,
                "part": t.part,
                "kind": t.kind.value,
                "now": small(t.now),
                "halved": small(t.halved),
                "doubled": small(t.doubled),
            }
            for t in target.tightenings
        ],
        "make_together": [
            {"first": p.first, "second": p.second, "now": small(p.now), "together": small(p.together)}
            for p in target.pairings
        ],
    }


def _stiffness(target: TargetStanding, shown: Units) -> dict[str, Any] | None:
    if target.stiffness is None:
        return None
    return {
        "unit": shown.stiffness,
        "directions": {
            d: _number(float(units.convert(k, Dimension.STIFFNESS, shown.stiffness)))
            for d, k in target.stiffness.directions.items()
        },
        "compliance_shares": {d: dict(s) for d, s in target.stiffness.shares.items()},
    }


def _at_poses(target: TargetStanding, shown: Units) -> list[dict[str, Any]]:
    small, table = _Small(target, shown), target.at_poses
    bias, std = ([[small(v) for v in row] for row in rows] for rows in (table.bias, table.std))
    return [
        {
            "pose": _pose({axis: p[i] for axis, p in table.poses.items()}, shown),
            "bias": b,
            "standard_uncertainty": s,
        }
        for i, (b, s) in enumerate(zip(bias, std))
    ]


def _pose(pose: Mapping[str, float], shown: Units) -> dict[str, Any]:
    out = {}
    for letter, position in pose.items():
        dimension = axis_dimension(letter)
        unit = "deg" if dimension is Dimension.ANGLE else shown.length
        out[letter] = {"position": float(units.convert(position, dimension, unit)), "unit": unit}
    return out


def _misfits(standing: Standing) -> list[dict[str, Any]]:
    unit = standing.units.small_length

    def small(value: float) -> float:
        return float(units.convert(value, Dimension.LENGTH, unit))

    return [
        {
            "joint": j.joint,
            "contacts": j.contacts,
            "spare": j.spare,
            "unit": unit,
            "worst": [
                {
                    "contact": c.contact,
                    "misfit": small(c.misfit),
                    "force_newton": c.force,
                    "clearance": None if c.clearance is None else small(c.clearance),
                    "pressed_newton": c.pressed,
                    "chance_of_lifting": c.lifts,
                }
                for c in j.worst
            ],
        }
        for j in standing.misfits
    ]
