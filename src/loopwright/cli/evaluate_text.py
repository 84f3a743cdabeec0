"""An evaluation of raw readings on the terminal."""

from rich.console import Console
from rich.text import Text

from loopwright import units
from loopwright.cli.layout import columns, console, say, set_in
from loopwright.model.build import Units
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.evaluating_forms import Cell, Evaluation, Grading, Heading, Judged, Result, Table
from loopwright.units import Dimension

MOST_ROWS = 40
MOST_LOOPS = 12


def show_evaluation(found: Evaluation, *, every: bool) -> None:
    """Prints what was found: results first, then every place, then what the numbers rest on.

    Args:
        found: the evaluation.
        every: all rows of long tables.
    """
    out = console()
    _title(out, found)
    _results(out, found)
    if found.grading is not None:
        _grading(out, found.grading, found.units, found.factor)
    for table in found.tables:
        _table(out, table, found.units, every=every)
    _loops(out, found, every=every)
    out.print()
    for heading, said in (
        ("The uncertainty includes", found.includes),
        ("Not seen", found.not_seen),
        ("Notes", found.notes),
    ):
        if said:
            say(out, heading, "bold")
            for sentence in said:
                out.print(set_in(Text(sentence)))
    for caution in found.cautions:
        say(out, f"Caution: {caution}")


def _title(out: Console, found: Evaluation) -> None:
    many = "1 reading" if found.readings == 1 else f"{found.readings} readings"
    source = f" of {found.given.file}" if found.given.file else ""
    say(out, f"{found.kind.name}: {many}{source}", "bold")
    one, shown = found.reading, Shown(found.units)
    own = shown.error(one.own, one.dimension)
    if one.gauge is None:
        say(out, f"  standard uncertainty of one reading: {one.stated}, as stated", "dim")
        return
    shared = f"; {shown.error(one.shared, one.dimension)} in common" if one.shared else ""
    parts = ", ".join(f"{part.name} {shown.error(part.std, one.dimension)}" for part in one.parts)
    say(out, f"  one reading with {one.gauge}: {own} of its own{shared} ({parts})", "dim")


def _results(out: Console, found: Evaluation) -> None:
    factor = "U, k = 2" if found.confidence is None else f"U, {percent(found.confidence)}"
    table = columns("found", ">value", f">± {factor}")
    for number, result in enumerate(found.results):
        style = "bold" if number == 0 else ""
        table.add_row(*(Text(text, style) for text in (result.name, *_value(result, found))))
    out.print(set_in(table))
    for result in found.results:
        if result.note:
            out.print(set_in(Text(f"{result.name}: {result.note}", "dim")))


def _value(result: Result, found: Evaluation) -> tuple[str, str]:
    """A result rounded to its uncertainty, and that expanded."""
    if result.value is None:
        return "not known", "-"
    unit = result.unit(found.units)
    if result.u is None or not 0 < result.u < float("inf"):
        return units.format_value(result.value, result.dimension, unit, sign=result.signed, digits=2), "-"
    wide = found.factor * result.u
    return (
        units.format_value(result.value, result.dimension, unit, uncertainty=wide, sign=result.signed),
        _spread(wide, result.dimension, unit),
    )


def _spread(value: float, dimension: Dimension, unit: str) -> str:
    """An uncertainty with two figures, the last one too where it is a zero."""
    return units.format_value(value, dimension, unit, uncertainty=value)


def _grading(out: Console, grading: Grading, shown: Units, factor: float) -> None:
    out.print()
    name = (
        f"grade {grading.grade}: {grading.verdict}"
        if grading.grade
        else f"no grade is proven; by {grading.by}"
    )
    say(out, f"{name}   (each limit by itself, at {percent(grading.confidence)})", "bold")
    table = columns("limit", ">found", ">± U", ">limit", "verdict", ">probability")
    for one in grading.lines:
        limit = ("±" if one.both_sides else "") + Shown(shown).limit(one.limit, Dimension.LENGTH)
        chance = "-" if one.probability is None else percent(one.probability)
        table.add_row(f"{one.name}, {one.says}", *_judged(one, shown, factor), limit, one.verdict, chance)
    out.print(set_in(table))
    for one in grading.lines:
        if one.reason:
            out.print(set_in(Text(f"{one.name} is undecided: {one.reason}", "dim")))
    sources: dict[str, list[str]] = {}
    for one in grading.lines:
        sources.setdefault(f"{one.standard}; {one.source}", []).append(one.name)
    for source, names in sources.items():
        out.print(set_in(Text(f"limit of {', '.join(names)}: {source}", "dim")))
    for note in grading.notes:
        out.print(set_in(Text(note, "dim")))


