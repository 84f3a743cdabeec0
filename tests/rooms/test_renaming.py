"""An entry under another name: all that names it follows, what only repeats it by '*name' keeps its own."""

from typing import Any

import pytest

from loopwright.buildfile import examples
from loopwright.buildfile.editing import parsed, rename, value_at
from loopwright.buildfile.naming import used_in
from loopwright.buildfile.reading import examine
from loopwright.buildfile.repeated import Spot, taken_apart
from loopwright.buildfile.splicing import CannotSplice
from loopwright.buildfile.yaml_text import parse
from loopwright.errors import RequestError

CLOCK = examples.text("clock-plate")
NEW = "zz quite new"
STUDS = """\
format: loopwright-build/1
name: plate on two studs   # invented
materials:
  red brass: {expansion: 18 µm/m/K, modulus: 100 GPa, density: 8700 kg/m³}
shop:
  machines:
    little lathe: {kind: manual lathe}   # by the window
    mill: {kind: manual mill}
    band saw: {kind: bandsaw}
    stone: {kind: surface grinder}
  tools:
    right hand tool: {kind: turning tool}
    cutter 10: {kind: end mill, diameter: 10}
    wheel: {kind: grinding wheel, diameter: 200}
    reamer 6: {kind: reamer, diameter: 6}
  bars:
    rod: {material: red brass, section: round 20, length: 500}
  sawn: [stud, twin]
  proven:
    - {op: face, material: red brass, tool: right hand tool, machine: little lathe, speed: 90 m/min}
parts:
  stud:
    material: red brass
    dims: {height: 30 ±0.01, bore: 6 H7, edge: 5 ±0.1, top: 2 ±0.1}
    blank: {section: round 20}
    surfaces: &faces   # of both
      foot: {faces: -Z, size: [20, 20]}
      top: {faces: +Z, size: [20, 20]}
      bore: {faces: inside, size: [30, 6]}
      rim: {faces: outside, size: [30, 20]}
      edge: +X
      flat: -X
    spans: &spans {height: [foot, top], bore: bore, edge: {between: [flat, edge]}}
    geometry: &held
      level: {kind: parallelism, of: top, to: [foot], within: 0.002}
      axial: {kind: coaxiality, of: bore, to: [rim], within: 0.02}
    route: &route
      - {op: saw, machine: band saw}   # a little long
      - &turned {op: face, machine: little lathe, tool: right hand tool, datum: [rim],
         cuts: {foot: {}, top: {measured_from: foot}}}
      - op: bore
        machine: little lathe
        datum: [foot, rim]
        cuts:
          bore: {tool: reamer 6}   # after the drill
        inspect: [bore, level]
        gauge: plug
        alternatives:
          on the mill:
            - {op: ream, machine: mill, tool: reamer 6, datum: [foot], cuts: {bore: {}},
               inspect: [bore, rim], gauge: plug}
            - op: face
              machine: mill
              cuts: {edge: {measured_from: flat, tool: cutter 10}}
              alternatives: {by hand: [*turned, {op: deburr, datum: [edge]}]}
      - {op: surface grind, machine: stone, tool: wheel, datum: [foot], cuts: {top: {}},
         inspect: [height, axial, foot, top], gauge: height gauge}
  twin: {material: red brass, dims: {height: 30 ±0.01, bore: 6 H7, edge: 5 ±0.1, top: 2 ±0.1},
    blank: {section: round 20}, surfaces: *faces, spans: *spans, geometry: *held, route: *route}
  third:
    dims: {height: 30 ±0.01}
    surfaces: *faces
    geometry: {<<: *held}
    route:
      - *turned
bodies:
  base: {parts: [stud, twin], material: red brass}
  plate: {mass: 8 kg, centre_of_mass: [100, 0, 10]}
joints:
  plate on base:
    kind: fixed
    parent: base
    child: plate
    contacts:
      left: {at: [0, 0, 0], normal: +Z, dims: [+stud/height]}
      right: {at: [200, 0, 0], normal: +Z, dims: [+twin/height]}
      back: {at: [100, 200, 0], normal: +Z, dims: [+third/height]}
      side: {at: [0, 50, 0], normal: +X}
      side too: {at: [0, 150, 0], normal: +X}
      end: {at: [50, 0, 0], normal: +Y}
gauges:
  plug: {resolution: 1 µm}
  height gauge: {resolution: 1 µm}
fit_up:
  - {step: seat the plate, seat: [plate], read: [stud/height]}
"""
SHOP = (("shop", "machines"), ("shop", "tools"), ("shop", "bars"))
SECTIONS = (*SHOP, ("materials",), ("parts",), ("gauges",), ("bodies",), ("joints",))


