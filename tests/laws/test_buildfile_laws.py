"""What holds for every build: writing it and reading it back gives the same build."""

import math
import re
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from loopwright import units
from loopwright.buildfile import examine, examples, json_schema, read_text, set_value, write_text
from loopwright.buildfile.yaml_text import parse
from loopwright.handbook.limits_and_fits import limits as limits_of_class
from loopwright.model.build import Build, Closure, FitUpStep, Heat, ProcessLoad, Units
from loopwright.model.contacts import (
    Adjuster,
    AdjusterKind,
    Block,
    Contact,
    Drive,
    EveryBlock,
    Guide,
    LeadError,
    Rail,
    RailLine,
    Seat,
)
from loopwright.model.error_motions import ErrorMotion, Varies
from loopwright.model.indications import Artefact, Gauge, Indication, Span, Target, Zeroing
from loopwright.model.indications import Test as Reading
from loopwright.model.joints import Body, Joint, JointKind, JointStiffness
from loopwright.model.joints import adjusters as adjusters_of
from loopwright.model.parts import Dim, DimTerm, MadeTogether, Material, Part
from loopwright.model.spread import NONE, Shape, Spread
from loopwright.units import Dimension

# Numbers as people give them, in the unit of their shop, and now and then one that no person would.
TIDY = st.integers(-(10**5), 10**5).map(lambda n: n / 1000)
SCALES = st.sampled_from([1.0, 25.4, 0.0254, math.pi / 180, math.pi / 648000])
ROUGH = st.floats(-1e4, 1e4, allow_subnormal=False).filter(lambda x: x == 0 or abs(x) > 1e-30)
NUMBER = st.builds(lambda n, scale: n * scale, TIDY, SCALES) | ROUGH
POSITIVE = NUMBER.map(abs).filter(lambda x: x > 1e-9)
SMALL = st.integers(0, 400).map(lambda n: n / 10_000) | POSITIVE.map(lambda x: x / 1e4)
LETTER = st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters="/")
WORD = st.text(LETTER, min_size=1, max_size=8)
ODD = st.sampled_from(
    [
        "null",
        "true",
        "12",
        "-",
        "1e5",
        ".5e3",
        "a: b",
        "# a",
        "[a]",
        "{b",
        "<<",
        "a, b",
        "~",
        "@x",
        "*x",
        "'q'",
        '"',
    ]
)
NAME = st.lists(WORD | ODD, min_size=1, max_size=3).map(" ".join).filter(lambda name: name.isprintable())
NOTE = (
    st.none()
    | st.text(st.characters(codec="utf-8"), max_size=300)
    | st.sampled_from(["a\nb\n", "a\n\n b\n", "word " * 60, " x"])
)
POINT = st.tuples(NUMBER, NUMBER, NUMBER)


def names(count: int) -> st.SearchStrategy[list[str]]:
    """Different names."""
    return st.lists(NAME, min_size=count, max_size=count, unique=True)


def some(strategy: st.SearchStrategy[Any], most: int = 2) -> st.SearchStrategy[dict[str, Any]]:
    """A few entries with names of their own."""
    return st.dictionaries(NAME, strategy, max_size=most)


@st.composite
def spreads(draw: st.DrawFn, number: st.SearchStrategy[float] = SMALL) -> Spread:
    """Nothing, limits of any kind, or a standard deviation."""
    value = draw(st.sampled_from([0.0, 0.0, 0.005]) | number)
    match draw(st.sampled_from(["none", "even", "pair", "std", "shaped"])):
        case "none":
            return Spread(value=value)
        case "even":
            half = draw(number.map(abs))
            return Spread(value=value, lower=-half, upper=half)
        case "pair":
            low, high = sorted((draw(number), draw(number.map(lambda x: -x))))
            return Spread(value=value, lower=low, upper=high)
        case "std":
            return Spread(
                value=value, std=draw(number.map(abs)), shape=draw(st.sampled_from([None, Shape.NORMAL]))
            )
    shape = draw(st.sampled_from(Shape))
    half = draw(number.map(abs))
    extra: dict[str, float] = {}
    if shape is Shape.NORMAL:
        extra = draw(st.sampled_from([{}, {"multiple": 3.0}, {"multiple": 1.96}]))
    if shape is Shape.TRAPEZOIDAL:
        extra = draw(st.sampled_from([{}, {"top": 0.25}, {"top": 1.0}]))
    return Spread(value=value, lower=-half, upper=half, shape=shape, **extra)


