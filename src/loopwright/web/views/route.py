"""The route of a part as a page: its ops as a list, what is wrong with it, and what changes of it do."""

from collections.abc import Iterator, Mapping, Sequence
from zlib import crc32

from loopwright.errors import BuildError, Problem, RequestError
from loopwright.model.routes import ROUND
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.route_drafted import OpDraft, RouteDraft, route_draft
from loopwright.studies.route_sheet import CutLine, OpLine, RouteSheet
from loopwright.web.views import description, route_effect, route_form
from loopwright.web.views.description import CHANGES, FIELDS, Sheet
from loopwright.web.views.kit import button, chip, link, minutes, more, row, stats
from loopwright.web.views.making import cautions, sizes_for
from loopwright.web.views.parts import path_of
from loopwright.web.views.saying import empty, problem_line, refusal
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_PROBLEMS = 30
_GRIP = "M5,3 h2 M5,8 h2 M5,13 h2 M11,3 h2 M11,8 h2 M11,13 h2"
_ARROWS = {"up": "M9,15 V4 M4,8.5 L9,3.5 L14,8.5", "down": "M9,3 V14 M4,9.5 L9,14.5 L14,9.5"}


def sheet(work: Work, reader: Reader, name: str, it: Sheet) -> Markup:
    """The whole page.

    Args:
        work: the open book.
        reader: who looks.
        name: of the part.
        it: what the page holds of the description as it is being changed.

    Raises:
        RequestError: there is no such part.
    """
    try:
        draft = route_draft(it.text, name)
    except BuildError as error:
        return joined(
            _kept(it),
            refusal(error),
            row(link(say("route.as_text"), "/description?show=text")),
        )
    may = reader.may("edit")
    if draft.bought and not draft.ops:
        told = empty(
            say("making.is_bought"),
            say("making.is_bought_told"),
            row(link(say("making.to_part"), path_of(name))),
        )
        return joined(_kept(it), told)
    if it.show == CHANGES:
        body: Markup = joined(
            _effect(work, reader, draft, it),
            route_effect.changed(work, draft, it),
            description.changes(work, reader, it, f"parts/{name}/route"),
        )
    else:
        body = joined(_body(sizes_for(work, reader), draft, it, may), _effect(work, reader, draft, it))
    return joined(
        _kept(it),
        description.meanwhile(work, it),
        _tools(work, draft, it) if may else None,
        body,
    )


def _kept(it: Sheet) -> Markup:
    """What the page's script keeps on the device; the page of the description goes on with the same."""
    return tag(
        "div",
        id="description-kept",
        hidden=True,
        data_way="description",
        data_kept=it.kept,
        data_sequence=it.sequence,
        data_at=it.at,
        data_show=it.show,
        data_refused=it.refused.path if it.refused else None,
    )


# tools


def _tools(work: Work, draft: RouteDraft, it: Sheet) -> Markup:
    undo = say("description.undo_what", what=it.undo) if it.undo else say("description.undo")
    redo = say("description.redo_what", what=it.redo) if it.redo else say("description.redo")
    said = plural("description.changed", it.steps) if it.steps else say("description.nothing_changed")
    back = button(say("route.back"), "description show", of=FIELDS)
    review = button(say("description.review"), "description show", first=True, of=CHANGES)
    return tag(
        "div",
        tag(
            "div",
            description.step("undo", say("description.undo"), undo, bool(it.undo)),
            description.step("redo", say("description.redo"), redo, bool(it.redo)),
            tag("span", said, class_="description-said"),
            _state(draft),
            route_effect.verdict(work, it, draft) if it.steps else None,
            back if it.show == CHANGES else review if it.steps else None,
            class_="row",
            role="group",
            aria_label=say("description.tools"),
        ),
        tag("p", it.undo, role="status", class_="unseen"),
        class_="description-tools route-tools",
    )


def _state(draft: RouteDraft) -> Markup:
    """Whether there are mistakes, and the way to each."""
    if not draft.mistakes:
        return chip("conforming", say("description.sound"))
    items = [
        tag("li", problem_line(one), " ", _open(op.path, say("description.open_field")) if op else None)
        for op, one in _every(draft)
    ]
    away = plural("route.elsewhere", draft.elsewhere) if draft.elsewhere else None
    return tag(
        "details",
        tag("summary", chip("not conforming", plural("description.problems", draft.mistakes))),
        tag(
            "ul",
            *items[:MOST_PROBLEMS],
            tag("li", away, " ", tag("a", say("route.to_description"), href="/description"))
            if away
            else None,
        ),
        class_="description-problems",
        id="description-problems",
    )


def _every(draft: RouteDraft) -> Iterator[tuple[OpDraft | None, Problem]]:
    for problem in draft.problems:
        yield None, problem
    for op in draft.ops:
        for problem in (*op.problems, *(one for cut in op.cuts for one in cut.problems)):
            yield op, problem


def _open(path: str, word: str) -> Markup:
    return tag("button", word, type="button", class_="plain", data_act="description open", data_of=path)


