"""What blocks leave out, and what moves a drive."""

import numpy as np
import pytest

from loopwright.loop import compile_loop
from loopwright.model import Build, Indication, Spread
from loopwright.model.contacts import Seat, completed


def slide(block: dict[str, object], drive: dict[str, object] | None = None) -> Build:
    """A slide on two rails, with one block that says something of its own."""
    blocks = {
        f"b{i}{j}": {"rail": f"r{j}", "at": (100.0 * i, 80.0 * j, 0.0), **(block if not i and not j else {})}
        for i in (0, 1)
        for j in (0, 1)
    }
    general = {"height": {"stiffness": 9e4, "preload": 250.0, "deviation": Spread(lower=-0.002, upper=0.002)}}
    return Build.model_validate(
        {
            "name": "slide",
            "parts": {
                "shim": {"dims": {"height": {"nominal": 1.0, "lower": -0.01, "upper": 0.01}}},
                "spacer": {"dims": {"length": {"nominal": 3.0, "lower": -0.02, "upper": 0.02}}},
            },
            "bodies": {"base": {}, "table": {}},
            "joints": {
                "X": {
                    "kind": "linear", "parent": "base", "child": "table", "along": "+X", "travel": (0.0, 300.0),
                    "guide": {"normal": "+Z", "rails": {"r0": {}, "r1": {}}, "blocks": blocks, "every_block": general},
                    "drive": {"kind": "ball screw", "at": (50.0, 40.0, 0.0), **(drive or {})},
                }
            },
        }
    )  # fmt: skip


def test_a_block_keeps_what_it_does_not_say_itself() -> None:
    """A block that names a dim of its own keeps the stiffness, preload and deviation of every block."""
    loop = compile_loop(slide({"height": {"dims": ["+shim/height"]}}))
    touching = loop.joints["X"].contacts
    number = touching.names.index("b00 height")
    assert touching.stiffness[number] == 9e4
    assert touching.preload[number] == 250.0
    assert {s.name for s in loop.sources} >= {"shim/height", "X: b00 height", "X: b11 height"}


def test_its_own_word_counts_before_the_general_one() -> None:
    """What a block says itself is not overridden by every block."""
    loop = compile_loop(slide({"height": {"stiffness": 2e4}}))
    touching = loop.joints["X"].contacts
    assert touching.stiffness[touching.names.index("b00 height")] == 2e4
    assert touching.stiffness[touching.names.index("b10 height")] == 9e4


def test_completing_takes_only_what_is_left_out() -> None:
    """A seat is completed field by field."""
    whole = completed(Seat(preload=5.0), Seat(stiffness=1e5, preload=9.0))
    assert (whole.preload, whole.stiffness) == (5.0, 1e5)


def test_a_spacer_moves_the_drive() -> None:
    """A nut spacer that is 20 µm long moves the table by 20 µm along the screw."""
    loop = compile_loop(slide({}, {"dims": ["+spacer/length"]}))
    rows = loop.rows(Indication(between=("base", "table"), component="X"), {"X": np.array([0.0, 150.0])})
    place = next(iter(loop.dims["spacer/length"]))
    assert rows.matrix[:, 0, place] == pytest.approx([1.0, 1.0], abs=1e-12)
