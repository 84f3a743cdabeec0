"""A first description of a machine from a few answers: which axes, what carries what, how far, on which rails.

Everything that is not known yet gets a spread that a shop would admit to before it has measured anything, with a word
beside it that says so. The figures are common practice, from memory; the first readings take their place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import StringIO

from loopwright.errors import BuildError, Problem
from loopwright.units import Dimension, convert

WORK, TOOL = "work", "tool"
LETTERS = ("X", "Y", "Z")
_AXES = {"X": (1.0, 0.0, 0.0), "Y": (0.0, 1.0, 0.0), "Z": (0.0, 0.0, 1.0)}
_WORDS = ("true", "false", "null", "yes", "no", "on", "off")
_PLAIN = 6
"""Significant digits of a coordinate."""


@dataclass(frozen=True)
class Making:
    """How well seats are made: limits of a dim, of two made in one pass, and how a rail lies on them; mm, arcsec."""

    word: str
    limits: float
    own: float
    straightness: float
    slope: float
    rail: float


MAKINGS = {
    "milled": Making("milled seats, rails set by indicator", 0.05, 0.01, 0.012, 15, 0.012),
    "ground": Making("ground seats, rails pushed against a shoulder", 0.02, 0.004, 0.006, 6, 0.005),
    "scraped": Making("seats scraped and measured", 0.01, 0.002, 0.003, 3, 0.003),
}


@dataclass(frozen=True)
class Bearing:
    """What a slide rides on: how far a block may be off, mm, and how stiff it is, N/µm: along its normal, across."""

    word: str
    block: float
    stiffness: float
    across: float


BEARINGS = {
    "profile rail": Bearing("profile rails with preloaded blocks", 0.005, 250, 200),
    "box way": Bearing("box ways with gibs", 0.005, 500, 300),
    "dovetail": Bearing("dovetail with a gib", 0.005, 300, 200),
    "round shaft": Bearing("round shafts with ball bushings", 0.01, 30, 30),
}


@dataclass(frozen=True)
class Driving:
    """What moves a slide: kind in the build file, what is said of its lead error, stiffness N/µm, lead mm or None."""

    word: str
    kind: str
    error: str
    stiffness: float
    lead: float | None = None


DRIVINGS = {
    "ground ball screw": Driving("ground ball screw, grade C5", "ball screw", "{grade: C5}", 100, 5),
    "rolled ball screw": Driving("rolled ball screw, grade T7", "ball screw", "{grade: T7}", 80, 5),
    "lead screw": Driving(
        "trapezoidal screw", "lead screw", "{travel: ±0.1 mm, bandwidth: 0.06 mm, revolution: 0.03 mm}", 60, 4
    ),
    "belt": Driving("toothed belt", "belt", "{travel: ±0.2 mm, bandwidth: 0.1 mm}", 20),
    "rack": Driving("rack and pinion", "rack", "{travel: ±0.08 mm, bandwidth: 0.05 mm}", 60),
    "linear motor": Driving(
        "linear motor and scale", "linear motor", "{travel: ±5 µm, bandwidth: 4 µm}", 150
    ),
}

NORMALS = {
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
    "front": (0.0, -1.0, 0.0),
    "rear": (0.0, 1.0, 0.0),
} | {
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
}
"""Which way the rails look, from what carries the slide to the slide."""
_SIGNED = {
    (0, 0, 1): "+Z",
    (0, 0, -1): "-Z",
    (0, 1, 0): "+Y",
    (0, -1, 0): "-Y",
    (1, 0, 0): "+X",
    (-1, 0, 0): "-X",
}


@dataclass(frozen=True)
class Slide:
    """One axis; lengths in mm.

    Attributes:
        letter: X, Y or Z (ISO 841).
        moves: 'work' or 'tool'.
        travel: how far.
        across: between the two rails, or the two sides of a way.
        along: between the two blocks on one rail, or the length that bears.
        at: middle of its blocks with all axes at zero, seen from the tip of the tool.
        faces: which way the rails look, a key of NORMALS.
        bearing, drive, making: keys of BEARINGS, DRIVINGS, MAKINGS.
        mass: of what it moves besides the slides on it, kg.
    """

    letter: str
    moves: str
    travel: float
    across: float
    along: float
    at: tuple[float, float, float]
    faces: str = "up"
    bearing: str = "profile rail"
    drive: str = "rolled ball screw"
    making: str = "milled"
    mass: float = 20.0


@dataclass(frozen=True)
class Plan:
    """The answers.

    Attributes:
        name: of the machine.
        slides: for work and for tool in the order in which they are carried, the one on the base first.
        limit: what the tool must hold everywhere, mm.
        inches: whether the description is written in inches.
        material: of the bodies.
        room: how far the shop's temperature may be from 20 degC, K.
    """

    name: str
    slides: tuple[Slide, ...]
    limit: float
    inches: bool = False
    material: str = "grey cast iron"
    room: float = 3.0


@dataclass(frozen=True)
class _Carried:
    """A slide with the bodies it lies between."""

    slide: Slide
    parent: str
    child: str


def draft(plan: Plan) -> str:
    """The text of a build file.

    Args:
        plan: the answers.

    Returns:
        Text that can be read back without a mistake; every assumption is marked in it.

    Raises:
        BuildError: the answers do not fit together; all that is wrong is in it.

    >>> slide = Slide("X", WORK, 200, 160, 180, (0, 0, -80))
    >>> draft(Plan("Small planer", (slide,), 0.02)).splitlines()[:2]
    ['format: loopwright-build/1', 'name: Small planer']
    """
    problems = problems_of(plan)
    if problems:
        raise BuildError(problems)
    return _Writer(plan).text()


def problems_of(plan: Plan) -> list[Problem]:
    """Everything that is wrong with the answers; none means that they can be written down."""
    found = []
    if not plan.name.strip():
        found.append(Problem("name", "the machine has no name", "give it one"))
    if not plan.slides:
        found.append(Problem("slides", "no axis moves", "add at least one"))
    if not plan.limit > 0:
        found.append(Problem("limit", "the limit is not above zero", "say what the tool must hold, as 20 µm"))
    letters = [slide.letter for slide in plan.slides]
    twice = sorted({one for one in letters if letters.count(one) > 1})
    found += [
        Problem("slides", f"{letter} is there twice", "give every axis its own letter") for letter in twice
    ]
    for number, slide in enumerate(plan.slides, 1):
        found += _slide_problems(f"slides/{number}", slide)
    return found


def _slide_problems(place: str, slide: Slide) -> list[Problem]:
    found = []
    lengths = {"travel": slide.travel, "across": slide.across, "along": slide.along}
    found += [
        Problem(f"{place}/{name}", f"{length:g} mm cannot be", "give a length above zero")
        for name, length in lengths.items()
        if not 0 < length < 1e5
    ]
    choices: Sequence[tuple[str, str, Sequence[str]]] = (
        ("letter", slide.letter, LETTERS),
        ("moves", slide.moves, (WORK, TOOL)),
        ("faces", slide.faces, tuple(NORMALS)),
        ("bearing", slide.bearing, tuple(BEARINGS)),
        ("drive", slide.drive, tuple(DRIVINGS)),
        ("making", slide.making, tuple(MAKINGS)),
    )
    found += [
        Problem(f"{place}/{name}", f"'{value}' is not known", f"one of {', '.join(known)}")
        for name, value, known in choices
        if value not in known
    ]
    if not found and abs(_dot(_AXES[slide.letter], NORMALS[slide.faces])) > 0.5:
        found.append(
            Problem(
                f"{place}/faces",
                f"rails that look {slide.faces} cannot guide {slide.letter}",
                "they look across the way they lead",
            )
        )
    if not slide.mass >= 0:
        found.append(Problem(f"{place}/mass", "the mass is below zero", "give what it weighs, roughly"))
    return found


def _dot(a: Sequence[float], b: Sequence[float]) -> float:
    return sum(x * y for x, y in zip(a, b))


def _cross(a: Sequence[float], b: Sequence[float]) -> tuple[float, float, float]:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


class _Writer:
    """Writes the description, section by section."""

    def __init__(self, plan: Plan) -> None:
        self.plan, self.out = plan, StringIO()
        self.carried = [*self._chain(WORK), *self._chain(TOOL)]
        self.table = self._end(WORK, "base")
        self.head = self._end(TOOL, "base")

    def _chain(self, side: str) -> list[_Carried]:
        slides = [slide for slide in self.plan.slides if slide.moves == side]
        last = "table" if side == WORK else "head"
        out, parent = [], "base"
        for number, slide in enumerate(slides, 1):
            child = (
                last
                if number == len(slides)
                else f"{slide.letter} {'saddle' if side == WORK else 'carriage'}"
            )
            out.append(_Carried(slide, parent, child))
            parent = child
        return out

    def _end(self, side: str, none: str) -> str:
        ends = [one.child for one in self.carried if one.slide.moves == side]
        return ends[-1] if ends else none

    def text(self) -> str:
        for section in (
            self._head,
            self._parts,
            self._bodies,
            self._joints,
            self._targets,
            self._gauges,
            self._tests,
        ):
            section()
        return self.out.getvalue()

    def put(self, *lines: str) -> None:
        self.out.write("\n".join(lines) + "\n")

    def length(self, value: float) -> str:
        """A length as a bare number of the file."""
        shown = float(convert(value, Dimension.LENGTH, "in" if self.plan.inches else "mm"))
        return f"{shown:.{_PLAIN}g}"

    def small(self, value: float) -> str:
        """A small length with its unit."""
        unit = "thou" if self.plan.inches else "µm"
        return f"{float(convert(value, Dimension.LENGTH, unit)):.3g} {unit}"

    def point(self, at: Sequence[float]) -> str:
        return "[" + ", ".join(self.length(v + 0.0) for v in at) + "]"

    def _head(self) -> None:
        plan = self.plan
        unit = "in" if plan.inches else "mm"
        self.put(
            "format: loopwright-build/1",
            f"name: {_quoted(plan.name.strip())}",
            "note: >-",
            "  A first description, made from a few answers. What is marked 'assumed' is common practice and nothing",
            "  more: measure it, and the readings take its place.",
            "",
            "# Coordinates: all axes at zero, the tip of the tool at the origin. X to the right, Y to the rear, Z up.",
            f"units: {{length: {unit}, angle: arcsec}}",
            "assume: rectangular",
            "confidence: 95 %",
            f"contact_stiffness: {'1400 lbf/thou' if plan.inches else '250 N/µm'}",
            "",
            "heat:",
            "  reference: 20 degC",
            f"  room: 20 degC ±{plan.room:g} K",
            "  every_body: ±1 K",
            "",
        )

    def _parts(self) -> None:
        self.put("# one part for each body, with the seats of its rails and the pads of its blocks", "parts:")
        for body in ["base", *(one.child for one in self.carried)]:
            self.put(f"  {body}:", f"    material: {self.plan.material}")
            dims = self._dims(body)
            self.put(*(["    dims:", *dims] if dims else []))
        self.put("", "made_together:          # assumed: each pair is cut in one pass, without unclamping")
        for one in self.carried:
            making = MAKINGS[one.slide.making]
            for part, what in ((one.parent, "seat"), (one.child, "pad")):
                names = ", ".join(f"{part}/{one.slide.letter}_{what}_{rail}" for rail in "AB")
                self.put(
                    f"  {one.slide.letter} {what}s: {{dims: [{names}], shared: ±{self.small(making.limits)}, "
                    f"own: ±{self.small(making.own)}}}"
                )
        self.put("")

    def _dims(self, body: str) -> list[str]:
        out, nominal = [], self.length(25.4 if self.plan.inches else 25.0)
        for one in self.carried:
            limits = self.small(MAKINGS[one.slide.making].limits)
            what = "seat" if body == one.parent else "pad" if body == one.child else None
            if what:
                out += [f"      {one.slide.letter}_{what}_{rail}: {nominal} ±{limits}" for rail in "AB"]
        return out

    def _bodies(self) -> None:
        self.put("bodies:", f"  base: {{parts: [base], material: {self.plan.material}}}")
        for one in self.carried:
            slide = one.slide
            mass = f"{slide.mass:g} kg ±{max(0.1 * slide.mass, 0.1):.2g} kg"
            self.put(
                f"  {one.child}: {{parts: [{one.child}], material: {self.plan.material}, mass: {mass}, "
                f"centre_of_mass: {self.point(slide.at)}}}   # assumed"
            )
        self.put("")

    def _joints(self) -> None:
        self.put("joints:")
        for one in self.carried:
            self._joint(one)

    def _joint(self, one: _Carried) -> None:
        slide, making = one.slide, MAKINGS[one.slide.making]
        bearing, driving = BEARINGS[slide.bearing], DRIVINGS[slide.drive]
        axis, normal = _AXES[slide.letter], NORMALS[slide.faces]
        across = _cross(normal, axis)
        # the way is that of the tool over the work (ISO 841), so what carries the work goes the other way
        sign = "-" if slide.moves == WORK else "+"
        signed = _SIGNED[tuple(int(v) for v in normal)]  # type: ignore[index]
        self.put(
            f"  {slide.letter} slide:      # {bearing.word}; {making.word}",
            "    kind: linear",
            f"    parent: {one.parent}",
            f"    child: {one.child}",
            f"    along: {sign}{slide.letter}",
            f"    travel: [0, {self.length(slide.travel)}]",
            "    guide:",
            f"      normal: {_quoted(signed)}",
            "      rails_on: parent",
            "      rails:              # assumed: how the rails lie after they are bolted down",
        )
        for rail in "AB":
            self._rail(one, rail, making)
        self.put("      blocks:")
        for rail, side in (("A", -0.5), ("B", 0.5)):
            for word, end in (("front", -0.5), ("rear", 0.5)):
                at = [
                    c + side * slide.across * a + end * slide.along * u
                    for c, a, u in zip(slide.at, across, axis)
                ]
                self.put(
                    f"        {rail} {word}: {{rail: {rail}, at: {self.point(at)}, "
                    f"height: {{dims: [+{one.child}/{slide.letter}_pad_{rail}]}}}}"
                )
        self.put(
            "      every_block:        # assumed",
            f"        height: {{deviation: ±{self.small(bearing.block)}, stiffness: {bearing.stiffness:g} N/µm}}",
            f"        side: {{deviation: ±{self.small(bearing.block)}, stiffness: {bearing.across:g} N/µm}}",
            "    drive:                # assumed",
            f"      kind: {driving.kind}",
            f"      at: {self.point(slide.at)}",
            *([f"      lead: {driving.lead:g} mm"] if driving.lead else []),
            f"      lead_error: {driving.error}",
            f"      stiffness: {driving.stiffness:g} N/µm",
            "",
        )

    def _rail(self, one: _Carried, rail: str, making: Making) -> None:
        letter = one.slide.letter
        lies = (
            f"straightness: {self.small(making.straightness)}, slope: ±{making.slope:g} arcsec, "
            f"deviation: ±{self.small(making.rail)}"
        )
        self.put(
            f"        {rail}:",
            f"          height: {{dims: [+{one.parent}/{letter}_seat_{rail}], {lies}}}",
            f"          side: {{{lies}}}",
        )

    def _middle(self) -> str:
        return ", ".join(f"{s.letter}: {self.length(s.travel / 2)}" for s in self.plan.slides)

    def _targets(self) -> None:
        over = ", ".join(f"{s.letter}: [0, {self.length(s.travel)}]" for s in self.plan.slides)
        self.put(
            "targets:",
            "  tool position:",
            f"    between: [{self.table}, {self.head}]",
            "    point: [0, 0, 0]",
            "    component: XYZ",
            f"    over: {{{over}}}",
            f"    zeroed: {{at: {{{self._middle()}}}}}      # touched off in the middle",
            f"    limit: {self.small(self.plan.limit)}",
            "",
        )

    def _gauges(self) -> None:
        self.put(
            "gauges:                 # assumed: put in what your own certificates say",
            "  indicator: {resolution: 1 µm, calibration: ±1 µm, repeatability: {std: 0.5 µm}, reversal: ±0.5 µm}",
            "  micrometer: {resolution: 1 µm, calibration: ±2 µm, repeatability: {std: 1 µm}}",
            "",
            "artefacts:",
            "  straightedge: {straightness: ±2 µm}",
            "  square: {straightness: ±2 µm, note: its own squareness included}",
            "  scale: {straightness: ±3 µm, note: a calibrated scale or step bar}",
            "",
        )

    def _tests(self) -> None:
        self.put("tests:")
        slides = self.plan.slides
        others = {s.letter: [o for o in LETTERS if o != s.letter] for s in slides}
        for slide in slides:
            for other in others[slide.letter]:
                self._test(f"{slide.letter} straight in {other}", slide, other, "straightedge", "line", 25)
            self._test(f"{slide.letter} positioning", slide, slide.letter, "scale", self._at_zero(slide), 40)
        for number, first in enumerate(slides):
            for second in slides[number + 1 :]:
                name = f"{second.letter} square to {first.letter}"
                self._test(name, second, first.letter, "square", self._at_zero(second), 20)

    def _at_zero(self, slide: Slide) -> str:
        held = [f"{s.letter}: {self.length(s.travel / 2)}" for s in self.plan.slides if s is not slide]
        return "{at: {" + ", ".join([f"{slide.letter}: 0", *held]) + "}}"

    def _test(self, name: str, slide: Slide, along: str, artefact: str, zeroed: str, minutes: int) -> None:
        step = self.length(slide.travel / 8)
        held = [f"{s.letter}: {self.length(s.travel / 2)}" for s in self.plan.slides if s is not slide]
        holding = f"holding: {{{', '.join(held)}}}, " if held else ""
        self.put(
            f"  {name}: {{between: [{self.table}, {self.head}], along: +{along}, "
            f"sweep: {{{slide.letter}: [0, {self.length(slide.travel)}, {step}]}}, {holding}"
            f"gauge: indicator, artefact: {artefact}, zeroed: {zeroed}, minutes: {minutes}}}"
        )


def _quoted(text: str) -> str:
    """A text as YAML takes it whatever signs it holds."""
    plain = text.isprintable() and all(c.isalnum() or c in " -_.,()/µ" for c in text)
    safe = (
        plain
        and text[0].isalpha()
        and text == text.strip()
        and text.lower() not in ("true", "false", "null", "yes", "no")
    )
    return text if safe else "'" + text.replace("'", "''") + "'"
