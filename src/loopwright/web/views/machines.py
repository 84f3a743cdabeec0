"""The shop's machines with what they hold, its tools, and the values that it has proven."""

from collections.abc import Mapping, Sequence
from urllib.parse import quote, urlencode

from loopwright import units
from loopwright.loop.threads import one_thread
from loopwright.making.cutting_words import CuttingWords
from loopwright.model.shop import Machine, Proven, Tool
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.shop_machines import MachineHolds, MachineLine, shop_machines
from loopwright.studies.taking_found import TELLS
from loopwright.units import Dimension
from loopwright.web.views.kit import chip, head, link, minutes, pager, paper, row, size, turned_to
from loopwright.web.views.longwork import not_done
from loopwright.web.views.machines_drawn import ratio, shown_by_parts
from loopwright.web.views.saying import empty
from loopwright.web.views.shop import PLACES, shop_tabs
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

LENGTH = Dimension.LENGTH
MACHINES, TOOLS = 16, 40
"""On one page."""
NOTED = 3
"""Sources that are told of one machine; the rest is folded into the last."""
CHIPS = {"not_read": "unread", "as_taken": "undecided", "differs": "look again", "counted": "told"}
Asked = Mapping[str, str]


def found_key(work: Work) -> tuple[object, ...]:
    """Name under which what the parts show is kept: it holds until the next entry."""
    return "shop machines", work.bench.last


def lines_of(work: Work) -> tuple[MachineLine, ...]:
    """The machines with what their parts show, where that was worked out; else with what is taken for them."""
    found: tuple[MachineLine, ...] | None = work.lasting.get(found_key(work))
    if found is not None:
        return found

    def make() -> tuple[MachineLine, ...]:
        with one_thread():
            return shop_machines(work.bench.build)

    return work.kept("shop machines as taken", make)


def address(asked: Asked, **changed: str) -> str:
    """The address of the page, with some of what it asks for changed."""
    said = {name: value for name, value in {**asked, **changed}.items() if value}
    return PLACES["machines"] + (f"?{urlencode(said)}" if said else "")


def described_at(*keys: str) -> str:
    """Address of a place in the description."""
    return f"/description?at={quote('/'.join(keys), safe='')}"


def top(work: Work, reader: Reader) -> Markup:
    """The head of the page; where no machine is described, the way to describe one."""
    said = joined(head(say("machines.title"), say("machines.lede")), shop_tabs("machines"))
    if work.bench.build.shop.machines:
        return said
    way = row(link(say("machines.describe"), described_at("shop"), first=True))
    return joined(said, empty(say("machines.none"), say("machines.none_what"), way))


def machines(work: Work, reader: Reader, asked: Asked) -> Markup:
    """Every machine with what it holds; those on which nothing is cut stand in a table below.

    Args:
        work: with the build.
        reader: who looks.
        asked: what the address asks for: 'page' of the machines, 'tools' for that of the tools.
    """
    shop, shown = work.bench.build.shop, work.shown(reader)
    if not shop.machines:
        return Markup()
    lines = [one for one in lines_of(work) if one.holds]
    others = [one for one in lines_of(work) if not one.holds]
    page, pages = turned_to(asked.get("page", ""), len(lines), MACHINES)
    here = lines[(page - 1) * MACHINES : page * MACHINES]
    return joined(
        tag("p", say("machines.words"), class_="note machines-words") if here else None,
        tag(
            "div", *[_machine(shown, reader, one, shop.machines[one.name]) for one in here], class_="machines"
        ),
        pager(say("machines.pages"), page, pages, lambda other: address(asked, page=str(other))),
        _others(shown, reader, others, shop.machines) if others and page == pages else None,
    )


def _others(
    shown: Shown, reader: Reader, lines: Sequence[MachineLine], every: Mapping[str, Machine]
) -> Markup:
    """Machines on which no op of a route cuts or seats a part, as furnaces are."""
    heads = (say("machines.machine"), say("machines.tool_kind"), say("machines.what_is_stated"))
    rows = [
        (
            tag("a", one.name, href=described_at("shop", "machines", one.name))
            if reader.may("edit")
            else one.name,
            one.kind,
            "; ".join(f"{name} {value}" for name, value in _stated(shown, one, every[one.name])),
        )
        for one in lines
    ]
    note = tag("p", say("machines.others_note"), class_="note")
    return paper(
        say("machines.others"), note, table(heads, rows, class_="other-machines"), id="other-machines"
    )


