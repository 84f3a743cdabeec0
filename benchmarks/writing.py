"""How measurements are written down: tables, times, paragraphs."""

import textwrap
from collections.abc import Iterable


def wrapped(paragraph: str) -> str:
    """A paragraph in lines that an editor shows whole."""
    return textwrap.fill(paragraph, 118, break_on_hyphens=False, break_long_words=False)


def laid_out(section: str) -> str:
    """A section with its paragraphs wrapped; tables, lists and headings stay as they are."""
    paragraphs = section.strip().split("\n\n")
    return "\n\n".join(p if p[0] in "|-#" else wrapped(p) for p in paragraphs)


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """A table; the first column holds names, the others numbers."""
    names = list(head)
    lines = ["| " + " | ".join(names) + " |", "|---|" + "---:|" * (len(names) - 1)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def time(seconds: float) -> str:
    """A time to two or three digits."""
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= 0.9995 * size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds * 1e6:.3g} µs"
