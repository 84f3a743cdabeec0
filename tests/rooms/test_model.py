"""The room of the model: what a build knows about itself without any mathematics."""

import pickle

import pytest
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from loopwright.buildfile import examples, read_text, write_text
from loopwright.model import references
from loopwright.model.base import SUGGESTED_UNITS
from loopwright.model.build import Build, Units
from loopwright.model.contacts import (
    Adjuster,
    AdjusterKind,
    Block,
    Contact,
    Drive,
    Guide,
    Rail,
    RailLine,
    Seat,
)
from loopwright.model.error_motions import ErrorMotion, letter
from loopwright.model.indications import Gauge, Target, Zeroing
from loopwright.model.indications import Test as Reading
from loopwright.model.joints import Body, Joint, JointKind, adjusters
from loopwright.model.notes import field_notes
from loopwright.model.parts import Dim, DimTerm, Part
from loopwright.model.spread import Shape, Spread
from loopwright.units import Dimension, parse

SHIM = Adjuster(kind=AdjusterKind.SHIM, range=(0.0, 0.2))
UP = (0.0, 0.0, 1.0)
RIGHT_ANGLE = parse("90 deg", Dimension.ANGLE)


def fixed(parent: str, child: str, **more: object) -> Joint:
    """A fixed joint between two bodies."""
    return Joint(kind=JointKind.FIXED, parent=parent, child=child, **({"perfect": True} | more))


def machine(**more: object) -> Build:
    """Base, column and head in a row, and a table beside them that moves in X."""
    table = Joint(
        kind=JointKind.LINEAR,
        parent="base",
        child="table",
        along=(-1.0, 0.0, 0.0),
        travel=(0.0, 300.0),
        perfect=True,
    )
    joints = {
        "column on base": fixed("base", "column"),
        "head on column": fixed("column", "head"),
        "X slide": table,
    }
    bodies = {name: Body() for name in ("base", "column", "head", "table")}
    return Build(**({"name": "m", "bodies": bodies, "joints": joints} | more))


def what(build: Build) -> list[tuple[str, str]]:
    """Fields and words of everything that is wrong with a build."""
    return [(problem.field, problem.what) for problem in references.problems(build)]


def test_the_way_to_a_body() -> None:
    """A body hangs on the joints between the base and it, in that order; the base hangs on none."""
    build = machine()
    assert build.path_to("head") == ["column on base", "head on column"]
    assert build.path_to("base") == []
    assert build.carried_by("column on base") == ["column", "head"]
    assert build.carried_by("X slide") == ["table"]
    assert build.joint_above() == {"column": "column on base", "head": "head on column", "table": "X slide"}
    assert build.axes() == {"X": "X slide"}


def test_an_axis_letter_comes_from_the_direction() -> None:
    """Without a letter of its own, an axis takes the letter of its main direction, by ISO 841: C turns about Z."""
    turning = Joint(
        kind="rotary",
        parent="a",
        child="b",
        about=(0.0, 0.1, 0.99),
        at=(0, 0, 0),
        travel=(0.0, 1.0),
        perfect=True,
    )
    assert turning.letter == "C"
    assert turning.position is Dimension.ANGLE
    assert turning.direction == turning.about
    sloping = Joint(
        kind="linear", parent="a", child="b", along=(0.0, -0.8, 0.6), travel=(0.0, 1.0), perfect=True
    )
    assert sloping.letter == "Y"
    assert fixed("a", "b").letter is None


def test_material_of_a_body() -> None:
    """A body grows like its own material, else like its first part that has one."""
    parts = {"pad": Part(), "casting": Part(material="grey cast iron"), "cover": Part(material="steel")}
    bodies = {
        "a": Body(parts=["pad", "casting", "cover"]),
        "b": Body(material="brass", parts=["cover"]),
        "c": Body(),
    }
    build = Build(name="m", parts=parts, bodies=bodies)
    assert [build.material_of(body) for body in bodies] == ["grey cast iron", "brass", None]


def test_a_dim_is_found_by_its_path() -> None:
    """'part/dim' leads to a dim; anything else leads to nothing."""
    build = machine(parts={"pad": Part(dims={"height": Dim(nominal=12.0)})})
    assert build.dim("pad/height") == Dim(nominal=12.0)
    assert [build.dim(path) for path in ("pad", "pad/width", "pod/height", "")] == [None] * 4


def test_a_spread_moves_its_mean_to_the_middle_of_its_limits() -> None:
    """Limits that are not even move what is expected; a known value shifts both."""
    spread = Spread(value=1.0, lower=-0.1, upper=0.3)
    assert (spread.mean, spread.half, spread.certain) == (1.1, 0.2, False)
    assert Spread(value=1.0).certain
    assert not Spread(std=0.1).certain
    assert Spread(std=0.1).half == 0


