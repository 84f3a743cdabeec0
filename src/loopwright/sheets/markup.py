"""HTML that escapes by construction: whatever is not markup already is text."""

from html import escape


class Markup(str):
    """Text that is HTML; only this module and its tags make it."""

    __slots__ = ()


Child = str | Markup | None

_EMPTY = {"meta", "br", "hr", "col", "input", "img", "link", "wbr"}
_DRAWN = {"rect", "line", "circle", "path", "stop"}


def text(value: str) -> Markup:
    """Text as HTML.

    >>> text("<b> & more")
    '&lt;b&gt; &amp; more'
    """
    return value if isinstance(value, Markup) else Markup(escape(value))


def joined(*children: Child) -> Markup:
    """Children one after the other; None is nothing."""
    return Markup("".join(text(child) for child in children if child is not None))


def tag(name: str, /, *children: Child, **attributes: str | float | bool | None) -> Markup:
    """An element.

    Args:
        name: of the element.
        children: what it holds.
        attributes: ``class_`` is the class; other underscores are hyphens; None and False leave one out.

    >>> tag("p", "1 < 2", class_="note")
    '<p class="note">1 &lt; 2</p>'
    """
    given = "".join(
        f" {key.rstrip('_').replace('_', '-')}" + ("" if value is True else f'="{_attribute(value)}"')
        for key, value in attributes.items()
        if value is not None and value is not False
    )
    if name in _EMPTY:
        return Markup(f"<{name}{given}>")
    if name in _DRAWN and not children:
        return Markup(f"<{name}{given}/>")
    return Markup(f"<{name}{given}>{joined(*children)}</{name}>")


def _attribute(value: str | float) -> str:
    return escape(value) if isinstance(value, str) else f"{value:.6g}"
