"""Threads by the name that stands on the drawing: 'M6', 'M8×1-6H', '1/4-20 UNC-2B', '1/2-28 UNEF-2A', '#10-32'.

ISO metric threads (ISO 261, ISO 965-1) from M1.6 to M64 and Unified threads (ASME B1.1: UNC, UNF, UNEF) from #0 to
4 in. Lengths are mm. Limits of size are before plating or coating, at 20 °C, for the normal length of engagement.
"""

import re
import unicodedata
from dataclasses import dataclass
from typing import Final, NamedTuple

from loopwright.errors import OutOfRange, QuantityError
from loopwright.handbook.threads_form import (
    Infeed,
    Profile,
    Thread,
    ThreadLimits,
    infeed,
    infeed_passes,
    profile,
    stress_area,
)
from loopwright.handbook.threads_metric import metric_limits, metric_thread
from loopwright.handbook.threads_tables import METRIC_SIZES, UNIFIED_SIZES, UnifiedSize, inches
from loopwright.handbook.threads_unified import unified_limits, unified_thread

__all__ = [
    "Departure",
    "Designation",
    "Infeed",
    "Profile",
    "Thread",
    "ThreadLimits",
    "departures",
    "designation",
    "infeed",
    "infeed_passes",
    "limits",
    "profile",
    "standard_threads",
    "stress_area",
    "thread",
]

REMEDY: Final = "write it as 'M6', 'M8x1', 'M8x1-6H', '1/4-20', '1/4-20 UNC-2B' or '#10-32'"

