"""Evaluations of a surface: flatness from heights, and from level readings along crossing lines."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from loopwright.errors import RequestError
from loopwright.measuring.lines import Reference
from loopwright.measuring.planes import Flatness, flatness
from loopwright.measuring.plates import LevelledPlate, Lines, Zero, grid_lines, plate_heights, union_jack
from loopwright.studies.evaluating_forms import (
    HEIGHT,
    Array,
    Heading,
    Kind,
    Loop,
    Outcome,
    Read,
    Result,
    Setting,
    Table,
    Wanted,
    with_u,
)
from loopwright.studies.evaluating_lines import DROPS_OUT, HIGH_AND_LOW, LEVEL_ANGLE, NOISE
from loopwright.units import Dimension

PLANES = (Reference.LEAST_SQUARES, Reference.MINIMUM_ZONE)

PLANE = Setting(
    "reference",
    "plane from which deviations count: least squares or minimum zone (ISO 1101)",
    choices=tuple(str(one) for one in PLANES),
    default=str(Reference.LEAST_SQUARES),
)

PATTERNS = ("stations", "union jack", "grid")
UNION_JACK_LINES = (
    "bottom",
    "top",
    "left",
    "right",
    "diagonal up",
    "diagonal down",
    "middle along",
    "middle across",
)
"""Lines of a union jack in their order, each stepped in the direction of +x, or of +y where it has no x."""

STEPS_FIT = 0.01
"""Share of a step by which stations of one pattern may differ before they are two."""


def _of_plane(found: Flatness) -> Result:
    return Result(f"flatness, {found.reference}", found.value, found.u_value)


def _both(found: Flatness, other: Flatness) -> tuple[Result, ...]:
    slopes = (
        Result(
            "rise of the reference plane along X",
            found.slope_x,
            found.u_slope_x,
            Dimension.ANGLE,
            signed=True,
        ),
        Result(
            "rise of the reference plane along Y",
            found.slope_y,
            found.u_slope_y,
            Dimension.ANGLE,
            signed=True,
        ),
    )
    return _of_plane(found), _of_plane(other), *slopes


def _other(chosen: Reference) -> Reference:
    return PLANES[1 - PLANES.index(chosen)]


def _flatness(read: Read) -> Outcome:
    x, y, h = read.column("x"), read.column("y"), read.column("height")
    chosen = Reference(read.word("reference"))
    found, other = (flatness(x, y, h, u=read.own, reference=one) for one in (chosen, _other(chosen)))
    table = Table(
        "deviations from the reference plane",
        (Heading("x", role="place"), Heading("y", role="place"), Heading("reading"), *with_u("deviation")),
        tuple(
            zip(x.tolist(), y.tolist(), h.tolist(), found.deviations.tolist(), found.u_deviations.tolist())
        ),
    )
    return Outcome(
        _both(found, other),
        (table,),
        includes=("What one reading is worth, carried to the value.", DROPS_OUT, HIGH_AND_LOW),
        not_seen=(
            "What lies between the points.",
            "The form of the plane or bridge on which the indicator was led.",
            NOISE,
        ),
    )


FLATNESS = Kind(
    "flatness",
    "How flat a surface is, from heights at points on it.",
    "Read heights from one plane, as on a granite plate or with the indicator in the spindle. A grid of five by "
    "five and the corners tell the form.",
    (
        Wanted("x", "place along x", "place", also=("x position", "position x")),
        Wanted("y", "place along y", "place", also=("y position", "position y")),
        replace(HEIGHT, also=(*HEIGHT.also, "z")),
    ),
    (PLANE,),
    _flatness,
    least=4,
    example={"x": "0,300,0,300", "y": "0,0,200,200", "height": "0,10,6,24 µm", "u": "1 µm"},
)


def _plate(read: Read) -> Outcome:
    points, lines, angles, names = _net(read)
    count = sum(len(one) for one in angles)
    found = plate_heights(
        points, lines, angles, u=read.own, covariance=read.in_common(count), zero=Zero(read.word("zero"))
    )
    chosen = Reference(read.word("reference"))
    plane, other = found.flatness(chosen), found.flatness(_other(chosen))
    results = _both(plane, other)
    if not found.slopes_known:
        results = results[:2]
    if found.u_found is not None:
        shown = Result("one reading, as the loops show it", found.u_found, None, Dimension.ANGLE)
        results = (*results, replace(shown, note=f"{read.small(read.own, Dimension.ANGLE)} was stated"))
    return Outcome(
        results,
        (_stations(found, plane), _steps(found, lines, angles, names)),
        loops=tuple(
            Loop(tuple((float(x), float(y)) for x, y in found.points[list(one.stations)]), one.error, one.u)
            for one in found.closures
        ),
        includes=(
            "What one reading is worth, carried through the adjustment of the whole net of lines.",
            "The zero of the level: " + _ZEROS[Zero(read.word("zero"))],
            HIGH_AND_LOW,
        ),
        not_seen=(
            "Form between the stations.",
            "Drift of the level within a line; the closure errors show it.",
            NOISE,
        ),
        notes=_loops_say(found),
    )


_ZEROS = {
    Zero.KNOWN: "taken as known, so that tilts of the whole surface are told too.",
    Zero.SHARED: "unknown, and the same in the direction of every step; it is found or falls out.",
    Zero.EACH_LINE: "unknown, and another for each line; a plane falls out.",
}


def _loops_say(found: LevelledPlate) -> tuple[str, ...]:
    """What the closed loops say of the stated uncertainty."""
    if found.ratio is None:
        return ("No loop closes, so nothing checks the stated uncertainty of a reading.",)
    off = sum(abs(one.error) > 2 * one.u for one in found.closures)
    said = [
        f"Readings more than needed: {found.redundancy} of {found.readings}. Misfit against what the stated "
        f"uncertainty allows: {found.ratio:.2g}, where 1 is as it should be."
    ]
    if found.ratio > 2:
        said.append("The loops say that one reading is worth less than stated: believe the loops.")
    if off:
        said.append(
            f"{off} of {len(found.closures)} loops fail to close by more than 2 u; look for a slip there."
        )
    return tuple(said)


def _stations(found: LevelledPlate, plane: Flatness) -> Table:
    x, y = found.points.T
    spread = np.sqrt(np.maximum(np.diag(found.covariance), 0.0))
    return Table(
        "heights over the first station, and deviations from the reference plane",
        (Heading("x", role="place"), Heading("y", role="place"), *with_u("height", "deviation")),
        tuple(
            zip(
                x.tolist(),
                y.tolist(),
                found.heights.tolist(),
                spread.tolist(),
                plane.deviations.tolist(),
                plane.u_deviations.tolist(),
            )
        ),
    )


def _steps(found: LevelledPlate, lines: Lines, angles: Sequence[Array], names: Sequence[str]) -> Table:
    """What was read on each step, and by how much its rise misses the heights found."""
    rows: list[tuple[float | str | None, ...]] = []
    left = iter(found.residuals.tolist())
    for name, line, slopes in zip(names, lines, angles):
        for number, ((start, end), angle) in enumerate(zip(pairwise(line), slopes.tolist()), 1):
            del start
            x, y = found.points[end].tolist()
            rows.append((name, str(number), x, y, angle, next(left)))
    headings = (
        Heading("line", None, "text"),
        Heading("step", None, "text"),
        Heading("to x", role="place"),
        Heading("to y", role="place"),
        Heading("reading", Dimension.ANGLE),
        Heading("misfit of its rise", digits=2),
    )
    return Table("what was read, and what is left of it", headings, tuple(rows))


def _net(read: Read) -> tuple[Array, Lines, list[Array], list[str]]:
    """Stations, lines, angles line by line, and names of the lines."""
    if read.word("pattern") == PATTERNS[0]:
        return _by_stations(read)
    points, lines, names = _pattern(read)
    angles = read.column("angle")
    told = angles[~np.isnan(angles)]
    wanted = sum(len(line) - 1 for line in lines)
    if len(told) != wanted:
        raise RequestError(
            f"the {read.word('pattern')} has {wanted} steps, and {len(told)} angles are given",
            "give one angle for each step, line after line: " + ", ".join(names),
        )
    ends = np.cumsum([len(line) - 1 for line in lines])[:-1]
    return points, lines, np.split(told, ends), list(names)


def _pattern(read: Read) -> tuple[Array, Lines, tuple[str, ...]]:
    """Stations and lines of a stated pattern."""
    length, width, steps = read.number("length"), read.number("width"), read.settings.get("steps")
    if length is None or width is None or not isinstance(steps, tuple):
        raise RequestError(
            f"the {read.word('pattern')} needs length, width and steps",
            "give all three, as 400 mm, 300 mm, 4,4,4",
        )
    along, across, diagonal = steps
    if read.word("pattern") == "union jack":
        points, lines = union_jack(length, width, (along, across, diagonal))
        return points, lines, UNION_JACK_LINES
    if min(along, across) < 1:
        raise RequestError("a grid needs a step or more along both sides", "give steps such as 4,3,0")
    points, lines = grid_lines(along + 1, across + 1, length / along, width / across)
    rows = tuple(f"row {number}" for number in range(1, across + 2))
    return points, lines, (*rows, *(f"column {number}" for number in range(1, along + 2)))


def lines_to_read(settings: Mapping[str, str]) -> tuple[tuple[str, int], ...]:
    """Names of the lines of a pattern and how many steps each has, for whoever asks for one reading after the other.

    Args:
        settings: as typed; none of a pattern gives no line.

    >>> lines_to_read({"pattern": "union jack", "steps": "4,2,2"})[0]
    ('bottom', 4)
    """
    texts = settings.get("steps", "").split(",")
    if (
        settings.get("pattern") not in PATTERNS[1:]
        or len(texts) != 3
        or not all(t.strip().isdigit() for t in texts)
    ):
        return ()
    along, across, diagonal = (int(text) for text in texts)
    if settings["pattern"] == "union jack":
        counts = (along, along, across, across, diagonal, diagonal, along, across)
        return tuple(zip(UNION_JACK_LINES, counts))
    rows = [(f"row {number}", along) for number in range(1, across + 2)]
    return (*rows, *((f"column {number}", across) for number in range(1, along + 2)))


def _by_stations(read: Read) -> tuple[Array, Lines, list[Array], list[str]]:
    """Lines from a table: each row is a station of its line, with the angle of the step that ends there."""
    if not {"x", "y"} <= set(read.columns) or "line" not in read.words:
        raise RequestError(
            "the stations are not told",
            "give line, x and y of every station, or a pattern: union jack or grid",
        )
    x, y, angle, names = read.column("x"), read.column("y"), read.column("angle"), read.words["line"]
    order = list(dict.fromkeys(names))
    rows = {name: [row for row, one in enumerate(names) if one == name] for name in order}
    smallest = min(
        (float(np.hypot(np.diff(x[at]), np.diff(y[at])).min()) for at in rows.values() if len(at) > 1),
        default=0.0,
    )
    numbers, points = _stations_of(x, y, smallest * STEPS_FIT)
    for name, at in rows.items():
        _look_at_line(name, angle[at])
    return (
        points,
        tuple(tuple(numbers[row] for row in rows[name]) for name in order),
        [angle[rows[name][1:]] for name in order],
        order,
    )


def _look_at_line(name: str, angles: Array) -> None:
    if len(angles) < 2:
        raise RequestError(f"line '{name}' has one station", "give every station that a foot stood on")
    if np.isnan(angles[1:]).any():
        at = int(np.flatnonzero(np.isnan(angles[1:]))[0]) + 2
        raise RequestError(
            f"line '{name}' has no angle at its station {at}",
            "give the angle of the step that ends there; only the first station of a line has none",
        )
    if not np.isnan(angles[0]):
        raise RequestError(
            f"line '{name}' has an angle at its first station, where no step ends",
            "leave that cell empty, and give the line one more station than angles",
        )


def _stations_of(x: Array, y: Array, near: float) -> tuple[list[int], Array]:
    """Number of the station of each row, and the places of the stations; rows nearer than that are one station."""
    places: list[tuple[float, float]] = []
    numbers = []
    for spot in zip(x.tolist(), y.tolist()):
        away = [float(np.hypot(spot[0] - a, spot[1] - b)) for a, b in places]
        nearest = int(np.argmin(away)) if away else 0
        if away and away[nearest] <= near:
            numbers.append(nearest)
        else:
            places.append(spot)
            numbers.append(len(places) - 1)
    return numbers, np.array(places)


PLATE = Kind(
    "plate",
    "Flatness of a surface from a level or an autocollimator stepped along crossing lines, with closure errors.",
    "Step line after line. In a table each row is a station of its line, with the slope of the step that ends "
    "there; or state a pattern and give the angles alone, line after line. The union jack goes: "
    + ", ".join(UNION_JACK_LINES)
    + "; the grid: rows, then columns. Step towards +x, or +y.",
    (
        Wanted("line", "name of the line", "name", None, needed=False, also=("lines", "run")),
        Wanted("x", "place of the station along x", "place", needed=False, also=("x position", "position x")),
        Wanted("y", "place of the station along y", "place", needed=False, also=("y position", "position y")),
        replace(LEVEL_ANGLE, help="slope of the step that ends here, positive where it rises", gaps=True),
    ),
    (
        Setting(
            "pattern",
            "stations (told by line, x and y), union jack or grid",
            choices=PATTERNS,
            default=PATTERNS[0],
        ),
        Setting("length", "of the pattern along x", Dimension.LENGTH),
        Setting("width", "of the pattern along y", Dimension.LENGTH),
        Setting(
            "steps",
            "numbers of steps along x, along y and along a diagonal, as 4,4,4 (grid: 4,3,0)",
            counts=3,
        ),
        Setting(
            "zero",
            "of the level: shared (one unknown zero), each line (zeroed anew, as an autocollimator), known",
            choices=tuple(str(one) for one in Zero),
            default=str(Zero.SHARED),
        ),
        PLANE,
    ),
    _plate,
    least=4,
    example={
        "pattern": "union jack",
        "length": "400 mm",
        "width": "300 mm",
        "steps": "2,2,2",
        "angle": "3,-2,1,-1,2,-3,0,2,4,-4,1,1,2,-2,3,-3 µm/m",
        "u": "1 µm/m",
    },
)
