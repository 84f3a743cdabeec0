"""What the one sweep reads, it reads as the YAML library does, node by node; everything else it leaves alone."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.buildfile import examples
from loopwright.buildfile.yaml_library import read_by_library
from loopwright.buildfile.yaml_swift import read_swiftly
from loopwright.buildfile.yaml_tree import Node
from loopwright.errors import BuildError

PIECES = (
    "name: drill\n",
    "note: >-\n  Two lines that are\n  one text.\n\n",
    "parts:\n  column: {material: grey cast iron, dims: {height: 240 ±0.02}}  # as cast\n",
    "fit_up:\n  - {step: seat, read: [gap], accept: 4 µm}\n  - step: lock\n    adjust: ['X slide/drive', \"b\"]\n",
    "over: {X: [0, 320, 40],\n       Y: [-1.5, 220]}\n",
    "- one\n",
    "a:\n    b:\n        c: it's 12:30 #1\n",
    "'it''s': yes\n",
    "posts:\n  one: &post {height: 12, faces: [&foot -Z, *foot]}\n  two: *post\n",
    "route: &route\n  - &saw {op: saw}\n  - *saw\nother: {same: *route, and: [*saw , *route]}\n",
    "one: &word text\ntwo: *word  # again\nlist:\n  - &item 'quoted'\n  - *item\n",
)
SIGNS = st.sampled_from(
    [
        *" \n:,-#[]{}'\"?&*!|>%@=\t\r\xa0µ",
        ": ",
        "- ",
        "\n  ",
        "\n- ",
        " #",
        ", ",
        "...",
        "---",
        "\n\n",
        ">-\n  a\n",
    ]
)


@st.composite
def texts(draw: st.DrawFn) -> str:
    """Build files, nearly: pieces that fit, with signs put in and taken out."""
    text = "".join(draw(st.lists(st.sampled_from(PIECES), min_size=1, max_size=4)))
    for _ in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, len(text)))
        text = text[:at] + draw(st.just("") | SIGNS) + text[at + draw(st.integers(0, 3)) :]
    return text


def seen(node: Node) -> tuple[Any, ...]:
    """Everything that a node says."""
    own = (node.kind, node.start, node.end, node.line, node.text, node.plain, node.flow)
    return (*own, node.anchor, node.alias, node.size, node.height, *map(seen, node.items))


@given(texts())
@settings(max_examples=500)
def test_whatever_the_sweep_reads_the_library_reads_alike(text: str) -> None:
    """A text that the sweep takes has the same tree by the library, without tags, and never a mistake."""
    swift = read_swiftly(text)
    if swift is not None:
        try:
            root, tags = read_by_library(text)
        except BuildError as error:
            pytest.fail(f"{text!r}: the library says {error}")
        assert root is not None
        assert not tags
        assert seen(swift) == seen(root)


@pytest.mark.parametrize(
    "text", [*PIECES[:5], *PIECES[-3:], "".join(PIECES[:5]), *map(examples.text, examples.names())]
)
def test_usual_files_need_no_library(text: str) -> None:
    """Blocks, brackets, quotes, comments and folded notes are read in one sweep, just as the library reads them."""
    swift = read_swiftly(text)
    assert swift is not None
    assert seen(swift) == seen(read_by_library(text)[0])


@pytest.mark.parametrize(
    "text",
    [
        *(
            "a: &b *c",
            "a: *b",
            "- &a k: v",
            "<<: *b",
            "a: *b",
            "a: !t 1",
            "a: |\n  b\n",
            'a: "\\n"',
            "a:\n- 1",
            "a:\n",
            "a: b\n  c",
            "? a",
            "- a",
        ),
        *("a:\tb", "a: 1\r\n", "---\na: 1", "%YAML 1.2", "a: [b: c]", "a: {b}", "a: {b: 240,5}", "a: [1", ""),
        *(
            " a: 1",
            "a: 1\n b: 2",
            "a: 'b' c",
            "a: b: c",
            "a: \u2028",
            "a: \ud800",
            "a:\n  - 1\n 2",
            "a: [\n1]",
        ),
        *("a: {b: c:d}", "a: >-\n  b\n   c\n", "a: >-\n  b\n\n  c\n", "a: >\n  b\n", "k" * 300 + ": 1"),
    ],
)
def test_what_is_out_of_the_usual_is_left_to_the_library(text: str) -> None:
    """Anchors, tags, literal and escaped text, lists at their key's own depth, and all that may be wrong."""
    assert read_swiftly(text) is None