_METRIC: Final = re.compile(
    r"m(?P<fine>f?) ?(?P<diameter>\d+(?:\.\d+)?) ?(?:[x*] ?(?P<pitch>\d+(?:\.\d+)?))?(?P<rest>.*)"
)
_PITCH_AFTER_DASH: Final = re.compile(r" ?- ?(?P<pitch>\d+(?:\.\d+)?)(?![\d.a-z])(?P<rest>.*)")
_METRIC_CLASS: Final = re.compile(r"\d[a-z](?:\d[a-z])?", re.IGNORECASE)
_UNIFIED: Final = re.compile(
    r"(?P<number>#|no\.? ?|nr\.? ?)?"
    r"(?P<size>\d+[ -]\d+/\d+|\d+/\d+|\d*\.\d+|\d+)(?P<inch> ?(?:\"|''|in\b|inch\b))?"
    r"(?: ?[-x] ?| )(?P<tpi>\d+[ -]1/2|\d+(?:\.\d+)?) ?(?:tpi)?(?P<rest>.*)"
)
_SERIES: Final = {
    **{"unc": "UNC", "unf": "UNF", "unef": "UNEF"},
    **{"unrc": "UNC", "unrf": "UNF", "unref": "UNEF"},
    **{"nc": "UNC", "nf": "UNF", "nef": "UNEF"},
}
_HANDS: Final = {"lh": True, "left": True, "rh": False, "right": False}
_DEFAULT: Final = {
    ("M", True): "6g", ("M", False): "6H", ("UN", True): "2A", ("UN", False): "2B",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Designation:
    """What a thread's designation says.

    Attributes:
        thread: the thread.
        classes: tolerance classes as written, nut before screw where both are given; empty when none is.
        left_hand: a left-hand thread.
    """

    thread: Thread
    classes: tuple[str, ...]
    left_hand: bool


class Departure(NamedTuple):
    """One limit of a printed table that is not the standard's.

    Attributes:
        what: 'greatest major diameter' ...
        printed_mm: what the table says, mm.
        standard_mm: what the standard's rules give, mm; None where it sets no limit.
    """

    what: str
    printed_mm: float
    standard_mm: float | None


def designation(text: str) -> Designation:
    """Read a thread as it stands on a drawing or in a machinist's note.

    Args:
        text: metric: 'M6', 'M8x1', 'M8×1-6H', 'M10x1,25', 'M8-1.25', 'M6-5g6g', 'M6-6H/6g', 'M6-LH'. Unified:
            '1/4-20', '1/4-20 UNC-2B', '1 1/8-7', '1-1/8-7', '.190-32', '#10-32', 'No. 10-32', '10-32 UNF 2A'.
            Capitals matter only in a metric tolerance class.

    Returns:
        Thread, tolerance classes and hand.

    Raises:
        QuantityError: the text is no thread designation, or says two things that exclude each other.
        OutOfRange: a thread that the standards here do not list; the message names the nearest.

    Source: ISO 965-1, clause 5; ASME B1.1, section 6; shop forms are common practice.

    >>> found = designation("M8×1-6H")
    >>> found.thread.name, found.classes
    ('M8×1', ('6H',))
    >>> designation("#10-32").thread.name
    '#10-32 UNF'
    """
    plain = _plain(text)
    low = plain.lower()
    if low.startswith("m"):
        return _metric(text, plain)
    match = _UNIFIED.fullmatch(low)
    if match is None:
        raise QuantityError(f"'{text}' is not a thread designation", REMEDY)
    series, classes, left = _unified_rest(text, match["rest"])
    size = _unified_size(text, match, series)
    return Designation(unified_thread(size), classes, left)


def thread(text: str) -> Thread:
    """The thread that a designation names; its tolerance class and hand are left aside.

    Args:
        text: as for :func:`designation`.

    Raises:
        QuantityError, OutOfRange: as :func:`designation`.

    >>> thread("1/4-20 UNC-2B").pitch_mm
    1.27
    """
    return designation(text).thread


def limits(which: str | Thread, tolerance_class: str | None = None) -> ThreadLimits:
    """Limits of size of a thread's major, pitch and minor diameter.

    Args:
        which: a thread, or its designation.
        tolerance_class: '6g', '5H', '2A' ...; 'external' or 'internal' for the medium class (6g and 6H, 2A and
            2B). None takes the one class that the designation names.

    Returns:
        Limits, mm.

    Raises:
        QuantityError: no class, two classes, or no class of this kind of thread.
        OutOfRange: the standard has no such class for this thread.

    Source: ISO 965-1 (:mod:`loopwright.handbook.threads_metric`), ASME B1.1
    (:mod:`loopwright.handbook.threads_unified`).

    >>> limits("M8", "6H").pitch_diameter
    (7.188, 7.348)
    >>> [round(mm / 25.4, 4) for mm in limits("1/4-20 UNC-2B").pitch_diameter]
    [0.2175, 0.2224]
    """
    said = Designation(which, (), False) if isinstance(which, Thread) else designation(which)
    name = _class_of(said, tolerance_class)
    compute = metric_limits if said.thread.form == "M" else unified_limits
    return compute(said.thread, name)


def departures(
    found: ThreadLimits,
    *,
    major: tuple[float | None, float | None] = (None, None),
    pitch_diameter: tuple[float | None, float | None] = (None, None),
    minor: tuple[float | None, float | None] = (None, None),
    within_mm: float = 0.003,
) -> tuple[Departure, ...]:
    """Hold a row of somebody's thread chart against the standard.

    Charts are often wrong: basic sizes printed as limits, a figure slipped, a digit lost.

    Args:
        found: the standard's limits.
        major: (least, greatest) major diameter as printed, mm; None for what the chart does not say.
        pitch_diameter: likewise.
        minor: likewise.
        within_mm: what rounding may explain, mm; the default is the last place of an inch table.

    Returns:
        Every limit that departs by more than that, in the order major, pitch, minor; empty when the row is right.

    >>> row = departures(limits("1/4-20 UNC-2A"), major=(None, 0.2500 * 25.4))
    >>> row[0].what, round(row[0].standard_mm / 25.4, 4)
    ('greatest major diameter', 0.2489)
    """
    rows = (
        ("major", major, found.major),
        ("pitch", pitch_diameter, found.pitch_diameter),
        ("minor", minor, found.minor),
    )
    return tuple(
        Departure(f"{end} {name} diameter", said, right)
        for name, printed, standard in rows
        for end, said, right in zip(("least", "greatest"), printed, standard)
        if said is not None and not (right is not None and abs(said - right) <= within_mm)
    )


def standard_threads() -> tuple[Thread, ...]:
    """Every thread known here: ISO 261 from M1.6 to M64, then UNC, UNF and UNEF.

    >>> standard_threads()[0].name
    'M1.6'
    """
    metric = (metric_thread(d, pitch) for d, size in METRIC_SIZES.items() for pitch in size.pitches)
    return (*metric, *(unified_thread(size) for size in UNIFIED_SIZES))


def _plain(text: str) -> str:
    """The text with one kind of cross, dash, space, point and fraction bar; '1½' becomes '1 1/2'."""
    spaced = re.sub(r"(\d)(?=[½¼¾⅛⅜⅝⅞])", r"\1 ", text)
    plain = unicodedata.normalize("NFKC", spaced.replace("×", "x")).replace("\N{FRACTION SLASH}", "/")
    plain = re.sub(r"[\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}]", "-", plain)
    plain = re.sub(r"[”″“]", '"', plain)
    return " ".join(re.sub(r"(\d),(\d)", r"\1.\2", plain).split())


def _metric(text: str, plain: str) -> Designation:
    match = _METRIC.fullmatch(plain.lower())
    if match is None:
        raise QuantityError(f"'{text}' is not a metric thread", REMEDY)
    pitch, begin = match["pitch"], match.start("rest")
    if pitch is None and (dashed := _PITCH_AFTER_DASH.fullmatch(match["rest"])):
        pitch, begin = dashed["pitch"], begin + dashed.start("rest")
    if match["fine"] and pitch is None:
        raise QuantityError(f"'{text}' is a fine thread without its pitch", "write the pitch, as in 'M8x1'")
    classes, left = _metric_rest(text, plain[begin:])
    found = metric_thread(float(match["diameter"]), None if pitch is None else float(pitch))
    return Designation(found, classes, left)


def _metric_rest(text: str, rest: str) -> tuple[tuple[str, ...], bool]:
    classes: list[str] = []
    left = False
    if re.match(r" ?[xX*]", rest):
        remedy = "write the pitch after the cross and leave the length of the screw away, as in 'M8x1'"
        raise QuantityError(f"'{text}': '{rest.strip()}' is no pitch", remedy)
    for word in re.split(r"[ /-]+", rest.strip(" -/")) if rest.strip(" -/") else ():
        if word.lower() in _HANDS:
            left = _HANDS[word.lower()]
        elif _METRIC_CLASS.fullmatch(word):
            classes.append(word)
        else:
            raise QuantityError(f"'{text}': '{word}' is neither a tolerance class nor a hand", REMEDY)
    return tuple(classes), left


def _unified_rest(text: str, rest: str) -> tuple[str | None, tuple[str, ...], bool]:
    series: str | None = None
    classes: list[str] = []
    left = False
    for word in re.findall(r"[a-z]+|\d[a-z]?|[^ a-z\d-]", rest):
        if word in _SERIES:
            series = _SERIES[word]
        elif word in _HANDS:
            left = _HANDS[word]
        elif re.fullmatch(r"[123][ab]", word):
            classes.append(word.upper())
        elif word in ("un", "uns", "unr", "unj", "unjc", "unjf"):
            raise OutOfRange(f"'{text}': the series {word.upper()} is not carried; UNC, UNF and UNEF are")
        elif word != "/":
            raise QuantityError(f"'{text}': '{word}' is neither a series, a class nor a hand", REMEDY)
    return series, tuple(sorted(classes, reverse=True)), left


def _unified_size(text: str, match: re.Match[str], series: str | None) -> UnifiedSize:
    per_inch = _inches(text, match["tpi"])
    diameters = _diameters(text, match)
    of_size = [row for row in UNIFIED_SIZES if _away(row, diameters) < 6e-4]
    if not of_size:
        near = {
            row.diameter_in: row.size for row in sorted(UNIFIED_SIZES, key=lambda row: -_away(row, diameters))
        }
        names = ", ".join(near[d] for d in sorted(list(near)[-3:]))
        raise OutOfRange(f"'{text}': no UNC, UNF or UNEF thread has this size; nearest: {names}")
    have = ", ".join(f"{row.size}-{row.threads_per_inch:g} {row.series}" for row in of_size)
    found = [row for row in of_size if row.threads_per_inch == per_inch]
    if not found:
        raise OutOfRange(f"'{text}' is not a UNC, UNF or UNEF thread; this size comes as {have}")
    if series not in (None, found[0].series):
        what = f"'{text}' contradicts itself: {per_inch:g} threads per inch are not {series}"
        raise QuantityError(what, f"this size comes as {have}")
    return found[0]


def _away(row: UnifiedSize, diameters: list[float]) -> float:
    return min(abs(row.diameter_in - diameter) for diameter in diameters)


def _diameters(text: str, match: re.Match[str]) -> list[float]:
    """Basic diameters, in, that a written size may mean; a bare whole number is a screw number or inches."""
    size = match["size"]
    if match["number"]:
        if not size.isdigit():
            raise QuantityError(f"'{text}': a screw number is a whole number", REMEDY)
        return [inches(f"#{size}")]
    bare = size.isdigit() and not match["inch"]
    return [*([inches(f"#{size}")] if bare else []), _inches(text, size)]


def _inches(text: str, number: str) -> float:
    try:
        return float(number) if "/" not in number else inches(number.replace("-", " "))
    except ZeroDivisionError:
        raise QuantityError(f"'{text}': '{number}' is not a fraction", REMEDY) from None


def _class_of(said: Designation, tolerance_class: str | None) -> str:
    if tolerance_class is None:
        if len(said.classes) == 1:
            return said.classes[0]
        what = "names no tolerance class" if not said.classes else f"names {' and '.join(said.classes)}"
        raise QuantityError(f"{said.thread.name} {what}", "give one class, or 'external' or 'internal'")
    if tolerance_class in ("external", "internal"):
        return _DEFAULT[said.thread.form, tolerance_class == "external"]
    return tolerance_class