@st.composite
def dims(draw: st.DrawFn) -> Dim:
    """A dim with limits of its own, a length or an angle."""
    if draw(st.booleans()):
        fit = draw(st.sampled_from(["H7", "g6", "js9", "p6", "IT7"]))
        nominal = draw(st.sampled_from([3.0, 25.0, 38.1, 80.0]))
        lower, upper = limits_of_class(nominal, fit)
        own = draw(
            st.sampled_from(
                [Spread(lower=lower, upper=upper), Spread(lower=-0.01, upper=0.02), Spread(std=0.004)]
            )
        )
        return Dim(nominal=nominal, fit=fit, spread=own)
    quantity = draw(st.sampled_from(["length", "angle"]))
    return Dim(nominal=draw(NUMBER), spread=draw(spreads()), quantity=quantity)


@st.composite
def terms(draw: st.DrawFn, parts: dict[str, Part]) -> list[DimTerm]:
    """A signed sum of dims that exist; an angle has a lever."""
    every = [(f"{p}/{d}", dim) for p, part in parts.items() for d, dim in part.dims.items()]
    chosen = draw(st.lists(st.sampled_from(every), max_size=3)) if every else []
    out = []
    for path, dim in chosen:
        lever = dim.quantity == "angle"
        times = draw(NUMBER) if lever else draw(st.sampled_from([1.0, -1.0, 0.5, -0.25, 1 / 3]))
        out.append(DimTerm(dim=path, times=times, lever=lever))
    return out


@st.composite
def adjusters(draw: st.DrawFn) -> Adjuster:
    """A way to set a contact."""
    low, high = sorted(draw(st.tuples(NUMBER, NUMBER).filter(lambda r: r[0] != r[1])))
    return Adjuster(
        kind=draw(st.sampled_from(AdjusterKind)),
        range=(low, high),
        increment=draw(SMALL),
        setting=draw(spreads()),
        lock_shift=draw(spreads()),
    )


def seats(
    parts: dict[str, Part], kind: Callable[..., Any] = Seat, **more: st.SearchStrategy[Any]
) -> st.SearchStrategy[Any]:
    """Contacts, of any of the kinds that there are."""
    return st.builds(
        kind,
        dims=terms(parts),
        deviation=spreads(),
        stiffness=st.none() | POSITIVE,
        preload=SMALL,
        adjust=st.none() | adjusters(),
        **more,
    )


