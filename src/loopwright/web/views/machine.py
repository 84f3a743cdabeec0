"""The machine: drawn at a pose, with what is expected at the tool there and where that comes from."""

from collections.abc import Mapping, Sequence

from loopwright.model.joints import adjusters
from loopwright.sheets.drawing import Scale, box, drawing, in_figures, lettering, line, witness_line
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_tables import bar
from loopwright.studies.machine_view import (
    BodyAt,
    ErrorAt,
    MachineAt,
    Share,
    machine_at,
    machine_form,
    typed_pose,
    worst_pose,
)
from loopwright.units import Dimension
from loopwright.web.views import machine_drawing, machine_picked
from loopwright.web.views.fit_up_figures import error_parts
from loopwright.web.views.kit import both, chip, choice, link, more, paper, stats
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

SEEN = 0.005
"""Shares smaller than this are left out of the lists."""
MOST_SHARES = 8


def pose_for(work: Work, reader: Reader, typed: Mapping[str, str]) -> dict[str, float]:
    """Axis positions as typed, in the reader's units; mm or rad."""
    build = work.bench.build
    return typed_pose(build, typed, reader.units_of(build.units).length)


def place_for(work: Work, reader: Reader, to: str, target: str | None) -> dict[str, float]:
    """A pose by its name: 'home', 'middle', or 'worst' for a target."""
    build = work.bench.build
    if to == "worst" and build.targets:
        return worst_pose(work.bench, target or next(iter(build.targets)))
    if to == "home":
        return {letter: build.joints[name].home for letter, name in build.axes().items()}
    return {}


def stage(work: Work, reader: Reader, pose: Mapping[str, float], target: str | None) -> Markup:
    """Heading, drawing and what moves it."""
    return machine_drawing.stage(work, reader, machine_at(work.bench, pose, target))


def now(
    work: Work,
    reader: Reader,
    pose: Mapping[str, float],
    target: str | None,
    picked: str,
    sequence: str,
    refused: str,
) -> Markup:
    """The figures of the pose that is drawn, with the numbers the drawing is made from."""
    shown, at = work.shown(reader), machine_at(work.bench, pose, target)
    tool = paper(say("machine.at_tool"), *_tool(work, shown, at), class_="machine-tool")
    of_it = machine_picked.panel(work, reader, at, picked)
    # what was just picked is looked at first
    return joined(
        machine_drawing.at_pose(shown, at, machine_drawing.key_of(work), sequence, picked, refused),
        *((of_it, tool) if picked else (tool, of_it)),
        _motions(shown, at, percent(work.bench.build.confidence)),
    )


# at the tool


def _tool(work: Work, shown: Shown, at: MachineAt) -> tuple[Child, ...]:
    found = at.error
    if found is None:
        way = link(say("machine.no_target_way"), "/description?at=targets")
        return (empty(say("machine.no_target"), say("machine.no_target_what"), way),)
    targets = list(work.bench.build.targets)
    confidence = percent(work.bench.build.confidence)
    return (
        choice(say("machine.target"), "target", targets, value=found.target, act="machine target"),
        tag("p", shown.pose(at.pose), class_="machine-pose"),
        _verdict(found),
        stats(
            (
                say("machine.expected"),
                both(shown, found.expected, found.dimension),
                say("machine.expected_below"),
            ),
            (say("machine.limit"), shown.limit(found.limit, found.dimension), None),
            (say("machine.known"), shown.error(found.known, found.dimension), say("machine.known_below")),
            (
                say("machine.unknown"),
                shown.error(found.unknown, found.dimension),
                say("machine.unknown_below"),
            ),
        ),
        *_elsewhere(shown, at, found),
        _needles(shown, found),
        _components(shown, found, confidence),
        tag("h3", say("machine.comes_from")),
        *_shares(found),
    )


STANDS = {"over": "not conforming", "near": "undecided", "within": "conforming"}
"""Mark of each way to stand to a limit."""


def _verdict(found: ErrorAt) -> Markup:
    return chip(STANDS[found.stands], say(f"machine.{found.stands}"))


