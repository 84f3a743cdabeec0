"""Describing a machine by a few answers, and seeing where it stands at once."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from loopwright import units
from loopwright.errors import BuildError, Problem, QuantityError
from loopwright.handbook.materials import MATERIALS
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies import load_text, standing
from loopwright.studies.beginning import begin_with_text
from loopwright.studies.drafting import (
    BEARINGS,
    DRIVINGS,
    LETTERS,
    MAKINGS,
    NORMALS,
    TOOL,
    WORK,
    Plan,
    Slide,
    draft,
    problems_of,
)
from loopwright.units import Dimension
from loopwright.web.views.kit import (
    button,
    choice,
    field,
    form,
    head,
    link,
    meter_bar,
    more,
    paper,
    row,
    stats,
)
from loopwright.web.views.saying import problem_line
from loopwright.web.wording import keys, say
from loopwright.web.work import Reader, Work

Fields = Mapping[str, str]

MOST = 3
"""Axes that can be described here; X, Y and Z once each."""
_SHAPES = {
    "table": (
        Slide("Y", WORK, 200, 250, 200, (0, 0, -90)),
        Slide("X", WORK, 300, 200, 240, (0, 0, -50)),
        Slide("Z", TOOL, 120, 120, 150, (0, 160, 90), faces="front"),
    ),
    "bridge": (
        Slide("X", TOOL, 600, 700, 300, (0, 0, -60)),
        Slide("Y", TOOL, 450, 120, 140, (-100, 0, 140), faces="right"),
        Slide("Z", TOOL, 100, 90, 110, (-60, 0, 110), faces="right"),
    ),
    "lathe": (
        Slide("Z", TOOL, 300, 160, 180, (0, 0, -120), bearing="box way", drive="lead screw"),
        Slide("X", TOOL, 100, 100, 120, (0, 0, -60), bearing="dovetail", drive="lead screw"),
    ),
    "single": (Slide("X", WORK, 200, 160, 180, (0, 0, -80)),),
}
"""Where one can begin; rough sizes in mm. The bed of a lathe lies along its Z, which is why it has none of its own."""


def guided(work: Work, reader: Reader, fields: Fields, wrong: Fields) -> Markup:
    """The questions, with what was answered so far.

    Args:
        work: not asked for anything; there may be no book.
        reader: who answers.
        fields: answers by field; none begins with a shape.
        wrong: what is wrong with an answer, by field.
    """
    given = dict(fields) or fields_of(_SHAPES["table"], inches=reader.units == "inch")
    count = int(given.get("count", "1"))
    slides = [_slide(number, given, wrong) for number in range(1, count + 1)]
    return joined(
        head(say("guided.title"), say("guided.lede")),
        form(
            "guided_look",
            paper(
                say("guided.shape"),
                tag("p", say("guided.shape_what")),
                row(*[_shape(key) for key in _SHAPES]),
            ),
            tag("input", type="hidden", name="count", value=str(count)),
            paper(say("guided.machine"), _machine(given, wrong)),
            *slides,
            row(
                button(say("guided.add"), "guided_add") if count < MOST else None,
                button(say("guided.look"), first=True),
            ),
            id="guided",
            stay=True,
        ),
    )


def _shape(key: str) -> Markup:
    return button(say(f"guided.shape_{key}"), "guided_shape", shape=key)


def _machine(given: Fields, wrong: Fields) -> Markup:
    inches = given.get("inches") == "inch"
    unit = "thou" if inches else "µm"
    materials = sorted(name for name in MATERIALS)
    return tag(
        "div",
        field(
            say("guided.name"), "name", value=given.get("name", ""), wrong=wrong.get("name"), required=True
        ),
        choice(
            say("guided.units"),
            "inches",
            {"mm": say("guided.units_mm"), "inch": say("guided.units_inch")},
            value=given.get("inches", "mm"),
        ),
        field(
            say("guided.limit"),
            "limit",
            value=given.get("limit", ""),
            unit=unit,
            hint=say("guided.limit_hint"),
            wrong=wrong.get("limit"),
            number=True,
        ),
        choice(say("guided.material"), "material", materials, value=given.get("material", "grey cast iron")),
        field(
            say("guided.room"),
            "room",
            value=given.get("room", "3"),
            unit="K",
            hint=say("guided.room_hint"),
            wrong=wrong.get("room"),
            number=True,
        ),
        class_="fields",
    )


def _slide(number: int, given: Fields, wrong: Fields) -> Markup:
    unit = "in" if given.get("inches") == "inch" else "mm"

    def value(name: str) -> str:
        return given.get(f"{number}/{name}", "")

    def length(name: str) -> Markup:
        return field(
            say(f"guided.{name}"),
            f"{number}/{name}",
            value=value(name),
            unit=unit,
            hint=say(f"guided.{name}_hint"),
            wrong=wrong.get(f"{number}/{name}"),
            number=True,
        )

    def pick(name: str, words: Mapping[str, str]) -> Markup:
        return tag(
            "div",
            choice(say(f"guided.{name}"), f"{number}/{name}", words, value=value(name)),
            tag("span", wrong[f"{number}/{name}"], class_="wrong", role="alert")
            if f"{number}/{name}" in wrong
            else None,
        )

    return paper(
        say("guided.axis", number=number, letter=value("letter")),
        tag(
            "div",
            pick("letter", {letter: letter for letter in LETTERS}),
            pick("moves", {WORK: say("guided.moves_work"), TOOL: say("guided.moves_tool")}),
            length("travel"),
            pick("faces", {key: say(f"guided.faces_{key}") for key in NORMALS}),
            length("across"),
            length("along"),
            pick("bearing", {key: known.word for key, known in BEARINGS.items()}),
            pick("drive", {key: known.word for key, known in DRIVINGS.items()}),
            pick("making", {key: known.word for key, known in MAKINGS.items()}),
            length("x"),
            length("y"),
            length("z"),
            field(
                say("guided.mass"),
                f"{number}/mass",
                value=value("mass"),
                unit="kg",
                wrong=wrong.get(f"{number}/mass"),
                number=True,
            ),
            class_="fields",
        ),
        row(button(say("guided.remove"), "guided_remove", quiet=True, number=str(number))),
    )


def fields_of(slides: tuple[Slide, ...], *, inches: bool, keep: Fields | None = None) -> dict[str, str]:
    """Answers that describe slides; those to other questions are kept."""
    slide_free = {k: v for k, v in (keep or {}).items() if "/" not in k}
    out = {"inches": "inch" if inches else "mm"} | slide_free | {"count": str(len(slides))}
    unit = "in" if inches else "mm"
    for number, slide in enumerate(slides, 1):
        lengths = {
            "travel": slide.travel,
            "across": slide.across,
            "along": slide.along,
            "x": slide.at[0],
            "y": slide.at[1],
            "z": slide.at[2],
        }
        words = {n: getattr(slide, n) for n in ("letter", "moves", "faces", "bearing", "drive", "making")}
        shown = {n: f"{float(units.convert(v, Dimension.LENGTH, unit)):.3g}" for n, v in lengths.items()}
        out |= {f"{number}/{n}": str(v) for n, v in {**words, **shown, "mass": f"{slide.mass:g}"}.items()}
    return out


def shaped(work: Work, reader: Reader, fields: Fields, shape: str) -> dict[str, str]:
    """Answers of a shape to begin with."""
    inches = fields.get("inches", "inch" if reader.units == "inch" else "mm") == "inch"
    return fields_of(_SHAPES.get(shape, _SHAPES["single"]), inches=inches, keep=fields)


def added(work: Work, reader: Reader, fields: Fields) -> dict[str, str]:
    """The same answers with one more axis."""
    count = int(fields.get("count", "0"))
    free = [x for x in LETTERS if x not in [fields.get(f"{n}/letter") for n in range(1, count + 1)]]
    if not free:
        return dict(fields)
    inches = fields.get("inches") == "inch"
    one = fields_of((replace(_SHAPES["single"][0], letter=free[0]),), inches=inches)
    if free[0] == "Z":
        one = fields_of((replace(_SHAPES["table"][2], letter="Z"),), inches=inches)
    fresh = {f"{count + 1}/{key[2:]}": value for key, value in one.items() if key.startswith("1/")}
    return {**fields, **fresh, "count": str(count + 1)}


def removed(work: Work, reader: Reader, fields: Fields, number: str) -> dict[str, str]:
    """The same answers without one axis."""
    count = int(fields.get("count", "1"))
    left = [n for n in range(1, count + 1) if str(n) != number]
    out = {key: value for key, value in fields.items() if "/" not in key} | {"count": str(len(left))}
    for to, source in enumerate(left, 1):
        prefix = f"{source}/"
        out |= {f"{to}/{k[len(prefix) :]}": v for k, v in fields.items() if k.startswith(prefix)}
    return out


def looked(work: Work, reader: Reader, fields: Fields) -> tuple[Markup, dict[str, str]]:
    """Where the machine of some answers stands, or nothing; and what is wrong, by field."""
    try:
        text = draft(_plan(fields))
    except BuildError as error:
        return _wrongs(error.problems), {p.field.removeprefix("slides/"): p.what for p in error.problems}
    found = standing(load_text(text), trials=2000)
    target, shown = found.targets[0], Shown(reader.units_of(found.units))
    drawn = target.monte_carlo
    top = [
        tag(
            "li",
            tag("span", driver.name),
            meter_bar(driver.worst),
            tag("span", percent(driver.worst), class_="number"),
        )
        for driver in target.drivers[:6]
    ]
    return (
        paper(
            say("guided.stands"),
            stats(
                (
                    say("guided.stands_expected"),
                    shown.error(target.expected, target.dimension),
                    say("guided.stands_worst", pose=shown.pose(target.worst_pose)),
                ),
                (
                    say("guided.stands_chance"),
                    percent(drawn.chance, drawn.chance_std),
                    say("guided.stands_limit", limit=shown.limit(target.limit, target.dimension)),
                ),
                (say("guided.stands_sources"), str(found.open_sources), say("guided.stands_assumed")),
            ),
            tag("h3", say("guided.stands_drivers")),
            tag("ul", *top, class_="ranked"),
            more(say("guided.text"), tag("pre", tag("code", text)), id="guided-text"),
            row(
                button(say("guided.begin"), "guided_begin", first=True, form="guided"),
                link(say("guided.other"), "/start", quiet=True),
            ),
        ),
        {},
    )


def _wrongs(problems: tuple[Problem, ...]) -> Markup:
    return tag(
        "div",
        tag("h3", say("guided.wrong")),
        tag("ul", *[tag("li", _wrong_line(problem)) for problem in problems]),
        class_="refusal",
        role="alert",
    )


def _wrong_line(problem: Problem) -> Markup:
    """What is wrong with an answer, with the way to its field by the name that stands there."""
    key = problem.field.removeprefix("slides/")
    number, _, name = key.rpartition("/")
    if f"guided.{name}" not in keys():
        return problem_line(problem)
    label = say(f"guided.{name}")
    if number:
        label = say("guided.of_axis", number=number, name=label)
    way = tag("a", label, href="#" + f"f-{key}".replace("/", "-"))
    return joined(way, ": ", problem_line(Problem("", problem.what, problem.remedy)))


def begun(work: Work, reader: Reader, folder: str, fields: Fields) -> str:
    """The place of a new book of the machine of some answers."""
    text = draft(_plan(fields))
    return begin_with_text(text, Path(folder), who=reader.who, file="described.yaml", why=say("guided.why"))


def _plan(fields: Fields) -> Plan:
    """The answers as a plan; all that cannot be read is told at once."""
    problems: list[Problem] = []
    inches = fields.get("inches") == "inch"

    def number(name: str, dimension: Dimension, bare: str, place: str = "") -> float:
        try:
            return units.parse(fields.get(name, ""), dimension, bare=bare)
        except QuantityError as error:
            problems.append(Problem(place or name, error.what, error.remedy))
            return 1.0

    unit = "in" if inches else "mm"
    slides = []
    for n in range(1, int(fields.get("count", "0")) + 1):
        where = {name: f"{n}/{name}" for name in ("travel", "across", "along", "x", "y", "z", "mass")}
        sizes = {
            name: number(key, Dimension.LENGTH, unit, f"slides/{key}")
            for name, key in where.items()
            if name != "mass"
        }
        mass = number(where["mass"], Dimension.MASS, "kg", f"slides/{where['mass']}")
        words = {
            w: fields.get(f"{n}/{w}", "") for w in ("letter", "moves", "faces", "bearing", "drive", "making")
        }
        at = (sizes.pop("x"), sizes.pop("y"), sizes.pop("z"))
        slides.append(Slide(**words, **sizes, at=at, mass=mass))  # type: ignore[arg-type]
    limit = number("limit", Dimension.LENGTH, "thou" if inches else "µm")
    room = number("room", Dimension.TEMPERATURE_DIFFERENCE, "K")
    plan = Plan(
        fields.get("name", ""),
        tuple(slides),
        limit,
        inches=inches,
        material=fields.get("material", "grey cast iron"),
        room=room,
    )
    told = {problem.field for problem in problems}
    problems += [problem for problem in problems_of(plan) if problem.field not in told]
    if problems:
        raise BuildError(problems)
    return plan
