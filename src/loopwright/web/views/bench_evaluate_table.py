"""Raw readings from a table: the way to give one, and which of its columns was taken for what."""

from loopwright.sheets.markup import Markup, joined, tag
from loopwright.studies.evaluating import kind_of
from loopwright.studies.evaluating_tables import TableRead
from loopwright.studies.importing import kept_columns
from loopwright.web.uploads import LARGEST
from loopwright.web.views.kit import button, field, form, more, paper, row, upload
from loopwright.web.views.saying import problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST_PROBLEMS = 30


def offering(work: Work, reader: Reader, what: str) -> Markup:
    """The way to give a table instead of typing; nothing for who may not record.

    Raises:
        RequestError: there is no such evaluation.
    """
    kind = kind_of(what)
    if not reader.may("record"):
        return Markup()
    columns = ", ".join(
        one.name if one.needed else f"{one.name} ({say('evaluate.if_any')})" for one in kind.columns
    )
    return more(
        say("evaluate.table"),
        upload(
            say("evaluate.table_file"),
            "readings",
            "evaluate_table",
            say("evaluate.table_send"),
            hint=say("evaluate.table_hint", columns=columns),
            most=LARGEST["readings"],
        ),
        id="evaluate-table",
    )


def known_columns(work: Work, reader: Reader, what: str) -> dict[str, object] | None:
    """Which column was what in an earlier table of this evaluation, where the book keeps that."""
    found = kept_columns(work.bench, f"evaluate {kind_of(what).command}")
    return None if found is None else dict(found.columns)


def taken(work: Work, reader: Reader, what: str, found: TableRead | None) -> Markup:
    """Which column of a table was taken for what, everything that is wrong with it, and the way to say otherwise."""
    if found is None:
        return Markup()
    kind, headings = kind_of(what), found.columns.headings
    every = ", ".join((*headings.values(), *found.unused))
    fields = [
        field(
            one.name if one.needed else f"{one.name} ({say('evaluate.if_any')})",
            f"heading/{one.name.replace(' ', '_')}",
            value=headings.get(one.name, ""),
            hint=sentence(one.help),
        )
        for one in kind.columns
    ]
    return paper(
        say("evaluate.table_is", file=found.given.file or ""),
        _wrong(found) if found.problems else tag("p", _told(found), class_="told"),
        form(
            "evaluate_columns",
            tag("p", say("evaluate.table_headings", headings=every), class_="note") if every else None,
            tag("div", *fields, class_="fields"),
            row(button(say("evaluate.table_again"))),
            stay=True,
            id="evaluate-columns",
        ),
        class_="evaluate-table",
    )


def _told(found: TableRead) -> str:
    count = len(next(iter(found.given.columns.values()), ()))
    unused = say("evaluate.table_unused", names=", ".join(found.unused)) if found.unused else ""
    return f"{plural('evaluate.table_taken', count)} {unused}".strip()


def _wrong(found: TableRead) -> Markup:
    """Everything that is wrong, as far as somebody reads."""
    rest = len(found.problems) - MOST_PROBLEMS
    listed = [tag("li", problem_line(one)) for one in found.problems[:MOST_PROBLEMS]]
    return tag(
        "div",
        tag("p", say("evaluate.table_wrong")),
        joined(tag("ul", *listed), tag("p", plural("evaluate.table_more", rest)) if rest > 0 else None),
        class_="refusal",
        role="alert",
    )
