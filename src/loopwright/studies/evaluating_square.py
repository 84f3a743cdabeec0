"""Evaluations of squareness: a sweep along a square, a square turned over, levels on two faces, diagonals."""

from dataclasses import replace
from math import hypot, sqrt

import numpy as np

from loopwright.errors import RequestError
from loopwright.measuring.lines import straightness
from loopwright.measuring.squareness import (
    Squareness,
    SquarenessSweep,
    squareness_by_reversal,
    squareness_from_face_diagonals,
    squareness_from_levels,
    squareness_from_sweep,
)
from loopwright.studies.evaluating_forms import (
    AT,
    FIRST,
    HEIGHT,
    POSITION,
    SECOND,
    Array,
    Heading,
    Kind,
    Outcome,
    Part,
    Read,
    Result,
    Setting,
    Shared,
    Sweep,
    Table,
    Wanted,
    with_u,
)
from loopwright.studies.evaluating_lines import DROPS_OUT, HIGH_AND_LOW
from loopwright.units import Dimension

ANGLE = Dimension.ANGLE
LETTERS_KNOWN = ("A0Y", "A0Z", "B0X", "B0Z", "C0X", "C0Y")

LETTERS = Setting(
    "axis",
    "which squareness, in the letters of ISO 230-1: C0Y is Y to X about Z, B0Z is Z to X, A0Z is Z to Y",
    choices=LETTERS_KNOWN,
    needed=True,
)
OVER = Setting("over", "length over which the result is also told", Dimension.LENGTH, default="300 mm")


def axes_of(letters: str) -> tuple[str, str]:
    """The axis across, towards which the moving one leans, and the moving axis.

    >>> axes_of("C0Y")
    ('X', 'Y')
    """
    about = {"A": "X", "B": "Y", "C": "Z"}[letters[0]]
    (across,) = {"X", "Y", "Z"} - {about, letters[2]}
    return across, letters[2]


def _results(read: Read, found: Squareness, parts: tuple[Part, ...] = ()) -> tuple[Result, ...]:
    across, moving = axes_of(found.letters)
    over = read.length("over")
    length, u_length = found.over(over)
    return (
        Result(
            f"{found.letters}, squareness of {moving} to {across}",
            found.angle,
            found.u_angle,
            ANGLE,
            signed=True,
            parts=parts,
        ),
        Result(
            f"angle between +{across} and +{moving}, over 90°",
            found.opens,
            found.u_angle,
            ANGLE,
            signed=True,
            fits="right angle",
            parts=parts,
        ),
        Result(
            f"out of square over {read.size(over)}",
            length,
            u_length,
            parts=tuple(Part(one.name, one.std * over) for one in parts),
        ),
    )


def _form(read: Read, x: Array, readings: Array, covariance: Array | None, own: float) -> tuple[Table, ...]:
    """Readings beside what is left of them about their best line."""
    headings: tuple[Heading, ...] = (AT, Heading("reading"))
    columns = [x.tolist(), readings.tolist()]
    if len(x) > 2:
        form = straightness(x, readings, u=own, covariance=covariance)
        headings = (*headings, *with_u("from the best line"))
        columns += [form.deviations.tolist(), form.u_deviations.tolist()]
    return (Table("readings and their form", headings, tuple(zip(*columns))),)


def _u_square(read: Read) -> float:
    """Standard uncertainty of the square: as stated, or of a rectangle between its limits."""
    u, limit = read.number("u square"), read.number("square limits")
    if (u is None) == (limit is None):
        raise RequestError(
            "how square the square is, is not said" if u is None else "the square is said twice",
            "give its limits (square limits), as 3 µm/300 mm, or from a certificate u square; one of the two",
        )
    return u if u is not None else float(limit or 0.0) / sqrt(3)


