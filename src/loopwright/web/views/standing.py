"""The front page: where the build stands, what moved, what is known, and what to do next."""

from collections.abc import Sequence
from urllib.parse import quote

from loopwright.errors import BuildError, RequestError
from loopwright.sheets.drawing import Scale, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_figures import change_figure
from loopwright.sheets.standing_maps import map_figure, map_key
from loopwright.sheets.standing_parts import stamp
from loopwright.sheets.standing_tables import bar
from loopwright.studies.as_built import Action, Known, ReadingLook, StandingAsBuilt, TargetAsBuilt
from loopwright.studies.driving import MapsNow, maps_now
from loopwright.web.views.both_ways import on_standing
from loopwright.web.views.kit import chip, columns, head, link, minutes, more, paper, row
from loopwright.web.views.saying import empty, problem_line
from loopwright.web.views.sentences import listed, sentence
from loopwright.web.views.standing_drawn import against_limits, known_bar, verdict_chip
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

UNRESOLVED, SURPRISES = 6, 6


def target_path(name: str) -> str:
    """Address of the page of a target."""
    return f"/targets/{quote(name, safe='')}"


def read_path(name: str) -> str:
    """Address of the bench with a test or dim already chosen."""
    return f"/bench?of={quote(name, safe='')}"


def front(work: Work, reader: Reader) -> Markup:
    """The front page; a build that cannot be worked out says why."""
    try:
        found = work.front
    except BuildError as error:
        return _mistakes(error)
    except RequestError as error:
        if work.bench.build.targets:
            raise
        return joined(head(say("standing.title")), _no_targets(error))
    return _front(work, work.shown(reader), found)


def usable(work: Work, reader: Reader) -> bool:
    """Whether the build can be worked out; the front page says why not."""
    try:
        return bool(work.bench)
    except BuildError:
        return False


def _front(work: Work, shown: Shown, found: StandingAsBuilt) -> Markup:
    worst = min(found.targets, key=lambda t: (t.chance, -t.expected / t.limit))
    maps = work.kept(("maps now", worst.name), lambda: maps_now(work.bench, worst.name))
    return joined(
        head(say("standing.title")),
        _plate(shown, found),
        _surprises(shown, found.surprises),
        _next(found),
        _targets(shown, found),
        on_standing(work, shown),
        tag("div", columns(_moved(shown, found), _map(shown, maps)), class_="beside-each-other"),
        _how_known(found),
        _notes(found.notes),
    )


# the plate


def _plate(shown: Shown, found: StandingAsBuilt) -> Markup:
    designed, built = found.chance_of_all
    count = len(found.targets)
    sign, sentence = _verdict(found)
    doubt = max(t.chance_std for t in found.targets)
    said = tag(
        "div",
        tag(
            "p",
            tag("strong", percent(built, doubt), class_="chance"),
            " ",
            plural("standing.chance_of_all", count),
            class_="headline",
        ),
        tag("p", stamp(sign), tag("span", sentence), class_="verdict"),
        tag("p", say("standing.designed_chance", chance=percent(designed, doubt)), class_="small"),
        tag("p", say("standing.nothing_read"), class_="small begin") if not found.readings else None,
        class_="said",
    )
    paths = [target_path(t.name) for t in found.targets]
    drawn = tag("div", against_limits(shown, found.targets, paths), class_="drawn")
    return tag("div", said, drawn, class_="plate standing")


def _verdict(found: StandingAsBuilt) -> tuple[str, str]:
    """A stamp and a sentence for all targets together."""
    share = percent(found.confidence)
    for verdict, sign, key in (("not yet", "short", "short"), ("too close to call", "open", "open")):
        names = [t.name for t in found.targets if t.verdict == verdict]
        if names:
            text = say(
                "standing.short" if key == "short" else "standing.open", names=listed(names), share=share
            )
            return sign, text
    return "enough", say("standing.enough_all", share=share)


# next


def _next(found: StandingAsBuilt) -> Markup:
    cards = [_card(number, action) for number, action in enumerate(found.actions, 1)]
    nothing = None
    if found.nothing_more:
        title = say("standing.nothing_more_too" if cards else "standing.nothing_more")
        nothing = tag("div", tag("h3", title), tag("p", sentence(found.nothing_more)), class_="told")
    heading = tag(
        "div",
        tag("h2", say("standing.next"), id="next"),
        tag(
            "div",
            link(say("standing.enter_reading"), "/bench"),
            link(say("standing.all_next"), "/next", quiet=True),
            class_="row",
        ),
        class_="spread",
    )
    return tag(
        "section",
        heading,
        tag("ol", *cards, class_="cards") if cards else None,
        nothing,
        class_="next",
        aria_labelledby="next",
    )


