"""What the commands about the making of a part print: its route, and its tolerance charts."""

from math import isfinite

from rich.console import Console
from rich.text import Text

from loopwright import units
from loopwright.cli.layout import RULE, columns, console, say, set_in
from loopwright.errors import Problem
from loopwright.handbook.cautions import DEFERS, caution
from loopwright.model.build import Units
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.chart_sheet import Chained, ChartSheet, DirectionSheet
from loopwright.studies.route_sheet import CutLine, OpLine, RouteSheet
from loopwright.units import Dimension

_LENGTH = Dimension.LENGTH
_ROUND = "\N{LATIN CAPITAL LETTER O WITH STROKE}"


def show_route(found: RouteSheet, shown: Units) -> None:
    """Prints how a part is made."""
    out = console()
    about = ", ".join(filter(None, (found.material, found.condition, found.blank and f"blank {found.blank}")))
    say(out, f"{found.part}: {about}" if about else found.part, "bold")
    if found.mark:
        say(out, f"  marked {found.mark}")
    if found.note:
        say(out, f"  {found.note}", "dim")
    for op in found.ops:
        _show_op(out, op, shown)
    say(out, "")
    say(
        out,
        f"  attended {_minutes(found.attended)}, unattended {_minutes(found.unattended)}" + _unstated(found),
    )
    _show_problems(out, found.problems)
    for dim, why in found.passed_over:
        say(out, f"  {dim} is still known by its limits alone: {why}", "dim")
    _show_cautions(out, found)


def _unstated(found: RouteSheet) -> str:
    if not found.unstated:
        return ""
    return f"; {found.unstated} op{'s' * (found.unstated != 1)} without minutes not counted"


def _show_op(out: Console, op: OpLine, shown: Units) -> None:
    place = ", ".join(filter(None, (op.machine, op.setup, op.held)))
    head = Text(f"\n{op.number:>4}  {op.op}", style="bold")
    head.append(f"   {place}" if place else "", style="not bold")
    out.print(head)
    if op.datum:
        say(out, f"      on {', '.join(op.datum)}")
    if op.together:
        how = "clamped as one with" if op.as_one else "in one setting with"
        say(out, f"      matched set '{op.together}': {how} {', '.join(op.set_with) or 'nothing yet'}")
    for cut in op.cuts:
        say(out, f"      {_cut_words(cut, shown)}")
    if op.hardness:
        say(out, f"      the hardness test must show {op.hardness}")
    if op.inspect:
        say(out, f"      measure {', '.join(op.inspect)}" + (f" with {op.gauge}" if op.gauge else ""))
    times = [f"{_minutes(op.setting_up)} to set up"] if op.setting_up else []
    times += [] if op.minutes is None else [f"{_minutes(op.minutes)} attended"]
    times += [f"{_minutes(op.unattended)} unattended"] if op.unattended else []
    if times:
        say(out, f"      {', '.join(times)}", "dim")
    if op.alternatives:
        say(out, f"      or: {', '.join(op.alternatives)}", "dim")
    if op.note:
        say(out, f"      {op.note}", "dim")


def _cut_words(cut: CutLine, shown: Units) -> str:
    sign = _ROUND if cut.diameter else ""
    said = [cut.surface]
    if cut.thread:
        said.append(f"thread {cut.thread}")
    if cut.size is not None and cut.half is not None:
        origin = f" from {cut.measured_from}" if cut.measured_from else ""
        said.append(
            f"{sign}{working_size(cut.size, cut.half, shown)}{origin}{', as stated' if cut.given else ''}"
        )
        if cut.share < 1 - 1e-9:
            said.append("tighter than the machine is held to")
    if cut.stock is not None:
        low, _, high = cut.stock
        where = "on diameter" if cut.diameter else "of stock"
        said.append(f"takes off {stock_range(low, high, shown)} {where}")
    if cut.tool:
        said.append(f"with {cut.tool}")
    return "; ".join(said)


def working_size(size: float, half: float, shown: Units) -> str:
    """A working dim with its tolerance, to the last place that its tolerance needs."""
    value = units.format_value(size, _LENGTH, shown.length, uncertainty=half or None, digits=2 if half else 7)
    return f"{value} ±{Shown(shown).error(half, _LENGTH)}" if half else value


