"""The gauges of the shop: how good they are, when they are due, what was read with them, whether they drift."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

import numpy as np

from loopwright.asbuilt.surprise import looks
from loopwright.errors import RequestError
from loopwright.measuring.gauging import budget_of
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.build import Units
from loopwright.model.records import Calibration, Reading
from loopwright.studies.bench import Bench
from loopwright.units import Dimension

SOON_DAYS = 30
"""A gauge is due soon so many days before it is due; common practice."""
NEWEST = 120
"""Readings that are looked at for drift, the newest."""
FEWEST = 6
"""Fewer readings tell nothing of drift."""
DAY = 86_400.0
DAYS_OF_A_MONTH = 30.4375


@dataclass(frozen=True)
class GaugeLine:
    """One gauge as its last calibration left it.

    Attributes:
        name, note: of it; reads: what it reads.
        resolution: smallest step it shows, mm or rad.
        calibration: standard uncertainty that its calibration leaves.
        error: known error, taken off every reading.
        repeatability: standard uncertainty of one reading by itself.
        whole: standard uncertainty of a single reading, everything counted.
        verified: somebody has checked these figures on the gauge itself.
        calibrated, due: days, or None.
        stands: 'in date', 'due soon', 'overdue', 'no date' or 'not in order'.
        days: until it is due, below zero where it is overdue; None without a date.
        readings: how many that count were taken with it.
        tests: names of the tests that name it.
    """

    name: str
    note: str
    reads: Dimension
    resolution: float
    calibration: float
    error: float
    repeatability: float
    whole: float
    verified: bool
    calibrated: date | None
    due: date | None
    stands: str
    days: int | None
    readings: int
    tests: tuple[str, ...]


@dataclass(frozen=True)
class GaugeReading:
    """A reading taken with a gauge beside what everything else lets one expect.

    Attributes:
        entry, of, at, who: of the reading.
        miss: found less expected, mean over its poses, in standard uncertainties of that; None where its zero is open,
            so that only its shape tells anything.
        surprise: of all its values together.
        counts: it tells of a steady drift: its zero is not open.
    """

    entry: int
    of: str
    at: str
    who: str
    miss: float | None
    surprise: float

    @property
    def counts(self) -> bool:
        """Whether its zero is known, so that a drift of the gauge would show in it."""
        return self.miss is not None


@dataclass(frozen=True)
class Drift:
    """The trend of what a gauge shows beside what everything else lets one expect.

    Attributes:
        rate: change of what it shows too much, mm or rad a month of 30.4 days.
        std: standard uncertainty of that, the readings counted as independent.
        readings: how many it is taken from; days: between the first and the last.
        seen: it is more than twice its standard uncertainty.
    """

    rate: float
    std: float
    readings: int
    days: float
    seen: bool


@dataclass(frozen=True)
class GaugePage:
    """A gauge with everything that its book holds of it.

    Attributes:
        build: its name; units: in which the user reads.
        line: the gauge as it is.
        calibrations: entry number, when and by whom entered, and the record; newest first.
        readings: the newest that count, oldest first.
        drift: None where too few readings, or too few days, tell of it.
        today: the day that counts as today.
    """

    build: str
    units: Units
    line: GaugeLine
    calibrations: tuple[tuple[int, str, str, Calibration], ...]
    readings: tuple[GaugeReading, ...]
    drift: Drift | None
    today: date


def gauges(bench: Bench, *, on: date | None = None) -> tuple[GaugeLine, ...]:
    """Every gauge as its last calibration left it; what is overdue first, then by the build file.

    Args:
        bench: the build as it stands.
        on: day that counts as today.
    """
    counted: dict[str, int] = {}
    for _, reading in bench.having(Reading):
        if reading.gauge is not None:
            counted[reading.gauge] = counted.get(reading.gauge, 0) + 1
    lines = [_line(bench, name, counted.get(name, 0), on or _today()) for name in bench.build.gauges]
    order = ("not in order", "overdue", "due soon", "no date", "in date")
    return tuple(sorted(lines, key=lambda line: order.index(line.stands)))


def gauge_page(bench: Bench, name: str, *, on: date | None = None) -> GaugePage:
    """A gauge with its calibrations and what was read with it.

    Args:
        bench: the build as it stands.
        name: of the gauge.
        on: day that counts as today.

    Raises:
        RequestError: the build has no such gauge.
    """
    bench.gauge(name)
    today = on or _today()
    taken = [(e, r) for e, r in bench.having(Reading) if r.gauge == name]
    done = [(e.number, e.at, e.who, r) for e, r in bench.having(Calibration) if r.gauge == name]
    readings, drift = _misses(bench, [(e.number, r, e.at, e.who) for e, r in taken[-NEWEST:]])
    return GaugePage(
        bench.build.name,
        bench.build.units,
        _line(bench, name, len(taken), today),
        tuple(reversed(done)),
        readings,
        drift,
        today,
    )


def _line(bench: Bench, name: str, readings: int, on: date) -> GaugeLine:
    gauge, assume = bench.gauge(name), bench.build.assume
    days = None if gauge.due is None else (gauge.due - on).days
    last = [record for _, record in bench.having(Calibration) if record.gauge == name][-1:]
    refused = bool(last) and not last[0].verified
    stands = (
        "not in order"
        if refused
        else "no date"
        if days is None
        else "overdue"
        if days < 0
        else "due soon"
        if days <= SOON_DAYS
        else "in date"
    )
    return GaugeLine(
        name,
        gauge.note or "",
        gauge.dimension,
        gauge.resolution,
        standard_uncertainty(gauge.calibration, assume),
        gauge.calibration.value,
        standard_uncertainty(gauge.repeatability, assume),
        budget_of(gauge, [0.0], assume=assume).combined,
        gauge.verified,
        gauge.calibrated,
        gauge.due,
        stands,
        days,
        readings,
        tuple(test for test, one in bench.build.tests.items() if one.gauge == name),
    )


def _misses(
    bench: Bench, taken: Sequence[tuple[int, Reading, str, str]]
) -> tuple[tuple[GaugeReading, ...], Drift | None]:
    """Readings beside what the others let one expect, and the trend of those whose zero is known."""
    by_entry = {number: (reading, at, who) for number, reading, at, who in taken}
    seen = [one for one in bench.knowledge.observations if one.entry in by_entry]
    out, points = [], []
    for one, look in zip(seen, looks(bench.knowledge, seen)):
        reading, at, who = by_entry[one.entry or 0]
        when = reading.taken or at
        miss = None
        if not one.free.size:
            # errors of one reading hang together: its mean is no better known than one of its values
            std = float(look.std.mean())
            by = float((look.found - look.expected).mean())
            miss = by / std if std > 0 else 0.0
            points.append((_moment(when), by, std))
        out.append(GaugeReading(one.entry or 0, reading.of, when, who, miss, look.surprise))
    return tuple(out), _drift(points)


def _drift(points: Sequence[tuple[float, float, float]]) -> Drift | None:
    """Slope of a straight line through misses over time, by weighted least squares.

    Source: JCGM 100:2008, H.3, with weights 1/u².
    """
    usable = [one for one in points if one[2] > 0]
    if len(usable) < FEWEST:
        return None
    when, by, std = (np.array(column) for column in zip(*usable))
    days = (when - when.min()) / DAY
    weight = 1 / std**2
    middle = (weight @ days) / weight.sum()
    spread = float(weight @ (days - middle) ** 2)
    if days.max() < 1 or spread <= 0:
        return None
    rate = float(weight @ ((days - middle) * by)) / spread * DAYS_OF_A_MONTH
    uncertainty = float(np.sqrt(1 / spread)) * DAYS_OF_A_MONTH
    return Drift(rate, uncertainty, len(usable), float(days.max()), abs(rate) > 2 * uncertainty)


def _moment(text: str) -> float:
    """A time as seconds; a day without a time is its noon."""
    try:
        found = datetime.fromisoformat(text if len(text) > 10 else f"{text}T12:00:00")
    except ValueError:
        raise RequestError(f"'{text}' is no time", "write it as 2026-11-25T09:30:00Z") from None
    return found.timestamp()


def _today() -> date:
    return date.today()  # noqa: DTZ011  the day on the wall of the shop