def _effect(work: Work, reader: Reader, draft: RouteDraft, it: Sheet) -> Markup | None:
    return route_effect.told(work, reader, draft, it) if it.steps else None


# the route


def _body(sizes: ShopSizes, draft: RouteDraft, it: Sheet, may: bool) -> Markup:
    stamp = f"{crc32(it.text.encode()):08x}-{it.at}"
    ops = [_op(sizes, draft, one, n, it, may) for n, one in enumerate(draft.ops)]
    listed = tag(
        "ol",
        *ops,
        class_="route-ops",
        id="route-list",
        data_way="route",
        data_stamp=stamp,
        data_at=it.at,
    )
    refused = None
    if it.refused is not None and not it.refused.path.startswith(f"parts/{draft.part}/route/"):
        refused = refusal(RequestError(it.refused.what, it.refused.remedy))
    none = (
        empty(say("making.no_route"), say("route.begin_told" if draft.surfaces else "route.begin_surfaces"))
        if not ops
        else None
    )
    adding = (route_form.add_op(draft), route_form.surfaces(draft, it))
    return joined(
        _summary(draft),
        _charting(draft.sheet),
        refused,
        none,
        listed if ops else None,
        *((adding if draft.surfaces else reversed(adding)) if may else ()),
        _passed_over(draft.sheet),
        cautions([c for op in draft.sheet.ops for c in op.cautions], "route") if draft.sheet else None,
        *(route_form.lists(draft, it.at) if may else ()),
    )


def _summary(draft: RouteDraft) -> Markup | None:
    found = draft.sheet
    if found is None:
        return None
    about = ", ".join(filter(None, (found.material, found.condition))) or say("parts.material_open")
    blank = say("route.from_blank", blank=found.blank) if found.blank else say("route.no_blank")
    without = plural("route.unstated", found.unstated) if found.unstated else None
    return joined(
        stats(
            (say("route.made_of"), about, blank),
            (
                say("route.ops"),
                str(len(found.ops)),
                plural("route.setups", len(draft.setups)) if draft.setups else None,
            ),
            (say("route.attended"), minutes(found.attended), without),
            (say("route.unattended"), minutes(found.unattended), None),
        ),
        tag("p", sentence(found.note)) if found.note else None,
    )


def _charting(found: RouteSheet | None) -> Markup | None:
    """What keeps the route from being charted; it can be saved all the same."""
    if found is None or not found.problems:
        return None
    items = [
        tag("li", problem_line(one), " ", _open(one.field, say("description.open_field")))
        for one in found.problems[:MOST_PROBLEMS]
    ]
    return tag(
        "div",
        tag("h3", plural("route.not_charted", len(found.problems))),
        tag("ul", *items),
        class_="refusal",
    )


def _passed_over(found: RouteSheet | None) -> Markup | None:
    if found is None or not found.passed_over:
        return None
    items = [tag("li", say("route.passed_over_line", dim=dim, why=why)) for dim, why in found.passed_over]
    return more(plural("route.passed_over", len(items)), tag("ul", *items), id="route-passed-over")


def _op(sizes: ShopSizes, draft: RouteDraft, one: OpDraft, index: int, it: Sheet, may: bool) -> Markup:
    here = it.at == one.path
    found = one.found
    said = _found(sizes, draft.faces, found) if found is not None else _typed(one)
    return tag(
        "li",
        _grip(one) if may else None,
        tag(
            "div",
            tag(
                "h2",
                tag("span", str(one.number), class_="route-number"),
                " ",
                one.op or say("route.no_op"),
                class_="route-name",
            ),
            chip("not conforming", plural("description.problems", one.mistakes)) if one.mistakes else None,
            *said,
            class_="route-said",
        ),
        _hands(one, index, len(draft.ops), here) if may else None,
        route_form.op_form(draft, one, it) if here and may else None,
        class_="route-op" + (" open" if here else ""),
        id=f"route-op-{index}",
        data_index=str(index),
        data_path=one.path,
    )


def _grip(one: OpDraft) -> Markup:
    drawn = tag("svg", tag("path", d=_GRIP), viewBox="0 0 18 16", aria_hidden="true")
    what = say("route.drag", number=one.number, op=one.op)
    return tag(
        "button", drawn, type="button", class_="route-grip", aria_label=what, title=say("route.drag_hint")
    )


def _hands(one: OpDraft, index: int, count: int, here: bool) -> Markup:
    def step(way: str, to: int) -> Markup:
        drawn = tag("svg", tag("path", d=_ARROWS[way]), viewBox="0 0 18 18", aria_hidden="true")
        return tag(
            "button",
            drawn,
            type="button",
            class_=f"route-step {way}",
            data_act="description move",
            data_of=one.path,
            data_to=str(to),
            disabled=not 0 <= to < count,
            aria_label=say(f"route.{way}", number=one.number, op=one.op),
        )

    word = say("route.close") if here else say("route.change")
    return tag(
        "div",
        step("up", index - 1),
        step("down", index + 1),
        tag(
            "button",
            word,
            type="button",
            data_act="description open",
            data_of="" if here else one.path,
            aria_expanded="true" if here else "false",
            aria_label=say("route.close_op" if here else "route.change_op", number=one.number, op=one.op),
        ),
        class_="route-hands",
    )