def _squareness(read: Read) -> Outcome:
    x, readings = read.column("position"), read.column("reading")
    square, u_square = read.number("square") or 0.0, _u_square(read)
    found, perfect = (
        squareness_from_sweep(read.word("axis"), x, readings, u=read.own, square=square, u_square=u)
        for u in (u_square, 0.0)
    )
    of_square = (Part("square", sqrt(max(found.u_value**2 - perfect.u_value**2, 0.0))),)
    lean = x - x.mean()
    shared = (Shared("square", u_square, lean, stays=True),) if u_square else ()
    return Outcome(
        (*_results(read, found, (Part("square", u_square),)), replace(_zone(found), parts=of_square)),
        _form(read, x, readings, None, read.own),
        sweep=Sweep(
            "sweep along the square, its known error taken off", x, readings + square * lean, shared=shared
        ),
        includes=(
            f"What one reading is worth, over {read.size(found.length)}.",
            f"The square, with a standard uncertainty of {read.small(u_square, ANGLE)}.",
            DROPS_OUT,
        ),
        not_seen=(
            "How well the square's other blade was laid along the datum axis; sweep that blade, and add what it shows.",
            "The form of the swept blade: it is in the zone.",
        ),
    )


def _zone(found: SquarenessSweep) -> Result:
    return Result("zone square to the datum, form included", found.value, found.u_value)


SWEPT = Wanted(
    "reading",
    "displacement from the blade, positive towards + of the axis across (C0Y: +X)",
    "reading",
    also=(*HEIGHT.also, "height"),
    argument="readings",
)
ALONG = replace(POSITION, help="position of the moving axis", argument="travel")

SQUARENESS = Kind(
    "squareness",
    "Squareness of an axis from one sweep along a square, with the square's own limits.",
    "Lay one blade of the square along the datum axis and sweep the other. Without a certificate or a reversal the "
    "square is as good as its limits.",
    (ALONG, SWEPT),
    (
        LETTERS,
        Setting("square limits", "± limits of the square, as 3 µm/300 mm", ANGLE),
        Setting("u square", "or its standard uncertainty from a certificate", ANGLE),
        Setting(
            "square",
            "its known error: lean of the blade towards + of the axis across",
            ANGLE,
            signed=True,
        ),
        OVER,
    ),
    _squareness,
    least=2,
    example={
        "axis": "C0Y",
        "position": "0,100,200",
        "reading": "0,1.5,3 µm",
        "square limits": "3 µm/300 mm",
        "u": "0.5 µm",
    },
)


def _by_reversal(read: Read) -> Outcome:
    x, first, second = read.column("position"), read.column("first"), read.column("second")
    found = squareness_by_reversal(read.word("axis"), x, first, second, u=read.own)
    half = np.eye(len(x)) / 2
    machine = (first + second) / 2
    covariance = np.eye(len(x)) * read.own**2 / 2
    form = _form(read, x, machine, covariance, 0.0)[0]
    headings = (form.headings[0], Heading("first"), Heading("second"), Heading("axis"), *form.headings[2:])
    rows = tuple((row[0], a, b, *row[1:]) for row, a, b in zip(form.rows, first.tolist(), second.tolist()))
    across, _ = axes_of(found.axis.letters)
    square = Result(
        f"square: lean of its blade towards +{across}",
        found.square,
        found.u_square,
        ANGLE,
        signed=True,
        note="as it stood first",
    )
    return Outcome(
        (*_results(read, found.axis), square, _zone(found.axis)),
        (Table(form.title, headings, rows),),
        sweep=Sweep("axis, the square taken off", x, machine, rows=np.hstack([half, half]), turned=True),
        includes=(
            f"What one reading is worth, over {read.size(found.axis.length)}.",
            "The square, which cancels whatever its error.",
            HIGH_AND_LOW,
        ),
        not_seen=("How well the other blade was laid along the datum axis, each time.",),
    )


SQUARENESS_BY_REVERSAL = Kind(
    "squareness by reversal",
    "Squareness of an axis and of the square, told apart by turning the square over.",
    "Sweep the blade, turn the square by half a turn about it, sweep again from its other side. Count both sweeps "
    "positive towards + of the axis across.",
    (ALONG, FIRST, SECOND),
    (LETTERS, OVER),
    _by_reversal,
    least=2,
    example={
        "axis": "C0Y",
        "position": "0,100,200",
        "first": "0,4.5,9 µm",
        "second": "0,-1.5,-3 µm",
        "u": "0.5 µm",
    },
)


