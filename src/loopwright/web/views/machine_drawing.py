"""What the script of the drawing is given: the lines of the machine, and where they are at a pose. It only projects."""

import json
from typing import Any

import numpy as np

from loopwright import units
from loopwright.model.records import Revision
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.machine_form import MachineForm, Mark
from loopwright.studies.machine_view import AxisAt, MachineAt, reach_of
from loopwright.units import Dimension
from loopwright.web.views.kit import button, choice, head, row, tick
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

TIMES = (0, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)
"""How many times larger small motions can be drawn."""
SLIDES = 250
"""A slider has this many steps or a few less."""
LEGEND = (
    ("body", "M3,9 L12,5 L21,9 L12,13 z M3,9 v4 l9,4 v-4 M21,9 v4 l-9,4", ""),
    ("expected", "M2,13 L22,7", "expected"),
    ("unknown", "M4,9 h16 M4,6 v6 M20,6 v6", "unknown"),
    ("contact", "M8,10 a4,4 0 1,0 .01,0 M8,14 v-11 M5.5,5.5 L8,2.5 L10.500,5.500", ""),
    ("adjuster", "M12,3 L20,10 L12,17 L4,10 z", "adjuster"),
    ("rail", "M2,8 L22,8 M2,12 L22,12", ""),
    ("block", "M5,6 h14 v8 h-14 z", "full"),
    ("drive", "M2,10 h3 m2,0 h1 m2,0 h4 m2,0 h1 m2,0 h3 M9,6 h6 l2,4 l-2,4 h-6 l-2,-4 z", ""),
    ("motions", "M4,5 h16 L12,17 z", ""),
    ("mass", "M12,4 a6,6 0 1,0 .01,0 M12,4 v12 M6,10 h12", ""),
    ("axis", "M2,10 h6 m2,0 h2 m2,0 h8", ""),
    ("tool", "M7,3 h10 L12,17 z", "full"),
    ("work", "M12,4 a6,6 0 1,0 .01,0", ""),
    ("error", "M3,15 L19,5 M13,5 h6 v6", "error"),
    ("limit", "M12,3 a7,7 0 1,0 .01,0", "limit"),
)


def stage(work: Work, reader: Reader, at: MachineAt) -> Markup:
    """Heading, drawing and what moves it."""
    shown = work.shown(reader)
    lines = _given(shown, at.form, key_of(work)) | {"reach": reach_of(work.bench).tolist()}
    given = json.dumps(lines, ensure_ascii=False, separators=(",", ":"))
    place = tag(
        "div",
        id="machine-drawing",
        class_="machine-drawing",
        data_way="machine",
        data_form=given,
    )
    return joined(
        head(say("machine.title"), say("machine.lede")),
        tag(
            "div",
            _views(),
            tag(
                "figure",
                place,
                tag("p", say("machine.hint"), id="machine-said", class_="machine-said", role="status"),
            ),
            _axes(shown, at),
            _choices(work.bench.build.confidence, at),
            _legend(at.form),
            class_="paper machine-stage",
        ),
    )


def _said() -> Markup:
    return tag("p", say("machine.hint"), id="machine-said", class_="machine-said", role="status")


def key_of(work: Work) -> str:
    """Names the description that the lines were made of."""
    return str(max((entry.number for entry, _ in work.bench.having(Revision)), default=0))


def _given(shown: Shown, form: MachineForm, key: str) -> dict[str, Any]:
    """Lines, marks and words, which stay while the axes move."""
    length, error = shown.units.length, shown.units.small_length
    return {
        "key": key,
        "up": form.up,
        "size": form.size,
        "units": {
            "length": [length, units.factor(length, Dimension.LENGTH)],
            "error": [error, units.factor(error, Dimension.LENGTH)],
        },
        "bodies": [
            {
                "label": say("machine.kind_body", number=body.number, name=body.name),
                "pick": f"body/{body.name}",
                "number": body.number,
                "plates": body.plates,
                "ribs": body.ribs,
                "webs": body.webs,
                "tools": body.tools,
            }
            for body in form.bodies
        ],
        "marks": [
            {
                "kind": mark.kind,
                "label": label_of(mark),
                "pick": pick_of(mark),
                "joint": mark.joint,
                "points": mark.points,
                "normals": mark.normals,
            }
            for mark in form.marks
        ],
        "words": {
            "drawing": say("machine.drawing"),
            "things": say("machine.things"),
            "stated": say("machine.stated", n="{n}"),
            "off": say("machine.stated_off"),
            "hint": say("machine.hint"),
        },
    }


