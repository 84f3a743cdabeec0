"""What is known of the thing that was picked on the machine, at the pose that is drawn."""

from collections.abc import Sequence
from urllib.parse import quote

import numpy as np

from loopwright import units
from loopwright.errors import RequestError
from loopwright.loop.held import axis_words
from loopwright.model.joints import Joint
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.machine_joint import (
    AdjusterAt,
    ContactAt,
    JointAtPose,
    ReadingOf,
    TermAt,
    adjuster_at,
    joint_at,
)
from loopwright.studies.machine_view import MachineAt, PlaceAt
from loopwright.units import Dimension
from loopwright.web.views.fit_up_figures import error_parts
from loopwright.web.views.kit import button, link, paper, row, size
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_READINGS = 6
LIFTS = 0.0005
"""A chance to lift below this is none."""


def panel(work: Work, reader: Reader, at: MachineAt, picked: str) -> Markup:
    """The thing that was picked: 'body/head', 'joint/Y slide', 'mark/Y slide/nut side', 'place/0', or ''."""
    shown = work.shown(reader)
    kind, _, rest = picked.partition("/")
    if kind == "body" and rest in work.bench.build.bodies:
        return _body(work, shown, at, rest)
    if kind == "place" and rest.isdecimal() and int(rest) < len(at.places):
        return _place(shown, at, at.places[int(rest)])
    name, _, below = rest.partition("/")
    if kind in ("joint", "mark") and name in work.bench.build.joints:
        found = joint_at(work.bench, name, at.pose)
        return _mark(work, shown, at, found, below) if below else _joint(work, shown, at, found)
    if picked:
        raise RequestError(f"there is nothing at '{picked[:80]}' on this machine", say("machine.pick_hint"))
    return paper(None, empty(say("machine.pick_none"), say("machine.pick_hint")), class_="machine-picked")


def _frame(title: str, field: str, *children: Child) -> Markup:
    return paper(
        title,
        *children,
        row(
            link(say("machine.edit"), description_of(field), first=True),
            button(say("machine.put_back"), "machine pick", quiet=True, of=""),
        ),
        class_="machine-picked",
        id="machine-picked",
    )


def description_of(field: str) -> str:
    """Address of the page where a field of the description is edited."""
    return f"/description?at={quote(field, safe='')}"


def _facts(*facts: tuple[str, Child]) -> Markup:
    return tag(
        "dl", *[tag("div", tag("dt", name), tag("dd", value)) for name, value in facts], class_="facts"
    )


# joints


def _joint(work: Work, shown: Shown, at: MachineAt, found: JointAtPose) -> Markup:
    joint = found.joint
    lede = say(
        "machine.joint_lede",
        kind=say(f"machine.joint_{joint.kind.value}"),
        child=joint.child,
        parent=joint.parent,
    )
    children: list[Child] = [tag("p", lede.capitalize() + _travel(shown, joint) + ".")]
    children.append(tag("p", _held_words(found)))
    if found.strained is not None:
        children.append(tag("p", _strained_words(shown, found), class_="note"))
    if found.contacts:
        children += [_contact_table(shown, found), tag("p", say("machine.loaded"), class_="note")]
    children += [_adjuster(shown, adjuster, named=True) for adjuster in found.adjusters]
    return _frame(found.name, f"joints/{found.name}", *children)


def _travel(shown: Shown, joint: Joint) -> str:
    if joint.letter is None or joint.travel is None:
        return ""
    low, high = (shown.position(joint.letter, end).removeprefix(f"{joint.letter} ") for end in joint.travel)
    return ", " + say("machine.joint_axis", letter=joint.letter, low=low, high=high)


def _held_words(found: JointAtPose) -> str:
    if not found.contacts:
        return say("machine.joint_perfect" if found.joint.perfect else "machine.joint_stated")
    key = "machine.joint_held" if found.spare else "machine.joint_just"
    return say(key, contacts=len(found.contacts), **({"spare": found.spare} if found.spare else {}))


def _strained_words(shown: Shown, found: JointAtPose) -> str:
    assert found.strained is not None
    worst = found.strained.worst[0]
    misfit = shown.error(worst.misfit, Dimension.LENGTH)
    return say("machine.worst_contact", contact=worst.contact, misfit=misfit, force=shown.force(worst.force))


