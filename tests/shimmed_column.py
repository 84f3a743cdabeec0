"""An invented column that stands on four shimmed pads, as a bench to try the studies on.

Its pads are ±1 µm in front and ±30 µm behind, 140 mm apart; the sweep runs along 120 mm of it.
"""

from collections.abc import Sequence

import numpy as np

from loopwright.model.records import Entry, Record, Revision, State, Stock
from loopwright.studies.bench import Bench, bench
from loopwright.studies.recording import Typed, consider

UM = 1e-3
FRONT = ("column on base/front left", "column on base/front right")
REAR = ("column on base/rear left", "column on base/rear right")
PAD = "{{at: [{x}, {y}, 0], normal: +Z, dims: [+pad_{name}/height], stiffness: 400{adjust}}}"
COLUMN = """format: loopwright-build/1
name: column on four pads
units: {{length: mm, angle: arcsec}}
parts:
  pad_FL: {{dims: {{height: 12 ±0.001}}}}
  pad_FR: {{dims: {{height: 12 ±0.001}}}}
  pad_RL: {{dims: {{height: 12 ±0.03}}}}
  pad_RR: {{dims: {{height: 12 ±0.03}}}}
{more}bodies: {{base: {{}}, column: {{parts: [pad_FL, pad_FR, pad_RL, pad_RR]}}, quill: {{}}}}
joints:
  column on base:
    kind: fixed
    parent: base
    child: column
    contacts:
      front left: {FL}
      front right: {FR}
      rear left: {RL}
      rear right: {RR}
      side stop front: {{at: [-100, -60, 8], normal: +X, stiffness: 350}}
      side stop rear: {{at: [-100, 60, 8], normal: +X, stiffness: 350}}
      end stop: {{at: [0, 90, 8], normal: -Y, stiffness: 350}}
  quill on column:
    kind: linear
    parent: column
    child: quill
    along: +Z
    travel: [0, 120]
    errors: {{EYZ: ±1 µm}}
    errors_at: [0, 0, 250]
targets:
  upright:
    between: [base, quill]
    point: [0, 0, 200]
    component: Y
    over: {{Z: [0, 120, 20]}}
    zeroed: {{at: {{Z: 0}}}}
    limit: 6 µm
{height}tests:
  square:
    between: [base, quill]
    point: [0, 0, 200]
    along: +Y
    sweep: {{Z: [0, 120, 20]}}
    zeroed: {{at: {{Z: 0}}}}
    gauge: indicator
    minutes: 15
gauges:
  indicator: {{resolution: 0.2 µm, calibration: ±0.5 µm}}
fit_up:
  - {{step: upright, read: [square], adjust: [{adjust}], accept: 2 µm}}
"""
HEIGHT = """  nose height:
    between: [base, quill]
    point: [0, -70, 200]
    component: Z
    over: {Z: [0, 120, 20]}
    limit: 60 µm
"""
FOIL = "shim, range: 0…0.2, increment: 0.01, setting: ±1 µm"


def column(
    *drawer: tuple[float, int],
    adjust: Sequence[str] = REAR,
    front: str = FOIL,
    rear: str = FOIL,
    right: str | None = None,
    height: bool = False,
    more: str = "",
) -> Bench:
    """The column before any reading.

    Args:
        drawer: thickness and count of the foils in it.
        adjust: what the step sets.
        front: how the pads in front are set.
        rear: how those behind are set.
        right: how that at the rear right is set, where it is another way.
        height: whether the height of the nose is a target too.
        more: further lines of the build file.
    """
    places = {"FL": (-90, -70), "FR": (90, -70), "RL": (-90, 70), "RR": (90, 70)}
    kinds = {"FL": front, "FR": front, "RL": rear, "RR": right or rear}
    pads = {
        name: PAD.format(
            x=x, y=y, name=name, adjust=f", adjust: {{kind: {kinds[name]}}}" if kinds[name] else ""
        )
        for name, (x, y) in places.items()
    }
    text = COLUMN.format(**pads, adjust=", ".join(adjust), height=HEIGHT if height else "", more=more)
    records: list[Record] = [Revision(text=text), State(reason="stood on its pads", cause="start")]
    records += [Stock(what="shim foil", size=size, std=0.0005, count=count) for size, count in drawer]
    return bench([entry(number, record) for number, record in enumerate(records, 1)])


def entry(number: int, record: Record, of: int = 1) -> Entry:
    """An entry as a book would give it."""
    return Entry(number=number, key=str(number), at="2026-03-02T08:00:00Z", who="Ada", of=of, record=record)


def with_reading(now: Bench, typed: Typed) -> Bench:
    """The same with one more reading."""
    return now.with_reading(entry(now.last + 1, consider(now, typed).reading))


def leaning(now: Bench, by: float) -> Bench:
    """The same after a sweep that shows it lean by so much over 120 mm; above zero its rear is too high."""
    typed = Typed("square", [[f"{-by * share:.6f}"] for share in np.linspace(0, 1, 7)], unit="mm")
    return with_reading(now, typed)
