"""What a step of the fit-up says on the bench, on an invented column that stands on four shimmed pads."""

import pytest

from loopwright.errors import RequestError
from loopwright.studies.fitup_bench import StepReport, fitup_step, state_after
from shimmed_column import FOIL, FRONT, REAR, UM, column, leaning


def values(found: StepReport) -> dict[str, float]:
    """What each is to be set to, by its path, mm."""
    return {one.name: one.value for one in found.to_set}


def test_a_pad_that_must_come_down_is_named_and_the_others_raised() -> None:
    """A column that leans forward 24 µm in 120 mm, on pads 140 mm apart, needs its rear pads 28 µm lower: no foil
    does that, so the front ones go up by 30, the nearest foil, although the step names the rear ones only.
    """
    found = fitup_step(leaning(column(), 24 * UM), 1)
    for one in found.to_set:
        if one.name in REAR:
            assert one.shortfall is not None
            assert one.shortfall.by == pytest.approx(28 * UM, abs=1 * UM)
            assert (
                one.shortfall.dim
                == {"rear left": "pad_RL/height", "rear right": "pad_RR/height"}[one.name.partition("/")[2]]
            )
            assert set(one.shortfall.raised) == set(FRONT)
    assert values(found) == pytest.approx(dict.fromkeys(REAR, 0.0) | dict.fromkeys(FRONT, 0.03), abs=1e-12)
    assert found.verdict == "set"
    assert found.left < 2.5 * UM
    # leaning the other way the rear ones go up, and nothing is said
    easy = fitup_step(leaning(column(), -24 * UM), 1)
    assert values(easy) == pytest.approx(dict.fromkeys(REAR, 0.03), abs=1e-12)
    assert all(one.shortfall is None for one in easy.to_set)


def test_others_are_not_raised_where_a_target_would_feel_it() -> None:
    """The rear pads are too high. With a target for the height of the nose, 30 µm more under the front costs it;
    the rear pads have to be ground, and the verdict is rework, not another reading.
    """
    found = fitup_step(leaning(column(height=True), 24 * UM), 1)
    assert {one.name for one in found.to_set} == set(REAR)
    assert [one.shortfall.raised for one in found.to_set if one.shortfall is not None] == [(), ()]
    assert found.verdict == "rework"
    assert all(one.change == 0 for one in found.to_set)


def test_nothing_else_to_raise_is_rework_too() -> None:
    """Front pads without shims cannot be raised: what is said is by how much the rear ones must come down."""
    found = fitup_step(leaning(column(front=""), 24 * UM), 1)
    assert [one.shortfall.by for one in found.to_set if one.shortfall is not None] == pytest.approx(
        [28 * UM] * 2, abs=1 * UM
    )
    assert found.verdict == "rework"


def test_a_step_that_names_all_pads_raises_the_others_by_itself() -> None:
    """With all four pads in the step no pad is short: the front goes up by 30."""
    found = fitup_step(leaning(column(adjust=[*FRONT, *REAR]), 24 * UM), 1)
    assert values(found) == pytest.approx(dict.fromkeys(REAR, 0.0) | dict.fromkeys(FRONT, 0.03), abs=1e-12)
    assert all(one.shortfall is None for one in found.to_set)


def test_a_range_below_nothing_is_not_cut_off_in_silence() -> None:
    """Where the file lets a shim go to -0.1 and foil is in the drawer, the front is raised by a foil of 0.03: a
    pack is never thinner than no foil, and the column is as upright as with shims of any thickness.
    """
    wide = "shim, range: -0.1…0.1, increment: 0.01, setting: ±1 µm"
    found = fitup_step(leaning(column((0.03, 6), front=wide, rear=wide), 24 * UM), 1)
    assert {one.name: one.foils for one in found.to_set} == {
        **dict.fromkeys(FRONT, (0.03,)), **dict.fromkeys(REAR, ())
    }  # fmt: skip
    assert found.left < 2.5 * UM
    # without a drawer the file is believed
    free = fitup_step(leaning(column((0.03, 6), front=wide, rear=wide), 24 * UM), 1, foils=False)
    assert values(free) == pytest.approx(dict.fromkeys(REAR, -0.03), abs=1e-12)


def test_what_is_left_alone_stays_as_well_known() -> None:
    """A column that stands upright is left alone, and no target gets worse by that."""
    found = fitup_step(leaning(column(adjust=[*FRONT, *REAR]), 0.0), 1)
    assert all(one.change == 0 for one in found.to_set)
    for _, _, _, now, then in found.targets:
        assert then == pytest.approx(now, rel=1e-12)


def test_a_drawer_that_does_not_help_leaves_the_other_adjusters_alone() -> None:
    """A lean of 12 µm wants 28 µm more at one rear pad: the only foil, 0.1, would do worse than none and stays in the
    drawer; the jack screw beside it goes to its end all the same.
    """
    now = column((0.1, 6), rear="jack screw, range: -0.002…0.002", right=FOIL)
    found = {one.name: one for one in fitup_step(leaning(now, -12 * UM), 1).to_set}
    jack, shim = found[REAR[0]], found[REAR[1]]
    assert shim.change == 0
    assert "does better than what is mounted" in shim.foil_words
    assert jack.change == pytest.approx(2 * UM)
    assert jack.foil_words == ""


def test_a_shim_thinner_than_none_is_refused() -> None:
    """A pad that was ground is entered by its size, and the remedy names it."""
    with pytest.raises(RequestError, match="thinner than none") as refused:
        state_after(column(), {REAR[0]: "-0.02"}, reason="ground")
    assert "pad_RL/height=SIZE" in str(refused.value.remedy)
    done = state_after(column(), {"pad_RL/height": "11.98 ±0.001"}, reason="ground")
    assert done.changes[0].what == "sized"
