"""Short addresses: where a code leads, the code beside a page's heading, and sheets of labels."""

from collections.abc import Sequence
from io import BytesIO
from urllib.parse import quote, urlsplit

import segno

from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.addresses import KINDS, Thing, addresses_of, is_code, normal
from loopwright.web.views.kit import button, choice, field, form, head, link, more, paper, row, tick
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

MOST = 240
"""Labels on a sheet at most; more are printed in several goes."""
SIZES = {"small": "address.size_small", "large": "address.size_large"}
LOCAL = ("localhost", "127.0.0.1", "[::1]")


def path_of(thing: Thing) -> str:
    """Address of the page that a thing has."""
    name = quote(thing.name, safe="")
    return {
        "part": f"/parts/{name}",
        "test": f"/bench?of={name}",
        "step": f"/fit-up/{thing.number}",
        "gauge": f"/gauges/{name}",
    }[thing.kind]


def root_of(reached: Sequence[str], asked: str) -> str:
    """Where printed codes begin: the server's address in the shop's network, else that under which it was asked."""
    return (reached[0] if reached else asked).rstrip("/")


def code_drawing(work: Work, reader: Reader, address: str) -> bytes:
    """An address as a QR code (ISO/IEC 18004), drawn as SVG.

    In capitals it takes the mode for figures and capitals, which makes it smaller; scheme, host and our own path mean
    the same in capitals (RFC 3986, 6.2.2.1).
    """
    out = BytesIO()
    segno.make(address.upper(), error="m", micro=False).save(
        out,
        kind="svg",
        xmldecl=True,
        svgns=True,
        border=4,
        scale=4,
        omitsize=False,
        unit=None,
        dark="#000",
        light="#fff",
    )
    return out.getvalue()


def goal(work: Work, reader: Reader, code: str) -> tuple[str, ...]:
    """Addresses of the pages that a code stands for."""
    return tuple(path_of(thing) for thing in addresses_of(work.bench).find(code))


def address_label(work: Work, kind: str, name: str) -> Markup:
    """The code of a thing for its page: drawn, written, and with the way to print it.

    Args:
        work: with the build.
        kind: 'part', 'test', 'step' or 'gauge'.
        name: of the thing, as the build file has it.

    Returns:
        Nothing where the build has no such thing.
    """
    thing = addresses_of(work.bench).of(kind, name)
    if thing is None:
        return Markup()
    about = say("address.code_of", name=name)
    return tag(
        "aside",
        tag(
            "img",
            src=f"/code/{thing.code}.svg",
            alt=say("address.drawn", code=thing.code),
            width=92,
            height=92,
        ),
        tag(
            "div",
            tag("code", thing.code),
            tag("a", say("address.print"), href=f"/labels?codes={thing.code}"),
        ),
        class_="address",
        aria_label=about,
    )


def unknown(work: Work, reader: Reader, code: str) -> Markup:
    """What a code stands for where that is not one thing: several, or none but some that are nearly it."""
    known = addresses_of(work.bench)
    found, near = known.find(code), known.near(code)
    written = normal(code) or code[:40]
    if found:
        return joined(head(say("address.several"), say("address.several_told", code=written)), _things(found))
    why = say("address.unknown_whole") if is_code(code) else say("address.unknown_misread")
    return joined(
        head(say("address.unknown", code=written), why),
        paper(say("address.near"), _things(near)) if near else None,
        paper(
            say("address.type_title"),
            form(
                "address_type",
                field(say("address.type"), "code", hint=say("address.type_hint"), autofocus=True),
                row(button(say("address.open"), first=True)),
                stay=True,
            ),
        ),
    )


def _things(things: Sequence[Thing]) -> Markup:
    items = [
        tag(
            "li",
            tag("a", thing.name, href=path_of(thing)),
            " ",
            tag("span", say(f"address.{thing.kind}"), " · ", tag("code", thing.code), class_="beside"),
        )
        for thing in things
    ]
    return tag("ul", *items, class_="plain address-list")


# labels


def choosing(work: Work, reader: Reader, words: str, ticked: tuple[str, ...], root: str, size: str) -> Markup:
    """What labels can be made of, to be ticked.

    Args:
        work: with the build.
        reader: who looks.
        words: only things with these words in their name.
        ticked: codes that are ticked already.
        root: where the codes begin.
        size: 'small' or 'large'.
    """
    things = addresses_of(work.bench).things
    asked = words.casefold().split()
    shown = [t for t in things if all(word in t.name.casefold() for word in asked) or t.code in ticked]
    if not things:
        return joined(head(say("address.labels"), say("address.labels_lede")), _nothing())
    return joined(
        head(say("address.labels"), say("address.labels_lede")),
        paper(
            say("address.which"),
            form(
                "labels_find",
                tag(
                    "div",
                    field(say("address.find"), "words", value=words, type="search"),
                    row(button(say("address.find_do"))),
                    class_="fields",
                ),
                stay=True,
            ),
            form(
                "labels_make",
                *_groups(shown, ticked, bool(asked)),
                _how(root, size),
                stay=True,
                id="labels-form",
            ),
            class_="no-print",
        ),
    )


