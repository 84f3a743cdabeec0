"""What machines were found to hold: the estimate against a plain standard deviation, and against simulated shops."""

from math import log, sqrt
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.book import create
from loopwright.buildfile import read_text
from loopwright.making.found_capability import found_capability
from loopwright.model.records import Evaluated, Reading
from loopwright.studies.books import bench_of
from loopwright.studies.shop_machines import shop_machines
from two_posts import CHOOSING


def test_many_readings_of_one_machine_give_its_standard_deviation() -> None:
    """With nothing else in play the factor is the root mean square over what was taken, and its doubt 1/√(2n)."""
    drawn = np.random.Generator(np.random.SFC64(4)).normal(0, 0.006, 400)
    found = found_capability(drawn, [np.eye(400) * 0.003**2], np.eye(400) * 1e-12, np.array([log(2)]))
    assert found.factor[0] == pytest.approx(sqrt((drawn**2).mean()) / 0.003, rel=5e-3)
    assert found.log_std[0] == pytest.approx(1 / sqrt(2 * 400), rel=0.03)


def test_what_one_setting_shares_tells_little_of_it() -> None:
    """Ten dims of one setting show the setting once: of its factor nearly as little is known as before."""
    own, shared = np.eye(10) * 0.002**2, np.full((10, 10), 0.01**2)
    drawn = np.random.Generator(np.random.SFC64(5)).normal(0, 0.002, 10) + 0.01
    found = found_capability(drawn, [own, shared], np.eye(10) * 1e-10, np.array([log(2), log(2)]))
    assert found.informed[0] > 0.85
    assert found.informed[1] < 0.5


@settings(max_examples=10, deadline=None)
@given(st.lists(st.floats(0.3, 3.0), min_size=2, max_size=3), st.integers(0, 1000))
def test_the_truth_lies_where_it_is_said_to(factors: list[float], seed: int) -> None:
    """Of shops with known machines, measured on 30 dims each, the truth is within four of the stated doubts."""
    generator = np.random.Generator(np.random.SFC64(seed))
    count = 30 * len(factors)
    parts = [np.diag(np.repeat(np.eye(len(factors))[k], 30)) * 0.004**2 for k in range(len(factors))]
    true = sum(f**2 * part for f, part in zip(factors, parts)) + np.eye(count) * 0.001**2
    drawn = generator.normal(0, np.sqrt(np.diag(true)))
    found = found_capability(drawn, parts, np.eye(count) * 0.001**2, np.full(len(factors), 1.0))
    assert np.abs(np.log(found.factor / factors) / found.log_std).max() < 4.5


def test_without_readings_nothing_is_found() -> None:
    """A build without a book shows what is taken for each machine, and claims no more."""
    machines = {one.name: one for one in shop_machines(read_text(CHOOSING))}
    (face,) = machines["mill"].holds
    assert face.taken[:3] == (0.002, 0.015, 0.003)
    assert face.factor is None
    assert face.parts == 2


def test_readings_of_posts_tell_of_the_mill(tmp_path: Path) -> None:
    """Two posts read 30 µm off where 15 are taken: the mill is found to scatter more than it is taken to."""
    where = str(tmp_path / "posts.book")
    with create(
        where, CHOOSING, build_name="two posts", who="Ada", file="posts.yaml", why="first drawing"
    ) as held:
        for part, off in (("left", 0.03), ("right", -0.03)):
            value = Evaluated(values=(12 + off,), stds=(0.0005,))
            held.append(
                Reading(subject="dim", of=f"{part}/height", state=1, raw=((12 + off,),), evaluated=value),
                who="Ada",
            )
        bench = bench_of(held)
    (face,) = next(one for one in shop_machines(bench.build, bench) if one.name == "mill").holds
    assert face.read == 2
    assert face.factor is not None
    assert face.factor > 1.1
    assert 0 < face.informed < 1
