"""The measurements as a page of plain words: docs/performance.md."""

from dataclasses import dataclass, field

import numpy as np
from measure import Throughput, exponent
from writing import laid_out, table, time


@dataclass
class Found:
    """Everything that was measured.

    Attributes:
        machine: lines that name the machine.
        sizes: (sources, poses, components) of each case, by its title.
        growth: seconds of each step, by title.
        command: seconds of the command line and its stages.
        bench: seconds of what a user waits for at the bench.
        library: comparison with the general-purpose library.
        throughput: Monte Carlo, by title.
        memory: (title, figures in MB).
        making: the section on the making of parts.
        pages: the section on the pages in a browser; '' where there is none to measure them in.
    """

    machine: list[str]
    sizes: dict[str, tuple[int, int, int]] = field(default_factory=dict)
    growth: dict[str, dict[str, float]] = field(default_factory=dict)
    command: dict[str, float] = field(default_factory=dict)
    bench: dict[str, float] = field(default_factory=dict)
    library: dict[str, float] = field(default_factory=dict)
    throughput: dict[str, Throughput] = field(default_factory=dict)
    memory: list[tuple[str, dict[str, float]]] = field(default_factory=list)
    making: str = ""
    pages: str = ""


HEAD = """# How fast it is, and how much memory it takes

Measured by `python3 benchmarks/run.py` in the development environment; this page is what it wrote. Times
differ from machine to machine, so look at the ratios: both sides of each were measured in the same run.
Machines used here are synthetic (`benchmarks/machines.py`): three axes on guides, and plates on as many
pads as it takes. Times are the best of several runs, those of the command line a median of five.
"""


def page(found: Found) -> str:
    """The whole page."""
    sections = [HEAD, "\n".join(f"- {line}" for line in found.machine)]
    sections += ["## Aims", aims(found)]
    sections += ["## Compiling and the budget", growth(found)]
    sections += ["## At the command line", command(found)]
    sections += ["## At the bench", bench(found)]
    sections += ["## Beside a general-purpose library", library(found)]
    sections += ["## Monte Carlo", monte_carlo(found)]
    sections += ["## Memory", memory(found)]
    sections += [found.making]
    if found.pages:
        sections += [found.pages]
    return "\n\n".join(laid_out(section) for section in sections) + "\n"


def aims(found: Found) -> str:
    """Each aim, what was found, and whether it is met."""
    one = found.throughput["300 x 125, as stated"]
    plain = found.throughput["300 x 125, all drawn and multiplied"]
    extras = sum(found.command[stage] for stage in ("Monte Carlo", "check against exact motion"))
    without_extras = found.command["budget"] - extras
    asked = [
        (
            "`loopwright --help` answers within 0.5 s",
            time(found.command["help"]),
            found.command["help"] < 0.5,
        ),
        (
            "the 300 x 125 case, compiled and budgeted from the command line, takes well under 0.5 s (taken "
            "as 0.45 s), imports and printing included",
            time(without_extras),
            without_extras < 0.45,
        ),
        (
            "the same with everything the command adds by default, Monte Carlo and the check against exact "
            "motion, stays under 0.5 s",
            time(found.command["budget"]),
            found.command["budget"] < 0.5,
        ),
        (
            "a reading recorded and the front page refreshed in under 100 ms, 500 sources over 125 poses",
            time(found.bench["one reading recorded, front page refreshed"]),
            found.bench["one reading recorded, front page refreshed"] < 0.1,
        ),
        (
            "`loopwright standing` from a cold start in under 1 s",
            time(found.bench["standing, from a cold start"]),
            found.bench["standing, from a cold start"] < 1,
        ),
        (
            "200 readings that could be taken ranked in under 0.5 s",
            f"{time(found.bench['ranking'])} for {found.bench['candidates']:.0f}",
            found.bench["ranking"] < 0.5 and found.bench["candidates"] >= 200,
        ),
        (
            "3 of 50 items chosen exactly in under 2 s",
            time(found.bench["selection"]),
            found.bench["selection"] < 2,
        ),
        (
            "a budget is at least 300 times faster than through a general-purpose library",
            f"{fastest(found.library) / found.library['ours']:,.0f} times",
            fastest(found.library) / found.library["ours"] >= 300,
        ),
        (
            "Monte Carlo does the work of the plain method at half of the machine's matrix product rate "
            "or more",
            both(one.plain / one.square),
            min(one.plain / one.square) >= 0.5,
        ),
        (
            "the same with every source rectangular, and every product of the plain method really done",
            both(plain.plain / plain.square),
            min(plain.plain / plain.square) >= 0.5,
        ),
        (
            "the first again, counting only the products that were really done",
            both(one.done / one.square),
            min(one.done / one.square) >= 0.5,
        ),
    ]
    verdicts = table(
        ("aim", "found", ""), ((aim, value, "met" if met else "**missed**") for aim, value, met in asked)
    )
    square = [1e-9 * one.square[0] for one in found.throughput.values()]
    if max(square) < 1.15 * min(square):
        return verdicts
    return (
        f"{verdicts}\n\n**This machine was not left alone meanwhile:** its rate of matrix "
        f"products went from {min(square):.0f} to {max(square):.0f} GFLOP/s between the cases. Times by "
        "the clock are too long therefore, most of all those of the command line; of the shares, trust "
        "those by the time that the cores worked."
    )