def stock_range(low: float, high: float, shown: Units) -> str:
    """From least to most stock."""
    texts = [units.format_value(v, _LENGTH, shown.length, digits=3) for v in (low, high)]
    number, _, unit = texts[0].partition(" ")
    return f"{number} to {texts[1]}" if texts[1].endswith(unit) else " to ".join(texts)


def _minutes(value: float) -> str:
    return f"{value:.0f} min" if value < 100 else f"{value / 60:.1f} h"


def _show_problems(out: Console, problems: tuple[Problem, ...]) -> None:
    for problem in problems:
        say(out, f"  {problem.field}: {problem.what}", "bold")
        say(out, f"    -> {problem.remedy}")


def _show_cautions(out: Console, found: RouteSheet) -> None:
    hazards = dict.fromkeys(name for op in found.ops for name in op.cautions)
    if not hazards:
        return
    say(out, "\ncautions", "bold")
    for name in hazards:
        known = caution(name)
        say(out, f"  {known.hazard}", "bold")
        for line in known.texts:
            say(out, f"    · {line}")
    say(out, f"  {DEFERS}")


def show_charts(found: ChartSheet, shown: Units) -> None:
    """Prints the tolerance charts of a part."""
    out = console()
    say(
        out,
        f"{found.part}: " + ("its charts hold" if found.feasible else "not all of its charts hold"),
        "bold",
    )
    _show_problems(out, found.problems)
    for one in found.charts:
        _show_direction(out, one, shown, found.confidence)


def _show_direction(out: Console, one: DirectionSheet, shown: Units, confidence: float) -> None:
    out.print()
    out.print(Text(RULE * out.width, style="dim"))
    name = "round surfaces, on the diameter" if one.diameters else f"along {one.direction}"
    say(out, f"{name}: {'holds' if one.feasible else 'does not hold'}", "bold")
    _show_problems(out, one.problems)
    if one.problems:
        return
    table = columns("op", "cuts", "from", ">working dim", ">can be held to", ">share")
    for dim in one.working:
        held = "?" if not dim.capability else "±" + Shown(shown).error(dim.capability, _LENGTH)
        share = f"{dim.share:.2f}" if isfinite(dim.share) else "-"
        size = working_size(dim.size, dim.half, shown) + (" stated" if dim.given else "")
        table.add_row(f"{dim.op} {dim.does}", dim.surface, dim.datum, size, held, share)
    out.print(set_in(table))
    _show_chained(out, "of the drawing", one.finished, shown, confidence)
    _show_chained(out, "stock", one.stock, shown, confidence)
    for line in (*one.lacking, *one.notes):
        say(out, f"  {line}")
    if one.freed:
        say(out, "\n  what would free it, the cheapest that is enough first", "bold")
        for change in one.freed:
            enough = "enough" if change.enough else "helps, not enough"
            say(out, f"  {change.what}: {enough}, about {change.minutes:.0f} min")
    if one.findings is not None:
        say(out, "\n  audit of the sizes as stated" + ("" if one.findings else ": nothing found"), "bold")
        for finding in one.findings:
            say(out, f"  {finding.field}: {finding.what}")
            say(out, f"    -> {finding.remedy}")


def _show_chained(
    out: Console, title: str, found: tuple[Chained, ...], shown: Units, confidence: float
) -> None:
    if not found:
        return
    unit = units.format_value(1.0, _LENGTH, shown.length).partition(" ")[2]
    table = columns(
        f"{title}, {unit}", ">asked", ">worst case", f">{confidence:.0%} of pieces", ">chance", ""
    )
    for one in found:
        verdict = "" if one.holds else "fails"
        table.add_row(
            one.name, _ends(one.asked, shown), _ends(one.worst, shown), _ends(one.likely, shown),
            percent(one.chance), verdict or ("binds" if one.binds else ""),
        )  # fmt: skip
    out.print(set_in(table))


def _ends(pair: tuple[float, float], shown: Units) -> str:
    low, high = (
        "-" if not isfinite(v) else units.format_value(v, _LENGTH, shown.length, uncertainty=1e-3, digits=1)
        for v in pair
    )
    low, high = (text.partition(" ")[0] for text in (low, high))
    return f"{low} … {high}" if high != "-" else f"{low} or more"
