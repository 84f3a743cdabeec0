"""Every text of the pages, in one place: texts/<language>/<page>.toml. A translation is one more folder."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

LANGUAGE = "en"


def say(key: str, **values: object) -> str:
    """A text of the pages.

    Args:
        key: 'page.name', as in 'frame.connection_lost'; deeper tables go on with further points.
        values: what stands in its braces.

    Raises:
        KeyError: there is no such text, or a value for a brace is missing; a test looks for both.

    >>> say("frame.entries", count=3)
    '3 entries'
    """
    words = _words(LANGUAGE)[key]
    return words.format(**values) if values else words


def plural(key: str, count: int, **values: object) -> str:
    """A text that counts: 'key' for several, 'key_one' for one.

    >>> plural("frame.entries", 1)
    '1 entry'
    """
    return say(f"{key}_one" if count == 1 else key, count=count, **values)


@cache
def _words(language: str) -> Mapping[str, str]:
    found: dict[str, str] = {}
    for file in (files("loopwright.web") / "texts" / language).iterdir():
        if file.name.endswith(".toml"):
            _gather(found, file.name.removesuffix(".toml"), tomllib.loads(file.read_text("utf-8")))
    return found


def _gather(found: dict[str, str], stem: str, table: Mapping[str, Any]) -> None:
    for key, value in table.items():
        if isinstance(value, dict):
            _gather(found, f"{stem}.{key}", value)
        else:
            found[f"{stem}.{key}"] = value


def keys() -> frozenset[str]:
    """All texts that there are."""
    return frozenset(_words(LANGUAGE))
