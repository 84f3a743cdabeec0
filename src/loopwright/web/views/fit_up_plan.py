"""The fit-up on paper: what each step will leave, which adjuster may run out, what could be left out, what binds."""

from collections.abc import Sequence
from itertools import groupby, pairwise

from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import (
    Scale,
    drawing,
    graduations,
    lettering,
    line,
    mark,
    plain,
    reach,
    spread_out,
    table,
)
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.fitup_planning import Binds, FitUpPlan, Planned, before_metal, fitup_plan
from loopwright.units import Dimension
from loopwright.web.views.fit_up_figures import in_other, minus, range_words
from loopwright.web.views.kit import chance, chip, minutes, more, paper, tabs
from loopwright.web.views.longwork import not_done
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

METAL, HERE = "metal", "here"
"""A plan from the description alone, and one from where the machine stands."""
SURE = 0.95
STEADY = 1e-6
"""A setting that spreads by less than this nobody makes, mm or rad."""
TOP, BOTTOM = 14.0, 130.0
LENGTH = Dimension.LENGTH


def work_out(work: Work, reader: Reader, mode: str, *, telling: Telling) -> tuple[int, FitUpPlan]:
    """Runs the steps through; long work. With the entry up to which it counts."""
    found = work.bench
    with one_thread():
        start = before_metal(found) if mode == METAL else found
        return found.last, fitup_plan(start, progress=telling.progress, cancel=telling.cancelled)


def keep(work: Work, reader: Reader, mode: str, found: tuple[int, FitUpPlan]) -> None:
    """Keeps a plan for whoever asks next, until the description changes."""
    work.bench.kept["fit-up plan", mode] = found


def is_kept(work: Work, reader: Reader, mode: str) -> bool:
    """Whether a plan is worked out and still holds; one from the description alone holds as long as that does."""
    found = work.bench.kept.get(("fit-up plan", mode))
    return not work.bench.build.fit_up or (
        found is not None and (mode == METAL or found[0] == work.bench.last)
    )


def kept_plan(work: Work, mode: str) -> FitUpPlan | None:
    """A plan that was worked out; None where none was."""
    found: tuple[int, FitUpPlan] | None = work.bench.kept.get(("fit-up plan", mode))
    return None if found is None else found[1]


def planned(work: Work, reader: Reader, mode: str, stopped: bool) -> Markup:
    """The plan, as far as it was worked out.

    Args:
        work: with the build.
        reader: who looks.
        mode: 'metal' or 'here'.
        stopped: somebody stopped the work.
    """
    if not work.bench.build.fit_up:
        return Markup()
    found, shown = kept_plan(work, mode), work.shown(reader)
    modes = tabs(
        say("fit_up.plan_label"),
        (say("fit_up.from_metal"), "/fit-up#plan", mode == METAL),
        (say("fit_up.from_here"), "/fit-up?from=here#plan", mode == HERE),
    )
    told = tag("p", say(f"fit_up.plan_{mode}"), class_="note")
    if found is None:
        body = not_done(say("frame.stopped"), say("fit_up.plan_again"), "plan_again") if stopped else None
        return paper(say("fit_up.plan"), modes, told, body, id="plan")
    stale = (
        None
        if is_kept(work, reader, mode)
        else not_done(say("fit_up.plan_stale"), say("fit_up.plan_again"), "plan_again")
    )
    return joined(
        paper(say("fit_up.plan"), modes, told, stale, _steps(shown, found.steps), id="plan"),
        _ranges(shown, found.steps),
        _targets(shown, found),
        _binding(shown, found.binds),
    )


def _steps(shown: Shown, steps: Sequence[Planned]) -> Markup:
    head = (
        say("fit_up.step"),
        ">" + say("fit_up.before"),
        ">" + say("fit_up.after"),
        ">" + say("fit_up.enough"),
        ">" + say("fit_up.chance"),
        ">" + say("fit_up.time"),
        say("fit_up.left_out"),
    )
    return table(head, [_planned_row(shown, one) for one in steps], class_="blocks")


def _planned_row(shown: Shown, one: Planned) -> Sequence[Child]:
    name = joined(
        tag("a", f"{one.number} {one.name}", href=f"/fit-up/{one.number}"),
        tag("span", say("fit_up.looks_at", what=one.looks_at), class_="beside under"),
    )
    return (
        name,
        shown.error(one.before, one.dimension),
        tag("b", shown.error(one.after, one.dimension)),
        "—" if one.accept is None else shown.limit(one.accept, one.dimension),
        "—" if one.accepted is None else chance(one.accepted),
        minutes(one.minutes) if one.minutes else "—",
        _dropped(one),
    )


def _dropped(one: Planned) -> Child:
    if one.dropped is None or not (one.settings or one.minutes):
        return "—"
    if one.droppable:
        return chip("open", say("fit_up.droppable"))
    return say("fit_up.costs", share=percent(one.dropped))


def _ranges(shown: Shown, steps: Sequence[Planned]) -> Markup | None:
    head = (
        say("fit_up.what"),
        say("fit_up.step"),
        ">" + say("fit_up.typical"),
        ">" + say("fit_up.range"),
        say("fit_up.suffices"),
    )
    every = [(one, *setting) for one in steps for setting in one.settings]
    short = [_range_row(shown, *one) for one in every if one[-1] < SURE]
    rest = [_range_row(shown, *one) for one in every if one[-1] >= SURE]
    if not every:
        return None
    return paper(
        say("fit_up.ranges"),
        tag("p", say("fit_up.ranges_told"), class_="note"),
        table(head, short, class_="blocks")
        if short
        else tag("p", chip("conforming", say("fit_up.all_suffice"))),
        more(plural("fit_up.ranges_enough", len(rest)), table(head, rest, class_="blocks"), id="ranges")
        if rest
        else None,
    )