def _elsewhere(shown: Shown, at: MachineAt, found: ErrorAt) -> list[Markup]:
    out = []
    for letter, (low, high) in found.elsewhere.items():
        ends = [shown.position(letter, end).removeprefix(f"{letter} ") for end in (low, high)]
        stands = shown.position(letter, at.pose[letter]).removeprefix(f"{letter} ")
        key = "machine.elsewhere_at" if low == high else "machine.elsewhere"
        said = say(key, letter=letter, now=stands, low=ends[0], **({} if low == high else {"high": ends[1]}))
        out.append(tag("p", said, class_="note"))
    return out


ROW = 40
"""Height of one component in the figure, pixels."""
NEAR = 0.25
"""Limits nearer to zero than this share of the figure are named once."""


def _needles(shown: Shown, found: ErrorAt) -> Markup:
    """Each component between its limits: where it is expected, and how far it may be from there."""
    reaches = [abs(mean) + reach for mean, reach in zip(found.mean, found.reach)]
    end = 1.12 * max(found.limit, *reaches)
    scale = Scale(-shown.number(end, found.dimension), shown.number(end, found.dimension))

    def at(value: float) -> float:
        return scale.at(shown.number(value, found.dimension))

    height = ROW * len(found.components) + 26
    limit = shown.limit(found.limit, found.dimension)
    rows = []
    for number, (name, mean, reach) in enumerate(zip(found.components, found.mean, found.reach)):
        y = ROW * number + 24
        word = say("machine.along") if name == "along" else name
        said = f"{word}: {shown.error_known(mean, reach, found.dimension, sign=True)}"
        said += f" ± {shown.error(reach, found.dimension)}"
        low, high = at(mean - reach), at(mean + reach)
        rows += [
            line(0, y, 100, y, "rest"),
            box(low, y - 6, high - low, 12, "reach-box", said),
            line(at(mean), y - 11, at(mean), y + 11, "needle"),
            lettering(0, y - 9, word, "axis-name"),
        ]
    ends = [
        witness_line(at(side * found.limit), 0, height - 20, f"{say('machine.limit')}: {limit}")
        for side in (-1.0, 1.0)
    ]
    if found.limit < NEAR * end:  # no room for two
        ends.append(lettering(50, height - 4, "±" + limit, "limit-word tick"))
    else:
        ends += [
            lettering(at(side * found.limit), height - 4, sign + limit, "limit-word tick")
            for side, sign in ((-1.0, "\N{MINUS SIGN}"), (1.0, "+"))
        ]
    zero = (
        line(50, 0, 50, height - 20, "scribed thin"),
        lettering(50, height - 4, "0" if found.limit >= NEAR * end else "", "tick"),
    )
    return drawing(height, say("machine.needles", target=found.target), *zero, *rows, *ends, class_="needles")


def _components(shown: Shown, found: ErrorAt, confidence: str) -> Markup:
    names = [say("machine.along") if name == "along" else name for name in found.components]
    rows = [
        (
            name,
            shown.error_known(mean, reach, found.dimension, sign=True),
            "±" + shown.error(reach, found.dimension),
        )
        for name, mean, reach in zip(names, found.mean, found.reach)
    ]
    head = (
        say("machine.component"),
        ">" + say("machine.expected_there"),
        ">" + say("machine.give_or_take", confidence=confidence),
    )
    return tag("div", _small_table(head, rows), class_="machine-components")


def _small_table(head: Sequence[str], rows: Sequence[Sequence[Child]]) -> Markup:
    names = [name.lstrip(">") for name in head]
    sides = ["number" if name.startswith(">") else None for name in head]
    top = tag("tr", *[tag("th", n, scope="col", class_=s) for n, s in zip(names, sides)])
    body = [
        tag(
            "tr",
            tag("th", one[0], scope="row"),
            *[tag("td", c, class_=s) for c, s in zip(one[1:], sides[1:])],
        )
        for one in rows
    ]
    return tag("table", tag("thead", top), tag("tbody", *body))


def _shares(found: ErrorAt) -> tuple[Child, ...]:
    if not found.by_joint:
        return (tag("p", say("machine.nothing"), class_="note"),)
    parts = more(
        say("machine.parts_too"), _share_list(found.by_part, say("machine.by_part")), id="machine-parts"
    )
    return (_share_list(found.by_joint, say("machine.by_joint")), parts)


