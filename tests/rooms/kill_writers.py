"""Starts writers at a book and kills each of them at an unforeseeable moment; run by test_book_kept.py.

    python kill_writers.py PLACE KILLS SEED

Writes a line of JSON: how many were killed, and the keys of all entries that the killed writers had had answers
for. It is a process of its own because a process with threads must not fork.
"""

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from books import reading
from loopwright import book

FORKS = hasattr(os, "fork")


def value(key: str) -> float:
    """What the entry of a key says."""
    return float(sum(map(ord, key)))


def write(where: str, run: int, answers: int) -> None:
    """Enter readings until the end comes, and pass on the key of each that was answered."""
    with book.open_book(where, patience=60) as mine:
        os.write(answers, b"open\n")
        for i in range(1_000_000):
            key = f"{run}-{i}"
            mine.append(reading(value=value(key)), who="Bo", key=key)
            os.write(answers, f"{key}\n".encode())


class Writer:
    """A writer in a process of its own, and the pipe on which it answers."""

    def __init__(self, where: str, run: int) -> None:
        self.out, into = os.pipe()
        if FORKS:
            self.process, self.pid = None, os.fork()
            if self.pid == 0:
                try:
                    write(where, run, into)
                finally:
                    os._exit(3)
        else:
            self.process = subprocess.Popen([sys.executable, __file__, "write", where, str(run)], stdout=into)
        os.close(into)

    def wait_until_open(self) -> None:
        """Wait until it has the book open."""
        assert os.read(self.out, 5) == b"open\n"

    def kill(self) -> list[str]:
        """End it at once, and return the keys of its answered entries."""
        if self.process is None:
            os.kill(self.pid, signal.SIGKILL)
            _, status = os.waitpid(self.pid, 0)
            assert os.WIFSIGNALED(status), "a writer ended before it was killed"
        else:
            assert self.process.poll() is None, "a writer ended before it was killed"
            self.process.kill()
            self.process.wait()
        with os.fdopen(self.out) as stream:
            return [line.strip() for line in stream if line.endswith("\n") and line != "open\n"]


def kill(where: str, kills: int, seed: int) -> tuple[int, list[str]]:
    """Start and kill writers, now and then two at once; how many were killed, and the keys they had answers for."""
    draw, killed, keys = random.Random(seed), 0, []
    while killed < kills:
        writers = [Writer(where, killed * 10 + i) for i in range(draw.choice((1, 1, 1, 2)))]
        if draw.random() < 0.8:  # the others are killed while they start
            for writer in writers:
                writer.wait_until_open()
        time.sleep(draw.uniform(0.001, 0.04))
        for writer in writers:
            keys += writer.kill()
            killed += 1
    return killed, keys


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(sys.argv[2], int(sys.argv[3]), 1)
    book.open_book(sys.argv[1]).close()  # so that a forked writer has everything it needs
    found = kill(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
    sys.stdout.write(json.dumps(found))
