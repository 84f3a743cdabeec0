"""How long tolerance charts take: ``python3 benchmarks/charts.py``.

A part of 40 ops on ten surfaces with two heat treatments, looked at for problems, charted, audited and freed; and 300
parts in a row. Beside each time stands its ratio to one plain linear solve of 40 unknowns, timed in the same run.
"""

import sys
from dataclasses import replace

import numpy as np
from timing import best

from loopwright.making.chart import Cut, CutSpread, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_checks import problems
from loopwright.making.chart_freeing import freeing
from loopwright.making.chart_limits import limits
from loopwright.making.chart_picture import drawn
from loopwright.making.chart_solving import Solution, chart, charts
from loopwright.making.chart_sources import sources

OPS, SURFACES, PARTS = 40, 10, 300


def part(number: int) -> Plan:
    """A part of 40 ops: sawn, roughed, hardened, ground; each surface is cut about four times."""
    draw = np.random.Generator(np.random.PCG64(number))
    names = [f"face {i}" for i in range(SURFACES)]
    cuts = [Cut(names[0], None, 0, "saw")]
    for op in range(1, OPS):
        makes = names[op % SURFACES]
        others = [name for name in names[: max(op, 1)] if name != makes]
        datum = str(draw.choice(others))
        cut, setting, seating = draw.uniform(0.001, 0.004, 3)
        spread = CutSpread(float(cut), float(setting), float(seating))
        cuts.append(Cut(makes, datum, 10 * op, f"setup {op}", spread, least=float(draw.uniform(0.05, 0.3))))
    finished = [
        Finished(f"dim {i}", names[int(draw.integers(i))], names[i], 10.0 * i, -0.1, 0.1)
        for i in range(1, SURFACES)
    ]
    heats = (Heat(155, 0.0, -0.0001, 0.0001), Heat(255, 0.0003, 0.0002, 0.0004))
    surfaces = tuple(Surface(name, 1 if i % 2 else -1) for i, name in enumerate(names))
    return Plan(f"part {number}", surfaces, tuple(cuts), tuple(finished), heats)


def written(plan: Plan, solution: Solution) -> Plan:
    """The plan with the sizes that were found for it."""
    cuts = list(plan.cuts)
    for dim in solution.working:
        size = Limits.around(dim.size, dim.half)
        cuts[dim.cut] = replace(cuts[dim.cut], size=size, sense=1 if dim.mean > 0 else -1)
    return replace(plan, cuts=tuple(cuts))


def main() -> None:
    """Measures and prints."""
    plan = part(0)
    solution = chart(plan)
    on_paper = written(plan, solution)
    plans = [part(number) for number in range(PARTS)]
    draw = np.random.Generator(np.random.PCG64(1))
    matrix, right = draw.normal(size=(OPS, OPS)), draw.normal(size=OPS)
    plain = best(lambda: np.linalg.solve(matrix, right), 100)
    works = {
        "problems, 40 ops": (lambda: problems(plan), 10),
        "tolerances, 40 ops": (lambda: limits(plan), 10),
        "charted, 40 ops": (lambda: chart(plan), 10),
        "sources of it": (lambda: sources(plan, solution), 10),
        "picture of it": (lambda: drawn(plan, solution), 10),
        "audit of it": (lambda: audit(on_paper), 10),
        "what would free it": (lambda: freeing(plan), 3),
        f"{PARTS} parts charted": (lambda: charts(plans), 2),
    }
    paths = len(solution.finished) + len(solution.stock)
    head = (
        f"{OPS} ops, {paths} paths, {len(freeing(plan).remedies)} remedies; plain solve {1e6 * plain:.1f} µs"
    )
    sys.stdout.write(f"{head}\n{'':32}{'time, ms':>12}{'plain solves':>14}\n")
    for name, (work, times) in works.items():
        took = best(work, times)
        sys.stdout.write(f"{name:32}{1e3 * took:12.2f}{took / plain:14.0f}\n")


if __name__ == "__main__":
    main()
