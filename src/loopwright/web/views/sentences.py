"""Words of the studies set as sentences of a page."""

from collections.abc import Sequence

from loopwright.web.wording import say


def sentence(words: str) -> str:
    """Words with a capital and a full stop; a name such as 'column/height' keeps its first letter.

    >>> sentence("read it again"), sentence("column/foot was read")
    ('Read it again.', 'column/foot was read.')
    """
    words = words.strip()
    if not words:
        return ""
    first = words.partition(" ")[0]
    start = words if "/" in first or "_" in first else words[0].upper() + words[1:]
    return start + ("" if words.endswith((".", "!", "?", ":")) else ".")


def listed(names: Sequence[str]) -> str:
    """Names in a row, each in quotes.

    >>> listed(["a", "b", "c"])
    '‘a’, ‘b’ and ‘c’'
    """
    quoted = [f"‘{name}’" for name in names]
    if len(quoted) < 2:
        return "".join(quoted)
    return ", ".join(quoted[:-1]) + say("standing.and") + quoted[-1]