def _found(sizes: ShopSizes, faces: Mapping[str, str], op: OpLine) -> Iterator[Child]:
    """An op as the route comes to it."""
    place = [
        op.machine,
        op.setup and say("route.setup_of", setup=op.setup),
        op.held and say("route.held_of", held=op.held),
    ]
    place.append(say("route.on", datum=", ".join(op.datum)) if op.datum else "")
    words = " · ".join(filter(None, place))
    yield tag("p", words, class_="route-place") if words else None
    if op.together:
        how = "route.as_one" if op.as_one else "route.together"
        mates = ", ".join(op.set_with) or say("route.with_nothing")
        yield tag(
            "p",
            chip("done", say("route.matched")),
            " ",
            say(how, set=op.together, parts=mates),
            class_="route-set",
        )
    if op.cuts:
        yield tag("ul", *[_cut(sizes, cut, faces) for cut in _telling(op.cuts)], class_="route-cuts")
    if op.hardness:
        yield tag("p", say("route.hardness", range=op.hardness))
    if op.inspect:
        gauge = say("route.with_gauge", gauge=op.gauge) if op.gauge else ""
        yield tag("p", chip("told", say("route.measure")), " ", ", ".join(op.inspect), gauge)
    yield tag("p", " · ".join(_times(op)), class_="note")
    if op.note:
        yield tag("p", sentence(op.note), class_="route-note")
    if op.alternatives:
        yield tag("p", say("route.or", ways=", ".join(op.alternatives)), class_="note")
    if op.cautions:
        yield tag(
            "p", chip("look again", say("route.take_care")), " ", ", ".join(op.cautions), class_="route-care"
        )


def _times(op: OpLine) -> Iterator[str]:
    if op.setting_up:
        yield say("route.to_set_up", time=minutes(op.setting_up))
    yield (
        say("route.attended_of", time=minutes(op.minutes))
        if op.minutes is not None
        else say("route.no_minutes")
    )
    if op.unattended:
        yield say("route.unattended_of", time=minutes(op.unattended))


def _telling(cuts: Sequence[CutLine]) -> Iterator[CutLine]:
    """Cuts without those that only repeat a surface of which more is known."""
    known = {cut.surface for cut in cuts if cut.size is not None or cut.stock is not None}
    for cut in cuts:
        if cut.size is not None or cut.stock is not None or cut.surface not in known:
            yield cut


def _cut(sizes: ShopSizes, cut: CutLine, faces: Mapping[str, str]) -> Markup:
    said: list[Child] = []
    if cut.thread:
        said.append(say("route.thread", thread=cut.thread))
    if cut.size is not None and cut.half is not None:
        size = sizes.working(cut.size, cut.half, given=cut.given, sign="Ø" if cut.diameter else "")[0]
        axis = not cut.diameter and faces.get(cut.surface) in ROUND
        words = say("route.axis", size=f"{size} {sizes.unit}") if axis else f"{size} {sizes.unit}"
        said.append(
            joined(tag("b", words), say("route.from", surface=cut.measured_from) if cut.measured_from else "")
        )
        said.append(say("route.as_stated") if cut.given else None)
    if cut.stock is not None:
        low, _, high = cut.stock
        taken = f"{sizes.stock(low, high)[0]} {sizes.unit}"
        said.append(say("route.takes_diameter" if cut.diameter else "route.takes", stock=taken))
    if cut.direction and cut.size is None and cut.stock is None:
        said.append(say("route.first_face"))
    if cut.tool:
        said.append(say("route.with_tool", tool=cut.tool))
    tight = chip("look again", say("route.tight")) if cut.share < 1 - 1e-9 else None
    parts = [one for one in said if one]
    spaced = [part for n, one in enumerate(parts) for part in ((", ", one) if n else (one,))]
    return tag(
        "li",
        tag("span", cut.surface, class_="route-surface"),
        tag("span", *spaced, " " if tight else None, tight),
    )


def _typed(one: OpDraft) -> Iterator[Child]:
    """An op as it is typed, while something keeps its route from being worked out."""
    fields = one.fields
    place = [fields.get("machine", ""), fields.get("setup", ""), fields.get("held", "")]
    place.append(say("route.on", datum=fields["datum"]) if fields.get("datum") else "")
    words = " · ".join(filter(None, place))
    yield tag("p", words, class_="route-place") if words else None
    if one.cuts:
        items = [
            tag(
                "li",
                tag("span", cut.surface, class_="route-surface"),
                tag("span", cut.fields.get("size", "")),
            )
            for cut in one.cuts
        ]
        yield tag("ul", *items, class_="route-cuts")
    for problem in (*one.problems, *(p for cut in one.cuts for p in cut.problems)):
        yield tag("p", sentence(f"{problem.what}; {problem.remedy}"), class_="wrong")
