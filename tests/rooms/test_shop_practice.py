"""Operations, what they hold, the stock they leave, and the cautions that go with them."""

from math import pi

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook import stock_allowances as stock
from loopwright.handbook.bands import Band, Spread
from loopwright.handbook.cautions import (
    CAUTIONS,
    DEFERS,
    caution,
    cautions_of_material,
    hottest_quench_oil,
    sling_leg_factor,
)
from loopwright.handbook.limits_and_fits import standard_tolerance
from loopwright.handbook.operations import MACHINES, OPERATIONS, OPS, operation
from loopwright.handbook.process_capability import (
    SHARES,
    capability,
    grade_of,
    relative_cost,
    roughness_for,
    usual_grades,
    usual_roughness,
    usual_tolerance,
)

NAMES = """
saw, square up, face, rough out, contour, drill, ream, bore, tap, thread mill, thread turn, chamfer, deburr, turn,
part off, stress relieve, harden, temper, surface grind, cylindrical grind, lap, bond, cure, press, balance,
inspect, fit
"""


def test_the_operations_of_the_trade() -> None:
    """Every operation of the shop has its name, in the order in which a part meets them."""
    assert ", ".join(OPS) == " ".join(NAMES.split())
    assert tuple(OPERATIONS) == OPS


def test_every_operation_has_machines_and_known_cautions() -> None:
    """Each operation names machines of the list and cautions that exist; no machine is without work."""
    for op in OPERATIONS.values():
        assert op.machines
        assert set(op.machines) <= set(MACHINES)
        assert set(op.cautions) <= set(CAUTIONS)
    assert {m for op in OPERATIONS.values() for m in op.machines} == set(MACHINES)


def test_what_cuts_and_what_heats() -> None:
    """Heat goes with the furnace, the oven and the cure; nothing heats and cuts at once."""
    assert [op.name for op in OPERATIONS.values() if op.heats] == [
        "stress relieve",
        "harden",
        "temper",
        "cure",
    ]
    assert not any(op.heats and op.cuts for op in OPERATIONS.values())
    assert not any(operation(name).cuts for name in ("bond", "press", "inspect", "fit", "balance"))
    assert "oven" in operation("cure").cautions


def test_an_operation_is_found_as_people_write_it() -> None:
    """Case and blanks do not matter; an unknown one is told the list."""
    assert operation(" Surface  GRIND").name == "surface grind"
    with pytest.raises(OutOfRange, match="no operation 'weld' here; use one of saw"):
        operation("weld")


# what an operation holds


def test_every_machine_that_cuts_has_a_spread() -> None:
    """A machine of a cutting operation has a spread that says it is a rule; a furnace has none."""
    cutting = {machine for op in OPERATIONS.values() if op.cuts for machine in op.machines}
    for machine in cutting:
        found = capability(machine)
        assert "replace it by your own readings" in found.source
        assert min(found.cut, found.setting, found.seating, found.angular) > 0
    for machine in ("furnace", "oven", "press"):
        with pytest.raises(OutOfRange, match="does not cut to a size"):
            capability(machine)


@pytest.mark.parametrize(
    ("machine", "half"),
    [("manual mill", 0.05), ("CNC mill", 0.015), ("manual lathe", 0.02), ("surface grinder", 0.005)],
)
def test_the_shop_rule_is_two_standard_deviations(machine: str, half: float) -> None:
    """Shop rule: ±0.05 manual mill, ±0.015 CNC mill, ±0.02 lathe, ±0.005 surface grinder, read as two sigma."""
    found = capability(machine)
    assert 2 * found.dim_std == pytest.approx(half)
    assert found.cut**2 / found.dim_std**2 == pytest.approx(SHARES[0])
    assert sum(SHARES) == pytest.approx(1)


