"""The book as a list: its history, its revisions, and keeping it safe."""

from collections.abc import Mapping, Sequence
from urllib.parse import urlencode

from loopwright.book import Verified, verify
from loopwright.model.records import Entry, Revision, Withdrawal
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.happened import Chronicle, Happened, Line, Wanted, chronicle
from loopwright.web.views.book_words import counts_chip, day, entry_path, kind_word, what, when
from loopwright.web.views.kit import button, chip, choice, columns, field, form, head, link, paper, row, tabs
from loopwright.web.views.saying import empty, problem_line
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

PAGE = 50
"""Entries on a page of the history."""
REVISIONS = 20
"""Revisions on a page."""


def chronicle_of(work: Work) -> Chronicle:
    """Every entry of the book, kept until it changes."""
    return work.kept("chronicle", lambda: chronicle(work.book, work.bench))


def turned(here: str, reader: Reader) -> Markup:
    """The parts of the book, one of which is open."""
    parts = (
        ("history", "/book"),
        ("states", "/book/states"),
        ("revisions", "/book/revisions"),
        ("keeping", "/book/keeping"),
    )
    return tabs(
        say("book.tab_label"), *[(say(f"book.tab_{name}"), path, name == here) for name, path in parts]
    )


# history


def history(work: Work, reader: Reader, asked: Mapping[str, str]) -> Markup:
    """A page of the history.

    Args:
        work: with the book.
        reader: who looks.
        asked: 'kind', 'who', 'about', 'state', 'words' and 'before', as text; what is missing does not count.
    """
    wanted = wanted_of(asked)
    found = chronicle_of(work).page(wanted, PAGE)
    shown = work.shown(reader)
    listed = (
        paper(None, _count(found), _list(work.bench, shown, found.lines), _turn(found, asked))
        if found.lines
        else empty(say("book.nothing"), say("book.nothing_told"), row(link(say("book.clear"), "/book")))
    )
    return joined(
        head(say("book.title"), say("book.lede")), turned("history", reader), _filter(found, asked), listed
    )


def wanted_of(asked: Mapping[str, str]) -> Wanted:
    """What is asked for, from an address."""

    def number(name: str) -> int | None:
        text = asked.get(name, "")
        return int(text) if text.isdecimal() and len(text) < 10 else None

    return Wanted(
        asked.get("kind", ""),
        asked.get("who", ""),
        asked.get("about", "").strip(),
        number("state"),
        asked.get("words", "").strip(),
        number("before") or 0,
    )


def path_of(asked: Mapping[str, str], **other: str | int | None) -> str:
    """Address of the history as it is asked for, with something else."""
    whole = {**asked, **{name: str(value) for name, value in other.items() if value}}
    for name, value in other.items():
        if not value:
            whole.pop(name, None)
    kept = {name: value for name, value in whole.items() if value}
    return "/book" + (f"?{urlencode(kept)}" if kept else "")


def _filter(found: Happened, asked: Mapping[str, str]) -> Markup:
    kinds = {"": say("book.any_kind")} | {
        kind: say("book.kind_count", kind=kind_word(kind), count=count) for kind, count in found.kinds.items()
    }
    people = {"": say("book.anybody")} | {who: who for who in found.people}
    states = {"": say("book.any_state")} | {str(n): say("book.state_n", number=n) for n in found.states}
    some = any(asked.get(name) for name in ("kind", "who", "about", "state", "words"))
    return form(
        "book_find",
        tag(
            "div",
            field(
                say("book.words"),
                "words",
                type="search",
                value=asked.get("words", ""),
                hint=say("book.words_hint"),
            ),
            field(say("book.about"), "about", value=asked.get("about", ""), hint=say("book.about_hint")),
            choice(say("book.kind"), "kind", kinds, value=asked.get("kind", "")),
            choice(say("book.who"), "who", people, value=asked.get("who", "")),
            choice(say("book.state"), "state", states, value=asked.get("state", "")),
            class_="fields level filter",
        ),
        row(
            button(say("book.find"), first=True),
            link(say("book.clear"), "/book", quiet=True) if some else None,
        ),
        stay=True,
        id="book-find",
    )


def _count(found: Happened) -> Markup:
    if found.found == found.entries:
        return tag("p", plural("book.found", found.entries), class_="note", role="status")
    words = say("book.found_of", count=found.found, entries=found.entries)
    return tag("p", words, class_="note", role="status")


def _list(bench: Bench, shown: Shown, lines: Sequence[Line]) -> Markup:
    head_ = (say("book.number"), say("book.when"), say("book.by"), say("book.kind_head"), say("book.what"))
    return table(head_, [_row(bench, shown, line) for line in lines], class_="blocks entries")


