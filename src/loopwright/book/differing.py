"""What changed between two descriptions, for people."""

import difflib

MOST_LINES = 20_000
MOST_SHOWN = 400


def difference(before: str, after: str) -> str:
    r"""The lines that went (-) and came (+), each change with its line number in the text after.

    Args:
        before: the text that was.
        after: the text that is.

    Returns:
        Lines of text; '' for equal texts. Very long texts are only counted, and a very long list is cut.

    >>> print(difference("a: 1\nb: 2\n", "a: 1\nb: 3\n"))
    line 2
    - b: 2
    + b: 3
    """
    if before == after:
        return ""
    old, new = before.split("\n"), after.split("\n")
    if len(old) + len(new) > MOST_LINES:
        return f"{len(old)} lines became {len(new)}"
    shown = [line for block in _blocks(old, new) for line in block] or ["only the ends of lines changed"]
    if len(shown) > MOST_SHOWN:
        shown[MOST_SHOWN:] = [f"and {len(shown) - MOST_SHOWN} lines more"]
    return "\n".join(shown)


def _blocks(old: list[str], new: list[str]) -> list[list[str]]:
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=True)
    return [
        [f"line {j + 1}", *(f"- {line}" for line in old[i:i2]), *(f"+ {line}" for line in new[j:j2])]
        for tag, i, i2, j, j2 in matcher.get_opcodes()
        if tag != "equal"
    ]
