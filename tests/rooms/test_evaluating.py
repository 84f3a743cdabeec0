"""The evaluation of raw readings as they were typed: what a form gets, what comes out, every mistake at its cell."""

import pickle
from math import hypot, pi, sqrt

import numpy as np
import pytest

from loopwright.buildfile import examples
from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.model.indications import Gauge
from loopwright.studies.checking import load_text
from loopwright.studies.evaluating import KINDS, evaluate, example_of, kind_of, parted, said_wrong, tried
from loopwright.studies.evaluating_forms import Evaluation, Given, Kind, Result
from loopwright.studies.evaluating_reading import Shop, in_units, shop_of
from loopwright.studies.evaluating_surfaces import lines_to_read
from loopwright.studies.exchange_evaluation import evaluation_as_data
from loopwright.units import Dimension

ARCSEC = pi / 648_000


def given(
    kind: str, settings: dict[str, str] | None = None, *, u: str | None = "1 µm", **columns: str
) -> Given:
    """An evaluation as it would be typed in one line for each column."""
    read = {name: parted(text) for name, text in columns.items()}
    return Given(
        kind,
        {name: values for name, (values, _) in read.items()},
        settings or {},
        {name: unit for name, (_, unit) in read.items() if unit},
        u,
    )


def result(found: Evaluation, name: str) -> Result:
    """The one result whose name begins so."""
    (one,) = [one for one in found.results if one.name.startswith(name)]
    return one


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.command)
def test_every_evaluation_answers_its_own_example(kind: Kind) -> None:
    """Each example gives a headline with an uncertainty over zero, can be sent to another process, and is JSON."""
    found = evaluate(example_of(kind))
    assert found.headline.value is not None
    assert found.headline.u is not None
    assert found.headline.u > 0
    assert found.includes
    assert found.not_seen
    assert found.readings == sum(
        len(v) for name, v in found.given.columns.items() if name in {c.name for c in kind.readings}
    )
    again = pickle.loads(pickle.dumps(found))
    assert evaluation_as_data(again) == evaluation_as_data(found)
    assert found.method.evaluation == kind.name


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.command)
def test_every_evaluation_can_be_made_into_a_form(kind: Kind) -> None:
    """Every column and setting has a help line, a unit that reads its dimension, and names that do not collide."""
    names = [one.name for one in (*kind.columns, *kind.settings)]
    assert len(set(names)) == len(names)
    assert kind.readings
    for one in kind.columns:
        assert one.help
        assert (one.unit(Units()) == "") == (one.dimension is None)
    for setting in kind.settings:
        assert setting.help
        assert setting.default is None or not setting.choices or setting.default in setting.choices
    assert kind_of(kind.command) is kind


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.command)
def test_twice_the_uncertainty_of_a_reading_is_twice_that_of_the_result(kind: Kind) -> None:
    """First-order uncertainties grow with u, but for what a setting states beside."""
    example = example_of(kind)
    number, _, unit = str(example.u).partition(" ")
    once = evaluate(example)
    twice = evaluate(
        Given(kind.name, example.columns, example.settings, example.units, f"{2 * float(number)} {unit}")
    )
    named = hypot(*(part.std for part in once.headline.parts if part.name != "readings"))
    own, own_of_twice = (sqrt(max(float(one.headline.u or 0.0) ** 2 - named**2, 0)) for one in (once, twice))
    assert own_of_twice == pytest.approx(2 * own)


def test_tools_that_turn_are_spoken_of() -> None:
    """Tram, run-out and spindle warn to lock the drive out and to keep off what runs."""
    for name in ("tram", "tram across", "runout", "spindle reversal"):
        told = " ".join(kind_of(name).cautions).lower()
        assert "never touch a running spindle" in told
        assert "lock" in told


