"""An evaluation of raw readings as plain data for other programs: JSON with a stated, versioned format.

Every number has its unit beside it: 'unit' for what was found, 'size_unit' for places. Chances are fractions. Within
the format fields may be added; none changes its meaning.
"""

from typing import Any

from loopwright import units
from loopwright.model.build import Units
from loopwright.studies.evaluating_forms import (
    Cell,
    Evaluation,
    Grading,
    Heading,
    Judged,
    Kind,
    Loop,
    Part,
    Result,
    Table,
)
from loopwright.studies.exchange_bench import number
from loopwright.units import Dimension

Data = dict[str, Any]

FORMAT = "loopwright-evaluation/1"
LIST_FORMAT = "loopwright-evaluations/1"


def evaluation_as_data(found: Evaluation, recorded: Data | None = None) -> Data:
    """An evaluation, format loopwright-evaluation/1.

    Args:
        found: the evaluation.
        recorded: what became of it in a book (format loopwright-recorded/1); None where it was not entered.

    >>> from loopwright.studies.evaluating import evaluate, example_of, kind_of
    >>> evaluation_as_data(evaluate(example_of(kind_of("straightness"))))["results"][0]["unit"]
    'µm'
    """
    shown, one = found.units, found.reading
    return {
        "format": FORMAT,
        "evaluation": found.kind.name,
        "file": found.given.file,
        "readings": found.readings,
        "settings": dict(found.method.settings),
        "one_reading": {
            "unit": shown.shown(one.dimension),
            "own": _in(one.own, one.dimension, shown.shown(one.dimension)),
            "shared": _in(one.shared, one.dimension, shown.shown(one.dimension)),
            "gauge": one.gauge,
            "stated": one.stated,
            "contributions": _parts(one.parts, one.dimension, shown.shown(one.dimension)),
        },
        "coverage": {"confidence": found.confidence, "factor": found.factor},
        "results": [_result(result, found) for result in found.results],
        "tables": [_table(table, shown) for table in found.tables],
        "closures": [_loop(loop, shown) for loop in found.loops],
        "grading": None if found.grading is None else _grading(found.grading, shown),
        "includes": list(found.includes),
        "not_seen": list(found.not_seen),
        "notes": list(found.notes),
        "cautions": list(found.cautions),
        "recorded": recorded,
    }


def _in(value: float | None, dimension: Dimension | None, unit: str) -> float | None:
    if value is None or dimension is None or not unit:
        return number(value)
    return number(float(units.convert(value, dimension, unit)))


def _parts(parts: tuple[Part, ...], dimension: Dimension, unit: str) -> list[Data]:
    return [{"name": one.name, "standard_uncertainty": _in(one.std, dimension, unit)} for one in parts]


def _result(result: Result, found: Evaluation) -> Data:
    unit, dimension = result.unit(found.units), result.dimension
    return {
        "name": result.name,
        "unit": unit,
        "value": _in(result.value, dimension, unit),
        "standard_uncertainty": _in(result.u, dimension, unit),
        "expanded": None if result.u is None else _in(found.factor * result.u, dimension, unit),
        "contributions": _parts(result.parts, dimension, unit),
        "note": result.note,
    }


def _table(table: Table, shown: Units) -> Data:
    return {
        "title": table.title,
        "columns": [
            {"name": one.name, "role": one.role, "unit": one.unit(shown) or None} for one in table.headings
        ],
        "rows": [[_cell(cell, one, shown) for cell, one in zip(row, table.headings)] for row in table.rows],
    }


def _cell(cell: Cell, heading: Heading, shown: Units) -> float | str | None:
    if cell is None or isinstance(cell, str):
        return cell
    return _in(float(cell), heading.dimension, heading.unit(shown))


def _loop(loop: Loop, shown: Units) -> Data:
    unit, length = shown.shown(Dimension.LENGTH), shown.length
    return {
        "unit": unit,
        "error": _in(loop.error, Dimension.LENGTH, unit),
        "standard_uncertainty": _in(loop.u, Dimension.LENGTH, unit),
        "size_unit": length,
        "stations": [[_in(one, Dimension.LENGTH, length) for one in station] for station in loop.stations],
    }


def _grading(grading: Grading, shown: Units) -> Data:
    return {
        "grade": grading.grade or None,
        "limits_of": grading.by,
        "verdict": grading.verdict,
        "confidence": grading.confidence,
        "limits": [_judged(one, shown) for one in grading.lines],
        "notes": list(grading.notes),
    }


def _judged(one: Judged, shown: Units) -> Data:
    unit = shown.shown(Dimension.LENGTH)
    return {
        "name": one.name,
        "says": one.says,
        "unit": unit,
        "value": _in(one.value, Dimension.LENGTH, unit),
        "standard_uncertainty": _in(one.u, Dimension.LENGTH, unit),
        "limit": _in(one.limit, Dimension.LENGTH, unit),
        "both_sides": one.both_sides,
        "probability": number(one.probability),
        "verdict": one.verdict,
        "standard": one.standard,
        "source": one.source,
        "reason": one.reason,
    }


def kinds_as_data(kinds: tuple[Kind, ...], shown: Units) -> Data:
    """What can be evaluated, and all that a form needs, format loopwright-evaluations/1.

    >>> from loopwright.studies.evaluating import KINDS
    >>> kinds_as_data(KINDS, Units())["evaluations"][0]["columns"][1]["unit"]
    'µm'
    """
    return {
        "format": LIST_FORMAT,
        "evaluations": [
            {
                "name": kind.name,
                "command": kind.command,
                "help": kind.help,
                "how": kind.how,
                "least": kind.least,
                "columns": [
                    {
                        "name": one.name,
                        "help": one.help,
                        "role": one.role,
                        "dimension": None if one.dimension is None else str(one.dimension),
                        "unit": one.unit(shown) or None,
                        "needed": one.needed,
                        "gaps": one.gaps,
                    }
                    for one in kind.columns
                ],
                "settings": [
                    {
                        "name": one.name,
                        "help": one.help,
                        "dimension": None if one.dimension is None else str(one.dimension),
                        "unit": one.bare(shown),
                        "choices": list(one.choices),
                        "default": one.default,
                        "needed": one.needed,
                    }
                    for one in kind.settings
                ],
                "cautions": list(kind.cautions),
                "example": dict(kind.example),
            }
            for kind in kinds
        ],
    }
