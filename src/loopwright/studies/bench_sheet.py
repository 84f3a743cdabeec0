"""What a person at the bench has to know to take one reading: what, where, gauge, how often, in which unit."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.model.build import Units
from loopwright.model.indications import axis_dimension
from loopwright.model.records import Entry, Reading
from loopwright.studies.asking import Asked, asked, look_at_value
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import best_gauge
from loopwright.studies.recording import limits_of
from loopwright.units import Dimension

STEEP = 0.02
"""An angle above this is a size in degrees, one below it a small angle, rad; common practice."""


@dataclass(frozen=True)
class Before:
    """A reading that was taken before.

    Attributes:
        entry: its number in the book.
        at, who: when it was entered, and by whom.
        gauge: what it was read with.
    """

    entry: int
    at: str
    who: str
    gauge: str | None


@dataclass(frozen=True)
class Sheet:
    """One thing to be read.

    Attributes:
        asked: poses, repeats, dimension, and the unit of values that are typed without one.
        subject: 'dim', 'test', 'comparison', 'gap', or 'item' for one of several on the bench.
        against: the other dim of a comparison.
        item: serial of the item.
        part: the part it belongs to; None for a test.
        nominal: size on the drawing, mm or rad; None for a test, or where there is none.
        limits: sizes, or to either side of zero for a test; None where there are none.
        deviation_unit: of a deviation from nominal that is typed without one; '' where none can be typed.
        gauges: of the build that read this, by name.
        gauge: proposed: the one it was last read with, else that of the test, else the best; None where none fits.
        artefact: what a test reads against.
        minutes: of work, where that is stated.
        last: the newest reading of it that counts.
        state: number of the state that the machine is in.
        seen: number of the last entry of the book.
        corrects: the entry that is to be corrected; None for a fresh reading.
        was: what was typed in that entry, with units where they are not those proposed here.
        from_nominal: those are deviations from nominal.
    """

    asked: Asked
    subject: str
    against: str | None
    item: str | None
    part: str | None
    nominal: float | None
    limits: tuple[float, float] | None
    deviation_unit: str
    gauges: tuple[str, ...]
    gauge: str | None
    artefact: str | None
    minutes: float | None
    last: Before | None
    state: int
    seen: int
    corrects: int | None = None
    was: tuple[tuple[str, ...], ...] = ()
    from_nominal: bool = False


def sheet(
    bench: Bench, of: str, *, against: str | None = None, item: str | None = None, shown: Units | None = None
) -> Sheet:
    """What is to be read, and how.

    Args:
        bench: the build as it stands.
        of: 'part/dim', the name of a test or of a closure, or 'kind/what' with a serial.
        against: the other dim of a comparison.
        item: serial, of one of several items.
        shown: units in which the reader thinks; None takes those of the build.

    Raises:
        RequestError: there is no such thing to be read.
    """
    build = bench.build
    subject = _subject(bench, of, against, item)
    dim = build.dim(of)
    nominal = dim.nominal if dim is not None and subject in ("dim", "item") else None
    unit = _unit(bench, of, subject, nominal, shown or build.units)
    told = asked(bench, of, against=against, item=item, unit=unit)
    gauges = tuple(name for name, gauge in build.gauges.items() if gauge.dimension is told.dimension)
    last = _last(bench, of, against, item)
    test = build.tests.get(of) if subject == "test" else None
    return Sheet(
        asked=told,
        subject=subject,
        against=against,
        item=item,
        part=_part(bench, of, subject),
        nominal=nominal,
        limits=limits_of(bench, of) if subject in ("dim", "test", "item") else None,
        deviation_unit="" if nominal is None else (shown or build.units).shown(told.dimension),
        gauges=gauges,
        gauge=_gauge(bench, told, last, gauges),
        artefact=None if test is None else test.artefact,
        minutes=None if test is None else test.minutes,
        last=last,
        state=bench.state,
        seen=bench.last,
    )


def correction(bench: Bench, number: int, *, shown: Units | None = None) -> Sheet:
    """The sheet of a reading that is to be corrected.

    Args:
        bench: the build as it stands.
        number: of its entry.
        shown: units in which the reader thinks.

    Raises:
        RequestError: no entry that counts has this number, or it is no reading as it was typed.
    """
    entry = next((one for one in bench.entries if one.number == number), None)
    if entry is None or not isinstance(entry.record, Reading):
        raise RequestError(
            f"there is no reading {number} that counts",
            "it was corrected or withdrawn before; look at the history",
        )
    record = entry.record
    if record.method is not None:
        raise RequestError(
            f"entry {number} was worked out by '{record.method.evaluation}'",
            "evaluate it anew, or withdraw the entry",
        )
    found = sheet(bench, record.of, against=record.against, item=record.item, shown=shown)
    return _corrected(bench, found, entry, record)


def _corrected(bench: Bench, found: Sheet, entry: Entry, record: Reading) -> Sheet:
    told = found.asked
    if record.poses:
        letters = list(record.poses)
        places = tuple(
            {letter: record.poses[letter][i] for letter in letters} for i in range(len(record.raw))
        )
        told = replace(told, poses=places)
    deviations = _were_deviations(found, record)
    meant = replace(told, unit=found.deviation_unit) if deviations else told
    was = tuple(
        tuple(_as_typed(meant, text, number) for text, number in zip(texts, numbers))
        for texts, numbers in zip(record.typed, record.raw)
    )
    return replace(
        found,
        asked=told,
        gauge=record.gauge if record.gauge in found.gauges else found.gauge,
        last=Before(entry.number, entry.at, entry.who, record.gauge),
        state=record.state,
        corrects=entry.number,
        was=was,
        from_nominal=deviations,
    )


def _were_deviations(found: Sheet, record: Reading) -> bool:
    """Whether deviations from nominal were typed: what was made of them is larger by the nominal."""
    if not found.nominal or record.subject != "dim":
        return False
    return abs(record.evaluated.values[0] - record.raw[0][0]) > abs(found.nominal) / 2


def _as_typed(told: Asked, text: str, number: float) -> str:
    """What was typed, if it still means the same with the unit proposed; else the number with its unit."""
    try:
        if abs(units.parse(text, told.dimension, bare=told.unit) - number) < 1e-12 + 1e-9 * abs(number):
            return text
    except QuantityError:
        pass  # it was typed with an option that the entry does not keep; the number is what counts
    return units.format_value(number, told.dimension, told.unit, digits=9)


def _subject(bench: Bench, of: str, against: str | None, item: str | None) -> str:
    if item is not None:
        return "item"
    if against is not None:
        return "comparison"
    if of in bench.build.tests:
        return "test"
    return "gap" if of in bench.build.closures and bench.build.dim(of) is None else "dim"


def _unit(bench: Bench, of: str, subject: str, nominal: float | None, shown: Units) -> str | None:
    """The unit of bare values: small ones for what is near zero, that of sizes for sizes."""
    test = bench.build.tests.get(of) if subject == "test" else None
    if test is not None:
        return shown.shown(test.dimension)
    dim = bench.build.dim(of)
    if dim is not None and dim.dimension is Dimension.ANGLE:
        return "deg" if abs(dim.nominal) > STEEP else shown.angle
    if subject == "item" and nominal is None:
        return shown.small_length
    return shown.length


def _part(bench: Bench, of: str, subject: str) -> str | None:
    if subject == "gap":
        return bench.build.closures[of].part
    name = of.partition("/")[0]
    return name if subject != "test" and name in bench.build.parts else None


def _last(bench: Bench, of: str, against: str | None, item: str | None) -> Before | None:
    for entry, record in reversed(bench.having(Reading)):
        if (record.of, record.against, record.item) == (of, against, item):
            return Before(entry.number, entry.at, entry.who, record.gauge)
    return None


def _gauge(bench: Bench, told: Asked, last: Before | None, gauges: tuple[str, ...]) -> str | None:
    used = last.gauge if last is not None else None
    for name in (used, told.gauge):
        if name in gauges:
            return name
    return best_gauge(bench, told.dimension)


def positions_as_typed(told: Asked) -> Mapping[str, tuple[str, ...]]:
    """Positions of every axis for each value, as they would be typed, for when some are left out.

    Args:
        told: what is asked for.

    Returns:
        For each axis letter one text for each pose, with its unit.
    """
    letters = list(told.poses[0]) if told.poses else []
    return {letter: tuple(_position(letter, pose[letter]) for pose in told.poses) for letter in letters}


def _position(letter: str, value: float) -> str:
    return units.format_exact(value, axis_dimension(letter))


def value_as_read(told: Asked, text: str) -> str:
    """What a text means that was typed as a value, in the unit proposed.

    Args:
        told: what is asked for.
        text: as typed.

    Returns:
        The value with its unit.

    Raises:
        RequestError: it is no such value.
    """
    look_at_value(told, text)
    value = units.parse(text, told.dimension, bare=told.unit)
    return units.format_value(value, told.dimension, told.unit, digits=9)
