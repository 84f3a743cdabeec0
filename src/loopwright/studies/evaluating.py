"""Evaluation of raw readings: what can be evaluated, and what comes of readings as they were typed.

Every evaluation is described by a ``Kind``, from which a face makes its form, and answers with an ``Evaluation``.
"""

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches
from math import sqrt

from loopwright.errors import LoopwrightError, Problem, RequestError
from loopwright.measuring.coverage import coverage_factor
from loopwright.model.records import Method
from loopwright.studies import (
    evaluating_lead,
    evaluating_lines,
    evaluating_square,
    evaluating_surfaces,
    evaluating_turning,
)
from loopwright.studies.evaluating_forms import (
    Evaluation,
    Given,
    Kind,
    OneReading,
    Outcome,
    Part,
    Read,
    Result,
)
from loopwright.studies.evaluating_reading import Checked, Shop, as_request, checked, method_of
from loopwright.studies.evaluating_reading import said_wrong as wrong_of

PLAIN_FACTOR = 2.0
"""Coverage factor where no confidence is stated; common practice."""

KINDS: tuple[Kind, ...] = (
    evaluating_lines.STRAIGHTNESS,
    evaluating_lines.LEVEL_LINE,
    evaluating_lines.STRAIGHTEDGE_REVERSAL,
    evaluating_surfaces.FLATNESS,
    evaluating_surfaces.PLATE,
    evaluating_lines.PARALLELISM,
    evaluating_lines.RAILS,
    evaluating_square.SQUARENESS,
    evaluating_square.SQUARENESS_BY_REVERSAL,
    evaluating_square.SQUARENESS_BY_LEVELS,
    evaluating_square.SQUARENESS_BY_DIAGONALS,
    evaluating_lines.LEVEL_REVERSAL,
    evaluating_turning.TRAM,
    evaluating_turning.TRAM_ACROSS,
    evaluating_turning.RUNOUT,
    evaluating_turning.SPINDLE_REVERSAL,
    evaluating_lead.LEAD,
)
"""Every evaluation, in the order in which they are listed."""

_BY_NAME = {one.name: one for one in KINDS} | {one.command: one for one in KINDS}


def kind_of(name: str) -> Kind:
    """The evaluation of a name, with spaces or with '-'.

    Raises:
        RequestError: there is none.

    >>> kind_of("level-line").name
    'level line'
    """
    found = _BY_NAME.get(name.strip().casefold())
    if found is None:
        close = get_close_matches(name.casefold(), _BY_NAME, n=2, cutoff=0.6)
        known = ", ".join(one.name for one in KINDS)
        meant = f"did you mean {' or '.join(repr(one) for one in close)}?" if close else f"there are: {known}"
        raise RequestError(f"there is no evaluation '{name}'", meant)
    return found


def example_of(kind: Kind) -> Given:
    """The evaluation of a kind's own example, all of it invented.

    >>> evaluate(example_of(kind_of("straightness"))).headline.name
    'straightness, least squares'
    """
    columns: dict[str, list[str]] = {}
    units: dict[str, str] = {}
    names = {one.name for one in kind.columns}
    for name, text in kind.example.items():
        if name in names:
            columns[name], units[name] = parted(text)
    settings = {one.name: kind.example[one.name] for one in kind.settings if one.name in kind.example}
    return Given(
        kind.name, columns, settings, {name: unit for name, unit in units.items() if unit}, kind.example["u"]
    )


def parted(text: str) -> tuple[list[str], str]:
    """Values that stand in one line with commas between them; a unit behind the last one is that of all.

    >>> parted("0, 2, 3 µm"), parted("1 mm,2 mm")
    ((['0', '2', '3'], 'µm'), (['1 mm', '2 mm'], ''))
    """
    values = [one.strip() for one in text.split(",")]
    number, _, unit = values[-1].partition(" ")
    if unit and not any(" " in one for one in values[:-1]):
        return [*values[:-1], number], unit.strip()
    return values, ""


