"""The fit-up: the order of assembly, how far it is, what it left against what was planned, and all that can be set."""

from collections.abc import Collection, Sequence
from urllib.parse import quote

from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.sheets.standing_parts import balloon
from loopwright.studies.fitup_planning import FitUpPlan, Planned
from loopwright.studies.fitup_progress import (
    AdjusterNow,
    FitUpProgress,
    StepProgress,
    fitup_progress,
)
from loopwright.studies.screw_alignment import screws_of
from loopwright.web.views.book_words import entry_path
from loopwright.web.views.fit_up_figures import (
    Bar,
    against_limit,
    error_parts,
    legend,
    minus,
    range_words,
    size_words,
)
from loopwright.web.views.fit_up_plan import METAL, kept_plan
from loopwright.web.views.kit import chance, chip, head, link, paper, row
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

STAGES = {
    "not begun": "open",
    "read": "undecided",
    "set": "done",
    "accepted": "conforming",
    "again": "look again",
}
SIZED = "ground to size"


def progress_of(work: Work) -> FitUpProgress:
    """How far the fit-up is, kept until the book changes."""
    return work.kept("fit-up progress", lambda: fitup_progress(work.bench))


def step_path(number: int) -> str:
    """Address of the page of a step."""
    return f"/fit-up/{number}"


def set_path(name: str) -> str:
    """Address at which one adjuster is set."""
    return f"/fit-up?set={quote(name, safe='')}"


def bench_path(number: int, of: str | None = None) -> str:
    """Address at which the readings of a step are typed."""
    return f"/bench?step={number}" if of is None else f"/bench?step={number}&of={quote(of, safe='')}"


def stage_chip(one: StepProgress) -> Markup:
    """How far a step is, as a shape and a word."""
    words = "proven" if one.stage == "accepted" and one.accepted is None else one.stage.replace(" ", "_")
    return chip(STAGES[one.stage], say(f"fit_up.stage_{words}"))


def overview(work: Work, reader: Reader) -> Markup:
    """The order of assembly with how far each step is, what was planned of it, and what it left."""
    found, shown = progress_of(work), work.shown(reader)
    title = head(say("fit_up.title"), say("fit_up.lede"))
    if not found.steps:
        return joined(
            title,
            empty(say("fit_up.none"), say("fit_up.none_told"), row(link(say("fit_up.none_way"), "/machine"))),
        )
    plan = kept_plan(work, METAL)
    planned = {one.name: one for one in plan.steps} if plan is not None else {}
    items = [_step(shown, one, planned.get(one.name)) for one in found.steps]
    return joined(
        title,
        _next(found, _worth_setting(work)),
        paper(
            say("fit_up.order"),
            tag("ol", *items, class_="steps"),
            legend(
                ("round", "hollow", say("fit_up.legend_planned")),
                ("round", "solid", say("fit_up.legend_left")),
            ),
        ),
    )


def _worth_setting(work: Work) -> Collection[str]:
    """Numbers of the steps that the front page proposes to set, as text; none where it was not asked yet."""
    front = work.front_if_known
    return set() if front is None else {one.about for one in front.actions if one.kind == "set"}


def _next(found: FitUpProgress, worth: Collection[str]) -> Markup:
    done = sum(one.stage == "accepted" for one in found.steps)
    count = tag("p", say("fit_up.done_of", done=done, count=len(found.steps)), role="status")
    one = next((step for step in found.steps if step.number == found.next), None)
    if one is None:
        return tag("div", count, tag("p", say("fit_up.all_done")), class_="told")
    # what is worth most comes before what is next in order, as on the front page
    ready = [step for step in found.steps if str(step.number) in worth]
    ways = [
        link(say("fit_up.set_step", number=step.number, name=step.name), step_path(step.number), first=True)
        for step in ready
        if step is not one
    ]
    on = link(say("fit_up.next", number=one.number, name=one.name), step_path(one.number), first=not ways)
    return tag("div", count, row(*ways, on), class_="told")


def _step(shown: Shown, one: StepProgress, planned: Planned | None) -> Markup:
    number = one.number
    missing = [name for name, entry in one.reads if entry is None]
    about: list[Child] = [
        tag("a", one.name, href=step_path(number), class_="name"),
        stage_chip(one),
        tag("span", _readings(one, missing), class_="beside") if one.reads else None,
        tag("span", say("fit_up.sets", names=", ".join(one.adjusts)), class_="beside")
        if one.adjusts
        else None,
    ]
    return tag(
        "li",
        balloon(number),
        tag("div", *about, class_="about"),
        _drawn(shown, one, planned),
        _figures(shown, one, planned),
        class_="accepted" if one.stage == "accepted" else None,
    )


def _readings(one: StepProgress, missing: Sequence[str]) -> str:
    if not missing:
        return plural("fit_up.all_read", len(one.reads))
    return say("fit_up.to_read", names=", ".join(missing))