def entries(text: str) -> list[str]:
    """Paths of all entries that have names, those of parts too."""
    data = parse(text).data
    above = [
        *SECTIONS,
        *(("parts", p, kind) for p in data["parts"] for kind in ("dims", "surfaces", "geometry")),
    ]
    return ["/".join((*keys, name)) for keys in above for name in value_at(data, keys) or ()]


def as_built(text: str) -> Any:
    """The build of a sound text, as plain data, mappings with their order."""
    found = examine(text)
    assert found.problems == ()
    assert found.build is not None
    return found.build.model_dump_json()


def check_renamed(text: str, path: str) -> str:
    """The text with one entry named anew, after it was found to be the same build but for the name."""
    out = rename(text, path, NEW)
    assert NEW in out
    assert as_built(out).replace(NEW, path.rpartition("/")[2]) == as_built(text)
    assert text.count("#") == out.count("#")
    before, after = (used_in(parse(one).data, at.split("/")) for one, at in ((text, path), (out, anew(path))))
    assert len(before) == len(after)
    return out


def anew(path: str) -> str:
    """A path with the new name at its end."""
    return f"{path.rpartition('/')[0]}/{NEW}"


@pytest.mark.parametrize("path", entries(STUDS))
def test_every_name_of_making_can_change(path: str) -> None:
    """No mistake comes of it, the build is the same but for the name, every comment stays, as many name it."""
    out = check_renamed(STUDS, path)
    assert parse(rename(out, anew(path), path.rpartition("/")[2])).data == parse(STUDS).data


@pytest.mark.parametrize(
    "path",
    [
        "parts/post_FL",
        "parts/post_FL/dims/height",
        "parts/spindle_bracket_low/surfaces/bore",
        "parts/Z_bracket_free/surfaces/bore",
    ],
)
def test_the_names_of_a_whole_machine_can_change(path: str) -> None:
    """Also of parts whose routes, or single ops, many others repeat."""
    check_renamed(CLOCK, path)


@pytest.mark.parametrize(
    ("path", "places"),
    [
        ("shop/machines/mill", 4),  # two ops of alternatives, in two parts
        ("shop/tools/reamer 6", 4),
        ("shop/tools/cutter 10", 2),
        (
            "shop/tools/right hand tool",
            6,
        ),  # the op of two routes, again in their alternatives, once more, proven
        ("gauges/plug", 4),
        ("materials/red brass", 5),
        ("parts/stud/surfaces/flat", 2),
        ("parts/stud/surfaces/edge", 3),
        ("parts/stud/dims/height", 4),  # its span, the last op, a contact, a step
        ("parts/stud/dims/bore", 3),
        ("parts/stud/geometry/level", 1),
        ("parts/stud", 4),  # sawn, its body, a contact, a step; what its own route names is its own affair
    ],
)
def test_where_it_is_named_is_counted(path: str, places: int) -> None:
    """In routes at any depth, by values and by the names of cuts and spans."""
    assert len(used_in(parse(STUDS).data, path.split("/"))) == places


