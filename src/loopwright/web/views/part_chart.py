"""The tolerance charts of a part: picture, working dims, what they add up to, what would free them, an audit."""

from collections.abc import Mapping, Sequence
from math import isfinite

from loopwright.making.chart_audit import Finding
from loopwright.sheets.chart_drawing import LEGEND, chart_drawing
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.chart_audited import Audited, audited_as_typed, stated_sizes
from loopwright.studies.chart_sheet import Chained, ChartSheet, DirectionSheet, Working, chart_sheet
from loopwright.web.views.kit import button, chance, chip, minutes, paper, row
from loopwright.web.views.making import (
    made_head,
    mistakes,
    op_link,
    part_of,
    read_in,
    sizes_for,
    without_route,
)
from loopwright.web.views.route_effect import limits
from loopwright.web.views.saying import empty, problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work


def charts(work: Work, reader: Reader, name: str) -> Markup:
    """Every tolerance chart of a part.

    Args:
        work: the open book.
        reader: who looks.
        name: of the part.

    Raises:
        RequestError: there is no such part.
    """
    found = part_of(work, name)
    if not found.route:
        return without_route(name, found, "chart")
    sheet = sheet_of(work, name)
    sizes = sizes_for(work, reader)
    parts = [_direction(sizes, name, one, sheet.confidence) for one in sheet.charts]
    none = empty(say("chart.none"), say("chart.none_told")) if not parts and not sheet.problems else None
    return joined(
        made_head(name, "chart", _state(sheet)),
        mistakes(sheet.problems, name, say("chart.not_charted")),
        none,
        *parts,
    )


def sheet_of(work: Work, name: str) -> ChartSheet:
    """The charts; worked out once until the book changes."""
    return work.kept(("chart", name), lambda: chart_sheet(work.bench.build, name))


def _state(sheet: ChartSheet) -> Markup | None:
    if not sheet.charts:
        return None
    ways = [tag("a", _called(one), href=f"#chart-{one.direction}", class_="way-to") for one in sheet.charts]
    whole = (
        chip("conforming", say("chart.all_hold"))
        if sheet.feasible
        else chip("look again", say("chart.not_all_hold"))
    )
    return row(whole, *(ways if len(ways) > 1 else ()))


def _called(one: DirectionSheet) -> str:
    return say("chart.round") if one.diameters else say("chart.along", direction=one.direction)


def _direction(sizes: ShopSizes, name: str, one: DirectionSheet, confidence: float) -> Markup:
    where = f"chart-{one.direction}"
    if one.problems:
        return paper(_called(one), mistakes(one.problems, name, say("chart.not_solved")), id=where)
    holds = (
        chip("conforming", say("chart.holds")) if one.feasible else chip("look again", say("chart.holds_not"))
    )
    return paper(
        _called(one),
        tag("p", holds, " ", _share(one)),
        _picture(sizes, one),
        tag("h3", say("chart.working")),
        _working(sizes, name, one),
        *_chains(sizes, say("chart.finished"), one.finished, confidence),
        *_chains(sizes, say("chart.stock"), one.stock, confidence),
        _listed([*one.lacking, *one.notes]),
        _freed(one),
        id=where,
    )


def _share(one: DirectionSheet) -> str:
    if not isfinite(one.share):
        return say("chart.share_unknown")
    return say("chart.share", share=f"{one.share:.2f}")


def _picture(sizes: ShopSizes, one: DirectionSheet) -> Markup | None:
    if one.picture is None:
        return None
    drawn = tag(
        "div",
        chart_drawing(one.picture, sizes),
        class_="chart-drawn",
        tabindex="0",
        role="region",
        aria_label=_called(one),
    )
    return joined(
        drawn,
        tag("p", tag("span", say("chart.slide"), " ", class_="chart-slide"), LEGEND, class_="chart-legend"),
    )


