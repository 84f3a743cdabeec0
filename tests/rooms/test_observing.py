"""From a reading in the book to rows over the deviations, on the clock-plate machine."""

from math import pi, sqrt

import numpy as np
import pytest

from as_built_machines import (
    UM,
    clock_observer,
    clock_plate,
    clock_prior,
    effect,
    generator,
    reading,
)
from loopwright.asbuilt.knowledge import learn
from loopwright.asbuilt.observing import (
    Found,
    Observer,
    adjuster_at,
    drive_places,
    line_of,
    name_of,
    stated_band,
)
from loopwright.asbuilt.timeline import as_designed
from loopwright.errors import RequestError
from loopwright.loop import compile_loop
from loopwright.model.contacts import AdjusterKind
from loopwright.model.records import Reading

ARCSEC = pi / 180 / 3600
SWEEP = "X straight in Y"


def named(*names: str) -> np.ndarray:
    """Places in x of sources by name."""
    return np.array([place for place, s in enumerate(clock_plate().sources) if s.name in names])


# --------------------------------------------------------------------------------------------------------------- dims
def test_a_dim_is_its_own_and_its_shared_part() -> None:
    """A reading of a dim made together with others shows the sum of both parts, less the nominal size."""
    one = clock_observer().observation(reading("dim", "pad_FL/height", [12.004, 12.005], 0.5 * UM), entry=7)
    want = np.zeros((2, len(clock_plate().sources)))
    want[:, named("pad_FL/height", "column pads (shared)")] = 1.0
    assert np.array_equal(one.rows, want)
    assert one.values == pytest.approx([0.004, 0.005])
    assert one.stds.tolist() == [0.5 * UM] * 2
    assert (one.state, one.entry, one.name) == (1, 7, "pad_FL/height")
    assert not one.free.size


def test_one_reading_of_a_pad_tells_of_the_others() -> None:
    """Pads shared ±10 µm, own ±1.5 µm: one read to ±0.5 µm tells the next to 1.22 µm, by hand.

    Of 6 µm found the shared part takes 10² / (10² + 1.5² + 3·0.5²), as ±s stands for s/√3.
    """
    observer = clock_observer()
    known = learn(
        as_designed(clock_prior()),
        [observer.observation(reading("dim", "pad_FL/height", [12.006], 0.5 * UM))],
    )
    row, _ = observer.dim("pad_RR/height")
    assert known.expected(row, 1) == pytest.approx(6 * UM * 100 / (100 + 2.25 + 0.75), rel=1e-9)
    left = 100 / 3 + 2.25 / 3 - (100 / 3) ** 2 / (100 / 3 + 2.25 / 3 + 0.25)
    assert known.uncertainty(row, 1) == pytest.approx(sqrt(left) * UM, rel=1e-9)


def test_a_dim_that_is_not_in_the_middle_of_its_limits() -> None:
    """The key is 12 h6: 0 to -11 µm, expected 5.5 µm below 12; found at 11.990 to ±1 µm it is believed nearly so."""
    observer = clock_observer()
    row, nominal = observer.dim("head_key/width")
    assert nominal == 12.0
    before = learn(as_designed(clock_prior()), [])
    assert before.expected(row, 1) == pytest.approx(-5.5 * UM)
    known = before.with_one_more(observer.observation(reading("dim", "head_key/width", [11.990], 1 * UM)))
    gain = (5.5**2 / 3) / (5.5**2 / 3 + 1)
    assert known.expected(row, 1) == pytest.approx((-5.5 - 4.5 * gain) * UM, rel=1e-9)


def test_an_angle_is_read_in_radians() -> None:
    """A foot found square to 3 arcsec: the deviation from 90 degrees, in radians."""
    value = pi / 2 + 3 * ARCSEC
    one = clock_observer().observation(reading("dim", "column/foot_square", [value], 1 * ARCSEC))
    assert one.values == pytest.approx([3 * ARCSEC], rel=1e-6)
    assert one.rows[0, named("column/foot_square")] == 1.0


def test_a_comparison_is_a_difference() -> None:
    """Two pads held against each other show the difference of their own parts; what was shared cancels, and so
    does any gauge error, so the reading tells nothing of their size.
    """
    observer = clock_observer()
    made = reading("comparison", "pad_FL/height", [0.0011], 0.3 * UM, against="pad_FR/height")
    one = observer.observation(made)
    assert one.name == "pad_FL/height against pad_FR/height"
    assert one.values == pytest.approx([0.0011])
    assert one.rows[0, named("pad_FL/height")] == 1.0
    assert one.rows[0, named("pad_FR/height")] == -1.0
    assert not one.rows[0, named("column pads (shared)")].any()
    other = observer.observation(
        reading("comparison", "head_spacer/thickness", [-5.998], 0.3 * UM, against="pad_FR/height")
    )
    assert other.values == pytest.approx([-5.998 - 6 + 12])


