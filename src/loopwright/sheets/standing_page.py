"""The report of a standing: one HTML page that needs nothing besides itself, for screen, wall and file."""

from collections.abc import Sequence
from importlib.resources import files

from loopwright import __version__
from loopwright.sheets import standing_words as words
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.sheets.standing_figures import (
    SHAPES,
    answers_figure,
    histogram_figure,
    three_answers,
)
from loopwright.sheets.standing_maps import map_figure, map_key
from loopwright.sheets.standing_parts import (
    balloon,
    comparison,
    legend_mark,
    marking_out,
    overview,
    patterns,
    stamp,
)
from loopwright.sheets.standing_tables import (
    components_table,
    free_list,
    free_statements,
    groups_table,
    misfit_table,
    pairings_table,
    sources_table,
    stiffness_table,
    tightening_table,
)
from loopwright.studies.reports import InLimits, Standing, TargetStanding, WhatIf

_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def page(found: Standing | WhatIf) -> str:
    """The report as one HTML page; the same record gives the same text, to the letter.

    Args:
        found: where a build stands, or two standings to compare.

    Returns:
        HTML text without any reference to something outside of it.

    >>> from loopwright.studies import example_loop, standing
    >>> text = page(standing(example_loop("clock-plate"), trials=2000))
    >>> "Clock-plate drilling machine" in text
    True
    """
    compared = found if isinstance(found, WhatIf) else None
    standing = found.after if isinstance(found, WhatIf) else found
    shown = Shown(standing.units)
    sheets = 2 + len(standing.targets) + (compared is not None)
    body = tag(
        "body",
        tag("a", "To the content", href="#content", class_="skip"),
        patterns(),
        _header(standing, compared),
        tag("main", *_sheets(shown, standing, compared, sheets), id="content"),
    )
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        tag("title", f"{standing.build}: what it will hold"),
        tag("style", Markup(files("loopwright.sheets").joinpath("page_style.css").read_text("utf-8"))),
    )
    return f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n"


def _sheets(shown: Shown, standing: Standing, compared: WhatIf | None, count: int) -> list[Markup]:
    inner = [
        (
            "Overview" if compared is None else "Overview, with the change",
            "overview",
            overview(shown, standing),
        )
    ]
    if compared is not None:
        inner.insert(0, ("What if", "what-if", comparison(shown, compared)))
    inner += [
        (target.name, f"target-{n}", _target(shown, standing, target))
        for n, target in enumerate(standing.targets, 1)
    ]
    inner.append(("The whole machine", "machine", _machine(shown, standing)))
    return [
        _sheet(standing, title, anchor, body, f"{number} of {count}")
        for number, (title, anchor, body) in enumerate(inner, 1)
    ]


def _sheet(standing: Standing, title: str, anchor: str, body: Markup, number: str) -> Markup:
    """One sheet in its frame, with the small title block that says where it belongs."""
    zones = tag("div", *[tag("i", str(n)) for n in range(1, 9)], class_="zones", aria_hidden="true")
    foot = tag(
        "footer",
        tag("span", standing.build),
        tag("span", title),
        tag("span", f"sheet {number}"),
        class_="corner",
    )
    return tag(
        "section",
        zones,
        tag("h2", title, id=f"{anchor}-title"),
        body,
        foot,
        id=anchor,
        class_="sheet",
        aria_labelledby=f"{anchor}-title",
    )


def _header(standing: Standing, compared: WhatIf | None) -> Markup:
    question = "What it will hold, as designed" if compared is None else "What if? Before and after a change"
    title = tag(
        "div",
        tag("p", question, class_="eyebrow"),
        tag("h1", standing.build),
        _lead(standing, None if compared is None else compared.before),
        class_="title",
    )
    return tag("header", marking_out(), title, _title_block(standing, compared is not None), class_="head")


def _lead(standing: Standing, before: Standing | None) -> Markup:
    """The one number that a reader takes away."""
    count = len(standing.targets)
    what = {1: "the limit", 2: "both limits together"}.get(count, f"all {count} limits together")
    was = None if before is None else f" (before the change {_chance_of_all(before)})"
    chance = tag("strong", _chance_of_all(standing))
    return tag("p", f"Chance to hold {what}, over the whole volume: ", chance, was, class_="lead")


def _chance_of_all(standing: Standing) -> str:
    if len(standing.targets) == 1:
        return words.chance(standing.targets[0].monte_carlo)
    trials = min((target.monte_carlo.trials for target in standing.targets), default=0)
    return words.counted_share(standing.chance_of_all, 0.001, trials)


