"""The sheets of the shop: what stands on them, that it can be read and selected, and that no name can harm them.

Paper sizes: ISO 216 (A4, 210 x 297 mm) and ANSI/ASME Y14.1 (A, 8.5 x 11 in); both from memory. The inch is 25.4 mm
(ISO 80000-3). The parts are invented.
"""

import builtins
import json
import pickle
import re
import sys
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from commands import run
from loopwright.buildfile import read_text
from loopwright.cli.sheets import KINDS as NAMED
from loopwright.errors import Cancelled, RequestError
from loopwright.model.build import Build, Units
from loopwright.sheets.codes import QUIET, code_svg
from loopwright.sheets.label_sheet import Grid
from loopwright.sheets.paper import A4, LETTER, PAPERS, breakable, pdf_of
from loopwright.sheets.printing import KINDS, Asked, Printed, printed
from loopwright.sheets.shop_sizes import ShopSizes, ends_inward, rounded_inward
from loopwright.studies import example_loop
from loopwright.studies.addresses import addresses
from loopwright.studies.blank_lists import buy_list, saw_list
from loopwright.studies.setup_sheets import setups
from loopwright.studies.shop_lists import tool_list
from loopwright.studies.shop_sheets import inspections, travellers
from made_parts import BRACKET, GAUGES, PADS, RING, build, text
from pdf_text import Pdf

BARS = """
  bars:
    flat: {material: tool steel O1, section: flat 40 x 15, length: 60, note: under the bench}
    flat new: {material: tool steel O1, section: flat 40 x 15, length: 500, buy: true, price: 20}
    rod: {material: tool steel O1, section: round 65, length: 300}
"""
LAPPED = "op: lap, machine: plate, datum: [top], cuts: {foot: {size: 30.1 ±0.01}}"
HOSTILE = ('#eval("x")', "*bold* _it_ <sheet>", "$x^2$ @ref \\ ~ -- [a]", "</text><script>", "ä Ω 'q' ½″ Ø")


@lru_cache(maxsize=1)
def shop() -> Build:
    """A ring, a bracket and a matched set of pads, with bars in the shop."""
    return read_text(
        text(RING, BRACKET, PADS, head=GAUGES).replace(
            "shop:\n", f"shop:\n  address: http://bench.local:8080{BARS}"
        )
    )


@lru_cache(maxsize=1)
def machine() -> Build:
    """A shipped machine: its fit-up has steps, its parts have dims."""
    return example_loop("clock-plate").build


def sheets(of: Build, *kinds: str, **asked: Any) -> list[Printed]:
    """The sheets of these kinds."""
    return list(printed(of, Asked(kinds=kinds, **asked)))


def read(of: Build, kind: str, **asked: Any) -> Pdf:
    """The one PDF of a kind."""
    (one,) = sheets(of, kind, **asked)
    assert not one.why
    return Pdf(one.pdf)


def flat(pdf: Pdf) -> str:
    """Its text with the breaks of lines and words left out."""
    return "".join(pdf.text.split())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("paper", PAPERS.values(), ids=list(PAPERS))
def test_a_sheet_is_a_sound_pdf(kind: str, paper: Any) -> None:
    """Every kind has its paper's size, embedded faces only, text on every page, and no more pages than it says."""
    of = machine() if kind == "fit-up" else shop()
    (one,) = sheets(of, kind, paper=paper)
    pdf = Pdf(one.pdf)
    assert one.pdf.startswith(b"%PDF-1.")
    wide, high = (612.0, 792.0) if paper is LETTER else (210 / 25.4 * 72, 297 / 25.4 * 72)
    assert pdf.size == pytest.approx((wide, high), abs=0.01)
    assert pdf.faces
    assert all(pdf.faces.values())
    assert {name.partition("+")[2] for name in pdf.faces} <= {
        "DejaVuSansCondensed",
        "DejaVuSansCondensed-Bold",
    }
    assert len(pdf.pages) == one.pages
    assert {word.page for word in pdf.words} == set(range(one.pages))