# -------------------------------------------------------------------------------------------------------------- tests
def test_a_test_shows_what_the_loop_says() -> None:
    """Rows of a test are those of the loop before it is zeroed, at its own poses, a nominal machine showing
    nothing.
    """
    loop, test = clock_plate(), clock_plate().build.tests[SWEEP]
    rows, nominal, free = clock_observer().test(SWEEP)
    bare = loop.rows(test.model_copy(update={"zeroed": type(test.zeroed)()}))
    assert np.array_equal(rows, bare.matrix[:, 0])
    assert not nominal.any()
    assert free.shape == (9, 2)
    assert free[:, 0] == pytest.approx(np.ones(9))
    assert free[:, 1] == pytest.approx(np.linspace(-160, 160, 9))


@pytest.mark.parametrize(
    ("name", "columns"),
    [
        (SWEEP, 2),
        ("Y square to X", 1),
        ("Y rails parallel", 1),
        ("spindle tram front to back", 0),
        ("X positioning", 1),
    ],
)
def test_what_is_not_known_of_a_zero(name: str, columns: int) -> None:
    """A test zeroed by a line leaves zero and slope open, one zeroed by its mean or at a pose its zero, one
    that is not zeroed nothing.
    """
    free = clock_observer().test(name)[2]
    assert (free.shape[1] if free.size else 0) == columns


def test_a_zeroed_reading_tells_what_the_zeroed_indication_shows() -> None:
    """What a sweep zeroed by a line teaches of straightness is the same whether zero and slope are left open or
    the rows themselves are zeroed and the values with them: the prediction of the zeroed indication agrees.
    """
    loop, observer = clock_plate(), clock_observer()
    draw = generator(2)
    values = draw.normal(size=9) * UM
    known = learn(
        as_designed(clock_prior()), [observer.observation(reading("test", SWEEP, values, 0.01 * UM))]
    )
    shown = loop.rows(loop.build.tests[SWEEP])
    fit = np.polynomial.polynomial.polyfit(np.arange(9.0), values, 1)
    straight = values - np.polynomial.polynomial.polyval(np.arange(9.0), fit)
    # read to 10 nm on profiles of four shapes: the model follows what it can, and no slope comes in
    found = known.expected(shown.matrix[:, 0], 1)
    slopes = np.polynomial.polynomial.polyfit(np.arange(9.0), found, 1)
    assert slopes == pytest.approx([0, 0], abs=1e-9)
    assert np.corrcoef(found, straight)[0, 1] > 0.3
    tilted = values + 0.3 + 0.01 * np.arange(9)
    again = learn(
        as_designed(clock_prior()), [observer.observation(reading("test", SWEEP, tilted, 0.01 * UM))]
    )
    assert again.expected(shown.matrix[:, 0], 1) == pytest.approx(found, abs=1e-9)


def test_poses_of_a_reading_take_the_place_of_those_of_the_test() -> None:
    """A sweep read at other stations, fewer or more, has the rows of those; axes not named stay where the test
    holds them.
    """
    observer, test = clock_observer(), clock_plate().build.tests[SWEEP]
    stations = {"X": [10.0, 200.0, 310.0]}
    rows, _, free = observer.test(SWEEP, stations)
    assert rows.shape[0] == 3
    assert free[:, 1] == pytest.approx(np.array([10.0, 200.0, 310.0]) - 520 / 3)
    at = {"X": np.array([10.0, 200.0, 310.0]), "Y": np.full(3, 110.0)}
    want = clock_plate().rows(test.model_copy(update={"zeroed": type(test.zeroed)()}), at)
    assert rows == pytest.approx(want.matrix[:, 0], abs=1e-15)
    made = reading("test", SWEEP, [0.0, 1 * UM, 0.0], 0.5 * UM, poses=stations)
    assert len(observer.observation(made).values) == 3
    moved = {"X": [10.0, 200.0, 310.0], "Y": [0.0, 0.0, 220.0]}
    assert not np.allclose(observer.test(SWEEP, moved)[0], rows)
    assert np.array_equal(observer.test(SWEEP, stations)[0], rows)


def test_errors_in_common_come_along() -> None:
    """The effects of an evaluated reading are the errors in common of its observation, by the same name."""
    calibration = effect("calibration of micron indicator", 0.8 * UM, 9)
    one = clock_observer().observation(reading("test", SWEEP, np.zeros(9), 0.5 * UM, calibration), state=3)
    (error,) = one.common
    assert (error.name, error.std) == ("calibration of micron indicator", 0.8 * UM)
    assert error.column.tolist() == [1.0] * 9
    assert one.state == 3