def both(shares: np.ndarray) -> str:
    """A share by the clock, and by the time that the cores worked."""
    return " or ".join(f"{share:.2f}" for share in shares)


def fastest(library: dict[str, float]) -> float:
    """The better of the two ways to use the general-purpose library."""
    return min(library["plain"], library["arrays"])


def growth(found: Found) -> str:
    """Times by case, and how they grow."""
    steps = list(next(iter(found.growth.values())))
    rows = [
        (title, str(found.sizes[title][0]), str(found.sizes[title][1]), *(time(took[s]) for s in steps))
        for title, took in found.growth.items()
    ]
    text = table(("case", "open sources", "poses", *steps), rows)
    titles = list(found.growth)
    if len(titles) < 2:
        return text
    first, last = titles[0], titles[-1]
    sources = found.sizes[last][0] / found.sizes[first][0]
    entries = sources * found.sizes[last][1] / found.sizes[first][1]
    power = {
        step: exponent(
            found.growth[first][step],
            found.growth[last][step],
            entries if step in ("rows", "budget") else sources,
        )
        for step in steps
    }
    return (
        f"{text}\n\nFrom the smallest to the largest case the time grows as a power of the size: text to "
        f"build {power['text to build']:.2f} and build to loop {power['build to loop']:.2f} of the number "
        f"of sources; rows {power['rows']:.2f} and budget {power['budget']:.2f} of the number of sources "
        "times poses, which is the size of the matrix. A power of 1 means that every number is touched a "
        "fixed number of times."
    )


def command(found: Found) -> str:
    """What a user waits for."""
    whole = found.command["budget"]
    stages = {name: took for name, took in found.command.items() if name not in ("budget", "help")}
    rows = [(name, time(took), f"{took / whole:.0%}") for name, took in stages.items()]
    return (
        f"`loopwright budget FILE` on the 300 x 125 case takes {time(whole)} from pressing the key to the "
        "last line, imports, Monte Carlo and printing included; `loopwright --help` "
        f"{time(found.command['help'])}.\n\n"
        + table(("stage", "time", "share"), rows)
        + "\n\nThe stages were timed in runs of their own, so they add up to the whole only about."
    )


def bench(found: Found) -> str:
    """What a user waits for while a machine is built."""
    took = found.bench
    counts = [name.partition(" ")[0] for name in took if name.endswith("from the book")]
    rows = [
        (
            f"{int(count):,}",
            *(
                time(took[f"{count} readings: {what}"])
                for what in ("one more, refreshed", "from the book", "standing")
            ),
        )
        for count in counts
    ]
    return (
        "A synthetic machine of 500 sources over 125 poses and 3 components, its book on this disk. One reading "
        "recorded, on the disk for good, and every number of the front page worked out anew, in a program that has "
        f"the book open: {time(took['one reading recorded, front page refreshed'])}. `loopwright standing` from a "
        f"cold start: {time(took['standing, from a cold start'])}. Ranking {took['candidates']:.0f} readings that "
        f"could be taken: {time(took['ranking'])}. Choosing 3 of 50 items, all 117,600 choices: "
        f"{time(took['selection'])}.\n\n"
        + table(("readings in the book", "one more, refreshed", "book to bench", "`standing`, cold"), rows)
    )


