"""Limits and fits of ISO 286: standard tolerances, limit deviations of a tolerance class, fits.

Source: ISO 286-1:2010 and ISO 286-2:2010; the numbers stand in :mod:`loopwright.handbook.iso286_tables`,
which says where each was read. Sizes 0 to 3150 mm; above 500 mm only d to h, js, k, m, n, p, r, s, t, u (and
their holes). Rules that the tables alone do not show:

* js and JS are exactly ± IT/2, the 2010 text. The 1988 edition let an odd IT7 to IT11 be rounded down to even
  first (40JS7 as ±12 instead of ±12.5 µm).
* Holes K, M, N up to IT8 and P to ZC up to IT7 are the mirrored shaft plus delta = IT(n) - IT(n-1), over 3 up
  to 500 mm.
* N above IT8 starts at zero over 3 up to 500 mm. K above IT8 exists only up to 3 mm. M6 over 250 to 315 mm
  starts at -9 µm.
"""

import re
from bisect import bisect_left
from dataclasses import dataclass
from typing import Final, Literal

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook.iso286_tables import (
    BY_FINE_STEP,
    BY_MAIN_STEP,
    FINE_STEPS,
    GRADES,
    MAIN_STEPS,
    STANDARD_TOLERANCE,
    Row,
)

FitKind = Literal["clearance", "transition", "interference"]

_CLASS: Final = re.compile(r"\s*([A-Za-z]{1,2})\s*(\d{1,2})\s*")
_CLEARANCE_LETTERS: Final = frozenset({*"abcdefgh", "cd", "ef", "fg"})
_LETTERS: Final = _CLEARANCE_LETTERS | {*"jkmnprstuvxyz", "js", "za", "zb", "zc"}
_WITH_DELTA_TO_8: Final = frozenset("kmn")
_REMEDY: Final = "write letter and grade: 'H7' for a hole, 'g6' for a shaft, 'IT7' for ± half a tolerance"


@dataclass(frozen=True, slots=True)
class Fit:
    """A hole and a shaft of one nominal size.

    Attributes:
        size_mm: nominal size, mm.
        hole: (lower, upper) deviation of the hole, mm.
        shaft: (lower, upper) deviation of the shaft, mm.
    """

    size_mm: float
    hole: tuple[float, float]
    shaft: tuple[float, float]

    @property
    def clearance(self) -> tuple[float, float]:
        """(least, greatest) clearance, mm; negative is interference."""
        return round(self.hole[0] - self.shaft[1], 9), round(self.hole[1] - self.shaft[0], 9)

    @property
    def kind(self) -> FitKind:
        """The kind of fit (ISO 286-1:2010, 3.3).

        'clearance' when the least clearance is zero or more, 'interference' when the greatest is zero or
        less, else 'transition'.
        """
        least, greatest = self.clearance
        if least >= 0:
            return "clearance"
        return "interference" if greatest <= 0 else "transition"


def limits(size_mm: float, tolerance_class: str) -> tuple[float, float]:
    """Limit deviations of a size with an ISO 286 tolerance class.

    Args:
        size_mm: nominal size, mm, over 0 up to 3150.
        tolerance_class: letter and grade: capitals for a hole ('H7'), small for a shaft ('g6'); 'IT7' gives ±
            IT/2.

    Returns:
        (lower, upper) deviation from nominal, mm.

    Raises:
        QuantityError: the text is not a tolerance class.
        OutOfRange: the standard, or the table here, has no value for this size, letter and grade.

    Source: ISO 286-1:2010 and ISO 286-2:2010. Checked in tests/published/test_iso_286.py.

    >>> limits(25, "H7")
    (0.0, 0.021)
    >>> limits(50, "g6")
    (-0.025, -0.009)
    >>> limits(40, "K7")
    (-0.018, 0.007)
    """
    letter, grade = _split(tolerance_class)
    width = _tolerance_um(size_mm, grade)
    if letter in ("IT", "js", "JS"):
        return -width / 2 / 1000, width / 2 / 1000
    fundamental = _fundamental_um(size_mm, letter, grade)
    is_lower_end = letter.islower() != (letter.lower() in _CLEARANCE_LETTERS)
    low, high = (fundamental, fundamental + width) if is_lower_end else (fundamental - width, fundamental)
    return low / 1000 + 0.0, high / 1000 + 0.0  # + 0.0 turns -0.0 into 0.0


