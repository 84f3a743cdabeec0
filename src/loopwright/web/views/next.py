"""What to measure next: the plan for the hours there are, every reading by its worth, and the gauges it takes."""

from collections.abc import Sequence

from loopwright.asbuilt.worth import WORTHLESS, Left, Plan, Worth
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_tables import bar
from loopwright.studies.next_readings import GOOD_ENOUGH, GaugeProposal, NextReadings, next_readings
from loopwright.web.views.kit import button, chip, field, form, head, link, minutes, more, paper, row
from loopwright.web.views.longwork import not_done
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import listed, sentence
from loopwright.web.views.standing import read_path, target_path, worth_instead
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

WITH_CHANCE = 12
"""Readings of the list, the best first, whose chances are worked out."""
AT_ONCE = 40
"""Readings of the list on one page."""


def plan_key(work: Work, there_is: float) -> tuple[object, ...]:
    """Name under which a plan is kept: it holds until the next entry."""
    return "plan", work.bench.last, there_is


def gauges_key(work: Work) -> tuple[object, ...]:
    """Name under which what was found of the gauges is kept: it holds until the next entry."""
    return "gauges", work.bench.last


def ranked(work: Work) -> NextReadings:
    """Every reading by its worth."""
    return work.kept("ranked", lambda: next_readings(work.bench, with_chance=WITH_CHANCE))


# the hours


def hours(work: Work, reader: Reader, typed: str) -> Markup:
    """The head of the page, and how many hours there are."""
    lede = say("next.lede_adjusts" if ranked(work).adjusts else "next.lede_unknown")
    asked = form(
        "plan",
        tag(
            "div",
            field(
                say("next.hours"),
                "hours",
                value=typed,
                unit=say("next.hours_unit"),
                hint=say("next.hours_hint"),
                number=True,
            ),
            class_="fields",
        ),
        row(button(say("next.make"), first=True)),
        stay=True,
        id="hours",
    )
    return joined(
        head(say("next.title"), joined(say("next.lede"), " ", lede)),
        paper(say("next.hours_title"), tag("div", asked, data_way="hours")),
    )


def planned(work: Work, reader: Reader, there_is: float, going: bool) -> Markup:
    """The plan for so many minutes, where it was made; else the way to it, or nothing while that goes on."""
    found: Plan | None = work.lasting.get(plan_key(work, there_is))
    if found is None:
        return Markup() if going else not_done(say("next.stopped"), say("next.again"), "again")
    shown, every = work.shown(reader), ranked(work)
    if not found.readings:
        title = say("next.plan_none", there_is=minutes(there_is))
        return tag(
            "div",
            tag("h3", title),
            worth_instead(work) or tag("p", sentence(every.nothing) if every.nothing else None),
            class_="told",
        )
    names = set(work.bench.build.tests)
    left = there_is - found.minutes
    title = plural(
        "next.plan_is", len(found.readings), minutes=minutes(found.minutes), there_is=minutes(there_is)
    )
    return paper(
        title,
        tag("p", say("next.plan_note"), class_="note"),
        tag("ol", *_planned(found.readings, names), class_="plan"),
        tag("p", say("next.plan_left", minutes=minutes(left)), class_="note") if left >= 1 else None,
        tag("h3", say("next.after"), class_="sub"),
        _leaves(shown, every, found),
    )


def _planned(readings: Sequence[Worth], tests: set[str]) -> list[Markup]:
    out, clock = [], 0.0
    for number, worth in enumerate(readings, 1):
        clock += worth.minutes
        out.append(_step(number, worth, clock, worth.name in tests))
    return out


def _step(number: int, worth: Worth, clock: float, test: bool) -> Markup:
    told = say(
        "next.takes",
        gain=percent(worth.gain),
        target=worth.target,
        a_minute=percent(worth.gain_per_minute),
    )
    return tag(
        "li",
        tag("span", str(number), class_="balloon", aria_hidden="true"),
        tag(
            "div",
            tag("h3", worth.name, " ", tag("small", say("next.test" if test else "next.dim"))),
            tag("p", told, class_="gain"),
        ),
        tag(
            "p",
            tag("b", minutes(worth.minutes)),
            " ",
            tag("span", say("next.until", time=minutes(clock)), class_="beside"),
            class_="clock",
        ),
        _way(worth.name, first=number == 1),
    )


def _way(name: str, *, first: bool = False) -> Markup:
    label = say("next.read_name", name=name)
    class_ = "button first" if first else "button"
    return tag("a", say("next.read"), href=read_path(name), class_=class_, aria_label=label)


def _leaves(shown: Shown, every: NextReadings, plan: Plan) -> Markup:
    heads = [say("next.target"), ">" + say("next.unknown")]
    heads += [">" + say("next.adjusted")] if every.adjusts else []
    heads += [">" + say("next.chance")]
    rows = []
    for (name, dimension, _), was, then in zip(every.targets, plan.before, plan.after):
        cells: list[Child] = [
            tag("a", name, href=target_path(name)),
            _from_to(shown.error(was.unknown, dimension), shown.error(then.unknown, dimension)),
        ]
        if every.adjusts:
            cells.append(
                _from_to(shown.error(was.adjusted, dimension), shown.error(then.adjusted, dimension))
            )
        rows.append((*cells, _chances(was, then)))
    return table(heads, rows, class_="stand")


def _from_to(was: str, now: str) -> Markup:
    return joined(tag("span", f"{was} →", class_="was nowrap"), " ", tag("b", now, class_="nowrap"))


def _chances(was: Left, then: Left) -> Child:
    if was.chance is None or then.chance is None:
        return ""
    return _from_to(percent(was.chance, 0.01), percent(then.chance, 0.01))


# the ranking