def _machine(shown: Shown, reader: Reader, line: MachineLine, machine: Machine) -> Markup:
    way = link(say("machines.edit", name=line.name), described_at("shop", "machines", line.name), quiet=True)
    return paper(
        None,
        tag(
            "div",
            tag("h2", line.name, " ", tag("small", line.kind if line.kind != line.name else "")),
            way if reader.may("edit") else None,
            class_="spread",
        ),
        _facts(shown, line, machine),
        _holds(shown, reader, line),
        _sources(line.holds),
        class_="machine-paper",
        id=f"machine-{quote(line.name, safe='')}",
    )


def _facts(shown: Shown, line: MachineLine, machine: Machine) -> Markup:
    cells = [tag("div", tag("dt", name), tag("dd", value)) for name, value in _stated(shown, line, machine)]
    return tag("dl", *cells, class_="shop-facts")


def _stated(shown: Shown, line: MachineLine, machine: Machine) -> list[tuple[str, str]]:
    """What the description states of a machine besides what it holds: name and words of each."""
    words = CuttingWords(shown.units)
    facts: list[tuple[str, str]] = []
    if line.envelope is not None:
        x, y, z = (size(shown, value, LENGTH) for value in line.envelope)
        facts.append((say("machines.envelope"), say("machines.times", x=_bare(x), y=_bare(y), z=z)))
    if line.speeds is not None:
        low, high = (words.rpm(value, exact=True) for value in line.speeds)
        both = say("machines.speeds_are", low=low.removesuffix(" rpm"), high=high) if low != high else high
        facts.append((say("machines.speeds"), both))
    if line.power is not None:
        facts.append((say("machines.power"), words.power(line.power)))
    if line.rate is not None:
        facts.append((say("machines.rate"), f"{line.rate:g}"))
    facts.append((say("machines.setting_up"), minutes(machine.setting_up)))
    if machine.kerf is not None:
        facts.append((say("machines.kerf"), size(shown, machine.kerf, LENGTH)))
    if machine.grip is not None:
        facts.append((say("machines.grip"), size(shown, machine.grip, LENGTH)))
    return facts


def _bare(words: str) -> str:
    """A size without its unit, where that is said once behind."""
    return words.rpartition(" ")[0]


def _holds(shown: Shown, reader: Reader, line: MachineLine) -> Markup:
    """What it holds, by op; what its parts show stands beside it as soon as one of them was read."""
    any_read = any(one.factor is not None for one in line.holds)
    heads = [
        say("machines.op"),
        ">" + say("machines.cut"),
        ">" + say("machines.setting"),
        ">" + say("machines.seating"),
        ">" + say("machines.angular"),
        ">" + say("machines.parts"),
    ]
    if any_read:
        heads += [">" + say(f"machines.{name}") for name in ("read", "factor", "doubt")]
    heads.append(say("machines.state"))
    return table(heads, [_row(shown, reader, one, any_read) for one in line.holds], class_="holds")


def _row(shown: Shown, reader: Reader, one: MachineHolds, any_read: bool) -> Sequence[Child]:
    *lengths, angle = one.taken
    state = _state(one)
    known = say("machines.assumed") if one.assumed else say("machines.stated")
    known += say("machines.of_diameter") if one.of_diameter and not one.assumed else ""
    found: tuple[Child, ...] = (
        str(one.read) if one.read else "",
        _factor(one),
        percent(one.informed) if one.factor is not None else "",
    )
    return (
        joined(one.op, tag("span", known, class_="beside under")),
        *[shown.error(value, LENGTH) for value in lengths],
        shown.error(angle, Dimension.ANGLE),
        str(one.parts),
        *(found if any_read else ()),
        joined(chip(CHIPS[state], say(f"machines.state_{state}")), _take(reader, one)),
    )


def _state(one: MachineHolds) -> str:
    """Key of the word for what the readings say: of what is taken, or that they are in it already."""
    if one.factor is None:
        return "counted" if one.counted else "not_read"
    return "differs" if one.differs else "as_taken"


def _factor(one: MachineHolds) -> Child:
    if one.factor is None or one.factor_range is None:
        return ""
    low, high = (ratio(value) for value in one.factor_range)
    return joined(
        tag("b", say("machines.times_taken", factor=ratio(one.factor))),
        tag("span", say("machines.range", low=low, high=high), class_="beside under"),
    )


def _take(reader: Reader, one: MachineHolds) -> Markup | None:
    """The way to write what was found into the description, where there is something to write."""
    if one.factor is None or one.informed < TELLS or not reader.may("edit"):
        return None
    return tag(
        "button",
        say("machines.take_one"),
        type="button",
        data_act="take_found",
        data_machine=one.machine,
        data_op=one.op,
        class_="quiet",
        aria_label=say("machines.take_name", op=one.op, machine=one.machine),
    )