def _contact_table(shown: Shown, found: JointAtPose) -> Markup:
    rows: list[Sequence[Child]] = [
        (_contact_way(found.name, contact), _misfit(shown, contact), _force(shown, contact))
        for contact in found.contacts
    ]
    head = [say(f"machine.{key}") for key in ("contact", "misfit", "force")]
    return table(head, rows, class_="held")


def _contact_way(joint: str, contact: ContactAt) -> Markup:
    """A contact's name that picks it, with what must be known of it at a glance."""
    said = _lifts(contact)
    shown = contact.lifts is None or contact.lifts >= LIFTS
    return joined(
        tag(
            "button",
            contact.name,
            type="button",
            class_="plain",
            data_act="machine pick",
            data_of=f"mark/{joint}/{contact.path}",
        ),
        tag("small", said if contact.lifts is None else say("machine.may_lift", chance=said))
        if shown
        else None,
    )


def _misfit(shown: Shown, contact: ContactAt) -> str:
    if not contact.misfit_std and not contact.misfit:
        return "0"
    if not contact.misfit_std:
        return shown.error(contact.misfit, Dimension.LENGTH, sign=True)
    number, known, unit = error_parts(shown, contact.misfit, contact.misfit_std, Dimension.LENGTH, sign=True)
    return f"{number} ± {known} {unit}"


def _force(shown: Shown, contact: ContactAt) -> str:
    force = shown.force(contact.force)
    if contact.force_std <= abs(contact.force) * 1e-6:
        return force
    unit = shown.units.force
    value = units.format_value(contact.force, Dimension.FORCE, unit, uncertainty=contact.force_std)
    return f"{value.removesuffix(unit).strip()} ± {shown.force(contact.force_std)}"


def _lifts(contact: ContactAt) -> str:
    if contact.lifts is None:
        return say("machine.both_ways")
    return percent(contact.lifts) if contact.lifts >= LIFTS else say("machine.never")


# marks


def _mark(work: Work, shown: Shown, at: MachineAt, found: JointAtPose, path: str) -> Markup:
    mark = next((m for m in at.form.marks if m.joint == found.name and m.path == path), None)
    if mark is None:
        raise RequestError(f"there is nothing at '{path[:80]}' of '{found.name}'", say("machine.pick_hint"))
    title = say(f"machine.kind_{mark.kind}", name=mark.name, joint=found.name, body=mark.body)
    here = [contact for contact in found.contacts if contact.path == path]
    children: list[Child] = []
    if mark.kind == "rail":
        children += _rail(shown, work, found, mark.name)
    if mark.kind == "motions":
        children.append(tag("p", say("machine.motions_at", letters=mark.name)))
    for contact in here:
        children += _contact(shown, found, contact, several=len(here) > 1)
    adjusted = {contact.adjuster.path for contact in here if contact.adjuster is not None}
    if mark.kind == "adjuster" and f"{found.name}/{path}" not in adjusted:
        children.append(_adjuster(shown, adjuster_at(work.bench, f"{found.name}/{path}"), named=False))
    return _frame(title, mark.field, *children, _of_joint(found.name))


def _of_joint(name: str) -> Markup:
    pressed = tag(
        "button", name, type="button", class_="plain", data_act="machine pick", data_of=f"joint/{name}"
    )
    return tag("p", pressed, class_="note")


def _rail(shown: Shown, work: Work, found: JointAtPose, name: str) -> list[Child]:
    guide = found.joint.guide
    if guide is None or name not in guide.rails:
        return []
    riding = ", ".join(block for block, stated in guide.blocks.items() if stated.rail == name)
    out: list[Child] = [tag("p", say("machine.rail_between", name=name, blocks=riding))]
    for line in ("height", "side"):
        path = f"guide/rails/{name}/{line}"
        for adjuster in found.adjusters:
            if adjuster.path == f"{found.name}/{path}":
                out.append(_adjuster(shown, adjuster, named=False))  # noqa: PERF401
    return out


