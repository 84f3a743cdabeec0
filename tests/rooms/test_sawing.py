"""Saw list and plate list: by hand, against every list there is, and against another formulation of the question."""

from collections import Counter
from itertools import product

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from loopwright.errors import BuildError, Cancelled
from loopwright.making.plates import Blank, PlateMetal, PlateSaw, Sheet, plate_list
from loopwright.making.sawing import Bar, Metal, Piece, Saw, SawList, saw_list

FLAT = "flat 50 x 10, S235"
ROUND = "round 40, C45"


def usable(bar: Bar, saw: Saw) -> float:
    """Length that pieces and their kerfs may take of a bar."""
    return bar.length - (0 if bar.faced else saw.end_loss) - saw.grip + (saw.kerf if saw.grip == 0 else 0)


def random_shop(seed: int) -> tuple[list[Piece], list[Bar], Saw]:
    """A few pieces, a few bars of one's own and one or two lengths to buy."""
    draw = np.random.Generator(np.random.PCG64(seed))
    pieces = [
        Piece(f"p{i}", float(draw.integers(100, 900)) / draw.integers(1, 3), int(draw.integers(1, 4)), FLAT)
        for i in range(draw.integers(1, 4))
    ]
    own = [
        Bar(
            f"o{i}",
            float(draw.integers(200, 1500)),
            int(draw.integers(1, 3)),
            FLAT,
            faced=bool(draw.integers(2)),
        )
        for i in range(draw.integers(0, 3))
    ]
    bought = [
        Bar(
            f"b{i}",
            float(draw.integers(1000, 1500)),
            None if i == 0 else 1,
            FLAT,
            float(draw.integers(5, 30)),
        )
        for i in range(draw.integers(1, 3))
    ]
    kerf, grip, end, least = (
        draw.integers(0, 5),
        draw.choice([0, 30]),
        draw.choice([0, 5]),
        draw.choice([0, 250]),
    )
    return pieces, [*own, *bought], Saw(float(kerf), float(grip), float(end), float(least))


def every_list(pieces: list[Piece], bars: list[Bar], saw: Saw) -> tuple[float, float]:
    """Least cost, and at that cost what the rack loses least, from each piece tried on each bar."""
    lengths = sorted((p.length for p in pieces for _ in range(p.count)), reverse=True)
    slots = [b for b in bars for _ in range(len(lengths) if b.count is None else min(b.count, len(lengths)))]
    load, best = [0.0] * len(slots), (np.inf, np.inf)
    longest = max(bar.length for bar in bars)

    def worth(length: float) -> float:
        return (length / longest) ** 2 if length >= max(saw.least_offcut, 1e-9) else 0.0

    def lost(bar: Bar, taken: float) -> float:
        rest = max(bar.length - (0 if bar.faced else saw.end_loss) - taken, 0.0)
        return (worth(bar.length) if bar.price == 0 else 0.0) - worth(rest)

    def place(number: int) -> None:
        nonlocal best
        if number == len(lengths):
            used = [(bar, taken) for bar, taken in zip(slots, load) if taken]
            best = min(
                best, (sum(bar.price for bar, _ in used), sum(lost(bar, taken) for bar, taken in used))
            )
            return
        tried = set()
        for slot, bar in enumerate(slots):
            if (bar, load[slot]) in tried or load[slot] + lengths[number] + saw.kerf > usable(
                bar, saw
            ) + 1e-9:
                continue
            tried.add((bar, load[slot]))
            load[slot] += lengths[number] + saw.kerf
            place(number + 1)
            load[slot] -= lengths[number] + saw.kerf

    place(0)
    return best


def drawn(found: SawList, bars: list[Bar], saw: Saw) -> float:
    """What the rack loses by a list."""
    longest = max(bar.length for bar in bars)
    own = sum(
        (bar.length / longest) ** 2 for bar in found.bars if bar.price == 0 and bar.length >= saw.least_offcut
    )
    return own - sum((end.length / longest) ** 2 for end in found.offcuts)