@pytest.mark.parametrize("kind", KINDS)
def test_equal_data_give_equal_bytes(kind: str) -> None:
    """A sheet printed twice is the same file, so that it can be told from a changed one."""
    of = machine() if kind == "fit-up" else shop()
    first, second = (sheets(of, kind)[0].pdf for _ in range(2))
    assert first == second


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "labels"])
def test_nothing_is_too_small_or_off_the_paper(kind: str) -> None:
    """No word is smaller than 10 points, and each begins inside the margins."""
    pdf = read(machine() if kind == "fit-up" else shop(), kind)
    seen = [word for word in pdf.words if word.text.strip()]
    assert min(word.size for word in seen) >= 9.99
    margin = A4.margin / 25.4 * 72 - 1
    assert all(margin < word.x < pdf.size[0] - margin and 20 < word.y < pdf.size[1] - 20 for word in seen)


def test_a_traveller_has_every_op_and_working_dim() -> None:
    """Each op stands there with its number, and each working dim in 13 points and more within the chart's limits."""
    pdf = read(shop(), "traveller", parts=("ring",))
    (found,) = travellers(shop(), ["ring"])
    big = [word.text for word in pdf.words if word.size >= 12.99]
    dims = [
        (float(m[1]), float(m[2])) for w in big if (m := re.fullmatch(r"Ø?([\d.]+) ±([\d.]+)", w.strip()))
    ]
    for op in found.ops:
        assert str(op.line.number) in big
        assert op.line.op in flat(pdf) or op.line.op.replace(" ", "") in flat(pdf)
        for cut in op.line.cuts:
            if cut.size is None or cut.half is None:
                continue
            low, high = cut.size - cut.half - 1e-9, cut.size + cut.half + 1e-9
            assert any(low <= middle - half and middle + half <= high for middle, half in dims), (op, cut)


def test_a_traveller_says_what_to_beware_of() -> None:
    """Oil, furnace and wheel are told in words at the op where they come first, and who is to be followed."""
    words = flat(read(shop(), "traveller", parts=("ring",)))
    assert "Nowaterintheoil" in words
    assert "Ringthewheelbeforeitismounted" in words
    assert words.count("Nowaterintheoil") == 1
    assert "Areminderonly." in words


def test_a_traveller_tells_what_the_chart_does_not_hold() -> None:
    """A dim that the working dims miss in worst case is told before the first op."""
    wrong = build(BRACKET.replace("op: lap, machine: plate, datum: [top], cuts: {foot: {}}", LAPPED))
    words = flat(read(wrong, "traveller"))
    assert "height:29.980to30.020mmisasked;theworkingdimstogethercanmakeit30.090to30.110" in words
    assert words.index("Beforeyoustart") < words.index("10saw")
    assert "Beforeyoustart" not in flat(read(shop(), "traveller", parts=("bracket",)))


def test_a_matched_set_has_one_traveller() -> None:
    """Two pads made alike share a sheet, with a box and a code for each."""
    found = travellers(shop(), ["pad A", "pad B"], booked=True)
    assert [one.heading.parts for one in found] == [("pad A", "pad B")]
    pdf = read(shop(), "traveller", parts=("pad A", "pad B"), booked=True)
    words = flat(pdf)
    assert "Matchedset'pads'" in words
    known = addresses(shop())
    for name in ("pad A", "pad B"):
        thing = known.of("part", name)
        assert thing is not None
        assert thing.code in words
    assert len([word for word in pdf.words if word.text == "pad A"]) >= 2


def test_parts_that_differ_have_their_own_traveller() -> None:
    """One dim of another size is another sheet."""
    other = PADS.replace("12 ±0.01", "12 ±0.02", 1)
    assert [one.heading.parts for one in travellers(build(other, head=GAUGES))] == [("pad A",), ("pad B",)]


def test_an_inspection_sheet_has_all_limits() -> None:
    """H7 of 20 mm is 20.000 to 20.021 (ISO 286-2), and a flatness says its zone."""
    assert "Ø20.000to20.021" in flat(read(shop(), "inspection", parts=("bracket",)))
    pads = flat(read(shop(), "inspection", parts=("pad A",)))
    assert "within0.004mm" in pads
    assert "11.990to12.010" in pads
    (found,) = inspections(shop(), ["pad A"])
    assert [(one.name, one.gauge) for one in found.reads] == [
        ("height", "micrometer"), ("length", ""), ("flat", "micrometer")
    ]  # fmt: skip


