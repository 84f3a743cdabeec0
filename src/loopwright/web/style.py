"""The style of the pages: that of the paper reports, and what a screen needs besides."""

import re
from functools import cache
from importlib.resources import files

_DARK = re.compile(r"@media \(prefers-color-scheme: dark\) \{\s*:root \{(?P<dark>[^}]*)\}\s*\}")
_LIGHT = re.compile(r":root \{(?P<light>[^}]*)\}")


@cache
def style() -> str:
    """All rules of the pages, as one text; light and dark can be asked for besides being as the screen is."""
    sheets = files("loopwright.sheets")
    paper = (sheets / "page_style.css").read_text("utf-8")
    chart = (sheets / "chart_style.css").read_text("utf-8")
    dark, light = _DARK.search(paper), _LIGHT.search(paper)
    assert dark is not None
    assert light is not None
    chosen = (
        f':root[data-theme="light"] {{{light["light"]} color-scheme: light; }}\n'
        f':root[data-theme="dark"] {{{dark["dark"]} color-scheme: dark; }}\n'
    )
    own = sorted(
        (file for file in (files("loopwright.web") / "assets").iterdir() if file.name.endswith(".css")),
        key=lambda file: file.name,
    )
    return paper + chosen + chart + "".join(file.read_text("utf-8") for file in own)


@cache
def script() -> str:
    """All scripts of the pages, the one that every page needs first."""
    own = sorted(
        (file for file in (files("loopwright.web") / "assets").iterdir() if file.name.endswith(".js")),
        key=lambda file: (file.name != "desk.js", file.name),
    )
    return "\n".join(file.read_text("utf-8") for file in own)