@pytest.mark.parametrize("seed", range(30))
def test_small_lists_against_every_list_there_is(seed: int) -> None:
    """No list costs less, and none of that cost leaves the rack worth more."""
    pieces, bars, saw = random_shop(seed)
    cost, lost = every_list(pieces, bars, saw)
    found = saw_list(pieces, bars, saw)
    assert found.cost == pytest.approx(cost)
    assert found.gap == 0
    assert drawn(found, bars, saw) == pytest.approx(lost, abs=3e-6)
    assert found.proofs[0].short == 0


def assigned(pieces: list[Piece], bars: list[Bar], saw: Saw) -> float:
    """Least cost by Kantorovich's formulation: each bar used or not, so many pieces of each length on each."""
    slots = [bar for bar in bars for _ in range(bar.count or 0)]
    kinds, rows = len(pieces), []
    width = len(slots) * (kinds + 1)
    for slot, bar in enumerate(slots):
        row = np.zeros(width)
        row[slot * (kinds + 1)] = -usable(bar, saw)
        row[slot * (kinds + 1) + 1 : (slot + 1) * (kinds + 1)] = [piece.length + saw.kerf for piece in pieces]
        rows.append(row)
    made = np.zeros((kinds, width))
    for kind in range(kinds):
        made[kind, kind + 1 :: kinds + 1] = 1
    cost = np.zeros(width)
    cost[:: kinds + 1] = [bar.price for bar in slots]
    top = np.full(width, np.inf)
    top[:: kinds + 1] = 1
    found = milp(
        cost,
        constraints=[
            LinearConstraint(np.array(rows), -np.inf, 0),
            LinearConstraint(made, [p.count for p in pieces]),
        ],
        integrality=np.ones(width),
        bounds=Bounds(0, top),
        options={"mip_rel_gap": 0.0},
    )
    assert found.status == 0
    return float(found.fun)


@pytest.mark.parametrize("seed", range(6))
def test_against_bars_and_pieces_assigned_one_by_one(seed: int) -> None:
    """An integer programme that knows no ways to saw a bar finds the same cost."""
    draw = np.random.Generator(np.random.PCG64(seed))
    pieces = [
        Piece(f"p{i}", float(draw.integers(300, 1900)), int(draw.integers(1, 4)), FLAT) for i in range(5)
    ]
    bars = [Bar("end", float(draw.integers(400, 1500)), 2, FLAT, faced=True)]
    bars += [Bar("3 m", 3000.0, 5, FLAT, 31.0), Bar("2 m", 2000.0, 8, FLAT, 22.5)]
    saw = Saw(kerf=2.5, grip=40.0, end_loss=4.0, least_offcut=200.0)
    found = saw_list(pieces, bars, saw, within=0.0, seconds=60.0)
    assert found.gap == 0
    assert found.cost == pytest.approx(assigned(pieces, bars, saw))


def test_a_bar_by_hand() -> None:
    """Facing, pieces, a kerf each and the grip make up the bar; the longest piece is sawn first."""
    saw = Saw(kerf=2.0, grip=50.0, end_loss=5.0, least_offcut=60.0)
    short, long = Piece("foot", 120, 2, FLAT), Piece("beam", 569, 1, FLAT)
    bar, *more = saw_list([short, long], [Bar("A", 870, 1, FLAT)], saw).bars
    assert not more
    assert [(cut.piece, cut.length, cut.mark) for cut in bar.cuts] == [
        ("beam", 569.0, 569.0),
        ("foot", 120.0, 691.0),
        ("foot", 120.0, 813.0),
    ]
    assert (bar.facing, bar.sawdust, bar.rest, bar.kept) == (5.0, 6.0, 50.0, False)
    with pytest.raises(BuildError, match="1 of 3 pieces are left over"):
        saw_list([short, long], [Bar("A", 869.9, 1, FLAT)], saw)