DIRECTION = st.sampled_from(
    [(1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (0.0, 0.6, 0.8)]
) | POINT.filter(lambda v: max(map(abs, v)) > 1e-3).map(lambda v: tuple(x / math.hypot(*v) for x in v)).map(
    lambda v: tuple(x / math.hypot(*v) for x in v)
)


def contacts(parts: dict[str, Part]) -> st.SearchStrategy[Contact]:
    """Contacts with their place."""
    return seats(parts, Contact, at=POINT, normal=DIRECTION)


@st.composite
def guides(draw: st.DrawFn, parts: dict[str, Part]) -> Guide:
    """A rail or two, with a block on one of them."""
    rails = draw(names(draw(st.integers(1, 2))))
    lines = seats(parts, RailLine, straightness=SMALL, modes=st.integers(1, 12), slope=spreads())
    ends = st.none() | st.tuples(NUMBER, POSITIVE).map(lambda e: (e[0], e[0] + e[1] + 1))
    free = st.just("free")
    return Guide(
        normal=draw(DIRECTION),
        rails_on=draw(st.sampled_from(["parent", "child"])),
        rails={rail: Rail(height=draw(lines), side=draw(lines), ends=draw(ends)) for rail in rails},
        blocks={
            name: Block(
                rail=draw(st.sampled_from(rails)),
                at=draw(POINT),
                height=draw(st.none() | seats(parts)),
                side=draw(st.none() | free | seats(parts)),
            )
            for name in draw(names(1))
        },
        every_block=EveryBlock(height=draw(seats(parts)), side=draw(free | seats(parts))),
    )


@st.composite
def drives(draw: st.DrawFn, kind: JointKind, parts: dict[str, Part]) -> Drive:
    """A drive with a grade, or with values of its own; of a rotary joint, with neither."""
    graded = LeadError(grade=draw(st.sampled_from(["P3", "T5", "C5"])))
    own = LeadError(
        travel=draw(spreads()), bandwidth=draw(SMALL), revolution=draw(SMALL), modes=draw(st.integers(1, 12))
    )
    return Drive(
        kind=draw(st.sampled_from(["ball screw", "belt", "rack", "worm"])),
        at=draw(POINT),
        dims=draw(terms(parts)),
        lead_error=draw(st.sampled_from([graded, own])) if kind is JointKind.LINEAR else LeadError(),
        lead=draw(POSITIVE),
        stiffness=draw(st.none() | POSITIVE),
        fixed_at=draw(st.none() | POINT),
        material=draw(st.none() | st.just("bearing steel")),
        above_room=draw(spreads()),
        deviation=draw(spreads()),
        adjust=draw(st.none() | adjusters()),
    )


@st.composite
def error_motions(draw: st.DrawFn) -> ErrorMotion:
    """A declared error motion."""
    table = draw(st.just({}) | st.dictionaries(NUMBER.map(lambda x: x + 0.0), NUMBER, min_size=2, max_size=3))
    return ErrorMotion(
        spread=draw(spreads()),
        varies=draw(st.sampled_from(Varies)),
        modes=draw(st.integers(1, 12)),
        table=dict(sorted(table.items())),
    )


@st.composite
def joints(draw: st.DrawFn, parent: str, child: str, axis: str, parts: dict[str, Part]) -> Joint:
    """Any joint that makes sense; ``axis`` is its letter if it moves."""
    common: dict[str, Any] = {"parent": parent, "child": child}
    kind = draw(st.sampled_from(JointKind))
    if kind is JointKind.FIXED:
        return Joint(
            kind=kind, contacts=draw(st.dictionaries(NAME, contacts(parts), min_size=1, max_size=2)), **common
        )
    start = draw(NUMBER)
    common |= {
        "kind": kind,
        "axis": axis,
        "travel": (start, start + 1 + min(draw(POSITIVE), 600)),
        "home": draw(NUMBER),
    }
    if kind is JointKind.LINEAR:
        common |= {"along": draw(DIRECTION)}
    else:
        common |= {
            "about": draw(DIRECTION),
            "at": draw(POINT),
            "axis": {"X": "A", "Y": "B2", "U": "E", "X2": "C"}[axis],
        }
    letters = [f"{first}{common['axis']}" for first in ("EX", "EZ", "EB", "A0", "C0")]
    described = draw(st.sampled_from(["contacts", "guide", "errors", "perfect", "both"]))
    if described in ("errors", "both"):
        common |= {
            "errors": draw(st.dictionaries(st.sampled_from(letters), error_motions(), min_size=1)),
            "errors_at": draw(POINT),
        }
    if described == "errors":
        stiff = st.none() | POSITIVE
        common["stiffness"] = draw(st.none() | st.builds(JointStiffness, X=stiff, Z=stiff, A=stiff, C=stiff))
    if described in ("contacts", "both"):
        common |= {"contacts": draw(st.dictionaries(NAME, contacts(parts), min_size=1, max_size=2))}
        common |= {
            "drives": draw(some(drives(kind, parts))),
            "contacts_on": draw(st.sampled_from(["parent", "child"])),
        }
    if described == "guide" and kind is JointKind.LINEAR:
        common |= {"guide": draw(guides(parts)), "drive": draw(st.none() | drives(kind, parts))}
    elif described in ("perfect", "guide"):
        common |= {"perfect": True}
    return Joint(**common)


@st.composite
def indications(
    draw: st.DrawFn, kind: type[Target | Reading], build: dict[str, Any], **more: Any
) -> Indication:
    """Something asked between two bodies, within the travels that there are."""
    moving = {joint.letter: joint.travel for joint in build["joints"].values() if joint.travel}
    inside = {axis: st.floats(*travel) for axis, travel in moving.items()}
    over = {}
    for axis in draw(st.lists(st.sampled_from(sorted(moving)), unique=True)) if moving else []:
        low, high = moving[axis]
        step = draw(st.none() | st.integers(1, 50).map(lambda n, size=high - low: size / n))
        over[axis] = Span(start=low, end=high, step=step)
    pose = st.fixed_dictionaries({}, optional=inside)
    question = draw(
        st.sampled_from([{"component": c} for c in ("X", "XY", "XYZ", "A", "C")])
        | DIRECTION.map(lambda d: {"along": d})
    )
    zeroing = st.sampled_from([Zeroing(how=how) for how in ("none", "mean", "line")]) | st.builds(
        Zeroing, how=st.just("at"), at=pose
    )
    if kind is Target and not over:
        return draw(indications(Reading, build))
    return kind(
        between=tuple(draw(st.permutations(sorted(build["bodies"])))[:2]),
        point=draw(POINT),
        over=over,
        holding=draw(pose),
        turns_with=draw(st.none() | st.sampled_from(sorted(build["bodies"]))),
        zeroed=draw(zeroing),
        under=draw(st.lists(st.sampled_from(sorted(build["loads"])), max_size=1)) if build["loads"] else [],
        note=draw(NOTE),
        limit=draw(POSITIVE),
        **question,
        **more,
    )


UNITS = st.sampled_from(
    [
        Units(),
        Units(
            length="in",
            angle="deg",
            mass="lb",
            force="lbf",
            torque="lbf·in",
            stiffness="lbf/thou",
            errors="thou",
        ),
        Units(length="µm", angle="µm/m", temperature="degF", temperature_difference="degF"),
        Units(length="thou", angle="thou/ft", stiffness="N/mm", errors="tenths"),
    ]
)
GAUGE = st.builds(
    Gauge,
    reads=st.sampled_from(["length", "angle"]),
    resolution=SMALL,
    calibration=spreads(),
    repeatability=spreads(),
    reversal=spreads(),
    drift_per_kelvin=spreads(),
    verified=st.booleans(),
    calibrated=st.none() | st.dates(max_value=date(2025, 12, 31)),
    due=st.none() | st.dates(min_value=date(2026, 1, 1)),
    material=st.none() | st.sampled_from(["steel", "O1 tool steel"]),
    note=NOTE,
)
ARTEFACT = st.builds(
    Artefact,
    straightness=spreads(),
    squareness=spreads(),
    expansion=SMALL,
    expansion_std=st.none() | SMALL,
    note=NOTE,
)
MATERIAL = st.builds(
    Material, expansion=SMALL, expansion_std=SMALL, modulus=st.none() | POSITIVE, density=st.none() | POSITIVE
)


@st.composite
def builds(draw: st.DrawFn) -> Build:
    """A sound build with something in every section, now and then."""
    materials = draw(some(MATERIAL, 1))
    known = st.none() | st.sampled_from(["steel", "grey cast iron", *materials])
    parts = draw(
        some(st.builds(Part, material=known, dims=some(dims(), 3), bought=st.booleans(), note=NOTE), 3)
    )
    chain = draw(names(draw(st.integers(2, 4))))
    out: dict[str, Any] = {"parts": parts, "materials": materials}
    out["bodies"] = {
        name: Body(
            parts=draw(st.lists(st.sampled_from(sorted(parts)), max_size=1)) if parts else [],
            material=draw(known),
            mass=draw(spreads(SMALL).filter(lambda s: s.mean >= 0)),
            centre_of_mass=draw(POINT),
            above_room=draw(spreads()),
        )
        for name in chain
    }
    axes = ("X", "Y", "U", "X2")
    out["joints"] = {
        name: draw(joints(chain[draw(st.integers(0, n))], chain[n + 1], axes[n], parts))
        for n, name in enumerate(draw(names(len(chain) - 1)))
    }
    loads = st.builds(
        ProcessLoad,
        on=st.just(chain[0]),
        against=st.none() | st.just(chain[1]),
        at=POINT,
        force=st.tuples(spreads(), spreads(), spreads()),
        torque=st.tuples(spreads(), spreads(), spreads()),
    )
    out |= {"loads": draw(some(loads, 1)), "gauges": draw(some(GAUGE, 1))}
    out["artefacts"] = draw(some(ARTEFACT, 1))
    asked = draw(some(indications(Target, out)))
    out["targets"] = {name: one for name, one in asked.items() if isinstance(one, Target)}
    reading = {
        key: draw(st.none() | st.sampled_from(sorted(out[key + "s"]))) if out[key + "s"] else None
        for key in ("gauge", "artefact")
    }
    out["tests"] = draw(
        some(
            indications(
                Reading,
                out,
                minutes=draw(st.sampled_from([0.5, 10.0])),
                repeats=draw(st.integers(1, 9)),
                **reading,
            )
        )
    )
    return Build(name=draw(NAME), note=draw(NOTE), units=draw(UNITS), **out, **draw(rest(out)))


@st.composite
def rest(draw: st.DrawFn, out: dict[str, Any]) -> dict[str, Any]:
    """What refers to the other sections, and what holds for the whole build."""
    lengths = [
        f"{p}/{d}"
        for p, part in out["parts"].items()
        for d, dim in part.dims.items()
        if dim.quantity == "length"
    ]
    together = {}
    if len(lengths) > 1 and draw(st.booleans()):
        together = {draw(NAME): MadeTogether(dims=lengths[:2], shared=draw(spreads()), own=draw(spreads()))}
    settable = [f"{name}/{path}" for name, joint in out["joints"].items() for path in adjusters_of(joint)]
    gaps = [(name, contact) for name, joint in out["joints"].items() for contact in joint.contacts]
    closures = {
        f"gap {n}": Closure(
            joint=joint, contact=contact, range=draw(st.none() | st.just((0.1, 25.4))), increment=draw(SMALL)
        )
        for n, (joint, contact) in enumerate(gaps[:1])
    }
    steps = st.builds(
        FitUpStep,
        step=NAME,
        seat=st.lists(st.sampled_from(sorted({*out["bodies"], *out["parts"]})), max_size=2),
        read=st.lists(st.sampled_from(sorted(out["tests"])), max_size=1) if out["tests"] else st.just([]),
        adjust=st.lists(st.sampled_from(settable), max_size=1) if settable else st.just([]),
        accept=st.none() | POSITIVE,
        accept_angle=st.none() | POSITIVE,
        note=NOTE,
    )
    return {
        "made_together": together,
        "closures": closures,
        "fit_up": draw(st.lists(steps, max_size=2)),
        "heat": draw(
            st.builds(
                Heat,
                reference=TIDY,
                room=spreads().map(lambda s: s.model_copy(update={"value": s.value + 20})),
                every_body=spreads(),
            )
        ),
        "down": draw(st.none() | DIRECTION),
        "assume": draw(st.sampled_from([Shape.RECTANGULAR, Shape.NORMAL])),
        "confidence": draw(st.sampled_from([0.95, 0.9973, 0.5, 2 / 3])),
        "general_limits": draw(st.none() | spreads()),
        "contact_stiffness": draw(POSITIVE),
        "stiffness_spread": draw(spreads()),
    }


# the builds are large, and making a failing one smaller takes minutes
THOROUGH = settings(
    max_examples=30,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example],
)


