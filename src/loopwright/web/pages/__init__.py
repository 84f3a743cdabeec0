"""The pages. A room that gets pages of its own adds its module to PAGES; nothing else changes."""

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from importlib import import_module

from loopwright.web.desk import Desk

MODULES = (
    "standing",
    "next",
    "bench",
    "import_table",
    "parts",
    "route",
    "making",
    "shop",
    "saw_list",
    "machines",
    "route_change",
    "shop_sheets",
    "fit_up",
    "bought",
    "machine",
    "description",
    "what_if",
    "gauges",
    "book",
    "address",
    "people",
    "start",
    "guided",
)
"""Modules of this package that hold pages, in the order in which they are listed."""


@dataclass(frozen=True)
class Page:
    """One page.

    Attributes:
        path: its address; '{name}' takes one part of it.
        title: key of its title in the texts.
        build: puts it together: takes the desk, and the named parts of its address as text.
        listed: whether it stands on the list of pages.
        letter: pressed after g, it opens the page.
        role: who may see it.
        bookless: it can be opened while no book is.
    """

    path: str
    title: str
    build: Callable[..., Awaitable[None]]
    listed: bool = True
    letter: str = ""
    role: str = "read"
    bookless: bool = False


def every_page() -> tuple[Page, ...]:
    """All pages, in their order."""
    return tuple(page for module in MODULES for page in import_module(f"loopwright.web.pages.{module}").PAGES)


__all__ = ["MODULES", "Desk", "Page", "every_page"]