def test_an_offcut_is_not_faced_again() -> None:
    """What is sawn off a raw bar with a loss at its end comes off an off-cut without one."""
    saw = Saw(kerf=2.0, grip=50.0, end_loss=5.0)
    piece = Piece("pin", 248, 1, ROUND)
    assert saw_list([piece], [Bar("end", 300, 1, ROUND, faced=True)], saw).bars[0].facing == 0
    with pytest.raises(BuildError, match="longer than can be sawn"):
        saw_list([piece], [Bar("raw", 300, 1, ROUND)], saw)


def test_without_a_grip_the_last_cut_runs_out() -> None:
    """Two pieces that leave less than a kerf, and one as long as the bar, need no more bar."""
    saw = Saw(kerf=4.0)
    halves = saw_list([Piece("half", 498, 2, FLAT)], [Bar("A", 1000, 1, FLAT)], saw).bars[0]
    assert (halves.rest, halves.sawdust) == (0.0, 4.0)
    assert saw_list([Piece("whole", 1000, 1, FLAT)], [Bar("A", 1000, 1, FLAT)], saw).bars[0].sawdust == 0


def test_thirds_of_a_bar_fit() -> None:
    """Lengths that add up to the bar but for their last digits fit."""
    found = saw_list([Piece("third", 1000 / 3, 3, FLAT)], [Bar("A", 1000, 1, FLAT)], Saw(0.0))
    assert len(found.bars[0].cuts) == 3


def test_inches_add_up() -> None:
    """Sixteen pieces of 23 9/16 inch with a kerf of 1/16 inch are 378 inches to the last micrometre."""
    inch = 25.4
    pieces = [Piece("rung", 23.5625 * inch, 16, FLAT)]
    found = saw_list(pieces, [Bar("31 1/2 ft", 378 * inch, 1, FLAT)], Saw(inch / 16))
    assert found.bars[0].rest == pytest.approx(0.0, abs=1e-3)


def test_offcuts_are_used_before_whole_bars() -> None:
    """Of two bars that both do, the short one is sawn."""
    bars = [Bar("whole", 3000, 2, FLAT), Bar("end", 640, 1, FLAT, faced=True)]
    found = saw_list([Piece("arm", 600, 1, FLAT)], bars, Saw(2.0, least_offcut=100.0))
    assert [bar.bar for bar in found.bars] == ["end"]


def test_one_long_end_is_left_rather_than_two_short_ones() -> None:
    """Pieces that fit on two bars either way leave the longest end that they can."""
    found = saw_list(
        [Piece("arm", 900, 2, FLAT), Piece("leg", 400, 2, FLAT)],
        [Bar("A", 2000, 2, FLAT)],
        Saw(0.0, least_offcut=100.0),
    )
    assert sorted(end.length for end in found.offcuts) == [200.0, 1200.0]


def test_the_cheapest_mix_of_lengths_is_bought() -> None:
    """Two of 2 m cost less than one of 5 m, and weigh what their metal weighs."""
    bars = [Bar("5 m", 5000, None, ROUND, 60.0), Bar("2 m", 2000, None, ROUND, 25.0)]
    metals = {ROUND: Metal(area=np.pi * 20**2, density=7850.0)}
    found = saw_list([Piece("shaft", 1900, 2, ROUND)], bars, Saw(2.0), metals=metals)
    assert [(p.bar, p.count, p.cost) for p in found.purchases] == [("2 m", 2, 50.0)]
    # 9.865 kg/m: round bar of 40 mm, common table value 9.86
    assert found.mass == pytest.approx(4 * 9.865, abs=0.01)


def test_own_bars_come_before_bought_ones() -> None:
    """Nothing is bought that the rack holds."""
    bars = [Bar("new", 1000, None, FLAT, 1.0), Bar("old", 1000, 2, FLAT)]
    found = saw_list([Piece("arm", 450, 4, FLAT)], bars, Saw(2.0))
    assert (found.cost, found.bound, found.gap, found.mass) == (0.0, 0.0, 0.0, 0)