def _title_block(standing: Standing, changed: bool) -> Markup:
    kinds = {
        kind: None for target in standing.targets for kind, share in target.by_kind.items() if share > 1e-9
    }
    trials = sorted({target.monte_carlo.trials for target in standing.targets})
    u = standing.units
    cells = [
        ("machine", standing.build),
        ("build file", standing.file or "not from a file"),
        ("state", "as designed, with values changed" if changed else "as designed; nothing measured yet"),
        ("included", ", ".join(kinds) or "nothing that moves the tool"),
        (
            "deviations",
            f"{words.counted(standing.sources)}, of which {words.counted(standing.open_sources)} are open",
        ),
        ("drawn", f"{' / '.join(words.counted(n) for n in trials)} machines, seed {standing.seed}"),
        ("units", ", ".join(dict.fromkeys((u.length, u.small_length, u.angle, u.force, u.stiffness)))),
        ("confidence", words.confidence(standing.confidence)),
        ("program", f"Loopwright {__version__}"),
    ]
    return tag("dl", *[tag("div", tag("dt", k), tag("dd", v)) for k, v in cells], class_="block")


def _target(shown: Shown, standing: Standing, target: TargetStanding) -> Markup:
    asks = f"{target.asks}; {target.zeroed}; looked at in {words.plural(target.poses, 'pose')}."
    return joined(
        tag("p", asks[:1].upper() + asks[1:], class_="asks"),
        _plate(shown, target, standing.in_limits.get(target.name)),
        _meanings(shown, target),
        _where(shown, target),
        _what_drives(shown, standing, target),
        _what_helps(shown, target),
        _what_gives(shown, target),
    )


def _plate(shown: Shown, target: TargetStanding, limits: InLimits | None) -> Markup:
    """The verdict in words, and the three answers on one scale."""
    said, limit = words.verdict(target), shown.limit(target.limit, target.dimension)
    return tag(
        "div",
        tag(
            "div",
            tag(
                "p",
                tag("strong", words.chance(target.monte_carlo), class_="chance"),
                f" chance to hold {limit} over the whole volume",
                class_="headline",
            ),
            tag("p", stamp(said.sign), tag("span", said.sentence), class_="verdict"),
            tag("p", words.sampling(target.monte_carlo), class_="small"),
            tag("p", words.as_made(shown, target, limits), class_="small") if limits is not None else None,
            class_="said",
        ),
        tag("div", answers_figure(shown, target), class_="drawn"),
        class_="plate",
    )


def _meanings(shown: Shown, target: TargetStanding) -> Markup:
    share = words.confidence(target.monte_carlo.confidence)
    expected_at, worst_at = (
        words.unbroken(shown.pose(pose)) for pose in (target.worst_pose, target.worst_case_pose)
    )
    told = {
        "expected": f"Root mean square at the worst pose, {expected_at}. A typical machine, out there.",
        "coverage": f"{share} of machines are this good or better at their own worst place in the volume. "
        f"Monte Carlo with the stated shapes; {words.sampling_of_size(shown, target)}.",
        "worst": f"Worst case: every deviation at the end that hurts most, at {worst_at}; where nothing "
        "bounds one, as far out as the assumptions say. Hardly any machine comes near.",
    }
    cards = [
        tag(
            "div",
            tag("h3", legend_mark(SHAPES[key], key), title),
            tag("p", shown.error(value, target.dimension), class_="figure"),
            tag("p", told[key], class_="note"),
        )
        for key, (title, value) in three_answers(target).items()
    ]
    return tag("div", *cards, class_="answers")


def _where(shown: Shown, target: TargetStanding) -> Markup:
    """How the worst error is spread over machines, and the expected one over the volume."""
    drawn = target.monte_carlo
    top = max((v for plane in target.maps for row in plane.size for v in row), default=0.0)
    maps = [map_figure(shown, target, plane, top) for plane in target.maps]
    spread = tag(
        "div",
        _heading(1, "How the worst error is spread"),
        tag(
            "p",
            f"Each bar: how many of {words.counted(drawn.trials)} machines have their worst error there. "
            f"Hatched: over the limit. Diamond: {words.confidence(drawn.confidence)} of machines are below.",
            class_="note",
        ),
        histogram_figure(shown, target),
        class_="part",
    )
    planes = any(plane.up is not None for plane in target.maps)
    unit = shown.unit(target.dimension)
    told = f"Expected error in {unit}" + ("; the lines part the steps of the key." if planes else ".")
    volume = tag(
        "div",
        _heading(2, "Where in the volume"),
        tag("p", told, class_="note"),
        tag("div", *maps, class_="planes"),
        map_key(shown, target, top) if planes else None,
        class_="part",
    )
    return joined(spread, volume if maps else None)


