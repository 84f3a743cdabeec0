"""How long making takes: tolerance charts, cut lists, the routes of a whole build, and travellers. Synthetic parts."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from charts import PARTS, part
from timing import THREADS, best, busy, seconds

from loopwright.buildfile import read_text
from loopwright.making.chart_solving import chart, charts
from loopwright.making.made_dims import made
from loopwright.making.sawing import Bar, Piece, Saw, SawList, saw_list
from loopwright.model.build import Build
from loopwright.sheets.printing import Asked, printed
from loopwright.studies.shop_sheets import travellers

Say = Callable[[str], None]
PIECES, LENGTHS, WITHIN, SECONDS = 200, 40, 0.01, 10.0
SHEETS = 150
SHOP = """format: loopwright-build/1
name: many pads
gauges: {micrometer: {resolution: 1 µm, calibration: ±2 µm, repeatability: {std: 1 µm}}}
shop:
  machines:
    saw: {kind: bandsaw}
    mill: {kind: manual mill, speeds: [60, 4200], power: 1.5 kW}
    grinder: {kind: surface grinder, speeds: [2850, 2850], power: 1.5 kW}
bodies: {b: {}}
parts:
"""
PAD = """  pad %d:
    material: tool steel O1
    condition: annealed
    mark: P-%d
    blank: {section: flat 40 x 20, along: X}
    dims: {height: %.1f ±0.01, length: %.1f ±0.2, width: 36 ±0.1}
    surfaces: {foot: -Z, top: +Z, left: -X, right: +X, front: -Y, back: +Y}
    spans: {height: [foot, top], length: [left, right], width: [front, back]}
    route:
      - {op: saw, machine: saw, cuts: {left: {}, right: {measured_from: left}}}
      - {op: face, machine: mill, setup: on edge, datum: [back], cuts: {front: {}}}
      - {op: face, machine: mill, setup: turned, datum: [front], cuts: {back: {}}}
      - {op: face, machine: mill, setup: on its foot, datum: [foot, left], cuts: {top: {}, right: {}}}
      - {op: face, machine: mill, setup: upside down, datum: [top, right], cuts: {foot: {}, left: {}}}
      - {op: surface grind, machine: grinder, datum: [foot], held: magnet, cuts: {top: {}}}
      - {op: surface grind, machine: grinder, datum: [top], held: magnet, cuts: {foot: {}},
          inspect: [height], gauge: micrometer}
"""


@dataclass(frozen=True)
class CutList:
    """A cut list: how long it took, its gap, and how its bound was reached."""

    seconds: float
    gap: float
    how: str


@dataclass(frozen=True)
class Found:
    """What was measured, s.

    Attributes:
        one: a part of 40 ops charted.
        many: 300 parts of 40 ops charted.
        build: the routes of a build of 300 parts, from its text to what is known of each dim.
        reading: of that, reading the text.
        lists: cut lists by what they are.
        worked_out: 150 travellers, as data.
        printed: and as one PDF.
        worked: of that, what the processor worked.
        pages: of it.
    """

    one: float
    many: float
    build: float
    reading: float
    lists: dict[str, CutList]
    worked_out: float
    printed: float
    worked: float
    pages: int


def pads(count: int) -> str:
    """A build of so many pads, no two alike."""
    return SHOP + "".join(PAD % (n, n, 10 + n % 37 / 10, 30 + n % 53) for n in range(count))


def demand(seed: int, lengths: int) -> list[Piece]:
    """200 pieces of so many lengths."""
    draw = np.random.Generator(np.random.PCG64(seed))
    sizes = np.round(draw.uniform(40, 700, lengths), 1)
    counts = np.bincount(draw.integers(0, lengths, PIECES), minlength=lengths)
    return [
        Piece(f"{n}", float(size), int(many), "bar")
        for n, (size, many) in enumerate(zip(sizes, counts))
        if many
    ]


def cut_list(seed: int, lengths: int) -> CutList:
    """One list of 200 pieces from bars of two lengths to buy, and off-cuts of the rack."""
    draw = np.random.Generator(np.random.PCG64(seed + 1))
    bars = [
        Bar("3 m", 3000, None, "bar", 30.0),
        Bar("2 m", 2000, None, "bar", 22.0),
        *(Bar(f"off-cut {n}", float(draw.uniform(150, 1500)), 1, "bar", faced=True) for n in range(12)),
    ]
    saw, pieces = Saw(1.5, 40.0, 2.5, 120.0), demand(seed, lengths)
    kept: list[SawList] = []
    took = seconds(lambda: kept.append(saw_list(pieces, bars, saw, within=WITHIN, seconds=SECONDS)))
    (proof,) = kept[0].proofs
    return CutList(took, kept[0].gap, proof.how)


def measure_making(say: Say) -> Found:
    """Everything about making, one after the other."""
    say("making: charts")
    plan, plans = part(0), [part(number) for number in range(PARTS)]
    one, many = best(lambda: chart(plan), 10), best(lambda: charts(plans), 2)
    say("making: routes of a build")
    text, read = pads(PARTS), list[Build]()
    reading = seconds(lambda: read.append(read_text(text)))
    routes = seconds(lambda: made(read[0]))
    say("making: cut lists")
    lists = {
        f"{PIECES} pieces of {lengths} lengths": cut_list(lengths, lengths)
        for lengths in (8, LENGTHS, PIECES)
    }
    say("making: travellers")
    build, pages = read_text(pads(SHEETS)), list[int]()
    worked_out = seconds(lambda: travellers(build))
    kinds = Asked(kinds=("traveller",))
    whole, worked = busy(lambda: pages.extend(sheet.pages for sheet in printed(build, kinds)))
    return Found(one, many, reading + routes, reading, lists, worked_out, whole, worked * THREADS, sum(pages))