@pytest.mark.parametrize(
    "fields",
    [
        {"lower": 0.1, "upper": -0.1},
        {"std": -0.1},
        {"std": 0.1, "upper": 0.1},
        {"std": 0.1, "shape": Shape.RECTANGULAR},
        {"multiple": 2.0},
        {"shape": Shape.NORMAL, "multiple": 0.0},
        {"shape": Shape.NORMAL, "top": 0.5},
        {"shape": Shape.TRAPEZOIDAL, "top": 1.5},
        {"value": float("nan")},
        {"upper": float("inf")},
    ],
)
def test_a_spread_that_contradicts_itself(fields: dict[str, object]) -> None:
    """Limits that cross, two ways of saying one thing, and what does not go with the shape are refused."""
    with pytest.raises(ValidationError):
        Spread.model_validate(fields)


@pytest.mark.parametrize(
    ("text", "direction", "axis", "squareness", "dimension"),
    [
        ("EXX", "X", "X", False, Dimension.LENGTH),
        ("EYX", "Y", "X", False, Dimension.LENGTH),
        ("EBZ", "B", "Z", False, Dimension.ANGLE),
        ("EAX2", "A", "X2", False, Dimension.ANGLE),
        ("ECC", "C", "C", False, Dimension.ANGLE),
        ("C0Y", "C", "Y", True, Dimension.ANGLE),
        ("A0Z", "A", "Z", True, Dimension.ANGLE),
    ],
)
def test_letters_of_iso_230_1(
    text: str, direction: str, axis: str, squareness: bool, dimension: Dimension
) -> None:
    """ISO 230-1:2012, 3.4 and figures: E, direction, axis that moves; squareness as A0Z, B0Z, C0Y (from memory)."""
    found = letter(text)
    assert (found.direction, found.axis, found.squareness, found.dimension) == (
        direction,
        axis,
        squareness,
        dimension,
    )


@pytest.mark.parametrize("text", ["", "E", "EX", "EXx", "X", "EDX", "D0Z", "X0Y", "EXXX", "E XX"])
def test_letters_that_are_none(text: str) -> None:
    """Anything else is no error motion."""
    with pytest.raises(PydanticCustomError):
        letter(text)


def test_an_indication_knows_what_it_is() -> None:
    """Several letters together are a length, A, B and C are angles, a direction is one component."""
    common: dict[str, object] = {"between": ("a", "b"), "over": {}}
    plane = Reading(component="XY", **common)
    assert (plane.components, plane.dimension, plane.angular) == (("X", "Y"), Dimension.LENGTH, False)
    turn = Reading(component="B", **common)
    assert (turn.components, turn.dimension, turn.angular) == (("B",), Dimension.ANGLE, True)
    assert Reading(along=UP, **common).components == ("along",)


def test_what_can_be_set() -> None:
    """Contacts, rails, blocks and drives with an adjuster are settable, each by its path below the joint."""
    guide = Guide(
        normal=UP,
        rails={"A": Rail(), "B": Rail(side=RailLine(adjust=SHIM))},
        blocks={"front": Block(rail="A", at=(0, 0, 0), height=Seat(adjust=SHIM), side="free")},
    )
    joint = Joint(
        kind="linear",
        parent="a",
        child="b",
        along=(1.0, 0.0, 0.0),
        travel=(0.0, 1.0),
        guide=guide,
        contacts={
            "stop": Contact(at=(0, 0, 0), normal=UP, adjust=SHIM),
            "pad": Contact(at=(0, 0, 0), normal=UP),
        },
        drives={
            "left": Drive(kind="rack", at=(0, 0, 0)),
            "right": Drive(kind="rack", at=(0, 0, 0), adjust=SHIM),
        },
    )
    assert list(adjusters(joint)) == [
        "stop",
        "drives/right",
        "guide/rails/B/side",
        "guide/blocks/front/height",
    ]


def test_a_build_of_a_program_is_checked_too() -> None:
    """Names that lead nowhere are found in a build that never was a file."""
    assert what(machine()) == []
    wrong = machine(
        parts={
            "pad": Part(material="unobtainium", dims={"lean": Dim(nominal=0.1), "height": Dim(nominal=5.0)})
        },
        targets={"t": Target(between=("table", "haed"), component="X", over={"X": [0.0, 400.0]}, limit=0.01)},
    )
    assert [field for field, _ in what(wrong)] == [
        "parts/pad/material",
        "parts/pad/dims/lean",
        "parts/pad/dims/height",
        "targets/t/between/1",
        "targets/t/over/X",
    ]


def test_three_bodies_in_a_circle() -> None:
    """A circle is told once, with the bodies in it, however many joints it has."""
    joints = {"1": fixed("c", "a"), "2": fixed("a", "b"), "3": fixed("b", "c"), "4": fixed("a", "d")}
    build = Build(name="m", bodies={name: Body() for name in "abcd"}, joints=joints)
    assert what(build) == [("joints/1", "'a' carries itself in a circle: a on c on b on a")]