def _card(number: int, action: Action) -> Markup:
    label, path = action_way(action)
    foot = row(
        link(label, path, first=number == 1),
        tag("span", minutes(action.minutes), class_="minutes") if action.minutes else None,
    )
    return tag(
        "li",
        tag("span", str(number), class_="balloon", aria_hidden="true"),
        tag("h3", sentence(action.what).rstrip(".")),
        tag("p", sentence(action.gain), class_="gain"),
        foot,
        class_="card",
    )


def action_way(action: Action) -> tuple[str, str]:
    """What the button of an action says, and where it leads."""
    about = quote(action.about, safe="")
    return {
        "read": (say("standing.read"), f"/bench?of={about}"),
        "set": (say("standing.set"), f"/fit-up/{about}"),
        "decide": (say("standing.decide"), f"/parts/{about}"),
        "look again": (say("standing.look_again"), f"/bench?again={about}"),
        "calibrate": (say("standing.calibrate"), f"/gauges/{about}"),
    }[action.kind]


def worth_instead(work: Work) -> Markup | None:
    """What is worth doing where no reading is: the other actions of the front page, a button each, or the way there."""
    front = work.front_if_known
    if front is None:
        return row(link(say("standing.title"), "/", first=True))
    ways = [(one, action_way(one)[1]) for one in front.actions if one.kind != "read"]
    if not ways:
        return None
    links = [link(sentence(one.what).rstrip("."), path, first=not k) for k, (one, path) in enumerate(ways)]
    return joined(tag("p", say("standing.instead")), row(*links))


# the targets


def _targets(shown: Shown, found: StandingAsBuilt) -> Markup:
    heads = (
        say("standing.target"),
        ">" + say("standing.limit"),
        ">" + say("standing.expected_designed"),
        ">" + say("standing.expected_built"),
        ">" + say("standing.chance_designed"),
        ">" + say("standing.chance_built"),
        ">" + say("standing.chance_set"),
        say("standing.verdict"),
    )
    rows = [_target_row(shown, target) for target in found.targets]
    points = f"{200 * max(t.chance_std for t in found.targets):.1f} %"
    sampling = say("standing.sampling", trials=f"{found.trials[0]:,}", points=points)
    return paper(
        say("standing.targets"),
        tag("p", say("standing.targets_note"), " ", sampling, class_="note"),
        table(heads, rows, class_="stand"),
        more(say("standing.at_worst"), _at_worst(shown, found), id="at-worst"),
    )


def _target_row(shown: Shown, t: TargetAsBuilt) -> Sequence[Child]:
    return (
        tag("a", t.name, href=target_path(t.name)),
        shown.limit(t.limit, t.dimension),
        shown.error(t.designed, t.dimension),
        tag("b", shown.error(t.expected, t.dimension)),
        percent(t.designed_chance, t.chance_std),
        tag("b", percent(t.chance, t.chance_std)),
        percent(t.adjusted_chance, t.chance_std),
        verdict_chip(t.verdict),
    )


def _at_worst(shown: Shown, found: StandingAsBuilt) -> Markup:
    heads = (
        say("standing.target"),
        ">" + say("standing.known"),
        ">" + say("standing.unknown"),
        ">" + say("standing.covered", share=percent(found.confidence)),
        say("standing.where"),
    )
    rows = [
        (
            t.name,
            shown.error(t.known, t.dimension),
            shown.error(t.unknown, t.dimension),
            shown.error(t.coverage, t.dimension),
            shown.pose(t.worst_pose),
        )
        for t in found.targets
    ]
    return table(heads, rows, class_="stand")


# what moved, and where


def _moved(shown: Shown, found: StandingAsBuilt) -> Markup:
    if not found.moved_by:
        return paper(say("standing.moved"), tag("p", say("standing.moved_none"), class_="note"))
    heads = (
        say("standing.target"),
        say("standing.moved_figure"),
        ">" + say("standing.expected"),
        ">" + say("standing.chance"),
    )
    rows = [_moved_row(shown, t) for t in found.targets if t.before is not None]
    return paper(
        say("standing.moved"),
        tag("p", sentence(say("standing.moved_by", entry=found.moved_by)), class_="note"),
        table(heads, rows, class_="moved"),
    )


def _moved_row(shown: Shown, t: TargetAsBuilt) -> Sequence[Child]:
    before, before_chance = t.before or 0.0, t.before_chance or 0.0
    scale = Scale(0.0, shown.number(max(t.limit, before, t.expected), t.dimension))
    was, now = shown.error(before, t.dimension), shown.error(t.expected, t.dimension)
    said = say("standing.moved_then", name=t.name, before=was, now=now)
    figure = change_figure(
        shown.number(before, t.dimension), shown.number(t.expected, t.dimension), scale, said
    )
    return (
        t.name,
        figure,
        _from_to(was, now),
        _from_to(percent(before_chance, t.chance_std), percent(t.chance_normal, t.chance_std)),
    )


