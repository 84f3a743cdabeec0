"""What could take the place of a part, and what each would bring, on the invented column on four pads."""

from collections.abc import Sequence
from math import hypot, sqrt

import numpy as np
import pytest

from loopwright.asbuilt.worth import TRIALS, Prospect
from loopwright.errors import RequestError
from loopwright.model.records import Change, State
from loopwright.studies.bench import Bench, bench
from loopwright.studies.conceding import concession
from loopwright.studies.deciding import concession_record
from loopwright.studies.matching import Other, named, others, ranked, with_other
from loopwright.studies.recording import Typed
from shimmed_column import UM, column, entry, with_reading

PADS = ("pad_FL", "pad_FR", "pad_RL", "pad_RR")
MORE = """  bracket_left: {material: steel, dims: {seat_left: 20 ±0.02, seat_right: 30 ±0.02, bore: 8 ±0.01}}
  bracket_right: {material: steel, dims: {seat_left: 30 ±0.02, seat_right: 20 ±0.02, bore: 8 ±0.01}}
  bracket_brass: {material: brass, dims: {seat_left: 20 ±0.02, seat_right: 30 ±0.02, bore: 8 ±0.01}}
  spacer: {dims: {height: 12.5 ±0.01}}
  plate: {dims: {height: 12 ±0.01, width: 40 ±0.1}}
made_together:
  front: {dims: [pad_FL/height, pad_FR/height], shared: ±0.004, own: ±0.001}
  rear: {dims: [pad_RL/height, pad_RR/height], shared: ±0.02, own: ±0.003}
"""


def read(now: Bench, of: str, value: float, item: str | None = None) -> Bench:
    """The same with a size read, mm."""
    return with_reading(now, Typed(of, [[f"{value:.4f}"]], gauge="indicator", item=item))


def told(known: object, now: Bench, path: str) -> tuple[float, float]:
    """Deviation of a dim and its standard uncertainty in the newest state."""
    row, _ = now.observer.dim(path)
    state = known.line.newest  # type: ignore[attr-defined]
    return float(known.expected(row, state)), float(known.uncertainty(row, state))  # type: ignore[attr-defined]


def one_by_one(now: Bench, part: str, found: Sequence[Other]) -> list[tuple[float, ...]]:
    """Chances by the whole machine worked out anew for each."""
    names = list(now.build.targets)
    rows, limits = [now.rows(n) for n in names], [now.target(n).limit for n in names]
    out = []
    for other in found:
        known = with_other(now, part, other)
        left = Prospect(known, rows, limits, (), known.line.newest).now()
        out.append(tuple(one.chance or 0.0 for one in left))
    return out


def test_parts_of_one_drawing_are_found() -> None:
    """Pads of the same height are; a spacer of another height, and a plate with one dim more, are not."""
    found = others(column(more=MORE), "pad_FL")
    assert [(one.name, one.kind) for one in found] == [(pad, "same drawing") for pad in PADS[1:]]
    assert found[0].dims == {"height": "pad_FR/height"}


def test_mirror_parts_are_found_with_their_dims_changed_over() -> None:
    """The seat on the left of the one is that on the right of the other; another material is another part."""
    (found,) = others(column(more=MORE), "bracket_left")
    assert (found.name, found.kind) == ("bracket_right", "mirror part")
    assert found.dims == {
        "seat_left": "bracket_right/seat_right",
        "seat_right": "bracket_right/seat_left",
        "bore": "bracket_right/bore",
    }


def test_inspected_items_are_found_until_they_are_put_in() -> None:
    """Items read as the pad, as one of its like, or as 'pad' will do; a spacer will not, nor one that is in."""
    now = column(more=MORE)
    for of, serial in (
        ("pad_FL/height", "A"),
        ("pad_RR/height", "B"),
        ("pad/height", "C"),
        ("spacer/height", "D"),
    ):
        now = read(now, of, 12.001, serial)
    assert [one.name for one in others(now, "pad_FL") if one.kind == "item"] == ["A", "B", "C"]
    changed = State(
        reason="put in", cause="replacement", changes=(Change(what="renewed", of="pad_RL", item="B"),)
    )
    then = bench([*now.entries, entry(now.last + 1, changed, of=2)])
    assert [one.name for one in others(then, "pad_FL") if one.kind == "item"] == ["A", "C"]


