"""Files from strangers: whatever they hold, a build or a list of mistakes comes back, soon and in little memory."""

import os
import time
import tracemalloc
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from loopwright.buildfile import examine, examine_file, examples, read_file
from loopwright.buildfile.yaml_tree import MOST_BYTES, MOST_NODES
from loopwright.errors import BuildError, Problem

HEAD = "format: loopwright-build/1\nname: mill\nbodies: {base: {}}\n"
SECONDS = 3.0  # of the processor; the slowest takes half of it
MEGABYTES = 100


def refused(given: str | Path) -> tuple[Problem, ...]:
    """The mistakes of a text or file, which is told to be no build within the time that is allowed."""
    start = time.process_time()
    found = examine_file(given) if isinstance(given, Path) else examine(given, "mill.yaml")
    assert time.process_time() - start < SECONDS
    assert found.problems
    assert all(problem.what and problem.remedy and len(str(problem)) < 1000 for problem in found.problems)
    return found.problems


def memory(work: Callable[[], object]) -> float:
    """Megabytes that some work takes at its peak."""
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


def bomb(opening: str, closing: str) -> str:
    """Nine levels of nine aliases each: 387 million entries if they were written out."""
    lines = ["a0: &a0 {x: 1}"]
    for n in range(1, 10):
        entries = ", ".join(f"k{i}: *a{n - 1}" if opening == "{" else f"*a{n - 1}" for i in range(9))
        lines.append(f"a{n}: &a{n} {opening}{entries}{closing}")
    return HEAD + "\n".join(lines) + "\n"


# ---------------------------------------------------------------------------------------------- what is no build


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n", "---\n", "~\n", "\ufeff"])
def test_an_empty_file(text: str) -> None:
    """An empty file is told from a broken one, with a way to start."""
    (problem,) = refused(text)
    assert "empty" in problem.what
    assert "loopwright new" in problem.remedy


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("- a\n- b\n", "list"),
        ("[1, 2]", "list"),
        ("just words\n", "text"),
        ("'quoted'", "text"),
        ("42", "text"),
    ],
)
def test_not_a_mapping(text: str, word: str) -> None:
    """A list or a single text at the top is named as what it is."""
    (problem,) = refused(text)
    assert word in problem.what
    assert "format: loopwright-build/1" in problem.remedy


@pytest.mark.parametrize("version", ["loopwright-build/2", "loopwright-build/0", "2", "[1]", "''", "true"])
def test_another_version(version: str) -> None:
    """A file of another format is refused as a whole, with the formats named and no other mistake told."""
    (problem,) = refused(f"name: mill\nformat: {version}\nnonsense: 1\n")
    assert problem.line == 2
    assert problem.field == "format"
    assert "loopwright-build/1" in problem.remedy


def test_no_format() -> None:
    """A file without a format is told to begin with one."""
    (problem,) = refused("name: mill\nbodies: {base: {}}\n")
    assert (problem.field, problem.what) == ("format", "is missing")


@pytest.mark.parametrize("between", ["---\n", "...\n---\n", "---\n---\n"])
def test_several_documents(between: str) -> None:
    """Two documents in one file are refused at the line where the second begins."""
    (problem,) = refused(HEAD + between + HEAD)
    assert "more than one document" in problem.what
    assert problem.line is not None
    assert problem.line >= 4


def test_a_folder(tmp_path: Path) -> None:
    """A folder is told from a file."""
    (problem,) = refused(tmp_path)
    assert "folder" in problem.what


@pytest.mark.parametrize("name", ["gone.yaml", "gone/gone.yaml", "x" * 5000, "a\0b"])
def test_a_missing_file(tmp_path: Path, name: str) -> None:
    """A file that cannot be opened is named."""
    with pytest.raises(BuildError) as caught:
        read_file(tmp_path / name)
    (problem,) = caught.value.problems
    assert "cannot be opened" in problem.what
    assert str(tmp_path) in str(problem.file)


# ------------------------------------------------------------------------------------------------- encodings


