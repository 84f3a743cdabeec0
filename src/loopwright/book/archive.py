"""A book as one text file that can be read without this program, and back.

The first line says what it is, then each entry is a line of JSON, in order. The text of a description follows its
entry line by line, each behind a '|'. The last line counts the entries and holds the fingerprint (SHA-256) of every
byte before it. Equal books make equal files, whatever database they are in.
"""

import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, BinaryIO, NoReturn

from pydantic import ValidationError
from pydantic_core import from_json
from sqlalchemy import Connection

from loopwright import __version__
from loopwright.book.continuity import Continuity
from loopwright.book.faults import BookError, NewerBook, told
from loopwright.book.files import draft_of, put_in_place
from loopwright.book.ledger import Book
from loopwright.book.opening import Identity, begin, open_book
from loopwright.book.place import Place
from loopwright.book.rows import Rows
from loopwright.errors import RequestError
from loopwright.model.records import Entry, Reading, Revision

FORMAT = "loopwright-book-archive"
VERSION = 1
LONGEST = 64_000_000
"""Longest line that is read, bytes."""
CHUNK = 1000
"""Entries that are held at once."""
DAMAGED = "ask for it again, or take another copy of the archive"


def export_archive(book: Book, path: str | Path) -> Path:
    """Write a book into one text file.

    Args:
        book: the book.
        path: the file to be made; an existing one is left alone.

    Returns:
        The file.

    Raises:
        BookError: the name is taken, or the file cannot be written.
    """
    target = Path(path)
    with told(str(target)):
        draft = draft_of(target)
        try:
            with draft.open("wb") as stream:
                _write(book, stream)
                stream.flush()
                os.fsync(stream.fileno())
            put_in_place(draft, target)
        finally:
            draft.unlink(missing_ok=True)
    return target


def _write(book: Book, stream: BinaryIO) -> None:
    digest, count = hashlib.sha256(), 0
    for line in _lines(book):
        data = line.encode() + b"\n"
        digest.update(data)
        stream.write(data)
        count += line.startswith('{"number"')
    end = {"end": f"{FORMAT}/{VERSION}", "entries": count, "sha256": digest.hexdigest()}
    stream.write(_json(end).encode() + b"\n")


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"))


def _lines(book: Book) -> Iterator[str]:
    info = book.info
    yield _json(
        {"archive": f"{FORMAT}/{VERSION}", "uid": info.uid, "build_name": info.build_name, "made": info.made}
    )
    last = book.last_number
    for start in range(0, last, CHUNK):
        for entry in book.entries(since=start, until=min(start + CHUNK, last)):
            yield from _lines_of(entry)


def _lines_of(entry: Entry) -> Iterator[str]:
    if not isinstance(entry.record, Revision):
        plain = isinstance(entry.record, Reading) and entry.record.method is None
        # a book without worked-out values makes the same file as before there were any
        yield entry.model_dump_json(exclude={"record": {"method"}} if plain else None)
        return
    lines = entry.record.text.split("\n")
    text = entry.model_dump_json(exclude={"record": {"text"}})
    yield f'{text[:-1]},"lines":{len(lines)}}}'
    for line in lines:
        yield f"|{line}"


def import_archive(path: str | Path, where: str | Path, *, until: int | None = None) -> Book:
    """Make a book from an archive: equal to the one that the archive was made of, entry by entry.

    Args:
        path: the archive.
        where: the place of the new book; an existing one is left alone.
        until: take entries up to this one only, for a book as it was then; it counts as another book.

    Raises:
        NewerBook: the archive was written by a newer program.
        BookError: it is damaged or incomplete, or is no archive; with the line. Nothing is left behind then.
    """
    source = Path(path)
    with told(str(source)), source.open("rb") as stream:
        reader = _Reader(str(source), stream)
        identity = reader.identity()
        if until is not None:
            identity = replace(identity, uid=f"{identity.uid}-{until}")

        def fill(connection: Connection) -> None:
            rows = Rows(connection)
            for count, entry in enumerate(reader.entries(), 1):
                if until is not None and entry.number > until:
                    continue  # read all the same: the last line vouches for every one
                try:
                    rows.add(entry)
                except RequestError as error:
                    reader.fail(error.what, DAMAGED)
                if count % CHUNK == 0:
                    rows.flush()
            rows.flush()

        begin(Place.of(where), identity, fill)
    return open_book(where)


