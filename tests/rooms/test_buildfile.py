"""The room of the build file: every mistake is told where it is, and a change leaves the rest of a file alone."""

from pathlib import Path

import pytest

from loopwright.buildfile import changed, examine, examples, read_text, set_value
from loopwright.errors import BuildError, Problem, RequestError

GOOD = """\
# A bench drill, as its maker wrote it down.   (invented)
format: loopwright-build/1
name: "Bench drill"

units: {length: mm,  angle: arcsec}   # two blanks, on purpose
general_limits: ±0.1

parts:
  column:                 # welded
    material: 'low carbon steel'
    dims:
      height:   240 ±0.02     # over the pads
      lean: 90 deg ±8 arcsec
      bore: 25 H7
  pad: {material: steel, dims: {height: 12 ±0.005, 'odd, name': 3 ±0.1}}

bodies:
  base: {parts: [pad], mass: 80 kg}
  column:
    parts:
    - column
    mass: 38 kg   # weighed
    centre_of_mass: [0, 338, 145]
    # end of column
  table:
    mass:
      value: 20 kg
      limits: ±1 kg
    centre_of_mass: [0, 0,
                     -20]
joints:
  column on base:
    kind: fixed
    parent: base
    child: column
    contacts:
      left:  {at: [-60, 0, 0], normal: +Z, dims: [+pad/height, {dim: column/lean, times: 60 mm}],
              adjust: {kind: shim, range: 0…0.2}}
      right: {at: [60, 0, 0], normal: +Z}
  Y slide:
    kind: linear
    parent: base
    child: table
    along: -Y
    travel: [0, 220]
    errors: {EYY: ±0.004, EBY: ±6}
    errors_at: [0, 0, 0]
made_together:
  pads: {dims: [pad/height, column/height], shared: ±0.02, own: ±2 µm}
targets:
  hole: {between: [table, column], component: XY, over: {Y: [0, 220]}, limit: 15 µm}
gauges:
  tenths indicator: {resolution: 1 µm}
tests:
  straight: {between: [table, column], along: +X, sweep: {Y: [0, 200, 40]}, gauge: tenths indicator, zeroed: line}
fit_up:
  - {step: shim the column, read: [straight], adjust: [column on base/left], accept: 4 µm}
note: >-
  folded
  text
"""


def problems(text: str) -> tuple[Problem, ...]:
    """All mistakes of a text."""
    return examine(text, "drill.yaml").problems


def line_of(text: str, part: str) -> int:
    """Line in which a part of a text stands for the first time."""
    return text[: text.index(part)].count("\n") + 1


def test_the_good_file_is_good() -> None:
    """The file that the tests below spoil is read without a word."""
    assert problems(GOOD) == ()
    assert read_text(GOOD).parts["column"].dims["bore"].fit == "H7"


# ---------------------------------------------------------------------------------------------- one mistake each


def mistakes() -> dict[str, tuple[str, str, str, str, str]]:
    """By name: what is replaced by what, where that is told, and words of what is wrong and what would do."""
    _, *blocks = (Path(__file__).parent / "mistakes_in_build_files.txt").read_text("utf-8").split("\n== ")
    out = {}
    for block in blocks:
        name, old, new, field, what, remedy = block.rstrip("\n").split("\n")
        out[name] = (old[1:-1].replace("\\n", "\n"), new[1:-1].replace("\\n", "\n"), field, what, remedy)
    return out


MISTAKES = mistakes()


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_is_told(name: str) -> None:
    """One mistake gives one problem, with its field, its line, what is wrong and what would do."""
    old, new, field, what, remedy = MISTAKES[name]
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)
    found = problems(text)
    assert [problem.field for problem in found] == [field]
    (problem,) = found
    assert problem.file == "drill.yaml"
    assert what in problem.what
    assert remedy in problem.remedy
    if field not in ("format", "name"):
        assert problem.line is not None
        assert deepest_name(field) in text.splitlines()[problem.line - 1]


def deepest_name(field: str) -> str:
    """The last part of a field path that is a word of the file, not a number in a list."""
    return next(part for part in reversed(field.split("/")) if not part.isdigit())


