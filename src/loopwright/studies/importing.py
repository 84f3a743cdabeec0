"""A table of readings taken into the book: its lines gathered into readings, each held against what is expected."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from loopwright import units
from loopwright.errors import Cancelled, LoopwrightError, Problem, RequestError
from loopwright.measuring.tables import Row
from loopwright.model.indications import axis_dimension
from loopwright.model.records import ColumnsKept, Entry, Reading
from loopwright.studies.asking import asked, no_such
from loopwright.studies.bench import Bench
from loopwright.studies.recording import Considered, Typed, consider
from loopwright.units import Dimension


@dataclass(frozen=True)
class Line:
    """A reading of a table.

    Attributes:
        line: where it begins there.
        typed: as it was typed.
        considered: what came of it.
        twin: number of the entry that says the same, where the table was entered before; or None.
    """

    line: int
    typed: Typed
    considered: Considered
    twin: int | None = None


@dataclass(frozen=True)
class Imported:
    """A table of readings, ready to be entered.

    Attributes:
        lines: the readings.
        problems: lines of which nothing can be made.
    """

    lines: tuple[Line, ...]
    problems: tuple[Problem, ...]

    @property
    def doubted(self) -> tuple[Line, ...]:
        """Those that should be asked about."""
        return tuple(line for line in self.lines if line.considered.doubt is not None)

    @property
    def twins(self) -> tuple[Line, ...]:
        """Those that are in the book already."""
        return tuple(line for line in self.lines if line.twin is not None)


def imported(
    bench: Bench,
    rows: Sequence[Row],
    *,
    file: str,
    gauge: str | None = None,
    from_nominal: bool = False,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Imported:
    """The readings of a table, one after the other, each beside what all before it let one expect.

    Lines of one thing, item, gauge, day and temperature belong together: of a dim they are repeats, of a test its
    poses.

    Args:
        bench: the build as it stands.
        rows: of the table.
        file: its name, for messages.
        gauge: what was used where the table does not say, and the test does not.
        from_nominal: values of dims are deviations from nominal.
        progress: called with readings done and wanted.
        cancel: asked before each reading; True stops.

    Raises:
        Cancelled: ``cancel`` said so.
    """
    before = {_said(reading): entry.number for entry, reading in bench.having(Reading)}
    lines: list[Line] = []
    problems: list[Problem] = []
    gathered = _gathered(bench, rows, gauge)
    for number, (first, typed) in enumerate(gathered):
        if cancel is not None and cancel():
            raise Cancelled(f"stopped after {number} of {len(gathered)} readings")
        if progress is not None:
            progress(number, len(gathered))
        try:
            _must_be_there(bench, typed)
            if typed.of in bench.build.tests:
                typed = _over_poses(typed, len(asked(bench, typed.of).poses))
            elif from_nominal:
                typed = replace(typed, from_nominal=True)
            found = consider(bench, typed)
            if typed.item is None:  # an item on the bench tells nothing of the machine
                seen = Entry(number=bench.last + 1, key=f"line {first}", at="", who="-", record=found.reading)
                bench = bench.with_reading(seen)
        except RequestError as error:
            problems.append(Problem(typed.of, error.what, error.remedy, file, first))
        except LoopwrightError as error:
            problems.append(Problem(typed.of, str(error), "look at this line", file, first))
        else:
            lines.append(Line(first, typed, found, before.get(_said(found.reading))))
    return Imported(tuple(lines), tuple(problems))


def _must_be_there(bench: Bench, typed: Typed) -> None:
    """What a line says was measured is something that can be.

    Raises:
        RequestError: it is not.
    """
    build, of = bench.build, typed.of
    if typed.item is not None and (of in build.tests or of in build.closures or "/" not in of):
        raise RequestError(
            f"'{of}' cannot be read of the item '{typed.item}'",
            "write kind/what, such as 'ball screw/mean travel', or leave the serial out",
        )
    if typed.item is None and build.dim(of) is None and of not in {**build.tests, **build.closures}:
        raise no_such(bench, of)


def _said(reading: Reading) -> tuple[object, ...]:
    """What makes two readings one and the same that was entered twice."""
    return reading.of, reading.item, reading.raw, reading.gauge, reading.taken, tuple(reading.poses.items())


@dataclass
class _Group:
    first: Row
    rows: list[Row] = field(default_factory=list)


def _gathered(bench: Bench, rows: Sequence[Row], gauge: str | None) -> list[tuple[int, Typed]]:
    groups: dict[tuple[object, ...], _Group] = {}
    for row in rows:
        own = () if row.what in bench.build.tests else (row.note,)
        key = (
            row.what,
            row.item,
            row.gauge,
            row.date,
            row.who,
            row.part_temperature,
            row.gauge_temperature,
            row.unit,
            *own,
        )
        groups.setdefault(key, _Group(row)).rows.append(row)
    return [(group.first.line, _typed(group, gauge)) for group in groups.values()]


def _typed(group: _Group, gauge: str | None) -> Typed:
    first = group.first
    values, poses = _poses(group.rows)
    notes = dict.fromkeys(row.note for row in group.rows if row.note)
    said = [*notes, *([f"read by {first.who}"] if first.who else [])]
    return Typed(
        of=first.what,
        values=values,
        item=first.item or None,
        unit=first.unit,
        gauge=first.gauge or gauge,
        poses=poses,
        part_temperature=_degrees(first.part_temperature),
        gauge_temperature=_degrees(first.gauge_temperature),
        taken=None if first.date is None else first.date.isoformat(),
        note="; ".join(said) or None,
    )


def _poses(rows: Sequence[Row]) -> tuple[list[list[str]], Mapping[str, list[str]]]:
    """Values by pose with their repeats, and the positions; without positions the lines of one repeat are the poses."""
    at: dict[tuple[tuple[str, float], ...], list[str]] = {}
    for row in sorted(rows, key=lambda row: row.repeat):
        at.setdefault(tuple(sorted(row.position.items())), []).append(_text(row))
    if len(at) > 1 or next(iter(at)):
        letters = [letter for letter, _ in next(iter(at))]
        return list(at.values()), {
            letter: [_position(letter, dict(pose)[letter]) for pose in at if letter in dict(pose)]
            for letter in letters
        }
    return [list(at[()])], {}


def _text(row: Row) -> str:
    return f"{float(units.convert(row.value, row.dimension, row.unit)):.12g}"


def _position(letter: str, value: float) -> str:
    dimension = axis_dimension(letter)
    unit = "deg" if dimension is Dimension.ANGLE else "mm"
    return f"{float(units.convert(value, dimension, unit)):.12g} {unit}"


def _degrees(value: float | None) -> str | None:
    return None if value is None else f"{value:.6g} degC"


def _over_poses(typed: Typed, poses: int) -> Typed:
    """A test whose lines say no position: each line is a pose, in the order of the test."""
    values = [repeat for repeats in typed.values for repeat in repeats]
    if typed.poses or len(values) % poses:
        return typed
    rounds = len(values) // poses
    return replace(typed, values=[[values[r * poses + p] for r in range(rounds)] for p in range(poses)])


def kept_columns(bench: Bench, name: str) -> ColumnsKept | None:
    """The columns that the book keeps under a name; None where it keeps none."""
    found = [record for _, record in bench.having(ColumnsKept) if record.name == name]
    return found[-1] if found else None
