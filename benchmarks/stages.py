"""In a fresh process: where the time of ``loopwright budget FILE`` goes. Prints seconds by stage as JSON."""

import time

BEGUN = time.perf_counter()

import contextlib  # noqa: E402 - the clock starts before everything else
import io  # noqa: E402
import json  # noqa: E402
import sys  # noqa: E402
from collections.abc import Callable  # noqa: E402
from typing import Any  # noqa: E402

import loopwright.cli  # noqa: E402
import loopwright.cli.budget  # noqa: E402
import loopwright.cli.standing_text  # noqa: E402
import loopwright.studies.exchange  # noqa: E402
from loopwright.loop import Loop  # noqa: E402
from loopwright.studies import checking  # noqa: E402

standing = sys.modules["loopwright.studies.standing"]  # the package holds a function of that name
TOOK = {"imports": time.perf_counter() - BEGUN}
STAGES = [
    (checking, "examine", "reading the file"),
    (checking, "examine_loop", "compiling the loop"),
    (Loop, "rows", "rows and budget"),
    (standing, "budget", "rows and budget"),
    (standing, "monte_carlo", "Monte Carlo"),
    (standing, "exactness", "check against exact motion"),
]


def timed(owner: Any, name: str, stage: str) -> None:
    """Replace a function by itself with a clock; calls from inside another stage count there."""
    function: Callable[..., Any] = getattr(owner, name)

    def clocked(*given: Any, **named: Any) -> Any:
        global running
        if running:
            return function(*given, **named)
        running, start = True, time.perf_counter()
        try:
            return function(*given, **named)
        finally:
            running = False
            TOOK[stage] = TOOK.get(stage, 0.0) + time.perf_counter() - start

    setattr(owner, name, clocked)


running = False
for entry in STAGES:
    timed(*entry)
sys.argv = ["loopwright", "budget", sys.argv[1]]
begun = time.perf_counter()
with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
    loopwright.cli.main()
stages = {stage for _, _, stage in STAGES}
rest = time.perf_counter() - begun - sum(TOOK[stage] for stage in stages)
print(json.dumps({**TOOK, "everything else, and printing": rest}))  # noqa: T201 - read by the parent