@THOROUGH
@given(builds())
def test_a_build_survives_its_file(build: Build) -> None:
    """Whatever a build holds, reading what was written of it gives an equal build."""
    text = write_text(build)
    assert read_text(text) == build
    assert write_text(read_text(text)) == text


@THOROUGH
@given(builds())
def test_a_build_survives_in_internal_units(build: Build) -> None:
    """A build also survives as plain data in internal units, as a store may keep it."""
    assert Build.model_validate(build.model_dump(mode="json", exclude_defaults=True)) == build
    assert Build.model_validate(build.model_dump(mode="json")) == build
    assert Build.model_validate_json(build.model_dump_json()) == build


VALIDATOR = Draft202012Validator(json_schema())


@THOROUGH
@given(builds())
def test_what_is_written_satisfies_the_schema(build: Build) -> None:
    """The JSON Schema finds nothing wrong with a file that the program wrote."""
    assert [error.message for error in VALIDATOR.iter_errors(parse(write_text(build)).data)] == []


@pytest.mark.parametrize("name", examples.names())
def test_an_example_survives_its_file(name: str) -> None:
    """Each shipped example is read without a mistake, and equals what is read of its written form."""
    found = examine(examples.text(name), name)
    assert found.problems == ()
    assert found.build is not None
    assert read_text(write_text(found.build)) == found.build


