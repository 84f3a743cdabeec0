"""What must hold of every saw list and every plate list."""

from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from loopwright.errors import BuildError, Problem
from loopwright.making.plates import Blank, PlateSaw, Sheet, plate_list
from loopwright.making.sawing import Bar, Piece, Saw, SawList, saw_list

LENGTHS = st.integers(50, 1800).map(lambda tenths: tenths / 2)
SAWS = st.builds(
    Saw,
    st.sampled_from([0.0, 1.6, 3.0]),
    st.sampled_from([0.0, 35.0]),
    st.sampled_from([0.0, 4.0]),
    st.sampled_from([0.0, 150.0]),
)
OWN = st.lists(st.tuples(st.integers(150, 1400), st.integers(1, 2), st.booleans()), max_size=3)
WANTED = st.lists(st.tuples(LENGTHS, st.integers(1, 4)), min_size=1, max_size=4)
FEW = settings(max_examples=25)


def pieces_of(wanted: list[tuple[float, int]]) -> list[Piece]:
    """Pieces with a name each."""
    return [Piece(f"p{n}", length, count, "flat") for n, (length, count) in enumerate(wanted)]


def bars_of(own: list[tuple[int, int, bool]]) -> list[Bar]:
    """Bars of one's own, and two lengths to buy."""
    rack = [
        Bar(f"o{n}", float(length), count, "flat", faced=faced)
        for n, (length, count, faced) in enumerate(own)
    ]
    return [*rack, Bar("short", 1000.0, None, "flat", 11.0), Bar("long", 2000.0, None, "flat", 20.5)]


def exact(pieces: list[Piece], bars: list[Bar], saw: Saw) -> SawList:
    """The list, proven."""
    found = saw_list(pieces, bars, saw, within=0.0, seconds=6.0)
    assert found.gap == 0
    return found


@FEW
@given(WANTED, OWN, SAWS)
def test_every_bar_adds_up(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw
) -> None:
    """Facing, pieces, a kerf each and the rest make up the bar; the rest is no shorter than the grip."""
    bars = bars_of(own)
    for bar in exact(pieces_of(wanted), bars, saw).bars:
        sawn = sum(cut.length + saw.kerf for cut in bar.cuts)
        run_out = saw.kerf if bar.rest == 0 and saw.grip == 0 else 0.0
        assert -1e-6 <= bar.facing + sawn + bar.rest - bar.length <= run_out + 1e-3
        assert bar.rest >= saw.grip - 1e-3
        assert bar.kept == (bar.rest >= max(saw.least_offcut, 1e-4))
        ends = [cut.mark for cut in bar.cuts]
        starts = [0.0, *(mark + saw.kerf for mark in ends[:-1])]
        assert [end - start for start, end in zip(starts, ends)] == pytest.approx(
            [c.length for c in bar.cuts]
        )
        assert sorted((cut.length for cut in bar.cuts), reverse=True) == [cut.length for cut in bar.cuts]


@FEW
@given(WANTED, OWN, SAWS)
def test_all_is_made_from_what_there_is(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw
) -> None:
    """Each piece is sawn as often as it is wanted, from no more bars than there are, for what they cost."""
    pieces, bars = pieces_of(wanted), bars_of(own)
    found = exact(pieces, bars, saw)
    made = Counter((cut.piece, cut.length) for bar in found.bars for cut in bar.cuts)
    assert made == Counter({(p.name, p.length): p.count for p in pieces})
    used = Counter(bar.bar for bar in found.bars)
    assert all(used[bar.name] <= (bar.count or 99) for bar in bars)
    assert len({(bar.bar, bar.number) for bar in found.bars}) == len(found.bars)
    price = {bar.name: bar.price for bar in bars}
    assert found.cost == pytest.approx(sum(price[bar.bar] for bar in found.bars))
    assert found.bound <= found.cost + 1e-9


