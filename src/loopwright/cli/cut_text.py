"""What 'loopwright cut' prints."""

from collections.abc import Callable, Sequence

from rich.console import Console
from rich.text import Text

from loopwright.cli.layout import columns, console, say, set_in
from loopwright.making.cutting_records import CutData, OpCutting, Pass, Range
from loopwright.making.cutting_words import CuttingWords
from loopwright.studies.cutting_sheet import CuttingSheet

_PER = {"rev": "a turn", "tooth": "a tooth", "stroke": "a stroke"}
_KNOWN = {
    "proven": "proven by the shop",
    "handbook": "a range of the handbook: begin there",
    "rule of the trade": "a rule of the trade, from a neighbouring row of the handbook",
    "assumed": "in part assumed",
    "no data": "no data",
    "by hand": "by hand",
}
Column = tuple[str, Callable[[Pass], str]]


def show_cutting(found: CuttingSheet, *, sources: bool) -> None:
    """Prints the cutting data of an op.

    Args:
        found: the data.
        sources: every source of speed and feed.
    """
    out, one, words = console(), found.cutting, CuttingWords(found.units)
    machine = f"{one.machine} ({one.machine_kind})" if one.machine else f"a {one.machine_kind}, not named"
    setup = f", setup {one.setup}" if one.setup else ""
    say(out, f"{one.part}, op {one.number} ({one.op}) on {machine}{setup}", "bold")
    cut_as = f", cut as {one.group}" if one.group and one.group != one.material else ""
    say(out, f"  {one.material or 'no material stated'}{cut_as}; {one.condition}", "dim")
    if found.together:
        say(out, f"  set up together with {', '.join(found.together)}", "dim")
    for cut in one.cuts:
        _show_cut(out, words, cut, sources)
    if not one.cuts:
        say(out, "\n  nothing is cut to a size here")
    _show_minutes(out, words, one)
    for note in one.notes:
        say(out, f"  {note}")
    _show_cautions(out, one)


def _show_cut(out: Console, words: CuttingWords, cut: CutData, sources: bool) -> None:
    say(out, f"\n{cut.surface}: {cut.way} with {_tool(words, cut)}", "bold")
    say(out, f"  {'; '.join(_given(words, cut))}", "dim")
    if cut.passes:
        wheel = "grinding" in cut.way
        _table(out, cut.passes, _settings(words, wheel, _PER[cut.passes[0].per]))
        _table(out, cut.passes, _effects(words))
    for warning in cut.warnings:
        out.print(set_in(Text(f"WARNING: {warning.text}", "bold")))
    for line in (*cut.limits, *cut.proven):
        out.print(set_in(Text(line)))
    for detail in cut.details:
        out.print(set_in(Text(f"{detail.what}: {detail.text}")))
    if cut.assumed:
        out.print(set_in(Text(f"assumed: {'; '.join(cut.assumed)}")))
    for note in cut.notes:
        out.print(set_in(Text(note, "dim")))
    if sources:
        _show_sources(out, words, cut)
    elif cut.ranges:
        many = len({one.source for one in cut.ranges})
        out.print(set_in(Text(f"sources: {many}, named by --sources", "dim")))


def _tool(words: CuttingWords, cut: CutData) -> str:
    tool = cut.tool
    size = f", {words.length(tool.diameter)}" if tool.diameter else ""
    kind = " ".join(part for part in (tool.material, tool.kind) if part)
    teeth = f", {tool.edges} teeth" if tool.edges > 1 else ""
    return f"{tool.name} ({kind}{size}{teeth})" if tool.name else f"{kind}{size}{teeth}, not named"


def _given(words: CuttingWords, cut: CutData) -> list[str]:
    found = [_KNOWN[cut.known]]
    if cut.stock is not None:
        on = (
            " on the diameter" if cut.diameter is not None and cut.way not in ("facing on the lathe",) else ""
        )
        ends = ""
        if cut.stock_least is not None and cut.stock_most is not None:
            ends = f", {words.feed(max(cut.stock_least, 0.0))} to {words.feed(cut.stock_most)}"
        found.append(f"takes {words.feed(cut.stock)}{on}{ends} ({cut.stock_from})")
    if cut.limit is not None:
        found.append(f"to {words.limit(cut.limit)} ({cut.limit_from})")
    return found