def test_what_readings_share_drops_out_or_is_told() -> None:
    """A level with ±1 arcsec of calibration: none of it in the straightness, all of it in the rise of the line."""
    level = Gauge.model_validate(
        {
            "reads": "angle",
            "resolution": 1 * ARCSEC,
            "repeatability": {"std": ARCSEC},
            "calibration": {"std": 2 * ARCSEC},
        }
    )
    shop = Shop(gauges={"level": level}, confidence=0.95)
    typed = given("level line", {"step": "100 mm"}, u=None, angle="2,3,-1,-4 arcsec")
    found = evaluate(Given(**{**vars(typed), "gauge": "level"}), shop)
    own = hypot(ARCSEC, ARCSEC / sqrt(12))
    stated = evaluate(Given(**{**vars(typed), "u": f"{own / ARCSEC:.15g} arcsec"}), shop)
    assert found.headline.u == pytest.approx(stated.headline.u)
    rise = result(found, "rise")
    parts = {part.name: part.std for part in rise.parts}
    assert parts["calibration of level"] == pytest.approx(400 * 2 * ARCSEC)
    assert parts["readings"] == pytest.approx(sqrt(4) * 100 * own)
    assert rise.u == pytest.approx(hypot(*parts.values()))
    assert found.factor == pytest.approx(1.95996, abs=1e-5)


def test_a_gauge_of_the_build_gives_its_budget() -> None:
    """Resolution and repeatability of the micron indicator are a reading's own; its calibration is shared."""
    shop = shop_of(load_text(examples.text("clock-plate")).build)
    typed = given("straightness", u=None, position="0,100,200", height="0,3,0 µm")
    found = evaluate(Given(**{**vars(typed), "gauge": "micron indicator"}), shop)
    assert found.reading.own == pytest.approx(hypot(1e-3 / sqrt(12), 0.5e-3))
    assert found.reading.shared == pytest.approx(1.5e-3 / sqrt(3))
    assert {part.name for part in found.headline.parts} == {"readings"}
    assert found.units.angle == "arcsec"


@pytest.mark.parametrize(
    ("u", "gauge", "told"),
    [
        (None, None, "what one reading is worth is not said"),
        ("1 µm", "dial", "said twice"),
        ("1", None, "has no unit"),
        ("0 µm", None, "not over zero"),
        ("-1 µm", None, "not over zero"),
        ("3 arcsec", None, "is an angle, a length is wanted"),
        (None, "dial", "there is no gauge 'dial'"),
        (None, "level", "reads angle"),
        (None, "bare", "neither resolution nor repeatability"),
    ],
)
def test_what_a_reading_is_worth_must_be_said_once(u: str | None, gauge: str | None, told: str) -> None:
    """Exactly one of u and a gauge that reads lengths; the mistake names the field and a remedy."""
    shop = Shop(gauges={"level": Gauge(reads="angle"), "bare": Gauge()})
    typed = given("straightness", u=u, position="0,100,200", height="0,3,0 µm")
    found, problems = tried(Given(**{**vars(typed), "gauge": gauge}), shop)
    assert found is None
    assert [one.field for one in problems] == ["gauge" if u is None and gauge else "u"]
    assert told in problems[0].what
    assert said_wrong(Given(**{**vars(typed), "gauge": gauge, "columns": {}}), shop) == problems


def test_every_mistake_of_what_was_typed_comes_at_once() -> None:
    """Bad cells, a missing setting, an unknown column and no uncertainty: each has its field, none hides another."""
    typed = given(
        "squareness",
        {"square limits": "3 apples"},
        u=None,
        position="0,ten,200",
        reading="0,1,,3 µm",
        extra="1",
    )
    found, problems = tried(typed)
    assert found is None
    assert [one.field for one in problems] == [
        "position 2",
        "reading 3",
        "axis",
        "square limits",
        "extra",
        "",
        "u",
    ]
    with pytest.raises(RequestError, match=r"position 2: .*and 6 more"):
        evaluate(typed)