@FEW
@given(WANTED, OWN, SAWS, st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_changes_nothing(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw, chance: object
) -> None:
    """Pieces and bars in another order make the same list."""
    pieces, bars = pieces_of(wanted), bars_of(own)
    first = exact(pieces, bars, saw)
    chance.shuffle(pieces)  # type: ignore[attr-defined]
    chance.shuffle(bars)  # type: ignore[attr-defined]
    assert exact(pieces, bars, saw) == first


@FEW
@given(WANTED, OWN, SAWS, st.integers(100, 1500))
def test_one_bar_more_never_costs_more(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw, length: int
) -> None:
    """A bar put into the rack makes no list dearer, and neither does a narrower kerf."""
    pieces, bars = pieces_of(wanted), bars_of(own)
    cost = exact(pieces, bars, saw).cost
    assert exact(pieces, [*bars, Bar("more", float(length), 1, "flat")], saw).cost <= cost + 1e-9
    if saw.grip:
        finer = Saw(saw.kerf / 2, saw.grip, saw.end_loss, saw.least_offcut)
        assert exact(pieces, bars, finer).cost <= cost + 1e-9


@FEW
@given(WANTED, OWN, SAWS)
def test_one_piece_less_never_costs_more(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw
) -> None:
    """A piece that is not wanted any more makes no list dearer."""
    pieces, bars = pieces_of(wanted), bars_of(own)
    fewer = [Piece(pieces[0].name, pieces[0].length, pieces[0].count - 1, "flat"), *pieces[1:]]
    assert exact(fewer, bars, saw).cost <= exact(pieces, bars, saw).cost + 1e-9


@FEW
@given(WANTED, OWN, SAWS)
def test_a_rack_suffices_or_says_so(
    wanted: list[tuple[float, int]], own: list[tuple[int, int, bool]], saw: Saw
) -> None:
    """Where nothing can be bought, a list costs nothing, or its pieces are said to be left over or too long."""
    rack = bars_of(own)[:-2]
    told: tuple[Problem, ...] = ()
    cost = 0.0
    try:
        cost = saw_list(pieces_of(wanted), rack, saw).cost
    except BuildError as error:
        told = error.problems
    assert cost == 0
    assert all(problem.remedy and ("left over" in problem.what or "bar" in problem.what) for problem in told)


SIDES = st.integers(60, 700).map(float)
BLANKS = st.lists(st.tuples(SIDES, SIDES, st.integers(1, 3), st.booleans()), min_size=1, max_size=4)
PLATE_SAWS = st.builds(PlateSaw, st.sampled_from([0.0, 3.0]), st.sampled_from([0.0, 8.0]), st.just(50.0))
SHEETS = [
    Sheet("large", 1600.0, 1000.0, None, "plate", 75.0),
    Sheet("small", 900.0, 800.0, None, "plate", 40.0),
    Sheet("end", 720.0, 500.0, 1, "plate"),
]


def blanks_of(wanted: list[tuple[float, float, int, bool]]) -> list[Blank]:
    """Blanks with a name each."""
    return [
        Blank(f"b{n}", long, wide, count, "plate", turn) for n, (long, wide, count, turn) in enumerate(wanted)
    ]


@FEW
@given(BLANKS, PLATE_SAWS)
def test_every_sheet_adds_up(wanted: list[tuple[float, float, int, bool]], saw: PlateSaw) -> None:
    """Strips and blanks lie inside the edges, a kerf apart; every blank is made, and turned only where it may be."""
    blanks = blanks_of(wanted)
    found = plate_list(blanks, SHEETS, saw, seconds=3.0)
    sides = {blank.name: blank for blank in blanks}
    made: Counter[str] = Counter()
    for cut in found.sheets:
        long, high = (cut.length, cut.width) if cut.along else (cut.width, cut.length)
        lows = [saw.edge, *(strip.start + strip.rise + saw.kerf for strip in cut.strips[:-1])]
        assert [strip.start for strip in cut.strips] == pytest.approx(lows)
        assert cut.strips[-1].start + cut.strips[-1].rise <= high - saw.edge + 1e-3
        for strip in cut.strips:
            starts = [saw.edge, *(laid.start + laid.run + saw.kerf for laid in strip.blanks[:-1])]
            assert [laid.start for laid in strip.blanks] == pytest.approx(starts)
            assert strip.blanks[-1].start + strip.blanks[-1].run <= long - saw.edge + 1e-3
            for laid in strip.blanks:
                blank = sides[laid.blank]
                lies = (
                    (blank.length, blank.width) if laid.turned != cut.along else (blank.width, blank.length)
                )
                assert (laid.run, laid.rise) == pytest.approx(lies)
                assert laid.rise <= strip.rise + 1e-9
                assert blank.turn or not laid.turned or blank.length == blank.width
                made[laid.blank] += 1
    assert made == Counter({blank.name: blank.count for blank in blanks})
    assert found.bound <= found.cost + 1e-9
    assert found.proofs[0].area_bound <= found.cost + 1e-9


@FEW
@given(BLANKS, PLATE_SAWS, st.randoms(use_true_random=False))
def test_the_order_of_blanks_and_sheets_changes_no_cost(
    wanted: list[tuple[float, float, int, bool]], saw: PlateSaw, chance: object
) -> None:
    """Blanks and sheets in another order cost the same, and have the same bound."""
    blanks, sheets = blanks_of(wanted), [*SHEETS]
    first = plate_list(blanks, sheets, saw)
    chance.shuffle(blanks)  # type: ignore[attr-defined]
    chance.shuffle(sheets)  # type: ignore[attr-defined]
    again = plate_list(blanks, sheets, saw)
    assert again.bound <= first.cost + 1e-9
    assert first.bound <= again.cost + 1e-9
    if first.gap == again.gap == 0:
        assert again.cost == pytest.approx(first.cost)