def evaluate(given: Given, shop: Shop | None = None) -> Evaluation:
    """What comes of raw readings, each number with its uncertainty.

    Args:
        given: as typed.
        shop: units of bare numbers and of the answer, and gauges; None for mm, µm and arcsec and no gauge.

    Raises:
        RequestError: there is no such evaluation, or what was typed cannot be used; the first mistake is told.

    Source: as of each evaluation in ``loopwright.measuring``.

    >>> found = evaluate(Given("straightness", {"position": ["0", "100", "200"], "height": ["0", "3", "0"]},
    ...     {"reference": "minimum zone"}, {"height": "µm"}, u="1 µm"))
    >>> round(found.headline.value, 6), round(found.headline.u, 6)
    (0.003, 0.001225)
    """
    found, problems = tried(given, shop)
    if found is None:
        raise as_request(problems)
    return found


def said_wrong(given: Given, shop: Shop | None = None) -> tuple[Problem, ...]:
    """What is wrong with settings, u and gauge, before any reading is there.

    >>> [one.field for one in said_wrong(Given("tram", {}))]
    ['radius', 'u']
    """
    return wrong_of(kind_of(given.kind), given, shop or Shop())


def tried(given: Given, shop: Shop | None = None) -> tuple[Evaluation | None, tuple[Problem, ...]]:
    """The evaluation, or everything that is wrong with what was typed: all of it at once.

    Args:
        given: as typed; ``file`` and ``lines`` say where it stands.
        shop: as for ``evaluate``.

    Raises:
        RequestError: there is no such evaluation.
    """
    kind, shop = kind_of(given.kind), shop or Shop()
    found = checked(kind, given, shop)
    if found.problems:
        return None, found.problems
    try:
        outcome = kind.work(found.read)
        bare = kind.work(replace(found.read, shared=0.0)) if found.read.shared else outcome
    except RequestError as error:
        return None, (Problem("", _in_its_words(kind, error.what), error.remedy, given.file),)
    except LoopwrightError as error:
        return None, (Problem("", str(error), "check the readings and the settings", given.file),)
    method = method_of(kind, given, found.read, shop)
    return _evaluation(kind, given, shop, found, outcome, bare, method), ()


def _in_its_words(kind: Kind, what: str) -> str:
    """A message of the library with the names of the columns that were typed."""
    for column in kind.columns:
        if column.argument:
            what = what.replace(f"'{column.argument}'", f"'{column.name}'")
    return what


def _evaluation(
    kind: Kind, given: Given, shop: Shop, found: Checked, outcome: Outcome, bare: Outcome, method: Method
) -> Evaluation:
    reading = found.reading
    factor = PLAIN_FACTOR if shop.confidence is None else coverage_factor(shop.confidence)
    return Evaluation(
        kind=kind,
        given=given,
        units=shop.units,
        readings=_count(kind, found.read),
        reading=reading,
        results=tuple(_with_parts(a, b, reading) for a, b in zip(outcome.results, bare.results)),
        tables=outcome.tables,
        loops=outcome.loops,
        grading=outcome.grading,
        sweep=outcome.sweep,
        includes=outcome.includes,
        not_seen=outcome.not_seen,
        notes=(*outcome.notes, *(f"{one[0].upper()}{one[1:]}." for one in reading.remarks)),
        cautions=kind.cautions,
        confidence=shop.confidence,
        factor=factor,
        method=method,
    )


def _count(kind: Kind, read: Read) -> int:
    """Readings that count: cells of reading columns that are not empty."""
    columns: Mapping[str, object] = read.columns
    return sum(
        int((read.column(one.name) == read.column(one.name)).sum())
        for one in kind.readings
        if one.name in columns
    )


def _with_parts(result: Result, bare: Result, reading: OneReading) -> Result:
    """A result with where its uncertainty comes from: readings, gauge, and what the evaluation named itself."""
    if result.u is None or bare.u is None or not 0 < result.u < float("inf"):
        return result
    named = sum(one.std**2 for one in result.parts)
    own = sqrt(max(bare.u**2 - named, 0.0))
    shared = sqrt(max(result.u**2 - bare.u**2, 0.0))
    parts = [Part("readings", own), *result.parts]
    if shared > 1e-6 * result.u:
        parts.append(Part(f"calibration of {reading.gauge}", shared))
    return replace(result, parts=tuple(one for one in parts if one.std > 0))
