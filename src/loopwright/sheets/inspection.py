"""The inspection sheet: every dim, tolerance and hardness of a finished part, with boxes for readings."""

from collections.abc import Sequence

from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import Data, degree, drawn_words, foot_words, head_data, limits_of
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.studies.shop_sheets import Inspection, ToRead

KIND = "inspection sheet"


def inspections_pdf(found: Sequence[Inspection], sizes: ShopSizes, paper: Paper = A4) -> bytes:
    """Inspection sheets as one PDF, each beginning on a page of its own.

    Args:
        found: what they say.
        sizes: writes the sizes.
        paper: that they are printed on.
    """
    data = {
        "title": f"Inspection, {found[0].heading.build}",
        "degree": degree(sizes),
        "sheets": [_sheet(one, sizes) for one in found],
    }
    return pdf_of("inspection", data, paper)


def _sheet(found: Inspection, sizes: ShopSizes) -> Data:
    return {
        "foot": foot_words(KIND, found.heading),
        "head": head_data(KIND, found.heading, sizes),
        "reads": [_read(one, sizes) for one in found.reads],
    }


def _read(one: ToRead, sizes: ShopSizes) -> Data:
    limits = limits_of(one, sizes)
    return {
        "name": one.name,
        "what": one.what,
        "drawn": drawn_words(one, sizes) if one.low is not None else "",
        "limits": limits,
        "gauge": one.gauge,
        "op": f"op {one.op}" if one.op else "",
    }