def test_sections_are_kept_apart() -> None:
    """A piece comes from a bar of its section, and each section has its proof."""
    pieces = [Piece("arm", 450, 4, FLAT), Piece("pin", 90, 3, ROUND)]
    bars = [Bar("A", 1000, None, FLAT, 8.0), Bar("A", 500, None, ROUND, 3.0)]
    found = saw_list(pieces, bars, Saw(2.0))
    assert {(bar.section, cut.piece) for bar in found.bars for cut in bar.cuts} == {
        (FLAT, "arm"),
        (ROUND, "pin"),
    }
    assert [(proof.section, proof.cost, proof.gap) for proof in found.proofs] == [
        (FLAT, 16.0, 0.0),
        (ROUND, 3.0, 0.0),
    ]


def test_bars_are_told_apart() -> None:
    """Bars of one name are numbered, and no bar is sawn twice."""
    bars = [Bar("A", 1000, 3, FLAT), Bar("B", 1000, 2, FLAT)]
    found = saw_list([Piece("arm", 700, 5, FLAT)], bars, Saw(2.0))
    assert Counter((bar.bar, bar.number) for bar in found.bars) == Counter(
        [("A", 1), ("A", 2), ("A", 3), ("B", 1), ("B", 2)]
    )


def test_an_offcut_goes_into_the_next_list() -> None:
    """What is left of one list is a faced bar of the next."""
    saw = Saw(2.0, grip=30.0, end_loss=5.0, least_offcut=200.0)
    (end,) = saw_list([Piece("arm", 700, 1, FLAT)], [Bar("A", 1300, 1, FLAT)], saw).offcuts
    assert end.length == 593.0
    bar = saw_list([Piece("leg", 560, 1, FLAT)], [end.as_bar("end 1")], saw).bars[0]
    assert (bar.bar, bar.facing, bar.rest) == ("end 1", 0.0, 31.0)


def test_all_mistakes_at_once() -> None:
    """Every wrong entry is named with its remedy, not the first alone."""
    pieces = [Piece("arm", -1, 2, FLAT), Piece("leg", 100, -1, FLAT)]
    bars = [Bar("A", 1000, None, FLAT), Bar("A", np.inf, 1, FLAT), Bar("B", 500, -1, FLAT, price=-2.0)]
    with pytest.raises(BuildError) as caught:
        saw_list(pieces, bars, Saw(-1.0, grip=np.nan), metals={FLAT: Metal(0.0, 7850.0)})
    assert {problem.field for problem in caught.value.problems} == {
        "saw/kerf",
        "saw/grip",
        f"metals/{FLAT}/area",
        "pieces/arm/length",
        "pieces/leg/count",
        "bars/A/length",
        "bars/A/count",
        "bars/B/price",
        "bars/B/count",
        "bars/A",
    }


def test_pieces_too_long_are_named_with_what_would_do() -> None:
    """A piece that no bar can give, and one without any bar, are told with a remedy."""
    pieces = [Piece("ram", 2950, 1, ROUND), Piece("arm", 100, 1, FLAT), Piece("pin", 100, 1, ROUND)]
    saw = Saw(2.0, grip=60.0, end_loss=5.0)
    with pytest.raises(BuildError) as caught:
        saw_list(pieces, [Bar("3 m", 3000, 4, ROUND), Bar("end", 2000, 1, ROUND)], saw)
    ram, arm = caught.value.problems
    assert "2933 mm" in ram.what
    assert "3017 mm" in ram.remedy
    assert arm.field == "pieces/arm/section"
    saw_list([Piece("ram", 2950, 1, ROUND)], [Bar("cut to length", 3017, 1, ROUND)], saw)


