"""Clocks: the best of several runs, fresh processes, and what this machine can do in matrix products."""

import json
import os
import platform
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

HERE = Path(__file__).resolve().parent
THREADS = os.cpu_count() or 1
AS_INSTALLED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""A user's Python keeps what it compiled; where that is switched off every start would compile it all again."""


def best(work: Callable[[], object], times: int = 5) -> float:
    """Shortest of several runs, s: what the work takes when nothing else disturbs it."""
    return min(seconds(work) for _ in range(times))


def busy(work: Callable[[], object]) -> tuple[float, float]:
    """One run: seconds on the clock, and those that the cores worked for it, shared among all cores.

    The first counts waiting, also for other programs; the second only what was done.
    """
    clock, worked = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, (time.process_time() - worked) / THREADS


def seconds(work: Callable[[], object]) -> float:
    """One run, s."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def command(*words: str, times: int = 5) -> float:
    """Median time of a Python command line in a fresh process, s."""

    def run() -> None:
        subprocess.run([sys.executable, *words], check=True, capture_output=True, env=AS_INSTALLED)

    run()
    return statistics.median(seconds(run) for _ in range(times))


def fresh(script: str, *words: str) -> dict[str, float]:
    """What a script of this folder prints as JSON in its last line, run in a fresh process."""
    done = subprocess.run(
        [sys.executable, str(HERE / script), *words],
        check=True,
        capture_output=True,
        text=True,
        cwd=HERE,
        env=AS_INSTALLED,
    )
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def product_rate(shapes: tuple[int, int, int], work: float = 8e9) -> np.ndarray:
    """Double-precision rate of (a, b) @ (b, c) on every core at once, one BLAS thread each, flop/s.

    By the clock, and by the time that the cores worked.
    """
    a, b, c = shapes
    generator = np.random.default_rng(0)
    left, rounds = generator.random((a, b)), max(int(work / (2 * a * b * c) / THREADS), 1)
    rights = [generator.random((b, c)) for _ in range(THREADS)]
    outs = [np.empty((a, c)) for _ in range(THREADS)]

    def one(number: int) -> None:
        for _ in range(rounds):
            np.matmul(left, rights[number], out=outs[number])

    with threadpool_limits(1), ThreadPoolExecutor(THREADS) as pool:
        took = np.min([busy(lambda: list(pool.map(one, range(THREADS)))) for _ in range(2)], axis=0)
    return np.asarray(2.0 * a * b * c * rounds * THREADS / took)


def machine_words() -> list[str]:
    """The machine and the versions that were used; nothing that tells whose machine it is."""
    lines = [f"Processor: {processor()}, {THREADS} cores seen, {memory_words()} of memory"]
    lines.append(f"System: {platform.system()} {platform.machine()}")
    names = ("numpy", "scipy", "pydantic", "ruamel.yaml", "uncertainties")
    lines.append(f"Python {platform.python_version()}; " + ", ".join(f"{n} {version(n)}" for n in names))
    lines.append(f"Date: {datetime.now(UTC):%Y-%m-%d}; load average at the start {os.getloadavg()[0]:.1f}")
    return lines


def processor() -> str:
    """Model of the processor."""
    path = Path("/proc/cpuinfo")
    lines = path.read_text("utf-8").splitlines() if path.exists() else []
    names = [line.partition(":")[2].strip() for line in lines if line.startswith("model name")]
    return names[0] if names else platform.processor() or platform.machine()


def memory_words() -> str:
    """Memory of the machine."""
    return f"{os.sysconf('SC_PAGE_SIZE') * os.sysconf('SC_PHYS_PAGES') / 2**30:.0f} GiB"
