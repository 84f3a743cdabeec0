"""What is entered in the book when something was decided, calibrated or counted: typed words made into records."""

from datetime import date

from loopwright import units
from loopwright.asbuilt.conformity import Verdict
from loopwright.errors import QuantityError, RequestError
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.records import Calibration, Concession, State, Stock
from loopwright.model.spread import Spread
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import ConcessionStudy
from loopwright.studies.fitup_bench import StepReport
from loopwright.units import Dimension

DECISIONS = ("use as is", "compensate", "match", "remake", "refuse")


def concession_record(study: ConcessionStudy, decision: str, *, terms: str = "") -> Concession:
    """The record of a decision about a part, with the chances as they are.

    Args:
        study: what each way would mean.
        decision: one of ``DECISIONS``.
        terms: what has to be done for it; left out: what the study says of that way.

    Raises:
        RequestError: no dim of the part is out of tolerance, or the study has no such way.
    """
    out = tuple(d.dim for d in study.dims if d.conformity.verdict is not Verdict.CONFORMING)
    if not out:
        raise RequestError(
            f"every dim of '{study.part}' that was read is within its limits", "nothing has to be conceded"
        )
    way = next((way for way in study.ways if way.decision == decision), None)
    if way is None and decision != "refuse":
        known = ", ".join(f"'{way.decision}'" for way in study.ways)
        raise RequestError(
            f"'{decision}' is no way to go on with '{study.part}'", f"there are: {known}, 'refuse'"
        )
    chances = (
        {}
        if way is None
        else {
            name: left.chance
            for (name, *_), left in zip(study.targets, way.targets)
            if left.chance is not None
        }
    )
    words = terms or ("" if way is None else way.words)
    return Concession(
        part=study.part,
        dims=out,
        state=study.state,
        decision=decision,  # type: ignore[arg-type]
        terms=words,
        chances=chances,
    )


def calibration_of(
    bench: Bench,
    gauge: str,
    *,
    done: str | None = None,
    due: str | None = None,
    std: str | None = None,
    limit: str | None = None,
    error: str | None = None,
    good: bool = True,
    certificate: str | None = None,
    note: str | None = None,
) -> Calibration:
    """The record of a calibration, from what was typed.

    Args:
        bench: the build as it stands.
        gauge: its name.
        done: day of it, as 2026-11-25; left out is today.
        due: day of the next one.
        std: standard uncertainty that it leaves.
        limit: the limit that it leaves instead, as '2 µm' for ±2 µm, of the shape that the build assumes.
        error: known error, taken off every reading.
        good: whether the gauge was found to be in order.
        certificate: its number.
        note: anything to know about it.

    Raises:
        RequestError: there is no such gauge, a day or a value cannot be read, or both ``std`` and ``limit`` are given.
    """
    dimension = bench.gauge(gauge).dimension
    if std is not None and limit is not None:
        raise RequestError(f"'{gauge}' has both a standard uncertainty and a limit", "give one of them")
    found = None if std is None else abs(_quantity(bench, f"{gauge}, std", std, dimension))
    if limit is not None:
        half = abs(_quantity(bench, f"{gauge}, limit", limit.strip().lstrip("±"), dimension))
        found = standard_uncertainty(Spread(lower=-half, upper=half), bench.build.assume)
    return Calibration(
        gauge=gauge,
        done=day(done, "--done") if done is not None else _today(),
        due=None if due is None else day(due, "--due"),
        std=found,
        error=0.0 if error is None else _quantity(bench, f"{gauge}, error", error, dimension),
        verified=good,
        certificate=certificate,
        note=note,
    )


def stock_of(
    bench: Bench, what: str, size: str, *, count: int, std: str | None = None, note: str | None = None
) -> Stock:
    """The record of what lies in the drawer, from what was typed; a bare number is in the build's unit of length.

    Raises:
        RequestError: a size cannot be read or is not above zero, or the count is below zero.
    """
    found = _quantity(bench, what, size, Dimension.LENGTH)
    if found <= 0:
        raise RequestError(f"'{what}' of size {size}", "give a thickness above zero")
    if count < 0:
        raise RequestError(f"{count} of '{what}'", "count from 0 up")
    spread = 0.0 if std is None else abs(_quantity(bench, f"{what}, std", std, Dimension.LENGTH))
    return Stock(what=what, size=found, std=spread, count=count, note=note)


def planned_by(state: State, step: StepReport) -> State:
    """A state with what the step of the fit-up had asked for beside what was done."""
    asked = {one.name: one.value for one in step.to_set}
    changes = tuple(
        c.model_copy(update={"planned": asked[c.of]}) if c.of in asked else c for c in state.changes
    )
    return state.model_copy(update={"changes": changes})


def day(text: str, field: str) -> str:
    """A day as 2026-11-25.

    Raises:
        RequestError: it is none.
    """
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise RequestError(f"{field}: '{text}' is not a day", "write year-month-day: 2026-11-25") from None


def _today() -> str:
    return date.today().isoformat()  # noqa: DTZ011  the day on the wall of the shop


def _quantity(bench: Bench, what: str, text: str, dimension: Dimension) -> float:
    try:
        return units.parse(text, dimension, bare=bench.build.units.bare()[dimension])
    except QuantityError as error:
        raise RequestError(f"'{what}': {error.what}", error.remedy) from None
