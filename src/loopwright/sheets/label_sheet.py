"""Labels: a grid of them on a sheet, each with a code, the part and its mark."""

from dataclasses import dataclass

from loopwright.errors import RequestError
from loopwright.sheets.paper import A4, Paper, pdf_of
from loopwright.sheets.shop_paper import code_data
from loopwright.studies.shop_lists import Labels

KIND = "labels"
_LEAST = (30.0, 16.0)
"""Width and height of the smallest label on which a code can still be read, mm."""


@dataclass(frozen=True)
class Grid:
    """Labels on a sheet.

    Attributes:
        columns, rows: of labels.
        margin: around all of them, left and right, mm; top: above and below, mm.
        gap: between labels, mm.
        used: so many at the beginning of the first sheet are gone already.
        frames: print a hairline around each, to cut along.
    """

    columns: int = 3
    rows: int = 8
    margin: float = 7.0
    top: float = 12.0
    gap: float = 2.0
    used: int = 0
    frames: bool = True

    def size(self, paper: Paper) -> tuple[float, float]:
        """Width and height of a label, mm.

        Raises:
            RequestError: so many do not go on the paper.
        """
        width = (paper.width - 2 * self.margin - (self.columns - 1) * self.gap) / self.columns
        height = (paper.height - 2 * self.top - (self.rows - 1) * self.gap) / self.rows
        if width < _LEAST[0] or height < _LEAST[1]:
            raise RequestError(
                f"{self.columns} by {self.rows} labels would be {width:.0f} x {height:.0f} mm",
                f"take fewer: one needs {_LEAST[0]:.0f} x {_LEAST[1]:.0f} mm",
            )
        return width, height


def labels_pdf(found: Labels, grid: Grid, paper: Paper = A4) -> bytes:
    """Labels as a PDF; print it without scaling.

    Args:
        found: the labels.
        grid: how they lie on the sheet.
        paper: that they are printed on.

    Raises:
        RequestError: so many labels do not go on the paper.
    """
    width, height = grid.size(paper)
    data = {
        "title": f"Labels, {found.build}",
        "grid": {
            "columns": grid.columns, "rows": grid.rows, "margin": grid.margin, "top": grid.top, "gap": grid.gap,
            "used": grid.used % (grid.columns * grid.rows), "width": width, "height": height,
            "frames": grid.frames,
        },
        "build": found.build,
        "labels": [
            {"part": one.part, "code": code_data(one.code), "mark": one.mark, "material": one.material}
            for one in found.labels
        ],
    }  # fmt: skip
    return pdf_of("label_sheet", data, paper)
