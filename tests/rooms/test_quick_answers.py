"""What keeps the front page quick: little is loaded, and nothing is worked out twice."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from loopwright.book import create
from loopwright.buildfile import examples
from loopwright.model.records import Entry, Revision, State
from loopwright.studies import as_built, example_loop
from loopwright.studies.bench import Bench, bench
from loopwright.studies.books import front_page
from loopwright.studies.recording import Typed, consider

EXAMPLE = "guitar-gantry"
SLOW = ("scipy", "alembic", "ruamel.yaml", "numpy.ma")
"""Libraries that take a hundredth of a second or more to load, and that a front page can do without."""


def entry(number: int, record: Any) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=1, record=record)


def start() -> Bench:
    """The machine before any reading."""
    described = Revision(text=examples.text(EXAMPLE)), State(reason="as assembled", cause="start")
    return bench([entry(number, record) for number, record in enumerate(described, 1)])


def read(now: Bench) -> Any:
    """A reading of a dim, as large as it is drawn, with the gauge that fits it."""
    for path in now.loop.dims:
        dim = now.build.dim(path)
        assert dim is not None
        fitting = [name for name, gauge in now.build.gauges.items() if gauge.dimension is dim.dimension]
        if fitting:
            return consider(now, Typed(path, [[f"{dim.nominal} mm"]], gauge=fitting[0])).reading
    raise AssertionError("no gauge of the example reads any of its dims")


def test_the_front_page_loads_no_library_that_it_can_do_without(tmp_path: Path) -> None:
    """`loopwright standing` on a book with a reading in it comes without the libraries that are slow to load."""
    place = tmp_path / "gantry.book"
    with create(place, examples.text(EXAMPLE), build_name="gantry", who="Ada") as book:
        book.append(read(start()), who="Ada")
    code = (
        "import sys\nfrom loopwright.cli import main\ntry:\n    main()\n"
        f"finally:\n    print([name for name in {SLOW} if name in sys.modules])"
    )
    asked = [sys.executable, "-c", code, "standing", "--book", str(place)]
    done = subprocess.run(asked, capture_output=True, encoding="utf-8", check=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_one_more_reading_is_drawn_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is now is what was before the next reading, also on a bench that had readings when it was opened."""
    begun = start()
    reading = read(begun)
    now = bench([*begun.entries, entry(3, reading), entry(4, reading)])
    draws: list[object] = []
    draw = as_built.draw
    monkeypatch.setattr(as_built, "draw", lambda *a, **k: (draws.append(a[0]), draw(*a, **k))[1])
    front_page(now)
    assert len(draws) == 2
    for number in (5, 6, 7):
        now = now.with_reading(entry(number, reading))
        draws.clear()
        front_page(now)
        assert draws == [now.knowledge]


def test_a_joint_is_solved_once_for_the_same_stations() -> None:
    """Tests that sweep the same stations share what the joint does there; nobody can change it."""
    model = next(m for m in example_loop(EXAMPLE).joints.values() if m.joint.travel)
    moves = np.linspace(0.0, 10.0, 3)
    found = model.at(moves)
    assert model.at(moves.copy()) is found
    assert model.at(moves[:2]) is not found
    with pytest.raises(ValueError, match="read-only"):
        found.placement[0] = 0.0
