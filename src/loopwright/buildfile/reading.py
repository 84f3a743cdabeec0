"""A build file to a build, with every mistake of the file at once."""

import os
from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from loopwright.buildfile.mending import Mending, readable
from loopwright.buildfile.schema import fields_at
from loopwright.buildfile.yaml_text import Document, Place, decode, parse
from loopwright.buildfile.yaml_tree import MOST_BYTES
from loopwright.errors import BuildError, Problem
from loopwright.model import references
from loopwright.model.build import FORMAT, Build, Units
from loopwright.units import Dimension

MOST_PROBLEMS = 200
"""So many mistakes are told at once; the rest is only counted."""


@dataclass(frozen=True)
class Examined:
    """What came of reading a file.

    Attributes:
        document: the parsed file.
        build: what could be read: the whole build where there are no problems, else the build without the
            entries that could not be read; None where too little is left.
        problems: every mistake found, in the order of the file.
    """

    document: Document | None
    build: Build | None
    problems: tuple[Problem, ...]

    def located(self, problem: Problem) -> Problem:
        """The same problem with the file and line of its field."""
        if self.document is None or problem.line is not None:
            return problem
        loc = as_written(tuple(problem.field.split("/")), self.document) if problem.field else ()
        return replace(
            problem,
            field="/".join(map(str, loc)),
            file=problem.file or self.document.file,
            line=self.document.line(loc),
        )

    def whole(self) -> Build:
        """The build.

        Raises:
            BuildError: the file has mistakes.
        """
        if self.problems or self.build is None:
            raise BuildError(self.problems)
        return self.build


def read_file(path: str | Path) -> Build:
    """Reads a build file.

    Raises:
        BuildError: with every mistake found, each with line, field, what is wrong and what would do.
    """
    return examine_file(path).whole()


def read_text(text: str, file: str | None = None) -> Build:
    r"""Reads the text of a build file; ``file`` is the name used in messages.

    >>> read_text("format: loopwright-build/1\nname: block\nbodies: {block: {}}").name
    'block'
    """
    return examine(text, file).whole()


def file_text(path: str | Path) -> str:
    """The text of a build file.

    Raises:
        BuildError: it cannot be opened, is too large, or is not UTF-8.
    """
    path = Path(path)
    try:
        with path.open("rb") as stream:
            return decode(stream.read(MOST_BYTES + 1), path.name, os.fstat(stream.fileno()).st_size)
    except IsADirectoryError:
        raise BuildError([Problem("", "is a folder", "name the build file in it", str(path))]) from None
    except (OSError, ValueError) as error:
        remedy = "check the name; 'loopwright new FILE' starts one"
        reason = getattr(error, "strerror", None) or error
        raise BuildError([Problem("", f"cannot be opened: {reason}", remedy, str(path))]) from None


def examine_file(path: str | Path) -> Examined:
    """Reads a build file and gathers its mistakes instead of raising them."""
    try:
        return examine(file_text(path), Path(path).name)
    except BuildError as error:
        return Examined(None, None, error.problems)


def examine(text: str, file: str | None = None) -> Examined:
    """Reads the text of a build file and gathers its mistakes instead of raising them."""
    try:
        return examine_document(parse(text, file))
    except BuildError as error:
        return Examined(None, None, error.problems)


def examine_document(document: Document) -> Examined:
    """Reads a parsed document, as ``examine`` does."""
    wrong_format = _format_problem(document.data)
    if wrong_format is not None:
        return _ordered(document, None, [*document.problems, wrong_format])
    context = {"units": _bare_units(document.data)}
    mended = Mending(document.data, context)
    problems = [*document.problems, *(_problem(e, document) for e in mended.mistakes[: MOST_PROBLEMS + 1])]
    if mended.build is not None:
        problems += references.problems(mended.build, mended.unread)
    build = readable(document.data, context, mended.mistakes) if mended.mistakes else mended.build
    return _ordered(document, build, problems)


def _ordered(document: Document, build: Build | None, problems: list[Problem]) -> Examined:
    found = Examined(document, build, ())
    located = sorted(dict.fromkeys(found.located(p) for p in problems), key=lambda p: p.line or 0)
    if len(located) > MOST_PROBLEMS:
        remedy = "mend the others first; they may be the cause"
        more = Problem("", f"has more than {MOST_PROBLEMS} mistakes", remedy, document.file)
        located = [*located[:MOST_PROBLEMS], more]
    return replace(found, problems=tuple(located))


def _format_problem(data: dict[str, Any]) -> Problem | None:
    given = data.get("format")
    if given == FORMAT:
        return None
    if given is None:
        return Problem("format", "is missing", f"begin the file with 'format: {FORMAT}'")
    return Problem(
        "format",
        f"{_shown(given)} is not a format that this version reads",
        f"it reads {FORMAT}; a newer Loopwright may read the other",
    )


