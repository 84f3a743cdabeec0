"""What a page says when something was entered: its number, what the book did differently, what others did meanwhile."""

from dataclasses import dataclass

from loopwright.book import Written
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Work


@dataclass(frozen=True)
class Entered:
    """An entry that was made, as the page that asked for it needs it.

    Attributes:
        number: of the entry; last: number of the last entry of the book now.
        again: it was in the book already; nothing was added.
        told: what the book did differently from what was asked.
        meanwhile: number and person of what others entered since the page was drawn.
        clashes: numbers of those of them that are about the same thing.
    """

    number: int
    last: int
    again: bool
    told: tuple[str, ...]
    meanwhile: tuple[tuple[int, str], ...]
    clashes: tuple[int, ...]


def entered(written: Written) -> Entered:
    """What became of an entry, small enough to be sent to a page."""
    number = written.entry.number
    return Entered(
        number,
        max([number, *(one.number for one in written.meanwhile)]),
        written.again,
        written.told,
        tuple((one.number, one.who) for one in written.meanwhile),
        tuple(one.number for one in written.clashes),
    )


def seen_field(work: Work, keep: str) -> Markup:
    """How far the book went when somebody began to fill in the form that this stands in.

    Args:
        work: with the book.
        keep: name under which it stays on the device with what was typed.
    """
    return tag(
        "input",
        name="seen",
        value=str(work.bench.last),
        hidden=True,
        tabindex="-1",
        aria_hidden="true",
        data_way="seen",
        data_keep=f"{keep}/seen",
    )


def seen_of(text: str) -> int | None:
    """The same as a number; None where it does not say."""
    plain = text.strip()
    return int(plain) if plain.isdecimal() and len(plain) < 10 else None


def notice(what: str, made: Entered, *more: Child) -> Markup:
    """What is said of an entry that was made.

    Args:
        what: was entered, in a few words.
        made: what became of it.
        more: further sentences.
    """
    first = tag(
        "p",
        tag("strong", what),
        " ",
        tag("a", say("book.entry_n", number=made.number), href=f"/book/{made.number}"),
    )
    others = ", ".join(say("book.by_person", number=number, who=who) for number, who in made.meanwhile[:5])
    about = ", ".join(str(number) for number in made.clashes)
    return joined(
        first,
        tag("p", say("book.again")) if made.again else None,
        *[tag("p", sentence(words)) for words in made.told],
        tag("p", say("book.meanwhile", entries=others)) if others else None,
        tag("p", plural("book.clash", len(made.clashes), numbers=about)) if about else None,
        *more,
    )
