"""What the studies of a book answer, as plain data for other programs: JSON with a stated, versioned format.

Lengths and angles are in the unit that stands beside them as 'unit': for errors the build's unit of small lengths or
its unit of angles. Sizes of dims are in the build's unit of length, as 'size_unit' says. Chances and shares are
fractions. Within a format fields may be added; none changes its meaning.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from loopwright import units
from loopwright.asbuilt.conformity import Conformity
from loopwright.asbuilt.worth import Left, Worth
from loopwright.book import Book, Written
from loopwright.model.build import Units
from loopwright.model.indications import axis_dimension
from loopwright.studies.as_built import Known, ReadingLook, StandingAsBuilt, TargetAsBuilt
from loopwright.studies.bench import Bench
from loopwright.studies.books import History, WhatIfAsBuilt
from loopwright.studies.effect import Brought, TargetEffect
from loopwright.studies.importing import Imported
from loopwright.studies.next_readings import NextReadings
from loopwright.studies.recording import Considered
from loopwright.studies.verdicts import Parts
from loopwright.units import Dimension

Data = dict[str, Any]


class Plain:
    """Turns internal numbers into plain ones in the units of a build."""

    def __init__(self, shown: Units) -> None:
        self.units = shown

    def unit(self, dimension: Dimension) -> str:
        """Unit of errors."""
        return self.units.shown(dimension)

    def small(self, value: float | None, dimension: Dimension) -> float | None:
        """An error, in the unit of errors."""
        return None if value is None else number(float(units.convert(value, dimension, self.unit(dimension))))

    def size(self, value: float, dimension: Dimension) -> float | None:
        """A size, in the unit of lengths or angles."""
        return number(float(units.convert(value, dimension, self.size_unit(dimension))))

    def size_unit(self, dimension: Dimension) -> str:
        """Unit of sizes."""
        return self.units.bare()[dimension]

    def pose(self, pose: Mapping[str, float]) -> Data:
        """Axis positions with their units."""
        out = {}
        for letter, position in pose.items():
            dimension = axis_dimension(letter)
            unit = "deg" if dimension is Dimension.ANGLE else self.units.length
            out[letter] = {"position": float(units.convert(position, dimension, unit)), "unit": unit}
        return out


def number(value: float | None) -> float | None:
    """JSON knows neither infinity nor not-a-number."""
    return value if value is not None and math.isfinite(value) else None


def standing_as_built_as_data(found: StandingAsBuilt) -> Data:
    """The front page, format loopwright-standing/1."""
    plain = Plain(found.units)
    designed, built = found.chance_of_all
    return {
        "format": "loopwright-standing/1",
        "build": found.build,
        "book": found.book,
        "confidence": found.confidence,
        "state": {"number": found.state, "reason": found.reason},
        "entries": found.entries,
        "readings": found.readings,
        "chance_of_all": {"designed": number(designed), "as_built": number(built)},
        "targets": [_target(plain, target) for target in found.targets],
        "moved_by": found.moved_by or None,
        "deviations": dict(found.counts),
        "unresolved": [_known(plain, known) for known in found.unresolved],
        "surprises": [_look(plain, look) for look in found.surprises],
        "actions": [
            {"what": a.what, "kind": a.kind, "gain": a.gain, "minutes": a.minutes, "command": a.command}
            for a in found.actions
        ],
        "nothing_more": found.nothing_more or None,
        "notes": list(found.notes),
        "trials": {"drawn": found.trials[0], "worth": number(found.trials[1])},
    }


def _target(plain: Plain, t: TargetAsBuilt) -> Data:
    def small(value: float | None) -> float | None:
        return plain.small(value, t.dimension)

    return {
        "name": t.name,
        "unit": plain.unit(t.dimension),
        "limit": small(t.limit),
        "designed": {"expected": small(t.designed), "chance": number(t.designed_chance)},
        "as_built": {
            "expected": small(t.expected),
            "known": small(t.known),
            "unknown": small(t.unknown),
            "worst_pose": plain.pose(t.worst_pose),
            "chance": number(t.chance),
            "chance_uncertainty": number(t.chance_std),
            "chance_all_normal": number(t.chance_normal),
            "coverage": small(t.coverage),
        },
        "when_set": {"expected": small(t.adjusted), "chance": number(t.adjusted_chance)},
        "before_last_entry": None
        if t.before is None
        else {"expected": small(t.before), "chance": number(t.before_chance)},
        "enough": t.meets,
        "verdict": t.verdict,
    }


def _known(plain: Plain, known: Known) -> Data:
    return {
        "name": known.name,
        "kind": known.kind,
        "field": known.field,
        "how": known.how,
        "share": number(known.share),
        "resolved_by": known.resolved_by or None,
    }


def _look(plain: Plain, look: ReadingLook) -> Data:
    return {
        "entry": look.entry,
        "name": look.name,
        "surprise": number(look.surprise),
        "unit": plain.unit(look.dimension),
        "found": [plain.small(v, look.dimension) for v in look.found],
        "expected": [plain.small(v, look.dimension) for v in look.expected],
        "standard_uncertainty": [plain.small(v, look.dimension) for v in look.std],
        "outside": look.outside or None,
    }


def what_if_as_built_as_data(compared: WhatIfAsBuilt) -> Data:
    """Two front pages side by side, format loopwright-standing/1 each."""
    return {
        "format": "loopwright-what-if/1",
        "changes": dict(compared.changes),
        "before": standing_as_built_as_data(compared.before),
        "after": standing_as_built_as_data(compared.after),
    }


def next_readings_as_data(found: NextReadings) -> Data:
    """What to measure next, format loopwright-next/1."""
    plain = Plain(found.units)

    def left(lefts: Sequence[Left]) -> list[Data]:
        return [
            left_as_data(plain, name, dimension, one)
            for (name, dimension, _), one in zip(found.targets, lefts)
        ]

    def worth(one: Worth) -> Data:
        return {
            "name": one.name,
            "minutes": one.minutes,
            "gain": number(one.gain),
            "gain_per_minute": number(one.gain_per_minute),
            "target": one.target,
            "worth_taking": one.worthwhile,
            "now": left(one.now),
            "then": left(one.then),
        }

    return {
        "format": "loopwright-next/1",
        "build": found.build,
        "gain_of": "adjusted" if found.adjusts else "unknown",
        "readings": [worth(one) for one in found.ranked],
        "plan": None
        if found.plan is None
        else {
            "readings": [worth(one) for one in found.plan.readings],
            "minutes": found.plan.minutes,
            "before": left(found.plan.before),
            "after": left(found.plan.after),
        },
        "not_worth_taking": list(found.worthless),
        "nothing_more": found.nothing or None,
        "gauges": [
            {
                "test": one.test,
                "gauge": one.gauge,
                "unit": plain.unit(one.dimension),
                "standard_uncertainty": plain.small(one.now, one.dimension),
                "good_enough": plain.small(one.std, one.dimension),
                "gain": number(one.gain),
                "gain_with_a_perfect_one": number(one.perfect),
                "instead": one.instead,
            }
            for one in found.gauges
        ],
    }


def left_as_data(plain: Plain, name: str, dimension: Dimension, left: Left) -> Data:
    """What is left of one target; part of other answers."""
    return {
        "target": name,
        "unit": plain.unit(dimension),
        "unknown": plain.small(left.unknown, dimension),
        "adjusted": plain.small(left.adjusted, dimension),
        "chance": number(left.chance),
    }


def parts_as_data(found: Parts) -> Data:
    """Every dim that was read, format loopwright-parts/1."""
    plain = Plain(found.units)
    return {
        "format": "loopwright-parts/1",
        "build": found.build,
        "state": found.state,
        "unread": found.unread,
        "dims": [
            {
                "dim": one.dim,
                "size_unit": plain.size_unit(one.dimension),
                "size": plain.size(one.value, one.dimension),
                "standard_uncertainty": plain.size(one.std, one.dimension),
                "readings": one.readings,
                "conformity": None
                if one.conformity is None
                else conformity_as_data(plain, one.conformity, one.dimension),
                "concession": one.concession or None,
            }
            for one in found.dims
        ],
    }


def conformity_as_data(plain: Plain, held: Conformity, dimension: Dimension) -> Data:
    """A verdict; part of other answers."""
    return {
        "verdict": str(held.verdict),
        "probability": number(held.probability),
        "rule": held.rule,
        "size_unit": plain.size_unit(dimension),
        "size": plain.size(held.value, dimension),
        "limits": [plain.size(held.lower, dimension), plain.size(held.upper, dimension)],
    }


def effect_as_data(shown: Units, targets: Sequence[TargetEffect]) -> list[Data]:
    """What an entry brought at the tool; part of other answers."""
    plain = Plain(shown)
    return [
        {
            "target": t.name,
            "unit": plain.unit(t.dimension),
            "limit": plain.small(t.limit, t.dimension),
            "expected": [plain.small(t.before, t.dimension), plain.small(t.after, t.dimension)],
            "unknown": [
                plain.small(t.unknown_before, t.dimension),
                plain.small(t.unknown_after, t.dimension),
            ],
            "chance": [number(t.chance_before), number(t.chance_after)],
        }
        for t in targets
    ]


def recorded_as_data(
    bench: Bench, considered: Considered, written: Written, targets: Sequence[TargetEffect]
) -> Data:
    """A reading that was entered, format loopwright-recorded/1."""
    plain, dimension = Plain(bench.build.units), considered.dimension
    reading = written.entry.record
    evaluated = considered.reading.evaluated
    return {
        "format": "loopwright-recorded/1",
        **_entered(written),
        "reading": {
            "of": considered.reading.of,
            "state": getattr(reading, "state", considered.reading.state),
            "gauge": considered.reading.gauge,
            "size_unit": plain.size_unit(dimension),
            "values": [plain.size(v, dimension) for v in evaluated.values],
            "standard_uncertainties": [plain.size(v, dimension) for v in evaluated.stds],
            "expanded": None if evaluated.expanded is None else plain.size(evaluated.expanded, dimension),
            "contributions": [
                {
                    "name": c.name,
                    "standard_uncertainty": plain.size(c.std, dimension),
                    "type": c.how,
                    "degrees_of_freedom": c.dof,
                    "shared": c.shared,
                }
                for c in evaluated.contributions
            ],
            "notes": list(evaluated.notes),
        },
        "surprise": None if considered.look is None else number(considered.look.surprise),
        "conformity": None
        if considered.conformity is None
        else conformity_as_data(plain, considered.conformity, dimension),
        "effect": effect_as_data(bench.build.units, targets),
    }


def _entered(written: Written) -> Data:
    entry = written.entry
    return {
        "entry": entry.number,
        "at": entry.at,
        "who": entry.who,
        "kind": entry.record.kind,
        "state": entry.of if entry.record.kind == "state" else None,
        "supersedes": entry.supersedes,
        "meanwhile": [one.number for one in written.meanwhile],
        "clashes": [one.number for one in written.clashes],
        "told": list(written.told),
    }


def entered_as_data(written: Written, came: Brought | None = None) -> Data:
    """Anything that was entered, format loopwright-entered/1."""
    return {
        "format": "loopwright-entered/1",
        **_entered(written),
        "record": written.entry.record.model_dump(mode="json", exclude={"text"}),
        "effect": [] if came is None else effect_as_data(came.bench.build.units, came.targets),
        "left_out": [] if came is None else [{"entry": n, "why": why} for n, why in came.left_out],
    }


def imported_as_data(
    bench: Bench, found: Imported, written: Sequence[Written], targets: Sequence[TargetEffect]
) -> Data:
    """Readings of a table, format loopwright-imported/1."""
    plain = Plain(bench.build.units)
    entries = [one.entry.number for one in written if one.entry.record.kind == "reading"]
    return {
        "format": "loopwright-imported/1",
        "readings": [
            {
                "line": line.line,
                "entry": entries[place] if place < len(entries) else None,
                "of": line.typed.of,
                "item": line.typed.item,
                "surprise": None if line.considered.look is None else number(line.considered.look.surprise),
                "doubt": None if line.considered.doubt is None else line.considered.doubt.what,
                "conformity": None
                if line.considered.conformity is None
                else conformity_as_data(plain, line.considered.conformity, line.considered.dimension),
            }
            for place, line in enumerate(found.lines)
        ],
        "effect": effect_as_data(bench.build.units, targets),
    }


def book_as_data(book: Book) -> Data:
    """What a book says of itself, format loopwright-book-info/1."""
    entries = book.entries()
    kinds: dict[str, int] = {}
    for entry in entries:
        kinds[entry.record.kind] = kinds.get(entry.record.kind, 0) + 1
    state = book.newest_state()
    return {
        "format": "loopwright-book-info/1",
        "build": book.info.build_name,
        "place": book.info.place,
        "database": book.info.database,
        "uid": book.info.uid,
        "made": book.info.made,
        "version": book.info.version,
        "entries": len(entries),
        "kinds": kinds,
        "state": state.of,
        "reason": getattr(state.record, "reason", ""),
    }


def history_as_data(found: History) -> Data:
    """What happened, format loopwright-history/1."""
    build = found.bench.build
    plain = Plain(build.units)
    names = list(build.targets.items())
    return {
        "format": "loopwright-history/1",
        "build": build.name,
        "entries": [
            {
                "entry": e.number,
                "at": e.at,
                "who": e.who,
                "station": e.station,
                "why": e.why,
                "counts": e.number not in found.gone,
                "supersedes": e.supersedes,
                "record": e.record.model_dump(mode="json", exclude={"text"}),
            }
            for e in found.entries
        ],
        "states": [
            {
                "number": line.number,
                "at": line.at,
                "who": line.who,
                "reason": line.reason,
                "cause": line.cause,
                "readings": line.readings,
                "targets": [
                    {
                        "target": name,
                        "unit": plain.unit(target.dimension),
                        "expected": plain.small(line.targets[i], target.dimension),
                        "unknown": plain.small(line.unknown[i], target.dimension),
                    }
                    for i, (name, target) in enumerate(names)
                ],
            }
            for line in found.states
        ],
    }
