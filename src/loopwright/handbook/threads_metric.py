"""Limits of size of ISO metric threads (ISO 965-1) from M1.6 to M64, normal length of engagement.

A tolerance class is a grade and a position: '6g' for a screw, '6H' for a nut. Two of them, as in '5g6g', give
the pitch diameter first and then the crest (major diameter of a screw, minor of a nut). Positions here: e, f,
g, h and G, H; the positions a to d, for thick coatings, are not carried.
"""

import re
from collections.abc import Mapping
from typing import Final, TypeVar

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook.threads_form import Thread, ThreadLimits, profile
from loopwright.handbook.threads_tables import (
    BY_DIAMETER,
    BY_PITCH,
    DIAMETER_STEPS,
    METRIC_SIZES,
    SELECTED,
    PitchDiameterRow,
)

SOURCE: Final = "ISO 965-1, tables from memory, checked against its formulas and printed limits of ISO 965-2"

Key = TypeVar("Key", int, str)

_CLASS: Final = re.compile(r"(\d)([A-Za-z])(?:(\d)([A-Za-z]))?")
_REMEDY: Final = "write grade and position: '6H' for a nut, '6g' or '5g6g' for a screw"
_CHOICES: Final = {1: "first", 2: "second", 3: "third"}
_ROOT_DEPTH: Final = 0.6160254037844386
"""2 (H/2 - P/8) over P: from the pitch line to a root of the least radius, 0.125 P, on the diameter."""


def metric_thread(diameter_mm: float, pitch_mm: float | None = None) -> Thread:
    """A thread of ISO 261.

    Args:
        diameter_mm: nominal diameter, mm, 1.6 to 64.
        pitch_mm: mm; None for the coarse pitch.

    Returns:
        The thread.

    Raises:
        OutOfRange: ISO 261 has no such diameter, or no such pitch with it.

    Source: ISO 261 and ISO 262.

    >>> metric_thread(8).pitch_mm, metric_thread(8, 1).name
    (1.25, 'M8×1')
    """
    size = METRIC_SIZES.get(diameter_mm)
    if size is None:
        nearest = sorted(sorted(METRIC_SIZES, key=lambda d: abs(d - diameter_mm))[:3])
        raise OutOfRange(
            f"M{diameter_mm:g} is not among the sizes of ISO 261 carried here, M1.6 to M64; "
            f"nearest: {', '.join(f'M{d:g}' for d in nearest)}"
        )
    pitch = size.coarse if pitch_mm is None else pitch_mm
    if pitch not in size.pitches:
        given = f"M{diameter_mm:g}" + ("" if pitch is None else f"×{pitch:g}")
        raise OutOfRange(
            f"{given} is not in ISO 261; M{diameter_mm:g} comes with a pitch of {_pitches(diameter_mm)}"
        )
    coarse = pitch == size.coarse
    selected = (diameter_mm, pitch) in SELECTED
    return Thread(
        name=f"M{diameter_mm:g}" + ("" if coarse else f"×{pitch:g}"),
        form="M",
        diameter_mm=float(diameter_mm),
        pitch_mm=pitch,
        series="coarse" if coarse else "fine",
        listed_in="ISO 262" if selected else f"ISO 261, {_CHOICES[size.choice]} choice",
    )


def metric_limits(thread: Thread, tolerance_class: str) -> ThreadLimits:
    """Limits of size of a metric thread.

    Args:
        thread: a thread of :func:`metric_thread`.
        tolerance_class: '6g', '6h', '4g6g', '6H', '5H' ...

    Returns:
        Limits, mm, rounded to 0.001 mm as ISO 965-2 prints them.

    Raises:
        QuantityError: the text is no class of a metric thread.
        OutOfRange: ISO 965-1 has no such position or grade for this pitch and diameter.

    Source: ISO 965-1, tables 1 to 5; least minor diameter of a screw with root radius 0.125 P, clause 11. Checked
    in tests/published/test_iso_965.py.

    >>> found = metric_limits(metric_thread(8), "6g")
    >>> found.major, found.pitch_diameter
    ((7.76, 7.972), (7.042, 7.16))
    """
    grades, letters = _split(tolerance_class)
    external = letters[0].islower()
    row = BY_PITCH[thread.pitch_mm]
    pitch_row = _pitch_diameter_row(thread)
    shifts = [_looked_up(row.shift, letter, thread, "position") / 1000 for letter in letters]
    widths = pitch_row.external if external else pitch_row.internal
    crests = row.major if external else row.minor
    width = _looked_up(widths, grades[0], thread, "pitch diameter, grade") / 1000
    crest = (
        _looked_up(crests, grades[1], thread, f"{'major' if external else 'minor'} diameter, grade") / 1000
    )
    basic = profile(thread)
    pitch, minor = round(basic.pitch_diameter, 3), round(basic.minor, 3)
    if external:
        low = pitch + shifts[0] - width
        return _limits(
            thread,
            tolerance_class,
            major=(thread.diameter_mm + shifts[1] - crest, thread.diameter_mm + shifts[1]),
            pitch=(low, pitch + shifts[0]),
            minor=(low - _ROOT_DEPTH * thread.pitch_mm, minor + shifts[0]),
        )
    return _limits(
        thread,
        tolerance_class,
        major=(thread.diameter_mm + shifts[0], None),
        pitch=(pitch + shifts[0], pitch + shifts[0] + width),
        minor=(minor + shifts[1], minor + shifts[1] + crest),
    )


def _limits(
    thread: Thread,
    tolerance_class: str,
    *,
    major: tuple[float, float | None],
    pitch: tuple[float, float],
    minor: tuple[float, float],
) -> ThreadLimits:
    low, high = major
    return ThreadLimits(
        thread=thread,
        tolerance_class=tolerance_class.strip(),
        external=high is not None,
        major=(round(low, 3), None if high is None else round(high, 3)),
        pitch_diameter=(round(pitch[0], 3), round(pitch[1], 3)),
        minor=(round(minor[0], 3), round(minor[1], 3)),
        rounded_root=None,
        source=SOURCE,
    )


def _split(tolerance_class: str) -> tuple[tuple[int, int], tuple[str, str]]:
    """Grades and letters of the pitch diameter and of the crest."""
    match = _CLASS.fullmatch(tolerance_class.strip())
    if match is None:
        raise QuantityError(f"'{tolerance_class}' is not a tolerance class of a metric thread", _REMEDY)
    grade, letter, crest_grade, crest_letter = match.groups()
    letters = letter, crest_letter or letter
    if letters[0].isupper() != letters[1].isupper():
        raise QuantityError(f"'{tolerance_class}' mixes a screw's and a nut's position", _REMEDY)
    return (int(grade), int(crest_grade or grade)), letters


def _looked_up(row: Mapping[Key, float], key: Key, thread: Thread, what: str) -> float:
    found = row.get(key)
    if found is None:
        have = ", ".join(str(k) for k in row)
        raise OutOfRange(
            f"ISO 965-1 has no {what} {key} for {thread.name} (pitch {thread.pitch_mm:g} mm) in the tables here; "
            f"it has {have}"
        )
    return found


def _pitch_diameter_row(thread: Thread) -> PitchDiameterRow:
    end = next(end for end in DIAMETER_STEPS if thread.diameter_mm <= end)
    return BY_DIAMETER[end, thread.pitch_mm]


def _pitches(diameter_mm: float) -> str:
    size = METRIC_SIZES[diameter_mm]
    return ", ".join(f"{p:g} ({'coarse' if p == size.coarse else 'fine'})" for p in size.pitches)
