"""What was found of raw readings, entered in a book: one value for a dim, a whole sweep for a test."""

from math import pi, sqrt

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.measuring.levels import heights_along
from loopwright.model.records import RECORD, Entry, Reading, Record, Revision, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.evaluating import evaluate, parted
from loopwright.studies.evaluating_forms import Evaluation, Given
from loopwright.studies.evaluating_reading import shop_of_bench
from loopwright.studies.evaluating_record import typed_of, words_of
from loopwright.studies.recording import Considered, consider

ARCSEC = pi / 648_000


def entry(number: int, record: Record, of: int = 1) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=of, record=record)


@pytest.fixture(scope="module")
def start() -> Bench:
    """The clock-plate machine before any reading."""
    text = examples.text("clock-plate")
    return bench([entry(1, Revision(text=text)), entry(2, State(reason="as assembled", cause="start"))])


def found(
    start: Bench,
    kind: str,
    settings: dict[str, str] | None = None,
    *,
    u: str | None = None,
    gauge: str | None = None,
    **columns: str,
) -> Evaluation:
    """An evaluation in the shop of the book."""
    read = {name: parted(text) for name, text in columns.items()}
    units = {name: unit for name, (_, unit) in read.items() if unit}
    typed = Given(kind, {name: values for name, (values, _) in read.items()}, settings or {}, units, u, gauge)
    return evaluate(typed, shop_of_bench(start))


def covariance(reading: Reading) -> np.ndarray:
    """Covariance of the values of a reading, all that it says."""
    out = np.diag(np.array(reading.evaluated.stds) ** 2)
    for effect in reading.evaluated.effects:
        out += effect.std**2 * np.outer(effect.column, effect.column)
    return out


def zeroed(matrix: np.ndarray) -> np.ndarray:
    """A covariance with the unknown zero taken out."""
    out = np.eye(len(matrix)) - 1 / len(matrix)
    return np.asarray(out @ matrix @ out)


def recorded(start: Bench, evaluation: Evaluation, of: str, **more: object) -> Considered:
    """The reading that an evaluation becomes, held against what is expected."""
    return consider(start, typed_of(start, evaluation, of, key="k", **more))  # type: ignore[arg-type]


X = ",".join(str(x) for x in range(0, 321, 40))
EDGE = {"position": X, "first": "0,1,1,2,2,2,1,1,0 µm", "second": "0,-1,-1,0,0,0,0,0,0 µm"}


def test_a_straightedge_reversal_is_a_sweep_of_its_test(start: Bench) -> None:
    """Half the sum at the test's own poses; u/√2 each on its own; the straightedge's form is not counted."""
    evaluation = found(start, "straightedge reversal", gauge="micron indicator", **EDGE)
    considered = recorded(start, evaluation, "X straight in Y")
    reading = considered.reading
    assert reading.evaluated.values == pytest.approx(np.array([0, 0, 0, 1, 1, 1, 0.5, 0.5, 0]) * 1e-3)
    assert reading.evaluated.stds == pytest.approx([evaluation.reading.own / sqrt(2)] * 9)
    assert [effect.name for effect in reading.evaluated.effects] == ["calibration of micron indicator near 0"]
    assert reading.poses == {}
    assert reading.turned
    assert considered.conformity is not None
    assert considered.look is not None
    assert considered.look.surprise == reading.surprise or reading.surprise is not None
    assert start.with_reading(entry(3, reading)).knowledge.observations[-1].values == pytest.approx(
        reading.evaluated.values
    )


def test_the_raw_readings_stay_in_the_record(start: Bench) -> None:
    """Both sweeps as they were typed and as numbers, the settings, and a sentence for the history; JSON and back."""
    evaluation = found(start, "straightedge reversal", gauge="micron indicator", **EDGE)
    reading = recorded(start, evaluation, "X straight in Y").reading
    assert reading.method is not None
    first = reading.method.columns[1]
    assert (first.name, first.reading, first.unit) == ("first", True, "µm")
    assert first.typed == tuple("0 1 1 2 2 2 1 1 0".split())
    assert first.numbers == pytest.approx(np.array([0, 1, 1, 2, 2, 2, 1, 1, 0]) * 1e-3)
    assert reading.method.settings == {"reference": "least squares"}
    assert words_of(reading.method) == "from straightedge reversal, 2 x 9 readings"
    assert RECORD.validate_json(reading.model_dump_json()) == reading
    old = {key: value for key, value in reading.model_dump().items() if key != "method"}
    assert RECORD.validate_python(old).method is None


