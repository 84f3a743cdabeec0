"""The pieces that pages are put together from, so that they all look, speak and act alike."""

from collections.abc import Callable, Mapping, Sequence

from loopwright import units
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.units import Dimension
from loopwright.web.wording import say

_OUTLINES = {
    "conforming": ("M2,7.5 L6,11.5 L13,3", "", ""),
    "not conforming": ("M3,3 L12,12 M12,3 L3,12", "", "bad"),
    "undecided": ("M1.5,9.5 q3,-4 6,0 t6,0 M1.5,5.5 q3,-4 6,0 t6,0", "", ""),
    "unread": ("M7.5,1.5 a6,6 0 1,0 .01,0", "", "quiet"),
    "conceded": ("M7.5,1 L14,7.5 L7.5,14 L1,7.5 z", "", ""),
    "done": ("M7.5,1.5 a6,6 0 1,0 .01,0 z", "full", ""),
    "open": ("M7.5,1.5 a6,6 0 1,0 .01,0", "", ""),
    "look again": ("M7.5,1.5 L14,13.5 L1,13.5 z M7.5,6 v4", "", "bad"),
    "told": ("M7.5,1.5 v12 M1.5,7.5 h12", "", "quiet"),
}


def head(title: str, lede: Child = None, *more: Child) -> Markup:
    """The heading of a page; the reader is taken there when the page opens."""
    return tag(
        "div",
        tag("h1", title, tabindex="-1"),
        tag("p", lede, class_="lede") if lede else None,
        *more,
        class_="page-head",
    )


def paper(title: str | None, *children: Child, id: str | None = None, class_: str = "") -> Markup:
    """A part of the sheet in its frame."""
    return tag(
        "section", tag("h2", title) if title else None, *children, class_=f"paper {class_}".strip(), id=id
    )


def columns(*children: Child, two: bool = False) -> Markup:
    """Parts side by side where there is room; at most two in a row where they are wide."""
    return tag("div", *children, class_="columns two" if two else "columns")


def row(*children: Child) -> Markup:
    """Small things in a row."""
    return tag("div", *children, class_="row")


def stats(*cells: tuple[str, Child, Child]) -> Markup:
    """Large figures: what each is, the figure, and what stands below it."""
    return tag("dl", *[_stat(*cell) for cell in cells], class_="stats")


def _stat(name: str, value: Child, below: Child) -> Markup:
    words = value is not None and len(value) > 24 and not isinstance(value, Markup)
    return tag(
        "div",
        tag("dt", name),
        tag("dd", value, class_="words" if words else None),
        tag("dd", below) if below else None,
        class_="stat",
    )


def chip(kind: str, word: str | None = None) -> Markup:
    """A state as a shape and a word; kinds are the keys of the outlines above."""
    outline, fill, tone = _OUTLINES[kind]
    mark = tag("svg", tag("path", d=outline, class_=fill or None), viewBox="0 0 15 15", aria_hidden="true")
    return tag("span", mark, word or kind, class_=f"chip {tone}".strip())


def link(label: Child, path: str, *, first: bool = False, quiet: bool = False) -> Markup:
    """A link that looks as what can be pressed."""
    return tag("a", label, href=path, class_="button" + (" first" if first else " quiet" if quiet else ""))


def button(
    label: Child, act: str | None = None, *, first: bool = False, quiet: bool = False, **fields: str | None
) -> Markup:
    """A button; with an act it asks for that at once, without one it sends the form it stands in.

    Args:
        label: what it does.
        act: asked for when it is pressed.
        first: it is what most readers want here.
        quiet: it is what few want.
        fields: go with the act, under their names.
    """
    given = {f"data_{name}": value for name, value in fields.items()}
    look = "first" if first else "quiet" if quiet else None
    if act is None:
        return tag("button", label, type="submit", class_=look, **given)
    return tag("button", label, type="button", data_act=act, class_=look, **given)


def form(act: str, *children: Child, id: str | None = None, stay: bool = False) -> Markup:
    """A form.

    Args:
        act: what it asks for.
        children: its fields and buttons.
        id: of the form.
        stay: what was typed stays in the fields after it was taken.
    """
    return tag("form", *children, data_act=act, id=id, data_after="stay" if stay else None, novalidate=True)