def _by_levels(read: Read) -> Outcome:
    datum, face = (one[~np.isnan(one)] for one in (read.column("datum"), read.column("face")))
    count = len(datum) + len(face)
    found = squareness_from_levels(
        read.word("axis"), datum, face, u=read.own, covariance=read.in_common(count)
    )
    rows = [("datum", one) for one in datum.tolist()] + [("face", one) for one in face.tolist()]
    spread = Result("scatter of the readings", _scatter(datum, face), None, ANGLE)
    return Outcome(
        (*_results(read, found), *((spread,) if count > 2 else ())),
        (Table("readings", (Heading("on", None, "text"), Heading("reading", ANGLE)), tuple(rows)),),
        includes=(
            "What one reading is worth.",
            "A zero error of the level that shows in the same sense on both faces; it cancels.",
        ),
        not_seen=("Squareness of the frame of the level itself, unless it was turned on its own face too.",),
    )


def _scatter(datum: Array, face: Array) -> float:
    """Standard deviation of the readings about the mean of their face."""
    left = np.concatenate([datum - datum.mean(), face - face.mean()])
    return float(np.sqrt(left @ left / max(len(left) - 2, 1)))


def _turned_level(name: str, help_: str, *also: str) -> Wanted:
    return Wanted(name, help_, "reading", ANGLE, gaps=True, also=also)


SQUARENESS_BY_LEVELS = Kind(
    "squareness by levels",
    "Squareness of two faces or motions from a frame level on both.",
    "Read every level as a rotation, right-handed about the axis of the first letter (C0Y: about Z).",
    (
        _turned_level("datum", "rotation read on the datum face", "first", "datum face"),
        _turned_level("face", "rotation read on the face that should be square to it", "second", "other"),
    ),
    (LETTERS, OVER),
    _by_levels,
    example={"axis": "A0Z", "datum": "10,14 µm/m", "face": "32,32 µm/m", "u": "2 µm/m"},
)


def _by_diagonals(read: Read) -> Outcome:
    diagonals = read.column("diagonal")
    if len(diagonals) != 2:
        raise RequestError(
            f"there are {len(diagonals)} diagonals",
            "give two: from the corner where both axes are least, then the other",
        )
    across, along = read.length("across"), read.length("along")
    one, two = diagonals.tolist()
    found = squareness_from_face_diagonals(
        read.word("axis"), one, two, across, along, u=read.own, covariance=read.in_common(2)
    )
    expected = hypot(across, along)
    names = ("from the corner where both axes are least", "the other one")
    rows = tuple((name, value, value - expected) for name, value in zip(names, (one, two)))
    headings = (Heading("diagonal", None, "text"), Heading("length", role="place"), Heading("less nominal"))
    return Outcome(
        _results(read, found),
        (Table("diagonals", headings, rows),),
        includes=(
            "What one reading is worth.",
            "The scale of one bar read on both diagonals, which drops out.",
        ),
        not_seen=(
            "Scale errors of the two axes, which change both diagonals alike, and their straightness.",
        ),
    )


SQUARENESS_BY_DIAGONALS = Kind(
    "squareness by diagonals",
    "Squareness of two axes from both diagonals of a rectangle laid out or driven by them.",
    "Read the diagonal from the corner where both axes are least first, then the other one.",
    (
        Wanted(
            "diagonal",
            "length of a diagonal; two of them",
            "reading",
            sizes=True,
            also=("reading", "length", "value"),
        ),
    ),
    (
        LETTERS,
        Setting("across", "side along the axis across (C0Y: X), as commanded", Dimension.LENGTH, needed=True),
        Setting("along", "side along the moving axis (C0Y: Y)", Dimension.LENGTH, needed=True),
        OVER,
    ),
    _by_diagonals,
    least=2,
    example={
        "axis": "C0Y",
        "diagonal": "500.0048,499.9952 mm",
        "across": "400 mm",
        "along": "300 mm",
        "u": "1 µm",
    },
)