def _sources(holds: Sequence[MachineHolds]) -> Markup | None:
    """Who says what is taken, once for all ops of which they say it."""
    by_source: dict[str, list[str]] = {}
    for one in holds:
        by_source.setdefault(one.source, []).append(one.op)
    lines = [
        tag("li", say("machines.assumed_of", ops=", ".join(ops), source=source))
        for source, ops in by_source.items()
    ]
    return tag("ul", *lines, class_="sources-said note") if lines else None


# what the parts show


def shows(work: Work, reader: Reader, going: bool) -> Markup:
    """What the parts show of the machines, where that was worked out; else the way to it; nothing while it goes on."""
    if not work.bench.build.shop.machines:
        return Markup()
    found: tuple[MachineLine, ...] | None = work.lasting.get(found_key(work))
    if found is None:
        return Markup() if going else not_done(say("machines.stopped"), say("machines.again"), "again")
    every = [one for line in found for one in line.holds]
    known = [one for one in every if one.factor is not None]
    if not known:
        way = row(link(say("machines.to_bench"), "/bench"))
        title, what = tag("h3", say("machines.shows_none")), tag("p", say("machines.shows_none_what"))
        return tag("div", title, what, way, class_="told")
    return paper(say("machines.shows"), *shown_by_parts(known, len(every)), id="shows")


# tools and proven values


def tools(work: Work, reader: Reader, asked: Asked) -> Markup:
    """The tools of the shop, and the values that it has proven."""
    shop, shown = work.bench.build.shop, work.shown(reader)
    if not shop.machines and not shop.tools and not shop.proven:
        return Markup()
    change = link(say("machines.change"), described_at("shop", "tools"), quiet=True)
    names = list(shop.tools)
    page, pages = turned_to(asked.get("tools", ""), len(names), TOOLS)
    here = names[(page - 1) * TOOLS : page * TOOLS]
    return joined(
        paper(
            None,
            tag(
                "div",
                tag("h2", say("machines.tools")),
                change if reader.may("edit") else None,
                class_="spread",
            ),
            _tools(shown, {name: shop.tools[name] for name in here})
            if names
            else tag("p", say("machines.tools_none"), class_="note"),
            pager(say("machines.tool_pages"), page, pages, lambda other: address(asked, tools=str(other))),
            id="tools",
        ),
        paper(
            say("machines.proven"),
            tag("p", say("machines.proven_note" if shop.proven else "machines.proven_none"), class_="note"),
            _proven(shown, shop.proven) if shop.proven else None,
            row(link(say("machines.proven_add"), described_at("shop", "proven"), quiet=True))
            if reader.may("edit")
            else None,
            id="proven",
        ),
    )


def _tools(shown: Shown, found: Mapping[str, Tool]) -> Markup:
    words = CuttingWords(shown.units)
    heads = (
        say("machines.tool"),
        say("machines.tool_kind"),
        ">" + say("machines.diameter"),
        ">" + say("machines.edges"),
        say("machines.material"),
        ">" + say("machines.stick_out"),
        ">" + say("machines.nose"),
        ">" + say("machines.limit"),
    )

    def length(value: float | None) -> str:
        return "—" if value is None else words.size(value)

    rows = [
        (
            name,
            one.kind,
            length(one.diameter),
            str(one.edges),
            one.material,
            length(one.stick_out),
            length(one.nose_radius),
            "—" if one.speed_limit is None else words.rpm(one.speed_limit, exact=True),
        )
        for name, one in found.items()
    ]
    return table(heads, rows, class_="shop-tools")


def _proven(shown: Shown, found: Sequence[Proven]) -> Markup:
    words = CuttingWords(shown.units)
    heads = (
        say("machines.in_op"),
        say("machines.in_material"),
        say("machines.with_tool"),
        say("machines.on_machine"),
        ">" + say("machines.speed"),
        ">" + say("machines.feed"),
        ">" + say("machines.depth"),
        say("machines.note"),
    )

    def stated(value: float | None, dimension: Dimension, unit: str) -> str:
        return "—" if value is None else units.format_value(value, dimension, unit, digits=3)

    rows = [
        (
            one.op,
            one.material,
            one.tool or say("machines.any"),
            one.machine or say("machines.any"),
            stated(one.speed, Dimension.SPEED, words.speed_unit),
            stated(one.feed, LENGTH, shown.units.length),
            stated(one.depth, LENGTH, shown.units.length),
            one.note or "",
        )
        for one in found
    ]
    return table(heads, rows, class_="proven-values")
