"""Grinding of what is not a plain steel: rows that were recalled say so, and what has none is refused with a remedy.

Cast iron, stainless steel and titanium: common practice, from memory. The checks against print are in
tests/published/test_machinerys_handbook_grinding.py.
"""

import pytest

from cut_parts import PLATE, changed, cut
from loopwright.buildfile import read_text
from loopwright.errors import OutOfRange
from loopwright.handbook.grinding import FEET, USUAL_WHEEL_SPEED, Process
from loopwright.handbook.grinding_materials import grain_advice, grinding_kind, starting_row
from loopwright.making.cutting_data import cutting_of
from loopwright.studies.stock_sheet import stock_sheet
from made_parts import BRACKET, text


@pytest.mark.parametrize("material", ["grey cast iron", "ductile iron", "304", "17-4", "440C", "titanium"])
@pytest.mark.parametrize("process", ["surface", "traverse", "plunge"])
def test_what_was_recalled_says_so(material: str, process: Process) -> None:
    """Every process has a row, marked as practice from memory; finishing is finer than roughing."""
    row = starting_row(process, material, hardened=False)
    assert "common practice, from memory" in row.source
    assert row.process == ("surface" if process == "surface" else "traverse")
    assert 0 < row.finish[0] <= row.finish[1] < row.rough
    assert 0 < row.step_finish <= row.step_rough < 1


def test_titanium_is_ground_slowly() -> None:
    """1500 to 2000 ft/min, a third of the usual wheel speed, and less in-feed than steel (common practice)."""
    row = starting_row("surface", "titanium", hardened=False)
    assert [60 * v / FEET for v in row.wheel_speed] == pytest.approx([1500, 2000])
    assert row.wheel_speed[1] < USUAL_WHEEL_SPEED[0] / 2
    assert row.rough < starting_row("surface", "tool steel O1", hardened=True).rough


def test_hard_stainless_is_ground_finer_than_soft() -> None:
    """440C hardened takes less at once than annealed 304."""
    hard, soft = (starting_row("surface", m, hardened=h) for m, h in (("440C", True), ("304", False)))
    assert (hard.rough, hard.finish[0]) < (soft.rough, soft.finish[0])


@pytest.mark.parametrize("material", ["brass", "aluminium 6061", "PTFE", ""])
def test_what_has_no_row_is_refused_with_a_remedy(material: str) -> None:
    """Soft metals on a surface grinder and plastics anywhere: no number, and three ways out."""
    with pytest.raises(OutOfRange, match=r"wheel's maker.*proven values.*its minutes"):
        starting_row("surface", material, hardened=False)


def test_kinds_are_found_by_usual_names() -> None:
    """Numbers of steels go by the handbook, words by what they say; stainless is not plain steel."""
    kinds = {name: grinding_kind(name) for name in ("O1", "1045", "8620", "stainless steel 303", "bronze")}
    assert list(kinds.values()) == ["tool steel", "carbon steel", "alloy steel", "stainless steel", "copper"]


def test_the_grain_is_spoken_of() -> None:
    """Silicon carbide for iron and titanium, aluminium oxide for steel."""
    assert "silicon carbide is the usual" in grain_advice("titanium", "aluminium oxide")
    assert "aluminium oxide is the usual" in grain_advice("tool steel O1", "green silicon carbide")
    assert grain_advice("grey cast iron", "silicon carbide") == ""


def test_cast_iron_gets_grinding_data() -> None:
    """In-feeds of the row, and advice on the grain of the wheel."""
    found = cut("iron", 10)
    assert found.known == "handbook"
    assert [one.kind for one in found.passes] == ["rough", "finish", "spark out"]
    assert any("silicon carbide is the usual grain for cast iron" in note for note in found.notes)
    assert all("from memory" in one.source for one in found.ranges)


def test_a_wheel_too_fast_for_titanium_is_warned_of() -> None:
    """A grinder of one speed, 2850 rpm, moves a 200 mm wheel at 30 m/s; titanium wants 8 to 10."""
    found = changed("iron", 10, "", ("material: grey cast iron", "material: titanium"))
    (said,) = (one.text for one in found.warnings if one.about == "speed")
    assert "the wheel moves at 30 m/s" in said
    assert "7.6 m/s to 10.2 m/s is usual" in said
    assert "burns" in said


def test_a_short_cylinder_of_bronze_is_not_plunged_with_a_traverse_in_feed() -> None:
    """Where no plunge row is there the op is reckoned as traverse: its in-feed is for each pass, not each turn."""
    words = ("journal: {faces: outside, size: [100, 12]}", "journal: {faces: outside, size: [15, 12]}")
    found = changed(
        "shaft", 60, "", words, ("material: tool steel O1\n    blank", "material: bronze\n    blank")
    )
    assert "plunge" not in " ".join(found.notes)
    assert found.passes[0].feed is not None


@pytest.mark.parametrize(("material", "told"), [("grey cast iron", True), ("brass", False)])
def test_minutes_of_more_stock_come_from_the_materials_own_row(material: str, told: bool) -> None:
    """Cast iron is costed by its own row, not by that of steel; brass on a flat grinder is not, and says why."""
    sheet = stock_sheet(
        read_text(text(BRACKET.replace("material: low carbon steel", f"material: {material}"))), "bracket"
    )
    (foot,) = (one for one in sheet.surfaces if one.op_name == "surface grind")
    assert (foot.minutes is not None) == told
    if foot.minutes is not None:
        assert "cast iron" in foot.minutes.words
    assert any("what more stock costs to grind is not told" in note for note in foot.notes) != told


def test_a_fire_of_titanium_is_warned_of() -> None:
    """Cutting titanium brings the caution of a metal fire: class D powder, no water."""
    build = read_text(
        f"format: loopwright-build/1\nname: t\nparts:{PLATE.replace('grey cast iron', 'titanium')}bodies: {{b: {{}}}}\n"
        .replace("machine: flat grinder, ", "").replace("tool: wheel 200, ", "").replace("machine: fast grinder, ", "")
        .replace("tool: wheel unmarked, ", "").replace("machine: cnc, ", "")
    )  # fmt: skip
    hazards = [one.hazard for one in cutting_of(build, "iron", 0).reminders]
    assert "metal fire" in hazards
