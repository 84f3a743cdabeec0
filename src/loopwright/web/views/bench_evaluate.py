"""Raw readings evaluated at the bench: a form for each evaluation, made from its description, and what comes of it."""

from collections.abc import Mapping, Sequence
from urllib.parse import quote

from loopwright import units
from loopwright.errors import Problem
from loopwright.loop.threads import one_thread
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.bench import Bench
from loopwright.studies.entering import Doubted, enter
from loopwright.studies.evaluating import KINDS, kind_of, parted, tried
from loopwright.studies.evaluating_forms import (
    Cell,
    Evaluation,
    Given,
    Grading,
    Heading,
    Kind,
    Result,
    Setting,
    Table,
    Wanted,
)
from loopwright.studies.evaluating_reading import Shop, in_units, shop_of_bench
from loopwright.studies.evaluating_record import typed_of
from loopwright.studies.evaluating_tables import TableRead
from loopwright.units import Dimension
from loopwright.web.views.bench_answer import entered_page
from loopwright.web.views.bench_drawn import places_figure
from loopwright.web.views.kit import (
    button,
    chance,
    chip,
    choice,
    field,
    form,
    head,
    link,
    more,
    paper,
    row,
    tick,
)
from loopwright.web.views.saying import problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_ROWS = 40
VERDICTS = {"conforming": "conforming", "not conforming": "not conforming", "undecided": "undecided"}


def address(kind: Kind, **more_: str) -> str:
    """Address of an evaluation."""
    asked = "&".join(f"{name}={quote(value, safe='')}" for name, value in more_.items())
    return f"/bench/evaluate/{kind.command}" + (f"?{asked}" if asked else "")


def listing(work: Work, reader: Reader) -> Markup:
    """Every evaluation with what it finds."""
    items = [
        tag(
            "li",
            tag(
                "a",
                tag("span", kind.name, class_="thing-name"),
                tag("span", kind.help, class_="thing-note"),
                href=address(kind),
            ),
        )
        for kind in KINDS
    ]
    return joined(
        head(say("evaluate.title"), say("evaluate.lede")),
        paper(None, tag("ul", *items, class_="things"), row(link(say("bench.title"), "/bench", quiet=True))),
    )


# the form


def title(work: Work, reader: Reader, what: str) -> Markup:
    """What one evaluation finds, and how to read for it.

    Raises:
        RequestError: there is no such evaluation.
    """
    kind = kind_of(what)
    return joined(
        head(kind.name, kind.help),
        tag("p", kind.how),
        *[tag("p", sentence(one), class_="caution") for one in kind.cautions],
    )


def asking(
    work: Work, reader: Reader, what: str, example: bool, table: TableRead | None = None, turn: int = 0
) -> Markup:
    """The form of one evaluation.

    Args:
        work: with the gauges.
        reader: in whose units it is answered.
        what: the evaluation.
        example: filled in with its example.
        table: whose columns stand in it.
        turn: counts the tables, so that the columns of each take the place of whatever was typed.

    Raises:
        RequestError: there is no such evaluation.
    """
    kind = kind_of(what)
    shop = _shop(work, reader)
    filled = kind.example if example else {}
    columns = [_column(kind, one, shop, _standing(kind, one, filled, table)) for one in kind.columns]
    settings = [_setting(kind, one, shop, filled) for one in kind.settings]
    return paper(
        None,
        form(
            "evaluate",
            tag("div", *columns, class_="columns-typed", id=f"columns-{turn}"),
            _evenly(kind, shop),
            tag("div", *settings, class_="fields") if settings else None,
            tag("div", *_worth(kind, shop, filled), class_="fields"),
            row(
                button(say("evaluate.do"), first=True),
                link(say("evaluate.example"), address(kind, example="yes"), quiet=True)
                if not example
                else None,
                link(say("evaluate.others"), "/bench/evaluate", quiet=True),
            ),
            stay=True,
            id="evaluate",
        ),
        class_="evaluate-form",
    )


def _shop(work: Work, reader: Reader) -> Shop:
    """The shop, answering in the units of whoever asks."""
    wanted = reader.units_of(work.bench.build.units)
    return in_units(shop_of_bench(work.bench), (wanted.small_length,))


def _standing(
    kind: Kind, one: Wanted, filled: Mapping[str, str], table: TableRead | None
) -> tuple[Sequence[str], str | None] | None:
    """Values and unit that stand in a column from the start; None where it is for typing, or has the usual unit."""
    if table is not None:
        cells = table.given.columns.get(one.name, ())
        if one.dimension is not None and table.given.decimal == ",":
            cells = [cell if "." in cell else cell.replace(",", ".") for cell in cells]
        # thou taken for µm would go unseen
        return cells, table.given.units.get(one.name, None if one in kind.places else "")
    if not filled:
        return None
    values, unit = parted(filled[one.name]) if one.name in filled else ([], "")
    return values, unit or None