def _share_list(shares: tuple[Share, ...], what: str) -> Markup:
    seen = [share for share in shares if abs(share.share) >= SEEN][:MOST_SHARES]
    top = max((share.share for share in seen), default=1.0)
    rows: list[tuple[Child, ...]] = [(share_name(share), _share_bar(share.share, top)) for share in seen]
    return tag("div", _small_table((what, say("machine.share")), rows), class_="machine-shares")


def _share_bar(share: float, top: float) -> Markup:
    if share < 0:
        return tag("span", say("machine.helps", share=percent(-share)), class_="helps")
    return bar(share, top)


def share_name(share: Share) -> Markup:
    """What a share belongs to, as a way to it where it is on the machine."""
    if share.kind == "heat":
        return joined(say("machine.heat"))
    if share.kind == "joint":
        return tag(
            "button",
            share.name,
            type="button",
            class_="plain",
            data_act="machine pick",
            data_of=f"joint/{share.name}",
        )
    return joined(share.name) if share.kind == "part" else joined(share.name, tag("small", f" {share.kind}"))


# every body


def _motions(shown: Shown, at: MachineAt, confidence: str) -> Markup:
    rows = [(f"{number} {body.name}", *_motion(shown, body)) for number, body in enumerate(at.bodies, 1)]
    head = [
        say("machine.body"),
        *[say(f"machine.{kind}_{axis}") for kind in ("move", "turn") for axis in "xyz"],
    ]
    return paper(
        None,
        in_figures(say("machine.motions"), head, rows),
        tag("p", say("machine.motions_note", confidence=confidence), class_="note"),
        id="machine-motions",
    )


def _motion(shown: Shown, body: BodyAt) -> list[str]:
    moves = zip((*body.move, *body.turn), (*body.move_reach, *body.turn_reach))
    return [
        give_or_take(shown, mean, reach, Dimension.LENGTH if number < 3 else Dimension.ANGLE)
        for number, (mean, reach) in enumerate(moves)
    ]


def give_or_take(shown: Shown, mean: float, reach: float, dimension: Dimension) -> str:
    """A value and its expanded uncertainty: '+3.0 ± 1.2 µm'."""
    number, known, unit = error_parts(shown, mean, reach, dimension, sign=True)
    return f"{number} ± {known} {unit}" if reach else f"{number} {unit}".strip()


# the list beside the drawing


def tree(work: Work, reader: Reader, picked: str) -> Markup:
    """Bodies and joints, as they carry one another."""
    build, loop = work.bench.build, work.bench.loop
    above = build.joint_above()
    children: dict[str, list[str]] = {}
    for body in build.bodies:
        children.setdefault(build.joints[above[body]].parent if body in above else "", []).append(body)
    numbers = {body.name: body.number for body in machine_form(work.bench).bodies}

    def branch(body: str) -> Markup:
        name = above.get(body)
        joint = None
        if name is not None:
            held = build.joints[name]
            said = [say(f"machine.joint_{held.kind.value}")]
            contacts = len(loop.joints[name].contacts.names)
            said.append(plural("machine.contacts", contacts) if contacts else _without(held.perfect))
            if contacts > 6:
                said.append(plural("machine.spare", contacts - 6))
            if settable := len(adjusters(held)):
                said.append(plural("machine.adjusters", settable))
            joint = tag(
                "div",
                _pick(name, f"joint/{name}", picked),
                tag("small", ", ".join(said)),
                class_="tree-joint",
            )
        below = [branch(child) for child in children.get(body, ())]
        number = tag("span", str(numbers[body]), class_="balloon", aria_hidden="true")
        own = tag("div", number, _pick(body, f"body/{body}", picked), class_="tree-body")
        return tag("li", joint, own, tag("ul", *below) if below else None)

    roots = [branch(body) for body in children.get("", ())]
    return paper(
        say("machine.tree"),
        tag("p", say("machine.tree_note"), class_="note"),
        tag("ul", *roots, class_="machine-tree"),
    )


def _without(perfect: bool) -> str:
    return say("machine.perfect" if perfect else "machine.stated_only")


def _pick(word: str, of: str, picked: str) -> Markup:
    return tag(
        "button",
        word,
        type="button",
        class_="plain",
        data_act="machine pick",
        data_of=of,
        aria_current="true" if of == picked else None,
    )
