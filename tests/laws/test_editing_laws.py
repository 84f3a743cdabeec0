"""What holds for every change of a build file: it does what was asked, and nothing else of the file moves."""

import copy
import difflib
import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.buildfile import examples
from loopwright.buildfile.comparing import compare, merge
from loopwright.buildfile.editing import append, insert, remove, rename, set_value, value_at
from loopwright.buildfile.naming import namings, used_in
from loopwright.buildfile.reading import examine
from loopwright.buildfile.yaml_text import parse, parse_value
from loopwright.errors import RequestError
from loopwright.studies.edit_acts import splice_between, spliced_on

Keys = tuple[str, ...]


def places(data: Any, keys: Keys = ()) -> Iterator[Keys]:
    """Every place of a file's data."""
    if keys:
        yield keys
    if isinstance(data, dict):
        for key, value in data.items():
            yield from places(value, (*keys, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from places(value, (*keys, str(number)))


SHARED = """\
format: loopwright-build/1
name: plate on pads   # invented
parts:
  # pads, ground in one load
  pad_left: {material: tool steel O1, dims: {height: 12 ±0.01, width: 20 ±0.1}}
  pad_right: {material: tool steel O1, dims: {height: 12 ±0.01}}   # the other
made_together:
  pads: {dims: [pad_left/height, pad_right/height], shared: ±0.01, own: ±2 µm}
bodies:
  base: {parts: [pad_left, pad_right]}
  plate:
    mass: 8 kg   # weighed
    centre_of_mass: [100, 100, 10]
joints:
  plate on base:
    kind: fixed
    parent: base
    child: plate
    contacts:
      # left
      left:
        at: [0, 0, 0]
        normal: +Z
        dims:
          - +pad_left/height   # as ground
        adjust: &foil {kind: shim, range: 0…0.2, setting: &hit ±2 µm}   # added only
      right:
        at: [200, 0, 0]
        normal: +Z
        dims: [+pad_right/height]
        adjust: *foil
      back: {at: [100, 200, 0], normal: +Z, deviation: *hit, adjust: *foil}
      side: &side
        at: [0, 50, 0]
        normal: +X
      side too:
        <<: *side
        at: [0, 150, 0]
      end: {at: [50, 0, 0], normal: +Y}
fit_up:
  - {step: seat the plate, seat: [plate]}
  - step: shim it
    adjust: [plate on base/left, plate on base/right]
"""
TEXTS = {"guitar-gantry": examples.text("guitar-gantry"), "shared": SHARED}
PLACES = [(name, keys) for name, text in TEXTS.items() for keys in places(parse(text).data)]
NAMED = [
    (name, keys)
    for name, keys in PLACES
    if keys[0]
    in ("parts", "bodies", "joints", "tests", "gauges", "loads", "closures", "made_together", "targets")
    and len(keys) == 2
]
VALUES = st.sampled_from(
    [
        "12 ±0.004",
        "5 thou",
        "1/2 in",
        "[1, 2, 3]",
        "{std: 1 µm}",
        "left: of it",
        "# no",
        "- 3",
        "true",
        "7",
        "°",
        "a, b",
    ]
)
NAMES = st.text(
    st.characters(codec="utf-8", exclude_categories=("C", "Z"), exclude_characters="/"),
    min_size=1,
    max_size=9,
)
COMMENT = re.compile(r"(?:^|\s)#[^\n]*")


def without(data: Any, keys: Keys) -> Any:
    """The data without one entry."""
    whole = copy.deepcopy(data)
    above = value_at(whole, keys[:-1])
    del above[int(keys[-1]) if isinstance(above, list) else keys[-1]]
    return whole


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines that went and came."""
    old, new = before.split("\n"), after.split("\n")
    codes = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    moved = [(old[i1:i2], new[j1:j2]) for tag, i1, i2, j1, j2 in codes if tag != "equal"]
    return [line for gone, _ in moved for line in gone], [line for _, come in moved for line in come]


def comments(lines: list[str]) -> list[str]:
    """The comments of some lines."""
    return [found for line in lines for found in COMMENT.findall(line)]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(PLACES), VALUES)
def test_a_value_that_is_set_is_there_and_all_else_as_it_was(place: tuple[str, Keys], value: str) -> None:
    """The data is that of before but for the one value; no comment goes but those inside of what was replaced."""
    name, keys = place
    text, before = TEXTS[name], parse(TEXTS[name]).data
    inside = value if value[:1] in "[{" else f'"{value}"'
    out = set_value(text, "/".join(keys), inside, apart=True)
    after = parse(out).data
    path = "/".join(keys)
    told = [change.path for change in compare(before, after)]
    assert all(one == path or one.startswith(f"{path}/") for one in told)
    assert value_at(after, keys) == (parse_value(inside))
    gone, come = lines_changed(text, out)
    if not isinstance(value_at(before, keys), (dict, list)):
        assert comments(gone) == comments(come)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from([p for p in PLACES if len(p[1]) > 1]))
def test_what_is_taken_out_is_gone_and_all_else_as_it_was(place: tuple[str, Keys]) -> None:
    """Only lines of the entry itself change, or those that repeat it by '*name'."""
    name, keys = place
    text, before = TEXTS[name], parse(TEXTS[name]).data
    out = remove(text, "/".join(keys))
    assert parse(out).data == without(before, keys)
    gone, come = lines_changed(text, out)
    assert len(come) <= 3
    if not isinstance(value_at(before, keys), (dict, list)) and "*" not in "".join(gone):
        assert len(gone) <= 2


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(NAMED), NAMES)
def test_an_entry_that_is_renamed_keeps_its_place_and_everybody_who_names_it(
    place: tuple[str, Keys], new: str
) -> None:
    """Read again, the build is as sound as before; as many places name the entry as did before."""
    name, keys = place
    text, before = TEXTS[name], parse(TEXTS[name]).data
    if new in value_at(before, keys[:-1]) or new != new.strip() or not new.isprintable():
        return
    out = rename(text, "/".join(keys), new)
    after = parse(out).data
    order = [new if key == keys[-1] else key for key in value_at(before, keys[:-1])]
    assert list(value_at(after, keys[:-1])) == order
    assert len(used_in(after, [*keys[:-1], new])) == len(used_in(before, list(keys)))
    assert examine(out).problems == ()
    assert text.count("\n") == out.count("\n")


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(NAMED), NAMES)
def test_an_entry_that_is_added_comes_last_and_all_else_as_it_was(place: tuple[str, Keys], new: str) -> None:
    """Not a character of the lines before it changes."""
    name, keys = place
    text, before = TEXTS[name], parse(TEXTS[name]).data
    held = value_at(before, keys[:-1])
    if new in held or new.strip() != new:
        return
    value = copy.deepcopy(held[keys[-1]])
    out = insert(text, "/".join((*keys[:-1], new)), value)
    after = parse(out).data
    assert list(value_at(after, keys[:-1])) == [*held, new]
    assert value_at(after, (*keys[:-1], new)) == value
    assert remove(out, "/".join((*keys[:-1], new))) == text
    with pytest.raises(RequestError, match="already"):
        insert(out, "/".join((*keys[:-1], new)), value)


LISTS = [(name, keys) for name, keys in PLACES if isinstance(value_at(parse(TEXTS[name]).data, keys), list)]


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(LISTS), VALUES)
def test_an_entry_of_a_list_comes_last(place: tuple[str, Keys], value: str) -> None:
    """And taken out again it leaves the text as it was, however the list is written."""
    name, keys = place
    text, before = TEXTS[name], parse(TEXTS[name]).data
    out = append(text, "/".join(keys), value)
    assert value_at(parse(out).data, keys) == [*value_at(before, keys), value]
    number = len(value_at(before, keys))
    assert parse(remove(out, "/".join((*keys, str(number))))).data == before


# ------------------------------------------------------------------------------------------ small texts

SCALAR = st.sampled_from(["12 ±0.01", "+Z", "a", "5", "[1, 2]", "{k: 1}"])
KEY = st.sampled_from(["a", "b", "c", "d d", "e-1"])


def written(data: Any, draw: Any, indent: int) -> list[str]:
    """Data as a block or in brackets as chance has it, with comments in between."""
    out = []
    for key, value in data.items():
        pad = " " * indent
        if draw(st.booleans()):
            out.append(f"{pad}# about {key}")
        if isinstance(value, dict) and value and draw(st.booleans()):
            out += [
                f"{pad}{key}:" + draw(st.sampled_from(["", "   # held"])),
                *written(value, draw, indent + 2),
            ]
        elif isinstance(value, list) and value and draw(st.booleans()):
            out += [f"{pad}{key}:", *(f"{pad}  - {one}   # one of it" for one in value)]
        else:
            out.append(f"{pad}{key}: {in_brackets(value)}" + draw(st.sampled_from(["", "   # so"])))
    return out


def in_brackets(value: Any) -> str:
    """On one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {in_brackets(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(in_brackets, value)) + "]"
    return str(value)


DEEPEST = st.dictionaries(KEY, st.just("w"), max_size=2)
DEEP = st.dictionaries(KEY, st.sampled_from(["u", "v"]) | DEEPEST, max_size=3)
TREE = st.dictionaries(
    KEY,
    st.one_of(
        st.sampled_from(["x", "y z", "3"]),
        st.lists(st.sampled_from(["p", "q"]), max_size=3),
        DEEP,
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=120, deadline=None)
@given(st.data(), TREE, st.booleans(), st.booleans())
def test_any_layout_stands_any_change(
    data: st.DataObject, tree: dict[str, Any], windows: bool, ended: bool
) -> None:
    """Block or brackets, with comments, with line ends of either kind, with or without one at the end."""
    lines = ["first: 1", *written(tree, data.draw, 0), "last: 2   # the end"]
    text = "\n".join(lines) + ("\n" if ended else "")
    text = text.replace("\n", "\r\n") if windows else text
    before = parse(text).data
    keys = data.draw(st.sampled_from([k for k in places(before) if k[0] not in ("first", "last")]))
    path = "/".join(keys)
    out = remove(text, path)
    assert parse(out).data == without(before, keys)
    assert out.count("# the end") == 1
    held = value_at(before, keys)
    if not isinstance(held, dict):  # what is said about others stays to the letter
        about = [
            line for line in text.split("\n") if line.startswith("# about") and line[8:].strip() != keys[-1]
        ]
        assert [line for line in out.split("\n") if line in about] == about
    if isinstance(value_at(before, keys[:-1]), dict):
        renamed = rename(text, path, "quite new")
        assert parse(renamed).data != before
        assert rename(renamed, "/".join((*keys[:-1], "quite new")), keys[-1]) == text
    if isinstance(held, dict):
        added = insert(text, f"{path}/quite new", {"k": ["1", "a: b"]})
        assert value_at(parse(added).data, (*keys, "quite new")) == {"k": ["1", "a: b"]}
        assert parse(remove(added, f"{path}/quite new")).data == before


# ------------------------------------------------------------------------------------------ differences


@settings(max_examples=60, deadline=None)
@given(TREE, TREE)
def test_every_difference_is_told_and_nothing_else(one: dict[str, Any], other: dict[str, Any]) -> None:
    """No change for equal data; where data differs, what stands at a told path differs too."""
    assert compare(one, one) == ()
    found = compare(one, other)
    assert bool(found) == (one != other)
    for change in found:
        keys = change.path.split("/")
        assert change.renamed or change.before != change.after
        if not change.renamed and not any(key.isdecimal() for key in keys):
            assert value_at(one, keys) != value_at(other, keys)


LINES = st.lists(st.sampled_from("abcdef"), max_size=10).map("\n".join)


@given(LINES, LINES, LINES)
def test_changes_of_two_people(base: str, mine: str, theirs: str) -> None:
    """Whoever changed nothing takes over the other's text; both alike is no clash; without a clash order is all one."""
    assert merge(base, mine, base).text == mine
    assert merge(base, base, theirs).text == theirs
    assert merge(base, mine, mine).text == mine
    assert merge(base, mine, mine).clashes == ()
    one, other = merge(base, mine, theirs), merge(base, theirs, mine)
    assert len(one.clashes) == len(other.clashes)
    if not one.clashes:
        assert one.text == other.text


@given(LINES, LINES)
def test_a_splice_leads_from_one_text_to_the_other(before: str, after: str) -> None:
    """And is no longer than it must be at either end."""
    found = splice_between(before, after)
    assert spliced_on(before, [found]) == after
    if before != after:
        assert found.length or found.written
        assert before[: found.start] == after[: found.start]


def test_what_names_an_entry_is_found_in_the_examples() -> None:
    """Every name of the examples that leads to an entry is known as naming it: renaming loses none of them."""
    for text in TEXTS.values():
        data = parse(text).data
        dims = {f"{part}/{dim}" for part, held in data["parts"].items() for dim in held.get("dims", {})}
        known = {naming.keys for naming in namings(data)}
        for keys in places(data):
            value = value_at(data, keys)
            if isinstance(value, str) and value.lstrip("+-") in dims and keys[-1] != "step":
                assert keys in known