def test_windows_line_ends() -> None:
    """Line ends of Windows change nothing but the text: the same build, the same lines in messages."""
    text = examples.text(examples.names()[0])
    assert examine(text.replace("\n", "\r\n")).build == examine(text).build
    wrong = text.replace("kind: linear", "kind: liner")
    assert wrong != text
    here, there = examine(wrong).problems, examine(wrong.replace("\n", "\r\n")).problems
    assert [p.line for p in here] == [p.line for p in there] != []


def test_a_byte_order_mark(tmp_path: Path) -> None:
    """A byte order mark, as some editors write it, is no mistake."""
    path = tmp_path / "mill.yaml"
    path.write_bytes(HEAD.encode("utf-8-sig"))
    assert read_file(path).name == "mill"


@pytest.mark.parametrize(
    ("raw", "line", "word"),
    [
        (HEAD.encode() + "parts: {p: {dims: {h: 1 ±0.1}}}\n".encode("latin-1"), 4, "hex B1"),
        (HEAD.encode("utf-16"), 1, "UTF-16"),
        (HEAD.encode("utf-16-be"), 1, "U+0000"),
        (b"\xff\xfe\x00\x00" + HEAD.encode("utf-32-le"), 1, "UTF-16"),
        (HEAD.encode() + b"note: \x93quoted\x94\n", 4, "hex 93"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), 1, "hex 89"),
    ],
)
def test_not_utf_8(tmp_path: Path, raw: bytes, line: int, word: str) -> None:
    """Text in another encoding is refused with the line of its first strange byte, and how to save it."""
    path = tmp_path / "mill.yaml"
    path.write_bytes(raw)
    (problem,) = refused(path)
    assert problem.line == line
    assert word in problem.what


@pytest.mark.parametrize("sign", ["\0", "\x07", "\x1b", "\ufffe", "\ud800"])
def test_control_characters(sign: str) -> None:
    """A character that no text should hold is refused with its line and number."""
    (problem,) = refused(HEAD + f"note: a{sign}b\n")
    assert problem.line == 4
    assert f"U+{ord(sign):04X}" in problem.what


def test_tabs() -> None:
    """A tab for indentation is called one."""
    (problem,) = refused("format: loopwright-build/1\nname: mill\nbodies:\n\tbase: {}\n")
    assert problem.line == 4
    assert "tab" in problem.what


@pytest.mark.parametrize(
    ("text", "line", "word"),
    [
        ("note: a: b\n", 4, "colon"),
        ("parts: {p: {dims: {h: 1 ±0.1}\nloads: {}\n", 4, "bracket"),
        ("note: 'open\nloads: {}\n", 4, "quote"),
        ("parts:\n  p: {}\n q: {}\n", 6, "lines above"),
        ("loads {}\nparts: {}\n", 4, "colon"),
        ("note: @home\n", 4, "sign"),
        ("note: *nowhere\n", 4, "not there yet"),
    ],
)
def test_slips_of_the_pen(text: str, line: int, word: str) -> None:
    """The common slips in YAML are told in words, at the line where they are."""
    (problem,) = refused(HEAD + text)
    assert word in problem.what
    assert problem.line in (line, line + 1)


# ----------------------------------------------------------------------------------------- too much of anything


def test_fifty_megabytes(tmp_path: Path) -> None:
    """A file of 50 MB is refused with its size, and without reading it all."""
    path = tmp_path / "mill.yaml"
    path.write_bytes(HEAD.encode())
    os.truncate(path, 50_000_000)
    assert memory(lambda: examine_file(path)) < 10
    (problem,) = refused(path)
    assert "50 MB" in problem.what


def test_the_largest_file_that_is_read() -> None:
    """Even a file that just fits, and is full of mistakes, is dealt with in bounded memory."""
    line = "  p{0}: {{dims: {{h: 5 mn}}}}\n"
    text = HEAD + "parts:\n" + "".join(line.format(n) for n in range(6_000))
    assert len(text) < MOST_BYTES
    start = time.process_time()
    found = examine(text)
    assert time.process_time() - start < 10
    assert len(found.problems) == 201
    assert "more than 200" in found.problems[-1].what