def test_a_mistake_with_companions() -> None:
    """A joint on the wrong body is told, and so is the body that now hangs in the air."""
    two = problems(GOOD.replace("child: table", "child: column"))
    assert {(p.field, p.line) for p in two} == {("bodies/table", 25), ("joints/Y slide/child", 43)}
    assert any("already carried by 'column on base'" in p.what and "one joint" in p.remedy for p in two)
    circle = problems(GOOD.replace("parent: base\n    child: column", "parent: table\n    child: base"))
    assert [p.what for p in circle if p.field == "joints/column on base"] == [
        "'base' carries itself in a circle: base on table on base"
    ]
    letters = problems(GOOD.replace("kind: fixed", "kind: linear\n    along: +Y\n    travel: [0, 5]"))
    assert [p.field for p in letters] == ["joints/Y slide/axis"]
    crossed = problems(GOOD.replace("limits: ±1 kg", "lower: 1 kg\n      upper: 0 kg"))
    assert [(p.field, "above the upper" in p.what) for p in crossed] == [("bodies/table/mass", True)]
    nothing = problems(GOOD.replace("general_limits: ±0.1\n", "").replace("25 H7", "25"))
    assert [(p.field, p.what) for p in nothing] == [("parts/column/dims/bore", "has no limits")]
    shapes = problems(
        GOOD.replace("pads: {dims: [pad/height, column/height], shared: ±0.02, own: ±2 µm}", "pads: [1]")
    )
    assert [(p.field, p.what) for p in shapes] == [("made_together/pads", "[1] is not a mapping")]


def test_angles_are_told_in_degrees() -> None:
    """A rotary pose outside of its travel is told in degrees, not in radians."""
    text = GOOD.replace("kind: linear", "kind: rotary").replace("along: -Y", "about: +Z\n    at: [0, 0, 0]")
    text = text.replace("[0, 220]", "[0 deg, 90 deg]", 1).replace("EYY: ±0.004, EBY: ±6", "EBC: ±6")
    text = text.replace("{Y: [0, 220]}", "{C: [0 deg, 120 deg]}").replace(
        "{Y: [0, 200, 40]}", "{C: [0 deg, 80 deg, 5 deg]}"
    )
    (problem,) = problems(text)
    assert problem.what == "120 deg is outside the travel of C, 0 deg to 90 deg"


def test_inches_are_told_in_inches() -> None:
    """In a file in inches, messages speak of inches."""
    text = GOOD.replace("length: mm", "length: in").replace("{Y: [0, 220]}", "{Y: [0, 221.5]}")
    (problem,) = problems(text)
    assert problem.what == "221.5 in is outside the travel of Y, 0 in to 220 in"


# ---------------------------------------------------------------------------------------------- many mistakes


SPOILT = (
    ("angle: arcsec}", "angle: arcsecs}"),
    ("'low carbon steel'", "gray cats iron"),
    ("240 ±0.02 ", "240,5 ±0.02 "),
    ("25 H7", "25 Q7"),
    ("12 ±0.005", "12 ±5 kg"),
    ("{parts: [pad], mass: 80 kg}", "{parts: [pda], colour: green}"),
    ("mass: 38 kg ", "mass: -38 kg "),
    ("[0, 338, 145]", "[0, 338]"),
    ("kind: fixed", "kind: fixed\n    kind: fixed"),
    ("normal: +Z, dims: [+pad/height", "normal: [0, 0, 0], dims: [+pad/hieght"),
    ("kind: shim, ", "kind: shims, "),
    ("EYY: ±0.004, EBY: ±6", "EYY: ±0.004 kg, EBY: ±6, EXX: ±1"),
    ("shared: ±0.02", "shared: 0.02"),
    (
        "component: XY, over: {Y: [0, 220]}, limit: 15 µm",
        "component: XW, over: {Y: [0, 320]}, limit: -15 µm",
    ),
    ("{resolution: 1 µm}", "{resolution: 1 µm, reads: lenght}"),
    ("[table, column], along: +X", "[tabel, column], along: +X"),
    ("gauge: tenths", "guage: tenths"),
    ("read: [straight]", "read: [strait]"),
    ("accept: 4 µm", "accept: -4 µm"),
)
TOLD = {
    "units/angle": "units:",
    "parts/column/material": "gray cats iron",
    "parts/column/dims/height": "240,5",
    "parts/column/dims/bore": "25 Q7",
    "parts/pad/dims/height": "12 ±5 kg",
    "bodies/base/parts/0": "[pda]",
    "bodies/base/colour": "colour",
    "bodies/column/mass": "-38 kg",
    "bodies/column/centre_of_mass": "[0, 338]",
    "joints/column on base/kind": "kind: fixed\n    parent",
    "joints/column on base/contacts/left/normal": "hieght",
    "joints/column on base/contacts/left/dims/0": "hieght",
    "joints/column on base/contacts/left/adjust/kind": "kind: shims",
    "joints/Y slide/errors/EYY": "EYY",
    "made_together/pads/shared": "shared",
    "targets/hole/component": "XW",
    "targets/hole/limit": "XW",
    "targets/hole/over/Y": "XW",
    "gauges/tenths indicator/reads": "lenght",
    "tests/straight/between/0": "tabel",
    "tests/straight/guage": "guage",
    "fit_up/0/read/0": "strait",
    "fit_up/0/accept": "strait",
}