def ranking(work: Work, reader: Reader, there_is: float, first: int = 0) -> Markup:
    """Every reading that could be taken, those worth it first.

    Args:
        work: the book.
        reader: who looks.
        there_is: minutes that were planned for; what stands in that plan is marked.
        first: place in the list of those not worth taking, from which on they are shown.
    """
    found = ranked(work)
    plan: Plan | None = work.lasting.get(plan_key(work, there_is))
    chosen = set() if plan is None else {worth.name for worth in plan.readings}
    tests = set(work.bench.build.tests)
    worth, rest = found.worthwhile, [w for w in found.ranked if not w.worthwhile]
    top = max((w.gain for w in worth), default=1.0)
    rows = [_ranked_row(w, top, tests, chosen) for w in worth[:AT_ONCE]]
    return paper(
        say("next.ranked"),
        tag("p", say("next.ranked_note"), class_="note"),
        table(_heads(), rows, class_="ranked") if rows else _none(found),
        _tests_left_out(found, chosen),
        _worthless(rest, tests, chosen, first) if rest else None,
    )


def _tests_left_out(found: NextReadings, chosen: set[str]) -> Markup | None:
    """Declared tests that nobody need take now, and why."""
    names = [name for name in found.worthless if name not in chosen]
    if not names:
        return None
    told = say("next.worthless_tests", names=listed(names), least=percent(WORTHLESS))
    return tag("p", told, class_="told")


def _heads() -> tuple[str, ...]:
    return (
        say("next.reading"),
        ">" + say("next.minutes"),
        say("next.gain"),
        ">" + say("next.a_minute"),
        ">" + say("next.chances"),
        say("next.most_for"),
        say("next.do"),
    )


def _none(found: NextReadings) -> Markup:
    return tag("div", tag("h3", say("next.none")), tag("p", sentence(found.nothing)), class_="told")


def _ranked_row(worth: Worth, top: float, tests: set[str], chosen: set[str]) -> Sequence[Child]:
    return (
        _named(worth.name, tests, chosen),
        f"{worth.minutes:g}",
        bar(worth.gain, top),
        percent(worth.gain_per_minute),
        _chances(*worth.of_target),
        worth.target,
        _way(worth.name),
    )


def _named(name: str, tests: set[str], chosen: set[str]) -> Markup:
    kind = say("next.test" if name in tests else "next.dim")
    planned = tag("span", chip("done", say("next.in_plan")), class_="in-plan") if name in chosen else None
    return joined(tag("span", name, class_="name"), " ", tag("span", kind, class_="beside"), planned)


def _worthless(rest: Sequence[Worth], tests: set[str], chosen: set[str], first: int) -> Markup:
    rows = [
        (_named(w.name, tests, chosen), f"{w.minutes:g}", percent(w.gain), w.target, _way(w.name))
        for w in rest[first : first + AT_ONCE]
    ]
    heads = (
        say("next.reading"),
        ">" + say("next.minutes"),
        ">" + say("next.gain"),
        say("next.most_for"),
        say("next.do"),
    )
    return more(
        plural("next.worthless", len(rest)),
        tag("p", say("next.worthless_note", least=percent(WORTHLESS)), class_="note"),
        table(heads, rows, class_="worthless"),
        _turning(len(rest), first),
        id="worthless",
    )


def _turning(count: int, first: int) -> Markup | None:
    """To the readings before and after those that are shown."""
    if count <= AT_ONCE:
        return None
    last = min(first + AT_ONCE, count)
    before = button(say("next.earlier"), "turn", begin=str(max(first - AT_ONCE, 0))) if first else None
    after = button(say("next.later"), "turn", begin=str(last)) if last < count else None
    here = tag("span", say("next.page_of", first=first + 1, last=last, count=count))
    return row(before, here, after)


# the gauges


def gauges(work: Work, reader: Reader) -> Markup:
    """What gauge each declared test needs, where that was looked at; else the way to look."""
    title, note = say("next.gauges"), say("next.gauges_note", share=percent(GOOD_ENOUGH))
    if not work.bench.build.tests:
        return paper(title, tag("p", say("next.no_tests"), class_="note"))
    found: tuple[GaugeProposal, ...] | None = work.lasting.get(gauges_key(work))
    if found is None:
        return paper(title, tag("p", note, class_="note"), row(button(say("next.gauges_look"), "gauges")))
    shown = work.shown(reader)
    heads = (
        say("next.test"),
        say("next.gauge"),
        ">" + say("next.has"),
        ">" + say("next.needs"),
        say("next.verdict"),
    )
    rows = [_gauge_row(shown, one) for one in found]
    return paper(title, tag("p", note, class_="note"), table(heads, rows, class_="gauges-needed"))


def _gauge_row(shown: Shown, one: GaugeProposal) -> Sequence[Child]:
    needs = "" if one.std is None else shown.error(one.std, one.dimension)
    has = "" if one.gauge is None else shown.error(one.now, one.dimension)
    return one.test, one.gauge or say("next.no_gauge"), has, needs, _gauge_verdict(one)


def _gauge_verdict(one: GaugeProposal) -> Child:
    if one.std is None:
        return chip("unread", say("next.not_worth"))
    if one.gauge is not None and one.now <= one.std:
        return chip("conforming", say("next.good"))
    way = say("next.instead", gauge=one.instead) if one.instead else say("next.no_instead")
    return joined(chip("not conforming", say("next.coarse")), " ", tag("span", way, class_="beside"))


def no_targets(work: Work, reader: Reader) -> Markup:
    """What stands here as long as there is no target."""
    return joined(
        head(say("next.title")),
        empty(
            say("standing.no_targets"),
            say("standing.no_targets_what"),
            row(link(say("standing.describe"), "/description", first=True)),
        ),
    )
