"""A screw and its nut over the travel: how far out of line, what side load that makes, and what takes it out."""

from collections.abc import Iterable, Sequence

from loopwright import units
from loopwright.sheets.drawing import in_figures, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.screw_alignment import Direction, Remedy, ScrewAlignment, screw_alignment
from loopwright.units import Dimension
from loopwright.web.views.fit_up import set_path
from loopwright.web.views.fit_up_figures import Curve, legend, minus, sweep
from loopwright.web.views.kit import chip, head, link, paper, row
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

LENGTH = Dimension.LENGTH


def screw(work: Work, reader: Reader, of: str) -> Markup:
    """How a screw lines up with its nut.

    Args:
        work: with the build.
        reader: who looks.
        of: 'joint/drive', or 'joint/drives/name'.
    """
    joint, _, drive = of.partition("/")
    found = work.kept(("screw", of), lambda: screw_alignment(work.bench, joint, drive or "drive"))
    shown = work.shown(reader)
    grinds = any(r.what == "spacer" and r.value < 0 for d in found.directions for r in d.remedies)
    caution = tag(
        "p", tag("strong", say("fit_up.caution")), " ", say("fit_up.caution_grinding"), class_="caution"
    )
    return joined(
        head(say("fit_up.screw_title", joint=joint), say("fit_up.screw_lede")),
        row(link(say("fit_up.all_steps"), "/fit-up", quiet=True)),
        caution if grinds else None,
        *[_direction(shown, found, one) for one in found.directions],
        *[tag("p", sentence(note), class_="note") for note in found.notes],
    )


def _direction(shown: Shown, found: ScrewAlignment, one: Direction) -> Markup:
    x, y, z = (f"{v + 0.0:g}" for v in one.normal)
    names = [shown.position(found.axis, at).split(" ")[1] for at in found.positions]
    axis = f"{found.axis}, {shown.units.length}"
    force = shown.units.force

    def lengths(values: Iterable[float]) -> tuple[float, ...]:
        return tuple(shown.number(float(v), LENGTH) for v in values)

    def forces(values: Iterable[float]) -> tuple[float, ...]:
        return tuple(float(units.convert(float(v), Dimension.FORCE, force)) for v in values)

    off = [
        Curve(lengths(one.before.mean), lengths(one.before.std), "hollow", say("fit_up.screw_before")),
        Curve(lengths(one.after.mean), (), "solid", say("fit_up.screw_after")),
    ]
    load = [
        Curve(forces(one.before.load), (), "hollow", say("fit_up.screw_before")),
        Curve(forces(one.after.load), (), "solid", say("fit_up.screw_after")),
    ]
    return paper(
        say("fit_up.screw_direction", contact=one.contact, along=along_words(x, y, z)),
        tag(
            "div",
            tag(
                "figure",
                tag("figcaption", say("fit_up.stands_off", unit=shown.unit(LENGTH))),
                sweep(found.positions, names, off, shown.unit(LENGTH), axis),
                class_="plane",
            ),
            tag(
                "figure",
                tag("figcaption", say("fit_up.side_load", unit=force)),
                sweep(found.positions, names, load, force, axis),
                class_="plane",
            ),
            class_="planes",
        ),
        legend(
            ("round", "hollow", say("fit_up.screw_before")), ("round", "solid", say("fit_up.screw_after"))
        ),
        _figures(shown, found, one),
        _remedies(shown, one),
    )


def _figures(shown: Shown, found: ScrewAlignment, one: Direction) -> Markup:
    head_ = (
        say("fit_up.nut_at"),
        ">" + say("fit_up.off_before"),
        ">" + say("book.not_known"),
        ">" + say("fit_up.off_after"),
        ">" + say("fit_up.load_before"),
        ">" + say("fit_up.load_after"),
    )
    rows = [
        (
            shown.position(found.axis, at),
            minus(shown.error_known(float(one.before.mean[k]), float(one.before.std[k]), LENGTH, sign=True)),
            f"± {shown.error(float(one.before.std[k]), LENGTH)}",
            minus(shown.error_known(float(one.after.mean[k]), float(one.after.std[k]), LENGTH, sign=True)),
            shown.force(float(one.before.load[k])),
            shown.force(float(one.after.load[k])),
        )
        for k, at in enumerate(found.positions)
    ]
    return in_figures(say("book.in_figures"), head_, rows)


def _remedies(shown: Shown, one: Direction) -> Markup:
    if not one.remedies:
        return tag("p", say("fit_up.nothing_to_set"), class_="note")
    head_ = (
        say("fit_up.what"),
        ">" + say("fit_up.by"),
        ">" + say("fit_up.known"),
        ">" + say("fit_up.larger"),
        say("fit_up.range"),
    )
    return table(head_, [_remedy(shown, remedy) for remedy in one.remedies], class_="blocks")


def along_words(*along: str) -> str:
    """A direction: the axis it lies along, else its components.

    >>> along_words("0", "0", "1"), along_words("-1", "0", "0"), along_words("0.6", "0.8", "0")
    ('+Z', '−X', '(0.6, 0.8, 0)')
    """
    there = [(letter, one) for letter, one in zip("XYZ", along) if one not in ("0", "-0")]
    if len(there) == 1 and there[0][1] in ("1", "-1"):
        letter, one = there[0]
        return ("+" if one == "1" else "\N{MINUS SIGN}") + letter
    return f"({', '.join(along)})"


def _remedy(shown: Shown, one: Remedy) -> Sequence[Child]:
    mount = one.what != "spacer"
    key = {"spacer": "spacer", "fixed mount": "fixed_mount", "free mount": "free_mount"}.get(
        one.what, "spacer"
    )
    name = joined(say(f"fit_up.{key}"), " ", tag("a", one.of, href=set_path(one.of), class_="path"))
    value = minus(shown.error_known(one.value, one.std, LENGTH, sign=True))
    return (
        name,
        tag("b", value),
        f"± {shown.error(one.std, LENGTH)}",
        shown.error(one.oversize, LENGTH) if mount else "—",
        chip("conforming", say("fit_up.range_enough"))
        if one.enough
        else chip("look again", say("fit_up.range_short")),
    )