def _drawn(shown: Shown, one: StepProgress, planned: Planned | None) -> Markup:
    """What was planned and what was left on one scale; nothing where neither says anything."""
    left = one.stage != "not begun"
    if not left and planned is None:
        return tag("div", class_="drawn")
    d = one.dimension
    said = "; ".join(
        words for words in (_planned_words(shown, planned), _left_words(shown, one) if left else "") if words
    )
    bar = Bar(
        None if planned is None else shown.number(planned.after, d),
        shown.number(one.largest, d) if left else None,
        shown.number(one.unknown, d) if left else 0.0,
        f"{one.name}: {said}",
    )
    limit = None if one.accept is None else shown.number(one.accept, d)
    good = "" if one.accept is None else say("fit_up.good_enough", limit=shown.limit(one.accept, d))
    return tag("div", against_limit(bar, limit, shown.unit(d), good), class_="drawn")


def _planned_words(shown: Shown, planned: Planned | None) -> str:
    return (
        ""
        if planned is None
        else say("fit_up.planned_is", value=shown.error(planned.after, planned.dimension))
    )


def _left_words(shown: Shown, one: StepProgress) -> str:
    value, unknown = (shown.error(v, one.dimension) for v in (one.largest, one.unknown))
    return say("fit_up.left_is", value=value, unknown=unknown)


def _figures(shown: Shown, one: StepProgress, planned: Planned | None) -> Markup:
    d = one.dimension
    cells: list[Markup] = []

    def cell(name: str, value: Child, below: str = "") -> None:
        under = tag("span", below, class_="beside under") if below else None
        cells.append(tag("div", tag("dt", say(f"fit_up.{name}")), tag("dd", value, under)))

    if planned is not None:
        held = "" if planned.accepted is None else say("fit_up.chance_is", chance=chance(planned.accepted))
        cell("planned", shown.error(planned.after, d), held)
    if one.stage != "not begun":
        number, known, unit = error_parts(shown, one.largest, one.unknown, d)
        value = joined(tag("b", number), f" ± {known} {unit}")
        cell("left", value, "" if one.chance is None else say("fit_up.chance_is", chance=chance(one.chance)))
    if one.accept is not None:
        cell("enough", shown.limit(one.accept, d))
    runs = [s for s in planned.settings if s[4] < SURE] if planned is not None else []
    if runs:
        worst = min(runs, key=lambda s: s[4])
        cell("range", chip("look again", say("fit_up.may_run_out")), f"{worst[0]}, {chance(worst[4])}")
    return tag("dl", *cells, class_="step-figures")


SURE = 0.95
"""Below this chance that its range is enough, an adjuster may run out; common practice."""


# what can be set, and screws


def settable(work: Work, reader: Reader) -> Markup:
    """Everything that can be set, as it stands, and the screws that can be lined up."""
    found, shown = progress_of(work), work.shown(reader)
    return joined(_adjusters(shown, found.adjusters), _screws(work))


def _adjusters(shown: Shown, adjusters: Sequence[AdjusterNow]) -> Markup | None:
    if not adjusters:
        return None
    head_ = (
        say("fit_up.what"),
        say("fit_up.how"),
        ">" + say("fit_up.stands"),
        ">" + say("fit_up.range"),
        say("fit_up.last_set"),
        say("fit_up.in_steps"),
    )
    return paper(
        say("fit_up.settable"),
        tag("p", say("fit_up.settable_told"), class_="note"),
        table(head_, [_adjuster(shown, one) for one in adjusters], class_="blocks"),
        id="settable",
    )


def _adjuster(shown: Shown, one: AdjusterNow) -> Sequence[Child]:
    steps = [tag("a", str(number), href=step_path(number)) for number in one.steps]
    made = (
        tag("a", say("book.entry_n", number=one.made), href=entry_path(one.made))
        if one.made
        else say("fit_up.never")
    )
    return (
        tag("a", one.name, href=set_path(one.name)),
        one.kind,
        value_words(shown, one.now, one),
        range_words(value_words(shown, one.low, one), value_words(shown, one.high, one)),
        made,
        joined(*[joined(", " if k else "", step) for k, step in enumerate(steps)]) if steps else "—",
    )


def value_words(shown: Shown, value: float, one: AdjusterNow) -> str:
    """A place of an adjuster: a size as a size, a setting as small as it is."""
    if one.kind == SIZED:
        return size_words(shown, value, one.dimension)
    return minus(shown.limit(value, one.dimension))


def _screws(work: Work) -> Markup | None:
    found = screws_of(work.bench)
    if not found:
        return None
    items = [
        tag("li", link(f"{joint} / {drive}", f"/fit-up/screws?of={quote(f'{joint}/{drive}', safe='')}"))
        for joint, drive in found
    ]
    return paper(
        say("fit_up.screws"),
        tag("p", say("fit_up.screws_told"), class_="note"),
        tag("ul", *items, class_="row plain-list"),
        class_="no-print",
    )


__all__ = ["FitUpPlan", "overview", "progress_of", "set_path", "settable", "stage_chip", "step_path"]