def _row(bench: Bench, shown: Shown, line: Line) -> Sequence[Child]:
    entry = line.entry
    words = what(entry, shown, bench)
    instead = (
        tag("span", say("book.instead", number=entry.supersedes), class_="beside under")
        if entry.supersedes is not None and not isinstance(entry.record, Withdrawal)
        else None
    )
    gone = joined(chip("not conforming", say("book.gone")), " ") if line.gone else None
    why = tag("span", sentence(entry.why), class_="beside under why") if entry.why else None
    return (
        tag("a", str(entry.number), href=entry_path(entry.number)),
        tag("span", when(entry.at), class_="nowrap"),
        entry.who,
        kind_word(entry.record.kind),
        tag("div", gone, words, instead, why, class_="gone" if line.gone else None),
    )


def _turn(found: Happened, asked: Mapping[str, str]) -> Markup | None:
    if found.older is None and found.newer is None:
        return None
    newer = None if found.newer is None else link(say("book.newer"), path_of(asked, before=found.newer))
    older = None if found.older is None else link(say("book.older"), path_of(asked, before=found.older))
    return tag("nav", row(newer, older), aria_label=say("book.pages"), class_="turn")


# revisions


def revisions(work: Work, reader: Reader) -> Markup:
    """Every description that was saved, with what changed in it."""
    saved = [entry for entry in reversed(chronicle_of(work).entries) if isinstance(entry.record, Revision)]
    papers = [_revision(entry) for entry in saved[:REVISIONS]]
    return joined(
        head(say("book.title"), say("book.revisions_lede")),
        turned("revisions", reader),
        *papers,
        row(link(say("book.older"), "/book?kind=revision")) if len(saved) > REVISIONS else None,
    )


def _revision(entry: Entry) -> Markup:
    record, number = entry.record, entry.number
    assert isinstance(record, Revision)
    return paper(
        say("book.revision_n", number=entry.of),
        tag(
            "p",
            say("book.revision_by", when=when(entry.at), who=entry.who),
            " · ",
            tag("a", say("book.entry_n", number=number), href=entry_path(number)),
            f" · {entry.why}" if entry.why else None,
            class_="note",
        ),
        difference_of(record, first=entry.of == 1),
    )


def difference_of(record: Revision, *, first: bool) -> Markup:
    """What changed in a revision: lines that went with −, lines that came with +, with their line numbers."""
    if first:
        return tag("p", say("book.first_revision"))
    lines = record.difference.splitlines()
    if not lines:
        return tag("p", say("book.same_text"))
    changed = sum(text.startswith(("+ ", "- ")) for text in lines)
    drawn = [
        tag("span", text.replace("- ", "− ", 1) if text.startswith("- ") else text, class_=_side(text))
        for text in lines
    ]
    return joined(
        tag("p", plural("book.lines_changed", changed), class_="note"),
        tag("pre", *[joined(one, "\n") for one in drawn], class_="difference", tabindex="0"),
    )


def _side(text: str) -> str:
    return "came" if text.startswith("+ ") else "went" if text.startswith("- ") else "place"


# keeping it safe


def keeping(work: Work, reader: Reader) -> Markup:
    """Where the book is, and the ways to take it home."""
    info, last = work.book.info, work.book.last_number
    sqlite = info.database == "sqlite"
    place = say("book.keeping_place_told", place=info.place, made=day(info.made), entries=last)
    return joined(
        head(say("book.title"), say("book.keeping_lede")),
        turned("keeping", reader),
        paper(say("book.keeping_place"), tag("p", place)),
        columns(
            paper(
                say("book.copy_title"),
                tag("p", say("book.copy_told" if sqlite else "book.copy_told_archive"), class_="note"),
                row(_download(say("book.copy_do"), "/book/copy")),
            ),
            paper(
                say("book.archive_title"),
                tag("p", say("book.archive_told"), class_="note"),
                row(_download(say("book.archive_do"), "/book/archive")),
                tag("p", say("book.import_told"), class_="note"),
                row(link(say("book.import_do"), "/start", quiet=True)),
            ),
            two=True,
        ),
    )


def _download(words: str, path: str) -> Markup:
    return tag("a", words, href=path, download="", class_="button first")


def verifying(work: Work, reader: Reader, found: Verified | None) -> Markup:
    """The part that looks the book through, with what it found."""
    return paper(
        say("book.verify_title"),
        tag("p", say("book.verify_told"), class_="note"),
        None if found is None else _verified(found),
        row(button(say("book.verify_do"), "book_verify")),
        id="verify",
    )


def look_through(work: Work, reader: Reader, *, telling: Telling) -> Verified:
    """Looks the book through; long work."""
    return verify(work.where, progress=telling.progress, cancel=telling.cancelled)


def _verified(found: Verified) -> Markup:
    if found.sound:
        return tag("p", chip("conforming", say("book.verify_sound", count=found.entries)), role="status")
    return tag(
        "div",
        tag("p", tag("strong", plural("book.verify_wrong", len(found.problems)))),
        tag("ul", *[tag("li", problem_line(one)) for one in found.problems]),
        class_="refusal",
        role="alert",
    )


__all__ = ["chronicle_of", "counts_chip", "history", "keeping", "revisions", "turned", "verifying"]
