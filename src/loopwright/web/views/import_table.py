"""A table of readings is chosen, and what its columns hold is said."""

from collections.abc import Mapping, Sequence
from typing import Any

from loopwright.measuring.table_columns import DATES, FIELDS, MOST_BYTES, TableMapping
from loopwright.measuring.table_look import TableLook
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.table_entering import columns_kept
from loopwright.units import Dimension
from loopwright.web.table_said import AXIS, CONSTANTS, VALUE, Fields, Said, fields_of, words_of
from loopwright.web.views.kit import button, choice, field, form, head, link, more, paper, row, tick, upload
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

SIGNS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
ENCODINGS = ("utf-8", "utf-16", "latin-1", "cp1252")
AXES = "XYZABC"
MOST_KEPT = 20
"""So many of the kept columns are tried; who keeps more gives a name that is kept last."""
PLAIN = "readings"
"""Name under which columns are kept where nobody gives one."""


def choosing(work: Work, reader: Reader) -> Markup:
    """The form that takes a table, and what a table should look like."""
    return joined(
        head(say("import_table.title"), say("import_table.lede")),
        paper(
            None,
            upload(
                say("import_table.choose"),
                "readings",
                "import_table",
                say("import_table.send"),
                hint=say("import_table.choose_hint"),
                most=MOST_BYTES,
            ),
        ),
        tag(
            "div",
            tag("h2", say("import_table.what_it_needs")),
            tag("p", say("import_table.needs")),
            tag("p", say("import_table.needs_repeats")),
            _sample(),
            class_="import-needs",
        ),
    )


def _sample() -> Markup:
    """A few lines as they may stand in a table; invented."""
    lines = [line.split(";") for line in say("import_table.sample").split("\n")]
    return table(lines[0], lines[1:], class_="import-sample")


def heading(work: Work, reader: Reader) -> Markup:
    """The heading alone, above what came of a table."""
    return head(say("import_table.title"))


def kept_columns(work: Work, reader: Reader) -> dict[str, dict[str, Any]]:
    """The columns that the book keeps, by name, the newest last."""
    kept = columns_kept(work.bench)
    return {name: kept[name] for name in list(kept)[-MOST_KEPT:]}


def begun(work: Work, reader: Reader, look: TableLook, base: str) -> dict[str, str]:
    """The fields of the form as they are at first.

    Args:
        work: with the book.
        reader: takes the unit of bare values, where the table names none.
        look: the first look at the table.
        base: name of kept columns; '' takes the guess.
    """
    kept = columns_kept(work.bench)
    unit = work.shown(reader).units.bare()[Dimension.LENGTH]
    if base in kept:
        return fields_of(look, TableMapping.from_dict(kept[base]), name=base, unit=unit)
    return fields_of(look, look.guess, name=_free_name(kept), unit=unit)


def _free_name(kept: Mapping[str, object]) -> str:
    names = (PLAIN, *(f"{PLAIN} {number}" for number in range(2, len(kept) + 3)))
    return next(name for name in names if name not in kept)


def columns_form(work: Work, reader: Reader, said: Said) -> Markup:
    """What the columns of a table hold, to be said.

    Args:
        work: with the book.
        reader: who says it.
        said: what was said so far.
    """
    look = said.look
    assert look is not None
    return joined(
        head(say("import_table.title")),
        tag(
            "div",
            tag("p", plural("import_table.file_is", look.lines, file=said.file)),
            link(say("import_table.another"), "/import", quiet=True),
            class_="spread import-file",
        ),
        paper(
            say("import_table.columns"),
            _bases(look, said.base),
            _laying(look),
            tag(
                "form",
                _columns(work, look, said.fields),
                tag("p", say("import_table.unit_note"), class_="note"),
                _every_line(work, said.fields),
                _written(said.fields),
                row(
                    field(
                        say("import_table.keep_as"),
                        "name",
                        value=said.fields.get("name", ""),
                        hint=say("import_table.keep_as_hint"),
                    )
                ),
                row(button(say("import_table.look_over"), first=True)),
                data_act="import_look",
                data_after="stay",
                data_way="remember",
                data_remember="import_said",
                novalidate=True,
                # filled in anew it is another form: what was chosen in the old one must not stay
                id=f"import-columns-{said.anew}",
            ),
            id="import-said",
        ),
    )


def _bases(look: TableLook, base: str | None) -> Markup | None:
    """Columns that the book keeps and that fit, to begin with."""
    if not look.fitting:
        return None
    words = {name: say("import_table.kept_fits", name=name) for name in look.fitting}
    return form(
        "import_base",
        row(
            choice(
                say("import_table.begun_with"),
                "base",
                {**words, "": say("import_table.guessed")},
                value=base or "",
            ),
            button(say("import_table.base_use")),
        ),
        stay=True,
    )