def _contact(shown: Shown, found: JointAtPose, contact: ContactAt, *, several: bool) -> list[Child]:
    stiff = shown.stiffness(contact.stiffness)
    assumed = tag("small", f" {say('machine.stiffness_assumed')}") if contact.assumed else None
    facts: list[tuple[str, Child]] = [
        (say("machine.force_now"), _force(shown, contact)),
        (say("machine.misfit_now"), _misfit(shown, contact)),
        (say("machine.lift_now"), _lifts(contact)),
        (say("machine.stiffness"), joined(stiff, assumed)),
        (say("machine.preload"), shown.force(contact.preload)),
        (say("machine.normal"), _direction(contact.normal)),
    ]
    children: list[Child] = [tag("h3", contact.name) if several else None, _facts(*facts)]
    if contact.closure:
        read = tag("a", say("machine.to_bench"), href=bench_of(contact.closure))
        children.append(tag("p", say("machine.closure", name=contact.closure), " ", read, class_="note"))
    if contact.adjuster is not None:
        children.append(_adjuster(shown, contact.adjuster, named=False))
    children += [tag("h4", say("machine.made_of")), _terms(shown, contact.terms)]
    children += [tag("h4", say("machine.read_so_far")), _readings(contact.readings)]
    return children


def _direction(normal: tuple[float, float, float]) -> str:
    words = axis_words(np.asarray(normal))
    return words if words.startswith("(") else ("+" if normal["XYZ".index(words)] > 0 else "-") + words


def _terms(shown: Shown, terms: Sequence[TermAt]) -> Markup:
    if not terms:
        return tag("p", say("machine.no_dims"), class_="note")
    rows: list[Sequence[Child]] = [(_term(shown, term), _off_by(shown, term)) for term in terms]
    return table([say("machine.dim"), say("machine.off_by")], rows, class_="held")


def _term(shown: Shown, term: TermAt) -> Markup:
    nominal = say("machine.nominal", size=_nominal(shown, term), times=_times(shown, term))
    said = f"{nominal}; {plural('machine.readings_count', term.readings)}"
    return joined(
        tag("a", term.dim, href=part_of(term.dim)),
        tag("small", said, " ", tag("a", say("machine.to_bench"), href=bench_of(term.dim))),
    )


def _nominal(shown: Shown, term: TermAt) -> str:
    if term.dimension is Dimension.ANGLE:  # a square is 90 deg to everybody
        return units.format_value(term.nominal, Dimension.ANGLE, "deg", digits=8)
    return size(shown, term.nominal, term.dimension)


def part_of(dim: str) -> str:
    """Address of the page of a dim's part."""
    return f"/parts/{quote(dim.partition('/')[0], safe='')}"


def bench_of(what: str) -> str:
    """Address of the page where a dim, a test or a gap is read."""
    return f"/bench?of={quote(what, safe='')}"


def _times(shown: Shown, term: TermAt) -> str:
    if term.lever:
        return "\N{MULTIPLICATION SIGN} " + size(shown, term.times, Dimension.LENGTH)
    sign = "+" if term.times > 0 else "\N{MINUS SIGN}"
    return sign if abs(term.times) == 1 else f"{sign}{abs(term.times):g}"


def _off_by(shown: Shown, term: TermAt) -> str:
    if not term.std:
        return shown.error(term.deviation, term.dimension, sign=True)
    number, known, unit = error_parts(shown, term.deviation, term.std, term.dimension, sign=True)
    return f"{number} ± {known} {unit}"


def _adjuster(shown: Shown, adjuster: AdjusterAt, *, named: bool) -> Markup:
    low, high = (size(shown, end, Dimension.LENGTH) for end in (adjuster.low, adjuster.high))
    kind = say("machine.adjuster_is", kind=adjuster.kind, low=low, high=high)
    if adjuster.increment:
        kind += ", " + say("machine.adjuster_step", step=shown.limit(adjuster.increment, Dimension.LENGTH))
    now = _set(shown, adjuster.setting, Dimension.LENGTH)
    if adjuster.slope:
        now += f", {say('machine.adjuster_slope')} " + _set(shown, adjuster.slope, Dimension.ANGLE)
    name = tag("strong", adjuster.path, " ") if named else None
    said = joined(name, kind, ". ", say("machine.adjuster_now"), " ", tag("b", now), ". ")
    way = tag("a", say("machine.to_fitup"), href=f"/fit-up?set={quote(adjuster.path, safe='')}")
    return tag("p", said, way, class_="machine-adjuster")


def _set(shown: Shown, value: float, dimension: Dimension) -> str:
    """A setting as somebody dialled it in, with its sign."""
    return ("+" if value > 0 else "") + shown.limit(value, dimension)