def label_of(mark: Mark) -> str:
    """What a mark is called."""
    return say(f"machine.kind_{mark.kind}", name=mark.name, joint=mark.joint, body=mark.body)


def pick_of(mark: Mark) -> str:
    """What picking a mark asks for: 'mark/Y slide/nut side', 'body/head', 'joint/Y slide'."""
    if mark.kind == "mass":
        return f"body/{mark.body}"
    return f"mark/{mark.joint}/{mark.path}" if mark.path else f"joint/{mark.joint}"


def at_pose(shown: Shown, at: MachineAt, key: str, sequence: str, picked: str, refused: str) -> Markup:
    """Where the lines are at a pose, as numbers for the script."""
    given = {
        "key": key,
        "sequence": sequence,
        "picked": picked,
        "refused": refused,
        "pose": {axis.letter: position_text(shown, axis, axis.position) for axis in at.axes},
        "said": shown.pose(at.pose),
        "points": np.round(at.points, 3).ravel().tolist(),
        # nanometres: whole numbers are short
        "moves": np.round(at.moves * 1e6).astype(int).ravel().tolist(),
        "directions": np.round(at.directions, 4).ravel().tolist(),
        "bodies": [[*_rounded(b.centre), *_nm(b.move), *_nm(b.move_reach)] for b in at.bodies],
        "places": [
            {
                "at": [*_rounded(p.at), *_nm(p.work_move), *_nm(p.tool_move)],
                "pick": f"place/{number}",
                "label": say("machine.kind_place", targets=", ".join(p.targets)),
            }
            for number, p in enumerate(at.places)
        ],
        "times": max((t for t in TIMES if t <= at.exaggeration), default=1),
        "error": _error(at),
    }
    return tag(
        "div",
        id="machine-at",
        hidden=True,
        data_at=json.dumps(given, ensure_ascii=False, separators=(",", ":")),
    )


def _error(at: MachineAt) -> dict[str, Any] | None:
    found = at.error
    if found is None or found.dimension is not Dimension.LENGTH:
        return None
    return {
        "at": _rounded(found.at),
        "directions": [_rounded(direction, 5) for direction in found.directions],
        "mean": _nm(found.mean),
        "reach": _nm(found.reach),
        "limit": _nm((found.limit,))[0],
    }


def _rounded(values: tuple[float, ...], digits: int = 3) -> list[float]:
    return [round(value, digits) for value in values]


def _nm(values: tuple[float, ...]) -> list[int]:
    return [round(value * 1e6) for value in values]


def axis_unit(shown: Shown, axis: AxisAt) -> str:
    """Unit in which the position of an axis is typed and shown."""
    return shown.units.length if axis.dimension is Dimension.LENGTH else "deg"


def position_text(shown: Shown, axis: AxisAt, value: float) -> str:
    """A position as a plain number in the reader's unit."""
    return f"{round(float(units.convert(value, axis.dimension, axis_unit(shown, axis))), 4) + 0.0:g}"


# controls


def _views() -> Markup:
    views = [
        tag("button", say(f"machine.view_{name}"), type="button", data_view=name)
        for name in ("axonometric", "front", "side", "top")
    ]
    turns = [
        tag("button", sign, type="button", data_turn=name, aria_label=say(f"machine.{word}"), class_="sign")
        for sign, name, word in (
            ("\N{LEFTWARDS ARROW}", "left", "turn_left"),
            ("\N{RIGHTWARDS ARROW}", "right", "turn_right"),
            ("\N{UPWARDS ARROW}", "up", "turn_up"),
            ("\N{DOWNWARDS ARROW}", "down", "turn_down"),
            ("+", "nearer", "nearer"),
            ("\N{MINUS SIGN}", "farther", "farther"),
        )
    ]
    fit = tag("button", say("machine.fit"), type="button", data_turn="fit")
    return tag(
        "div",
        *views,
        *turns,
        fit,
        class_="row machine-views",
        role="group",
        aria_label=say("machine.views"),
        data_for="machine-drawing",
    )