def _columns(work: Work, look: TableLook, fields: Fields) -> Markup:
    """Each column with its first cells, what it holds and its unit."""
    holds = {what: words_of(what) for what in ("", VALUE, *FIELDS, *_axes(work))}
    heads = [say(f"import_table.{name}") for name in ("column", "first_lines", "holds", "unit")]
    rows = []
    for place, heading in enumerate(look.headings):
        name = heading or say("import_table.column_n", number=place + 1)
        cells = [cells[place] for _, cells in look.first if place < len(cells) and cells[place]]
        rows.append(
            (
                name,
                _cells(cells),
                _hold(f"hold-{place}", holds, fields, name),
                _unit(f"unit-{place}", fields, name),
            )
        )
    return table(heads, rows, class_="import-columns")


def _axes(work: Work) -> Sequence[str]:
    """Columns of axis positions that there may be; the axes of the machine first."""
    own = [joint.letter for joint in work.bench.build.joints.values()]
    return [AXIS + letter for letter in dict.fromkeys((*filter(None, own), *AXES))]


def _cells(cells: Sequence[str]) -> Markup:
    return tag("span", *[tag("span", cell, class_="cell") for cell in cells[:3]], class_="cells")


def _hold(name: str, holds: Mapping[str, str], fields: Fields, column: str) -> Markup:
    chosen = fields.get(name, "")
    options = [tag("option", word, value=what, selected=what == chosen) for what, word in holds.items()]
    return tag("select", *options, name=name, aria_label=say("import_table.holds_of", column=column))


def _unit(name: str, fields: Fields, column: str) -> Markup:
    label = say("import_table.unit_of", column=column)
    return tag(
        "input", name=name, value=fields.get(name) or None, aria_label=label, autocomplete="off", size="7"
    )


def _every_line(work: Work, fields: Fields) -> Markup:
    """What holds for every line."""
    gauges = {"": say("import_table.no_gauge"), **{name: name for name in work.bench.build.gauges}}
    typed: dict[str, Child] = {
        what: field(
            say(f"import_table.all_{what}"),
            f"all-{what}",
            value=fields.get(f"all-{what}", ""),
            hint=say("import_table.all_what_hint") if what == "what" else None,
        )
        for what in CONSTANTS
        if what != "gauge"
    }
    typed["gauge"] = choice(
        say("import_table.all_gauge"), "all-gauge", gauges, value=fields.get("all-gauge", "")
    )
    unit = field(say("import_table.bare_unit"), "unit", value=fields.get("unit", ""))
    return tag(
        "div",
        tag("h3", say("import_table.all_lines")),
        tag("p", say("import_table.all_lines_note"), class_="note"),
        tag("div", unit, *[typed[what] for what in CONSTANTS], class_="fields"),
        class_="import-all",
    )


def _written(fields: Fields) -> Markup:
    """How numbers and days are written."""
    marks = {".": say("import_table.point"), ",": say("import_table.comma")}
    days = {name: f"{name}: {example}" for name, (_, _, example) in DATES.items()}
    return tag(
        "div",
        tag("h3", say("import_table.written")),
        tag(
            "div",
            choice(say("import_table.decimal"), "decimal", marks, value=fields.get("decimal", ".")),
            choice(say("import_table.dates"), "dates", days, value=fields.get("dates", "")),
            class_="fields",
        ),
        tick(say("import_table.from_nominal"), "from_nominal", checked=fields.get("from_nominal") == "on"),
        class_="import-written",
    )


def _laying(look: TableLook) -> Markup:
    """How cells are parted, where the headings stand, and how letters are written; behind a lid."""
    laying = look.laying
    signs = {name: say(f"import_table.sign.{name}") for name in SIGNS.values()}
    return more(
        say("import_table.laying"),
        form(
            "import_laying",
            tag(
                "div",
                choice(
                    say("import_table.delimiter"), "delimiter", signs, value=SIGNS.get(laying.delimiter, "")
                ),
                field(
                    say("import_table.header"),
                    "header",
                    value=str(laying.header),
                    hint=say("import_table.header_hint"),
                    number=True,
                ),
                choice(say("import_table.encoding"), "encoding", ENCODINGS, value=laying.encoding),
                class_="fields",
            ),
            row(button(say("import_table.lay_anew"))),
            stay=True,
        ),
        id="import-laying",
    )
