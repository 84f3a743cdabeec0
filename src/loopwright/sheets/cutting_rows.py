"""Tools and cutting data as rows of a sheet, in the user's units."""

from collections.abc import Sequence

from loopwright.making.cutting_records import CutData, Pass, ToolUsed
from loopwright.making.cutting_words import CuttingWords, rounded
from loopwright.sheets.shop_paper import Data
from loopwright.sheets.shop_sizes import ShopSizes

_KNOWN = {
    "proven": "proven in this shop",
    "handbook": "from the handbook, to begin with",
    "rule of the trade": "by a rule of the trade, to begin with",
    "assumed": "assumed, to begin with",
    "no data": "",
    "by hand": "by hand",
}


def tool_words(tool: ToolUsed, sizes: ShopSizes) -> str:
    """A tool with what of it matters at the machine: 'boring bar 12, carbide, 40 mm out'."""
    kind = tool.kind if tool.name is None else tool.name
    words = [kind]
    if tool.name is None and tool.diameter:
        words[0] += f" Ø{sizes.plain(tool.diameter)}"
    if tool.material:
        words.append(tool.material)
    if tool.stick_out is not None and tool.name is not None:
        words.append(f"{sizes.about(tool.stick_out)} out")
    return ", ".join(words) + ("" if tool.name is not None or tool.kind == "hand tool" else " (none named)")


def cutting_rows(cuts: Sequence[CutData], sizes: ShopSizes) -> list[Data]:
    """One row for each cut, with its passes; surfaces cut alike share one."""
    rows: list[Data] = []
    for cut in cuts:
        if cut.known == "by hand" and not cut.passes:
            continue
        passes = [_pass(one, CuttingWords(sizes.units)) for one in cut.passes]
        row = {
            "surface": cut.surface,
            "tool": tool_words(cut.tool, sizes),
            "passes": passes,
            "none": "" if passes else _why_none(cut),
        }
        same = next((one for one in rows if {**one, "surface": ""} == {**row, "surface": ""}), None)
        if same is None:
            rows.append(row)
        else:
            same["surface"] = f"{same['surface']}, {cut.surface}"
    return rows


def cutting_remarks(cuts: Sequence[CutData]) -> list[list[str]]:
    """What is wrong with the data, what limits them, and how they are known."""
    many = len(cuts) > 1
    warned = _gathered(
        [
            (cut.surface, one.text)
            for cut in cuts
            for one in cut.warnings
            if cut.passes or one.about != "no data"
        ],
        many,
    )
    limited = _gathered([(cut.surface, text) for cut in cuts for text in cut.limits], many)
    known = _gathered([(cut.surface, _KNOWN[cut.known]) for cut in cuts if cut.passes], many)
    told = [("Take care:", warned), ("Limited:", limited), ("Data:", known)]
    return [[what, words] for what, words in told if words]


def _gathered(found: Sequence[tuple[str, str]], many: bool) -> str:
    """Sentences, each with the surfaces that it is about where that is not all of them."""
    by_text: dict[str, list[str]] = {}
    for surface, text in found:
        if text and surface not in by_text.setdefault(text, []):
            by_text[text].append(surface)
    named = many and len(by_text) > 1
    return "; ".join(f"{', '.join(s)}: {text}" if named else text for text, s in by_text.items())


def _why_none(cut: CutData) -> str:
    found = [one.text.removeprefix("no data: ") for one in cut.warnings if one.about in ("no data", "tool")]
    return "; ".join(found) or "no data"


def _pass(one: Pass, words: CuttingWords) -> Data:
    count = f" {one.count} ×" if one.count > 1 or one.kind in ("rough", "spark out") else ""
    kind = "" if one.kind == "only" else one.kind
    return {
        "pass": f"{kind}{count}".strip() or "1 ×",
        "rpm": "" if one.rpm is None else f"{rounded(one.rpm):,.0f}",
        "feed": _feed(one, words),
        "depth": "" if one.depth is None or one.kind == "only" else words.feed(one.depth),
    }


def _feed(one: Pass, words: CuttingWords) -> str:
    if one.feed is None:
        return "" if one.speed is None else f"at {words.speed(one.speed)}"
    per = {"rev": "/rev", "tooth": "/tooth", "stroke": "/stroke"}[one.per]
    feed = f"{words.feed(one.feed)}{per}"
    return (
        feed if one.feed_speed is None or one.per == "rev" else f"{words.feed_speed(one.feed_speed)}, {feed}"
    )