def test_heights_of_a_level_carry_their_whole_covariance(start: Bench) -> None:
    """Effects and own parts give back the covariance of the sums, the level's calibration in it, zero taken out."""
    angles = "0,-1,1,0,1,0,-1,0 arcsec"
    evaluation = found(start, "level line", {"step": "40 mm"}, gauge="precision level", angle=angles)
    reading = recorded(start, evaluation, "X straight in Z").reading
    one = evaluation.reading
    told = heights_along([0.0] * 8, 40, u=one.own, covariance=np.full((8, 8), one.shared**2))
    assert zeroed(covariance(reading)) == pytest.approx(zeroed(told.covariance), abs=1e-18)
    names = [effect.name for effect in reading.evaluated.effects]
    assert len(set(names)) == len(names)
    assert names[-1] == "calibration of precision level near 0"
    again = consider(start, typed_of(start, evaluation, "X straight in Z")).reading
    assert not set(names[:-1]) & {effect.name for effect in again.evaluated.effects}
    assert min(reading.evaluated.stds) > 0


def test_what_the_heights_tell_is_what_the_level_tells(start: Bench) -> None:
    """A sweep of heights and the same sweep read directly with the same covariance leave the machine as well known."""
    angles = "0,-1,1,0,1,0,-1,0 arcsec"
    evaluation = found(start, "level line", {"step": "40 mm"}, u="0.7 arcsec", angle=angles)
    reading = recorded(start, evaluation, "X straight in Z").reading
    seen = start.observer.observation(reading, entry=3)
    after = start.knowledge.with_one_more(seen)
    rows = start.rows("hole position").matrix.reshape(-1, start.rows("hole position").matrix.shape[-1])
    prior = start.knowledge.root(seen.rows, 1) @ start.knowledge.root(seen.rows, 1).T
    cross = start.knowledge.root(rows, 1) @ start.knowledge.root(seen.rows, 1).T
    noise = heights_along([0.0] * 8, 40, u=0.7 * ARCSEC).covariance
    basis = np.linalg.svd(np.eye(9) - seen.free @ np.linalg.pinv(seen.free))[0][
        :, : 9 - np.linalg.matrix_rank(seen.free)
    ]
    gain = cross @ basis @ np.linalg.inv(basis.T @ (prior + noise) @ basis)
    left = start.knowledge.uncertainty(rows, 1) ** 2 - np.einsum("ij,ij->i", gain, cross @ basis)
    assert after.uncertainty(rows, 1) ** 2 == pytest.approx(left, rel=1e-6)


def test_other_places_than_the_tests_own_become_its_poses(start: Bench) -> None:
    """Five places of a sweep that has nine poses are entered with their positions."""
    evaluation = found(start, "straightness", u="0.5 µm", position="0,80,160,240,320", height="0,1,2,1,0 µm")
    reading = recorded(start, evaluation, "X straight in Y").reading
    assert reading.poses == {"X": (0.0, 80.0, 160.0, 240.0, 320.0)}
    assert (
        sum(effect.name.startswith("form of granite straightedge") for effect in reading.evaluated.effects)
        == 5
    )
    assert reading.gauge is None
    assert not reading.turned


def test_a_squareness_is_the_angle_of_a_dim(start: Bench) -> None:
    """On a dim of 90° the opening counts from 90°; with the sign turned it counts the other way."""
    settings = {"axis": "C0Y"}
    sweeps = {"position": "0,100,200", "first": "0,4.5,9 µm", "second": "0,-1.5,-3 µm"}
    evaluation = found(start, "squareness by reversal", settings, u="0.5 µm", **sweeps)
    reading = recorded(start, evaluation, "column/foot_lean").reading
    assert reading.evaluated.values[0] == pytest.approx(pi / 2 - 15e-6)
    assert reading.evaluated.stds[0] == pytest.approx(2.5e-6)
    assert reading.subject == "dim"
    turned = recorded(start, evaluation, "column/foot_lean", opposite=True).reading
    assert turned.evaluated.values[0] == pytest.approx(pi / 2 + 15e-6)
    assert "with its sign turned" in turned.evaluated.notes


