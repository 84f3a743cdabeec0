"""A hardened and ground ring, charted and compared with arithmetic done on its own, op by op and by hand.

Faces L and R, shoulder S to the left of R. Saw, turn R, turn S and L, harden (every length grows by 0.05 to 0.15 %),
grind L, R and S. All figures invented.
"""

from dataclasses import replace
from itertools import product

import pytest

from loopwright.making.chart import Cut, Finished, Heat, Limits, Plan, Surface
from loopwright.making.chart_audit import audit
from loopwright.making.chart_picture import drawn
from loopwright.making.chart_solving import Solution, chart

LOW, HIGH = 0.0005, 0.0015


def turned(makes: str, datum: str | None, op: int, tolerance: float | None = None, least: float = 0.0) -> Cut:
    """A cut in a setup of its own."""
    return Cut(makes, datum, op, f"setup {op}", tolerance=tolerance, least=least)


RING = Plan(
    "ring",
    (Surface("L", -1), Surface("S", 1), Surface("R", 1)),
    (
        turned("L", None, 0),
        turned("R", "L", 10, 0.5),
        turned("R", "L", 20, 0.10, 0.5),
        turned("S", "R", 30, 0.05),
        turned("L", "R", 40, 0.05, 0.5),
        turned("L", "R", 50, 0.015, 0.10),
        turned("R", "L", 60, 0.010, 0.10),
        turned("S", "R", 70, 0.010, 0.08),
    ),
    (Finished("width", "L", "R", 25.0, -0.010, 0.010), Finished("step", "S", "R", 10.0, -0.010, 0.010)),
    (Heat(45, 0.001, LOW, HIGH),),
)
PRINTED = {10: 27.0274, 20: 25.9274, 30: 9.9450, 40: 25.2774, 50: 25.125, 60: 25.000, 70: 10.000}
STOCK = {20: (0.5, 1.7), 40: (0.5, 0.8), 50: (0.100, 0.2554), 60: (0.100, 0.150), 70: (0.080, 0.260)}
DIGIT = {20: 0.05, 40: 0.05, 50: 0.00005, 60: 0.0005, 70: 0.0005}


@pytest.fixture(scope="module")
def found() -> Solution:
    """The ring, charted."""
    return chart(RING)


def test_working_dims(found: Solution) -> None:
    """Every mean agrees with the arithmetic to the last digit printed."""
    sizes = {RING.cuts[dim.cut].op: dim.size for dim in found.working}
    assert sizes == pytest.approx(PRINTED, abs=0.00005)


def test_stock(found: Solution) -> None:
    """Every stock removal ranges as the arithmetic says."""
    assert [RING.cuts[result.index].op for result in found.stock] == list(STOCK)
    for result in found.stock:
        op = RING.cuts[result.index].op
        assert (result.low, result.high) == pytest.approx(STOCK[op], abs=DIGIT[op])


def test_least_stock_is_met_exactly(found: Solution) -> None:
    """The worst case of each stock is what was asked, neither less nor more, growth by heat included."""
    assert [result.low for result in found.stock] == pytest.approx([0.5, 0.5, 0.1, 0.1, 0.08], abs=1e-9)


def test_the_extremes_are_reached(found: Solution) -> None:
    """Making the ring at every corner of its tolerances finds the range of the shoulder's stock, and no more."""
    sizes = {RING.cuts[dim.cut].op: (dim.size, dim.half) for dim in found.working}
    ops = (30, 50, 60, 70)
    corners = product(
        *([sizes[op][0] - sizes[op][1], sizes[op][0] + sizes[op][1]] for op in ops), (LOW, HIGH)
    )
    stock = [w7 - (w3 * (1 + g) - (w5 - w6)) for w3, w5, w6, w7, g in corners]
    result = found.stock[-1]
    assert (min(stock), max(stock)) == pytest.approx((result.low, result.high), abs=1e-12)


def test_blueprint(found: Solution) -> None:
    """Both dims are cut directly, fill their limits and hold."""
    assert [(r.low, r.high) for r in found.finished] == [
        pytest.approx(x) for x in ((24.99, 25.01), (9.99, 10.01))
    ]
    assert all(result.holds and result.binds for result in found.finished)


def test_the_path_of_the_shoulder(found: Solution) -> None:
    """The stock on the shoulder is op 70 less op 30 plus op 50 less op 60, as sizes are read."""
    means = {dim.cut: dim.mean for dim in found.working}
    path = {RING.cuts[i].op: sign if means[i] > 0 else -sign for i, sign in found.stock[-1].path}
    assert path == {70: 1, 30: -1, 50: 1, 60: -1}
    assert found.stock[-1].words == "S (op 70) <- R (op 60) <- L (op 50) <- R (op 20) -> S (op 30)"


def test_audit_of_the_ring_as_charted(found: Solution) -> None:
    """Written down to the tenth of a micrometre, the charted sizes pass an audit that asks 0.001 less stock."""
    assert audit(written(found, slack=0.001)).findings == ()


def test_audit_finds_the_short_stock(found: Solution) -> None:
    """With op 40 written 0.2 smaller than charted, grinding L may find nothing, and nothing else changes."""
    plan = written(found, slack=0.001, smaller={40: 0.2})
    findings = audit(plan).findings
    assert [(f.kind, f.field) for f in findings] == [("no stock", "cuts/5")]
    assert findings[0].by == pytest.approx(0.2 * (1 + LOW) - 0.001, abs=2e-4)


def written(found: Solution, slack: float, smaller: dict[int, float] | None = None) -> Plan:
    """The ring with its sizes written, and a little less stock asked."""
    sizes = {dim.cut: dim for dim in found.working}
    cuts = []
    for i, cut in enumerate(RING.cuts):
        if i in sizes:
            size = round(sizes[i].size - (smaller or {}).get(cut.op, 0.0), 4)
            cut = replace(cut, size=Limits.around(size, sizes[i].half), tolerance=None)
        cuts.append(replace(cut, least=max(cut.least - slack, 0.0)))
    return replace(RING, cuts=tuple(cuts))


def test_picture(found: Solution) -> None:
    """The chart has its columns from left to right, hardening between ops 40 and 50, and the balance in its rows."""
    picture = drawn(RING, found)
    assert [column.surface for column in picture.columns] == ["L", "S", "R"]
    apart = [column.x - picture.columns[0].x for column in picture.columns]
    assert apart == pytest.approx([0.0, 15.0, 25.0])
    assert [heat.before_row for heat in picture.heats] == [5]
    balances = {row.op: row.balance for row in picture.arrows if row.balance is not None}
    assert set(balances) == set(STOCK)
    assert balances[60].mean == pytest.approx(0.125)
    assert balances[60].half == pytest.approx(0.025)
    last = picture.arrows[-1]
    assert (last.start, last.end) == (2, 1)
    assert last.start_x - last.end_x == pytest.approx(10.0)
    assert picture.feet[0].name == "width"