def _column(kind: Kind, one: Wanted, shop: Shop, standing: tuple[Sequence[str], str | None] | None) -> Markup:
    """One column: a value in each line, so that a gauge that types and presses Enter fills it."""
    where = f"f-column-{one.name}".replace(" ", "-")
    values, unit = standing or ((), None)
    proposed = one.unit(shop.units) if unit is None else unit
    label = f"{one.name} ({say('evaluate.if_any')})" if not one.needed else one.name
    return tag(
        "div",
        tag("label", label, for_=where),
        tag(
            "textarea",
            "\n".join(values),
            id=where,
            name=_key("column", one.name),
            rows="12",
            data_keep=None if standing is not None else f"evaluate/{kind.command}/{one.name}",
            inputmode="decimal" if one.dimension is not None else None,
            spellcheck="false",
            autocomplete="off",
            aria_describedby=f"{where}-hint",
        ),
        field(say("evaluate.in"), _key("unit", one.name), value=proposed)
        if one.dimension is not None
        else None,
        tag("span", sentence(one.help), class_="hint", id=f"{where}-hint"),
        class_="field typed-column",
    )


def _key(what: str, name: str) -> str:
    """Name of a field in the form."""
    return f"{what}/{name.replace(' ', '_')}"


def _evenly(kind: Kind, shop: Shop) -> Markup | None:
    """Places that stand evenly need not be typed."""
    if len(kind.places) != 1:
        return None
    place = kind.places[0]
    unit = place.unit(shop.units)
    return tag(
        "div",
        field(
            say("evaluate.every", place=place.name),
            "every",
            unit=unit,
            hint=say("evaluate.every_hint"),
            number=True,
        ),
        field(say("evaluate.first"), "from", unit=unit, number=True),
        class_="fields",
    )


def _setting(kind: Kind, one: Setting, shop: Shop, filled: Mapping[str, str]) -> Markup:
    value = filled.get(one.name) or one.default or ""
    label = one.name if one.needed else f"{one.name} ({say('evaluate.if_any')})"
    name, hint = _key("setting", one.name), sentence(one.help)
    if one.choices:
        words = {word: word for word in one.choices}
        return choice(
            one.name,
            name,
            words if one.default or one.needed else {"": say("evaluate.none"), **words},
            value=value,
            hint=hint,
        )
    return field(
        label,
        name,
        value=value,
        unit=one.bare(shop.units),
        hint=hint,
        keep=None if filled else f"evaluate/{kind.command}/{one.name}",
    )


def _worth(kind: Kind, shop: Shop, filled: Mapping[str, str]) -> list[Markup]:
    """What one reading is worth: stated, or that of a gauge."""
    fitting = [name for name, gauge in shop.gauges.items() if gauge.dimension is kind.reads]
    gauges = {"": say("evaluate.stated"), **{name: name for name in fitting}}
    usual = "0.5 µm" if kind.reads is Dimension.LENGTH else "0.5 arcsec"
    return [
        choice(say("evaluate.gauge"), "gauge", gauges, value="" if filled or not fitting else fitting[0]),
        field(say("evaluate.u"), "u", value=filled.get("u", ""), hint=say("evaluate.u_hint", example=usual)),
        field(say("evaluate.taken"), "taken", type="date"),
    ]


def given_of(fields: Mapping[str, str], what: str) -> Given:
    """What was typed in the form.

    Args:
        fields: of the form, by name.
        what: the evaluation.
    """
    kind = kind_of(what)
    columns = {
        one.name: lines for one in kind.columns if (lines := _lines(fields.get(_key("column", one.name), "")))
    }
    every = fields.get("every", "").strip()
    if every and len(kind.places) == 1 and kind.places[0].name not in columns:
        columns[kind.places[0].name] = _even(kind, fields, columns)
    said = {
        one.name: text
        for one in kind.columns
        if one.dimension is not None and (text := fields.get(_key("unit", one.name), "").strip())
    }
    return Given(
        kind.name,
        columns,
        {
            one.name: text
            for one in kind.settings
            if (text := fields.get(_key("setting", one.name), "").strip())
        },
        said,
        None if fields.get("gauge") else fields.get("u", "").strip() or None,
        fields.get("gauge") or None,
        fields.get("taken") or None,
    )


def _lines(text: str) -> list[str]:
    """Values of a column; empty lines at its end are none."""
    return [line.strip() for line in text.rstrip().splitlines()] if text.strip() else []


