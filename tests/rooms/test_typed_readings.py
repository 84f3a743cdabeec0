"""Readings as they are typed: deviations from nominal, and a slip in one of several repeats."""

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.measuring.plausibility import doubt_about_repeat
from loopwright.model.records import Entry, Record, Revision, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.meant import Meant, meanings
from loopwright.studies.recording import Considered, Typed, consider


def entry(number: int, record: Record) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=1, record=record)


@pytest.fixture(scope="module")
def start() -> Bench:
    """The clock-plate machine before any reading."""
    text = examples.text("clock-plate")
    return bench([entry(1, Revision(text=text)), entry(2, State(reason="as assembled", cause="start"))])


def dim(*values: str, of: str = "column/Z_shoulder", gauge: str = "length gauge", **more: object) -> Typed:
    """Repeats of a dim."""
    return Typed(of, [list(values)], gauge=gauge, **more)  # type: ignore[arg-type]


def offered(start: Bench, typed: Typed) -> tuple[Considered, tuple[Meant, ...]]:
    """What came of a reading, and what may have been meant."""
    considered = consider(start, typed)
    return considered, meanings(start, typed, considered)


def test_a_comparator_shows_deviations(start: Bench) -> None:
    """0.003 from nominal is 50.003, just as uncertain; what was typed stays, and a note says how it was meant."""
    direct = consider(start, dim("50.003", "50.004")).reading
    found = consider(start, dim("0.003", "0.004", from_nominal=True)).reading
    assert found.evaluated.values == pytest.approx(direct.evaluated.values)
    assert found.evaluated.stds == direct.evaluated.stds
    assert found.evaluated.effects == direct.evaluated.effects
    assert (found.typed, found.raw) == ((("0.003", "0.004"),), ((0.003, 0.004),))
    assert "typed as deviations from the nominal 50 mm" in found.evaluated.notes


def test_an_angle_from_nominal_is_typed_in_seconds(start: Bench) -> None:
    """17 arcsec of a dim of 90° is 90° and 17 arcsec."""
    typed = dim("1.7 arcsec", of="column/foot_lean", gauge="cylinder square", from_nominal=True)
    found = consider(start, typed).reading
    assert np.degrees(found.evaluated.values[0]) == pytest.approx(90 + 1.7 / 3600, abs=1e-10)


def test_a_warm_part_is_corrected_by_its_whole_size(start: Bench) -> None:
    """A comparator on a part 3 K warm: the deviation is corrected by the growth of the nominal."""
    direct = consider(start, dim("50.003", part_temperature="23 degC", gauge_temperature="20 degC")).reading
    typed = dim("0.003", from_nominal=True, part_temperature="23 degC", gauge_temperature="20 degC")
    found = consider(start, typed).reading
    assert found.evaluated.values == pytest.approx(direct.evaluated.values, abs=1e-8)
    assert direct.evaluated.values[0] < 50.002


def test_the_nominal_written_along_is_offered(start: Bench) -> None:
    """50.003 typed as a deviation is doubted; 0.003 is what was meant, and taking it gives 50.003."""
    considered, meant = offered(start, dim("50.003", from_nominal=True))
    assert considered.doubt is not None
    assert "50.0030 mm was found where 0.0000 mm is expected" in considered.doubt.what
    assert (meant[0].shown, meant[0].what) == ("0.003 mm", "the nominal is written along")
    assert meant[0].typed is not None
    assert consider(start, meant[0].typed).reading.evaluated.values[0] == pytest.approx(50.003, abs=1e-6)


@pytest.mark.parametrize("of", ["X straight in Y", "pad_FL/height"])
def test_only_sizes_have_a_nominal(start: Bench, of: str) -> None:
    """A test and a comparison show deviations already."""
    against = "pad_FR/height" if "/" in of else None
    with pytest.raises(RequestError, match="has no nominal size"):
        consider(
            start, Typed(of, [["1 µm"]] * 2, against=against, gauge="micron indicator", from_nominal=True)
        )


