"""loopwright cut, as a person and as another program use it; the parts are invented."""

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from commands import Done, run
from cut_parts import HEAD, build, text
from loopwright.book import create
from loopwright.studies.answer_schemas import schema_of

FILE = "parts.yaml"
OPS = [
    (name, str(10 * (index + 1))) for name, part in build().parts.items() for index in range(len(part.route))
]


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the parts in mm, and shown in inches."""
    monkeypatch.chdir(tmp_path)
    proven = "[{op: turn, material: tool steel O1, speed: 30 m/min, note: last spring}]"
    (tmp_path / FILE).write_text(text(proven=proven), "utf-8")
    return tmp_path


def asked(*words: str) -> str:
    """What the command prints, with one space between its words."""
    done = run("cut", *words, "--file", FILE)
    assert done.code == 0, done.err
    return " ".join(done.out.split())


def refused(*words: str) -> Done:
    """A call that ends with status 1."""
    done = run("cut", *words, "--file", FILE)
    assert done.code == 1, done.out
    return done


def test_a_person_reads_settings_limits_and_minutes() -> None:
    """Tool, passes, turns and feeds in the shop's units, what limits them, assumptions, minutes and cautions."""
    said = asked("block", "contour")
    assert "block, op 30 (contour) on cnc (CNC mill)" in said
    assert "low carbon steel, cut as mild steel; as bought: soft" in said
    assert "left: side milling with mill 10 (carbide end mill, 10 mm, 4 teeth)" in said
    assert "takes 0.5 mm (the least that the route has it take); to ±20 µm (dim 'wide')" in said
    assert "188 m/min 6,000 rpm" in said
    assert "speed limited by the machine: 6,000 rpm is its fastest" in said
    assert "WARNING: the end mill bends" in said
    assert "attended for one part, estimated; 15 min to set up" in said
    assert "No gloves, sleeves, rings or long hair near a turning spindle." in said
    assert "sources: 3, named by --sources" in said


def test_no_figure_is_cut_off() -> None:
    """No op is told in lines over 100 columns, and each row of settings is there to its last figure, the minutes."""
    rows = 0
    for name, number in OPS:
        lines = run("cut", name, number, "--file", FILE, "--sources").out.splitlines()
        assert max(map(len, lines)) <= 100
        for head, *below in (
            lines[start:] for start, line in enumerate(lines) if line.rstrip().endswith(" minutes")
        ):
            for row in below:
                if row.split()[:1] not in (["rough"], ["finish"], ["all"], ["spark"]):
                    break
                assert row.rstrip().endswith((" min", " -")), f"{head}\n{row}"
                rows += 1
    assert rows > 20


def test_sources_are_named_on_demand() -> None:
    """Each source with what it says, and whether it counted."""
    said = asked("block", "40", "--sources")
    assert (
        "protocutter.com, recommended cutting speeds for speed 27 m/min 30 m/min yes drilling and reaming"
        in said
    )
    assert "named by --sources" not in said


def test_proven_values_are_marked() -> None:
    """The shop's own speed is printed as such, with what it replaced and the note of whoever tried it."""
    said = asked("shaft", "10")
    assert (
        "speed of the roughing pass 30 m/min is proven by the shop (last spring), instead of 180 m/min"
        in said
    )


def test_no_data_is_a_warning_with_a_way_out(shop: Path) -> None:
    """Where the handbook has nothing no table is printed."""
    (shop / FILE).write_text(text().replace("grey cast iron", "brass"), "utf-8")
    said = asked("iron", "surface grind")
    assert "WARNING: no data: no surface grinding row for brass" in said
    assert "give the op its minutes" in said
    assert "finish" not in said.split("WARNING")[0]
    assert "no data" in said


def test_an_op_without_cuts_has_minutes_and_cautions() -> None:
    """Hardening: nothing is cut, minutes are assumed, and the oil is warned of."""
    said = asked("shaft", "harden")
    assert "nothing is cut to a size here" in said
    assert "attended for one part, assumed" in said
    assert "oil quench" in said


def test_stock_and_limit_can_be_given() -> None:
    """What somebody measured takes the place of what the route lets one expect."""
    said = asked("block", "ream", "--stock", "pin=0.03", "--limit", "pin=4 µm")
    assert "takes 0.03 mm on the diameter (given); to ±4 µm (given)" in said
    assert "WARNING: rubbing: the reamer finds 0.03 mm" in said


def test_an_inch_shop_reads_its_own_units(shop: Path) -> None:
    """ft/min, in/min, hp and thou where the build is in inches."""
    head = HEAD + "units: {length: in}\n"
    (shop / "inches.yaml").write_text(
        f"{head}materials: {{}}\nshop: {{machines: {{m: {{kind: CNC mill, speeds: [100, 9000], power: 3 hp}}}}, "
        "tools: {t: {kind: end mill, diameter: 0.5, edges: 3, stick_out: 1.25, material: carbide}}}\n"
        "parts: {p: {material: aluminium 6061, dims: {w: 2 ±0.002}, spans: {w: [a, b]}, "
        "surfaces: {a: {faces: -X, size: [3, 0.4]}, b: {faces: +X, size: [3, 0.4]}}, "
        "route: [{op: contour, machine: m, tool: t, cuts: {b: {least: 0.02}}}]}}\nbodies: {b: {}}\n",
        "utf-8",
    )
    done = run("cut", "p", "10", "--file", "inches.yaml")
    assert done.code == 0, done.err
    for unit in (" ft/min", " in/min", " hp", " thou"):
        assert unit in done.out
    assert " mm" not in done.out.replace("mm²", "")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bloc", "10"), "there is no part 'bloc'"),
        (("block", "25"), "its ops are: 10 saw, 20 face"),
        (("shaft", "turn"), "give a number: 10, 20, 70"),
        (("block", "10", "--stock", "foot"), "is not PATH=VALUE"),
        (("block", "10", "--stock", "left=1"), "this op does not cut 'left'"),
    ],
)
def test_what_cannot_be_answered_is_refused(words: tuple[str, ...], said: str) -> None:
    """A part, an op or a surface that is not there is named with what would do."""
    assert said in refused(*words).err