def _even(kind: Kind, fields: Mapping[str, str], columns: Mapping[str, Sequence[str]]) -> list[str]:
    """Places of readings that stand evenly, as they would be typed."""
    place = kind.places[0]
    assert place.dimension is not None
    unit = fields.get(_key("unit", place.name), "").strip() or None
    count = max((len(lines) for lines in columns.values()), default=0)
    step = units.parse(fields["every"], place.dimension, bare=unit)
    start = units.parse(
        fields.get("from", "").strip() or "0",
        place.dimension,
        bare=unit or units.units_of(place.dimension)[0],
    )
    return [units.format_exact(start + number * step, place.dimension) for number in range(count)]


# the answer


def answer(work: Work, reader: Reader, given: Given | None) -> Markup:
    """What comes of what was typed, or everything that is wrong with it."""
    if given is None:
        return Markup()
    with one_thread():
        found, problems = tried(given, _shop(work, reader))
    if found is None:
        return _problems(problems)
    shown = Shown(found.units)
    return tag(
        "div",
        paper(
            say("evaluate.found"),
            _results(found),
            _grading(shown, found.grading, found.factor),
            class_="evaluate-found",
        ),
        *[_table(found, one) for one in found.tables],
        _rests_on(found),
        _entering(work, found),
        class_="evaluate-answer",
    )


def _problems(problems: Sequence[Problem]) -> Markup:
    return tag(
        "div",
        tag("h3", say("frame.refused")),
        tag("ul", *[tag("li", problem_line(one)) for one in problems[:30]]),
        class_="refusal",
        role="alert",
    )


def _results(found: Evaluation) -> Markup:
    first, *others = found.results
    value, spread = _value(first, found)
    confidence = (
        say("evaluate.factor")
        if found.confidence is None
        else say("evaluate.confidence", share=percent(found.confidence))
    )
    headline = tag(
        "p",
        value,
        tag("small", f" ± {spread} ") if spread else None,
        class_="figure",
    )
    rows: list[Sequence[Child]] = [(one.name, *_value(one, found)) for one in others]
    heads = [say("evaluate.result"), ">" + say("evaluate.value"), f">± U, {confidence}"]
    notes = [
        tag("p", tag("b", one.name), ": ", sentence(one.note), class_="note")
        for one in found.results
        if one.note
    ]
    one = found.reading
    worth = Shown(found.units).error(one.own, one.dimension)
    by = (
        say("evaluate.with_gauge", gauge=one.gauge, own=worth)
        if one.gauge
        else say("evaluate.with_stated", own=worth)
    )
    return joined(
        tag("p", first.name, class_="eyebrow"),
        headline,
        tag("p", plural("evaluate.readings", found.readings), " ", by, class_="note"),
        table(heads, rows) if rows else None,
        *notes,
    )


def _value(result: Result, found: Evaluation) -> tuple[str, str]:
    """A result rounded to its uncertainty, and that expanded."""
    if result.value is None:
        return say("evaluate.not_known"), ""
    unit = result.unit(found.units) or "1"
    if result.u is None or not 0 < result.u < float("inf"):
        return units.format_value(result.value, result.dimension, unit, sign=result.signed, digits=2), ""
    wide = found.factor * result.u
    value = units.format_value(result.value, result.dimension, unit, uncertainty=wide, sign=result.signed)
    return value, units.format_value(wide, result.dimension, unit, uncertainty=wide)


def _grading(shown: Shown, grading: Grading | None, factor: float) -> Markup | None:
    if grading is None:
        return None
    rows: list[Sequence[Child]] = []
    for one in grading.lines:
        value = ""
        if one.value is not None and one.u is not None:
            value = shown.error_known(one.value, factor * one.u, Dimension.LENGTH, sign=one.both_sides)
        limit = ("±" if one.both_sides else "") + shown.limit(one.limit, Dimension.LENGTH)
        rows.append(
            (
                one.says,
                value,
                limit,
                chip(VERDICTS[one.verdict]),
                "" if one.probability is None else chance(one.probability),
            )
        )
    title = (
        say("evaluate.grade", grade=grading.grade, verdict=grading.verdict)
        if grading.grade
        else say("evaluate.no_grade")
    )
    heads = [
        say("evaluate.limit"),
        ">" + say("evaluate.value"),
        ">" + say("evaluate.allowed"),
        "",
        ">" + say("evaluate.probability"),
    ]
    notes = [tag("p", sentence(one), class_="note") for one in grading.notes]
    return joined(tag("h3", title), table(heads, rows), *notes)