def _bare_units(data: dict[str, Any]) -> dict[Dimension, str]:
    try:
        return Units.model_validate(data.get("units", {})).bare()
    except ValidationError:
        return Units().bare()


_SYNONYMS = {"over": "sweep"}


def as_written(loc: Iterable[Any], document: Document) -> Place:
    """A place by the names that stand in the file, where the format has two for one field."""
    node, out = document.root, []
    for key in loc:
        found = node.entry(key)
        if found is None and key in _SYNONYMS:
            found = node.entry(_SYNONYMS[key])
            key = key if found is None else _SYNONYMS[key]
        out.append(key)
        node = node if found is None else found[1]
    return tuple(out)


def _problem(error: ErrorDetails, document: Document) -> Problem:
    loc = as_written(error["loc"], document)
    if loc[-1:] == ("[key]",) and not document.has(loc):  # pydantic's way of saying that the name is wrong
        loc = loc[:-1]
    what, remedy = _words(error, loc)
    return Problem("/".join(map(_clipped, loc)), what, remedy, document.file, document.line(loc))


def _words(error: ErrorDetails, loc: Place) -> tuple[str, str]:
    kind, context, given = error["type"], error.get("ctx", {}), error["input"]
    if kind == "mistake":
        return context["what"], context["remedy"]
    if kind == "missing":
        return "is missing", f"add '{loc[-1]}'"
    if kind == "extra_forbidden":
        return _unknown_field(loc)
    if kind in ("literal_error", "enum"):
        return f"{_shown(given)} is not known", f"use {context['expected']}"
    if kind in _WRONG_KIND:
        wanted, remedy = _WRONG_KIND[kind]
        if kind == "string_type" and isinstance(given, (int, float)):
            remedy = f"put it in quotes: '{_shown(given)}'"
        return ("is left empty" if given is None else f"{_shown(given)} is not {wanted}"), remedy
    if kind == "too_short":
        return "is empty" if not given else "has too few entries", f"give {context['min_length']} at least"
    if kind == "too_long":
        return "has too many entries", f"give {context['max_length']} at most"
    if kind == "string_too_short":
        return "is empty", "write something"
    if kind == "string_too_long":
        return f"{_shown(given)} is too long", f"use {context['max_length']} letters at most"
    if kind in _BOUNDS:
        key, what, remedy = _BOUNDS[kind]
        return f"{_shown(given)} is too {what}", remedy.format(f"{context[key]:g}")
    said = f"{error['msg'][:1].lower()}{error['msg'][1:]}".replace("input should be", "it should be")
    return f"{_shown(given)}: {said}", "see the field in the reference of the build file"


_BOUNDS = {
    "greater_than": ("gt", "small", "give more than {}"),
    "greater_than_equal": ("ge", "small", "give {} or more"),
    "less_than_equal": ("le", "large", "give {} at most"),
}
_WRONG_KIND = {
    **dict.fromkeys(
        ("model_type", "dict_type", "model_attributes_type"),
        ("a mapping", "write 'name: value' lines below it, or {name: value}"),
    ),
    **dict.fromkeys(("list_type", "tuple_type"), ("a list", "write [first, second]")),
    "string_type": ("text", "write plain text"),
    **dict.fromkeys(
        ("int_type", "int_parsing", "int_from_float", "int_parsing_size"),
        ("a whole number", "write a whole number, such as 4"),
    ),
    **dict.fromkeys(
        ("float_type", "float_parsing", "finite_number"),
        ("a plain number", "write a number without unit, such as 25"),
    ),
    **dict.fromkeys(("bool_type", "bool_parsing"), ("true or false", "write true or false")),
}


def _unknown_field(loc: Place) -> tuple[str, str]:
    known = fields_at(loc[:-1])
    name = str(loc[-1])
    if name in known:
        return f"the field '{name}' does not go with the others here", f"known here are: {', '.join(known)}"
    close = get_close_matches(name, known, n=1)
    remedy = f"did you mean '{close[0]}'?" if close else f"known here are: {', '.join(known)}"
    return f"there is no field '{_clipped(name)}'", remedy


def _shown(value: Any) -> str:
    if isinstance(value, (dict, list)) and len(value) > 8:
        return f"a {'mapping' if isinstance(value, dict) else 'list'} of {len(value)} entries"
    if isinstance(value, dict):
        return "a mapping" if value else "{}"
    return _clipped(repr(value))


def _clipped(value: Any) -> str:
    text = str(value)
    return text if len(text) <= 60 else text[:57] + "…"