PATTERN = {"length": "1 m", "width": "1 m"}


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        (given("straightness", position="0,0,0", height="0,1,2 µm"), "all values of 'position' are the same"),
        (given("straightness", position="0,1", height="0,1 µm"), "there are only 2 readings"),
        (given("straightness", position="0,1,2", height="0,1,2"), "3 numbers without a unit"),
        (given("straightness", position="0,1,2", height="0,1,2 arcsec"), "not a unit of length"),
        (given("straightness", {"reference": "middle"}, position="0,1,2", height="0,1,2 µm"), "'middle' will not do"),
        (given("straightness", {"colour": "red"}, position="0,1,2", height="0,1,2 µm"), "no setting"),
        (given("flatness", x="0,1,2,3", y="0,1,2,3", height="0,1,2,3 µm"), "all points lie on one line"),
        (given("squareness", {"axis": "C0Y"}, position="0,1", reading="0,1 µm"), "how square the square is"),
        (given("lead", {"grade": "C99"}, position="0,1,2", deviation="0,1,2 µm"), "'C99' is not a ball screw grade"),
        (given("lead", {"grade": "C5", "best of": "C"}, position="0,1,2", deviation="0,1,2 µm"), "best one asked for"),
        (given("tram", {"radius": "-1"}, angle="0,90,180", reading="0,1,2 µm"), "is below zero"),
        (given("tram", angle="0,90,180", reading="0,1,2 µm"), "radius: is missing"),
        (given("plate", u="1 µm/m", angle="1,2,3,4 µm/m"), "the stations are not told"),
        (given("plate", {"pattern": "grid"}, u="1 µm/m", angle="1,2,3,4 µm/m"), "needs length, width and steps"),
        (
            given("plate", {**PATTERN, "pattern": "grid", "steps": "2"}, u="1 µm/m", angle="1,2,3,4 µm/m"),
            "not 3 whole numbers",
        ),
        (
            given("plate", {**PATTERN, "pattern": "union jack", "steps": "2,2,2"}, u="1 µm/m", angle="1,2,3,4 µm/m"),
            "16 steps, and 4 angles",
        ),
    ],
)  # fmt: skip
def test_what_cannot_be_evaluated_is_told_in_the_words_of_the_form(typed: Given, told: str) -> None:
    """Mistakes that only the mathematics sees speak of the columns as they are called."""
    with pytest.raises(RequestError) as error:
        evaluate(typed)
    assert told in str(error.value)


def test_an_unknown_evaluation_is_told_with_what_was_meant() -> None:
    """'straitness' is not there; did you mean 'straightness'."""
    with pytest.raises(RequestError, match="did you mean 'straightness'"):
        kind_of("straitness")
    with pytest.raises(RequestError, match="there are: straightness"):
        kind_of("xyz")


def test_a_plate_by_its_stations_is_the_plate_by_its_pattern() -> None:
    """The same sixteen angles, once as a union jack and once with line, x and y of every station."""
    angles = [3, -2, 1, -1, 2, -3, 0, 2, 4, -4, 1, 1, 2, -2, 3, -3]
    setup = {"length": "400 mm", "width": "300 mm", "steps": "2,2,2", "pattern": "union jack"}
    by_pattern = evaluate(given("plate", setup, u="1 µm/m", angle=",".join(map(str, angles)) + " µm/m"))
    ends = [((0, 0), (400, 0)), ((0, 300), (400, 300)), ((0, 0), (0, 300)), ((400, 0), (400, 300))]
    ends += [((0, 0), (400, 300)), ((400, 0), (0, 300)), ((0, 150), (400, 150)), ((200, 0), (200, 300))]
    columns: dict[str, list[str]] = {"line": [], "x": [], "y": [], "angle": []}
    left = iter(angles)
    for number, ((x0, y0), (x1, y1)) in enumerate(ends):
        for k in range(3):
            columns["line"].append(f"line {number}")
            columns["x"].append(f"{x0 + (x1 - x0) * k / 2:g}")
            columns["y"].append(f"{y0 + (y1 - y0) * k / 2:g}")
            columns["angle"].append(str(next(left)) if k else "")
    by_stations = evaluate(Given("plate", columns, {}, {"angle": "µm/m"}, "1 µm/m"))
    assert by_stations.headline.value == pytest.approx(by_pattern.headline.value, rel=1e-9)
    assert by_stations.headline.u == pytest.approx(by_pattern.headline.u, rel=1e-9)
    assert len(by_stations.loops) == len(by_pattern.loops) == 8
    assert by_stations.readings == by_pattern.readings == 16
    columns["angle"][1] = ""
    with pytest.raises(RequestError, match="line 'line 0' has no angle at its station 2"):
        evaluate(Given("plate", columns, {}, {"angle": "µm/m"}, "1 µm/m"))
    columns["angle"][:2] = ["1", "1"]
    with pytest.raises(RequestError, match="has an angle at its first station"):
        evaluate(Given("plate", columns, {}, {"angle": "µm/m"}, "1 µm/m"))