def field(
    label: str,
    name: str,
    *,
    value: str = "",
    unit: str | None = None,
    hint: str | None = None,
    keep: str | None = None,
    wrong: str | None = None,
    type: str = "text",
    required: bool = False,
    number: bool = False,
    autofocus: bool = False,
    list: Sequence[str] = (),
    of: str = "",
) -> Markup:
    """A field with its label.

    Args:
        label: what is asked for.
        name: of the field in the form.
        value: what stands in it.
        unit: what a bare number takes; shown beside it.
        hint: how to fill it in.
        keep: name under which what is typed stays on this device until it was taken.
        wrong: what is wrong with what stands in it.
        type: of the field: 'text', 'number', 'date', 'search', 'password', 'file'.
        required: it must be filled in.
        number: a number is typed; a tablet shows its figures. Units and fractions can still be typed.
        autofocus: the reader is taken there.
        list: what can be chosen besides typing.
        of: what it belongs to, where its name stands twice on the page.
    """
    where = "-".join(part for part in ("f", of, name) if part).replace("/", "-")
    about = f"{where}-hint" if hint else None
    box = tag(
        "input",
        id=where,
        name=name,
        type=type,
        value=value or None,
        required=required,
        aria_describedby=about,
        aria_invalid="true" if wrong else None,
        data_keep=keep,
        inputmode="decimal" if number else None,
        autocomplete="off",
        autofocus=autofocus,
        list=f"{where}-list" if list else None,
    )
    return tag(
        "div",
        tag("label", label, for_=where),
        tag("div", box, tag("span", unit, class_="unit") if unit else None, class_="with"),
        tag("datalist", *[tag("option", value=one) for one in list], id=f"{where}-list") if list else None,
        tag("span", hint, class_="hint", id=about) if hint else None,
        tag("span", wrong, class_="wrong", role="alert") if wrong else None,
        class_="field",
    )


def choice(
    label: str,
    name: str,
    choices: Mapping[str, str] | Sequence[str],
    *,
    value: str = "",
    hint: str | None = None,
    keep: str | None = None,
    act: str | None = None,
) -> Markup:
    """A choice from a list: words by value, or words that are their own values.

    Args:
        label: what is asked for.
        name: of the field.
        choices: what can be chosen.
        value: what is chosen.
        hint: how to choose.
        keep: as for ``field``.
        act: asked for as soon as something else is chosen.
    """
    where = f"f-{name}".replace("/", "-")
    words = choices if isinstance(choices, Mapping) else {one: one for one in choices}
    options = [tag("option", word, value=v, selected=v == value) for v, word in words.items()]
    return tag(
        "div",
        tag("label", label, for_=where),
        tag("select", *options, id=where, name=name, data_keep=keep, data_act_change=act),
        tag("span", hint, class_="hint") if hint else None,
        class_="field",
    )


def tick(label: Child, name: str, *, value: str = "on", checked: bool = False) -> Markup:
    """A box to tick."""
    return tag(
        "label", tag("input", type="checkbox", name=name, value=value, checked=checked), label, class_="tick"
    )


def tabs(label: str, *items: tuple[str, str, bool]) -> Markup:
    """Pages of a page: word, address, whether it is open."""
    listed = [
        tag("li", tag("a", word, href=path, aria_current="page" if here else None))
        for word, path, here in items
    ]
    return tag("nav", tag("ul", *listed, class_="tabs"), aria_label=label)


def more(summary: str, *children: Child, id: str | None = None) -> Markup:
    """What opens on a press; it needs an id to stay open when the page is drawn anew."""
    return tag("details", tag("summary", summary), *children, id=id)


def both(shown: Shown, value: float, dimension: Dimension, *, sign: bool = False) -> Markup:
    """An error in the reader's unit and, for a length, in the other of µm and thou beside it."""
    own = shown.error(value, dimension, sign=sign)
    if dimension is not Dimension.LENGTH:
        return joined(own)
    other = "µm" if shown.units.small_length in ("thou", "tenth", "in") else "thou"
    beside = Shown(shown.units.model_copy(update={"errors": other})).error(value, dimension, sign=sign)
    return joined(own, " ", tag("span", f"({beside})", class_="beside"))