def _judged(one: Judged, shown: Units, factor: float) -> tuple[str, str]:
    if one.value is None or one.u is None:
        return "not known", "-"
    wide = factor * one.u
    return (
        Shown(shown).error_known(one.value, wide, Dimension.LENGTH, sign=one.both_sides),
        _spread(wide, Dimension.LENGTH, shown.shown(Dimension.LENGTH)),
    )


def _table(out: Console, table: Table, shown: Units, *, every: bool) -> None:
    out.print()
    say(out, table.title, "bold")
    if len(table.rows) > MOST_ROWS and not every:
        out.print(set_in(Text(f"{len(table.rows)} rows; --all prints them, --json gives them", "dim")))
        return
    made = columns(*(_heading(one, shown) for one in table.headings))
    made.columns[0].min_width = None
    for row in table.rows:
        made.add_row(*(Text(_cell(table, row, number, shown)) for number in range(len(row))))
    out.print(set_in(made))


def _heading(heading: Heading, shown: Units) -> str:
    unit = heading.unit(shown)
    # the unit below the name, so that a table of many columns fits
    return f">{heading.name}\n{unit}" if heading.role != "text" else heading.name


def _cell(table: Table, row: tuple[Cell, ...], number: int, shown: Units) -> str:
    """A number without its unit, which stands above; rounded to the uncertainty in the column to its right."""
    heading, cell = table.headings[number], row[number]
    if cell is None or isinstance(cell, str) or heading.dimension is None:
        return str(cell) if cell is not None else ""
    unit = heading.unit(shown)
    beside = row[number + 1] if number + 1 < len(row) and table.headings[number + 1].role == "u" else None
    known = beside if isinstance(beside, float) and beside > 0 else None
    if heading.role == "place":
        text = units.format_value(cell, heading.dimension, unit, digits=heading.digits + 2)
    elif heading.role == "u":
        text = _spread(cell, heading.dimension, unit) if cell > 0 else "0"
    else:
        digits = 2 if known else heading.digits
        text = units.format_value(
            cell, heading.dimension, unit, uncertainty=known, sign=heading.signed, digits=digits
        )
    return text.partition(" ")[0]


def _loops(out: Console, found: Evaluation, *, every: bool) -> None:
    """Closed loops, those that miss most first."""
    if not found.loops:
        return
    shown = Shown(found.units)
    out.print()
    say(out, "closure errors, the worst first", "bold")
    table = columns(">closure error", ">u allowed", ">ratio", "round the stations (x y)")
    ordered = sorted(found.loops, key=lambda one: -abs(one.error) / (one.u or 1e-12))
    most = len(ordered) if every else MOST_LOOPS
    for one in ordered[:most]:
        stations = ", ".join(
            " ".join(_place(x, found.units) for x in station) for station in one.stations[:6]
        )
        more = ", …" if len(one.stations) > 6 else ""
        table.add_row(
            shown.error_known(one.error, one.u, Dimension.LENGTH, sign=True),
            shown.error(one.u, Dimension.LENGTH),
            f"{abs(one.error) / one.u:.1f}" if one.u else "-",
            stations + more,
        )
    out.print(set_in(table))
    if len(ordered) > most:
        out.print(set_in(Text(f"and {len(ordered) - most} more; --all prints them", "dim")))


def _place(value: float, shown: Units) -> str:
    return units.format_value(value, Dimension.LENGTH, shown.length, digits=5).partition(" ")[0]