def test_the_others_keep_what_they_repeat() -> None:
    """The anchor goes to the first of them, written out once; lines that have nothing to do with it stay."""
    out = rename(CLOCK, "parts/post_FL/dims/height", "rise")
    parts = parse(out).data["parts"]
    assert parts["post_FL"]["spans"] == {"rise": ["foot", "top"]}
    assert parts["post_FL"]["route"][7]["inspect"] == ["rise"]
    assert "spans: &post_spans {height: [foot, top]}, route: &post_route [\n" in out
    for other in ("post_FR", "post_RL", "post_RR"):
        assert parts[other]["route"] == parse(CLOCK).data["parts"][other]["route"]
    gone = set(CLOCK.splitlines()) - set(out.splitlines())
    assert (
        len(gone) == 7
    )  # its dims, span, the head of its route, one op, post_FR, the matched set, one contact
    assert "    route:\n" in out


def test_what_repeats_others_gets_its_own() -> None:
    """The others go on repeating the first."""
    out = rename(CLOCK, "parts/post_RR/dims/height", "rise")
    parts = parse(out).data["parts"]
    assert (parts["post_RR"]["spans"], parts["post_FL"]["spans"]) == (
        {"rise": ["foot", "top"]},
        {"height": ["foot", "top"]},
    )
    assert out.count("*post_route") == CLOCK.count("*post_route") - 1
    assert (
        len(set(CLOCK.splitlines()) - set(out.splitlines())) == 3
    )  # its own line, the matched set, one contact


def test_a_machine_changes_where_it_is_written_once() -> None:
    """All who repeat an op want the new name, so nothing comes apart."""
    out = rename(CLOCK, "shop/machines/bench", "work bench")
    assert out.count("*") == CLOCK.count("*")
    assert out.replace("work bench", "bench") == CLOCK


def test_a_dim_and_a_surface_of_one_name_are_kept_apart() -> None:
    """Spans and 'inspect' name the dim, cuts and datums the surface."""
    dim, surface = (rename(CLOCK, f"parts/table/{kind}/under_front", "low") for kind in ("dims", "surfaces"))
    found = [parse(text).data["parts"]["table"] for text in (dim, surface)]
    assert [next(iter(part["spans"].items())) for part in found] == [
        ("low", ["under_front", "top"]),
        ("under_front", ["low", "top"]),
    ]
    assert [part["route"][0]["cuts"] for part in found] == [
        {"under_front": {"least": 2}, "under_back": {"least": 2}},
        {"low": {"least": 2}, "under_back": {"least": 2}},
    ]


def test_a_name_that_would_be_taken_for_another_is_refused() -> None:
    """An op looks at the rim; a dim of that name would be measured instead."""
    with pytest.raises(RequestError, match="read as something else"):
        rename(STUDS, "parts/stud/dims/edge", "rim")


def test_a_span_that_is_there_already_is_not_lost() -> None:
    """A file with a mistake: a span of a dim that there is not."""
    text = STUDS.replace("edge: {between: [flat, edge]}", "side: [flat, edge]")
    with pytest.raises(RequestError, match="already in 'parts/stud/spans'"):
        rename(text, "parts/stud/dims/height", "side")


def test_a_scalar_that_is_repeated_keeps_its_anchor() -> None:
    """All of them name the tool, but for a note that only happens to say the same."""
    text = """\
parts: {a: {route: [{op: face, tool: &t cutter}, {op: contour, tool: *t}], note: *t}}
shop: {tools: {cutter: {kind: end mill}}}
"""
    parts = parsed(rename(text, "shop/tools/cutter", "mill")).data["parts"]
    assert parts == {
        "a": {"route": [{"op": "face", "tool": "mill"}, {"op": "contour", "tool": "mill"}], "note": "cutter"}
    }


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_stay(end: str) -> None:
    """Also in what is written out over several lines."""
    out = rename(STUDS.replace("\n", end), "parts/stud/surfaces/foot", NEW)
    assert out.count("\n") == out.count(end)
    assert "route: &route [" in out


def test_spots_that_are_not_there_are_refused() -> None:
    """By the change, not by a text that is wrong."""
    with pytest.raises(CannotSplice):
        taken_apart("a: &x {k: one}\nb: *x", {Spot(("c", "k")): "two"})