def test_a_surface_grinder_is_flat_to_3_um_on_100_mm() -> None:
    """Shop rule: flatness 0.003 on 100 mm, read as two sigma."""
    assert 2 * capability("Surface Grinder").angular * 100 == pytest.approx(0.003)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: usual_grades("cure"), "'cure' is not held to a grade"),
        (lambda: usual_grades("tap"), "ISO 965"),
        (lambda: usual_grades("weld"), "no operation"),
        (lambda: usual_roughness("inspect"), "no roughness of 'inspect'"),
        (lambda: usual_tolerance("turn", 4000), "3150"),
        (lambda: roughness_for(0), "over 0"),
        (lambda: capability("laser"), "no machine 'laser'"),
        (lambda: relative_cost(0.1), "runs from ±0.0127"),
        (lambda: grade_of(25, 0.0001), "finer than IT1"),
        (lambda: stock.cylindrical_grinding(120, 50), "up to 100 mm"),
        (lambda: stock.cylindrical_grinding(50, 0), "a length of 0 mm"),
        (lambda: stock.surface_grinding(100, 200), "longest side first"),
        (lambda: stock.reaming(101), "up to 100 mm"),
        (lambda: stock.reaming(60, by_hand=True), "up to 50.8 mm"),
        (lambda: stock.finish_boring(151), "up to 150 mm"),
        (lambda: stock.centreless_grinding(50, 12.7), "ask the grinder"),
        (lambda: stock.saw_kerf("laser"), "use one of bandsaw"),  # type: ignore[arg-type]
        (lambda: stock.sawn_plate_oversize(float("nan")), "outside this table"),
        (lambda: caution("dragons"), "no cautions on 'dragons'"),
        (lambda: hottest_quench_oil(40), "no quench oil"),
        (lambda: sling_leg_factor(pi / 7), "refused.*longer slings"),
        (lambda: sling_leg_factor(2.0), "refused"),
    ],
)
def test_shop_practice_refuses_what_it_does_not_know(call: object, said: str) -> None:
    """What is outside a table or a rule is refused with what it covers."""
    with pytest.raises(OutOfRange, match=said):
        call()  # type: ignore[operator]


def test_every_cutting_size_operation_has_grades_and_roughness() -> None:
    """Operations that make a plain size have grades and a roughness, the finest of each finer than its coarsest."""
    others = ("tap", "thread mill", "thread turn", "chamfer", "deburr")
    sized = [op for op in OPS if operation(op).cuts and op not in others]
    assert len(sized) == 13
    for op in sized:
        found, ra = usual_tolerance(op, 40), usual_roughness(op)
        assert found.low < found.high
        assert found.low == standard_tolerance(40, found.grades[0])
        assert 0 < ra.low < ra.high
        assert found.source
        assert ra.source


def test_grades_of_a_tolerance() -> None:
    """0.021 at 25 mm is IT7, 0.020 is IT6, 10 mm is IT18."""
    assert [grade_of(25, t) for t in (0.021, 0.020, 10)] == [7, 6, 18]


def test_stock_of_the_shop() -> None:
    """Kerfs 0.9 to 3.5 mm, 1 to 3 mm per sawn end, 0.2 to 0.8 mm for the last bore: common practice, and said so."""
    kerfs = [stock.saw_kerf(s) for s in ("bandsaw", "cold saw", "abrasive saw", "hacksaw")]  # type: ignore[arg-type]
    assert [k[:2] for k in kerfs] == [(0.9, 1.6), (2.0, 3.0), (2.5, 3.5), (1.0, 2.0)]
    assert stock.facing_a_sawn_end()[:2] == (1.0, 3.0)
    assert (stock.finish_boring(50)[:2], stock.finish_boring(51)[:2]) == ((0.2, 0.5), (0.3, 0.8))
    assert all(
        k.source == "common practice" for k in [*kerfs, stock.facing_a_sawn_end(), stock.finish_boring(9)]
    )


# cautions


def test_every_hazard_has_short_texts_and_defers() -> None:
    """Ten hazards at least, each with a source and texts that fit a sheet; licensed people come first."""
    asked = {
        "oil quench",
        "quench liquid",
        "oven",
        "grinding wheel",
        "laminate dust",
        "PTFE",
        "epoxy",
        "anaerobic",
    }
    assert asked | {"pressing", "lifting"} <= set(CAUTIONS)
    for hazard in CAUTIONS:
        found = caution(hazard)
        assert found.source
        assert all(0 < len(text) <= 200 and text.endswith(".") for text in found.texts)
    assert "licensed" in DEFERS
    assert "law" in DEFERS


def test_materials_bring_their_own_cautions() -> None:
    """Glass and phenolic laminates and PTFE have hazards of their own, whatever the operation."""
    assert cautions_of_material("phenolic fabric") == cautions_of_material("G10/FR4") == ("laminate dust",)
    assert cautions_of_material("ptfe rod") == ("PTFE",)
    assert cautions_of_material("brass") == ()


@pytest.mark.parametrize(("degrees", "factor"), [(60, 1.155), (45, 1.414), (30, 2.0), (90, 1.0)])
def test_sling_legs(degrees: float, factor: float) -> None:
    """Statics: a leg at 60, 45 and 30° to the horizontal carries 1.155, 1.414 and 2 times its share."""
    assert sling_leg_factor(degrees * pi / 180) == pytest.approx(factor, abs=5e-4)


def test_bands_and_spreads() -> None:
    """A band knows its middle and scales; a spread's range is four standard uncertainties."""
    band = Band(0.2, 0.4, "x")
    assert band.middle == pytest.approx(0.3)
    assert band.times(2)[:2] == (0.4, 0.8)
    assert not band.holds(0.41)
    assert Spread(1, 0.8, 1.6, "x").std == pytest.approx(0.2)
