"""The pages at the door. They stand alone: no script, no list of pages."""

from loopwright.sheets.markup import Child, Markup, tag
from loopwright.sheets.standing_parts import marking_out
from loopwright.web.people import SHORTEST
from loopwright.web.views.kit import field
from loopwright.web.wording import say


def signing_in(form: str, to: str, *, name: str = "", wrong: str = "") -> Markup:
    """The page where somebody signs in.

    Args:
        form: token that the form carries.
        to: where to go afterwards.
        name: as typed before.
        wrong: what was wrong with the try before.
    """
    return _page(
        say("people.sign_in"),
        wrong,
        "/sign-in",
        _hidden("form", form),
        _hidden("to", to),
        field(say("people.name"), "name", value=name, required=True, autofocus=not name),
        field(say("people.passphrase"), "passphrase", type="password", required=True, autofocus=bool(name)),
        tag("button", say("people.sign_in"), type="submit", class_="first"),
        below=say("people.no_account"),
    )


def joining(form: str, code: str, *, name: str = "", wrong: str = "") -> Markup:
    """The page where somebody joins by an invitation; arguments as for signing in."""
    return _page(
        say("people.join"),
        wrong,
        "/join",
        _hidden("form", form),
        field(say("people.code"), "code", value=code, required=True, autofocus=not code),
        field(
            say("people.name"),
            "name",
            value=name,
            hint=say("people.name_hint"),
            required=True,
            autofocus=bool(code),
        ),
        field(
            say("people.passphrase"),
            "passphrase",
            type="password",
            hint=say("people.passphrase_hint", letters=SHORTEST),
            required=True,
        ),
        tag("button", say("people.join"), type="submit", class_="first"),
        below=say("people.join_note"),
    )


def _hidden(name: str, value: str) -> Markup:
    return tag("input", type="hidden", name=name, value=value)


def _page(title: str, wrong: str, to: str, *fields: Child, below: str) -> Markup:
    told = tag("p", wrong, class_="refusal", role="alert") if wrong else None
    body = tag(
        "body",
        tag(
            "main",
            tag("div", marking_out(), tag("p", say("frame.product"), class_="mark"), class_="door-plate"),
            tag(
                "div",
                tag("h1", title),
                told,
                tag("form", *fields, method="post", action=to, class_="door-form"),
                tag("p", below, class_="note"),
                class_="door-sheet",
            ),
            class_="door",
        ),
    )
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        tag("title", say("frame.window_title", page=title)),
        tag("link", rel="icon", href="/favicon.ico", type="image/svg+xml"),
        tag("link", rel="stylesheet", href="/assets/style.css"),
    )
    return Markup(f"<!DOCTYPE html>\n{tag('html', head, body, lang='en')}\n")