def standard_tolerance(size_mm: float, grade: str | int) -> float:
    """Standard tolerance IT of a grade.

    Args:
        size_mm: nominal size, mm, over 0 up to 3150; IT01 and IT0 up to 500; IT14 to IT18 over 1.
        grade: 7, '7' or 'IT7'; '01' and '0' for the two finest.

    Returns:
        The width of the tolerance interval, mm.

    Raises:
        QuantityError: there is no such grade.
        OutOfRange: the size has no value in this grade.

    Source: ISO 286-1:2010, table 1.

    >>> standard_tolerance(25, 7)
    0.021
    """
    return _tolerance_um(size_mm, _grade(grade)) / 1000


def fundamental_deviation(size_mm: float, letter: str, grade: str | int) -> float:
    """Signed deviation of the limit nearest to nominal.

    That is es of a to h, ei of j to zc, EI of A to H, ES of J to ZC.

    Args:
        size_mm: nominal size, mm, over 0 up to 3150.
        letter: 'a' to 'zc' for a shaft, 'A' to 'ZC' for a hole; js gives -IT/2, JS gives +IT/2.
        grade: as in :func:`standard_tolerance`.

    Returns:
        The deviation, mm.

    Raises:
        QuantityError: there is no such letter or grade.
        OutOfRange: the standard, or the table here, has no value.

    Source: ISO 286-1:2010, tables 2 to 5.

    >>> fundamental_deviation(25, "P", 7), fundamental_deviation(25, "p", 6)
    (-0.014, 0.022)
    """
    grade_name = _grade(grade)
    letter = _letter(letter, f"{letter}{grade_name}")
    if letter.lower() == "js":
        half = _tolerance_um(size_mm, grade_name) / 2000
        return -half if letter == "js" else half
    return _fundamental_um(size_mm, letter, grade_name) / 1000 + 0.0


def fit(size_mm: float, classes: str) -> Fit:
    """Limits and clearances of a hole and a shaft of one nominal size.

    Args:
        size_mm: nominal size, mm.
        classes: hole class, slash, shaft class: 'H7/g6'.

    Returns:
        The fit.

    Raises:
        QuantityError: not a hole class and a shaft class.
        OutOfRange: as :func:`limits`.

    Source: ISO 286-1:2010, 3.3.

    >>> fit(25, "H7/p6").clearance
    (-0.035, -0.001)
    """
    hole, slash, shaft = (text.strip() for text in classes.partition("/"))
    if not slash or not hole[:1].isupper() or not shaft[:1].islower():
        raise QuantityError(f"'{classes}' is not a fit", "write the hole first, as in 'H7/g6'")
    return Fit(size_mm, limits(size_mm, hole), limits(size_mm, shaft))


def _split(tolerance_class: str) -> tuple[str, str]:
    match = _CLASS.fullmatch(tolerance_class)
    if match is None:
        raise QuantityError(f"'{tolerance_class}' is not a tolerance class", _REMEDY)
    letters, grade = match.groups()
    if letters == "IT":
        return letters, _grade(grade)
    return _letter(letters, tolerance_class), _grade(grade)


def _letter(letters: str, given: str) -> str:
    """The letter, in capitals for a hole; 'Js' as older books print it is JS."""
    one_case = letters.islower() or letters.isupper() or letters == "Js"
    if letters.lower() not in _LETTERS or not one_case:
        raise QuantityError(f"'{given}' is not a tolerance class: there is no letter '{letters}'", _REMEDY)
    return letters if letters[0].islower() else letters.upper()