def _working(sizes: ShopSizes, name: str, chart: DirectionSheet) -> Markup:
    heads = [
        say(f"chart.{word}") for word in ("op", "surface", "from", "size", "held_to", "share_of", "bound_by")
    ]
    rows: list[Sequence[Child]] = [
        (
            op_link(name, one.op, f"{one.op} {one.does}"),
            one.surface,
            one.datum or "—",
            joined(tag("b", _words(sizes, chart, one)), f" {say('chart.stated')}" if one.given else ""),
            f"±{sizes.fine(one.capability)} {sizes.unit}" if one.capability else say("chart.nobody_knows"),
            _share_of(one),
            one.bound_by or "—",
        )
        for one in chart.working
    ]
    return table(heads, rows, class_="blocks chart-working")


def _words(sizes: ShopSizes, chart: DirectionSheet, one: Working) -> str:
    sign = "Ø" if chart.diameters else ""
    return f"{sizes.working(one.size, one.half, given=one.given, sign=sign)[0]} {sizes.unit}"


def _share_of(one: Working) -> Child:
    if not isfinite(one.share):
        return "—"
    words = f"{one.share:.2f}"
    return words if one.share >= 1 - 1e-9 else joined(words, " ", chip("look again", say("chart.cannot")))


def _chains(sizes: ShopSizes, title: str, found: Sequence[Chained], confidence: float) -> Sequence[Markup]:
    if not found:
        return ()
    heads = [
        title,
        *(say(f"chart.{word}") for word in ("asked", "worst")),
        say("chart.likely", share=f"{confidence:.0%}".replace("%", " %")),
        say("chart.chance"),
        say("chart.verdict"),
    ]
    rows: list[Sequence[Child]] = [
        (
            joined(one.name, tag("span", one.words, class_="beside under")),
            limits(sizes, one.asked) or "—",
            tag("b", limits(sizes, one.worst)),
            limits(sizes, one.likely),
            chance(one.chance),
            _verdict(one),
        )
        for one in found
    ]
    return tag("h3", title[:1].upper() + title[1:]), table(heads, rows, class_="blocks chart-chains")


def _verdict(one: Chained) -> Markup:
    if not one.holds:
        return chip("look again", say("chart.fails"))
    return chip("undecided", say("chart.binds")) if one.binds else chip("conforming", say("chart.held"))


def _listed(lines: Sequence[str]) -> Markup | None:
    return tag("ul", *[tag("li", sentence(line)) for line in lines], class_="making-list") if lines else None


def _freed(one: DirectionSheet) -> Markup | None:
    if one.feasible:
        return None
    if not one.freed:
        return tag("p", say("chart.nothing_frees"), class_="note")
    heads = [say(f"chart.{word}") for word in ("change", "costs", "brings", "enough")]
    rows: list[Sequence[Child]] = [
        (
            sentence(change.what),
            minutes(change.minutes),
            f"{change.share:.2f}" if isfinite(change.share) else "—",
            chip("conforming", say("chart.is_enough"))
            if change.enough
            else chip("undecided", say("chart.helps")),
        )
        for change in one.freed
    ]
    return joined(
        tag("h3", say("chart.free")),
        tag("p", say("chart.free_told"), class_="note"),
        table(heads, rows, class_="blocks chart-freed"),
    )


# the audit of working dims that somebody wrote


def audit(work: Work, reader: Reader, name: str, typed: Mapping[str, str] | None) -> Markup:
    """The form for working dims that somebody wrote, and everything that is wrong with them.

    Args:
        work: the open book.
        reader: who looks; bare numbers take their units.
        name: of the part.
        typed: by the path of the cut; None where nothing was asked yet.
    """
    found = part_of(work, name)
    if not found.route:
        return Markup()
    sheet, sizes = sheet_of(work, name), sizes_for(work, reader)
    cuts = [(one, dim) for one in sheet.charts for dim in one.working]
    if not cuts:
        return Markup()
    answer = None if typed is None else audited(work, reader, name, typed)
    wrong = {} if answer is None else {p.field: f"{p.what}; {p.remedy}" for p in answer.problems}
    values = typed if typed is not None else _stated(work, name, cuts, sizes)
    return paper(
        say("chart.audit"),
        tag("p", say("chart.audit_told", unit=sizes.unit)),
        tag(
            "form",
            tag(
                "div",
                *[
                    _asked(sizes, one, dim, values.get(dim.field, ""), wrong.get(dim.field))
                    for one, dim in cuts
                ],
                class_="fields",
            ),
            row(
                button(say("chart.audit_do"), first=True),
                button(say("chart.audit_found"), "chart computed", quiet=True),
            ),
            data_act="chart audit",
            data_after="stay",
            novalidate=True,
            id="chart-audit",
        ),
        None if answer is None else _answer(answer),
        id="audit",
    )


