"""The page of one target: as designed and as built side by side."""

from collections.abc import Sequence

from loopwright.sheets import standing_words as words
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_figures import histogram_figure
from loopwright.sheets.standing_maps import map_figure, map_key
from loopwright.sheets.standing_parts import stamp
from loopwright.sheets.standing_tables import components_table
from loopwright.studies.as_built import TargetAsBuilt
from loopwright.studies.driving import TargetNow, Thorough, target_now
from loopwright.studies.reports import PlaneMap, TargetStanding
from loopwright.studies.statements import described
from loopwright.web.views.kit import both, button, columns, head, link, more, paper, row, tabs
from loopwright.web.views.sentences import sentence
from loopwright.web.views.standing import target_path
from loopwright.web.views.target_drawn import Answer, answers_figure, answers_table
from loopwright.web.views.target_drives import what_drives
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

SIGNS = {"enough": "enough", "not yet": "short", "too close to call": "open"}


def designed_key(work: Work, name: str) -> tuple[object, ...]:
    """Name under which a target as designed is kept: it holds for one description."""
    return "designed", described(work.bench)[0], name


def thorough_key(work: Work, name: str) -> tuple[object, ...]:
    """Name under which a thorough draw is kept: it holds until the next entry."""
    return "thorough", work.bench.last, name


def designed_of(work: Work, name: str) -> TargetStanding | None:
    """A target as designed, where it was worked out for the present description."""
    found: TargetStanding | None = work.lasting.get(designed_key(work, name))
    return found


def now_of(work: Work, name: str) -> TargetNow:
    """A target as built."""
    return work.kept(("target now", name), lambda: target_now(work.bench, name))


def target(work: Work, reader: Reader, name: str) -> Markup:
    """One target as it stands, with what was worked out of its design so far."""
    work.bench.target(name)
    front, shown, now = work.front, work.shown(reader), now_of(work, name)
    brief = next(t for t in front.targets if t.name == name)
    first = designed_of(work, name)
    thorough: Thorough | None = work.lasting.get(thorough_key(work, name))
    asks = plural(
        "target.asks",
        now.poses,
        asks=now.asks,
        zeroed=now.zeroed,
        poses=now.poses,
        limit=shown.limit(now.limit, now.dimension),
    )
    return joined(
        head(name, sentence(asks)),
        tabs(say("target.every"), *[(t.name, target_path(t.name), t.name == name) for t in front.targets]),
        _plate(shown, brief, front.trials[0], first),
        _spread(shown, now, first, thorough),
        _volume(shown, now, first),
        what_drives(work, shown, now),
        _components(shown, now, first),
    )


def no_such(work: Work, reader: Reader, name: str) -> Markup:
    """What stands here where the build has no target of this name: those that it has."""
    names = list(work.bench.build.targets)
    ways = [tag("li", tag("a", one, href=target_path(one))) for one in names]
    return joined(
        head(
            say("target.no_such", name=name),
            say("target.there_are") if names else say("standing.no_targets_what"),
        ),
        tag("ul", *ways, class_="plain") if names else None,
        row(link(say("standing.title"), "/")),
    )


# the plate


def _answers(shown: Shown, brief: TargetAsBuilt, first: TargetStanding | None) -> list[Answer]:
    pose = shown.pose(brief.worst_pose)
    coverage = None if first is None else first.coverage
    answers = [
        Answer(
            "round",
            say("target.expected"),
            say("target.meaning_expected", pose=pose),
            brief.designed,
            brief.expected,
        ),
        Answer(
            "diamond",
            say("target.covered", share=percent(brief.confidence)),
            say("target.meaning_covered"),
            coverage,
            brief.coverage,
        ),
        Answer("block", say("target.known"), say("target.meaning_known"), None, brief.known),
        Answer("block", say("target.unknown"), say("target.meaning_unknown"), None, brief.unknown),
        Answer("round", say("target.set"), say("target.meaning_set"), None, brief.adjusted),
    ]
    if first is not None:
        worst = Answer("block", say("target.worst_case"), say("target.meaning_worst"), first.worst_case, None)
        answers.append(worst)
    return answers


def _plate(shown: Shown, brief: TargetAsBuilt, trials: int, first: TargetStanding | None) -> Markup:
    limit = shown.limit(brief.limit, brief.dimension)
    answers = _answers(shown, brief, first)
    points = f"{200 * brief.chance_std:.1f} %"
    said = tag(
        "div",
        tag(
            "p",
            tag("strong", percent(brief.chance, brief.chance_std), class_="chance"),
            " ",
            say("target.chance", limit=limit),
            class_="headline",
        ),
        tag(
            "p",
            stamp(SIGNS[brief.verdict]),
            tag("span", sentence(brief.verdict), " ", say("target.asked", share=percent(brief.confidence))),
            class_="verdict",
        ),
        tag(
            "p",
            say("target.designed_chance", chance=percent(brief.designed_chance, brief.chance_std)),
            class_="small",
        ),
        tag(
            "p",
            say("target.when_set", chance=percent(brief.adjusted_chance, brief.chance_std)),
            class_="small",
        ),
        tag("p", say("target.sampling", trials=f"{trials:,}", points=points), class_="small"),
        class_="said",
    )
    drawn = tag(
        "div",
        answers_figure(shown, brief.name, brief.limit, brief.dimension, answers),
        tag("p", say("target.rows_note"), class_="small"),
        class_="drawn",
    )
    own = tag("dl", *_large(shown, brief), class_="stats")
    return joined(
        tag("div", said, drawn, class_="plate standing"),
        own,
        more(say("target.table"), answers_table(shown, brief.dimension, answers), id="answers"),
    )


