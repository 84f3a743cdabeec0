"""Settings for the whole suite: property tests draw the same examples on every machine."""

from hypothesis import settings

from browsers import pytest_ignore_collect  # noqa: F401
from databases import database, places, pytest_terminal_summary, server, where  # noqa: F401

settings.register_profile("house", derandomize=True, deadline=None, max_examples=60, database=None)
settings.register_profile("explore", derandomize=False, deadline=None, max_examples=2000)
settings.load_profile("house")
