"""The lines of the description that a change would change, with the way to save them."""

from loopwright.sheets.markup import Markup, tag
from loopwright.studies.statements import Proposal
from loopwright.web.views.kit import field, form, row
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST = 400
"""Lines that are shown at once."""


def offered(work: Work, reader: Reader, proposal: Proposal | None, name: str, told: str, why: str) -> Markup:
    """An offer to save a changed description; nothing where none is made.

    Args:
        work: the book.
        reader: who looks.
        proposal: what would be saved; None where nothing is offered.
        name: of the acts.
        told: what is said above its lines.
        why: reason that stands in its field to begin with.
    """
    if proposal is None:
        return Markup()
    return tag(
        "section",
        tag("h2", say("offered.title"), tabindex="-1"),
        tag("p", told, class_="note"),
        lines_changed(proposal.difference),
        form(
            f"{name} save",
            field(say("offered.why"), "why", value=why, keep=f"{name}-why", hint=say("offered.why_hint")),
            row(
                tag("button", say("offered.save"), type="submit", class_="first"),
                tag(
                    "button",
                    say("offered.not_now"),
                    type="button",
                    class_="quiet",
                    data_act=f"{name} not now",
                ),
            ),
            id=f"{name}-form",
        )
        if reader.may("edit")
        else tag("p", say("offered.may_not"), class_="note"),
        class_="paper offer-paper",
        id=f"{name}-offer",
    )


def lines_changed(difference: str) -> Markup:
    """Lines that go and come."""
    lines = difference.splitlines()
    drawn = [
        tag("code", line, class_={"-": "gone", "+": "come"}.get(line[:1], "where")) for line in lines[:MOST]
    ]
    rest = len(lines) - MOST
    return tag(
        "div",
        tag("div", *drawn, class_="lines", role="group", aria_label=say("offered.lines"), tabindex="0"),
        tag("p", plural("offered.rest", rest), class_="note") if rest > 0 else None,
        class_="offer-lines",
    )