def audited(work: Work, reader: Reader, name: str, typed: Mapping[str, str]) -> Audited:
    """What is wrong with working dims that somebody wrote."""
    return audited_as_typed(read_in(work, reader), name, typed)


def computed(work: Work, reader: Reader, name: str) -> dict[str, str]:
    """The working dims as the chart finds them, as somebody would write them."""
    sizes = sizes_for(work, reader)
    return {
        dim.field: sizes.working(dim.size, dim.half, given=dim.given)[0]
        for one in sheet_of(work, name).charts
        for dim in one.working
    }


def _stated(
    work: Work, name: str, cuts: Sequence[tuple[DirectionSheet, Working]], sizes: ShopSizes
) -> dict[str, str]:
    given = set(stated_sizes(work.bench.build, name))
    return {
        dim.field: sizes.working(dim.size, dim.half, given=True)[0] for _, dim in cuts if dim.field in given
    }


def _asked(sizes: ShopSizes, chart: DirectionSheet, dim: Working, value: str, wrong: str | None) -> Markup:
    where = "audit-" + dim.field.replace("/", "-").replace(" ", "_")
    label = say("chart.audit_cut", op=dim.op, does=dim.does, surface=dim.surface)
    along = (
        say("chart.on_diameter")
        if chart.diameters
        else say("chart.from_of", surface=dim.datum)
        if dim.datum
        else ""
    )
    found = sizes.working(dim.size, dim.half, given=dim.given)[0]
    return tag(
        "div",
        tag("label", label, for_=where),
        tag(
            "div",
            tag(
                "input",
                type="text",
                id=where,
                name=dim.field,
                value=value or None,
                autocomplete="off",
                data_keep=f"audit/{dim.field}",
                aria_describedby=f"{where}-hint",
                aria_invalid="true" if wrong else None,
            ),
            tag("span", sizes.unit, class_="unit"),
            class_="with",
        ),
        tag(
            "span",
            say("chart.audit_hint", along=along, found=found).strip(" ;"),
            class_="hint",
            id=f"{where}-hint",
        ),
        tag("span", sentence(wrong), class_="wrong", role="alert") if wrong else None,
        class_="field",
    )


def _answer(answer: Audited) -> Markup:
    if answer.sheet is None:
        return tag("p", plural("chart.audit_unread", len(answer.problems)), role="alert", class_="told")
    problems = [*answer.sheet.problems, *(p for one in answer.sheet.charts for p in one.problems)]
    found = [finding for one in answer.sheet.charts for finding in one.findings or ()]
    if not found and not problems:
        return tag(
            "div", tag("p", chip("conforming", say("chart.audit_clean"))), role="status", class_="told"
        )
    items = [tag("li", problem_line(p)) for p in problems] + [tag("li", *_finding(one)) for one in found]
    return tag(
        "div",
        tag("h3", plural("chart.audit_findings", len(items))),
        tag("ol", *items, class_="making-list"),
        role="status",
        class_="refusal",
    )


def _finding(one: Finding) -> Sequence[Child]:
    said = joined(tag("strong", sentence(one.what)), " ", sentence(one.remedy))
    likely = say("chart.still_likely", chance=chance(one.chance)) if one.chance < 1 else None
    return said, " " if likely else None, likely