def _range_row(
    shown: Shown,
    one: Planned,
    name: str,
    dimension: Dimension,
    std: float,
    span: tuple[float, float],
    enough: float,
) -> Sequence[Child]:
    return (
        name,
        tag("a", f"{one.number} {one.name}", href=f"/fit-up/{one.number}"),
        f"± {shown.error(std, dimension)}" if std > STEADY else say("fit_up.stays"),
        _range(shown, *span, dimension),
        _suffices(enough),
    )


def _range(shown: Shown, low: float, high: float, dimension: Dimension) -> str:
    return range_words(*[minus(shown.error(v, dimension)) if v else "0" for v in (low, high)])


def _suffices(share: float) -> Markup:
    if share >= SURE:
        return chip("conforming", chance(share))
    return chip("look again", say("fit_up.may_run_out_chance", chance=chance(share)))


# targets from step to step


def _targets(shown: Shown, found: FitUpPlan) -> Markup | None:
    if not found.targets:
        return None
    figures = [
        tag("figure", tag("figcaption", name), _course(shown, found, k, d, limit), class_="plane")
        for k, (name, d, limit) in enumerate(found.targets)
    ]
    head = (say("fit_up.step"), *[f">{name}" for name, *_ in found.targets])
    courses = [
        (say("fit_up.at_start"), found.start),
        *[(f"{s.number} {s.name}", s.targets) for s in found.steps],
    ]
    rows = [
        (name, *[shown.error(v, d) for v, (_, d, _) in zip(values, found.targets)])
        for name, values in courses
    ]
    rows.append((say("fit_up.chance_then"), *[chance(one) for one in found.chances]))
    return paper(
        say("fit_up.course"),
        tag("p", say("fit_up.course_told"), class_="note"),
        tag("div", *figures, class_="planes"),
        more(say("book.in_figures"), table(head, rows, class_="blocks"), id="course"),
    )


def _course(shown: Shown, found: FitUpPlan, number: int, dimension: Dimension, limit: float) -> Markup:
    """One target from step to step."""
    values = [
        shown.number(v, dimension) for v in (found.start[number], *(s.targets[number] for s in found.steps))
    ]
    allowed, unit = shown.number(limit, dimension), shown.unit(dimension)
    steps = graduations(reach(max(*values, allowed), 4), 4)
    down, along = Scale(steps[-1], 0.0), Scale(0.0, float(len(values) - 1) or 1.0)
    at = [(along.at(float(k)), TOP + (BOTTOM - TOP) * down.share(v)) for k, v in enumerate(values)]
    level = TOP + (BOTTOM - TOP) * down.share(allowed)
    names = [say("fit_up.at_start"), *[f"{s.number} {s.name}" for s in found.steps]]
    return drawing(
        BOTTOM + 42,
        f"{found.targets[number][0]}: "
        + "; ".join(f"{name} {value:.3g} {unit}" for name, value in zip(names, values)),
        *[
            joined(
                line(
                    0, TOP + (BOTTOM - TOP) * down.share(v), 100, TOP + (BOTTOM - TOP) * down.share(v), "rest"
                ),
                lettering(0, TOP + (BOTTOM - TOP) * down.share(v) + 4, plain(v), "tick left", dx=-6),
            )
            for v in steps
        ],
        line(0, level, 100, level, "limit"),
        lettering(
            100, level - 6, say("fit_up.limit_is", limit=shown.limit(limit, dimension)), "limit-word before"
        ),
        *[line(*a, *b, "curve") for a, b in pairwise(at)],
        *[
            mark(x, y, "round", "solid", f"{name}: {value:.3g} {unit}")
            for (x, y), name, value in zip(at, names, values)
        ],
        *[lettering(at[k][0], BOTTOM + 18, str(k), "tick") for k in spread_out(len(at), 10)],
        lettering(0, BOTTOM + 38, unit, "axis-name"),
        lettering(100, BOTTOM + 38, f"{say('fit_up.step')} →", "axis-name right"),
        class_="map",
    )


# where it binds


def _binding(shown: Shown, binds: Sequence[Binds]) -> Markup | None:
    if not binds:
        return None
    head = (
        say("fit_up.contact"),
        say("fit_up.joint"),
        ">" + say("fit_up.gives"),
        ">" + say("fit_up.force"),
        ">" + say("fit_up.larger"),
        say("fit_up.lifts"),
    )
    joints = [list(own) for _, own in groupby(binds, key=lambda one: one.joint)]
    worst = [own[0] for own in joints]
    rest = [one for own in joints for one in own[1:]]
    return paper(
        say("fit_up.binds"),
        tag("p", say("fit_up.binds_told"), class_="note"),
        table(head, [_contact(shown, one) for one in worst], class_="blocks"),
        more(
            plural("fit_up.more_contacts", len(rest)),
            table(head, [_contact(shown, one) for one in rest], class_="blocks"),
            id="more-binds",
        )
        if rest
        else None,
        id="binds",
    )


def _contact(shown: Shown, one: Binds) -> Sequence[Child]:
    larger: Child = say("fit_up.needed")
    if one.larger is not None:
        larger = joined(
            tag("b", shown.error(one.larger, LENGTH)),
            tag("span", in_other(shown, one.larger, LENGTH), class_="beside under"),
        )
    return (
        one.contact,
        joined(
            one.joint,
            tag("span", say("fit_up.spare", contacts=one.contacts, spare=one.spare), class_="beside under"),
        ),
        shown.error(one.misfit, LENGTH),
        shown.force(one.force),
        larger,
        "—" if one.lifts is None else chance(one.lifts),
    )