def _readings(readings: Sequence[ReadingOf]) -> Markup:
    if not readings:
        return tag("p", say("machine.no_readings"), class_="note")
    items = [_reading(reading) for reading in readings[:MOST_READINGS]]
    left = len(readings) - MOST_READINGS
    more = tag("p", say("machine.read_more", count=left), class_="note") if left > 0 else None
    return joined(tag("ul", *items, class_="machine-readings"), more)


def _reading(reading: ReadingOf) -> Markup:
    entry = tag("a", say("machine.to_history", number=reading.entry), href=f"/book/{reading.entry}")
    return tag("li", tag("b", reading.of), " ", _reading_words(reading), " ", entry)


def _reading_words(reading: ReadingOf) -> str:
    given = {"typed": reading.typed, "who": reading.who, "when": reading.at[:10]}
    if reading.gauge:
        return say("machine.reading_line", gauge=reading.gauge, **given)
    return say("machine.reading_line_bare", **given)


# bodies, and where tool and work meet


def _body(work: Work, shown: Shown, at: MachineAt, name: str) -> Markup:
    build = work.bench.build
    body, above = build.bodies[name], build.joint_above().get(name)
    found = next(one for one in at.bodies if one.name == name)
    lede = say("machine.body_lede", joint=above) if above else say("machine.body_base")
    facts: list[tuple[str, Child]] = []
    if body.mass.mean:
        facts.append(
            (say("machine.mass"), size(shown, body.mass.mean, Dimension.MASS, body.mass.half or None))
        )
    if material := build.material_of(name):
        facts.append((say("machine.material"), material))
    parts = [
        part
        for number, one in enumerate(body.parts)
        for part in (", " if number else "", tag("a", one, href=f"/parts/{quote(one, safe='')}"))
    ]
    if parts:
        facts.append((say("machine.consists"), joined(*parts)))
    joints = [n for n, joint in build.joints.items() if name in (joint.parent, joint.child)]
    facts.append((say("machine.touches"), joined(*[joint_way(j) for j in joints])))
    rows: list[Sequence[Child]] = []
    for dimension, word, means, reaches in (
        (Dimension.LENGTH, "move", found.move, found.move_reach),
        (Dimension.ANGLE, "turn", found.turn, found.turn_reach),
    ):
        cells = [_pair(shown, mean, reach, dimension) for mean, reach in zip(means, reaches)]
        rows.append((say(f"machine.{word}"), *cells))
    motion = table(["", ">X", ">Y", ">Z"], rows, class_="held")
    number = next(one.number for one in at.form.bodies if one.name == name)
    return _frame(
        say("machine.kind_body", number=number, name=name),
        f"bodies/{name}",
        tag("p", lede[:1].upper() + lede[1:] + "."),
        _facts(*facts),
        tag("h4", say("machine.expected_off")),
        motion,
        tag("p", say("machine.motions_note", confidence=percent(build.confidence)), class_="note"),
    )


def joint_way(name: str) -> Markup:
    """A joint's name that picks it."""
    return tag(
        "button", name, type="button", class_="plain", data_act="machine pick", data_of=f"joint/{name}"
    )


def _pair(shown: Shown, mean: float, reach: float, dimension: Dimension) -> str:
    if not reach:
        return shown.error(mean, dimension)
    number, known, unit = error_parts(shown, mean, reach, dimension, sign=True)
    return f"{number} ± {known} {unit}"


def _place(shown: Shown, at: MachineAt, place: PlaceAt) -> Markup:
    rows: list[Sequence[Child]] = [
        (
            say("machine.place_tool", body=place.tool),
            *[shown.error(v, Dimension.LENGTH, sign=True) for v in place.tool_move],
        ),
        (
            say("machine.place_work", body=place.work),
            *[shown.error(v, Dimension.LENGTH, sign=True) for v in place.work_move],
        ),
    ]
    lede = say("machine.place_lede", tool=place.tool, work=place.work, targets=", ".join(place.targets))
    return _frame(
        say("machine.place"),
        f"targets/{place.targets[0]}",
        tag("p", lede),
        tag("h4", say("machine.expected_off")),
        table(["", ">X", ">Y", ">Z"], rows, class_="held"),
    )