@pytest.mark.parametrize(("part", "number"), OPS)
def test_the_answer_as_data_satisfies_its_schema(part: str, number: str) -> None:
    """What is printed with --json is valid to the last field, for every way of cutting."""
    done = run("cut", part, number, "--file", FILE, "--json")
    assert done.code == 0, done.err
    data: Any = json.loads(done.out)
    assert data["format"] == "loopwright-cutting/1"
    assert [e.message[:200] for e in Draft202012Validator(schema_of("cutting")).iter_errors(data)] == []
    assert (data["part"], data["number"]) == (part, int(number))


def test_data_are_in_the_units_that_stand_beside_them() -> None:
    """A drill of 5.7 mm at 27.4 m/min turns 1532 times a minute; power is in W, torque in N·m."""
    data = json.loads(run("cut", "block", "40", "--file", FILE, "--json").out)
    pin = data["cuts"][0]
    assert (data["size_unit"], data["unit"], data["speed_unit"]) == ("mm", "µm", "m/min")
    assert pin["tool"]["diameter"] == 5.7
    (one,) = pin["passes"]
    assert one["speed"] == pytest.approx(27.43, abs=0.01)
    assert one["rpm"] == pytest.approx(1532, abs=1)
    assert one["power"] == pytest.approx(one["torque"] * 2 * 3.14159265 * one["rpm"] / 60)


def test_a_book_can_be_asked(shop: Path) -> None:
    """The newest description of a book counts as well as a file."""
    create(shop / "parts.book", text(), build_name="cut parts", who="Ada").close()
    done = run("cut", "block", "20", "--book", "parts.book")
    assert done.code == 0, done.err
    assert "face milling with face 50" in done.out


def changed(shop: Path, *words: tuple[str, str]) -> None:
    """The parts with some words of their file replaced."""
    whole = text()
    for old, new in words:
        assert old in whole, old
        whole = whole.replace(old, new)
    (shop / FILE).write_text(whole, "utf-8")


def test_an_edge_that_rubs_is_warned_of(shop: Path) -> None:
    """An insert rounded to 0.2 mm does not cut chips under 0.04 mm: the warning names the chip and the least."""
    changed(shop, ("tool: turner, held: centres", "tool: blunt turner, held: centres"))
    said = asked("shaft", "20")
    assert "WARNING: rubbing: the chip is" in said
    assert "40 µm" in said
    changed(shop)
    assert "rubbing" not in asked("shaft", "20")


def test_bending_over_a_quarter_of_the_limit_is_warned_of(shop: Path) -> None:
    """A bar of 8 mm reaching 50 mm puts a bore of ±5 µm out by more than 1.25 µm; at ±0.5 mm it may."""
    said = asked("block", "80")
    assert "WARNING: the bar bends" in said
    assert "above a quarter of ±5 µm (dim 'slim')" in said
    assert "take a thicker bar, a shorter reach, or a bar of carbide" in said
    changed(shop, ("slim: 16 ±0.005", "slim: 16 ±0.5"), ("bore: 30 H7", "bore: 30 ±0.5"))
    assert "above a quarter" not in asked("block", "80")


def test_a_speed_above_the_machines_is_warned_of(shop: Path) -> None:
    """Carbide on 12 mm of annealed O1 asks for more than the 2500 rpm of the lathe; at 9000 rpm nothing is said."""
    changed(shop)
    said = asked("shaft", "20")
    assert "WARNING: the speed wanted is above the machine's: at 2,500 rpm, its fastest" in said
    assert "is usual" in said
    changed(shop, ("speeds: [50, 2500], power: 1.5 kW", "speeds: [50, 9000], power: 1.5 kW"))
    assert "above the machine's" not in asked("shaft", "20")


def test_a_stock_of_the_chart_is_told_with_its_ends(shop: Path) -> None:
    """Mean, least and most of the chart, and that they come from it, in words and as data."""
    sawn = "cuts: {foot: {}, top: {measured_from: foot}}}"
    faced = "cuts: {foot: {least: 0.6}}}"
    words = ("tool: face 50, cuts: {foot: {}}}", f"datum: [top], tool: face 50, {faced}")
    fit = ("{op: fit, cuts: {top: {least: 0.005}}}", "{op: fit}")
    changed(
        shop, words, fit, (sawn, sawn.replace("measured_from: foot", "measured_from: foot, size: 39 ±0.3"))
    )
    said = asked("block", "20")
    assert "takes 1 mm, 0.68 mm to 1.32 mm (by the tolerance chart)" in said
    (one,) = json.loads(run("cut", "block", "20", "--file", FILE, "--json").out)["cuts"]
    assert (one["stock"], one["stock_least"], one["stock_most"]) == pytest.approx((1.0, 0.68, 1.32))
    assert one["stock_from"] == "by the tolerance chart"


def test_every_op_of_every_part_is_answered() -> None:
    """No op of the shop ends in anything but an answer."""
    assert {run("cut", name, number, "--file", FILE).code for name, number in OPS} == {0}
