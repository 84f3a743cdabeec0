"""What was measured of making, as a section of docs/performance.md."""

from datetime import UTC, datetime

from charts import OPS, PARTS
from making import PIECES, SECONDS, SHEETS, WITHIN, Found
from timing import THREADS
from writing import laid_out, table, time

TITLE = "## Making"
ONE, MANY, PRINTED = 0.05, 5.0, 20.0
"""Aims, s: one part charted; all parts; all travellers printed."""


def section(found: Found, load: float) -> str:
    """The whole section.

    Args:
        found: what was measured.
        load: how many other programs wanted the processor when it began.
    """
    asked = [
        (f"a part of {OPS} ops charted and solved in {time(ONE)}", time(found.one), found.one < ONE),
        (f"{PARTS} such parts in {time(MANY)}", time(found.many), found.many < MANY),
        (
            f"a build of {PARTS} parts with routes, from its text to what is known of each dim, in {time(MANY)}",
            time(found.build),
            found.build < MANY,
        ),
        *(
            (
                f"a cut list of {name}, proven within {WITHIN:.0%} in {time(SECONDS)}",
                f"{time(one.seconds)}, {'proven' if one.gap == 0 else f'gap {one.gap:.2%}'}",
                one.gap <= WITHIN and one.seconds <= SECONDS + 1,
            )
            for name, one in found.lists.items()
        ),
        (
            f"{SHEETS} travellers printed in {time(PRINTED)}",
            f"{time(found.printed)} ({time(found.worked)} of a processor), {found.pages} pages",
            found.printed < PRINTED,
        ),
    ]
    verdicts = table(
        ("aim", "found", ""), ((aim, value, "met" if met else "**missed**") for aim, value, met in asked)
    )
    how = "; ".join(f"{name}: {one.how}" for name, one in found.lists.items())
    return laid_out(
        f"{TITLE}\n\n"
        f"Synthetic parts (`benchmarks/charts.py`, `benchmarks/making.py`): charts of {OPS} ops on ten surfaces with "
        f"two heats; pads with seven ops and three dims each; cut lists of {PIECES} pieces from bars of two lengths "
        "and prices and twelve off-cuts of the rack. Measured on "
        f"{datetime.now(UTC):%Y-%m-%d}, with a load average of {load:.1f} on {THREADS} cores at the start.\n\n"
        f"{verdicts}\n\n"
        f"Reading the text of the build is {time(found.reading)} of the {time(found.build)}; working out the "
        f"travellers is {time(found.worked_out)} of their printing. How the bounds of the cut lists were reached: "
        f"{how}."
    )
