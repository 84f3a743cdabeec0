"""Parts with ops of every kind of cutting, and a shop with machines and tools; all figures are invented."""

from functools import cache

from loopwright.buildfile import read_text
from loopwright.making.cutting_data import cutting_of
from loopwright.making.cutting_records import CutData, OpCutting
from loopwright.model.build import Build

HEAD = "format: loopwright-build/1\nname: cut parts\n"
SHOP = """
shop:
  machines:
    saw: {kind: bandsaw}
    mill: {kind: manual mill, speeds: [60, 2500], power: 1.1 kW, setting_up: 20}
    cnc: {kind: CNC mill, speeds: [100, 6000], power: 2.2 kW}
    lathe: {kind: manual lathe, speeds: [50, 2500], power: 1.5 kW}
    weak lathe: {kind: manual lathe, speeds: [300, 900], power: 150 W}
    drill press: {kind: drill press, speeds: [300, 3000], power: 500 W}
    flat grinder: {kind: surface grinder, speeds: [2850, 2850], power: 1.1 kW}
    round grinder: {kind: cylindrical grinder, speeds: [1200, 2200]}
    fast grinder: {kind: surface grinder, speeds: [5000, 5000]}
    bench: {kind: bench}
  tools:
    face 50: {kind: face mill, diameter: 50, edges: 4, material: carbide, nose_radius: 0.8, lead_angle: 45 deg}
    mill 10: {kind: end mill, diameter: 10, edges: 4, material: carbide, stick_out: 30}
    long 6: {kind: end mill, diameter: 6, edges: 4, material: carbide, stick_out: 40}
    thread 8: {kind: thread mill, diameter: 8, edges: 3, material: carbide, stick_out: 30}
    drill 5: {kind: drill, diameter: 5}
    drill 5.7: {kind: drill, diameter: 5.7}
    reamer 6: {kind: reamer, diameter: 6, edges: 6}
    stout bar: {kind: boring bar, diameter: 20, material: carbide, stick_out: 50, nose_radius: 0.4}
    thin bar: {kind: boring bar, diameter: 8, material: carbide, stick_out: 50, nose_radius: 0.4}
    turner: {kind: turning tool, material: carbide, nose_radius: 0.4}
    blunt turner: {kind: turning tool, material: carbide, nose_radius: 0.4, edge_radius: 0.2}
    wheel 200: {kind: grinding wheel, diameter: 200, material: aluminium oxide, speed_limit: 3340}
    wheel 350: {kind: grinding wheel, diameter: 350, material: aluminium oxide, speed_limit: 1900}
    wheel unmarked: {kind: grinding wheel, diameter: 200, material: aluminium oxide}
"""
BLOCK = """
  block:
    material: low carbon steel
    blank: {section: flat 60 x 40}
    dims: {height: 38 ±0.02, wide: 55 ±0.02, bore: 30 H7, pin: 6 H7, port: 12 ±0.1, slim: 16 ±0.005}
    surfaces:
      foot: {faces: -Z, size: [80, 55]}
      top: {faces: +Z, size: [80, 55]}
      left: {faces: -X, size: [80, 10]}
      right: {faces: +X, size: [80, 10]}
      bore: {faces: inside, size: [40, 30]}
      pin: {faces: inside, size: [15, 6]}
      screw: {faces: inside, size: [12, 6]}
      port: {faces: inside, size: [20, 12]}
      deep: {faces: inside, size: [45, 5]}
      slim: {faces: inside, size: [40, 16]}
      big: {faces: inside, size: [20, 20]}
    spans: {height: [foot, top], wide: [left, right], bore: bore, pin: pin, port: port, slim: slim}
    route:
      - {op: saw, machine: saw, cuts: {foot: {}, top: {measured_from: foot}}}
      - {op: face, machine: mill, tool: face 50, cuts: {foot: {}}}
      - {op: contour, machine: cnc, datum: [foot], tool: mill 10,
         cuts: {left: {least: 0.5}, right: {tool: long 6, least: 0.5}}}
      - {op: drill, machine: drill press, cuts: {pin: {}, screw: {thread: M6}, deep: {tool: drill 5}, slim: {}}}
      - {op: ream, machine: drill press, cuts: {pin: {}}}
      - {op: tap, machine: drill press, cuts: {screw: {thread: M6}}}
      - {op: drill, machine: cnc, tool: mill 10, cuts: {port: {}}}
      - {op: bore, machine: cnc, cuts: {bore: {tool: stout bar, least: 0.4}, slim: {tool: thin bar, least: 0.4}}}
      - {op: thread mill, machine: cnc, tool: thread 8, cuts: {big: {thread: M20x1.5-6H, length: 18}}}
      - {op: inspect, inspect: [bore, pin]}
      - {op: fit, cuts: {top: {least: 0.005}}}
"""
SHAFT = """
  shaft:
    material: tool steel O1
    blank: {section: round 16}
    dims: {journal: 12 h6, long: 120 ±0.05}
    surfaces:
      journal: {faces: outside, size: [100, 12]}
      a: -Z
      b: +Z
      tail: {faces: outside, size: [15, 8]}
    spans: {journal: journal, long: [a, b]}
    route:
      - {op: turn, machine: lathe, setup: chuck, tool: turner, held: chuck, cuts: {journal: {size: 12.3 ±0.03}}}
      - {op: turn, machine: lathe, setup: chuck, tool: turner, held: centres, cuts: {journal: {size: 12.2 ±0.03}}}
      - {op: thread turn, machine: lathe, cuts: {tail: {thread: M8x1-6g}}}
      - {op: part off, machine: lathe, cuts: {b: {}}, minutes: 4, setting_up: 2}
      - {op: harden, hardness: 60…62 HRC}
      - {op: cylindrical grind, machine: round grinder, tool: wheel 350, cuts: {journal: {}}}
      - {op: turn, machine: lathe, cuts: {a: {least: 0.2}}}
      - {op: temper, temperature: 400 degC}
      - {op: drill, machine: lathe, cuts: {tail: {}}}
"""
PLATE = """
  plate:
    material: tool steel O1
    surfaces: {face: {faces: +Z, size: [150, 60]}, side: {faces: +X, size: [60, 10]}}
    dims: {thick: 10 ±0.01}
    route:
      - {op: harden, hardness: 58…60 HRC}
      - {op: surface grind, machine: flat grinder, tool: wheel 200, held: magnet, cuts: {face: {least: 0.2}}}
      - {op: surface grind, machine: flat grinder, tool: wheel unmarked, held: magnet, cuts: {face: {least: 0.2}}}
      - {op: surface grind, machine: fast grinder, tool: wheel 200, held: magnet, cuts: {face: {least: 0.2}}}
      - {op: drill, machine: cnc, cuts: {side: {}}}
  iron:
    material: grey cast iron
    surfaces: {face: {faces: +Z, size: [150, 60]}}
    route: [{op: surface grind, machine: flat grinder, tool: wheel 200, cuts: {face: {least: 0.2}}}]
"""
TAIL = "bodies: {b: {}}\n"