def _large(shown: Shown, brief: TargetAsBuilt) -> list[Markup]:
    """The sizes that are asked for most, in both systems of units."""
    cells = (
        (say("target.designed"), brief.designed),
        (say("target.built"), brief.expected),
        (say("target.known"), brief.known),
        (say("target.unknown"), brief.unknown),
        (say("target.set"), brief.adjusted),
    )
    return [
        tag("div", tag("dt", name), tag("dd", both(shown, value, brief.dimension)), class_="stat")
        for name, value in cells
    ]


# how it is spread


def _spread(shown: Shown, now: TargetNow, first: TargetStanding | None, thorough: Thorough | None) -> Markup:
    drawn = [d.monte_carlo for d in (first, now) if d is not None]
    far = max((d.histogram[-1][1] for d in drawn if d.histogram), default=0.0)
    parts: list[Child] = []
    if first is not None:
        note = say(
            "target.drawn_designed",
            trials=f"{first.monte_carlo.trials:,}",
            sampling=words.sampling_of_size(shown, first),
        )
        parts.append(_histogram(say("target.spread_designed"), histogram_figure(shown, first, far), note))
    shaped = thorough is not None and thorough.settled
    built = _Drawn(now, thorough) if thorough is not None and shaped else now
    title = say("target.spread_shaped" if shaped else "target.spread_built")
    parts.append(_histogram(title, histogram_figure(shown, built, far), None))
    return paper(
        say("target.spread"),
        tag("p", say("target.spread_note", share=percent(now.confidence)), class_="note"),
        columns(*parts),
        _shapes(thorough),
    )


class _Drawn:
    """A target as built with the stated shapes, as a histogram is drawn of it."""

    def __init__(self, now: TargetNow, thorough: Thorough) -> None:
        self.dimension, self.limit, self.monte_carlo = now.dimension, now.limit, thorough.shaped


def _histogram(title: str, figure: Markup, note: str | None) -> Markup:
    return tag(
        "div",
        tag("h3", title),
        figure,
        tag("p", note, class_="small") if note else None,
        class_="spread-part",
    )


def _shapes(thorough: Thorough | None) -> Markup:
    if thorough is None:
        ask = button(say("target.shaped_draw"), "thorough")
        return tag("div", tag("p", say("target.shaped_why"), class_="note"), row(ask), class_="thorough")
    shaped, normal = thorough.shaped, thorough.normal
    said = say(
        "target.shaped_is",
        chance=percent(shaped.chance, shaped.chance_std),
        normal=percent(normal.chance, normal.chance_std),
    )
    outside = say("target.shaped_outside", names=", ".join(thorough.outside)) if thorough.outside else None
    return tag(
        "div",
        tag("p", said if thorough.settled else say("target.shaped_open"), class_="told"),
        tag("p", outside, class_="note") if outside else None,
        class_="thorough",
    )


# where in the volume


def _volume(shown: Shown, now: TargetNow, first: TargetStanding | None) -> Markup:
    if not now.maps:
        return paper(say("target.volume"), tag("p", say("target.no_volume"), class_="note"))
    both_maps = [*now.maps, *(first.maps if first is not None else ())]
    top = max(size for plane in both_maps for line in plane.size for size in line)
    planes = any(plane.up is not None for plane in now.maps)
    shows = [("built", say("target.volume_built"))]
    if first is not None:
        shows.append(("designed", say("target.volume_designed")))
    return paper(
        say("target.volume"),
        tag("p", say("target.volume_note", unit=shown.unit(now.dimension)), class_="note"),
        _switch(shows) if len(shows) > 1 else None,
        tag("div", *_maps(shown, now, now.maps, top), class_="planes built"),
        tag("div", *_maps(shown, first, first.maps, top), class_="planes designed")
        if first is not None
        else None,
        map_key(shown, now, top) if planes else None,
        class_="volume",
    )


def _maps(
    shown: Shown, target: TargetNow | TargetStanding, maps: Sequence[PlaneMap], top: float
) -> list[Markup]:
    return [map_figure(shown, target, plane, top) for plane in maps]


def _switch(shows: Sequence[tuple[str, str]]) -> Markup:
    """Which picture is shown; the style sheet does it, so nothing is asked of the server."""
    radios = [
        tag(
            "label",
            tag("input", type="radio", name="volume", value=key, id=f"volume-{key}", checked=key == "built"),
            word,
        )
        for key, word in shows
    ]
    return tag("fieldset", tag("legend", say("target.volume_show")), *radios, class_="switch")


# components


def _components(shown: Shown, now: TargetNow, first: TargetStanding | None) -> Markup:
    designed = None
    if first is not None:
        title = say("target.components_designed", pose=shown.pose(first.worst_pose))
        designed = more(title, components_table(shown, first, now.confidence), id="components-designed")
    return paper(
        say("target.components", pose=shown.pose(now.worst_pose)),
        components_table(shown, now, now.confidence),
        designed,
    )
