"""Plain data as YAML that a person can read: short entries on one line, everything else indented."""

import json
import re
import textwrap
from functools import cache
from typing import Any

from loopwright.buildfile.yaml_nodes import scalar_value
from loopwright.buildfile.yaml_tree import Kind, Node

WIDTH = 110
"""A mapping or list that fits into this many columns is written on one line."""

_CHUNK = 1000


def laid_out(data: dict[str, Any]) -> str:
    """A mapping as a YAML document.

    >>> print(laid_out({"name": "a", "at": [1.0, 2.5], "dims": {"height": "240 ±0.02"}, "note": "# 1"}))
    name: a
    at: [1, 2.5]
    dims: {height: 240 ±0.02}
    note: "# 1"
    <BLANKLINE>
    """
    return "".join(f"{line}\n" for line in _entries(data, 0))


@cache
def _plain() -> re.Pattern[str]:
    """A text that needs no quotes; its large sets take milliseconds to compile, and most commands write nothing."""
    return re.compile(
        r"[^\W_]([\w .·…%°²³\"'()+*/±µ<>=;-]*[\w.…%°²³\"')+*/±µ-])?|[+±-][\w.]([\w .·…%°²³/±µ+-]*[\w%°²³])?"
    )


@cache
def _not_printable() -> re.Pattern[str]:
    return re.compile(
        "[^\x09\x0a\x0d\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
    )


def flow(value: Any) -> str:
    """A value on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{quoted_name(k)}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(flow(v) for v in value) + "]"
    return scalar(value)


def scalar(value: Any) -> str:
    """A single value."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return _text(value) if isinstance(value, str) else str(value)


def quoted_name(key: str) -> str:
    """A name as it stands before its colon, in quotes where YAML needs them."""
    return key if _plain().fullmatch(key) and key != "<<" else _quoted(key)


def _text(text: str, *, alone: bool = False) -> str:
    """A text, without quotes where it stays itself; ``alone`` where no bracket is around it."""
    looks = text[:1] + text[1:].replace(",", "x") if alone else text
    plain = len(text) <= WIDTH and _plain().fullmatch(looks)
    if plain and scalar_value(Node(Kind.SCALAR, 0, 0, 1, text, plain=True)) == text:
        return text
    return _quoted(text)


def _quoted(text: str) -> str:
    quoted = json.dumps(text, ensure_ascii=False)
    return _not_printable().sub(_escaped, quoted)


def _escaped(found: re.Match[str]) -> str:
    code = ord(found[0])
    return f"\\x{code:02x}" if code < 256 else f"\\u{code:04x}"


def _entries(data: dict[str, Any], indent: int) -> list[str]:
    out = []
    for key, value in data.items():
        name = " " * indent + quoted_name(key) + ":"
        line = f"{name} {_text(value, alone=True) if isinstance(value, str) else flow(value)}"
        if _stands_alone(value, indent) or not _fits(value, line):
            out += (
                [name, *_block(value, indent + 2)]
                if value and isinstance(value, (dict, list))
                else _long(name, value)
            )
        else:
            out.append(line)
    return out


def _stands_alone(value: Any, indent: int) -> bool:
    """The sections of a build have a line for each entry."""
    return (
        indent == 0 and isinstance(value, dict) and any(isinstance(v, (dict, list)) for v in value.values())
    )


def _fits(value: Any, line: str) -> bool:
    return len(line) <= WIDTH and not (isinstance(value, str) and "\n" in value)


def _block(value: Any, indent: int) -> list[str]:
    if isinstance(value, dict):
        return _entries(value, indent)
    out = []
    for item in value:
        line = " " * indent + f"- {flow(item)}"
        if isinstance(item, dict) and item and not _fits(item, line):
            first, *rest = _entries(item, indent + 2)
            out += [" " * indent + "- " + first.lstrip(), *rest]
        else:
            out.append(line)
    return out


def _long(name: str, value: Any) -> list[str]:
    """A text of several lines or of a long one."""
    if not isinstance(value, str):
        return [f"{name} {flow(value)}"]
    body = value.removesuffix("\n")
    indent = " " * (len(name) - len(name.lstrip()) + 2)
    if "\n" in value and _can_be_literal(body):
        sign = "|" if value != body else "|-"
        return [f"{name} {sign}", *(f"{indent}{line}" if line else "" for line in body.split("\n"))]
    folded = textwrap.wrap(value, WIDTH - len(indent), break_long_words=False, break_on_hyphens=False)
    if " ".join(folded) == value and _can_be_literal(value) and len(folded) > 1:
        return [f"{name} >-", *(indent + line for line in folded)]
    chunks = [_quoted(value[i : i + _CHUNK])[1:-1] for i in range(0, len(value), _CHUNK)]
    # a backslash at the end of a line joins it to the next, whose first blank must not be lost
    lines = [
        ("\\" if chunk.startswith(" ") and number else "") + chunk for number, chunk in enumerate(chunks)
    ]
    return [f'{name} "' + f"\\\n{indent}".join(lines) + '"']


def _can_be_literal(body: str) -> bool:
    plain = not _not_printable().search(body) and "\r" not in body and "\t" not in body and len(body) < 20_000
    return plain and body[:1] not in (" ", "\n", "") and not body.endswith("\n")


def lines_of(value: dict[str, Any] | list[Any], indent: int) -> list[str]:
    """A mapping or list as the lines of a block.

    >>> lines_of({"pad": {"dims": {"height": "12 ±0.01"}}}, 2)
    ['  pad: {dims: {height: 12 ±0.01}}']
    """
    return _block(value, indent)
