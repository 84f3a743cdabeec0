"""How many threads a matrix product takes."""

from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController


@cache
def _libraries() -> ThreadpoolController:
    return ThreadpoolController()  # it searches all that the process has loaded


def one_thread() -> Any:
    """In a ``with`` statement: every product takes one thread.

    Many small products on many threads would wait for each other longer than they work; and where the work itself
    is spread over threads, each has its own product.
    """
    return _libraries().limit(limits=1)
