"""In a fresh process: peak memory of one case. Prints MB after the imports, and at the most, as JSON.

``memory.py SOURCES STEPS TRIALS``: TRIALS 0 stops after the budget.
"""

import json
import resource
import sys

from machines import machine

from loopwright.asbuilt.budget import budget
from loopwright.asbuilt.montecarlo import monte_carlo
from loopwright.asbuilt.prior import prior_of
from loopwright.loop import compile_loop


def peak() -> float:
    """Most memory held so far, MB."""
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / unit


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
