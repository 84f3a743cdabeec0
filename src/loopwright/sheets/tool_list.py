"""The tool list: every tool that open ops need, to be laid out before work begins."""

from collections.abc import Sequence

from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, units_words
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.shop_lists import ToolLine, ToolList, Use

KIND = "tool list"
MOST_PARTS = 6
"""Parts that are named where they have their ops in common; of more, the rest is counted."""


def tool_list_pdf(found: ToolList, sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """The tool list as a PDF.

    Args:
        found: the tools.
        sizes: writes the sizes.
        paper: that it is printed on.
    """
    facts = [["sizes in", units_words(sizes)], ["made already", ", ".join(found.finished)]]
    sheet = {
        "foot": f"{KIND}, {found.build}",
        "head": {
            "kind": KIND,
            "build": "",
            "name": found.build,
            "facts": [fact for fact in facts if fact[1]],
        },
        "groups": [
            {"name": name, "tools": [_tool(one, sizes) for one in tools]}
            for name, tools in (
                ("Tools of the shop", found.tools),
                ("Named in a route, and not among the shop's tools", found.unknown),
                ("Usual tools, where a route names none", found.unnamed),
            )
            if tools
        ],
    }
    return pdf_of("tool_list", {"title": f"Tools, {found.build}", "sheets": [sheet]}, paper)


def _tool(one: ToolLine, sizes: ShopSizes) -> Data:
    size = "" if not one.diameter else f"Ø{sizes.about(one.diameter)}"
    words = [one.kind, size, one.material, f"{one.edges} edges" if one.edges > 1 else ""]
    words += [f"up to {one.speed_limit:,.0f} rpm"] if one.speed_limit is not None else []
    return {
        "name": one.name or one.kind,
        "what": ", ".join(filter(None, words if one.name else words[1:])),
        "out": "" if one.stick_out is None else sizes.about(one.stick_out),
        "machines": ", ".join(one.machines),
        "uses": _uses(one.uses),
    }


def _uses(uses: Sequence[Use]) -> str:
    """Parts with the numbers of their ops: 'base 20, 30; saddle 40'; parts with the same numbers stand together."""
    ops: dict[str, list[int]] = {}
    for use in uses:
        numbers = ops.setdefault(use.part, [])
        if use.op not in numbers:
            numbers.append(use.op)
    same: dict[tuple[int, ...], list[str]] = {}
    for part, numbers in ops.items():
        same.setdefault(tuple(numbers), []).append(part)
    return "; ".join(f"{_few(parts)}: {', '.join(map(str, numbers))}" for numbers, parts in same.items())


def _few(parts: Sequence[str]) -> str:
    """The first of many parts, and how many more there are."""
    more = len(parts) - MOST_PARTS
    return ", ".join(parts) if more < 2 else f"{', '.join(parts[:MOST_PARTS])} and {more} more"
