"""What the pages show: functions from a book, worked out, to markup. They run in the workroom, not in the server."""

from importlib import import_module
from pkgutil import iter_modules


def load_views() -> None:
    """Loads all of them, as before a process is made that shares what is loaded."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
