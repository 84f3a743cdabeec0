"""What several answers have in common."""

from loopwright.studies.answer_fields import (
    Schema,
    by_name,
    count,
    listed,
    number,
    pair,
    record,
    share,
    size,
    small,
    text,
    unit,
)

WORDS = ("conforming", "not conforming", "undecided")
PATH = "dim, test, closure or kind/what of an item"
_TWICE = "before and after"

_POSE = by_name(
    record(position=number("where the axis stands", "in 'unit'"), unit=unit("the position")), "by axis letter"
)
_CONFORMITY = record(
    "a verdict by ISO 14253-1",
    verdict=text("what can be said", one_of=WORDS),
    probability=share("probability that it is within its limits"),
    rule=text("the rule of decision"),
    size_unit=unit("size and limits"),
    size=size("as read"),
    limits=pair(size(null="no limit on this side"), "lower and upper"),
)
_LEFT = record(
    target=text("its name"),
    unit=unit(),
    unknown=small("standard uncertainty of the error at the worst pose"),
    adjusted=small("expected size of the error once the adjusters are set by what is known then"),
    chance=share("chance to hold the limit then", null="it was not asked for"),
)
_EFFECT = record(
    target=text("its name"),
    unit=unit(),
    limit=small("the limit that it must hold"),
    expected=pair(small(), f"expected size of the error at the worst pose, {_TWICE}"),
    unknown=pair(small(), f"what is not known of it, standard uncertainty, {_TWICE}"),
    chance=pair(share(), f"chance to hold the limit, {_TWICE}"),
)
EXPECTED = record(
    target=text("its name"), unit=unit(), expected=small("expected size of the error at the worst pose")
)

ENTERED = {
    "entry": count("its number in the book"),
    "at": text("when, UTC, ISO 8601"),
    "who": text("who entered it"),
    "kind": text("kind of the record"),
    "state": count("number of the state that it began", null="it began none"),
    "supersedes": count("number of the entry that it takes the place of", null="of none"),
    "meanwhile": listed(count(), "numbers of the entries that others made since the machine was looked at"),
    "clashes": listed(count(), "those of them that are about the same thing"),
    "told": listed(text(), "what the book did differently from what was asked"),
}


SHARED: dict[str, Schema] = {"pose": _POSE, "conformity": _CONFORMITY, "left": _LEFT, "effect": _EFFECT}
"""By the name under which answers speak of it."""