def test_the_lines_of_a_pattern_are_as_many_as_its_angles() -> None:
    """Who asks for one angle after the other asks for all that the pattern has, and none for stations."""
    assert (
        sum(steps for _, steps in lines_to_read({"pattern": "union jack", "steps": "4,2,2"}))
        == 2 * 4 + 2 * 2 + 2 * 2 + 4 + 2
    )
    assert lines_to_read({"pattern": "grid", "steps": "2,1,0"}) == (
        ("row 1", 2), ("row 2", 2), ("column 1", 1), ("column 2", 1), ("column 3", 1),
    )  # fmt: skip
    assert lines_to_read({"pattern": "stations"}) == ()
    setup = {"pattern": "grid", "length": "200 mm", "width": "100 mm", "steps": "2,1,0", "zero": "known"}
    found = evaluate(given("plate", setup, u="1 µm/m", angle="10,10,10,10,0,0,2 µm/m"))
    assert found.loops[-1].error != 0
    assert len(found.loops) == 2


def test_a_datum_read_at_other_places() -> None:
    """Empty cells leave a line out where it was not read; places of datum and line may differ."""
    typed = Given(
        "parallelism",
        {"position": ["0", "300", "0", "300"], "datum": ["0", "0", "", ""], "height": ["", "", "10", "16"]},
        {},
        {"datum": "µm", "height": "µm"},
        "1 µm",
    )
    found = evaluate(typed)
    assert found.readings == 4
    assert result(found, "angle").value == pytest.approx(20e-6)
    assert found.headline.value == pytest.approx(6e-3)


def test_a_known_square_is_taken_off_and_its_uncertainty_is_a_part() -> None:
    """A square that leans 10 µrad towards +X: the axis leans 15 + 10, and both uncertainties stand in the budget."""
    setup = {"axis": "C0Y", "square": "10 µm/m", "u square": "2 µm/m"}
    found = evaluate(given("squareness", setup, u="0.5 µm", position="0,100,200", reading="0,1.5,3 µm"))
    assert found.headline.value == pytest.approx(-25e-6)
    parts = {part.name: part.std for part in found.headline.parts}
    assert parts == {"readings": pytest.approx(3.5355e-6, rel=1e-4), "square": pytest.approx(2e-6)}
    zone = result(found, "zone")
    assert {part.name for part in zone.parts} == {"readings", "square"}
    assert hypot(*(part.std for part in zone.parts)) == pytest.approx(zone.u)


def test_a_scale_error_is_in_the_mean_travel_and_in_no_band() -> None:
    """2 µm/m over 400 mm adds 0.8 µm to what is not known of the mean travel, and nothing to the bands."""
    columns = {"position": "0,100,200,300,400", "deviation": "0,-2,-2,-4,-6 µm"}
    plain, scaled = (
        evaluate(given("lead", one, u="0.5 µm", **columns)) for one in ({}, {"u scale": "2 µm/m"})
    )
    assert scaled.headline.u == pytest.approx(hypot(plain.headline.u or 0.0, 0.8e-3))
    assert result(scaled, "v_ua").u == result(plain, "v_ua").u
    assert scaled.sweep is not None
    assert [one.std for one in scaled.sweep.shared] == [pytest.approx(2e-6)]