def _grade(grade: str | int) -> str:
    name = str(grade).strip().removeprefix("IT").strip()
    if name not in GRADES:
        raise QuantityError(f"'{grade}' is not a standard tolerance grade", "use 01, 0, or 1 to 18")
    return name


def _number(grade: str) -> int:
    return 0 if grade == "01" else int(grade)


def _step(size_mm: float, steps: tuple[int, ...]) -> int:
    if not 0 < size_mm <= steps[-1]:
        raise OutOfRange(f"{size_mm:g} mm is outside ISO 286, which covers sizes over 0 up to {steps[-1]} mm")
    return bisect_left(steps, size_mm)


def _cell(row: Row, step: int) -> float | None:
    return row[step] if step < len(row) else None


def _tolerance_um(size_mm: float, grade: str) -> float:
    value = STANDARD_TOLERANCE[_step(size_mm, MAIN_STEPS)][GRADES.index(grade)]
    if value is None:
        raise OutOfRange(f"IT{grade} ends at 500 mm in ISO 286-1; {size_mm:g} mm needs IT1 or coarser")
    if size_mm <= 1 and _number(grade) >= 14:
        raise OutOfRange(
            f"IT{grade} is not for sizes up to 1 mm (ISO 286-1); {size_mm:g} mm needs IT13 or finer"
        )
    return value


def _tabulated_um(size_mm: float, row_name: str, given: str) -> float:
    fine = row_name in BY_FINE_STEP
    row = BY_FINE_STEP[row_name] if fine else BY_MAIN_STEP.get(row_name, ())
    value = _cell(row, _step(size_mm, FINE_STEPS if fine else MAIN_STEPS))
    if value is None:
        raise OutOfRange(
            f"no {given} at {size_mm:g} mm in the tables of ISO 286-1 here; choose another class"
        )
    return value


def _fundamental_um(size_mm: float, letter: str, grade: str) -> float:
    given, small = letter + grade, letter.lower()
    if small in ("a", "b") and size_mm <= 1:
        raise OutOfRange(f"{given} is not for sizes up to 1 mm (ISO 286-1), and the size is {size_mm:g} mm")
    if small == "j":
        return _tabulated_um(size_mm, given, given)
    if letter.islower():
        return _shaft_um(size_mm, small, grade)
    if small in _CLEARANCE_LETTERS:
        return -_tabulated_um(size_mm, small, given)
    return _hole_um(size_mm, small, grade, given)


def _shaft_um(size_mm: float, letter: str, grade: str) -> float:
    if letter == "k" and not 4 <= _number(grade) <= 7:
        _step(size_mm, MAIN_STEPS)
        return 0.0
    return _tabulated_um(size_mm, letter, letter + grade)


def _hole_um(size_mm: float, small: str, grade: str, given: str) -> float:
    """Upper deviation of a hole K to ZC."""
    number = _number(grade)
    mirrored = -_tabulated_um(size_mm, small, given)
    if not 3 < size_mm <= 500:
        if small == "n" and number > 8 and size_mm <= 1:
            raise OutOfRange(
                f"{given} is not for sizes up to 1 mm (ISO 286-1), and the size is {size_mm:g} mm"
            )
        return mirrored
    if number > (8 if small in _WITH_DELTA_TO_8 else 7):
        if small == "k":
            raise OutOfRange(
                f"{given} exists only up to 3 mm; for {size_mm:g} mm use K8 or finer, or JS{grade}"
            )
        return 0.0 if small == "n" else mirrored
    if number < 3:
        raise OutOfRange(f"no {given} in ISO 286-1: such holes start at grade 3; use grade 3 or coarser")
    if given == "M6" and 250 < size_mm <= 315:
        return -9.0
    return mirrored + _tolerance_um(size_mm, grade) - _tolerance_um(size_mm, str(number - 1))
