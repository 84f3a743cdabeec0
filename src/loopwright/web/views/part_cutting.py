"""Cutting data of a part's ops: tool, speed, feed, passes, what limits each, minutes, warnings and sources."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from loopwright.handbook.operations import operation
from loopwright.making.cutting_records import CutData, OpCutting, Pass, Range
from loopwright.making.cutting_words import CuttingWords
from loopwright.making.planned import number_of
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.studies.cutting_sheet import CuttingSheet, cutting_sheet
from loopwright.web.views.kit import chip, more, paper
from loopwright.web.views.making import address, part_of, read_in, reminders
from loopwright.web.views.saying import empty
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

KNOWN = {
    "proven": "conforming",
    "handbook": "told",
    "rule of the trade": "undecided",
    "assumed": "undecided",
    "no data": "look again",
    "by hand": "told",
}
"""Chips of how speed and feed are known."""
Column = tuple[str, Callable[[Pass], str]]


def cutting(work: Work, reader: Reader, name: str, op: str) -> Markup:
    """Cutting data: every op in a line, one of them in full.

    Args:
        work: the open book.
        reader: who looks.
        name: of the part.
        op: number of the op that is shown in full; '' shows the first that has data.

    Raises:
        RequestError: there is no such part, or no such op.
    """
    found = part_of(work, name)
    if not found.route:
        return Markup()
    numbers = [number_of(n) for n, one in enumerate(found.route) if operation(one.op).cuts]
    if not numbers:
        return empty(say("cutting.none"), say("cutting.none_told"))
    sheets = {number: sheet_of(work, reader, name, number) for number in numbers}
    first = next((n for n, one in sheets.items() if any(cut.passes for cut in one.cutting.cuts)), numbers[0])
    picked = int(op) if op.isdecimal() and len(op) < 6 else first
    one = sheets[picked] if picked in sheets else sheet_of(work, reader, name, picked)
    return joined(
        _every(name, sheets, picked),
        _op(one),
    )


def sheet_of(work: Work, reader: Reader, name: str, number: int) -> CuttingSheet:
    """Cutting data of an op; worked out once until the book changes."""
    build = read_in(work, reader)
    return work.kept(
        ("cutting", name, number, build.units.length), lambda: cutting_sheet(build, name, str(number))
    )


def _every(name: str, sheets: dict[int, CuttingSheet], picked: int) -> Markup:
    heads = [say(f"cutting.{word}") for word in ("op", "machine", "set_to", "minutes", "known", "warnings")]
    rows: list[Sequence[Child]] = []
    for number, sheet in sheets.items():
        one, words = sheet.cutting, CuttingWords(sheet.units)
        warned = sum(len(cut.warnings) for cut in one.cuts)
        way = tag(
            "a",
            f"{number} {one.op}",
            href=address(name, "cutting", op=str(number)),
            class_="way-to",
            aria_current="true" if number == picked else None,
        )
        rows.append(
            (
                way,
                one.machine or say("cutting.not_named", kind=one.machine_kind),
                _set_to(words, one),
                words.minutes(one.minutes.attended),
                _worst_known(one),
                chip("look again", plural("cutting.warned", warned)) if warned else "—",
            )
        )
    return paper(None, table(heads, rows, class_="blocks cutting-ops"))


def _set_to(words: CuttingWords, one: OpCutting) -> Child:
    """Spindle and feed of each cut's last pass but sparking out, in short."""
    said = []
    for surfaces, cut in _alike(one.cuts):
        last = next((p for p in reversed(cut.passes) if p.kind != "spark out"), None)
        if last is not None and (last.rpm is not None or last.speed is not None):
            set_to = words.rpm(last.rpm) if last.rpm is not None else words.speed(last.speed or 0.0)
            feed = say(f"cutting.of_{last.per}", feed=words.feed(last.feed)) if last.feed is not None else ""
            said.append(
                tag(
                    "span",
                    say(
                        "cutting.set_short", surfaces=surfaces, what=", ".join(w for w in (set_to, feed) if w)
                    ),
                    class_="under",
                )
            )
    return joined(*said) if said else "—"


def _worst_known(one: OpCutting) -> Child:
    """How the least known of its cuts is known."""
    known = [cut.known for cut in one.cuts]
    if not known:
        return "—"
    worst = (
        max(known, key=list(KNOWN).index)
        if "by hand" not in known
        else next((k for k in known if k != "by hand"), "by hand")
    )
    return _known(worst)


