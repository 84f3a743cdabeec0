"""Fixtures of the tests of the pages."""

from browsers import (  # noqa: F401
    browser,
    demo,
    demo_archive,
    demo_book,
    large_archive,
    shown,
    window,
)
