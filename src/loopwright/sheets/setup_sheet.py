"""The setup sheet of a machine: what is held how, where zero is, which tools stand out how far, which sizes to set."""

from collections.abc import Sequence

from loopwright.making.cutting_records import ToolUsed
from loopwright.sheets.cutting_rows import cutting_rows
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, minutes_words, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.setup_sheets import MachineSetUps, SetUp, SetUpCut, Zero

KIND = "setup sheet"


def setups_pdf(found: Sequence[MachineSetUps], sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """Setup sheets as one PDF, each machine beginning on a page of its own.

    Args:
        found: what has to be set up on each machine.
        sizes: writes the sizes.
        paper: that they are printed on.
    """
    title = f"Setups, {found[0].build}"
    return pdf_of("setup_sheet", {"title": title, "sheets": [_sheet(one, sizes) for one in found]}, paper)


def _sheet(found: MachineSetUps, sizes: ShopSizes) -> Data:
    name = found.machine or "no machine named"
    speeds = "" if found.speeds is None else f"{found.speeds[0]:,.0f} to {found.speeds[1]:,.0f} rpm"
    facts = [["kind", found.kind], ["spindle", speeds], ["sizes in", units_words(sizes)]]
    return {
        "foot": f"{name}: {KIND}, {found.build}",
        "head": {
            "kind": KIND,
            "build": found.build,
            "name": name,
            "facts": [fact for fact in facts if fact[1]],
        },
        "setups": [_setup(one, sizes) for one in found.setups],
    }


def _setup(found: SetUp, sizes: ShopSizes) -> Data:
    several = len(found.parts) > 1
    return {
        "name": found.name or ", ".join(f"op {number} {op}" for number, op in found.ops[:1]),
        "parts": ", ".join(found.parts),
        "ops": ", ".join(f"{number} {op}" for number, op in found.ops if found.name or len(found.ops) > 1),
        "minutes": f"set up {minutes_words(found.minutes)}" if found.minutes else "",
        "facts": [fact for fact in _facts(found) if fact[1]],
        "tools": _tools(found, sizes),
        "cuts": [_cut(one, sizes, several) for one in found.cuts],
        "careful": ", ".join(found.hazards),
    }


def _facts(found: SetUp) -> list[list[str]]:
    how = "clamped as one" if found.as_one else "one setting, kept until all are cut"
    return [
        ["Matched set:", f"{found.together}; {how}" if found.together else ""],
        ["Stands on:", " and ".join(found.datum)],
        ["Held:", found.held],
        ["Zero:", "; ".join(_zero(zero, found) for zero in found.zeros)],
        ["Note:", "; ".join(found.notes)],
    ]


def _zero(zero: Zero, found: SetUp) -> str:
    if zero.direction == "round":
        return "the axis of this setup"
    return f"{zero.direction} on {zero.surface}" if zero.surface else f"{zero.direction} on the first face"


def _tools(found: SetUp, sizes: ShopSizes) -> list[list[str]]:
    """Each tool once: its name, its kind and size, how far it stands out, and at which speed it turns first."""
    out: dict[str, list[str]] = {}
    for one in found.cuts:
        if one.data is None or one.data.tool.kind == "hand tool":
            continue
        tool = one.data.tool
        rows = cutting_rows([one.data], sizes)
        rpm = next((row["rpm"] for each in rows for row in each["passes"] if row["rpm"]), "")
        name = tool.name or f"{tool.kind} (none named)"
        out.setdefault(name, [name, _kind(tool, sizes), _out(tool, sizes), rpm])
    return list(out.values())


def _kind(tool: ToolUsed, sizes: ShopSizes) -> str:
    size = "" if not tool.diameter else f" Ø{sizes.about(tool.diameter)}"
    edges = f", {tool.edges} edges" if tool.edges > 1 else ""
    material = f", {tool.material}" if tool.material else ""
    limit = "" if tool.speed_limit is None else f", up to {tool.speed_limit:,.0f} rpm"
    return f"{tool.kind}{size}{material}{edges}{limit}"


def _out(tool: ToolUsed, sizes: ShopSizes) -> str:
    return "" if tool.stick_out is None else sizes.about(tool.stick_out)


def _cut(one: SetUpCut, sizes: ShopSizes, several: bool) -> Data:
    cut = one.cut
    sign = "Ø" if cut.diameter else ""
    dim = [] if cut.size is None else sizes.working(cut.size, cut.half or 0.0, given=cut.given, sign=sign)
    words = (
        [f"thread {cut.thread}"]
        if cut.thread
        else []
        if dim
        else ["first face" if cut.direction else "as drawn"]
    )
    return {
        "op": f"{one.op} {one.does}",
        "surface": cut.surface
        + (f" of {one.part}" if several and one.part else "")
        + (f", axis along {cut.direction}" if one.place else ""),
        "start": cut.measured_from or ("axis" if cut.diameter and cut.direction else ""),
        "dim": [*dim, *words] if dim else ["", *words],
        "tool": "" if one.data is None else one.data.tool.name or one.data.tool.kind,
    }