@pytest.mark.parametrize(
    "text",
    [
        bomb("[", "]"),
        bomb("{", "}"),
        HEAD + "a: &a [x]\nb: &b [" + "*a, \n" * 5_000 + "*a]\nc: [*b, *b, *b, *b, *b, *b]\n",
        bomb("{<<: [", "]}"),
        HEAD + "a: &a [" + "0,\n" * 6_000 + "0]\nb: [" + "*a, " * 8 + "*a]\n",
    ],
    ids=["lists", "mappings", "two steps", "merges", "one long list"],
)
def test_exploding_aliases(text: str) -> None:
    """Aliases that would come to millions of entries are refused before they are written out."""
    assert memory(lambda: examine(text)) < MEGABYTES
    (problem,) = refused(text)
    assert str(MOST_NODES) in problem.what


def test_a_bomb_in_a_key_or_twice() -> None:
    """Aliases that explode in the name of an entry, or in a message about it, do no harm either."""
    nest = bomb("[", "]")
    assert refused(nest + "? *a5\n: 1\n")
    assert refused(nest + "same: *a5\nsame: *a5\n")


@pytest.mark.parametrize("text", ["a: &a [*a]\n", "a: &a {b: *a}\n", "a: &a\n  b: {c: [1, *a]}\n"])
def test_a_thing_inside_itself(text: str) -> None:
    """An alias inside of what it names is refused."""
    (problem,) = refused(HEAD + text)
    assert "not there yet" in problem.what


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        "x: " + "{a: " * 100_000,
        "- " * 30_000,
        "? " * 30_000,
        HEAD + "x: " + "[" * 30 + "\n" * 30,
        "".join(
            f"{new}: &{new} {'[' * 10}{old}{']' * 10}\n" for old, new in zip(("x", "*a", "*b", "*c"), "abcd")
        ),
    ],
    ids=["lists", "mappings", "dashes", "question marks", "thirty", "by aliases"],
)
def test_deep_nesting(text: str) -> None:
    """Nesting of any depth, also by way of aliases, ends in a message and not in a crash."""
    assert refused(text)
    assert memory(lambda: examine(text)) < MEGABYTES


@pytest.mark.parametrize(
    "text",
    [
        "!" * 400_000,
        "a" * 900_000,
        "%" * 900_000,
        '"' + "a" * 900_000,
        "[" + "a," * 400_000,
        "\n" * 900_000,
        "#" * 900_000,
    ]
    + [
        "&a " * 300_000,
        "a: " * 300_000,
        "a:\n" * 300_000,
        "a\n" * 450_000,
        "- a\n" * 200_000,
        " " * 900_000,
        "{" + "a: 1, " * 9000,
    ]
    + [
        "x: " + "9" * 900_000,
        "x: 0x" + "f" * 900_000,
        "x: " + "1_" * 20_000,
        "x: 1e" + "9" * 40_000,
        "x: |\n" + " a\n" * 300_000,
    ]
    + [
        "x: !!binary " + "A" * 40_000,
        "x: " + "''" * 20_000,
        'x: "' + "\\n" * 20_000 + '"',
        "? a\n" * 200_000,
    ],
    ids=lambda text: repr(text[:6]),
)
def test_much_of_one_kind(text: str) -> None:
    """Long runs of any sign that means something in YAML are dealt with in time, and within bounds."""
    assert refused(text)


def test_a_span_of_a_million_points() -> None:
    """A sweep in more steps than anybody can read is refused where it stands."""
    text = HEAD + (
        "joints:\n  X: {kind: linear, parent: base, child: head, along: +X, travel: [0, 1000], perfect: true}\n"
        "tests:\n  fine: {between: [base, head], along: +Y, sweep: {X: [0, 1000, 1 µm]}}\n"
    ).replace("base: {}", "base: {}, head: {}")
    (problem,) = [p for p in refused(text) if "tests/" in p.field]
    assert problem.field == "tests/fine/sweep/X"
    assert problem.line == 7
    assert "steps" in problem.what


