"""What is changed of the description, what that would do to every target, and the form that saves it."""

from collections.abc import Sequence

from loopwright.buildfile.comparing import FieldChange
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.as_built import TargetAsBuilt
from loopwright.studies.edit_effect import Described, Difference, EditEffect, TargetEffect
from loopwright.studies.edit_form import entry_path
from loopwright.web.views.description_form import open_way
from loopwright.web.views.kit import button, field, form, more, paper, row
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST = 80
"""Changes that are listed."""


def changes(
    work: Work,
    reader: Reader,
    base: Described,
    found: Difference,
    effect: EditEffect | None,
    effect_is_now: bool,
    problems: int,
    clashing: bool,
) -> Markup:
    """The difference against a revision, what it does, and saving.

    Args:
        work: the open book.
        reader: who looks.
        base: the revision that the changes are against.
        found: the difference.
        effect: what it would do, as far as that was asked.
        effect_is_now: whether that is of these very changes.
        problems: how many mistakes there are.
        clashing: somebody has still to look at where two people changed the same.
    """
    told = {"revision": base.revision, "who": base.who, "at": f"{base.at[:10]} {base.at[11:16]}"}
    if not found.lines:
        return paper(say("description.difference"), tag("p", say("description.difference_none", **told)))
    return joined(
        paper(
            say("description.difference"),
            tag("p", say("description.difference_to", **told), class_="note"),
            change_table(found.changes) if found.changes else None,
            more(say("description.lines"), _lines(found.lines), id="description-lines"),
            row(button(say("description.drop"), "description drop", quiet=True)),
        ),
        paper(say("description.effect"), *_effect(work.shown(reader), effect, effect_is_now, problems)),
        paper(say("description.save"), _save(reader, problems, clashing)),
    )


def change_table(found: Sequence[FieldChange]) -> Markup:
    """What changed, field by field."""
    rows: list[Sequence[Child]] = [
        (
            open_way(_form_of(change), change.path.replace("/", " / ")),
            _before(change),
            _after(change),
        )
        for change in found[:MOST]
    ]
    left = len(found) - MOST
    rest = tag("p", say("description.used_more", count=left), class_="note") if left > 0 else None
    head = [say(f"description.{word}") for word in ("what", "was", "becomes")]
    return joined(table(head, rows, class_="compared description-compared"), rest)


def _form_of(change: FieldChange) -> str:
    path = change.path
    if change.renamed and change.after is not None:
        path = f"{path.rpartition('/')[0]}/{change.after}"
    if change.after is None and path.count("/") <= 1:
        return path.partition("/")[0]
    return entry_path(path) if "/" in path else ""


def _before(change: FieldChange) -> Markup:
    if change.before is None:
        return tag("em", say("description.was_not"))
    return tag("del", change.before) if not change.renamed else tag("span", change.before)


def _after(change: FieldChange) -> Markup:
    if change.after is None:
        return tag("em", say("description.is_gone"))
    if change.renamed:
        return joined(tag("em", say("description.now_called")), " ", tag("ins", change.after))
    return tag("ins", change.after)


def _lines(lines: str) -> Markup:
    shown = [
        tag("span", line + "\n", class_={"-": "gone", "+": "come"}.get(line[:1], "place"))
        for line in lines.split("\n")
    ]
    return tag("pre", *shown, class_="description-diff", tabindex="0")


# what it does


def _effect(shown: Shown, effect: EditEffect | None, is_now: bool, problems: int) -> tuple[Child, ...]:
    if problems:
        return (tag("p", say("description.effect_mistakes"), class_="note"),)
    lede = tag("p", say("description.effect_lede"), class_="note")
    if effect is None:
        return (lede, row(button(say("description.effect_do"), "description effect", first=True)))
    old = () if is_now else (tag("p", say("description.effect_old"), class_="note"),)
    again = None if is_now else row(button(say("description.effect_again"), "description effect", first=True))
    before, after = effect.chance_of_all
    whole = say("description.chance_all", before=percent(before), after=percent(after))
    return (lede, *old, _targets(shown, effect.targets), tag("p", whole), _readings(effect), again)


def _targets(shown: Shown, targets: Sequence[TargetEffect]) -> Markup:
    rows: list[Sequence[Child]] = [
        (one.name, _size(shown, one.before), _then(shown, one), _chance(one.before), _chance_then(one))
        for one in targets
    ]
    head = [say(f"description.{word}") for word in ("target", "now", "then", "chance_now", "chance_then")]
    return table(head, rows, class_="compared")


def _size(shown: Shown, target: TargetAsBuilt | None) -> str:
    return "" if target is None else shown.error(target.expected, target.dimension)


def _then(shown: Shown, one: TargetEffect) -> Child:
    if one.after is None:
        return tag("em", say("description.target_gone"))
    if one.before is None:
        return joined(_size(shown, one.after), " ", tag("em", say("description.target_new")))
    now, then = _size(shown, one.before), _size(shown, one.after)
    return say("description.same") if now == then else tag("b", then)


def _chance(target: TargetAsBuilt | None) -> str:
    return "" if target is None else percent(target.chance, target.chance_std)


def _chance_then(one: TargetEffect) -> Child:
    now, then = _chance(one.before), _chance(one.after)
    return say("description.same") if now == then else then


def _readings(effect: EditEffect) -> Markup:
    again = plural("description.found_again", len(effect.found)) if effect.found else None
    if not effect.lost:
        return tag("p", say("description.lost_none"), " ", again)
    items = [
        tag("li", say("description.lost_line", entry=number, of=of, why=why))
        for number, of, why in effect.lost[:MOST]
    ]
    return tag(
        "div",
        tag("h3", say("description.lost")),
        tag("ul", *items),
        tag("p", again) if again else None,
        class_="caution",
    )


# saving


def _save(reader: Reader, problems: int, clashing: bool) -> Markup:
    if not reader.may("edit"):
        return tag("p", say("description.save_role", role=reader.role), class_="note")
    if problems:
        return tag("p", say("description.save_mistakes"), class_="note")
    if clashing:
        return tag("p", say("description.together_clashes_one"), class_="note")
    who = say("description.save_who", who=reader.who) if reader.who else say("description.save_nobody")
    return form(
        "description save",
        field(say("description.why"), "why", hint=say("description.why_hint"), keep="description/why"),
        tag("p", who, class_="note"),
        row(button(say("description.save_do"), first=True)),
        id="description-save",
        stay=True,
    )
