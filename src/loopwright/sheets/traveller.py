"""The traveller: what goes with a part, or a matched set, through the shop."""

from collections.abc import Iterator, Sequence

from loopwright.handbook.bands import Band
from loopwright.handbook.cautions import DEFERS
from loopwright.model.blanks import Blank
from loopwright.sheets.chart_drawing import LEGEND, charts_for_paper
from loopwright.sheets.cutting_rows import cutting_remarks, cutting_rows
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import (
    Data,
    blank_words,
    foot_words,
    hazard_words,
    head_data,
    limits_of,
    minutes_words,
)
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.sheets.shown import percent
from loopwright.studies.route_sheet import CutLine
from loopwright.studies.shop_sheets import Hazard, Left, Missed, ToRead, Traveller, TravelOp
from loopwright.studies.stock_hardening import Hardening
from loopwright.units import Dimension, format_value

KIND = "traveller"
MOST_PROBLEMS = 6


def travellers_pdf(found: Sequence[Traveller], sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """Travellers as one PDF, each beginning on a page of its own.

    Args:
        found: what they say.
        sizes: writes the sizes.
        paper: that they are printed on.
    """
    sheets = [traveller_data(one, sizes, paper) for one in found]
    return pdf_of("traveller", {"title": f"Travellers, {found[0].heading.build}", "sheets": sheets}, paper)


def traveller_data(found: Traveller, sizes: ShopSizes, paper: Paper) -> Data:
    """A traveller as its template takes it."""
    charts = [
        {
            "name": f"Tolerance chart, {_direction(direction)}" + (f", part {n + 1}" if n else ""),
            "svg": svg,
            "alt": f"Tolerance chart of {picture.name}; its numbers stand in the ops above",
        }
        for direction, picture in found.charts
        for n, svg in enumerate(charts_for_paper(picture, sizes, paper.measure))
    ]
    return {
        "foot": foot_words(KIND, found.heading),
        "head": head_data(KIND, found.heading, sizes),
        "warnings": list(_warnings(found, sizes)),
        "ops": [_op(op, found, sizes, before) for op, before in zip(found.ops, (None, *found.ops))],
        "total": _total(found),
        "charts": charts,
        "legend": LEGEND,
        "defers": DEFERS if any(op.hazards for op in found.ops) else "",
    }


def _direction(direction: str) -> str:
    return "round surfaces, on the diameter" if direction == "round" else f"along {direction}"


def _warnings(found: Traveller, sizes: ShopSizes) -> Iterator[str]:
    for problem in found.problems[:MOST_PROBLEMS]:
        yield f"{problem.what}; {problem.remedy}"
    if len(found.problems) > MOST_PROBLEMS:
        yield f"and {len(found.problems) - MOST_PROBLEMS} more of the kind"
    for one in found.missed:
        yield _missed(one, sizes)


def _missed(one: Missed, sizes: ShopSizes) -> str:
    asked = sizes.limits(*one.asked)[0]
    worst = (
        sizes.limits(*one.worst, given=False)[0] if one.worst[1] > one.worst[0] else sizes.plain(one.worst[0])
    )
    return (
        f"{one.name}: {asked} {sizes.unit} is asked; the working dims together can make it {worst}, "
        f"and hold it in {percent(one.chance)} of pieces"
    )


def _op(op: TravelOp, found: Traveller, sizes: ShopSizes, before: TravelOp | None) -> Data:
    parts = found.heading.parts
    cut = {one.surface for one in op.line.cuts}
    single = len(parts) == 1
    # what is measured where it is cut is written beside its working dim
    own = {one.name: one for one in op.reads if single and one.kind == "working" and one.name in cut}
    reads = [one for one in op.reads if one.name not in own or one.kind != "working"]
    data = [] if op.cutting is None else cutting_rows(op.cutting.cuts, sizes)
    return {
        "number": str(op.line.number),
        "name": op.line.op,
        "place": ", ".join(filter(None, (op.line.machine or op.kind, op.line.setup))),
        "minutes": _minutes(op),
        "facts": list(_facts(op, found.heading.blank, sizes)),
        "got": single and bool(op.line.cuts),
        "cuts": [_cut(one, op, own, sizes) for one in op.line.cuts],
        "after": list(_after(op, sizes)),
        "data": data,
        "told": [] if op.cutting is None else cutting_remarks(op.cutting.cuts),
        "reads": [_read(one, parts, sizes) for one in reads],
        "careful": hazard_words(_hazards(op, before)),
    }


def _hazards(op: TravelOp, before: TravelOp | None) -> list[Hazard]:
    """Its hazards, without those that the op above, on the same machine, has just named."""
    same = before is not None and before.line.machine == op.line.machine
    above = {one.name for one in before.hazards} if same and before is not None else set()
    return [one for one in op.hazards if one.texts or one.name not in above]


def _minutes(op: TravelOp) -> str:
    words = []
    if op.minutes is not None and op.minutes > 0:
        words.append(("about " if op.estimated else "") + minutes_words(op.minutes))
    if op.setting_up:
        words.append(f"set up {minutes_words(op.setting_up)}")
    if op.line.unattended:
        words.append(f"{minutes_words(op.line.unattended)} alone")
    return ", ".join(words)


def _facts(op: TravelOp, blank: Blank | None, sizes: ShopSizes) -> Iterator[list[str]]:
    line = op.line
    if line.datum:
        yield ["Stands on:", f"{' and '.join(line.datum)}" + (f"; held: {line.held}" if line.held else "")]
    elif line.held:
        yield ["Held:", line.held]
    if line.op == "saw" and not line.cuts and blank is not None:
        yield ["Saw from:", blank_words(blank, sizes)]
    if line.together:
        how = "clamped as one, one cut through all" if line.as_one else "one setting, kept until all are cut"
        yield [f"Matched set '{line.together}':", f"with {', '.join(line.set_with) or 'no other yet'}; {how}"]
    if line.note:
        yield ["Note:", line.note]


def _cut(cut: CutLine, op: TravelOp, own: dict[str, ToRead], sizes: ShopSizes) -> Data:
    sign = "Ø" if cut.diameter else ""
    words = [f"thread {cut.thread}"] if cut.thread else []
    dim = [] if cut.size is None else sizes.working(cut.size, cut.half or 0.0, given=cut.given, sign=sign)
    if not dim and not cut.thread:
        words.append("first face" if cut.direction and not cut.measured_from else "as drawn")
    if cut.share < 1 - 1e-9:
        words.append("tighter than the machine is held to: measure each")
    place = cut.surface in op.round and not cut.diameter and cut.size is not None
    return {
        "surface": f"{cut.surface}, axis along {cut.direction}" if place else cut.surface,
        "start": cut.measured_from or ("axis" if cut.diameter and cut.direction else ""),
        "dim": dim,
        "words": words,
        "takes": [] if cut.stock is None or place else sizes.stock(cut.stock[0], cut.stock[2]),
        "leaves": [
            line for left in op.leaves if _is_left_by(left, cut) and not place for line in _left(left, sizes)
        ],
        "gauge": own[cut.surface].gauge if cut.surface in own else "",
    }


def _is_left_by(left: Left, cut: CutLine) -> bool:
    return (left.surface, left.direction) == (cut.surface, cut.direction)


def _left(left: Left, sizes: ShopSizes) -> list[str]:
    lines = sizes.stock(left.low, left.high)
    return [*lines, f"for op {left.op}"]


def _after(op: TravelOp, sizes: ShopSizes) -> Iterator[list[str]]:
    for left in op.leaves:
        if (
            left.too_little
            and left.least is not None
            and (left.diameter or left.surface not in op.round)
            and left.chance_low < left.chance - 0.005
        ):
            where = "on the diameter" if left.diameter else "on the face"
            chance = percent(left.chance_low)
            yield [
                "Leaves little:",
                f"{left.surface} wants {sizes.stock(left.least, left.least)[0]} {sizes.unit} {where} to clean up in op "
                f"{left.op} at {percent(left.chance)}; with the least that is left here {chance} do",
            ]
    yield from _heat(op, sizes)
    if op.line.alternatives:
        yield ["Or:", "; ".join(op.line.alternatives)]


def _heat(op: TravelOp, sizes: ShopSizes) -> Iterator[list[str]]:
    own, heat = op.temperature, op.hardening
    stated = "" if own is None else _degrees(own, sizes)
    if heat is None:
        if stated:
            yield ["Temperature:", stated]
        return
    if op.line.number == heat.op:
        yield ["Furnace:", _against(stated, heat.harden_degc, sizes)]
        if heat.soak_min is not None:
            yield ["At heat:", f"{_plain_band(heat.soak_min)} min once it is through"]
        yield from _quench(heat, sizes)
    else:
        yield ["Temper:", _against(stated, heat.temper_degc, sizes)]
        if heat.temper_h is not None:
            times = f", {heat.tempers} times" if heat.tempers > 1 else ""
            yield ["Time:", f"{_plain_band(heat.temper_h)} h at heat{times}"]


def _quench(heat: Hardening, sizes: ShopSizes) -> Iterator[list[str]]:
    if heat.quench:
        to = (
            ""
            if heat.quench_to_degc is None
            else f", down to {_band(heat.quench_to_degc, sizes)}, then temper at once"
        )
        yield ["Quench:", f"in {heat.quench}{to}"]
    if heat.as_quenched_hrc is not None:
        yield ["As quenched:", f"{_plain_band(heat.as_quenched_hrc)} HRC"]


def _against(stated: str, known: Band | None, sizes: ShopSizes) -> str:
    band = "" if known is None else _band(known, sizes)
    if stated and band:
        return f"{stated} (handbook {band})"
    return stated or (f"{band} (handbook)" if band else "as the steel's data sheet says")


def _band(band: Band, sizes: ShopSizes) -> str:
    low, high = (_degrees(value, sizes) for value in (band.low, band.high))
    return low if low == high else f"{low.rpartition(' ')[0]} to {high}"


def _plain_band(band: Band) -> str:
    low, high = (f"{value:.3g}" for value in (band.low, band.high))
    return low if low == high else f"{low} to {high}"


def _degrees(value: float, sizes: ShopSizes) -> str:
    unit = sizes.units.temperature
    return format_value(value, Dimension.TEMPERATURE, unit, digits=3).replace("deg", "°")


def _read(one: ToRead, parts: Sequence[str], sizes: ShopSizes) -> Data:
    return {
        "name": one.name,
        "what": one.what,
        "limits": limits_of(one, sizes),
        "gauge": one.gauge,
        "boxes": [""] if len(parts) == 1 else list(parts),
    }


def _total(found: Traveller) -> str:
    words = [f"Attended {minutes_words(found.attended)}"]
    if found.unattended:
        words.append(f"unattended {minutes_words(found.unattended)}")
    if found.unknown:
        words.append(f"{found.unknown} ops not counted")
    if any(op.estimated for op in found.ops):
        words.append("minutes with 'about' are estimated")
    return "; ".join(words) + "."