def test_the_best_grade_is_told_with_the_next_finer_one() -> None:
    """A coarse screw: C7 is the finest that is proven, and what C5 lacks is said; a hopeless one proves none."""
    columns = {"position": "0,100,200,300,400", "deviation": "0,2,1,3,2 µm"}
    found = evaluate(given("lead", {"best of": "C", "lead": "10 mm"}, u="0.5 µm", **columns))
    assert found.grading is not None
    assert (found.grading.grade, found.grading.verdict) == ("C7", "conforming")
    assert any(note.startswith("C5 is not proven:") and "v_2πa" in note for note in found.grading.notes)
    columns["deviation"] = "0,200,400,600,800 µm"
    found = evaluate(given("lead", {"best of": "T", "lead": "10 mm"}, u="0.5 µm", **columns))
    assert found.grading is not None
    assert (found.grading.grade, found.grading.verdict) == ("", "not conforming")


def test_every_limit_names_its_standard_and_source() -> None:
    """With the edition where the source has one, and a word that it has none where it does not."""
    columns = {"position": "0,100,200,300,400", "deviation": "0,2,1,3,2 µm"}
    for grade, standard in (("P3", "ISO 3408-3:2006"), ("C3", "JIS B 1192, edition not named by the source")):
        found = evaluate(given("lead", {"grade": grade, "lead": "5 mm"}, u="0.5 µm", **columns))
        assert found.grading is not None
        assert [one.name for one in found.grading.lines] == ["e_sa", "v_ua", "v_300a", "v_2πa"]
        assert {one.standard for one in found.grading.lines} == {standard}
        assert all(one.source for one in found.grading.lines)


def test_a_direction_that_nothing_has_is_not_known() -> None:
    """A part that runs true has no direction of its eccentricity."""
    found = evaluate(given("runout", angle="0,90,180,270", reading="0,0,0,0 µm"))
    assert (result(found, "towards").value, result(found, "towards").u) == (None, None)
    assert "too small" in result(found, "towards").note


def test_the_answer_is_in_the_units_of_the_readings() -> None:
    """Readings in thou over inches are answered in thou and inches, unless a unit is asked for."""
    typed = given("straightness", u="0.1 thou", position="0,4,8 in", height="0,0.2,0 thou")
    shop = in_units(None, [], like=(kind_of("straightness"), typed))
    assert (shop.units.length, shop.units.small_length) == ("in", "thou")
    assert "Waves shorter than 8 in" in evaluate(typed, shop).not_seen[0]
    asked = in_units(None, ["µm", "µm/m"], like=(kind_of("straightness"), typed))
    assert (asked.units.small_length, asked.units.angle) == ("µm", "µm/m")
    with pytest.raises(RequestError, match="'kg' is not a unit"):
        in_units(None, ["kg"])


def test_deviations_carry_the_uncertainty_that_the_line_leaves_them() -> None:
    """By end points the ends have no uncertainty; by least squares every deviation is known better than a reading."""
    columns = {"position": "0,100,200,300", "height": "0,3,1,2 µm"}
    ends = evaluate(given("straightness", {"reference": "end points"}, **columns))
    spread = [row[3] for row in ends.tables[0].rows]
    assert (spread[0], spread[3]) == (pytest.approx(0, abs=1e-12), pytest.approx(0, abs=1e-12))
    best = evaluate(given("straightness", **columns))
    x = np.array([0, 100, 200, 300.0])
    hat = np.eye(4) - 1 / 4 - np.outer(x - 150, x - 150) / ((x - 150) ** 2).sum()
    assert [row[3] for row in best.tables[0].rows] == pytest.approx(1e-3 * np.sqrt(np.diag(hat)))


def test_a_steady_level_is_expected() -> None:
    """A zero that wanders by far more than the readings allow is spoken of."""
    calm = evaluate(given("level reversal", u="1 arcsec", first="5,6 arcsec", second="1,0 arcsec"))
    wild = evaluate(given("level reversal", u="1 arcsec", first="5,60 arcsec", second="1,20 arcsec"))
    assert calm.notes == ()
    assert "wandered" in wild.notes[0]
    assert calm.headline.dimension is Dimension.ANGLE
