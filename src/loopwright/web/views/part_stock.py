"""Stock to leave on a part: in words, with its causes drawn, and what more of it costs."""

from collections.abc import Iterator, Mapping, Sequence

from loopwright import units
from loopwright.errors import QuantityError, RequestError
from loopwright.handbook.cautions import DEFERS
from loopwright.sheets.drawing import Scale, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import percent
from loopwright.sheets.stock_words import FINER, StockWords
from loopwright.studies.stock_sheet import StockSheet, SurfaceStock, stock_sheet
from loopwright.units import Dimension
from loopwright.web.views.kit import button, choice, field, form, more, paper
from loopwright.web.views.making import (
    mistakes,
    op_link,
    part_of,
    read_in,
    reminders,
)
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

ASKED = ("chance", "window", "furnace")
FURNACES = ("foil or pack", "vacuum or gas", "coating", "none")
MOST_CAUSES, LEAST_BAR = 12, 0.004
"""So many bars at most, and none for a cause that takes less than this share of the largest; the table has them all."""
Asked = Mapping[str, str]


def stock(work: Work, reader: Reader, name: str, asked: Asked) -> Markup:
    """Stock to leave for every finishing cut.

    Args:
        work: the open book.
        reader: who looks.
        name: of the part.
        asked: chance, window and furnace as typed.

    Raises:
        RequestError: there is no such part, or what is asked cannot be.
    """
    if not part_of(work, name).route:
        return Markup()
    sheet = sheet_of(work, reader, name, asked)
    words = StockWords(sheet)
    cuts = [_surface(words, name, one) for one in sheet.surfaces]
    return joined(
        _ask(sheet, asked),
        mistakes(sheet.problems, name, say("stock.not_charted")),
        *(cuts or [empty(say("stock.none"), say("stock.none_told"))]),
        _hardening(words, sheet),
        reminders([(one.hazard, one.texts) for one in sheet.cautions], sheet.defers or DEFERS, "stock"),
    )


def sheet_of(work: Work, reader: Reader, name: str, asked: Asked) -> StockSheet:
    """The stock to leave; worked out once until the book changes.

    Raises:
        RequestError: what is asked cannot be read, or cannot be asked for.
    """
    build = read_in(work, reader)
    share = _read(asked.get("chance", ""), Dimension.RATIO, "%")
    window = _read(asked.get("window", ""), Dimension.LENGTH, build.units.length)
    furnace = asked.get("furnace", "")
    known = furnace if furnace in FURNACES else FURNACES[0]

    def make() -> StockSheet:
        return stock_sheet(build, name, chance=share, window=window, furnace=known)  # type: ignore[arg-type]

    return work.kept(("stock", name, share, window, known, build.units.length), make)


def _read(typed: str, dimension: Dimension, unit: str) -> float | None:
    if not typed.strip():
        return None
    try:
        return units.parse(typed, dimension, bare=unit)
    except QuantityError as error:
        raise RequestError(error.what, error.remedy) from None


def _ask(sheet: StockSheet, asked: Asked) -> Markup:
    said = say("stock.so_that", chance=percent(sheet.chance))
    fields: list[Child] = [
        field(
            say("stock.chance"),
            "chance",
            value=asked.get("chance", "") or percent(sheet.chance),
            hint=say("stock.chance_hint"),
            number=True,
        ),
        field(
            say("stock.window"),
            "window",
            value=asked.get("window", ""),
            unit=sheet.units.length,
            hint=say("stock.window_hint"),
            number=True,
        ),
    ]
    if sheet.hardening is not None:
        fields.append(
            choice(
                say("stock.furnace"),
                "furnace",
                {one: say(f"stock.furnace_{one.replace(' ', '_')}") for one in FURNACES},
                value=sheet.furnace,
            )
        )
    return paper(
        None,
        tag("p", said, class_="lede"),
        form("stock ask", tag("div", *fields, button(say("stock.again")), class_="making-asked"), stay=True),
    )


def _surface(words: StockWords, name: str, one: SurfaceStock) -> Markup:
    before = (
        say("stock.after", op=one.before, name=one.before_name)
        if one.before is not None
        else say("stock.from_blank")
    )
    facts = [words.work_to(one), words.written(one), words.customary(one), words.minutes(one)]
    remedies = [
        say(
            "stock.would_do",
            words=one_of.words,
            least=words.size(one_of.least, one.step / FINER),
            saves=words.size(one_of.saves, one.step / FINER),
        )
        for one_of in one.remedies
    ]
    return paper(
        one.surface,
        tag("p", op_link(name, one.op, say("stock.cut", op=one.op, name=one.op_name)), before, class_="note"),
        tag("p", sentence(words.leave(one)), class_="leave"),
        tag("ul", *[tag("li", sentence(fact)) for fact in facts if fact], class_="stock-facts"),
        _drawn(words, one),
        _table(words, one),
        joined(tag("h3", say("stock.less")), tag("ul", *[tag("li", sentence(line_)) for line_ in remedies]))
        if remedies
        else None,
        tag("ul", *[tag("li", sentence(note)) for note in one.notes], class_="making-list")
        if one.notes
        else None,
        class_="part-stock",
        id=f"stock-{one.op}-{one.surface}".replace(" ", "-"),
    )


def _drawn(words: StockWords, one: SurfaceStock) -> Markup | None:
    """What eats into the stock as bars: by how much less would do without each."""
    most = max((cause.takes for cause in one.causes), default=0.0)
    causes = [cause for cause in one.causes if cause.takes > LEAST_BAR * most][:MOST_CAUSES]
    if not causes:
        return None
    scale = Scale(0.0, max(cause.takes for cause in causes))
    bars = [
        tag(
            "li",
            say("stock.bar", cause=cause.name, takes=words.cause(cause, one.step)[1]),
            tag(
                "i",
                style=f"width:{max(scale.at(cause.takes), 0.4):.1f}%",
                class_="assumed" if cause.assumed else None,
            ),
        )
        for cause in causes
    ]
    return tag(
        "figure",
        tag("figcaption", say("stock.caption"), class_="note"),
        tag("ol", *bars, class_="stock-bars"),
    )


def _table(words: StockWords, one: SurfaceStock) -> Markup | None:
    if not one.causes:
        return None
    heads = [say(f"stock.{word}") for word in ("cause", "spread", "takes", "source")]
    rows: list[Sequence[Child]] = [
        (
            cause.name,
            *words.cause(cause, one.step),
            cause.source + (say("stock.assumed") if cause.assumed else ""),
        )
        for cause in one.causes
    ]
    return more(
        plural("stock.in_figures", len(rows)),
        table(heads, rows, class_="blocks"),
        id=f"causes-{one.op}-{one.surface}".replace(" ", "-"),
    )


def _hardening(words: StockWords, sheet: StockSheet) -> Markup | None:
    found = sheet.hardening
    if found is None:
        return None
    lines: Iterator[str] = words.hardening(found)
    return paper(
        say("stock.hardening", op=found.op),
        tag("p", found.steel, class_="lede"),
        tag("ul", *[tag("li", sentence(line_)) for line_ in lines]),
        tag("ul", *[tag("li", sentence(note)) for note in found.notes], class_="told making-list")
        if found.notes
        else None,
    )