def text(*, head: str = HEAD, proven: str = "", parts: str = BLOCK + SHAFT + PLATE) -> str:
    """A build file of the parts and the shop; ``proven`` are the shop's own values."""
    more = f"  proven: {proven}\n" if proven else ""
    return f"{head}{SHOP.rstrip()}\n{more}parts:{parts}{TAIL}"


@cache
def build(proven: str = "", head: str = HEAD) -> Build:
    """The parts and their shop."""
    return read_text(text(head=head, proven=proven))


def op(part: str, number: int, proven: str = "", **more: dict[str, float]) -> OpCutting:
    """Cutting data of an op by its number."""
    return cutting_of(build(proven), part, number // 10 - 1, **more)


def cut(part: str, number: int, surface: str = "", proven: str = "", **more: dict[str, float]) -> CutData:
    """Cutting data of one cut, the first of the op if none is named."""
    found = op(part, number, proven, **more).cuts
    return next(one for one in found if surface in ("", one.surface))


def changed(part: str, number: int, surface: str, *words: tuple[str, str]) -> CutData:
    """One cut with some words of the build file replaced: each (old, new)."""
    whole = text()
    for old, new in words:
        assert old in whole, old
        whole = whole.replace(old, new)
    found = cutting_of(read_text(whole), part, number // 10 - 1).cuts
    return next(one for one in found if surface in ("", one.surface))
