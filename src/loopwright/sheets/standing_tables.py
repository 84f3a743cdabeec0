"""The tables of a standing: what carries the error, what would lower it, what gives, what strains."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from loopwright.asbuilt.misfit import ContactMisfit, JointMisfit
from loopwright.asbuilt.tighten import Tightening
from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import Scale, path, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_figures import change_figure
from loopwright.studies.reports import ComponentStanding, SourceShare, Standing, TargetStanding
from loopwright.units import Dimension

SOURCES, GROUPS, TIGHTENINGS, PAIRINGS = 12, 8, 8, 6
_SEEN = 0.0005
"""Shares below this are not listed by name."""
_MAY_LIFT = 0.01


def sources_table(shown: Shown, sources: Sequence[SourceShare]) -> Markup:
    """The largest sources with their shares of the variance."""
    top = max((s.worst for s in sources[:SOURCES]), default=1.0) or 1.0
    rows = [
        (
            joined(tag("span", s.name, class_="name"), path(s.field)),
            s.kind,
            _spread(shown, s),
            bar(s.worst, top),
            percent(s.volume),
        )
        for s in sources[:SOURCES]
    ]
    head = ("source", "kind", ">standard uncertainty", "share at the worst pose", ">over the volume")
    return table(head, rows, class_="sources")


def _spread(shown: Shown, source: SourceShare) -> str:
    return shown.error(source.std, source.dimension)


def bar(share: float, top: float) -> Markup:
    """A share as bar and number; the bar is a border, which prints on any printer."""
    drawn = tag("i", style=f"--part:{min(share / top, 1):.4g}", aria_hidden="true") if top > 0 else None
    return tag("span", drawn, tag("span", percent(share)), class_="barred")


def groups_table(shares: Mapping[str, float], what: str) -> Markup:
    """Shares added up by kind, joint or part, largest first."""
    seen = [(name, share) for name, share in shares.items() if share >= _SEEN][:GROUPS]
    if not seen:
        return tag("p", f"No {what} carries any of it.", class_="note")
    rows: list[Sequence[Child]] = [(name, bar(share, seen[0][1])) for name, share in seen]
    return table((what, "share at the worst pose"), rows, class_="groups")


class Parted(Protocol):
    """A target whose components at the worst pose are told, as designed or as built."""

    @property
    def dimension(self) -> Dimension:
        """Length or angle."""

    @property
    def components(self) -> Sequence[ComponentStanding]:
        """Each of them."""


def components_table(shown: Shown, target: Parted, confidence: float) -> Markup:
    """Each component at the worst pose."""
    rows = [
        (
            c.name,
            words.signed(shown, c.bias, c.std, target.dimension),
            shown.error(c.std, target.dimension),
            joined(
                words.signed(shown, c.interval[0], c.std, target.dimension),
                " … ",
                words.signed(shown, c.interval[1], c.std, target.dimension),
            ),
        )
        for c in target.components
    ]
    head = ("component", ">bias", ">standard uncertainty", f">{words.confidence(confidence)} interval")
    return table(head, rows, class_="components narrow")


def tightening_table(shown: Shown, target: TargetStanding) -> Markup:
    """What halving the limits of a statement would bring, largest gain first."""
    best = [t for t in target.tightenings if t.halved < t.now][:TIGHTENINGS]
    if not best:
        return tag("p", "Halving any one statement brings nothing.", class_="note")
    scale = Scale(0.0, shown.number(best[0].now, target.dimension))
    rows = []
    for t in best:
        now, then = (words.beside(shown, v, t.now, target.dimension) for v in (t.now, t.halved))
        drawn = change_figure(
            scale.high, shown.number(t.halved, target.dimension), scale, f"{t.name}: {now} now, {then} halved"
        )
        rows.append((_statement(t), drawn, now, then))
    head = (
        "limits halved in",
        f"from 0 to {words.beside(shown, best[0].now, best[0].now, target.dimension)}",
        ">expected now",
        ">then",
    )
    return table(head, rows, class_="tightenings")


def _statement(tightening: Tightening) -> Markup:
    return joined(tag("span", tightening.name, class_="name"), path(tightening.field))


def pairings_table(shown: Shown, target: TargetStanding) -> Markup:
    """Dims that are worth cutting in one setup."""
    if not target.pairings:
        return tag(
            "p", "No two dims of one size, not yet made together, would gain from one setup.", class_="note"
        )
    rows = [
        (
            f"{p.first} with {p.second}",
            words.beside(shown, p.now, p.now, target.dimension),
            words.beside(shown, p.together, p.now, target.dimension),
        )
        for p in target.pairings[:PAIRINGS]
    ]
    return table(("cut in one setup", ">expected now", ">then"), rows, class_="pairings")


def stiffness_table(shown: Shown, target: TargetStanding) -> Markup | None:
    """Stiffness at the tool by direction, and which joint gives how much of the way."""
    found = target.stiffness
    if found is None:
        return None
    names = sorted(
        {joint for shares in found.shares.values() for joint in shares},
        key=lambda joint: -sum(shares.get(joint, 0.0) for shares in found.shares.values()),
    )
    whole: list[Sequence[Child]] = [
        ("whole loop", *[tag("strong", shown.stiffness(k)) for k in found.directions.values()])
    ]
    rows = [
        (joint, *[bar(found.shares[d].get(joint, 0.0), 1.0) for d in found.directions])
        for joint in names
        if any(found.shares[d].get(joint, 0.0) >= _SEEN for d in found.directions)
    ]
    return table(("", *[f"along {d}" for d in found.directions]), [*whole, *rows], class_="stiffness")


def misfit_table(shown: Shown, joint: JointMisfit) -> Markup:
    """One over-constrained joint: the contacts that strain each other."""
    strained = [c for c in joint.worst if words.small(shown, c.force, Dimension.FORCE) != "none"]
    quiet = len(joint.worst) - len(strained)
    title = tag(
        "h4",
        joint.joint,
        tag("small", f" {joint.contacts} contacts, {joint.spare} more than hold it"),
    )
    if not strained:
        return tag(
            "div", title, tag("p", "Nothing strains: all contacts agree.", class_="note"), class_="misfit"
        )
    head = (
        "contact",
        ">must give",
        ">force from it",
        ">pressed with",
        ">float that relieves it",
        "chance to lift",
    )
    rest = (
        tag(
            "p",
            f"{words.plural(quiet, 'other contact')} {'takes' if quiet == 1 else 'take'} no part.",
            class_="note",
        )
        if quiet
        else None
    )
    rows = [_contact(shown, c) for c in strained]
    return tag("div", title, table(head, rows, class_="contacts"), rest, class_="misfit")


def _contact(shown: Shown, contact: ContactMisfit) -> Sequence[Child]:
    needed = contact.clearance is None
    return (
        contact.contact,
        words.small(shown, contact.misfit, Dimension.LENGTH),
        words.small(shown, contact.force, Dimension.FORCE),
        shown.force(contact.pressed).replace("-", "\u2212", 1),
        "is needed" if needed else "± " + shown.error(contact.clearance or 0.0, Dimension.LENGTH),
        _chance_to_lift(contact.lifts),
    )


def _chance_to_lift(lifts: float | None) -> Child:
    if lifts is None:
        return "holds both ways"
    return tag("b", f"▲ {percent(lifts)}", class_="warn") if lifts > _MAY_LIFT else percent(lifts)


def free_statements(found: Standing) -> dict[str, list[Tightening]]:
    """Statements by joint or part whose doubling has no visible cost to any of the targets."""
    out: dict[str, list[Tightening]] = {}
    for statement in found.free:
        out.setdefault(_place(statement.field), []).append(statement)
    return dict(sorted(out.items()))


def _place(field: str) -> str:
    """What a statement is filed under: its part, its joint, or its section of the build file."""
    section, _, rest = field.partition("/")
    name = rest.partition("/")[0]
    return f"{section.replace('_', ' ')}: {name}" if name else section.replace("_", " ")


def free_list(groups: Mapping[str, Iterable[Tightening]]) -> Markup:
    """These statements as a list by where they stand in the build file."""
    entries = []
    for place, statements in groups.items():
        told = "; ".join(_short(t.field) for t in sorted(statements, key=lambda t: t.field))
        entries.append(tag("div", tag("dt", place), tag("dd", told)))
    return tag("dl", *entries, class_="free")


def _short(field: str) -> str:
    """The end of a field path: what its heading does not say already."""
    rest = field.split("/")[2:]
    return "/".join(rest[1:] if rest[:1] == ["dims"] and len(rest) > 1 else rest) or "all of it"
