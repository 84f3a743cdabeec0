"""Which sheets of the shop were printed, as plain data."""

from collections.abc import Sequence

from loopwright.studies.exchange_bench import Data


def printed_as_data(
    build: str,
    paper: str,
    files: Sequence[tuple[str, str, Sequence[str], int, int, int]],
    left_out: Sequence[tuple[str, str]],
) -> Data:
    """The files that were written, format loopwright-sheets/1.

    Args:
        build: name of the machine.
        paper: name of the paper.
        files: of each file its name, kind, parts, sheets, pages and bytes.
        left_out: kinds of which there is nothing to print, and why.
    """
    return {
        "format": "loopwright-sheets/1",
        "build": build,
        "paper": paper,
        "files": [
            {
                "file": file,
                "kind": kind,
                "parts": list(parts),
                "sheets": sheets,
                "pages": pages,
                "bytes": size,
            }
            for file, kind, parts, sheets, pages, size in files
        ],
        "left_out": [{"kind": kind, "why": why} for kind, why in left_out],
    }
