"""Every part in a list: where it stands, filtered, sorted, a page at a time; and the same as a table to take away."""

import csv
import io
from collections.abc import Mapping, Sequence
from urllib.parse import quote, urlencode

from loopwright.loop.threads import one_thread
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.bench import Bench
from loopwright.studies.parts_list import (
    CONCEDED,
    CONFORMING,
    NO_DIMS,
    NOT_CONFORMING,
    NOT_READ,
    PARTLY,
    STATES,
    UNDECIDED,
    PartLine,
    PartsList,
    chosen,
    dim_state,
    parts_list,
)
from loopwright.studies.recording import limits_of
from loopwright.studies.verdicts import DimVerdict, Parts, verdicts
from loopwright.web.views.bench_words import sized, unit_of_size
from loopwright.web.views.kit import button, chance, chip, field, form, head, pager, paper, row, turned_to
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

PAGE = 40
"""Parts on one page of the list."""
CHIPS = {
    NOT_READ: "unread",
    PARTLY: "open",
    CONFORMING: "conforming",
    NOT_CONFORMING: "not conforming",
    UNDECIDED: "undecided",
    CONCEDED: "conceded",
    NO_DIMS: "told",
}
KINDS = {"": None, "made": False, "bought": True}
KIND_WORDS = {"": "all", "made": "made", "bought": "bought"}
Asked = Mapping[str, str]


def state_chip(state: str) -> Markup:
    """Where a part or a dim stands, as a shape and a word."""
    name = state.replace(" ", "_")
    return chip(CHIPS[state], say(f"parts.state.{name}"))


def all_parts(work: Work) -> PartsList:
    """Every part; worked out once until the book changes."""

    def make() -> PartsList:
        with one_thread():
            return parts_list(work.bench, read_dims(work))

    return work.kept("parts list", make)


def read_dims(work: Work) -> Parts:
    """Every dim that was read, against its limits; worked out once until the book changes."""

    def make() -> Parts:
        with one_thread():
            return verdicts(work.bench)

    return work.kept("verdicts", make)


def found_parts(work: Work, asked: Asked) -> list[PartLine]:
    """Parts that the address asks for, in its order."""
    return chosen(
        all_parts(work).lines,
        state=asked.get("state", ""),
        bought=KINDS.get(asked.get("kind", "")),
        words=asked.get("find", ""),
        sort=asked.get("sort", "name"),
    )


def address(asked: Asked, **changed: str) -> str:
    """The address of the list, with some of what it asks for changed; a new filter begins on the first page."""
    fields = {**asked, **({"page": ""} if "page" not in changed else {}), **changed}
    said = {name: value for name, value in fields.items() if value}
    return "/parts" + (f"?{urlencode(said)}" if said else "")


def listing(work: Work, reader: Reader, asked: Asked) -> Markup:
    """The list of parts.

    Args:
        work: with the build.
        reader: who looks.
        asked: what the address asks for: 'state', 'kind', 'find', 'sort', 'page'.
    """
    every, lines = all_parts(work).lines, found_parts(work, asked)
    if not every:
        return joined(head(say("parts.title")), empty(say("parts.none"), say("parts.none_remedy")))
    page, pages = turned_to(asked.get("page", ""), len(lines), PAGE)
    shown = lines[(page - 1) * PAGE : page * PAGE]
    return tag(
        "div",
        head(say("parts.title"), say("parts.lede")),
        _filters(every, asked),
        paper(
            None,
            tag("div", tag("h2", _counted(lines, every)), _bulk(len(lines)), class_="spread parts-head"),
            _table(shown, asked) if shown else empty(say("parts.nothing"), say("parts.nothing_remedy")),
            pager(say("parts.pages"), page, pages, lambda other: address(asked, page=str(other))),
            class_="parts-paper",
        ),
        class_="parts",
    )


def _counted(lines: Sequence[PartLine], every: Sequence[PartLine]) -> str:
    if len(lines) == len(every):
        return plural("parts.count", len(every))
    return plural("parts.count_of", len(lines), every=len(every))


def _filters(every: Sequence[PartLine], asked: Asked) -> Markup:
    counts = {state: sum(one.state == state for one in every) for state in STATES}
    states = [_filter(say("parts.all"), address(asked, state=""), not asked.get("state"), len(every))]
    states += [
        _filter(state_chip(state), address(asked, state=state), asked.get("state") == state, count)
        for state, count in counts.items()
        if count
    ]
    kinds = [
        _filter(say(f"parts.kind_{word}"), address(asked, kind=name), asked.get("kind", "") == name, None)
        for name, word in KIND_WORDS.items()
    ]
    find = form(
        "parts_find",
        row(
            field(say("parts.find"), "find", value=asked.get("find", ""), type="search"),
            button(say("parts.find_do")),
        ),
        stay=True,
        id="parts-find",
    )
    return tag(
        "div",
        find,
        tag("nav", tag("ul", *states), aria_label=say("parts.by_state"), class_="filters"),
        tag("nav", tag("ul", *kinds), aria_label=say("parts.by_kind"), class_="filters"),
        class_="parts-filters",
    )


def _filter(label: Child, path: str, here: bool, count: int | None) -> Markup:
    number = None if count is None else tag("span", str(count), class_="filter-count")
    return tag("li", tag("a", label, " ", number, href=path, aria_current="true" if here else None))