def test_a_constant_calibration_error_cannot_spoil_a_sweep_of_open_zero() -> None:
    """Where the zero is open anyway, an error that is the same in all values adds nothing."""
    observer, line = clock_observer(), as_designed(clock_prior())
    plain = reading("test", SWEEP, np.arange(9.0) * UM, 0.5 * UM)
    with_error = reading("test", SWEEP, np.arange(9.0) * UM, 0.5 * UM, effect("calibration", 5 * UM, 9))
    first, second = (learn(line, [observer.observation(one)]) for one in (plain, with_error))
    assert second.std == pytest.approx(first.std, rel=1e-12)
    assert second.mean == pytest.approx(first.mean, rel=1e-9, abs=1e-15)


# -------------------------------------------------------------------------------------------------- names and places
def test_readings_are_named_as_people_call_them() -> None:
    """A reading goes by what it is of, the item, and what it was held against."""
    assert name_of(reading("dim", "pad_FL/height", [12.0], UM, item="P7")) == "pad_FL/height of P7"
    against = reading("comparison", "pad_FL/height", [0.0], UM, against="pad_FR/height")
    assert name_of(against) == "pad_FL/height against pad_FR/height"


def test_drives_and_adjusters_are_found_by_their_path() -> None:
    """A drive's statements and an adjuster are found where the build file has them, and nothing where not."""
    found = drive_places(clock_plate(), "X slide/drive")
    assert {name: len(places) for name, places in found.items()} == {
        "mean travel": 1,
        "travel variation": 4,
        "once per turn": 2,
    }
    assert drive_places(clock_plate(), "X slide") == {}
    assert drive_places(clock_plate(), "no such/drive") == {}
    assert stated_band(clock_plate(), "X slide/drive", "travel variation") == pytest.approx(8 * UM)
    assert stated_band(clock_plate(), "X slide/drive", "once per turn") == pytest.approx(3 * UM)
    build = clock_plate().build
    assert adjuster_at(build, "column on base/front left").kind is AdjusterKind.SHIM  # type: ignore[union-attr]
    jack = adjuster_at(build, "Y slide/guide/rails/B/side/slope")
    assert jack is not None
    assert jack.kind is AdjusterKind.JACK_SCREW
    assert adjuster_at(build, "column on base/side stop front") is None
    assert adjuster_at(build, "nothing") is None


def test_an_empty_book_is_the_machine_as_designed() -> None:
    """Without a single state the machine is in its first, as its drawings say."""
    line = line_of(clock_plate(), [], {("a", "b"): Found(1.0, 1.0)})
    assert line.states == (1,)
    assert np.array_equal(line.mean, clock_prior().mean)


# ----------------------------------------------------------------------------------------------------------- mistakes
WRONG: dict[str, tuple[Reading, str]] = {
    "no such test": (reading("test", "X straight in W", [0.0], UM), "X straight in W"),
    "no such dim": (reading("dim", "pad_FL/colour", [0.0], UM), "pad_FL/colour"),
    "no such part": (reading("dim", "pad_ZZ/height", [0.0], UM), "pad_ZZ/height"),
    "no such partner": (
        reading("comparison", "pad_FL/height", [0.0], UM, against="pad_ZZ/height"),
        "pad_ZZ/height",
    ),
    "too few values": (reading("test", SWEEP, np.zeros(5), UM), SWEEP),
    "too many values": (reading("test", SWEEP, np.zeros(10), UM), SWEEP),
    "fewer poses than values": (reading("test", SWEEP, np.zeros(3), UM, poses={"X": [0.0, 10.0]}), SWEEP),
    "poses of different lengths": (
        reading("test", SWEEP, np.zeros(3), UM, poses={"X": [0.0, 10.0, 20.0], "Y": [1.0, 2.0]}),
        SWEEP,
    ),
    "an axis that is not there": (
        reading("test", SWEEP, np.zeros(2), UM, poses={"X": [0.0, 10.0], "W": [1.0, 2.0]}),
        "W",
    ),
    "no poses": (reading("test", SWEEP, np.zeros(3), UM, poses={"X": []}), SWEEP),
}


@pytest.mark.parametrize("wrong", WRONG)
def test_a_reading_that_does_not_fit_the_build_is_refused(wrong: str) -> None:
    """A reading of what is not there, or with values that do not fit the poses, is refused by name with what
    would do.
    """
    made, name = WRONG[wrong]
    with pytest.raises(RequestError) as refused:
        clock_observer().observation(made)
    assert f"'{name}'" in refused.value.what
    assert refused.value.remedy


def test_a_size_of_several_components_is_no_reading() -> None:
    """No gauge shows the size of X and Y together as one number with a sign."""
    build = clock_plate().build
    test = build.tests["spindle tram front to back"].model_copy(update={"component": "XY"})
    observer = Observer(compile_loop(build.model_copy(update={"tests": {**build.tests, "both": test}})))
    with pytest.raises(RequestError, match="'both' asks for XY") as refused:
        observer.observation(reading("test", "both", [0.0], UM))
    assert "along" in refused.value.remedy