def test_a_setup_sheet_holds_parts_that_are_run_together() -> None:
    """Both pads are in one setup on the grinder, with their zero on the datum; sawing has no setup."""
    found = {one.machine: one for one in setups(shop(), ["pad A", "pad B"])}
    assert set(found) == {"flat grinder"}
    assert [one.parts for one in found["flat grinder"].setups] == [("pad A", "pad B")] * 2
    assert [zero.surface for one in found["flat grinder"].setups for zero in one.zeros] == ["foot", "top"]


def test_a_saw_list_fits_its_bars() -> None:
    """Pieces with their kerfs, the faced end and the rest make up each bar; what is too short for both is bought."""
    found = saw_list(shop(), ["pad A", "pad B"])
    assert {cut.part for bar in found.bars for cut in bar.cuts} == {"pad A", "pad B"}
    for bar in found.bars:
        taken = sum(cut.length + cut.within + found.saw.kerf for cut in bar.cuts) + found.saw.end_loss
        assert taken + bar.rest == pytest.approx(bar.length, abs=1e-6)
    words = flat(read(shop(), "saw", parts=("pad A", "pad B")))
    assert ("BUYFIRST" in words) == any(bar.buy for bar in found.bars)
    assert "P-A" in words


def test_a_buy_list_weighs_what_it_names() -> None:
    """A blank of O1 weighs its section times its length times 7830 kg/m³."""
    found = buy_list(shop(), ["ring"])
    (need,) = found.needed
    (piece,) = need.pieces
    assert piece.length is not None
    assert need.mass == pytest.approx(3.14159265 / 4 * 65**2 * piece.length * 7830e-9, rel=1e-6)
    assert [bar.name for bar in need.there] == ["rod"]


def test_a_tool_list_leaves_out_what_is_made() -> None:
    """Ops of a part that is made need no tool any more."""
    every, fewer = tool_list(shop()), tool_list(shop(), finished=["ring", "bracket"])
    used = {use.part for tool in (*fewer.tools, *fewer.unnamed) for use in tool.uses}
    assert used == {"pad A", "pad B"}
    assert fewer.finished == ("ring", "bracket")
    assert len(every.unnamed) > len(fewer.unnamed)


def test_a_fit_up_sheet_has_a_box_for_each_pose() -> None:
    """Each step stands there with what is good enough, and a sweep of nine positions has nine boxes."""
    pdf = read(machine(), "fit-up")
    words = flat(pdf)
    for number, step in enumerate(machine().fit_up, 1):
        assert "".join(step.step.split()) in words
        assert any(word.text == str(number) for word in pdf.words)
    assert [w.text for w in pdf.words if re.fullmatch(r"X \d+", w.text)][:9] == [
        f"X {40 * n}" for n in range(9)
    ]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_name_is_printed_as_it_is(name: str) -> None:
    """A name that looks like markup, a reference or a formula is only letters."""
    told = json.dumps(name, ensure_ascii=False)
    parts = BRACKET.replace("  bracket:", f"  {json.dumps(name.replace('/', ' '), ensure_ascii=False)}:")
    of = read_text(text(parts.replace("blank:", f"note: {told}\n    mark: {told}\n    blank:")))
    for kind in (kind for kind in KINDS if kind != "fit-up"):
        shown = flat(read(of, kind))
        for word in name.replace("/", " ").split():
            assert word in shown, kind
    assert "".join(name.split()) in flat(read(of, "traveller"))


def test_long_names_are_broken_and_not_cut_off() -> None:
    """A name without a space keeps all its letters, and every piece of it lies on the paper."""
    name = "left_bearing_bracket_of_the_cross_slide" + "x" * 40
    of = read_text(text(BRACKET.replace("  bracket:", f"  {name}:")))
    for kind in ("traveller", "inspection", "labels", "tools", "buy", "saw"):
        pdf = read(of, kind)
        assert name in flat(pdf), kind
        # DejaVu Sans Condensed Bold takes no more than 0.75 of its size a letter in such a name
        ends = [
            word.x + 0.75 * word.size * len(word.text) for word in pdf.words if set(word.text) <= {"x", "_"}
        ]
        assert all(end < pdf.size[0] for end in ends), kind