def library(found: Found) -> str:
    """The ratio, and how it was found."""
    took = found.library
    ways = {"floats, one sum a row": took["plain"], "its NumPy arrays": took["arrays"]}
    rows = [
        (name, time(way), f"{way / took['ours']:,.0f}", f"{way / took['ours with rows']:,.0f}")
        for name, way in ways.items()
    ]
    return (
        f"The same matrix of {took['sources']:.0f} sources over 125 poses and 3 components, its standard "
        "uncertainties worked out by the Python library `uncertainties`, which tracks every correlation. "
        f"Loopwright takes {time(took['ours'])} for it, shares of every source included, and "
        f"{time(took['ours with rows'])} if making the matrix from the machine is counted too. The "
        f"results agree to {took['apart']:.0e} of the largest.\n\n"
        + table(
            ("the library's way", "time", "times Loopwright", "times Loopwright with the matrix made"), rows
        )
        + "\n\nThat library can follow any formula; Loopwright adds up a matrix, because it knows that the "
        "problem is linear. That is what the ratio is worth, and no more."
    )


def monte_carlo(found: Found) -> str:
    """Throughput against the machine's own rate."""
    shares, stages = [], []
    for title, one in found.throughput.items():
        rates = (one.plain, one.done, one.square, one.shaped)
        shares.append((title, time(one.per_trial[0]), *(f"{rate[0] / 1e9:.0f}" for rate in rates)))
        shares[-1] += both(one.plain / one.square), both(one.done / one.square)
        drawn = f"{one.columns[0]} + {one.columns[1]}"
        stages.append(
            (title, drawn, *(time(part) for part in one.parts.values()), time(one.preparing)),
        )
    return (
        "One trial builds the machine once on paper and follows the worst error over all poses. The "
        "plain method takes 2 x sources x rows products and sums a trial; *plain* divides that by the "
        "time, *done* divides what was really multiplied. Both are set against this machine's "
        "double-precision rate of square matrix products, all cores, in the same run (*square*; *shaped* "
        "is the rate for products of the plain method's shape). Rates in GFLOP/s, by the clock. Shares "
        "are given twice: by the clock, or by the time that the cores worked. The first also counts "
        "cores that wait; the second does not mind other programs on the machine.\n\n"
        + table(
            ("case", "a trial", "plain", "done", "square", "shaped", "plain / square", "done / square"),
            shares,
        )
        + "\n\nThe share can be over 1 because most products need not be done. The errors of all poses are "
        "sums of a few dozen patterns over the volume, which are found first, to 13 digits; a trial "
        "draws how much there is of each. Normal sources are drawn together, as no more columns than "
        "there are patterns. *All drawn and multiplied* turns both off. Where the time goes, on one "
        "thread, a trial:\n\n"
        + table(
            (
                "case",
                "drawn: normal + other",
                *next(iter(found.throughput.values())).parts,
                "preparing, once",
            ),
            stages,
        )
        + "\n\nResults are the same bits for any number of threads."
    )


def memory(found: Found) -> str:
    """Peak memory of fresh processes."""
    rows = [
        (title, *(f"{figures[k]:,.0f} MB" for k in ("imports", "matrix", "peak")))
        for title, figures in found.memory
    ]
    return (
        "Peak resident memory of a fresh process, as the system counts it from where the program begins (VmHWM in "
        "/proc/self/status, read when the imports are done and again at the end); what the process that started it "
        "holds is not in it. The matrix is what must be held. Monte Carlo lays the "
        "matrices of all targets side by side and takes them apart, so for a moment it holds two copies "
        "more; after that each thread holds one chunk of 512 trials, so that their number makes no "
        "difference.\n\n" + table(("case", "after imports", "matrix", "peak"), rows)
    )
