"""The description as a page: its tools, the list of its entries, and what is open of it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.buildfile.comparing import Clash
from loopwright.errors import Problem, RequestError
from loopwright.model.records import Revision
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.edit_effect import Described, EditEffect, described, difference_of, newest
from loopwright.studies.edit_form import Line, Section, checked, document_of, entry_path, outline
from loopwright.web.views import description_changes, description_form
from loopwright.web.views.kit import button, chip, head, more, paper, row
from loopwright.web.views.saying import problem_line, refusal
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

FIELDS, TEXT, CHANGES = "fields", "text", "changes"
VIEWS = (FIELDS, TEXT, CHANGES)
MOST_LISTED = 60
"""Entries of a section that are listed before somebody looks for one by its name."""
MOST_PROBLEMS = 30


@dataclass(frozen=True)
class Refused:
    """What somebody typed and could not be taken: the field, what is wrong, what would do."""

    path: str
    what: str
    remedy: str


@dataclass(frozen=True)
class Sheet:
    """What one open page holds of a description that is being changed.

    Attributes:
        base: number of the entry whose revision it began with.
        text: as it is now.
        at: path of the entry that is open.
        show: 'fields', 'text' or 'changes'.
        find: what entries are looked for by.
        undo, redo: what each would take back or do again, in words; '' where nothing.
        steps: how many changes there are.
        refused: what could not be taken.
        generation: counts what makes all fields anew, such as undo.
        sequence: of the last thing the page's script asked for.
        kept: what this device keeps, for the day the lid is closed.
        clashes: where somebody else changed the same lines.
        effect: what it would do, and whether that is of these very changes.
    """

    base: int
    text: str
    at: str = ""
    show: str = FIELDS
    find: str = ""
    undo: str = ""
    redo: str = ""
    steps: int = 0
    refused: Refused | None = None
    generation: int = 0
    sequence: str = ""
    kept: str = ""
    clashes: tuple[Clash, ...] = ()
    effect: EditEffect | None = None
    effect_is_now: bool = False


def begun_with(work: Work, base: int) -> Described:
    """The revision that a page began with."""
    return described(work.book.entry(base))


def sheet(work: Work, reader: Reader, it: Sheet) -> Markup:
    """The whole page."""
    problems = checked(it.text).problems
    readable = document_of(it.text) is not None
    show = it.show if readable or it.show == CHANGES else TEXT
    body = {FIELDS: _fields, TEXT: _text, CHANGES: changes}[show](work, reader, it)
    kept = tag(
        "div",
        id="description-kept",
        hidden=True,
        data_way="description",
        data_kept=it.kept,
        data_sequence=it.sequence,
        data_at=it.at,
        data_show=show,
        data_refused=it.refused.path if it.refused else None,
    )
    return joined(
        head(say("description.title"), say("description.lede")),
        kept,
        meanwhile(work, it),
        _tools(it, show, problems),
        tag("p", say("description.not_text"), class_="note") if not readable and it.show == FIELDS else None,
        body,
    )


# tools


def _tools(it: Sheet, show: str, problems: Sequence[Problem]) -> Markup:
    undo = say("description.undo_what", what=it.undo) if it.undo else say("description.undo")
    redo = say("description.redo_what", what=it.redo) if it.redo else say("description.redo")
    ways = [
        tag(
            "button",
            say(f"description.view_{name}"),
            type="button",
            data_act="description show",
            data_of=name,
            aria_current="page" if name == show else None,
        )
        for name in VIEWS
    ]
    said = plural("description.changed", it.steps) if it.steps else say("description.nothing_changed")
    return tag(
        "div",
        tag("nav", *ways, class_="tabs", aria_label=say("description.views")),
        tag(
            "div",
            step("undo", say("description.undo"), undo, bool(it.undo)),
            step("redo", say("description.redo"), redo, bool(it.redo)),
            tag("span", said, class_="description-said"),
            chip("conforming", say("description.sound")) if not problems else problem_list(problems),
            button(say("description.review"), "description show", first=True, of=CHANGES)
            if it.steps and show != CHANGES
            else None,
            class_="row",
            role="group",
            aria_label=say("description.tools"),
        ),
        class_="description-tools",
    )


def step(act: str, word: str, what: str, there: bool) -> Markup:
    """The button that takes a change back, or does it again."""
    return tag(
        "button",
        word,
        type="button",
        data_act=f"description {act}",
        title=what,
        aria_label=what,
        disabled=not there,
    )


def problem_list(problems: Sequence[Problem]) -> Markup:
    """Mistakes behind a lid, each with the way to where it can be mended."""
    items = [tag("li", problem_line(p), " ", _to_problem(p)) for p in problems[:MOST_PROBLEMS]]
    left = len(problems) - MOST_PROBLEMS
    more_of = tag("p", say("description.used_more", count=left), class_="note") if left > 0 else None
    return tag(
        "details",
        tag("summary", chip("not conforming", plural("description.problems", len(problems)))),
        tag("ul", *items),
        more_of,
        class_="description-problems",
        id="description-problems",
    )


def _to_problem(problem: Problem) -> Markup:
    """The way to where a mistake can be mended: its form, or its line where no form can be made."""
    if problem.field:
        return description_form.open_way(entry_path(problem.field), say("description.open_field"))
    if problem.line is None:
        return Markup()
    word = say("description.go_to_line", line=problem.line)
    return tag(
        "button",
        word,
        type="button",
        class_="plain",
        data_act="description line",
        data_line=str(problem.line),
    )


# the entries


def _fields(work: Work, reader: Reader, it: Sheet) -> Markup:
    sections = outline(it.text)
    try:
        body = description_form.form_of(work, reader, it.text, it.at, it.generation, _told(it.refused))
    except RequestError as error:
        body = paper(None, refusal(error))
    return tag("div", _outline(it, sections), body, class_="description-page")


def _told(refused: Refused | None) -> tuple[str, str] | None:
    return None if refused is None else (refused.path, f"{refused.what}; {refused.remedy}")


def _outline(it: Sheet, sections: Sequence[Section]) -> Markup:
    words = it.find.strip().lower()
    top = it.at.split("/")[0]
    items = [_entry("", say("description.head_of_file"), it.at, 0, "top")]
    found = 0
    for section in sections:
        lines = [line for line in section.lines if not words or words in line.name.lower()]
        found += len(lines) if words else 1
        if words and not lines:
            continue
        opened = bool(words) or top == section.path
        name = say(f"description.name_{section.path}")
        count = (
            plural("description.entries", len(section.lines))
            if section.lines
            else say("description.entries_none")
        )
        below = _lines(lines, it.at) if opened else None
        own = _entry(section.path, name, it.at, section.problems, "section", count)
        items.append(tag("li", own, below))
    none = tag("p", say("description.none_found"), class_="note") if words and not found else None
    return tag(
        "nav",
        _search(it.find),
        tag("ul", *items),
        none,
        class_="description-outline paper",
        aria_label=say("description.sections"),
    )


def _search(words: str) -> Markup:
    return tag(
        "form",
        tag("label", say("description.find"), for_="description-find"),
        tag(
            "input",
            type="search",
            id="description-find",
            name="words",
            value=words or None,
            aria_describedby="description-find-hint",
            autocomplete="off",
        ),
        tag("span", say("description.find_hint"), class_="hint", id="description-find-hint"),
        data_act="description find",
        data_after="stay",
        class_="field",
    )


def _lines(lines: Sequence[Line], at: str) -> Markup:
    shown = [
        tag("li", _entry(line.path, line.name, at, line.problems, "entry")) for line in lines[:MOST_LISTED]
    ]
    left = len(lines) - MOST_LISTED
    rest = tag("li", say("description.more_entries", count=left), class_="note") if left > 0 else None
    return tag("ul", *shown, rest)


def _entry(path: str, name: str, at: str, problems: int, look: str, count: str | None = None) -> Markup:
    here = path == at or (bool(path) and look == "entry" and at.startswith(path + "/"))
    wrong = tag("span", plural("description.problems", problems), class_="wrong-count") if problems else None
    made = tag(
        "button",
        tag("span", name),
        wrong,
        tag("small", count) if count and not wrong else None,
        type="button",
        class_=f"plain {look}",
        data_act="description open",
        data_of=path,
        aria_current="true" if here else None,
    )
    return tag("li", made) if look == "top" else made


# the text


def _text(work: Work, reader: Reader, it: Sheet) -> Markup:
    problems = checked(it.text).problems
    where = f"description-text-{it.generation}"
    lines = ",".join(str(line) for line in sorted({p.line for p in problems if p.line is not None}))
    area = tag(
        "textarea",
        it.text,
        id=where,
        name="text",
        wrap="off",
        spellcheck="false",
        autocapitalize="off",
        autocomplete="off",
        data_whole="yes",
        aria_describedby="description-text-hint",
    )
    listed = [tag("li", problem_line(p), " ", _to_line(p)) for p in problems[:MOST_PROBLEMS]]
    return paper(
        None,
        tag("label", say("description.text_label"), for_=where),
        tag("p", say("description.text_hint"), class_="hint", id="description-text-hint"),
        tag("ul", *listed, class_="description-wrong", role="status") if listed else None,
        tag(
            "div",
            tag("pre", class_="gutter", aria_hidden="true", id=f"gutter-{it.generation}"),
            area,
            class_="numbered",
            data_way="numbered",
            data_lines=lines,
            id=f"numbered-{it.generation}",
        ),
        class_="description-text",
    )


def _to_line(problem: Problem) -> Markup | None:
    if problem.line is None:
        return None
    word = say("description.go_to_line", line=problem.line)
    return tag("button", word, type="button", class_="plain", data_line=str(problem.line))


# what changed


def changes(work: Work, reader: Reader, it: Sheet, told: str = "") -> Markup:
    """What is changed, what that would do, and saving.

    Args:
        work: the open book.
        reader: who looks.
        it: what the page holds.
        told: path of something whose changes the page tells elsewhere; their lines of the text stand here all the same.
    """
    base = begun_with(work, it.base)
    found = difference_of(base.text, it.text)
    if told:
        rest = (change for change in found.changes if not f"{change.path}/".startswith(f"{told}/"))
        found = replace(found, changes=tuple(rest))
    return description_changes.changes(
        work,
        reader,
        base,
        found,
        it.effect,
        it.effect_is_now,
        len(checked(it.text).problems),
        bool(it.clashes),
    )


def meanwhile(work: Work, it: Sheet) -> Markup | None:
    """What somebody else saved since the page began, and where both changed the same."""
    now = newest(work.bench)
    parts: list[Child] = []
    if it.clashes:
        parts.append(_clashes(it.clashes))
    if now.entry != it.base:
        base = begun_with(work, it.base)
        why = f": {now.why}" if now.why else ""
        said = say("description.meanwhile_at", at=day(now.at), why=why, base=base.revision)
        theirs = difference_of(base.text, now.text)
        parts += [
            tag("h2", say("description.meanwhile", who=now.who, revision=now.revision)),
            tag("p", said),
            more(
                say("description.meanwhile_theirs"),
                description_changes.change_table(theirs.changes),
                id="theirs",
            ),
            row(
                button(say("description.meanwhile_together"), "description together", first=True)
                if it.steps
                else None,
                button(
                    say("description.meanwhile_drop" if it.steps else "description.meanwhile_take"),
                    "description anew",
                    first=not it.steps,
                ),
            ),
        ]
    return tag("section", *parts, class_="description-meanwhile", role="status") if parts else None


def _clashes(clashes: Sequence[Clash]) -> Markup:
    items = [
        tag(
            "li",
            tag("p", say("description.clash_line", line=clash.line)),
            tag(
                "dl",
                *[
                    tag(
                        "div",
                        tag("dt", say(f"description.clash_{side}")),
                        tag("dd", tag("pre", "\n".join(lines))),
                    )
                    for side, lines in (("base", clash.base), ("theirs", clash.theirs), ("mine", clash.mine))
                ],
            ),
        )
        for clash in clashes
    ]
    return tag(
        "div",
        tag("h2", plural("description.together_clashes", len(clashes))),
        tag("ul", *items, class_="description-clashes"),
        row(button(say("description.clash_seen"), "description seen")),
    )


def day(at: str) -> str:
    """A time as people write it: day, and hour and minute."""
    return f"{at[:10]} {at[11:16]}".strip()


def newest_revision(work: Work, reader: Reader) -> Described:
    """The description that counts."""
    return newest(work.bench)


def revision_text(work: Work, reader: Reader, entry: int) -> str:
    """The text of a revision.

    Raises:
        RequestError: the entry is no revision.
    """
    record = work.book.entry(entry).record
    if not isinstance(record, Revision):
        raise RequestError(f"entry {entry} is no revision of the description", "begin with the newest")
    return record.text
