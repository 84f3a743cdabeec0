"""Small builds with routes, to ask what the room of making and its studies answer; all figures are invented."""

from loopwright.buildfile import read_text
from loopwright.model.build import Build

SHOP = """
shop:
  machines:
    saw: {kind: bandsaw}
    lathe: {kind: manual lathe, speeds: [50, 2500], power: 1.5 kW}
    mill: {kind: manual mill}
    drill press: {kind: drill press}
    furnace: {kind: furnace}
    flat grinder: {kind: surface grinder}
    round grinder: {kind: cylindrical grinder}
    plate: {kind: lapping plate}
"""

RING = """
  ring:
    material: tool steel O1
    condition: annealed, ground
    blank: {section: round 65}
    dims: {thickness: 12 ±0.005, bore: 50 H6, rim: 60 h6}
    surfaces: {left: -Z, right: +Z, bore: {faces: inside, size: [12, 50]}, rim: {faces: outside, size: [12, 60]}}
    spans: {thickness: [left, right], bore: bore, rim: rim}
    route:
      - {op: saw, machine: saw, cuts: {left: {}, right: {measured_from: left}}}
      - {op: turn, machine: lathe, setup: chuck, datum: [left], cuts: {right: {}, bore: {}, rim: {}}}
      - {op: turn, machine: lathe, setup: flip, datum: [right, rim], cuts: {left: {}}}
      - {op: harden, machine: furnace}
      - {op: temper, machine: furnace, temperature: 180 degC, hardness: 60…62 HRC}
      - {op: surface grind, machine: flat grinder, held: magnet, datum: [right], cuts: {left: {}}}
      - {op: surface grind, machine: flat grinder, held: magnet, datum: [left], cuts: {right: {}}}
      - {op: cylindrical grind, machine: round grinder, setup: mandrel, datum: [right], cuts: {bore: {}, rim: {}}}
"""
"""A thin ring, hardened and ground."""

BRACKET = """
  bracket:
    material: low carbon steel
    blank: {section: flat 60 x 40}
    dims: {height: 30 ±0.02, bore: 20 H7, pin: 8 H7}
    surfaces: {foot: -Z, top: +Z, bore: {faces: inside, axis: Y, size: [40, 20]}, pin: {faces: inside, size: [30, 8]}}
    spans: {height: [foot, top], bore: bore, pin: pin}
    route:
      - {op: saw, machine: saw, cuts: {foot: {}, top: {measured_from: foot}}}
      - {op: face, machine: mill, datum: [top], cuts: {foot: {}}}
      - {op: drill, machine: mill, setup: vice, datum: [foot], cuts: {bore: {}, pin: {}}}
      - {op: ream, machine: mill, setup: vice, datum: [foot], cuts: {pin: {}}}
      - {op: bore, machine: mill, setup: angle plate, datum: [foot], cuts: {bore: {}}}
      - {op: surface grind, machine: flat grinder, datum: [top], cuts: {foot: {}}}
      - {op: lap, machine: plate, datum: [top], cuts: {foot: {}}}
"""
"""A bracket that stays soft: faced, drilled, reamed, bored, ground, lapped."""

PADS = "".join(
    f"""
  pad {letter}:
    material: tool steel O1
    condition: ground flat
    mark: P-{letter}
    blank: {{section: flat 40 x 15, along: X}}
    dims: {{height: 12 ±0.01, length: 40 ±0.2}}
    surfaces: {{foot: -Z, top: +Z, left: -X, right: +X}}
    spans: {{height: [foot, top], length: [left, right]}}
    geometry: {{flat: {{kind: flatness, of: top, within: 0.004}}}}
    route:
      - {{op: saw, machine: saw, cuts: {{left: {{}}, right: {{measured_from: left}}}}}}
      - {{op: drill, machine: drill press, setup: vice, datum: [foot], held: clamped, note: four holes}}
      - {{op: surface grind, machine: flat grinder, setup: one load, together: pads, datum: [foot], held: magnet,
          cuts: {{top: {{}}}}}}
      - {{op: surface grind, machine: flat grinder, setup: turned, together: pads, datum: [top], held: magnet,
          cuts: {{foot: {{}}}}, inspect: [height, flat], gauge: micrometer}}
"""
    for letter in "AB"
)
"""Two pads of one height, ground as a matched set; measured with what is in ``GAUGES``."""

GAUGES = "gauges: {micrometer: {resolution: 1 µm, calibration: ±2 µm, repeatability: {std: 1 µm}}}\n"


def text(*parts: str, head: str = "") -> str:
    """A build file of these parts and the shop."""
    return f"format: loopwright-build/1\nname: made parts\n{head}{SHOP}parts:{''.join(parts)}bodies: {{b: {{}}}}\n"


def build(*parts: str, head: str = "") -> Build:
    """The build of it."""
    return read_text(text(*parts, head=head))


def thin_ring() -> Build:
    """A thin ring, hardened and ground."""
    return build(RING)


def bracket() -> Build:
    """A bracket that stays soft."""
    return build(BRACKET)


def changed(text: str, *swaps: tuple[str, str]) -> Build:
    """A part with words of its text exchanged."""
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new)
    return build(text)