class _Reader:
    """Reads an archive line by line, and trusts none of them."""

    def __init__(self, shown: str, stream: BinaryIO) -> None:
        self.shown, self.stream = shown, stream
        self.digest = hashlib.sha256()
        self.line = 0
        self.before = ""

    def fail(self, what: str, remedy: str) -> NoReturn:
        raise BookError(what, remedy, place=self.shown, line=self.line)

    def next(self) -> str:
        """The next line, without its end."""
        data = self.stream.readline(LONGEST + 1)
        self.line += 1
        if len(data) > LONGEST:
            self.fail(f"is longer than {LONGEST} bytes", "this was not written by Loopwright")
        if not data.endswith(b"\n"):
            self.fail("the archive ends here, before its last line", DAMAGED)
        self.before = self.digest.hexdigest()
        self.digest.update(data)
        try:
            return data[:-1].decode()
        except UnicodeDecodeError:
            self.fail("is not UTF-8 text", DAMAGED)

    def table(self) -> dict[str, Any]:
        """The next line as JSON."""
        text = self.next()
        if text.endswith("\r"):
            self.fail("its lines end otherwise than they were written", "copy it as it is, not as text")
        try:
            found = from_json(text)
        except ValueError as error:
            self.fail(f"cannot be read: {error}", DAMAGED)
        if not isinstance(found, dict):
            self.fail("is not a line of an archive", DAMAGED)
        return found

    def identity(self) -> Identity:
        """The first line."""
        head = self.stream.peek(40)[:40] if hasattr(self.stream, "peek") else b""
        if not head.startswith(b'{"archive":"' + FORMAT.encode()):
            self.line = 1
            self.fail("is not an archive of a book", "name a file that Loopwright exported")
        found = self.table()
        name, _, version = str(found.get("archive")).partition("/")
        if name != FORMAT or not version.isdigit():
            self.fail("is not an archive of a book", "name a file that Loopwright exported")
        if int(version) > VERSION:
            raise NewerBook(
                f"is an archive of version {version}, written by a newer Loopwright; "
                f"this one is {__version__} and reads version {VERSION}",
                "update Loopwright, then import it",
                place=self.shown,
                line=1,
            )
        values = [found.get(key) for key in ("uid", "build_name", "made")]
        if not all(isinstance(value, str) and value and "\x00" not in value for value in values):
            self.fail("does not say which book it is", DAMAGED)
        return Identity(*map(str, values))

    def entries(self) -> Iterator[Entry]:
        """Every entry, in order; stops at the last line, which must be the end and must be right."""
        order, count = Continuity(), 0
        while "end" not in (found := self.table()):
            at = self.line
            entry = self._entry(found)
            here, self.line = self.line, at
            for fault in order.faults(entry):
                self.fail(fault, DAMAGED)
            count += 1
            yield entry
            self.line = here
        for fault in order.missing():
            self.fail(fault, DAMAGED)
        if found != {"end": f"{FORMAT}/{VERSION}", "entries": count, "sha256": self.before}:
            self.fail("what the last line says of the lines before is not so: one was changed", DAMAGED)
        if self.stream.read(1):
            self.line += 1
            self.fail("there is something after the last line", DAMAGED)

    def _entry(self, found: dict[str, Any]) -> Entry:
        at, lines, record = self.line, found.pop("lines", None), found.get("record")
        if isinstance(record, dict) and record.get("kind") == "revision":
            if not isinstance(lines, int) or not 1 <= lines <= 1_000_001:
                self.fail("does not say how many lines the description has", DAMAGED)
            record["text"] = "\n".join(self._text_line() for _ in range(lines))
        elif lines is not None:
            self.fail("counts lines of text where there are none", DAMAGED)
        try:
            return Entry.model_validate(found)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            self.line = at
            self.fail(f"{'/'.join(map(str, first['loc']))}: {first['msg']}", DAMAGED)

    def _text_line(self) -> str:
        text = self.next()
        if not text.startswith("|"):
            self.fail("a line of the description is missing", DAMAGED)
        return text[1:]