def test_all_mistakes_at_once() -> None:
    """A file with many mistakes, in all of its sections, has all of them told in one go, each at its line."""
    text = GOOD
    for old, new in SPOILT:
        assert old in text
        text = text.replace(old, new, 1)
    found = problems(text)
    places = {problem.field: problem.line for problem in found}
    assert places.items() >= {field: line_of(text, part) for field, part in TOLD.items()}.items()
    assert [p.line for p in found] == sorted(p.line or 0 for p in found)
    assert set(places) == {*TOLD, "joints/Y slide/errors/EXX"}
    with pytest.raises(BuildError) as caught:
        read_text(text)
    assert str(caught.value).count("\n") == len(found) - 1


def test_a_partial_build() -> None:
    """Beside the mistakes comes what could be read: whole entries only, none of them half true."""
    found = examine(GOOD.replace("240 ±0.02", "240,5 ±0.02").replace("limit: 15 µm", "limit: -1 µm"))
    assert found.build is not None
    assert set(found.build.parts) == {"pad"}
    assert found.build.targets == {}
    assert set(found.build.joints) == {"column on base", "Y slide"}
    assert examine(GOOD.replace("bodies:", "bodys:")).build is None


def test_names_that_could_not_be_read_are_not_missed() -> None:
    """What refers to an entry with a mistake in it is not called a mistake too."""
    for old, new in (
        ("12 ±0.005", "12 ±x"),
        ("travel: [0, 220]", "travel: [220, 0]"),
        ("resolution: 1 µm", "resolution: x"),
    ):
        assert len(problems(GOOD.replace(old, new))) == 1
    for section in ("parts", "joints"):
        found = problems(GOOD.replace(f"\n{section}:\n", f"\n{section}: []\nrest:\n"))
        assert [problem.field for problem in found] == [section, "rest"]


# ---------------------------------------------------------------------------------------------- changing a file

