"""Tables of speeds and feeds: whole, reachable by the names of materials, rules marked, gaps refused in words."""

import pytest

from loopwright.errors import OutOfRange
from loopwright.handbook.cutting_speeds import (
    GROUPS,
    OPERATIONS,
    TOOLS,
    feed_ranges,
    group_for,
    sawing_rate,
    speed_ranges,
)
from loopwright.handbook.cutting_speeds_tables import PRINTED_SPEEDS, SOURCES
from loopwright.handbook.materials import MATERIALS


def test_every_row_names_a_known_group_operation_tool_and_source() -> None:
    """No row of the tables can be out of reach."""
    for row in PRINTED_SPEEDS:
        assert row.group in GROUPS
        assert row.operation in OPERATIONS
        assert row.tool in TOOLS
        assert row.source in SOURCES
        assert 0 < row.low <= row.high


def test_no_row_stands_twice() -> None:
    """Each row of the tables is there once."""
    assert len(set(PRINTED_SPEEDS)) == len(PRINTED_SPEEDS)


@pytest.mark.parametrize("name", GROUPS)
def test_every_group_can_be_turned_milled_drilled_and_has_a_force(name: str) -> None:
    """Each group has speeds and feeds for the three commonest operations, and a specific force with source."""
    group = group_for(name)
    assert group.specific_force.kc11 > 0
    assert group.specific_force.source
    tool = "carbide" if group.iso == "H" or "glass" in name else "HSS"
    for operation in ("turn", "mill", "drill"):
        assert speed_ranges(group, operation, tool)
        assert feed_ranges(group, operation, tool, 8.0)


@pytest.mark.parametrize(
    ("name", "group"),
    [
        ("6061", "aluminium"),
        ("aluminum casting", "cast aluminium"),
        ("mild steel", "mild steel"),
        ("low carbon steel", "mild steel"),
        ("steel", "medium carbon steel"),
        ("normalized steel", "medium carbon steel"),
        ("4140", "low alloy steel, annealed"),
        ("low alloy steel", "low alloy steel, annealed"),
        ("tool steel O1", "tool steel O1, annealed"),
        ("stainless 316", "stainless steel 304"),
        ("17-4 PH", "martensitic stainless steel"),
        ("gray cast iron", "grey iron"),
        ("nodular iron", "nodular iron"),
        ("POM", "acetal"),
        ("nylon", "polyamide"),
        ("polytetrafluoroethylene", "PTFE"),
        ("G10", "glass-epoxy laminate"),
        ("glass-epoxy laminate", "glass-epoxy laminate"),
    ],
)
def test_groups_by_the_names_of_materials(name: str, group: str) -> None:
    """Names of the handbook's materials and of the trade lead to their group."""
    assert group_for(name).name == group


def test_every_machinable_material_of_the_handbook_has_a_group() -> None:
    """Only what is not cut with edges, and invar, for which nothing was found, is refused."""
    refused = []
    for name in MATERIALS:
        try:
            group_for(name)
        except OutOfRange:
            refused.append(name)
    cut = {
        "steel",
        "tool steel",
        "iron",
        "aluminium",
        "brass",
        "bronze",
        "copper",
        "titanium",
        "acetal",
        "polyamide",
    }
    assert [name for name in refused if any(word in name for word in cut)] == []
    assert "granite" in refused


def test_hardness_changes_the_group() -> None:
    """Annealed O1 at 15 HRC stays, 60 HRC is hardened, 45 HRC has no rows."""
    assert group_for("O1", hardness_hrc=15).name == "tool steel O1, annealed"
    assert group_for("O1", hardness_hrc=60).name == "hardened tool steel"
    with pytest.raises(OutOfRange, match=r"at 45 HRC.*grind it"):
        group_for("O1", hardness_hrc=45)
    with pytest.raises(OutOfRange, match="at 60 HRC"):
        group_for("304", hardness_hrc=60)


def test_a_rule_says_that_it_is_one() -> None:
    """Boring O1 has no row of its own: 0.7 to 1 of turning, with the source of the turning row."""
    turned, bored = (speed_ranges("O1", operation, "HSS") for operation in ("turn", "bore"))
    assert [row.low for row in bored] == pytest.approx([0.7 * row.low for row in turned])
    assert all(row.by_rule and row.source.startswith("common practice") for row in bored)
    assert not any(row.by_rule for row in turned)


@pytest.mark.parametrize(
    ("material", "operation", "tool", "said"),
    [
        ("O1", "turn", "diamond", "carbon goes into the iron"),
        ("O1", "plane", "HSS", "use one of turn"),
        ("O1", "turn", "ceramic", "use one of HSS"),
        ("hardened tool steel", "turn", "HSS", "CBN, carbide"),
        ("hardened tool steel", "ream", "carbide", "no rows at all to ream"),
        ("granite", "turn", "HSS", "no cutting data here for 'granite'"),
        ("unobtainium", "turn", "HSS", "your own proven values"),
    ],
)
def test_what_has_no_rows_is_refused(material: str, operation: str, tool: str, said: str) -> None:
    """The message says what was asked, what there is, and what would do."""
    with pytest.raises(OutOfRange, match=said):
        speed_ranges(material, operation, tool)


def test_feeds_that_are_none() -> None:
    """A tap feeds its pitch, a saw by force, and a mill needs its diameter."""
    with pytest.raises(OutOfRange, match="its own pitch"):
        feed_ranges("brass", "tap", "HSS", 8)
    with pytest.raises(OutOfRange, match="sawing_rate"):
        feed_ranges("brass", "saw", "HSS", 8)
    with pytest.raises(OutOfRange, match="diameter; give it in mm"):
        feed_ranges("brass", "mill", "HSS")
    with pytest.raises(OutOfRange, match="no sawing rate here for brass"):
        sawing_rate("brass")


def test_feed_of_a_small_mill_is_not_that_of_a_large_one() -> None:
    """Between the printed diameters the feed lies on a straight line; outside them the row is not given."""
    rows = feed_ranges("mild steel", "mill", "HSS", 12.7)
    assert rows[0].low / 25.4 == pytest.approx(0.001 + 0.003 / 3)
    with pytest.raises(OutOfRange, match="at 80 mm"):
        feed_ranges("phenolic fabric", "mill", "HSS", 80)


def test_plastics_have_an_upper_bound_of_force() -> None:
    """Acetal has no printed specific force: aluminium's stands in, and says so."""
    assert group_for("acetal").specific_force.source.startswith("upper bound")
