"""The example builds that ship with Loopwright; both machines are invented."""

from difflib import get_close_matches
from importlib.resources import files

from loopwright.errors import RequestError


def names() -> list[str]:
    """Names of the shipped examples."""
    folder = files("loopwright.buildfile") / "examples"
    return sorted(
        entry.name.removesuffix(".yaml") for entry in folder.iterdir() if entry.name.endswith(".yaml")
    )


def text(name: str) -> str:
    """Text of a shipped example.

    Raises:
        RequestError: there is none of that name.
    """
    known = names()
    if name not in known:
        close = get_close_matches(name, known, n=1, cutoff=0.3)
        remedy = f"did you mean '{close[0]}'?" if close else f"there are: {', '.join(known)}"
        raise RequestError(f"there is no example '{name}'", remedy)
    return (files("loopwright.buildfile") / "examples" / f"{name}.yaml").read_text(encoding="utf-8")