def _table(found: Evaluation, one: Table) -> Markup:
    first, *others = [_heading(heading, found) for heading in one.headings]
    heads = [first.lstrip(">"), *others]
    rows = [[_cell(one, line, place, found) for place in range(len(line))] for line in one.rows]
    whole = table(heads, rows[:MOST_ROWS])
    rest = rows[MOST_ROWS:]
    name = f"more-{one.title}".replace(" ", "-")
    behind = more(plural("evaluate.more_rows", len(rest)), table(heads, rest), id=name) if rest else None
    return paper(
        _capital(one.title), places_figure(Shown(found.units), one), whole, behind, class_="evaluate-table"
    )


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _heading(heading: Heading, found: Evaluation) -> str:
    unit = heading.unit(found.units)
    name = f"{heading.name} ({unit})" if unit else heading.name
    return name if heading.role == "text" else f">{name}"


def _cell(one: Table, line: Sequence[Cell], place: int, found: Evaluation) -> str:
    """A number without its unit, which stands above; rounded to the uncertainty in the column to its right."""
    heading, cell = one.headings[place], line[place]
    if cell is None or isinstance(cell, str) or heading.dimension is None:
        return "" if cell is None else str(cell) if isinstance(cell, str) else f"{cell:g}"
    unit = heading.unit(found.units) or "1"
    beside = line[place + 1] if place + 1 < len(line) and one.headings[place + 1].role == "u" else None
    if heading.role == "u" or not isinstance(beside, float) or not beside > 0:
        text = units.format_value(cell, heading.dimension, unit, digits=2 if heading.role == "u" else 6)
    else:
        text = units.format_value(cell, heading.dimension, unit, uncertainty=beside, sign=heading.signed)
    return text.partition(" ")[0]


def _rests_on(found: Evaluation) -> Markup | None:
    parts = []
    for key, said in (("includes", found.includes), ("not_seen", found.not_seen), ("notes", found.notes)):
        if said:
            parts += [tag("h3", say(f"evaluate.{key}")), tag("ul", *[tag("li", one) for one in said])]
    parts += [tag("p", sentence(one), class_="caution") for one in found.cautions]
    return paper(say("evaluate.rests_on"), *parts, class_="rests-on") if parts else None


# into the book


def _entering(work: Work, found: Evaluation) -> Markup:
    build = work.bench.build
    names = [*build.tests, *[path for path in work.bench.loop.dims if len(work.bench.loop.dims) < 400]]
    takes = {"": say("evaluate.meant")} | {
        one.name: one.name for one in found.results if one.value is not None
    }
    return paper(
        say("evaluate.enter"),
        tag("p", say("evaluate.enter_note"), class_="note"),
        form(
            "evaluate_enter",
            tag(
                "div",
                field(say("evaluate.as"), "of", hint=say("evaluate.as_hint"), list=names, required=True),
                choice(say("evaluate.take"), "take", takes),
                field(say("evaluate.item"), "item", hint=say("evaluate.item_hint")),
                field(say("bench.note"), "entry_note"),
                class_="fields",
            ),
            tick(say("evaluate.opposite"), "opposite"),
            row(button(say("evaluate.enter_do"), first=True)),
            id="evaluate-enter",
            stay=True,
        ),
    )


def entered(
    work: Work, reader: Reader, given: Given, said: Mapping[str, str], key: str, keep: bool
) -> tuple[int, Markup]:
    """Enters what was found; the number of the entry, or 0 where it is asked about, and what is shown.

    Raises:
        RequestError: it cannot be entered as that.
    """
    bench: Bench = work.bench
    with one_thread():
        found, problems = tried(given, _shop(work, reader))
        if found is None:
            return 0, _problems(problems)
        typed = typed_of(
            bench,
            found,
            said["of"],
            take=said.get("take") or None,
            item=said.get("item") or None,
            opposite=bool(said.get("opposite")),
            note=said.get("note") or None,
            key=key[:12] or None,
        )
        came = enter(
            work.book,
            bench,
            typed,
            who=reader.who or say("frame.nobody"),
            station=reader.station,
            key=key or None,
            keep=keep,
        )
        if isinstance(came, Doubted):
            return 0, _doubted(work, reader, came)
        if not came.written.again:
            work.hold(came.came.bench)
    return came.written.entry.number, paper(None, Markup(entered_page(work, reader, came)["full"]))


def _doubted(work: Work, reader: Reader, found: Doubted) -> Markup:
    """Asked about: what was worked out is kept as it is, or the readings are looked at again."""
    doubt = found.considered.doubt
    assert doubt is not None
    return tag(
        "div",
        tag("h3", chip("look again", say("bench.asked_title"))),
        tag("p", sentence(doubt.what)),
        tag("p", say("evaluate.doubted"), class_="note"),
        row(button(say("bench.keep_it"), "evaluate_keep")),
        class_="asked",
        role="alert",
    )