def _nothing() -> Markup:
    return empty(say("address.nothing"), say("address.nothing_told"))


def _groups(shown: Sequence[Thing], ticked: tuple[str, ...], open_: bool) -> list[Markup]:
    out = []
    for kind in KINDS:
        own = [thing for thing in shown if thing.kind == kind]
        if not own:
            continue
        boxes = [
            tick(
                joined(tag("span", t.name), " ", tag("code", t.code)),
                "code",
                value=t.code,
                checked=t.code in ticked,
            )
            for t in own
        ]
        every = tag(
            "button",
            say("address.tick_all"),
            type="button",
            class_="quiet",
            data_way="tick-group",
            data_of=f"ticks-{kind}",
        )
        opened = open_ or any(t.code in ticked for t in own) or len(own) <= 12
        out.append(
            tag(
                "details",
                tag("summary", plural(f"address.{kind}s", len(own))),
                every,
                tag("div", *boxes, class_="ticks", id=f"ticks-{kind}"),
                open=opened,
                id=f"group-{kind}",
                class_="label-group",
            )
        )
    return out


def _how(root: str, size: str) -> Markup:
    host = urlsplit(root).hostname or ""
    caution = tag("p", say("address.only_here", root=root), class_="told") if host in LOCAL else None
    sizes = {name: say(key) for name, key in SIZES.items()}
    return joined(
        tag(
            "div",
            choice(say("address.size"), "size", sizes, value=size),
            field(say("address.root"), "root", value=root, hint=say("address.root_hint")),
            class_="fields level",
        ),
        caution,
        row(button(say("address.make"), first=True)),
    )


def label_sheet(work: Work, reader: Reader, codes: tuple[str, ...], root: str, size: str) -> Markup:
    """Labels ready to be printed.

    Args:
        work: with the build.
        reader: who looks.
        codes: of the things.
        root: where the codes begin.
        size: 'small' or 'large'.
    """
    known = addresses_of(work.bench)
    things = list(dict.fromkeys(thing for code in codes for thing in known.find(code)))
    if not things:
        return Markup()
    cut = tag("p", say("address.too_many", most=MOST), class_="told no-print") if len(things) > MOST else None
    return joined(
        tag(
            "div",
            tag("h2", plural("address.ready", min(len(things), MOST))),
            tag("p", say("address.ready_told"), class_="note"),
            tag("button", say("address.print_now"), type="button", class_="first", data_way="print-labels"),
            cut,
            class_="no-print label-head",
        ),
        tag(
            "ul",
            *[_label(work, t, root) for t in things[:MOST]],
            class_=f"labels {size if size in SIZES else 'small'}",
        ),
    )


def _label(work: Work, thing: Thing, root: str) -> Markup:
    drawn = segno.make(f"{root}/A/{thing.code}".upper(), error="m", micro=False)
    return tag(
        "li",
        _qr(drawn),
        tag(
            "div",
            tag("b", thing.name),
            tag("span", say(f"address.{thing.kind}"), " · ", work.bench.build.name),
            tag("code", f"{thing.code[:3]} {thing.code[3:]}"),
        ),
    )


def _qr(code: segno.QRCode) -> Markup:
    """A code as one path of its dark runs, so that a sheet of many stays small."""
    size, runs = code.symbol_size(border=4)[0], []
    for y, line in enumerate(code.matrix, 4):
        start: int | None = None
        for x, dark in enumerate([*line, 0], 4):
            if dark and start is None:
                start = x
            elif not dark and start is not None:
                runs.append(f"M{start} {y}h{x - start}v1h-{x - start}z")
                start = None
    return tag(
        "svg",
        tag("path", d="".join(runs)),
        viewBox=f"0 0 {size} {size}",
        shape_rendering="crispEdges",
        aria_hidden="true",
        class_="code",
    )


def way_to_labels(*codes: str) -> Child:
    """A link to the labels of things."""
    return link(say("address.labels_way"), f"/labels?codes={','.join(codes)}", quiet=True)


__all__ = [
    "address_label",
    "choosing",
    "code_drawing",
    "goal",
    "label_sheet",
    "more",
    "path_of",
    "root_of",
    "unknown",
]
