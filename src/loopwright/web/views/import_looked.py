"""A table of readings held against the book: what is wrong with it, each reading, and what they brought."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from loopwright.errors import Problem
from loopwright.model.records import Reading
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.effect import TargetEffect
from loopwright.studies.importing import Line
from loopwright.studies.meant import Meant
from loopwright.studies.table_entering import Counts, LookedOver
from loopwright.web.views.bench_answer import headline
from loopwright.web.views.bench_words import verdict_chip
from loopwright.web.views.kit import button, choice, form, link, more, paper, row, stats, tick
from loopwright.web.views.kit import chip as chip_of
from loopwright.web.views.saying import problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

PAGE = 100
"""Readings on one page of the list."""
PROBLEMS = 60
"""Mistakes that are told at once; the others open on a press."""
SHOWS = ("all", "doubted", "not_conforming", "undecided", "twins")


@dataclass(frozen=True, slots=True)
class ToldLine:
    """A reading of a table, as it is shown.

    Attributes:
        line: where it begins.
        name: what it is about.
        values: how many there are.
        found: the value, or of several the one furthest off, with its unit.
        chip: the verdict, drawn.
        shows: names of the lists that it stands in.
        probability, surprise: as they are shown.
        remark: why it is asked about, what may have been meant, and where it is in the book already.
    """

    line: int
    name: str
    values: int
    found: str
    chip: Markup
    shows: frozenset[str]
    probability: str
    surprise: str
    remark: str


@dataclass(frozen=True, slots=True)
class Told:
    """A table held against the book, as it is shown.

    Attributes:
        file: what it is called.
        problems: what is wrong with its lines.
        counts: of its readings.
        lines: its readings.
        last: the last entry of the book that it was held against.
    """

    file: str
    problems: tuple[Problem, ...]
    counts: Counts
    lines: tuple[ToldLine, ...]
    last: int


def told(shown: Shown, file: str, looked: LookedOver) -> Told:
    """A table as it is shown.

    Args:
        shown: formats numbers as the reader wants them.
        file: what it is called.
        looked: the table, held against the book.
    """
    lines = tuple(_told(shown, line, looked.meant) for line in looked.found.lines)
    return Told(file, looked.problems, looked.counts, lines, looked.last)


def _told(shown: Shown, line: Line, meant: Mapping[int, Sequence[Meant]]) -> ToldLine:
    considered = line.considered
    held, look, typed = considered.conformity, considered.look, line.typed
    verdict = "" if held is None else str(held.verdict).replace(" ", "_")
    in_lists = {"doubted": considered.doubt is not None, "twins": line.twin is not None, verdict: True}
    return ToldLine(
        line.line,
        typed.of if typed.item is None else say("import_table.item_of", of=typed.of, item=typed.item),
        len(considered.reading.evaluated.values),
        headline(shown, considered),
        verdict_chip(held),
        frozenset({"all", *(name for name, true in in_lists.items() if true)}),
        "" if held is None else percent(held.probability),
        "" if look is None else f"{look.surprise:.1f}",
        _remark(line, meant.get(line.line, ())),
    )


def _remark(line: Line, meant: Sequence[Meant]) -> str:
    parts = []
    if line.considered.doubt is not None:
        parts.append(sentence(line.considered.doubt.what))
    if meant:
        values = ", ".join(say("import_table.meant_is", value=one.shown, what=one.what) for one in meant)
        parts.append(say("import_table.meant", values=values))
    if line.twin is not None:
        parts.append(say("import_table.twin", number=line.twin))
    return " ".join(parts)


def table_key(token: str) -> tuple[str, str]:
    """Name under which the workroom keeps a table."""
    return "table", token


def looked(work: Work, reader: Reader, token: str, show: str, first: int) -> Markup:
    """What came of looking a table over; nothing where it was not.

    Args:
        work: keeps it.
        reader: who looks.
        token: of the table.
        show: which of its readings are listed.
        first: place of the first on this page, from 0.
    """
    found: Told | None = work.lasting.get(table_key(token))
    if found is None:
        return Markup()
    show = show if show in SHOWS else "all"
    return joined(
        _wrong(found) if found.problems else None,
        paper(
            say("import_table.readings"),
            _counted(found.counts),
            _shows(found, show),
            _listed(found, show, first),
            None if found.problems or not found.lines else _enter(work, found),
            id="import-looked",
        )
        if found.lines
        else None,
    )


def _wrong(found: Told) -> Markup:
    """Every mistake with its line, its column and what would do."""
    listed = [tag("li", problem_line(problem)) for problem in found.problems]
    rest = listed[PROBLEMS:]
    return tag(
        "div",
        tag("h2", plural("import_table.problems", len(listed), file=found.file)),
        tag("ul", *listed[:PROBLEMS]),
        more(say("import_table.problems_more", count=len(rest)), tag("ul", *rest), id="import-more")
        if rest
        else None,
        tag("p", say("import_table.problems_remedy")),
        class_="refusal",
        role="alert",
        id="import-wrong",
    )


def _counted(counts: Counts) -> Markup:
    cells = [
        (name, getattr(counts, name))
        for name in (
            "readings",
            "conforming",
            "undecided",
            "not_conforming",
            "without_limits",
            "doubted",
            "twins",
        )
    ]
    return stats(
        *[
            (say(f"import_table.{name}"), f"{count:,}", None)
            for name, count in cells
            if count or name == "readings"
        ]
    )


def _shows(found: Told, show: str) -> Markup:
    """Which readings are listed: all, or those of one kind."""
    counts = {"all": found.counts.readings} | {name: getattr(found.counts, name) for name in SHOWS[1:]}
    words = {
        name: say("import_table.show_all") if name == "all" else say(f"import_table.{name}") for name in SHOWS
    }
    buttons = [
        tag(
            "button",
            f"{words[name]} ({count:,})",
            type="button",
            data_act="import_show",
            data_show=name,
            aria_pressed="true" if name == show else "false",
        )
        for name, count in counts.items()
        if count
    ]
    return tag("div", *buttons, class_="import-shows", role="group", aria_label=say("import_table.show"))


def _listed(found: Told, show: str, first: int) -> Markup:
    lines = [line for line in found.lines if show in line.shows]
    if not lines:
        return tag("p", say("import_table.nothing_of_it"), class_="note")
    first = max(0, min(first, (len(lines) - 1) // PAGE * PAGE))
    page = lines[first : first + PAGE]
    names = ("what", "line", "values", "found", "verdict", "probability", "surprise", "remark")
    numbers = ("line", "values", "found", "probability", "surprise")
    heads = [(">" if name in numbers else "") + say(f"import_table.{name}") for name in names]
    rows: list[Sequence[Child]] = [
        (
            one.name,
            str(one.line),
            str(one.values),
            one.found,
            one.chip,
            one.probability,
            one.surprise,
            joined(chip_of("look again"), " ", one.remark) if "doubted" in one.shows else one.remark,
        )
        for one in page
    ]
    return joined(table(heads, rows, class_="import-lines"), _leaf(show, first, len(page), len(lines)))


def _leaf(show: str, first: int, here: int, count: int) -> Markup | None:
    """The way through a long list."""
    if here == count:
        return None
    earlier = button(say("import_table.earlier"), "import_show", show=show, place=str(max(first - PAGE, 0)))
    later = button(say("import_table.later"), "import_show", show=show, place=str(first + PAGE))
    words = say("import_table.shown", first=f"{first + 1:,}", last=f"{first + here:,}", count=f"{count:,}")
    return row(earlier if first else None, tag("span", words), later if first + here < count else None)


def _enter(work: Work, found: Told) -> Markup:
    """All of them, or none."""
    since = work.bench.last - found.last
    counts = found.counts
    twins = {"": "twins_choose", "leave out": "twins_leave", "once more": "twins_more"}
    return form(
        "import_enter",
        tag("p", plural("import_table.since", since), class_="told") if since > 0 else None,
        tick(say("import_table.keep"), "keep") if counts.doubted else None,
        choice(
            say("import_table.twins_what"),
            "twins",
            {value: say(f"import_table.{word}") for value, word in twins.items()},
        )
        if counts.twins
        else None,
        row(
            button(plural("import_table.enter", counts.readings), first=True),
            tag("span", say("import_table.all_or_none"), class_="note"),
        ),
        stay=True,
        id="import-enter",
    )


def entered(
    work: Work,
    reader: Reader,
    first: int,
    last: int,
    left_out: int,
    targets: tuple[TargetEffect, ...] | None,
    worked: bool,
) -> Markup:
    """What was entered, and what it brought.

    Args:
        work: with the book.
        reader: in whose units it is told.
        first: number of the first entry.
        last: number of the last.
        left_out: readings that were in the book already.
        targets: before and after; None where that is not worked out.
        worked: nobody is at it any more.
    """
    entries = work.book.entries("reading", since=first - 1, until=last)
    count = len([entry for entry in entries if isinstance(entry.record, Reading)])
    shown = work.shown(reader)
    at_the_tool: Child = None
    if targets is not None:
        at_the_tool = _targets(shown, targets)
    elif worked:
        at_the_tool = tag("p", say("import_table.not_told"), class_="note")
    return paper(
        plural("import_table.entered", count),
        tag("p", plural("import_table.entered_as", last - first + 1, first=first, last=last)),
        tag("p", plural("import_table.left_out", left_out)) if left_out else None,
        at_the_tool,
        row(
            link(say("import_table.see_standing"), "/", first=True),
            link(say("import_table.see_book"), "/book"),
            link(say("import_table.another_table"), "/import", quiet=True),
        ),
        id="import-entered",
    )


def _targets(shown: Shown, targets: Sequence[TargetEffect]) -> Markup:
    if not targets:
        return tag("p", say("import_table.no_targets"), class_="note")
    numbers = ("limit", "expected_before", "expected_now", "chance_before", "chance_now")
    heads = [say("import_table.target"), *(">" + say(f"import_table.{name}") for name in numbers)]
    rows = [
        (
            one.name,
            shown.limit(one.limit, one.dimension),
            shown.error(one.before, one.dimension),
            tag("b", shown.error(one.after, one.dimension)),
            percent(one.chance_before, 0.01),
            tag("b", percent(one.chance_after, 0.01)),
        )
        for one in targets
    ]
    return joined(tag("h3", say("import_table.at_the_tool")), table(heads, rows, class_="import-effect"))