@pytest.mark.parametrize(("package", "told"), [("typst", "sets the sheets"), ("segno", "makes the QR codes")])
def test_what_is_not_installed_is_named(package: str, told: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the typesetter or the maker of codes the error says what to install."""
    real = builtins.__import__

    def without(name: str, *args: Any, **more: Any) -> Any:
        if name == package:
            raise ImportError(name)
        return real(name, *args, **more)

    code_svg.cache_clear()
    monkeypatch.delitem(sys.modules, package, raising=False)
    monkeypatch.setattr(builtins, "__import__", without)
    asked: Callable[[], object] = (
        (lambda: pdf_of("traveller", {})) if package == "typst" else lambda: code_svg("anything")
    )
    with pytest.raises(RequestError, match=re.escape("pip install 'loopwright[sheets]'")) as caught:
        asked()
    assert told in caught.value.what


def test_a_code_holds_its_text() -> None:
    """The path drawn is the matrix of the code, module for module; the address of a page stands in it in capitals."""
    words = "HTTP://BENCH.LOCAL:8080/A/A2RFJ75"
    drawn, matrix = set(), segno.make(words, error="m", micro=False).matrix
    for x, y, width in re.findall(r"M(\d+) (\d+)h(\d+)v1", code_svg(words)):
        drawn |= {(int(x) + n - QUIET, int(y) - QUIET) for n in range(int(width))}
    assert drawn == {(x, y) for y, row in enumerate(matrix) for x, dark in enumerate(row) if dark}
    (found,) = travellers(shop(), ["ring"], booked=True)
    thing = addresses(shop()).of("part", "ring")
    assert thing is not None
    assert found.heading.codes[0].text == f"HTTP://BENCH.LOCAL:8080/A/{thing.code}"
    (alone,) = travellers(shop(), ["ring"])
    assert alone.heading.codes[0].text == "ring"


@given(
    middle=st.floats(-900, 900), half=st.floats(1e-4, 5), exact=st.booleans(), fewest=st.integers(1, 3)
)  # fmt: skip
def test_a_rounded_range_never_passes_its_limits(
    middle: float, half: float, exact: bool, fewest: int
) -> None:
    """Whatever is written on a sheet lies within what was worked out, and loses at most a tenth of it."""
    low, high = middle - half, middle + half
    found = rounded_inward(low, high, fewest=fewest, most=7, exact=exact)
    ends = ends_inward(low, high, fewest=fewest, most=7, exact=exact)
    for a, b in ((found.low, found.high), ends):
        assert low - 2e-6 <= float(a) <= float(b) <= high + 2e-6
        assert float(b) - float(a) >= 0.9 * (high - low) - 2e-6
    assert float(found.middle) + float(found.half) == pytest.approx(float(found.high), abs=1e-7)


def test_both_units_say_the_same() -> None:
    """0.5 in ±0.001 is 12.700 ±0.025 mm in both writings, the second within the first."""
    sizes = ShopSizes.wished(Units(), "both")
    assert sizes.working(12.7, 0.0254, given=True)[1] == "0.5000 ±0.0010 in"
    assert sizes.working(12.7, 0.0254)[0] == "12.700 ±0.025"
    assert ShopSizes.wished(Units(length="in"), "metric").working(12.7, 0.0254)[0] == "12.700 ±0.025"
    words = flat(read(shop(), "traveller", parts=("bracket",), units="both"))
    assert "sizesinmm;inchesbelow" in words
    assert "sizesininches" in flat(read(shop(), "inspection", parts=("bracket",), units="inch"))


def test_labels_lie_in_their_grid() -> None:
    """Labels gone already push the first along; a grid too fine for a code is refused."""
    plain, moved = (read(shop(), "labels", grid=Grid(2, 5, used=used)) for used in (0, 1))
    first, later = (next(w for w in pdf.words if w.text == "ring") for pdf in (plain, moved))
    assert later.x > first.x
    assert later.y == pytest.approx(first.y)
    with pytest.raises(RequestError, match="labels would be"):
        sheets(shop(), "labels", grid=Grid(9, 9))


def test_printing_tells_how_far_it_is_and_stops_when_told() -> None:
    """Progress reaches the number that was announced, and a stop is obeyed between two parts."""
    told: list[tuple[int, int | None]] = []
    list(printed(shop(), Asked(), progress=lambda done, wanted: told.append((done, wanted))))
    assert told[-1][0] == told[-1][1] == len(told)
    with pytest.raises(Cancelled):
        list(printed(shop(), Asked(), cancelled=lambda: len(told) > 0))


def test_what_is_gathered_can_be_sent_to_another_process() -> None:
    """Reports are plain and frozen, and the command knows the same kinds as the printer."""
    found = (travellers(shop()), setups(shop()), tool_list(shop()), saw_list(shop()), buy_list(shop()))
    assert pickle.loads(pickle.dumps(found)) == found
    assert tuple(KINDS) == NAMED


def test_a_kind_without_anything_says_why() -> None:
    """A build without routes has no travellers, and the others still come."""
    none = read_text("format: loopwright-build/1\nname: bare\nparts: {p: {}}\nbodies: {b: {}}\n")
    why = {one.kind: one.why for one in printed(none, Asked())}
    assert why["traveller"] == "no part has a route"
    assert why["fit-up"] == "the build has no step of assembly"
    assert not why["labels"]
    with pytest.raises(RequestError, match="there is no part 'gone'"):
        list(printed(none, Asked(parts=("gone",))))
    with pytest.raises(RequestError, match="there is no sheet 'poem'"):
        list(printed(none, Asked(kinds=("poem",))))


def test_places_to_break_leave_numbers_and_drawings_alone() -> None:
    """Only long words get such places, never between figures."""
    told: Mapping[str, Any] = {"a": ["0.123456789012", "X_bracket"], "svg": code_svg("X_bracket_fixed_left")}
    assert breakable(told)["svg"] == told["svg"]
    assert breakable("12.3456789±0.0012").replace("\u200b", "") == "12.3456789±0.0012"
    assert breakable("spindle_housing") == "spindle_\u200bhousing"


def test_the_command_writes_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One file for each kind, or for each part and machine with --each; --json tells them."""
    monkeypatch.chdir(tmp_path)
    Path("parts.yaml").write_text(text(RING, PADS, head=GAUGES), "utf-8")
    done = run("sheets", "--out", "all", "--file", "parts.yaml")
    assert done.code == 0, done.err
    assert sorted(path.name for path in Path("all").iterdir()) == sorted(
        f"{kind}.pdf" for kind in KINDS if kind != "fit-up"
    )
    assert "no fit-up: the build has no step of assembly" in done.out
    done = run(
        "sheets",
        "traveller",
        "--each",
        "--out",
        "each",
        "--paper",
        "letter",
        "--file",
        "parts.yaml",
        "--json",
    )
    told = json.loads(done.out)
    assert [one["file"] for one in told["files"]] == ["traveller-ring.pdf", "traveller-pad-A.pdf"]
    assert told["paper"] == "letter"
    assert all((Path("each") / one["file"]).stat().st_size == one["bytes"] for one in told["files"])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("poem",), "neither a kind of sheet nor a part"),
        (("traveller", "gone"), "there is no part 'gone'"),
        (("labels", "--grid", "many"), "no grid of labels"),
    ],
)
def test_the_command_refuses_what_it_does_not_know(
    words: tuple[str, ...], told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong kind, part or grid ends with a sentence and its remedy, and writes nothing."""
    monkeypatch.chdir(tmp_path)
    Path("parts.yaml").write_text(text(RING), "utf-8")
    done = run("sheets", *words, "--out", "none", "--file", "parts.yaml")
    assert done.code in (1, 2)
    assert told in done.err
    assert not list(Path().glob("none/*"))