LENGTH = st.sampled_from(["mm", "in", "µm", "thou", "m", "ft", "cm", "tenths"])


@given(NUMBER, SMALL, LENGTH, LENGTH, LENGTH)
def test_a_dim_means_the_same_however_it_is_written(
    nominal: float, half: float, one: str, other: str, bare: str
) -> None:
    """Short form, mapping, and bare numbers in the file's unit give the same dim."""
    size, limit = units.format_exact(nominal, Dimension.LENGTH), units.format_exact(half, Dimension.LENGTH)
    number, width = (units.convert(x, Dimension.LENGTH, bare) for x in (nominal, half))

    def read(dim: str, unit: str = "mm") -> Dim:
        text = "format: loopwright-build/1\nname: a\nunits: {length: @}\nbodies: {b: {}}\nparts: {p: {dims: {h: %}}}\n"
        dim_read = read_text(text.replace("@", unit).replace("%", dim)).dim("p/h")
        assert dim_read is not None
        return dim_read

    short = read(f"{size} ±{limit}", one)
    assert short == read(f"{{nominal: {size}, limits: ±{limit}}}", other)
    assert short == read(f"{{nominal: {size}, lower: -{limit}, upper: {limit}}}", other)
    bare_read = read(f"{number!r} ±{width!r}", bare)
    assert bare_read.nominal == pytest.approx(short.nominal, rel=1e-14)
    assert bare_read.spread is not None
    assert short.spread is not None
    assert bare_read.spread.upper == pytest.approx(short.spread.upper, rel=1e-14, abs=1e-300)


