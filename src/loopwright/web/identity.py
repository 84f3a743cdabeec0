"""Who asks: whoever sits at this machine or, where the book is open to the shop's network, who signed in."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from urllib.parse import unquote

from starlette.requests import HTTPConnection

from loopwright.errors import LoopwrightError
from loopwright.web.people import People, Person
from loopwright.web.wording import say
from loopwright.web.work import INCH, METRIC, Reader

SESSION = "loopwright_session"


class NotSignedIn(LoopwrightError):
    """Nobody is signed in at this browser."""

    def __init__(self) -> None:
        self.what, self.remedy = say("people.not_signed_in"), say("people.not_signed_in_remedy")
        super().__init__(f"{self.what} {self.remedy}")


@dataclass(frozen=True)
class Identity:
    """Tells who asks.

    Attributes:
        host: name of whoever sits at the machine that serves.
        people: who may come in from the network; None where the book is not open to it.
        addresses: at which the pages are reached from the network.
    """

    host: str
    people: People | None = field(default=None)
    addresses: list[str] = field(default_factory=list)

    def reader(self, asked: HTTPConnection) -> Reader:
        """Who asks, and in which units.

        Args:
            asked: a request, or the request that began a page.

        Raises:
            NotSignedIn: the book is open to the network, and this browser has no session.
        """
        units = asked.cookies.get("loopwright_units", "")
        units = units if units in (INCH, METRIC) else ""
        if self.people is None:
            return Reader(_named(asked.cookies) or self.host, "edit", units)
        person = self.person(asked)
        if person is None:
            raise NotSignedIn()
        return Reader(person.name, person.role, units, signed_in=True)

    def person(self, asked: HTTPConnection) -> Person | None:
        """Who is signed in at the browser that asks, or None."""
        token = asked.cookies.get(SESSION, "")
        return None if self.people is None else self.people.of_session(token)


def _named(cookies: Mapping[str, str]) -> str:
    return unquote(cookies.get("loopwright_who", "")).strip()[:200]
