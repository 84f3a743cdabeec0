"""What can go wrong, as data a person can act on."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One mistake in what a user gave us, and what would do instead.

    Attributes:
        field: path of the field, parts joined by '/', as in ``parts/column/dims/height``; '' for the whole file.
        what: what was given and what is wrong with it.
        remedy: what would do.
        file: the file's name, or None when it did not come from a file.
        line: line in that file, counted from 1, or None when it is not known.

    >>> print(Problem("name", "is missing", "add a line 'name: my machine'", file="m.yaml", line=1))
    m.yaml:1: name: is missing; add a line 'name: my machine'
    """

    field: str
    what: str
    remedy: str
    file: str | None = None
    line: int | None = None

    def __str__(self) -> str:
        place = "" if self.file is None else self.file + ("" if self.line is None else f":{self.line}") + ": "
        return f"{place}{self.field + ': ' if self.field else ''}{self.what}; {self.remedy}"


class LoopwrightError(Exception):
    """Base of every error that Loopwright raises on purpose."""


class BuildError(LoopwrightError):
    """A build cannot be used as it stands. ``problems`` holds every mistake found, not only the first.

    >>> BuildError([Problem("name", "is missing", "add it")]).problems[0].field
    'name'
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))

    def __reduce__(self) -> tuple[type["BuildError"], tuple[tuple[Problem, ...]]]:
        return type(self), (self.problems,)


class QuantityError(LoopwrightError):
    """A text is not the quantity that was asked for. Says what was given, what is wrong and what would do."""

    def __init__(self, what: str, remedy: str) -> None:
        self.what, self.remedy = what, remedy
        super().__init__(f"{what}; {remedy}")

    def __reduce__(self) -> tuple[type["QuantityError"], tuple[str, str]]:
        return type(self), (self.what, self.remedy)


class OutOfRange(LoopwrightError):
    """A handbook formula or table was asked for a value outside its stated validity."""


class RequestError(LoopwrightError):
    """A question cannot be answered as asked: an unknown target, a pose outside the travel, too large a volume."""

    def __init__(self, what: str, remedy: str) -> None:
        self.what, self.remedy = what, remedy
        super().__init__(f"{what}; {remedy}")

    def __reduce__(self) -> tuple[type["RequestError"], tuple[str, str]]:
        return type(self), (self.what, self.remedy)


class Cancelled(LoopwrightError):
    """Long work was stopped because its caller asked for it."""