def _bulk(count: int) -> Markup:
    """What is done with the parts that are ticked; nothing ticked means all that were found."""
    return form(
        "parts_bulk",
        tag("span", say("parts.ticked"), class_="note parts-bulk-note"),
        tag("button", say("parts.to_bench"), type="submit", data_act="parts_bench"),
        tag("button", say("parts.to_table"), type="submit", data_act="parts_table"),
        tag("button", say("parts.print"), type="button", data_way="print"),
        stay=True,
        id="parts-bulk",
    )


def _table(lines: Sequence[PartLine], asked: Asked) -> Markup:
    heads = [
        tag(
            "th",
            tag(
                "label", tag("input", type="checkbox", data_way="tick-all", aria_label=say("parts.tick_all"))
            ),
            scope="col",
        ),
        _heading("name", asked),
        tag("th", say("parts.head.made"), scope="col"),
        _heading("state", asked),
        tag("th", say("parts.head.read"), scope="col", class_="number"),
        _heading("probability", asked, number=True),
        _heading("share", asked, number=True),
    ]
    return tag(
        "div",
        tag(
            "table",
            tag("thead", tag("tr", *heads)),
            tag("tbody", *[_row(one) for one in lines]),
            class_="parts-table",
        ),
        class_="tabled",
        tabindex="0",
        role="group",
        aria_label=say("parts.title"),
    )


def _heading(sort: str, asked: Asked, *, number: bool = False) -> Markup:
    here = asked.get("sort", "name") == sort
    order = ("ascending" if sort != "share" else "descending") if here else None
    mark = tag("span", " ▲" if sort != "share" else " ▼", aria_hidden="true") if here else None
    inner = tag("a", say(f"parts.head.{sort}"), mark, href=address(asked, sort=sort))
    return tag("th", inner, scope="col", aria_sort=order, class_="number" if number else None)


def _row(one: PartLine) -> Markup:
    tick = tag(
        "label",
        tag(
            "input",
            type="checkbox",
            name="part",
            value=one.name,
            form="parts-bulk",
            aria_label=say("parts.tick", part=one.name),
        ),
    )
    worst = "" if one.probability is None else chance(one.probability)
    share = "" if not one.share else percent(one.share)
    made = say("parts.kind_bought" if one.bought else "parts.kind_made")
    return tag(
        "tr",
        tag("td", tick, class_="tickcell"),
        tag("th", tag("a", one.name, href=path_of(one.name)), tag("small", one.material), scope="row"),
        tag("td", made, data_head=say("parts.head.made")),
        tag("td", state_chip(one.state), data_head=say("parts.head.state")),
        tag(
            "td",
            say("parts.read_of", read=one.read, dims=one.dims),
            class_="number",
            data_head=say("parts.head.read"),
        ),
        tag("td", worst, class_="number", title=one.worst or None),
        tag("td", share, class_="number", data_head=say("parts.head.share_short")),
    )


def path_of(part: str) -> str:
    """Address of a part."""
    return f"/parts/{quote(part, safe='')}"


# a table to take away


def table_of(work: Work, reader: Reader, asked: Asked, names: Sequence[str]) -> tuple[str, bytes]:
    """A table of every dim of some parts, or of all that the address asks for, as CSV.

    Args:
        work: with the build.
        reader: in whose units it is told.
        asked: what the address asks for.
        names: of parts; none takes all that are found.

    Returns:
        Name of the file, and what is in it.
    """
    bench, shown = work.bench, work.shown(reader)
    read = {one.dim: one for one in read_dims(work).dims}
    wanted = [name for name in names if name in bench.build.parts]
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([say(f"parts.table.{name}") for name in COLUMNS])
    for name in wanted or [one.name for one in found_parts(work, asked)]:
        for dim in bench.build.parts[name].dims:
            writer.writerow(_of_table(bench, shown, name, dim, read.get(f"{name}/{dim}")))
    return f"{_file_name(work)}-parts.csv", out.getvalue().encode("utf-8-sig")


def _of_table(bench: Bench, shown: Shown, part: str, name: str, read: DimVerdict | None) -> list[str]:
    """A line of the table."""
    path = f"{part}/{name}"
    dim = bench.build.dim(path)
    assert dim is not None
    sizes = [dim.nominal, *(limits_of(bench, path) or (None, None)), None if read is None else read.value]
    numbers = [_plain(sized(shown, v, dim.dimension) if v is not None else "") for v in sizes]
    held = None if read is None else read.conformity
    return [
        _text(part),
        _text(name),
        unit_of_size(shown, dim.nominal, dim.dimension),
        *numbers,
        "" if read is None else _plain(shown.error(read.std, dim.dimension)),
        "" if read is None else shown.unit(dim.dimension),
        "0" if read is None else str(read.readings),
        NOT_READ if read is None else dim_state(held, read.concession),
        "" if held is None else f"{held.probability:.4f}",
        "" if held is None else held.rule,
        "" if read is None else read.concession,
        _text(bench.build.parts[part].material or ""),
    ]


COLUMNS = (
    "part", "dim", "unit", "nominal", "lower", "upper", "size", "std", "std_unit", "readings", "state", "probability",
    "rule", "concession", "material",
)  # fmt: skip


def _plain(quantity: str) -> str:
    """The number of a quantity, without its unit."""
    return quantity.partition(" ")[0]


def _text(value: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{value}" if value[:1] in ("=", "+", "-", "@", "\t") else value


def _file_name(work: Work) -> str:
    name = "".join(c if c.isascii() and c.isalnum() else "-" for c in work.bench.build.name.lower())
    return "-".join(part for part in name.split("-") if part) or "build"