def test_a_ball_screw_of_a_grade_that_ends_before_the_travel() -> None:
    """A grade that is none, or whose table ends before the travel does, is told before anything is computed."""
    for grade, words in (("Q9", "not a ball screw grade"), ("C2", "ends here at 800 mm")):
        joint = Joint(
            kind="linear",
            parent="base",
            child="head",
            along=(1.0, 0.0, 0.0),
            travel=(0.0, 2000.0),
            drive=Drive(kind="ball screw", at=(0, 0, 0), lead_error={"grade": grade}),
        )
        build = Build(name="m", bodies={"base": Body(), "head": Body()}, joints={"X": joint})
        ((field, said),) = what(build)
        assert field == "joints/X/drive/lead_error/grade"
        assert words in said


def test_numbers_of_a_program_are_internal() -> None:
    """A number given by a program is mm, rad, N/mm; a text says its own unit; without a unit it is refused."""
    contact = Contact(at=(1, "1 in", "5 µm"), normal="-Z", stiffness="300 N/µm")
    assert contact.at == (1.0, 25.4, 0.005)
    assert contact.normal == (0.0, 0.0, -1.0)
    assert contact.stiffness == 300_000.0
    assert Gauge(reads="angle", resolution="1 arcsec").resolution == parse("1 arcsec", Dimension.ANGLE)
    with pytest.raises(ValidationError, match="no unit"):
        Contact(at=("1", "2", "3"), normal="Z")


def test_a_lever_has_a_unit_in_a_file() -> None:
    """In a file in inches, 'times: 4 in' is a lever of 101.6 mm and 'times: 0.5' is a factor."""
    text = (
        "format: loopwright-build/1\nname: m\nunits: {length: in}\nbodies: {a: {}, b: {}}\n"
        "parts: {p: {dims: {lean: 90 deg ±9 arcsec, height: 1 ±0.001}}}\n"
        "joints: {j: {kind: fixed, parent: a, child: b, contacts: {c: {at: [0, 0, 0], normal: Z,"
        " dims: [{dim: p/lean, times: 4 in}, {dim: p/height, times: 0.5}, −p/height]}}}}\n"
    )
    terms = read_text(text).joints["j"].contacts["c"].dims
    assert terms == [
        DimTerm(dim="p/lean", times=101.6, lever=True),
        DimTerm(dim="p/height", times=0.5),
        DimTerm(dim="p/height", times=-1.0),
    ]


def test_units_of_a_shop() -> None:
    """Small errors are shown in thou where lengths are in inches, in µm elsewhere, or as the file says."""
    assert Units().small_length == "µm"
    assert Units(length="in").small_length == "thou"
    assert Units(length="in", errors="tenths").small_length == "tenths"
    assert Units(length="in").shown(Dimension.LENGTH) == "thou"
    assert Units(angle="µm/m").shown(Dimension.ANGLE) == "µm/m"
    for dimension, unit in SUGGESTED_UNITS.items():
        assert parse(f"1 {unit}", dimension) is not None


def test_records_are_frozen_and_travel() -> None:
    """A build cannot be changed by accident, and survives being sent to another process."""
    build = machine()
    with pytest.raises(ValidationError):
        build.name = "other"
    with pytest.raises(ValidationError):
        Body(colour="green")
    assert pickle.loads(pickle.dumps(build)) == build
    example = read_text(examples.text(examples.names()[0]))
    assert pickle.loads(pickle.dumps(example)) == example


def test_every_field_of_every_record_has_a_note() -> None:
    """Every field says below itself what it means, own or taken over."""
    for kind in (Build, Joint, Contact, Target, Reading, RailLine, Drive, ErrorMotion, Zeroing, Units):
        assert set(field_notes(kind)) == set(kind.model_fields)
        assert all(note.endswith(".") for note in field_notes(kind).values())


def test_what_is_written_is_what_a_machinist_would_write() -> None:
    """Numbers stand in the units of the shop with no more digits than they have, short entries on one line."""
    column = Part(
        material="grey cast iron",
        dims={
            "height": Dim(nominal=381.0, spread=Spread(lower=-0.0254, upper=0.0508)),
            "lean": Dim(
                nominal=RIGHT_ANGLE, spread=Spread(std=parse("3 arcsec", Dimension.ANGLE)), quantity="angle"
            ),
        },
        note="welded, and stress relieved: twice",
    )
    build = Build(
        name="Mill #2",
        units=Units(length="in", mass="lb"),
        parts={"column": column},
        bodies={
            "base": Body(mass=Spread(value=parse("80 lb", Dimension.MASS))),
            "head": Body(parts=["column"]),
        },
        joints={"head on base": fixed("base", "head")},
        targets={"depth": Target(between=("base", "head"), along=UP, over={"X": [0.0, 25.4]}, limit=0.0127)},
    )
    assert (
        write_text(build)
        == """\
format: loopwright-build/1
name: "Mill #2"
units: {length: in, mass: lb}
parts:
  column:
    material: grey cast iron
    dims: {height: 15 +0.002/-0.001, lean: {nominal: 90 deg, std: 3 arcsec}}
    note: "welded, and stress relieved: twice"
bodies:
  base: {mass: 80 lb}
  head: {parts: [column]}
joints:
  head on base: {kind: fixed, parent: base, child: head, perfect: true}
targets:
  depth: {between: [base, head], along: +Z, over: {X: [0, 1]}, limit: 0.0005}
"""
    )
