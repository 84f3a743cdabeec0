"""In a fresh process: peak memory of one case. Prints MB after the imports, and at the most, as JSON.

``memory.py SOURCES STEPS TRIALS``: TRIALS 0 stops after the budget.
"""

import json
import resource
import sys
from pathlib import Path

from machines import machine

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import compile_loop

STATUS = Path("/proc/self/status")


def peak() -> float:
    """Most resident memory that this program has held so far, MB.

    Linux counts VmHWM from where a program begins. What ``getrusage`` gives there goes on from the process that
    started it, and would tell how large that one was; it serves only where there is no such count.
    """
    if STATUS.exists():
        found = next(line for line in STATUS.read_text("ascii").splitlines() if line.startswith("VmHWM:"))
        return int(found.split()[1]) * 1024 / 1e6
    return (
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024) / 1e6
    )


sources, steps, trials = map(int, sys.argv[1:])
bare = peak()
build = machine(sources, steps)
loop = compile_loop(build)
prior = prior_of(loop.sources, build.assume)
rows = loop.rows(build.targets["tool point"])
budget(rows, prior)
if trials:
    monte_carlo([rows], prior, [build.targets["tool point"].limit], trials=trials)
print(json.dumps({"imports": bare, "peak": peak(), "matrix": rows.matrix.nbytes / 1e6}))  # noqa: T201 - read by the parent