def test_too_few_bars_say_what_is_left_over() -> None:
    """Where the rack does not suffice, the fewest pieces that can be left over are told, for every section."""
    pieces = [Piece("arm", 600, 3, FLAT), Piece("leg", 300, 4, FLAT), Piece("pin", 90, 9, ROUND)]
    bars = [Bar("A", 1000, 2, FLAT), Bar("B", 500, 1, ROUND)]
    with pytest.raises(BuildError) as caught:
        saw_list(pieces, bars, Saw(2.0))
    flat, pins = caught.value.problems
    assert "1 of 7 pieces" not in flat.what
    assert "do not suffice: 2 of 7 pieces" in flat.what
    assert "4 of 9 pieces" in pins.what


def test_progress_and_stopping() -> None:
    """Stages are counted up to their number, and a list is stopped where that is asked for."""
    pieces = [Piece("arm", 450, 4, FLAT), Piece("pin", 90, 3, ROUND)]
    bars = [Bar("A", 1000, None, FLAT, 8.0), Bar("A", 500, None, ROUND, 3.0)]
    told: list[tuple[int, int]] = []
    saw_list(pieces, bars, Saw(2.0), progress=lambda done, wanted: told.append((done, wanted)))
    assert told == [(done, 6) for done in range(1, 7)]
    with pytest.raises(Cancelled):
        saw_list(pieces, bars, Saw(2.0), cancelled=lambda: True)


def test_without_time_the_bound_still_holds() -> None:
    """A list made in no time is complete, and its bound is none too high."""
    draw = np.random.Generator(np.random.PCG64(3))
    pieces = [
        Piece(f"p{i}", float(draw.integers(150, 2600)), int(draw.integers(1, 6)), FLAT) for i in range(15)
    ]
    bars = [Bar("6 m", 6000, None, FLAT, 60.0), Bar("3 m", 3000, None, FLAT, 31.5)]
    saw = Saw(2.0, grip=30.0, end_loss=5.0, least_offcut=200.0)
    hasty, better = saw_list(pieces, bars, saw, seconds=0.0), saw_list(pieces, bars, saw, seconds=4.0)
    assert Counter(cut.piece for bar in hasty.bars for cut in bar.cuts) == {p.name: p.count for p in pieces}
    assert 0 <= hasty.bound <= better.cost <= hasty.cost


def test_no_pieces_need_no_bars() -> None:
    """An empty list is no mistake."""
    found = saw_list([Piece("arm", 450, 0, FLAT)], [], Saw(2.0))
    assert (found.bars, found.cost, found.gap) == ((), 0, 0.0)


PLATE = "plate 20, S355"


def random_plates(seed: int) -> tuple[list[Blank], list[Sheet], PlateSaw]:
    """Up to five blanks, and two sizes of sheet to buy."""
    draw = np.random.Generator(np.random.PCG64(seed))
    blanks = [
        Blank(
            f"b{i}",
            float(draw.integers(100, 600)),
            float(draw.integers(100, 500)),
            1,
            PLATE,
            bool(draw.integers(2)),
        )
        for i in range(draw.integers(3, 6))
    ]
    sheets = [Sheet("large", 1000.0, 700.0, None, PLATE, 40.0), Sheet("small", 600.0, 500.0, 2, PLATE, 19.0)]
    return blanks, sheets, PlateSaw(float(draw.integers(0, 6)), float(draw.integers(0, 8)))


