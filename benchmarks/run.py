"""Measure Loopwright on this machine and write docs/performance.md: ``python3 benchmarks/run.py``.

Needs the development environment (requirements/dev.lock). It takes some minutes; leave the machine alone. With
``--only pages`` only the pages are measured in a browser, with ``--only making`` only the making of parts, and only
their section is written anew.
"""

import argparse
import os
import sys
from pathlib import Path

from bench import at_the_bench
from making import measure_making
from making_section import TITLE as MAKING
from making_section import section as making_section
from measure import (
    Case,
    all_rectangular,
    case,
    command_line,
    general_library,
    growth,
    memory,
    throughput,
    without_patterns,
)
from page import Found, page
from pages import CHROMIUM, measure_pages
from pages_section import TITLE, section
from timing import machine_words

PAGE = Path(__file__).resolve().parents[1] / "docs" / "performance.md"
CASES = {"300 x 125": (300, 5), "1,000 x 343": (1000, 7), "5,000 x 1,000": (5000, 10)}
TRIALS = {"300 x 125": 100_000, "1,000 x 343": 40_960, "5,000 x 1,000": 8192}


def say(words: str) -> None:
    """A line of progress."""
    sys.stderr.write(words + "\n")


def measure(titles: list[str]) -> Found:
    """Everything, one after the other."""
    found = Found(machine_words())
    say("at the command line")
    found.command = command_line(case(*CASES["300 x 125"]))
    say("at the bench")
    found.bench = at_the_bench()
    for title in titles:
        say(f"{title}: memory")
        found.memory.append((f"{title}, budget", memory(*CASES[title])))
    for title, trials in (("300 x 125", 10_000), ("300 x 125", 1_000_000), (titles[-1], 10_000)):
        say(f"{title}, {trials} trials: memory")
        found.memory.append((f"{title}, {trials:,} trials", memory(*CASES[title], trials)))
    for title in titles:
        say(f"{title}: compiling and the budget")
        one = case(*CASES[title])
        found.sizes[title], found.growth[title] = one.size, growth(one, 7)
        say(f"{title}: Monte Carlo")
        found.throughput[f"{title}, as stated"] = throughput(one, one.prior, TRIALS[title])
        if title == "300 x 125":
            small(found, one)
    load = os.getloadavg()[0]
    found.making = making_section(measure_making(say), load)
    if CHROMIUM is not None:
        load = os.getloadavg()[0]
        found.pages = section(measure_pages(say), load)
    return found


def small(found: Found, one: Case) -> None:
    """What is measured on the smallest case only."""
    flat = all_rectangular(one.prior)
    found.throughput["300 x 125, all rectangular"] = throughput(one, flat, 100_000)
    with without_patterns():
        found.throughput["300 x 125, all drawn and multiplied"] = throughput(one, flat, 50_000)
    say("300 x 125: the general-purpose library")
    found.library = general_library(one)


def only(what: str) -> str:
    """Measures the pages, or making; the page of all measurements with that section in its new state."""
    load = os.getloadavg()[0]
    if what == "making":
        return with_section(making_section(measure_making(say), load), MAKING)
    return with_section(section(measure_pages(say), load), TITLE)


def with_section(fresh: str, title: str) -> str:
    """The page of all measurements with one of its sections anew; one that it lacks comes last."""
    before, _, rest = PAGE.read_text("utf-8").partition(f"{title}\n")
    _, mark, after = rest.partition("\n## ")
    return f"{before.rstrip()}\n\n{fresh.rstrip()}\n" + (f"\n{mark.strip()} {after}" if mark else "")


def main() -> None:
    """Measures, prints, and writes the page."""
    parser = argparse.ArgumentParser(description="Measure Loopwright on this machine.")
    parser.add_argument("--quick", action="store_true", help="leave the larger cases out, and write no page")
    parser.add_argument(
        "--no-page", action="store_true", help="print only; leave docs/performance.md as it is"
    )
    parser.add_argument(
        "--only", choices=["pages", "making"], help="measure these, and leave the other sections alone"
    )
    asked = parser.parse_args()
    if asked.only:
        text = only(asked.only)
    else:
        text = page(measure(list(CASES)[:1] if asked.quick else list(CASES)))
    sys.stdout.write(text)
    if not (asked.quick or asked.no_page):
        PAGE.write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    main()