def test_a_tram_is_the_turn_about_the_axis_that_the_test_asks_for(start: Bench) -> None:
    """Front to back asks for A, side to side for B; each takes the turn of the head about that axis."""
    columns = {"angle": "0,90,180,270", "reading": "4,1,-4,-1 µm"}
    evaluation = found(start, "tram", {"radius": "100 mm"}, u="1 µm", **columns)
    for test, value in (("spindle tram front to back", -10e-6), ("spindle tram side to side", 40e-6)):
        reading = recorded(start, evaluation, test).reading
        assert reading.evaluated.values == (pytest.approx(value),)
        assert reading.evaluated.contributions[0].name == "readings"


def test_a_screw_on_the_bench_is_read_statement_by_statement(start: Bench) -> None:
    """Of one sweep the mean travel, the variation and the error within a turn go to the item's three statements."""
    x = [*range(0, 301, 20), *(100 + k / 2 for k in range(9))]
    e = [0.01 * one + (k % 2) for k, one in enumerate(x)]
    columns = {"position": ",".join(map(str, x)), "deviation": ",".join(map(str, e)) + " µm"}
    evaluation = found(start, "lead", {"lead": "4 mm"}, gauge="length gauge", **columns)
    names = {one.fits: one.value for one in evaluation.results if one.fits}
    assert set(names) == {"mean travel", "travel variation", "once per turn"}
    for statement, value in names.items():
        considered = recorded(start, evaluation, f"ball screw/{statement}", item="A7")
        assert considered.reading.evaluated.values == (pytest.approx(value),)
        assert considered.reading.item == "A7"
        assert considered.look is None


@pytest.mark.parametrize(
    ("of", "more", "told"),
    [
        ("column/foot_lean", {}, "take one that fits"),
        ("column/nothing", {}, "there is no dim, test or closure"),
        ("spindle tram front to back", {}, "is an angle"),
        ("Y rails in one plane", {}, "is an angle"),
        ("Y square to X", {}, "is not zeroed by a line"),
        ("X straight in Y", {"take": "straightness"}, "read at several poses"),
        ("pad_FL/height", {"take": "nothing"}, "no result is called 'nothing'"),
        ("pad_FL/height", {"take": "straightness"}, "several results begin with"),
        ("Z square to table in Y", {}, "not zeroed by a line"),
    ],
)
def test_what_does_not_fit_is_refused(start: Bench, of: str, more: dict[str, str], told: str) -> None:
    """A length is no angle, a sweep no single value, and a straightness says nothing of a squareness."""
    evaluation = found(start, "straightness", u="0.5 µm", position=X, height="0,1,1,2,2,2,1,1,0 µm")
    with pytest.raises(RequestError) as error:
        typed_of(start, evaluation, of, **more)  # type: ignore[arg-type]
    assert told in str(error.value)


def test_places_beyond_the_travel_are_refused(start: Bench) -> None:
    """A straightedge longer than the travel must be told where the axis stood."""
    evaluation = found(start, "straightness", u="0.5 µm", position="0,200,400", height="0,1,0 µm")
    with pytest.raises(RequestError, match=r"from 0 mm to 400 mm are beyond the travel of X, 0 mm to 320 mm"):
        typed_of(start, evaluation, "X straight in Y")


def test_a_sweep_along_a_square_brings_the_square_with_it(start: Bench) -> None:
    """The square's own uncertainty is one error of all values, and that of the test's artefact."""
    settings = {"axis": "C0Y", "u square": "3 µm/m"}
    y = ",".join(str(one) for one in range(0, 201, 20))
    evaluation = found(
        start, "squareness", settings, u="0.5 µm", position=y, reading="0,0,0,0,1,1,1,1,1,1,1 µm"
    )
    reading = recorded(start, evaluation, "Y square to X").reading
    (square,) = [one for one in reading.evaluated.effects if one.name == "square of granite square"]
    assert square.std == pytest.approx(3e-6)
    assert square.column == pytest.approx(np.arange(0, 201, 20) - 100.0)
    assert sum(one.name.startswith("form of granite square") for one in reading.evaluated.effects) == 11
