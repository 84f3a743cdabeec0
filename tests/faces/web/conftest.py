"""Fixtures of the tests of the pages."""

from browsers import browser, demo, demo_archive, demo_book, shown, window  # noqa: F401