def _known(how: str) -> Markup:
    return chip(KNOWN[how], say(f"cutting.known_{how.replace(' ', '_')}"))


def _op(sheet: CuttingSheet) -> Markup:
    one, words = sheet.cutting, CuttingWords(sheet.units)
    machine = one.machine or say("cutting.not_named", kind=one.machine_kind)
    place = [
        say("cutting.on", machine=machine),
        one.setup and say("route.setup_of", setup=one.setup),
        one.material or say("parts.material_open"),
    ]
    place += [
        say("cutting.cut_as", group=one.group) if one.group and one.group != one.material else "",
        one.condition,
    ]
    return paper(
        say("cutting.op_of", number=one.number, op=one.op),
        tag("p", " · ".join(part for part in place if part), class_="lede"),
        tag("p", say("cutting.together", parts=", ".join(sheet.together))) if sheet.together else None,
        _minutes(words, one),
        tag("ul", *[tag("li", sentence(note)) for note in one.notes], class_="making-list")
        if one.notes
        else None,
        *(
            [_cut(words, surfaces, cut) for surfaces, cut in _alike(one.cuts)]
            or [tag("p", say("cutting.nothing_cut"), class_="note")]
        ),
        reminders([(r.hazard, r.texts) for r in one.reminders], one.deferring, f"cutting-{one.number}"),
        class_="cutting-op",
        id=f"cutting-{one.number}",
    )


def _minutes(words: CuttingWords, one: OpCutting) -> Markup:
    found = one.minutes
    said = [
        say(
            "cutting.attended",
            time=words.minutes(found.attended),
            known=say(f"cutting.minutes_{found.known}"),
        )
    ]
    if found.setting_up:
        time = words.minutes(found.setting_up)
        said.append(plural("cutting.setting_up", found.pieces, time=time))
    if found.unattended:
        said.append(say("cutting.unattended", time=words.minutes(found.unattended)))
    if found.feeding is not None:
        said.append(say("cutting.feeding", time=words.minutes(found.feeding)))
    return tag(
        "p",
        "; ".join(said) + ".",
        " ",
        tag("span", "; ".join(found.words), class_="beside") if found.words else None,
    )


def _alike(cuts: Sequence[CutData]) -> list[tuple[str, CutData]]:
    """Surfaces that are cut alike, together."""
    found: list[tuple[list[str], CutData]] = []
    for cut in cuts:
        same = next(
            (
                one
                for one in found
                if replace(one[1], surface="", field="") == replace(cut, surface="", field="")
            ),
            None,
        )
        if same is None:
            found.append(([cut.surface], cut))
        else:
            same[0].append(cut.surface)
    return [(", ".join(surfaces), cut) for surfaces, cut in found]


def _cut(words: CuttingWords, surfaces: str, cut: CutData) -> Markup:
    warned = [
        tag("li", chip("look again", say("cutting.warning")), " ", sentence(one.text)) for one in cut.warnings
    ]
    wheel = "grinding" in cut.way
    return tag(
        "section",
        tag("h3", say("cutting.cut", surface=surfaces, way=cut.way)),
        tag("p", _tool(words, cut)),
        tag("p", _known(cut.known), " ", " · ".join(_given(words, cut))),
        tag("ul", *warned, class_="warned") if warned else None,
        _table(cut.passes, _settings(words, wheel, cut.passes)) if cut.passes else None,
        _table(cut.passes, _effects(words)) if cut.passes else None,
        _lines(say("cutting.limits"), cut.limits),
        _lines(say("cutting.proven"), cut.proven),
        tag("ul", *[tag("li", f"{one.what}: {one.text}") for one in cut.details], class_="making-list")
        if cut.details
        else None,
        _lines(say("cutting.assumed"), cut.assumed),
        tag("ul", *[tag("li", sentence(note)) for note in cut.notes], class_="note making-list")
        if cut.notes
        else None,
        _sources(words, cut),
        class_="cutting-cut",
    )


def _lines(title: str, lines: Sequence[str]) -> Markup | None:
    if not lines:
        return None
    return tag("div", tag("h4", title), tag("ul", *[tag("li", sentence(one)) for one in lines]))