FILE = examples.text(examples.names()[0])
DIMS = {
    f"parts/{p}/dims/{d}": dim for p, part in read_text(FILE).parts.items() for d, dim in part.dims.items()
}
PATHS = [path for path, dim in DIMS.items() if dim.quantity == "length"]


@settings(max_examples=10)
@given(st.sampled_from(PATHS), st.integers(1, 10**6).map(lambda n: n / 1000), st.booleans())
def test_a_change_changes_one_place(path: str, nominal: float, windows: bool) -> None:
    """Setting a dim changes that dim and no character outside of its value, with line ends of either kind."""
    text = FILE.replace("\n", "\r\n") if windows else FILE
    value = f"{nominal} ±0.05"
    out = set_value(text, path, value)
    (pair,) = [(a, b) for a, b in zip(text.split("\n"), out.split("\n"), strict=True) if a != b]
    name = path.rpartition("/")[2]
    old, new = (re.split(f"(?<={name}: )[^,}}#\r]*?(?=\\s*[,}}#\r]|$)", line, maxsplit=1) for line in pair)
    assert old == new
    assert f"{name}: {value}" in pair[1]
    found = examine(out)
    assert found.problems == ()
    assert found.build is not None
    dims = {
        f"parts/{p}/dims/{d}": dim for p, part in found.build.parts.items() for d, dim in part.dims.items()
    }
    assert dims == DIMS | {path: Dim(nominal=nominal, spread=Spread(lower=-0.05, upper=0.05))}


@given(st.floats(allow_nan=False, allow_infinity=False), UNITS)
def test_any_number_survives(number: float, shop: Units) -> None:
    """Also numbers that no machine has survive to the last bit, in any unit of a shop."""
    dim = Dim(nominal=number, spread=Spread(value=number, lower=-abs(number), upper=abs(number)))
    bodies = {"b": Body(centre_of_mass=(number, -number, 0.0), mass=Spread(value=abs(number)))}
    build = Build(name="a", units=shop, bodies=bodies, parts={"p": Part(dims={"d": dim})})
    assert read_text(write_text(build)) == build


def test_nothing_is_written_of_nothing() -> None:
    """A build with nothing but its bodies is written in four lines."""
    assert write_text(Build(name="a", bodies={"b": Body(mass=NONE)})).count("\n") == 4