def cheapest_plates(blanks: list[Blank], sheets: list[Sheet], saw: PlateSaw) -> float:
    """Least cost from each blank tried in each strip of each sheet, both ways round, and in a new strip or sheet."""
    best, edge = np.inf, 2 * saw.edge - saw.kerf
    # a sheet in use: which it is, whether strips lie along it, and the blanks of each strip as (run, rise)
    used: list[tuple[Sheet, bool, list[list[tuple[float, float]]]]] = []

    def fits(sheet: Sheet, along: bool, strips: list[list[tuple[float, float]]]) -> bool:
        long, high = (sheet.length, sheet.width) if along else (sheet.width, sheet.length)
        runs = [sum(run + saw.kerf for run, _ in strip) for strip in strips]
        rises = sum(max(rise for _, rise in strip) + saw.kerf for strip in strips)
        return max(runs) <= long - edge + 1e-9 and rises <= high - edge + 1e-9

    def place(number: int, cost: float) -> None:
        nonlocal best
        if cost >= best:
            return
        if number == len(blanks):
            best = cost
            return
        blank = blanks[number]
        for along, turned in product((True, False), (False, True) if blank.turn else (False,)):
            sides = (blank.length, blank.width)
            lies = sides if turned != along else sides[::-1]
            for sheet, way, strips in used:
                if way != along:
                    continue
                for strip in [*strips, None]:
                    target = [] if strip is None else strip
                    if strip is None:
                        strips.append(target)
                    target.append(lies)
                    if fits(sheet, along, strips):
                        place(number + 1, cost)
                    target.pop()
                    if strip is None:
                        strips.pop()
            for sheet in sheets:
                there = sheet.count is None or sum(one is sheet for one, _, _ in used) < sheet.count
                if there and fits(sheet, along, [[lies]]):
                    used.append((sheet, along, [[lies]]))
                    place(number + 1, cost + sheet.price)
                    used.pop()

    place(0, 0.0)
    return best


@pytest.mark.parametrize("seed", range(16))
def test_small_plate_lists_against_every_list_there_is(seed: int) -> None:
    """No list with strips right across the sheet costs less."""
    blanks, sheets, saw = random_plates(seed)
    found = plate_list(blanks, sheets, saw)
    assert found.cost == pytest.approx(cheapest_plates(blanks, sheets, saw))
    assert found.gap == 0


def test_a_sheet_by_hand() -> None:
    """Edges, strips with a kerf between them and blanks with a kerf between them make up the sheet."""
    blanks = [Blank("base", 500, 300, 2, PLATE), Blank("lid", 330, 200, 3, PLATE, turn=False)]
    sheet = Sheet("A", 1013, 518, 1, PLATE)
    (cut,) = plate_list(blanks, [sheet], PlateSaw(kerf=3.0, edge=5.0, least=10.0)).sheets
    assert cut.along
    assert [(strip.start, strip.rise) for strip in cut.strips] == [(5.0, 300.0), (308.0, 200.0)]
    assert [[(laid.blank, laid.start) for laid in strip.blanks] for strip in cut.strips] == [
        [("base", 5.0), ("base", 508.0)],
        [("lid", 5.0), ("lid", 338.0), ("lid", 671.0)],
    ]
    assert (cut.rest, cut.kept) == (2.0, False)
    assert cut.used == pytest.approx(498e3 / (1013 * 518))


def test_the_direction_of_rolling_is_kept() -> None:
    """A blank that may not be turned lies with its length along the sheet; one that may takes less."""
    sheet = Sheet("A", 1000, 300, None, PLATE, 30.0)
    assert plate_list([Blank("leaf", 300, 100, 10, PLATE)], [sheet], PlateSaw(0.0)).cost == 30.0
    kept = plate_list([Blank("leaf", 300, 100, 10, PLATE, turn=False)], [sheet], PlateSaw(0.0))
    assert kept.cost == 60.0
    assert not any(laid.turned for cut in kept.sheets for strip in cut.strips for laid in strip.blanks)


def test_own_sheets_come_before_bought_ones_and_the_smallest_first() -> None:
    """Nothing is bought that the rack holds, and of two sheets that do the smaller is cut."""
    sheets = [Sheet("new", 1000, 1000, None, PLATE, 1.0), Sheet("whole", 2000, 1000, 1, PLATE)]
    found = plate_list(
        [Blank("lid", 400, 300, 2, PLATE)], [*sheets, Sheet("end", 650, 420, 1, PLATE)], PlateSaw(3.0)
    )
    assert ([cut.sheet for cut in found.sheets], found.cost, found.mass) == (["end"], 0.0, 0)