def _what_drives(shown: Shown, standing: Standing, target: TargetStanding) -> Markup:
    more = len(target.drivers) - 12
    return tag(
        "div",
        _heading(3, "What drives it"),
        tag("p", "Shares of the variance. A bar is drawn against the largest of its table.", class_="note"),
        sources_table(shown, target.drivers),
        tag("p", f"{words.plural(more, 'more')} with smaller shares.", class_="note") if more > 0 else None,
        tag(
            "div",
            tag("div", tag("h4", "By kind"), groups_table(target.by_kind, "kind")),
            tag("div", tag("h4", "By joint"), groups_table(target.by_joint, "joint")),
            tag("div", tag("h4", "By part"), groups_table(target.by_part, "part")),
            class_="three",
        ),
        tag(
            "p", "What belongs to no one joint, or to no one part, is left out of that table.", class_="note"
        ),
        tag("h4", f"Components at the worst pose, {shown.pose(target.worst_pose)}"),
        components_table(shown, target, standing.confidence),
        class_="part",
    )


def _what_helps(shown: Shown, target: TargetStanding) -> Markup:
    return tag(
        "div",
        _heading(4, "What would lower it"),
        tag("h4", "Limits halved, one statement at a time"),
        tightening_table(shown, target),
        tag("h4", "Made together"),
        pairings_table(shown, target),
        class_="part",
    )


def _what_gives(shown: Shown, target: TargetStanding) -> Markup:
    exact, stiff = target.exact, stiffness_table(shown, target)
    first = joined(
        _heading(5, "What gives under load"),
        tag(
            "p",
            "Stiffness between the two bodies at the worst pose, and which joint gives how much of the way.",
            class_="note",
        ),
        stiff,
    )
    rows = [
        (name, shown.error(largest, target.dimension), words.small(shown, apart, target.dimension))
        for name, largest, apart in (
            ("everything at its limit", exact.largest, exact.difference),
            ("everything one standard uncertainty off", exact.typical_largest, exact.typical),
        )
    ]
    return tag(
        "div",
        first if stiff is not None else None,
        _heading(6 if stiff is not None else 5, "Linear against exact motion"),
        tag(
            "p",
            "The numbers above add small deviations in a straight line. Exact rigid-body motion was run "
            f"beside it in {words.plural(exact.cases, 'case')}.",
            class_="note",
        ),
        table(
            ("deviations", ">largest error", ">exact motion differs by up to"),
            rows,
            class_="components narrow",
        ),
        class_="part",
    )


def _heading(number: int, title: str) -> Markup:
    return tag("h3", balloon(number), title)


def _machine(shown: Shown, standing: Standing) -> Markup:
    """What belongs to no single target."""
    return joined(
        _over_constraint(shown, standing),
        _free(standing),
        tag(
            "div",
            _heading(3, "Assumed, and left out"),
            _bullets(standing.assumptions),
            _idle(standing),
            class_="part",
        ),
        tag(
            "p",
            tag("strong", "Before you rely on it. "),
            "A budget is an estimate, as good as its build file. It checks no strength, no guarding, no "
            "lifting and no electrical safety. Have someone who knows look at those before anything "
            "turns or hangs.",
            class_="caution",
        ),
    )


def _over_constraint(shown: Shown, standing: Standing) -> Markup:
    told = (
        "Joints with more contacts than it takes to hold them. What does not agree, the joint must bend. A "
        "contact that lifts has lost its preload: it rattles, and its stiffness is gone. "
        "▲ marks a chance over 1 %."
        if standing.misfits
        else "No joint has more contacts than it takes to hold it."
    )
    tables = [misfit_table(shown, joint) for joint in standing.misfits]
    return tag("div", _heading(1, "Over-constraint"), tag("p", told, class_="note"), *tables, class_="part")


def _free(standing: Standing) -> Markup:
    groups = free_statements(standing)
    number = sum(len(statements) for statements in groups.values())
    told = (
        "Doubled one at a time, none of these moves the expected error of any target by 1 %. Loosened all "
        "at once they add up: change the file and run the budget again. Fits, strength and looks may still "
        "want the limit."
    )
    listed = tag("details", tag("summary", words.plural(number, "statement")), free_list(groups), open=True)
    return tag(
        "div",
        _heading(2, "Where limits could be doubled"),
        tag("p", told if number else "Nowhere: every statement shows.", class_="note"),
        listed if number else None,
        class_="part",
    )


def _bullets(lines: Sequence[str]) -> Markup:
    return tag("ul", *[tag("li", text) for text in lines], class_="plain")


def _idle(standing: Standing) -> Markup | None:
    if not standing.idle_dims:
        return None
    return tag(
        "p",
        "No contact names these dims, so they move nothing: ",
        ", ".join(standing.idle_dims),
        ".",
        class_="note",
    )