CHANGES = [
    ("parts/column/dims/height", "241 ±0.03", "240 ±0.02 ", "241 ±0.03 "),
    ("column/height", "241 ±0.03", "240 ±0.02 ", "241 ±0.03 "),
    ("/column/height/", "  241 ±0.03 ", "240 ±0.02 ", "241 ±0.03 "),
    ("pad/height", "12.1 ±0.005", "height: 12 ±0.005", "height: 12.1 ±0.005"),
    ("pad/odd, name", "4 ±0.1", "3 ±0.1", "4 ±0.1"),
    ("parts/column/material", "grey cast iron", "'low carbon steel'", "grey cast iron"),
    ("name", "'Drill: two'", '"Bench drill"', "'Drill: two'"),
    ("bodies/column/mass", "39 kg ±1 kg", "38 kg   # weighed", "39 kg ±1 kg   # weighed"),
    ("bodies/column/parts/0", "pad", "- column\n", "- pad\n"),
    ("bodies/column/parts", "[pad, column]", "parts:\n    - column\n", "parts: [pad, column]\n"),
    ("bodies/column/centre_of_mass/2", "150", "338, 145]", "338, 150]"),
    ("bodies/table/mass/limits", "±2 kg", "±1 kg", "±2 kg"),
    ("bodies/table/mass", "21 kg", "mass:\n      value: 20 kg\n      limits: ±1 kg\n", "mass: 21 kg\n"),
    ("bodies/table/centre_of_mass", "[0, 0, -21]", "[0, 0,\n                     -20]", "[0, 0, -21]"),
    ("joints/Y slide/travel/1", "300", "travel: [0, 220]", "travel: [0, 300]"),
    (
        "joints/Y slide/errors/EBY",
        "{limits: ±6, varies: constant}",
        "EBY: ±6}",
        "EBY: {limits: ±6, varies: constant}}",
    ),
    ("joints/column on base/contacts/left/dims/1/times", "70 mm", "times: 60 mm", "times: 70 mm"),
    ("targets/hole/limit", "12 µm", "limit: 15 µm", "limit: 12 µm"),
    (
        "targets/hole/note",
        "the one that matters",
        "limit: 15 µm}",
        "limit: 15 µm, note: the one that matters}",
    ),
    ("targets/hole/note", "this, and that", "limit: 15 µm}", 'limit: 15 µm, note: "this, and that"}'),
    ("bodies/column/material", "steel", "145]\n", "145]\n    material: steel\n"),
    ("bodies/column/above_room", "2 K ±1 K  # warm", "145]\n", "145]\n    above_room: 2 K ±1 K  # warm\n"),
    ("fit_up/0/accept", "5 µm", "accept: 4 µm", "accept: 5 µm"),
    ("confidence", "99 %", "  text\n", "  text\nconfidence: 99 %\n"),
    ("note", "short", ">-\n  folded\n  text\n", "short\n"),
    ("units", "{length: in}", "{length: mm,  angle: arcsec}", "{length: in}"),
    ("general_limits", "~", "general_limits: ±0.1", "general_limits: ~"),
]


@pytest.mark.parametrize("windows", [False, True], ids=["unix", "windows"])
@pytest.mark.parametrize(("path", "value", "old", "new"), CHANGES)
def test_a_change_leaves_the_rest_alone(path: str, value: str, old: str, new: str, windows: bool) -> None:
    """Comments, order, blanks, quotes and line ends stay to the letter; only the value is another."""
    assert GOOD.count(old) == 1
    text, wanted = GOOD, GOOD.replace(old, new)
    if windows:
        text, wanted = text.replace("\n", "\r\n"), wanted.replace("\n", "\r\n")
    assert set_value(text, path, value) == wanted


def test_a_change_at_the_end_of_a_file_without_a_last_line_end() -> None:
    """A file whose last line has no end gets a new line, and keeps its own way of ending."""
    text = "format: loopwright-build/1\nname: a\nbodies: {b: {}}"
    assert set_value(text, "note", "x") == text + "\nnote: x"
    assert set_value(text, "bodies/b", "{mass: 1 kg}") == text.replace("{b: {}}", "{b: {mass: 1 kg}}")
    assert set_value(text, "bodies/b/mass", "1 kg") == text.replace("{b: {}}", "{b: {mass: 1 kg}}")


def test_empty_places_are_filled() -> None:
    """A name with nothing behind its colon gets a value, and its comment stays."""
    text = "name: a\nnote:   # to be done\nbodies:\n  b:\n  c: {}\n"
    assert set_value(text, "note", "done") == text.replace("note:", "note: done")
    assert set_value(text, "bodies/b", "{}") == text.replace("b:", "b: {}")
    assert set_value("name: a\nnote:", "note", "done") == "name: a\nnote: done"