def test_sheets_to_buy_are_weighed() -> None:
    """A square metre of 20 mm steel weighs 157 kg (7850 kg/m³), and two of them twice that."""
    sheet = Sheet("1 x 1 m", 1000, 1000, None, PLATE, 90.0)
    blanks = [Blank("lid", 700, 700, 2, PLATE)]
    found = plate_list(blanks, [sheet], PlateSaw(3.0), metals={PLATE: PlateMetal(20.0, 7850.0)})
    assert (found.purchases[0].count, found.cost, found.mass) == (2, 180.0, pytest.approx(314.0))


def test_all_mistakes_of_a_plate_list_at_once() -> None:
    """Wrong sizes are all named; then blanks that no sheet can give, with one that could."""
    with pytest.raises(BuildError) as caught:
        plate_list(
            [Blank("lid", -1, 300, 2, PLATE), Blank("base", 500, 300, -2, PLATE)],
            [Sheet("A", 1000, np.nan, None, PLATE), Sheet("A", 1000, 500, 1, PLATE, -3.0)],
            PlateSaw(-1.0),
            metals={PLATE: PlateMetal(0.0, 7850.0)},
        )
    assert {problem.field for problem in caught.value.problems} == {
        *(
            "blanks/lid/length",
            "blanks/base/count",
            "sheets/A/width",
            "sheets/A/count",
            "sheets/A/price",
            "sheets/A",
        ),
        *("saw/kerf", f"metals/{PLATE}"),
    }
    with pytest.raises(BuildError) as caught:
        plate_list(
            [
                Blank("bed", 1000, 300, 1, PLATE),
                Blank("lid", 100, 100, 1, FLAT),
                Blank("rib", 900, 50, 1, PLATE),
            ],
            [Sheet("A", 1000, 500, 1, PLATE)],
            PlateSaw(3.0, edge=5.0),
        )
    bed, lid = caught.value.problems
    assert "1010 x 310 mm" in bed.remedy
    assert lid.field == "blanks/lid/section"


def test_too_few_sheets_say_what_is_left_over() -> None:
    """Where the sheets do not suffice, the blanks left over are told."""
    with pytest.raises(BuildError, match="left over are 1 of 'lid'"):
        plate_list([Blank("lid", 700, 700, 3, PLATE)], [Sheet("A", 1000, 1000, 2, PLATE)], PlateSaw(3.0))


def test_progress_and_stopping_of_a_plate_list() -> None:
    """Stages are counted up to their number, and a list is stopped where that is asked for."""
    told: list[tuple[int, int]] = []
    blanks, sheets, saw = random_plates(1)
    plate_list(blanks, sheets, saw, progress=lambda done, wanted: told.append((done, wanted)))
    assert told == [(1, 2), (2, 2)]
    with pytest.raises(Cancelled):
        plate_list(blanks, sheets, saw, cancelled=lambda: True)


@pytest.mark.parametrize("seed", range(4))
def test_sheets_cut_to_pieces_are_put_together_again(seed: int) -> None:
    """Blanks into which sheets were cut without a rest come from as many sheets, which the area alone proves."""
    draw = np.random.Generator(np.random.PCG64(seed))
    blanks, number = list[Blank](), 1 + seed % 2
    for _ in range(number):
        for rise in np.diff([0, *sorted(draw.choice(np.arange(1, 20), 3, replace=False)), 20]) * 50.0:
            for run in np.diff([0, *sorted(draw.choice(np.arange(1, 20), 2, replace=False)), 20]) * 100.0:
                blanks.append(Blank(f"b{len(blanks)}", float(run), float(rise), 1, PLATE, turn=False))
    found = plate_list(blanks, [Sheet("A", 2000, 1000, None, PLATE, 100.0)], PlateSaw(0.0), seconds=60.0)
    assert found.cost == found.proofs[0].area_bound == 100.0 * number
