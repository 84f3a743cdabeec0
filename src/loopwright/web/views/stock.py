"""What lies in the drawer: shim foil and the like."""

from collections.abc import Sequence

from loopwright.errors import RequestError
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.deciding import stock_of
from loopwright.studies.drawer import FOIL, Counted, drawer
from loopwright.studies.typed_numbers import exact
from loopwright.units import Dimension
from loopwright.web.views.book_entered import Entered, entered, seen_field
from loopwright.web.views.kit import both, button, chip, field, form, head, link, paper, row
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

LENGTH = Dimension.LENGTH


def everything(work: Work, reader: Reader) -> Markup:
    """The drawer, and a form to enter a count."""
    shown, found = work.shown(reader), drawer(work.bench)
    return joined(
        head(say("gauges.stock"), say("gauges.stock_lede")),
        empty(say("gauges.stock_none"), say("gauges.stock_none_told"))
        if not found.counted
        else _list(work, reader, found.counted),
        _enter(work, shown, found.kinds) if reader.may("record") else None,
        row(link(say("gauges.to_gauges"), "/gauges", quiet=True)),
    )


def _list(work: Work, reader: Reader, counted: Sequence[Counted]) -> Markup:
    return paper(
        None,
        table(
            (
                say("gauges.what"),
                ">" + say("gauges.thickness"),
                ">" + say("gauges.known_to"),
                ">" + say("gauges.pieces"),
                say("gauges.counted"),
                "" if not reader.may("record") else say("gauges.count_now"),
            ),
            [_row(work, reader, one) for one in counted],
            class_="blocks stock",
        ),
    )


def _row(work: Work, reader: Reader, one: Counted) -> Sequence[Child]:
    shown = work.shown(reader)
    before = ", ".join(str(count) for _, count in one.before[:4])
    return (
        joined(one.what, tag("span", one.note, class_="beside under") if one.note else None),
        both(shown, one.size, LENGTH),
        f"± {shown.error(one.std, LENGTH)}" if one.std else "—",
        joined(
            tag("b", str(one.count)) if one.count else chip("look again", say("gauges.used_up")),
            tag("span", say("gauges.before", counts=before), class_="beside under") if before else None,
        ),
        tag("a", say("gauges.counted_by", day=one.at[:10], who=one.who), href=f"/book/{one.entry}"),
        _recount(work, shown, one) if reader.may("record") else None,
    )


def _recount(work: Work, shown: Shown, one: Counted) -> Markup:
    """A small form in the row: only the number of pieces is asked for."""
    name = say("gauges.recount", what=one.what, size=shown.limit(one.size, LENGTH))
    return tag(
        "form",
        seen_field(work, f"stock/{one.what}/{one.size:g}"),
        tag("input", type="hidden", name="what", value=one.what),
        tag("input", type="hidden", name="size", value=f"{one.size!r} mm"),
        tag("input", type="hidden", name="std", value=f"{one.std!r} mm" if one.std else ""),
        tag(
            "input",
            name="count",
            inputmode="numeric",
            aria_label=name,
            value=str(one.count),
            size="4",
            autocomplete="off",
        ),
        button(say("gauges.save")),
        id=f"recount-{one.what}-{one.size:g}",
        data_act="stock_count",
        class_="recount",
        novalidate=True,
    )


def _enter(work: Work, shown: Shown, kinds: Sequence[str]) -> Markup:
    unit = shown.unit(LENGTH)
    return paper(
        say("gauges.stock_enter"),
        tag("p", say("gauges.stock_enter_told"), class_="note"),
        form(
            "stock_count",
            seen_field(work, "stock"),
            tag(
                "div",
                field(say("gauges.what"), "what", value=FOIL, list=kinds, keep="stock/what"),
                field(say("gauges.thickness"), "size", unit=unit, number=True, keep="stock/size"),
                field(say("gauges.known_to_std"), "std", unit=unit, number=True, keep="stock/std"),
                field(say("gauges.pieces"), "count", number=True, keep="stock/count"),
                field(say("gauges.note"), "note", keep="stock/note"),
                class_="fields level",
            ),
            row(button(say("gauges.stock_enter_do"), first=True)),
            id="count",
        ),
        id="enter",
    )


def enter_count(
    work: Work, reader: Reader, typed: dict[str, str], key: str, seen: int | None
) -> tuple[Entered, str]:
    """Enters a count as typed.

    Args:
        work: with the book.
        reader: who enters.
        typed: fields of the form.
        key: of the entry.
        seen: last entry that the page had seen.

    Returns:
        What became of it, and what was counted in words.

    Raises:
        RequestError: no thickness, or no whole number of pieces.
    """
    bench, shown = work.bench, work.shown(reader)
    unit = shown.unit(LENGTH)
    count = typed["count"].strip()
    if not count.isdecimal():
        raise RequestError(
            say("gauges.no_count", given=count or say("gauges.nothing_typed")), say("gauges.no_count_remedy")
        )
    size = exact(say("gauges.thickness"), typed["size"], LENGTH, unit)
    if size is None:
        raise RequestError(say("gauges.no_size"), say("gauges.no_size_remedy"))
    std = exact(say("gauges.known_to_std"), typed["std"], LENGTH, unit)
    record = stock_of(
        bench, typed["what"].strip() or FOIL, size, count=int(count), std=std, note=typed["note"] or None
    )
    made = entered(
        work.book.append(
            record, who=reader.who or say("frame.nobody"), station=reader.station, key=key, seen=seen
        )
    )
    return made, plural(
        "gauges.counted_now", record.count, what=record.what, size=shown.limit(record.size, LENGTH)
    )