def _or(value: float | None, write: Callable[[float], str]) -> str:
    return "" if value is None else write(value)


def _settings(words: CuttingWords, wheel: bool, each: str) -> list[Column]:
    def speed(value: float) -> str:
        return words.wheel_speed(value / 60) if wheel else words.speed(value)

    return [
        ("× ", lambda one: str(one.count)),
        ("depth", lambda one: _or(one.depth, words.feed)),
        ("wheel" if wheel else "speed", lambda one: _or(one.speed, speed)),
        ("spindle", lambda one: _or(one.rpm, words.rpm)),
        (f"feed {each}", lambda one: _or(one.feed, words.feed)),
        (
            "work" if wheel else "feed speed",
            lambda one: _or(one.feed_speed, lambda v: _moved(words, wheel, v)),
        ),
        ("minutes", lambda one: _or(one.minutes, words.minutes)),
    ]


def _moved(words: CuttingWords, wheel: bool, value: float) -> str:
    return words.speed(value / 1000) if wheel else words.feed_speed(value)


def _effects(words: CuttingWords) -> list[Column]:
    return [
        ("width", lambda one: _or(one.width, words.length)),
        ("arc", lambda one: _or(one.engagement, words.angle)),
        ("chip", lambda one: _or(one.chip, words.small)),
        ("power", lambda one: _or(one.power, words.power)),
        ("torque", lambda one: _or(one.torque, words.torque)),
        ("thrust", lambda one: _or(one.thrust, words.force)),
        ("bends", lambda one: _or(one.deflection, words.small)),
        ("dim moves", lambda one: _or(one.effect, words.small)),
        ("Ra at best", lambda one: _or(one.roughness, words.small)),
    ]


def _table(out: Console, passes: Sequence[Pass], wanted: Sequence[Column]) -> None:
    """A table of what is known of any of the passes."""
    told = [(head, [write(one) for one in passes]) for head, write in wanted]
    told = [(head, cells) for head, cells in told if any(cells)]
    if not told:
        return
    table = columns("pass", *(f">{head}" for head, _ in told))
    for number, one in enumerate(passes):
        kind = "all" if one.kind == "only" else one.kind
        table.add_row(kind, *(cells[number] or "-" for _, cells in told))
    out.print(set_in(table))


def _show_sources(out: Console, words: CuttingWords, cut: CutData) -> None:
    table = columns("source", "of", ">from", ">to", "counted")
    for one in cut.ranges:
        what = " ".join(part for part in (one.what, one.cut and f"({one.cut})", _for_each(one)) if part)
        low, high = (words.speed(v) if one.what == "speed" else words.feed(v) for v in (one.low, one.high))
        table.add_row(one.source, what, low, high, "yes" if one.counted else "no")
    if cut.ranges:
        out.print(set_in(table))


def _for_each(one: Range) -> str:
    return _PER.get(one.per, "")


def _show_minutes(out: Console, words: CuttingWords, one: OpCutting) -> None:
    minutes = one.minutes
    said = [f"{words.minutes(minutes.attended)} attended for one part, {minutes.known}"]
    if minutes.setting_up:
        shared = f" for {minutes.pieces} parts" if minutes.pieces > 1 else ""
        said.append(f"{words.minutes(minutes.setting_up)} to set up{shared}")
    if minutes.unattended:
        said.append(f"{words.minutes(minutes.unattended)} unattended")
    say(out, f"\nminutes: {'; '.join(said)}", "bold")
    if minutes.known != "given":
        say(out, f"  {'; '.join(minutes.words)}")


def _show_cautions(out: Console, one: OpCutting) -> None:
    if not one.reminders:
        return
    say(out, "\ncautions", "bold")
    for reminder in one.reminders:
        say(out, f"  {reminder.hazard}", "bold")
        for line in reminder.texts:
            say(out, f"    · {line}")
    say(out, f"  {one.deferring}")