def size(shown: Shown, value: float, dimension: Dimension, uncertainty: float | None = None) -> str:
    """A size in the reader's unit of lengths or angles, rounded to what is known of it."""
    unit = shown.units.bare()[dimension]
    words = units.format_value(value, dimension, unit, uncertainty=uncertainty)
    return "\N{MINUS SIGN}" + words[1:] if words.startswith("-") else words


def chance(share: float) -> str:
    """A chance that was worked out from a normal distribution; it comes near to 0 and 1 and is never either.

    >>> chance(1.0), chance(0.0), chance(0.71)
    ('over 99.9 %', 'under 0.1 %', '71 %')
    """
    return percent(min(max(share, 1e-9), 1 - 1e-9))


def pager(label: str, page: int, pages: int, address: Callable[[int], str]) -> Markup | None:
    """The way through a list that is shown a page at a time; nothing where it is one page.

    Args:
        label: what is turned over, for who cannot see it.
        page: that is shown, from 1.
        pages: how many there are.
        address: of a page.
    """
    if pages == 1:
        return None
    before = link(say("frame.page_before"), address(page - 1)) if page > 1 else None
    after = link(say("frame.page_after"), address(page + 1)) if page < pages else None
    place = tag("span", say("frame.page_of", page=page, pages=pages))
    return tag("nav", before, place, after, class_="row pager", aria_label=label)


def turned_to(asked: str, count: int, on_one: int) -> tuple[int, int]:
    """The page that somebody asks for, and how many there are; one that is not there gives the nearest.

    >>> turned_to("3", 100, 40), turned_to("99", 100, 40), turned_to("x", 0, 40)
    ((3, 3), (3, 3), (1, 1))
    """
    pages = max(-(-count // on_one), 1)
    wanted = int(asked) if asked.isdecimal() and len(asked) < 9 else 1
    return min(max(wanted, 1), pages), pages


def minutes(count: float | None) -> str:
    """A time of work.

    >>> minutes(90.0), minutes(None)
    ('1 h 30 min', '')
    """
    if count is None:
        return ""
    hours, rest = divmod(round(count), 60)
    parts = [
        say("kit.hours", count=hours) if hours else "",
        say("kit.minutes", count=rest) if rest or not hours else "",
    ]
    return " ".join(part for part in parts if part)


def meter(label: str, done: float, wanted: float | None, stop: str | None = None) -> Markup:
    """How far long work is, with a way to stop it."""
    share = min(done / wanted, 1.0) if wanted else 0.0
    words = (
        say("frame.progress", done=f"{done:,.0f}", wanted=f"{wanted:,.0f}")
        if wanted
        else say("frame.progress_open", done=f"{done:,.0f}")
    )
    return tag(
        "div",
        tag("p", label, " ", words, role="status"),
        tag("div", tag("i", style=f"width:{100 * share:.1f}%"), class_="meter", aria_hidden="true"),
        row(button(say("frame.stop"), stop)) if stop else None,
    )


def upload(
    label: str, kind: str, then: str, button_words: str, *fields: Child, hint: str | None = None, most: int
) -> Markup:
    """A form that sends a file.

    Args:
        label: what file.
        kind: of file, as the server knows it.
        then: act that is asked for when the file is there, with its ``token`` and ``name``.
        button_words: what the button says.
        fields: what goes with it.
        hint: how to choose.
        most: bytes that it may have.
    """
    where = f"f-upload-{kind}"
    box = tag("input", type="file", id=where, name="file", required=True)
    return tag(
        "form",
        tag(
            "div",
            tag("label", label, for_=where),
            box,
            tag("span", hint, class_="hint") if hint else None,
            tag("span", "", class_="wrong", role="alert", hidden=True),
            class_="field",
        ),
        *fields,
        row(tag("button", button_words, type="submit")),
        data_way="upload",
        data_kind=kind,
        data_then=then,
        data_most=str(most),
        data_large=say("kit.too_large", most=f"{most / 1e6:g} MB"),
        data_lost=say("kit.not_sent"),
    )


def meter_bar(share: float) -> Markup:
    """A share as the length of a bar; the number stands beside it."""
    return tag(
        "span",
        tag("i", style=f"width:{100 * min(max(share, 0.0), 1.0):.1f}%"),
        class_="share",
        aria_hidden="true",
    )