def test_an_exchange_brings_the_whole_dim_with_it() -> None:
    """Pads of two settings change places: what each setting shared goes with its pad, by hand in quadrature; the
    pads that stay keep theirs, and still belong to the setting.
    """
    now = column(more=MORE)
    (rear,) = named(now, "pad_FL", ["pad_RR"])
    known = with_other(now, "pad_FL", rear)
    front, back = (hypot(shared, own) / sqrt(3) for shared, own in ((4 * UM, 1 * UM), (20 * UM, 3 * UM)))
    assert told(known, now, "pad_FL/height")[1] == pytest.approx(back)
    assert told(known, now, "pad_RR/height")[1] == pytest.approx(front)
    assert told(known, now, "pad_FR/height")[1] == pytest.approx(front)
    row = now.observer.dim("pad_RR/height")[0] - now.observer.dim("pad_FR/height")[0]
    # both from the front setting now
    assert float(known.uncertainty(row, known.line.newest)) == pytest.approx(sqrt(2) * 1 * UM / sqrt(3))


def test_what_was_read_goes_with_the_part() -> None:
    """A pad found 30 µm high and exchanged is 30 µm high where it then stands."""
    now = read(column(), "pad_RL/height", 12.030)
    known = with_other(now, "pad_RL", named(now, "pad_RL", ["pad_FR"])[0])
    assert told(known, now, "pad_FR/height")[0] == pytest.approx(told(now.knowledge, now, "pad_RL/height")[0])
    assert told(known, now, "pad_RL/height")[0] == pytest.approx(0.0, abs=1e-12)


def test_the_ranking_is_that_of_the_whole_machine_worked_out_for_each() -> None:
    """Chances of all at once are those of each by itself: to the draw for parts of the machine, within sampling for
    items, whose own noise is drawn apart.
    """
    now = column(more=MORE, height=True)
    now = read(now, "pad_RL/height", 12.030)
    for serial, value in (("P1", 12.004), ("P2", 12.020), ("P3", 11.985)):
        now = read(now, "pad/height", value, serial)
    found = others(now, "pad_RL")
    quick = {match.name: match for match in ranked(now, "pad_RL", found)}
    for other, slow in zip(found, one_by_one(now, "pad_RL", found)):
        room = 1.01 / TRIALS if other.kind != "item" else 0.05
        assert quick[other.name].chances == pytest.approx(slow, abs=room), other.name
    least = [match.least for match in ranked(now, "pad_RL", found)]
    assert least == sorted(least, reverse=True)


def test_the_best_match_is_proposed_and_can_be_decided() -> None:
    """Both rear pads are 40 µm high: of five others the item of 11.960 leaves the column the most upright; it is named
    with how many were tried, and decided without naming it.
    """
    now = read(read(column(), "pad_RL/height", 12.040), "pad_RR/height", 12.040)
    now = read(read(now, "pad/height", 11.960, "P1"), "pad/height", 12.004, "P2")
    found = concession(now, "pad_RL")
    assert len(found.matches) == 5
    best = found.matches[0]
    sizes = {m.name: m.size for m in found.matches}
    # the lean is the mean of the rear pads less that of those in front
    assert best.name == min(sizes, key=lambda name: sizes[name]) == "P1"
    (way,) = [way for way in found.ways if way.decision == "match"]
    assert way.words == "put in P1 instead, the best of 5 that were tried"
    assert concession_record(found, "match").terms == way.words
    assert way.least == pytest.approx(best.least, abs=0.05)


def test_what_is_named_alone_is_tried() -> None:
    """--match limits the choice: to one part, to an item, and to what has a dim in common."""
    now = read(read(column(more=MORE), "pad_RL/height", 12.040), "pad/height", 12.0, "P1")
    assert [m.name for m in concession(now, "pad_RL", match=["pad_FR"]).matches] == ["pad_FR"]
    assert [m.kind for m in concession(now, "pad_RL", match=["P1"]).matches] == ["item"]
    assert [m.name for m in concession(now, "pad_RL", match=["plate"]).matches] == ["plate"]
    for name, words in (("bracket_left", "no dim in common"), ("P9", "no part or item")):
        with pytest.raises(RequestError, match=words):
            concession(now, "pad_RL", match=[name])


def test_a_part_without_its_like_has_no_match() -> None:
    """Nothing is tried where there is nothing, and the other ways stand."""
    now = read(column(more=MORE), "spacer/height", 12.6)
    found = concession(now, "spacer")
    assert found.matches == ()
    assert [way.decision for way in found.ways][-1] == "remake"
    assert "match" not in {way.decision for way in found.ways}


def test_fifty_are_compared_on_the_same_machines() -> None:
    """Fifty items of one size bring one chance: differences are those of sizes and not of the draw."""
    now = column()
    serials = [f"S{n}" for n in range(50)]
    for serial in serials:
        now = read(now, "pad/height", 12.002, serial)
    found = ranked(now, "pad_RL", [one for one in others(now, "pad_RL") if one.kind == "item"])
    assert {match.name for match in found} == set(serials)
    assert len({match.chances for match in found}) == 1
    assert np.ptp([match.size for match in found]) < 1e-12