def _axes(shown: Shown, at: MachineAt) -> Markup:
    if not at.axes:
        return tag("p", say("machine.no_axes"), class_="note")
    quick = row(
        button(say("machine.go_home"), "machine go", to="home"),
        button(say("machine.go_middle"), "machine go", to="middle"),
        button(say("machine.go_worst"), "machine go", to="worst") if at.error else None,
    )
    return tag(
        "section",
        tag("h2", say("machine.axes"), class_="small-head"),
        tag("div", *[_axis(shown, axis) for axis in at.axes], class_="axes"),
        quick,
        class_="machine-axes",
    )


def _axis(shown: Shown, axis: AxisAt) -> Markup:
    low, high = (position_text(shown, axis, end) for end in (axis.low, axis.high))
    now, unit, where = (
        position_text(shown, axis, axis.position),
        axis_unit(shown, axis),
        f"axis-{axis.letter}",
    )
    span = float(units.convert(axis.high - axis.low, axis.dimension, unit))
    reach = say("machine.reach", low=low, high=f"{high} {unit}")
    return tag(
        "div",
        tag("label", tag("b", axis.letter), " ", tag("span", axis.joint), for_=where),
        tag(
            "input",
            type="range",
            id=where,
            min=low,
            max=high,
            step=_step(span),
            value=now,
            data_axis=axis.letter,
            aria_describedby=f"{where}-reach",
        ),
        tag(
            "span",
            tag(
                "input",
                type="text",
                value=now,
                inputmode="decimal",
                autocomplete="off",
                data_typed=axis.letter,
                aria_label=say("machine.position", letter=axis.letter),
                aria_describedby=f"{where}-reach",
            ),
            tag("span", unit, class_="unit"),
            class_="with",
        ),
        tag("span", reach, id=f"{where}-reach", class_="hint"),
        class_="axis",
    )


def _step(span: float) -> str:
    """A round step of a slider."""
    power = 10.0 ** np.floor(np.log10(span / SLIDES))
    return f"{next(float(t * power) for t in (1, 2, 5, 10) if t * power >= span / SLIDES * (1 - 1e-9)):g}"


def _choices(confidence: float, at: MachineAt) -> Markup:
    times = {
        str(n): say("machine.times_one", count=f"{n:,}") if n else say("machine.times_off") for n in TIMES
    }
    chosen = str(max((t for t in TIMES if t <= at.exaggeration), default=0))
    ticks = (
        ("expected", say("machine.show_expected")),
        ("unknown", say("machine.show_unknown", confidence=percent(confidence))),
        ("marks", say("machine.show_marks")),
        ("numbers", say("machine.show_numbers")),
    )
    boxes = [tick(word, f"show-{name}", checked=True) for name, word in ticks]
    return tag(
        "section",
        tag("h2", say("machine.shown"), class_="small-head"),
        tag(
            "div", choice(say("machine.times"), "times", times, value=chosen), *boxes, class_="machine-shown"
        ),
    )


def _legend(form: MachineForm) -> Markup:
    there = {mark.kind for mark in form.marks} | {
        "body",
        "expected",
        "unknown",
        "tool",
        "work",
        "error",
        "limit",
    }
    items = [
        tag(
            "li",
            tag(
                "svg",
                tag("path", d=outline, class_=look or None),
                viewBox="0 0 24 20",
                width=24,
                height=20,
                aria_hidden="true",
            ),
            say(f"machine.legend_{kind}"),
        )
        for kind, outline, look in LEGEND
        if kind in there
    ]
    return tag("ul", *items, class_="key machine-key", aria_label=say("machine.legend"))
