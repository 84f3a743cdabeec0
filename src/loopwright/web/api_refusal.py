"""A question of a program that cannot be answered, with the status that it is told with."""

from collections.abc import Iterable
from typing import Any

from loopwright.errors import LoopwrightError, Problem


class Refused(LoopwrightError):
    """Something that was asked cannot be done.

    Args:
        status: of HTTP.
        problems: what is wrong.
    """

    def __init__(self, status: int, problems: Iterable[Problem]) -> None:
        self.status, self.problems = status, tuple(problems)
        super().__init__("; ".join(map(str, self.problems)))

    def __reduce__(self) -> tuple[type["Refused"], tuple[int, tuple[Problem, ...]]]:
        return type(self), (self.status, self.problems)


def no_such(error: LoopwrightError) -> Refused:
    """The same error, where what the address names is not there."""
    what, remedy = getattr(error, "what", str(error)), getattr(error, "remedy", "")
    return Refused(404, [Problem("", what, remedy)])


def as_data(problems: Iterable[Problem]) -> dict[str, Any]:
    """Problems as they are told."""
    return {"problems": [{"field": one.field, "what": one.what, "remedy": one.remedy} for one in problems]}