@pytest.mark.parametrize(
    ("path", "value", "what", "remedy"),
    [
        ("parts/colum/dims/height", "1", "no 'colum' in 'parts'", "did you mean 'column'"),
        ("column/hieght", "1", "no 'hieght' in 'parts/column/dims'", "did you mean 'height'"),
        ("parts/column/dims/width", "1", "no 'width'", "known there are: height, lean, bore"),
        ("parts/column/metarial", "steel", "no 'metarial'", "did you mean 'material'"),
        ("bodies/column/mass/value", "1", "single value", "set that value itself"),
        ("bodies/column/parts/5", "pad", "no entry 5", "count from 0 to 0"),
        ("bodies/column/parts/x", "pad", "no entry x", "count from 0"),
        ("part", "1", "no 'part'", "did you mean 'parts'"),
        ("", "1", "not a path", "parts/column/dims/height"),
        ("parts//dims", "1", "not a path", "parts/column/dims/height"),
        ("name", "[", "cannot be read", "as it would stand in the file"),
        ("name", "a: b: c", "cannot be read", "as it would stand in the file"),
        ("name", "!tag x", "tag", "as it would stand in the file"),
    ],
)
def test_a_change_that_cannot_be(path: str, value: str, what: str, remedy: str) -> None:
    """A path that leads nowhere and a value that is none are refused, with the nearest name."""
    with pytest.raises(RequestError) as caught:
        set_value(GOOD, path, value)
    assert what in caught.value.what
    assert remedy in caught.value.remedy


def test_a_change_never_reaches_another_place() -> None:
    """What other lines repeat by an alias is not changed behind their back."""
    text = "name: a\nbodies:\n  b: &b {mass: 1 kg}\n  c: *b\n"
    with pytest.raises(RequestError, match="other lines"):
        set_value(text, "bodies/b/mass", "2 kg")
    with pytest.raises(RequestError, match="other lines"):
        set_value(text, "bodies/c/mass", "2 kg")
    assert set_value(text, "bodies/c", "{mass: 2 kg}") == text.replace("*b", "{mass: 2 kg}")
    alone = "name: a\nbodies: {b: {mass: &m 1 kg}}\n"
    assert set_value(alone, "bodies/b/mass", "2 kg") == alone.replace("1 kg", "2 kg")


def test_what_if() -> None:
    """Several changes give a document without touching the file; a text that is no YAML is refused."""
    document = changed(GOOD, {"column/height": "250 ±0.1", "targets/hole/limit": "20 µm"}, "drill.yaml")
    assert document.data["parts"]["column"]["dims"]["height"] == "250 ±0.1"
    assert document.data["targets"]["hole"]["limit"] == "20 µm"
    assert document.file == "drill.yaml"
    with pytest.raises(BuildError):
        set_value("a: [", "a", "1")


# ---------------------------------------------------------------------------------------------------- examples


def test_examples_are_found_by_name() -> None:
    """The shipped examples are listed, and a misspelt name is answered with the nearest."""
    assert len(examples.names()) >= 1
    name = examples.names()[0]
    assert examples.text(name).startswith("format: loopwright-build/1")
    with pytest.raises(RequestError) as caught:
        examples.text(name[:-1])
    assert caught.value.remedy == f"did you mean '{name}'?"
    with pytest.raises(RequestError) as caught:
        examples.text("zzzzzz")
    assert name in caught.value.remedy


def test_a_decimal_point_is_a_decimal_point() -> None:
    """Forms of one number that mean the same are the same."""
    forms = [
        "240 ±0.02",
        "240.0 ±0.020",
        "240 ±20 µm",
        "240 mm ±0.02 mm",
        "240 +0.02/-0.02",
        "{nominal: 240, limits: ±0.02}",
    ]
    builds = [read_text(GOOD.replace("240 ±0.02", form)) for form in forms]
    assert all(build == builds[0] for build in builds)


def test_merged_entries() -> None:
    """'<<' takes over entries of another mapping, and own entries win, as people who know YAML expect."""
    text = GOOD.replace("pad: {material", "pad: &pad {material").replace(
        "bodies:\n", "  pad 2: {<<: *pad, material: brass}\nbodies:\n", 1
    )
    build = read_text(text)
    assert build.parts["pad 2"].material == "brass"
    assert build.parts["pad 2"].dims == build.parts["pad"].dims
