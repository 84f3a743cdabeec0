"""ISO 724, basic sizes of metric threads, with the depths of the profile.

ISCAR: *Reamers and taps*, user guide 2022, p. 56 (docs.steelcam.org): pitch diameter, minor diameter of screw and
nut, depth of screw and nut, nominal sizes after UNI 4535. The formulas beside that table: H = 0.86603 P, H1 = 0.54127
P, h3 = 0.61343 P, d2 = d - 0.64952 P, d3 = d - 1.22687 P.
"""

import pytest

from loopwright.handbook.threads import infeed, profile, thread

# thread, d2, d3, D1, h3, H1
TABLE = """
M1.6 1.373 1.171 1.221 0.215 0.189
M2 1.740 1.509 1.567 0.245 0.217
M2.5 2.208 1.948 2.013 0.276 0.244
M3 2.675 2.387 2.459 0.307 0.271
M4 3.545 3.141 3.242 0.429 0.379
M5 4.480 4.019 4.134 0.491 0.433
M6 5.350 4.773 4.917 0.613 0.541
M8 7.188 6.466 6.647 0.767 0.677
M10 9.026 8.160 8.376 0.920 0.812
M12 10.863 9.853 10.106 1.074 0.947
M16 14.701 13.546 13.835 1.227 1.083
M18 16.376 14.933 15.294 1.534 1.353
"""


@pytest.mark.parametrize("line", TABLE.strip().splitlines(), ids=lambda line: line.split()[0])
def test_basic_sizes_and_depths(line: str) -> None:
    """Pitch, minor diameters and depth of coarse threads M1.6 to M18."""
    name, *printed = line.split()
    found = thread(name)
    sizes = profile(found)
    depths = [infeed(found, external=external).radial for external in (True, False)]
    computed = [sizes.pitch_diameter, sizes.screw_minor, sizes.minor, *depths]
    assert computed == pytest.approx([float(cell) for cell in printed], abs=0.00051)


def test_depth_factors() -> None:
    """A screw is cut 0.61343 P deep and a nut 0.54127 P."""
    one = thread("M6")
    assert infeed(one, external=True).radial == pytest.approx(0.61343, abs=5e-6)
    assert infeed(one, external=False).radial == pytest.approx(0.54127, abs=5e-6)
