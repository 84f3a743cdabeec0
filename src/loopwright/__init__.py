"""Loopwright keeps the thread between drawing, shop and bench of a one-off precision machine."""

__version__ = "0.1.0"