def _from_to(was: str, now: str) -> Markup:
    return joined(tag("span", f"{was} →", class_="was nowrap"), " ", tag("b", now, class_="nowrap"))


def _map(shown: Shown, maps: MapsNow) -> Markup:
    top = max((size for plane in maps.maps for line in plane.size for size in line), default=0.0)
    unit = shown.unit(maps.dimension)
    return paper(
        say("standing.map"),
        tag("p", say("standing.map_of", name=maps.name, unit=unit), class_="note"),
        *[map_figure(shown, maps, plane, top) for plane in maps.maps[:1]],
        map_key(shown, maps, top) if maps.maps and maps.maps[0].up is not None else None,
        tag("p", link(say("standing.map_more"), target_path(maps.name)), class_="way"),
    )


# how it is known


def _how_known(found: StandingAsBuilt) -> Markup:
    counts = found.counts
    words = (
        ("measured", say("standing.measured"), say("standing.measured_note")),
        ("assumed", say("standing.assumed"), say("standing.assumed_note")),
        ("unresolved", say("standing.unresolved"), say("standing.unresolved_note")),
    )
    entries = [
        tag(
            "div",
            tag("dt", tag("span", class_=f"swatch {key}", aria_hidden="true"), word),
            tag("dd", tag("b", str(counts.get(key, 0))), " ", note),
        )
        for key, word, note in words
    ]
    return paper(
        say("standing.how_known"),
        known_bar(*(counts.get(key, 0) for key, _, _ in words)),
        tag("dl", *entries, class_="counts"),
        _unresolved(found.unresolved),
        class_="how-known",
    )


def _unresolved(known: Sequence[Known]) -> Markup | None:
    if not known:
        return None
    top = known[0].share
    rows = [_unresolved_row(one, top) for one in known]
    heads = (say("standing.deviation"), say("standing.share"), say("standing.resolved_by"))
    rest = len(rows) - UNRESOLVED
    return joined(
        tag("h3", say("standing.unresolved_table"), class_="sub"),
        table(heads, rows[:UNRESOLVED], class_="unresolved"),
        more(
            plural("standing.more_unresolved", rest),
            table(heads, rows[UNRESOLVED:], class_="unresolved"),
            id="more-unresolved",
        )
        if rest > 0
        else None,
    )


def _unresolved_row(one: Known, top: float) -> Sequence[Child]:
    way: Child = tag("span", say("standing.no_reading"), class_="beside")
    if one.resolved_by:
        way = tag("a", say("standing.read_name", name=one.resolved_by), href=read_path(one.resolved_by))
    return one.name, bar(one.share, top), way


# surprises and notes


def _surprises(shown: Shown, looks: Sequence[ReadingLook]) -> Markup | None:
    if not looks:
        return None
    return paper(
        say("standing.surprises"),
        tag("p", say("standing.surprises_note"), class_="note"),
        tag("ul", *[_surprise(shown, look) for look in looks[:SURPRISES]], class_="surprises"),
        class_="doubt",
    )


def _surprise(shown: Shown, look: ReadingLook) -> Markup:
    by = look.outside or say("standing.surprise_by", count=f"{look.surprise:.1f}")
    sizes = None
    if len(look.found) == 1:
        found, expected, std = look.found[0], look.expected[0], look.std[0]
        sizes = say(
            "standing.surprise_found",
            found=shown.error_known(found, std, look.dimension, sign=True),
            expected=shown.error_known(expected, std, look.dimension, sign=True),
            std=shown.error(std, look.dimension),
        )
    return tag(
        "li",
        tag("h3", say("standing.surprise", entry=look.entry, name=look.name)),
        tag("p", chip("look again"), " ", by, f"; {sizes}" if sizes else None),
        row(
            link(say("standing.look_again"), f"/bench?again={look.entry}"),
            link(say("standing.open_entry", entry=look.entry), f"/book/{look.entry}", quiet=True),
        ),
    )


def _notes(notes: Sequence[str]) -> Markup | None:
    if not notes:
        return None
    return paper(
        say("standing.notes"), tag("ul", *[tag("li", sentence(note)) for note in notes], class_="plain")
    )


# nothing to show yet


def _no_targets(error: RequestError) -> Markup:
    return empty(
        say("standing.no_targets"),
        say("standing.no_targets_what"),
        tag("p", sentence(error.remedy)),
        row(link(say("standing.describe"), "/description", first=True)),
    )


def _mistakes(error: BuildError) -> Markup:
    lines = [tag("li", problem_line(problem)) for problem in error.problems]
    return joined(
        head(say("standing.mistakes"), say("standing.mistakes_what")),
        paper(
            plural("standing.mistakes_count", len(lines)),
            tag("ol", *lines, class_="mistakes"),
            row(
                link(say("standing.mend"), "/description", first=True),
                link(say("standing.revisions"), "/book/revisions"),
            ),
            class_="doubt",
        ),
    )