def test_three_thousand_bodies_in_one_chain() -> None:
    """A very large machine is checked in time that grows with its size, not with its square."""
    count = 3000
    bodies = "".join(f"  b{n}: {{}}\n" for n in range(count))
    joints = "".join(
        f"  j{n}: {{kind: fixed, parent: b{n}, child: b{n + 1}, perfect: true}}\n" for n in range(count - 1)
    )
    text = f"format: loopwright-build/1\nname: chain\nbodies:\n{bodies}joints:\n{joints}"
    start = time.process_time()
    assert examine(text).problems == ()
    assert time.process_time() - start < 5
    wrong = text.replace("parent: b", "parent: c")
    start = time.process_time()
    assert len(examine(wrong).problems) == 201
    assert time.process_time() - start < 8


# --------------------------------------------------------------------------------------------------- tricks


@pytest.mark.parametrize(
    "value",
    [
        "!!python/object/apply:os.system ['echo gotcha']",
        "!!python/object:__main__.X {}",
        "!!python/name:os.system",
        "!!map {a: 1}",
        "!!set {a}",
        "!!omap [a: 1]",
        "!!timestamp 2026-01-01",
        "!!float 5",
        "!!str 5",
        "!mm 5",
        "!<tag:example.org,2000:x> 5",
        "! 5",
        "!!binary SGVsbG8=",
    ],
)
def test_tags(value: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A tag constructs nothing, whatever it asks for; it is refused with its line, beside the other mistakes."""
    monkeypatch.setattr(os, "system", lambda _: pytest.fail("a command was run"))
    found = refused(HEAD + f"note: {value}\nnonsense: 1\n")
    assert any(p.line == 4 and "tag" in p.what for p in found)
    assert any(p.field == "nonsense" for p in found)


def test_a_tag_shorthand() -> None:
    """A shorthand for tags declared at the top is seen through."""
    found = refused("%TAG ! tag:yaml.org,2002:python/\n---\n" + HEAD + "note: !name:os.system\n")
    assert any("tag" in p.what for p in found)


def test_yaml_1_1_is_read_as_1_2() -> None:
    """A file that calls itself YAML 1.1 is still read with the words of 1.2: 'no' and '1:30' stay text."""
    text = "%YAML 1.1\n---\n" + HEAD.replace("{base: {}}", "{no: {}, 1:30: {}}")
    found = examine(text)
    assert found.build is not None
    assert list(found.build.bodies) == ["no", "1:30"]


@pytest.mark.parametrize(
    "number", [".nan", ".inf", "-.inf", "nan mm", "inf", "1e999", "-1e999", "1e9999", "∞", "9" * 5000]
)
@pytest.mark.parametrize(
    "field",
    [
        "parts: {p: {dims: {h: {nominal: @, limits: ±1}}}}",
        "parts: {p: {dims: {h: {nominal: 5, lower: -1, upper: @}}}}",
        "bodies: {base: {centre_of_mass: [0, @, 0]}}",
        "bodies: {base: {mass: @}}",
        "confidence: @",
        "contact_stiffness: @",
        "heat: {reference: @}",
        "down: [0, 0, @]",
        "tests: {t: {between: [base, head], along: +X, minutes: @}}",
        "targets: {t: {between: [base, head], along: +X, over: {X: [0, @]}, limit: 1}}",
        "general_limits: {value: 0.1, limits: ±1, shape: normal, multiple: @}",
        "joints: {j: {kind: fixed, parent: a, child: b, perfect: true, at: [0, 0, 0], home: @}}",
        "closures: {c: {joint: j, contact: c, increment: @}}",
    ],
)
def test_numbers_that_are_none(number: str, field: str) -> None:
    """NaN, infinity and what overflows are refused wherever a number can stand, each at its own field."""
    name = field.partition(":")[0]
    head = HEAD.replace("bodies: {base: {}}\n", "") if name == "bodies" else HEAD
    found = refused(head + field.replace("@", number) + "\n")
    assert any(p.field.startswith(name) for p in found)


@pytest.mark.parametrize(
    "name",
    [
        "__class__",
        "__init__",
        "model_config",
        "%s",
        "{0}",
        "{what}",
        "a'b",
        "[key]",
        "Seat",
        "none",
        "null",
        "true",
        "<<x",
        "1",
        "é",
        "名",
    ],
)
def test_odd_names(name: str) -> None:
    """Words that mean something to a program are names like any other, in the file and in messages."""
    text = HEAD + f'parts:\n  "{name}": {{dims: {{"{name}": 5 ±1}}}}\n'
    found = examine(text)
    assert found.problems == ()
    assert found.build is not None
    assert found.build.dim(f"{name}/{name}") is not None
    (problem,) = refused(text.replace("5 ±1", "5 ±1 kg"))
    assert problem.field == f"parts/{name}/dims/{name}"
    assert problem.line == 5


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("", "empty"),
        (" a", "blanks"),
        ("a/b", "'/'"),
        ("a\\tb", "control"),
        ("a\\nb", "control"),
        ("x" * 81, "81"),
    ],
)
def test_names_that_do_not_do(name: str, word: str) -> None:
    """A name that a path could not hold is refused at its line."""
    found = refused(HEAD + f'parts:\n  "{name}": {{}}\n')
    assert any(word in p.what and p.line == 5 for p in found)


def test_very_long_names() -> None:
    """A name of 40,000 letters is refused, and no message repeats it whole, wherever it stands."""
    long = "x" * 40_000
    for text in (
        f"parts: {{{long}: {{}}}}\n",
        f"{long}: 1\n",
        f"joints: {{j: {{kind: fixed, parent: {long}, child: base, perfect: true}}}}\n",
        f"tests: {{t: {{between: [base, {long}], along: +X, gauge: {long}, over: {{{long}: [0, 1]}}}}}}\n",
        f"parts: {{p: {{material: {long}, dims: {{h: {long}}}}}}}\n",
        f"made_together: {{g: {{dims: [{long}, {long}/{long}], shared: {long}, own: ±1}}}}\n",
        f"units: {{length: {long}}}\n",
        f"fit_up: [{{step: s, seat: [{long}], read: [{long}], adjust: [{long}/{long}]}}]\n",
        f"closures: {{c: {{joint: {long}, contact: {long}, range: {long}}}}}\n",
        f"format: {long}\n",
    ):
        assert refused(
            HEAD.replace("format", "other", 1) + text if text.startswith("format") else HEAD + text
        )


# --------------------------------------------------------------------------------------------- broken off


def read_or_refused(text: str) -> None:
    """A text is a build, or mistakes are told; nothing else happens."""
    found = examine(text, "any.yaml")
    assert (found.build is not None) or found.problems
    for problem in found.problems:
        assert problem.what
        assert problem.remedy
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + text.count("\r") + 1


def cuts(text: str) -> Iterator[str]:
    """A text broken off at every fiftieth byte."""
    raw = text.encode()
    return (raw[:end].decode("utf-8", "ignore") for end in range(0, len(raw), 50))


SHORT = """format: loopwright-build/1
name: "mill"   # ours
parts: {pad: {material: 'steel', dims: {height: 12 ±0.005, tilt: {nominal: 90 deg, quantity: angle, std: 2}}}}
bodies:
  base: {mass: 80 kg}
  head: &h {parts: [pad]}
  other: *h
joints:
  head on base:
    kind: fixed
    parent: base
    child: head
    contacts: {a: {at: [0, 0, 0], normal: +Z, dims: [+pad/height]}}
note: |
  two
  lines
"""


def test_broken_off_files() -> None:
    """A file that breaks off anywhere is read, or refused with words."""
    for text in (SHORT, examples.text(examples.names()[0])[:12_000]):
        for cut in cuts(text):
            read_or_refused(cut)


def test_broken_off_at_every_sign() -> None:
    """The same at every single character of a short file, and with any one of them left out."""
    for end in range(len(SHORT)):
        read_or_refused(SHORT[:end])
        read_or_refused(SHORT[:end] + SHORT[end + 1 :])
