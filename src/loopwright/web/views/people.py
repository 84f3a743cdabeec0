"""Who may come in: the list, the way to invite others, and what to mind before a book is open to a network."""

from collections.abc import Sequence
from io import BytesIO

import segno

from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.web.people import ROLES, SHORTEST, Person
from loopwright.web.views.kit import button, choice, field, form, head, paper, row
from loopwright.web.wording import plural, say


def closed() -> Markup:
    """The book is open on this machine only: how to change that, and what to mind."""
    return joined(
        head(say("people.title"), say("people.lede")),
        paper(
            say("people.closed_title"),
            tag("p", say("people.closed")),
            tag("p", tag("code", "loopwright serve BOOK --lan")),
            tag("p", say("people.closed_note")),
        ),
        _caution(),
    )


def people_sheet(people: Sequence[Person], own: str, *, editor: bool) -> Markup:
    """Everybody who may come in.

    Args:
        people: all of them.
        own: name of who looks.
        editor: whether they may invite, change and remove.
    """
    rows = [_row(person, own, editor=editor) for person in people]
    roles = {role: say(f"people.role_{role}") for role in ROLES}
    return joined(
        head(say("people.title"), say("people.lede")),
        paper(
            say("people.everybody"),
            table((say("people.name"), say("people.role"), "", ""), rows, class_="everybody"),
        ),
        paper(
            say("people.invite"),
            form(
                "people_invite",
                choice(say("people.invite_as"), "role", roles, value="record"),
                row(button(say("people.invite_make"), first=True)),
                stay=True,
            ),
        )
        if editor
        else None,
        paper(
            say("people.own_passphrase"),
            form(
                "people_passphrase",
                field(
                    say("people.new_passphrase"),
                    "passphrase",
                    type="password",
                    hint=say("people.passphrase_hint", letters=SHORTEST),
                ),
                row(button(say("people.change_role"))),
            ),
        ),
        _caution(),
    )


def _row(person: Person, own: str, *, editor: bool) -> tuple[Markup | str, ...]:
    mine = person.name.casefold() == own.casefold()
    name = joined(person.name, f" ({say('people.you')})" if mine else None)
    signed = plural("people.sessions", person.sessions) if person.sessions else say("people.sessions_none")
    if not editor:
        return name, say(f"people.role_{person.role}"), signed, ""
    roles = {role: say(f"people.role_{role}") for role in ROLES}
    options = [tag("option", word, value=role, selected=role == person.role) for role, word in roles.items()]
    change = tag(
        "form",
        tag("input", type="hidden", name="name", value=person.name),
        tag("select", *options, name="role", aria_label=f"{say('people.role')}: {person.name}"),
        button(say("people.change_role")),
        data_act="people_role",
        data_after="stay",
        class_="row",
    )
    remove = "" if mine else button(say("people.remove"), "people_remove", quiet=True, name=person.name)
    return name, change, signed, remove


def invitation(code: str, address: str) -> Markup:
    """An invitation to scan or to type; nothing where there is none.

    Args:
        code: of the invitation.
        address: of the server, as the network reaches it.
    """
    if not code:
        return Markup()
    spaced = "-".join(code[n : n + 4] for n in range(0, len(code), 4))
    where = f"{address}/join?code={code}"
    return paper(
        None,
        tag(
            "div",
            qr(where, say("people.invite_qr", address=where)),
            tag(
                "div",
                tag("p", say("people.invite_how")),
                tag(
                    "dl",
                    tag("dt", say("people.invite_address")),
                    tag("dd", f"{address}/join"),
                    tag("dt", say("people.invite_code")),
                    tag("dd", spaced, class_="code"),
                ),
            ),
            class_="invitation",
        ),
    )


def qr(what: str, label: str) -> Markup:
    """A code to scan, black on white whatever the look of the page."""
    out = BytesIO()
    made = segno.make(what, micro=False, error="m")
    made.save(out, kind="svg", scale=6, border=4, xmldecl=False, svgns=True, dark="#000", light="#fff")
    # made by the library of nothing but squares: what it says is in their pattern, not in the markup
    return tag("div", Markup(out.getvalue().decode("ascii")), class_="qr", role="img", aria_label=label)


def _caution() -> Markup:
    said = ("caution_http", "caution_tls", "caution_passphrase")
    return paper(
        say("people.caution_title"),
        tag("ul", *[tag("li", say(f"people.{one}")) for one in said], class_="plain"),
    )
