"""What stands around every page."""

from collections.abc import Sequence

from loopwright.errors import BuildError
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.standing_parts import patterns
from loopwright.web.wording import plural, say
from loopwright.web.work import INCH, METRIC, Reader, Work


def connection() -> Markup:
    """The way past the list of pages, the patterns that drawings are filled with, and the word that the line is cut."""
    return joined(
        tag("a", say("frame.to_content"), href="#content", class_="skip"),
        patterns(),
        tag("div", say("frame.connection_lost"), id="connection", role="alert", hidden=True),
    )


def pages_list(pages: Sequence[tuple[str, str, str]], here: str) -> Markup:
    """The list of pages: address, key of the title, letter; the one that is open is marked."""
    items = [
        tag(
            "li",
            tag(
                "a",
                say(title),
                href=path,
                aria_current="page" if _is_here(path, here) else None,
                data_letter=letter or None,
            ),
        )
        for path, title, letter in pages
    ]
    return tag(
        "details",
        tag("summary", say("frame.menu")),
        tag("p", say("frame.product"), class_="mark"),
        tag("ul", *items),
        class_="list",
        data_way="list",
    )


def _is_here(path: str, here: str) -> bool:
    return here == path if path == "/" else here == path or here.startswith(path + "/")


def title_block(work: Work, reader: Reader) -> Markup:
    """The title block: which build, in which state, how many entries, who looks and how."""
    try:
        bench = work.bench
        number, state = bench.states()[-1]
        name, stands, count = bench.build.name, f"{number}: {state.reason}", bench.last
    except BuildError:  # the page says what is wrong with it
        name, stands, count = work.book.info.build_name, say("frame.has_mistakes"), work.book.last_number
    said = [
        (say("frame.build"), name),
        (say("frame.state"), stands),
        (say("frame.book"), plural("frame.entries", count)),
        (say("frame.who"), reader.who or say("frame.nobody")),
    ]
    cells = [tag("div", tag("dt", name), tag("dd", value)) for name, value in said]
    return tag(
        "header",
        tag("dl", *cells, class_="strip"),
        _choices(reader),
        class_="title",
        data_book=work.book.info.uid,
    )


def _choices(reader: Reader) -> Markup:
    """Name, units and look, behind one lid."""
    units = [("", "units_build"), (METRIC, "units_metric"), (INCH, "units_inch")]
    looks = [("system", "look_system"), ("light", "look_light"), ("dark", "look_dark")]
    box = tag("input", name="who", value=reader.who, autocomplete="name", maxlength="200", data_reader="who")
    leave = tag("button", say("people.sign_out"), type="submit")
    name = (
        tag(
            "form",
            tag("p", reader.who, ", ", say(f"people.role_{reader.role}")),
            leave,
            method="post",
            action="/sign-out",
        )
        if reader.signed_in
        else tag("label", say("frame.name"), box)
    )
    return tag(
        "details",
        tag("summary", say("frame.settings")),
        tag(
            "div",
            name,
            _group(
                "units", say("frame.units"), [(v, say(f"frame.{w}"), v == reader.units) for v, w in units]
            ),
            _group("look", say("frame.look"), [(v, say(f"frame.{w}"), v == "system") for v, w in looks]),
            class_="choices",
        ),
        id="reader",
    )


def _group(name: str, title: str, choices: Sequence[tuple[str, str, bool]]) -> Markup:
    radios = [
        tag(
            "label",
            tag("input", type="radio", name=name, value=value, checked=chosen, data_reader=name),
            word,
        )
        for value, word, chosen in choices
    ]
    return tag("fieldset", tag("legend", title), *radios, data_way=name if name == "look" else None)


def not_found(path: str) -> Markup:
    """There is no such page."""
    return tag(
        "div",
        tag("h1", say("frame.not_found_title"), tabindex="-1"),
        tag("p", say("frame.not_found", path=path)),
        tag("p", say("frame.not_found_remedy")),
        tag("p", tag("a", say("frame.to_front"), href="/", class_="button"), class_="way"),
        class_="empty",
    )