def test_one_repeat_that_is_off_is_offered_alone(start: Bench) -> None:
    """Of 50.003, 5.0004 and 50.003 the second is a slip; the others stay as they were typed."""
    considered, meant = offered(start, dim("50.003", "5.0004", "50.003"))
    assert considered.doubt is not None
    assert "of 3 repeats number 2 is not borne out by the others" in considered.doubt.what
    assert meant[0].what == "the decimal point is one place too far left"
    assert meant[0].typed is not None
    assert meant[0].typed.values == [["50.003", "50.004", "50.003"]]
    assert "typed as 50.003 5.0004 50.003" in str(meant[0].typed.note)
    assert consider(start, meant[0].typed).doubt is None


def test_of_two_repeats_the_expectation_tells_which(start: Bench) -> None:
    """Two that differ tell nothing of each other; the one that is not as expected is offered otherwise."""
    considered, meant = offered(start, dim("50.003", "5.0004"))
    assert considered.doubt is not None
    assert meant[0].typed is not None
    assert meant[0].typed.values == [["50.003", "50.004"]]
    assert meant[0].what.endswith("in repeat 2 alone")


def test_all_repeats_with_one_slip_are_taken_together(start: Bench) -> None:
    """Three repeats with the decimal point one place off are all moved."""
    _, meant = offered(start, dim("5.0003", "5.0004", "5.0003"))
    assert meant[0].typed is not None
    assert meant[0].typed.values == [["50.003", "50.004", "50.003"]]
    assert meant[0].what == "the decimal point is one place too far left"


def test_a_sign_from_nominal_in_one_repeat(start: Bench) -> None:
    """A comparator's minus that was forgotten once is offered for that repeat."""
    _, meant = offered(start, dim("-0.012", "0.012", "-0.013", from_nominal=True))
    assert ("-0.012 mm", "the sign is missing or too many") in [(one.shown, one.what) for one in meant]


def sweep(*values: str) -> Typed:
    """Nine poses of a sweep, repeats parted by ','."""
    return Typed("X straight in Y", [one.split(",") for one in values], unit="µm")


def test_a_slip_in_one_repeat_of_a_sweep(start: Bench) -> None:
    """Pose 4 was read 1, 11 and 1: its second repeat is offered as 1, and nothing else changes."""
    values = ["0,0,0", "1,1,0", "1,1,1", "1,11,1", "1,2,1", "1,1,1", "1,1,1", "0,1,0", "0,0,0"]
    considered, meant = offered(start, sweep(*values))
    assert considered.doubt is not None
    assert "number 2 is not borne out" in considered.doubt.what
    taken = [one for one in meant if one.typed is not None and one.typed.values[3] == ["1", "1", "1"]]
    assert taken
    assert taken[0].typed is not None
    assert taken[0].typed.values[:3] == [one.split(",") for one in values[:3]]


def test_a_whole_sweep_with_repeats_is_taken_otherwise(start: Bench) -> None:
    """Values typed in tenths of what they are, every pose twice: the offer moves the point of all of them."""
    values = [f"{v},{v + 1}" for v in (0, 1000, 2000, 3000, 4000, 3000, 2000, 1000, 0)]
    _, meant = offered(start, sweep(*values))
    point = [
        one
        for one in meant
        if "decimal point is two places too far right" in one.what or "µm are" in one.what
    ]
    assert point
    assert all(
        one.typed is not None and all(len(repeats) == 2 for repeats in one.typed.values) for one in point
    )


def test_repeats_that_scatter_are_not_asked_about() -> None:
    """No slip explains 50.009 beside 50.003 and 50.004, so its scatter counts; a lone reading has no others."""
    assert doubt_about_repeat([50.003, 50.009, 50.004], 0.0005, resolution=0.001) is None
    assert doubt_about_repeat([50.003], 0.0005) is None
    assert doubt_about_repeat([1.0, 1.0, 1.0], 0.0) is None
