"""Two posts under a beam, milled to height in one setting: a build whose parts have routes. Invented."""

SHOP = """
format: loopwright-build/1
name: two posts
shop:
  machines:
    mill:
      kind: CNC mill
      holds:
        face: {cut: 2 µm, setting: 15 µm, seating: 3 µm, angular: 10 arcsec}
        bore: {cut: 3 µm, setting: 0, seating: 4 µm}
    furnace: {kind: furnace}
"""
POSTS = (
    SHOP
    + """
parts:
  left:
    dims: {height: 12 +0.03/-0.01}
    surfaces: {foot: -Z, top: +Z}
    spans: {height: [foot, top]}
    route:
      - {op: face, machine: mill, setup: first side, cuts: {foot: {}}}
      - {op: face, machine: mill, datum: [foot], together: posts, cuts: {top: {}}}
  right:
    dims: {height: 12 ±0.05}
    surfaces: {foot: -Z, top: +Z}
    spans: {height: [foot, top]}
    route:
      - {op: face, machine: mill, setup: first side, cuts: {foot: {}}}
      - {op: face, machine: mill, datum: [foot], together: posts, cuts: {top: {}}}
bodies: {base: {parts: [left]}, beam: {parts: [right]}, tool: {}}
joints:
  beam on base:
    kind: fixed
    parent: base
    child: beam
    contacts:
      l: {at: [-100, 0, 0], normal: +Z, dims: [+left/height]}
      r: {at: [100, -50, 0], normal: +Z, dims: [+right/height]}
      r2: {at: [100, 50, 0], normal: +Z, dims: [+right/height]}
      a: {at: [-100, 0, 0], normal: +X}
      b: {at: [-100, 0, 0], normal: +Y}
      c: {at: [100, 0, 0], normal: +Y}
  X slide:
    {kind: linear, parent: beam, child: tool, along: +X, travel: [0, 10], errors: {EXX: ±1 µm}, errors_at: [0, 0, 0]}
targets:
  level:
    {between: [base, tool], point: [0, 0, 50], component: B, over: {X: [0, 10, 10]}, zeroed: none, limit: 15 arcsec}
"""
)

# ways in which their tops may be made instead
PLAIN = "{op: face, machine: mill, datum: [foot], together: posts, cuts: {top: {}}}"
OPEN = """
      - op: face
        machine: mill
        datum: [foot]
        cuts: {top: {}}
        minutes: 6
        alternatives:
          in one setting:
            - {op: face, machine: mill, datum: [foot], together: posts, cuts: {top: {}}, minutes: 6, setting_up: 20}
          ground:
            - {op: surface grind, machine: grinder, datum: [foot], cuts: {top: {}}, minutes: 30}
"""
CHOOSING = (
    POSTS.replace(f"      - {PLAIN}\n", OPEN.lstrip("\n"))
    .replace("+0.03/-0.01", "±0.05")
    .replace("    furnace:", "    grinder: {kind: surface grinder}\n    furnace:")
)
