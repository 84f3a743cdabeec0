"""What holds for any text at all: it is read as a build, or refused with words, and nothing else happens."""

from hypothesis import given
from hypothesis import strategies as st

from loopwright.buildfile import examine, set_value
from loopwright.errors import RequestError

HEAD = "format: loopwright-build/1\nname: mill\nbodies: {base: {}}\n"


def read_or_refused(text: str) -> None:
    """A text is a build, or mistakes are told; nothing else happens."""
    found = examine(text, "any.yaml")
    assert (found.build is not None) or found.problems
    for problem in found.problems:
        assert problem.what
        assert problem.remedy
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + text.count("\r") + 1


PIECES = st.sampled_from(
    [*"[]{}:,-?&*!|>%@`'\"#~<\n\r\t ."]
    + [
        "\n  ",
        "\n    ",
        ": ",
        "- ",
        "a: ",
        "&a ",
        "*a",
        "!!str ",
        "<<: ",
        "---\n",
        "...\n",
        "0",
        "1e5",
        ".5e3",
        "±",
        "{}",
        "[]",
    ]
    + [
        "format: loopwright-build/1\n",
        "name: m\n",
        "bodies: ",
        "parts: ",
        "dims: ",
        "joints: ",
        "units: ",
        "|\n ",
        ">-\n ",
        "null",
    ]
    + ["\x85", "\u2028", "\ufeff", "é", "\\", "\0"]
)


@given(st.text(max_size=200) | st.lists(PIECES, max_size=40).map("".join))
def test_any_text(text: str) -> None:
    """Random text, also of nothing but signs that mean something in YAML, is read or refused."""
    read_or_refused(text)
    read_or_refused(HEAD + text)


VALUES = st.recursive(
    st.sampled_from(
        [
            "1",
            "-5",
            "±1",
            "5 ±0.1",
            "'x'",
            "~",
            "true",
            ".nan",
            "base",
            "+X",
            "1e9",
            "a/b",
            "0…1",
            "line",
            "''",
        ]
    ),
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda v: f"[{', '.join(v)}]")
        | st.dictionaries(
            st.sampled_from(
                "kind at dims X value limits std shape between over sweep nominal h limit rails side normal".split()
            ),
            inner,
            max_size=4,
        ).map(lambda v: "{" + ", ".join(f"{k}: {x}" for k, x in v.items()) + "}")
    ),
    max_leaves=8,
)
PLACES = [
    "@",
    "parts: @",
    "parts: {p: @}",
    "parts: {p: {dims: @}}",
    "parts: {p: {dims: {h: @}}}",
    "bodies: @",
    "bodies: {base: @}",
    "joints: @",
    "joints: {j: @}",
    "joints: {j: {kind: linear, parent: base, child: head, along: X, travel: @, perfect: true}}",
    "joints: {j: {kind: linear, parent: base, child: head, along: X, travel: [0, 1], errors: @, errors_at: [0, 0, 0]}}",
    "joints: {j: {kind: linear, parent: base, child: head, along: X, travel: [0, 1], guide: @}}",
    "joints: {j: {kind: linear, parent: base, child: head, along: X, guide: {normal: Z, rails: @, blocks: @}}}",
    "joints: {j: {kind: fixed, parent: base, child: head, contacts: {c: @}}}",
    "made_together: {g: @}",
    "targets: {t: @}",
    "tests: {t: @}",
    "tests: {t: {between: [base, head], along: X, over: @, zeroed: @, holding: @}}",
    "gauges: {g: @}",
    "artefacts: @",
    "fit_up: @",
    "fit_up: [@]",
    "closures: {c: @}",
    "loads: {l: @}",
    "loads: {l: {on: base, at: @, force: @}}",
    "heat: @",
    "heat: {room: @}",
    "materials: {m: @}",
    "units: @",
    "general_limits: @",
    "confidence: @",
    "down: @",
    "stiffness_spread: @",
    "assume: @",
    "name: @",
]


@given(st.sampled_from(PLACES), VALUES)
def test_anything_anywhere(place: str, value: str) -> None:
    """Any value in any place of a build is read, or refused with words."""
    read_or_refused(HEAD + place.replace("@", value) + "\n")


@given(
    st.sampled_from(
        [
            "name",
            "bodies/base",
            "bodies",
            "parts/p/dims/h",
            "p/h",
            "units/length",
            "",
            "/",
            "a//b",
            "bodies/0",
        ]
    ),
    VALUES,
)
def test_setting_anything(path: str, value: str) -> None:
    """Setting any value at any path gives a text that can be parsed, or a refusal."""
    text = HEAD + "parts: {p: {dims: {h: 5 ±1}}}\n"
    try:
        out = set_value(text, path, value)
    except RequestError as error:
        out = text + f"# {error.what}; {error.remedy}\n"
    assert out.count("format: loopwright-build/1") == 1
    assert examine(out).document is not None