def _tool(words: CuttingWords, cut: CutData) -> str:
    tool = cut.tool
    kind = " ".join(part for part in (tool.material, tool.kind) if part)
    about = [
        kind,
        words.length(tool.diameter) if tool.diameter else "",
        plural("cutting.teeth", tool.edges) if tool.edges > 1 else "",
    ]
    about.append(say("cutting.out", length=words.length(tool.stick_out)) if tool.stick_out else "")
    said = ", ".join(part for part in about if part)
    return (
        say("cutting.tool", tool=tool.name, about=said) if tool.name else say("cutting.no_tool", about=said)
    )


def _given(words: CuttingWords, cut: CutData) -> Sequence[str]:
    said = []
    if cut.stock is not None:
        said.append(say("cutting.takes", stock=words.feed(cut.stock), source=cut.stock_from))
    if cut.limit is not None:
        said.append(say("cutting.to_limit", limit=words.limit(cut.limit), source=cut.limit_from))
    return said


def _or(value: float | None, write: Callable[[float], str]) -> str:
    return "" if value is None else write(value)


def _settings(words: CuttingWords, wheel: bool, passes: Sequence[Pass]) -> list[Column]:
    def speed(value: float) -> str:
        return words.wheel_speed(value / 60) if wheel else words.speed(value)

    def moved(value: float) -> str:
        return words.speed(value / 1000) if wheel else words.feed_speed(value)

    return [
        (say("cutting.times"), lambda one: str(one.count)),
        (say("cutting.depth"), lambda one: _or(one.depth, words.feed)),
        (say("cutting.wheel" if wheel else "cutting.speed"), lambda one: _or(one.speed, speed)),
        (say("cutting.spindle"), lambda one: _or(one.rpm, words.rpm)),
        (say(f"cutting.feed_{passes[0].per}"), lambda one: _or(one.feed, words.feed)),
        (say("cutting.work" if wheel else "cutting.feed_speed"), lambda one: _or(one.feed_speed, moved)),
        (say("cutting.minutes"), lambda one: _or(one.minutes, words.minutes)),
    ]


def _effects(words: CuttingWords) -> list[Column]:
    return [
        (say("cutting.width"), lambda one: _or(one.width, words.length)),
        (say("cutting.chip"), lambda one: _or(one.chip, words.small)),
        (say("cutting.power"), lambda one: _or(one.power, words.power)),
        (say("cutting.torque"), lambda one: _or(one.torque, words.torque)),
        (say("cutting.thrust"), lambda one: _or(one.thrust, words.force)),
        (say("cutting.bends"), lambda one: _or(one.deflection, words.small)),
        (say("cutting.effect"), lambda one: _or(one.effect, words.small)),
        (say("cutting.roughness"), lambda one: _or(one.roughness, words.small)),
    ]


def _table(passes: Sequence[Pass], wanted: Sequence[Column]) -> Markup | None:
    """A table of what is known of any of the passes."""
    told = [(name, [write(one) for one in passes]) for name, write in wanted]
    told = [(name, cells) for name, cells in told if any(cells)]
    if not told:
        return None
    rows: list[Sequence[Child]] = [
        (say(f"cutting.pass_{one.kind.replace(' ', '_')}"), *(cells[number] or "—" for _, cells in told))
        for number, one in enumerate(passes)
    ]
    return table([say("cutting.pass"), *(f">{name.lstrip('>')}" for name, _ in told)], rows, class_="blocks")


def _sources(words: CuttingWords, cut: CutData) -> Markup | None:
    if not cut.ranges:
        return None
    heads = [say(f"cutting.{word}") for word in ("source", "of", "low", "high", "counted")]
    rows: list[Sequence[Child]] = [_source(words, one) for one in cut.ranges]
    lid = plural("cutting.sources", len({one.source for one in cut.ranges}))
    return more(
        lid,
        table(heads, rows, class_="blocks"),
        id=f"sources-{cut.field}".replace("/", "-").replace(" ", "-"),
    )


def _source(words: CuttingWords, one: Range) -> Sequence[Child]:
    write = words.speed if one.what == "speed" else words.feed
    per = say(f"cutting.feed_{one.per}") if one.per else say("cutting.speed")
    what = " ".join(part for part in (per.lstrip(">"), one.cut and f"({one.cut})") if part)
    by_rule = say("cutting.by_rule") if one.by_rule else ""
    return (
        one.source + by_rule,
        what,
        write(one.low),
        write(one.high),
        say("cutting.yes" if one.counted else "cutting.no"),
    )
