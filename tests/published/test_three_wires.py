"""Three-wire measurement of screws, as worked in books and shop notes. All leave out the term of the lead angle.

JONES: F. D. Jones, *Turning and Boring*, chapter on thread measurement: 1 1/2 in, 6 threads, wires 0.140: 1.6674 in.
NEME: neme-s.org, *Three wire thread measuring*: 7/16-14, wires 0.045: 0.464 in; thickest, ideal and thinnest wire.
GUIDE: machinecalcs.com, *Three-wire thread measurement*: ¼-20 UNC-2A over wires 0.0289: 0.2560 to 0.2597 in.
ORDNANCE: US Army Ordnance, *OD1645*, p. 127: best wire 0.57735 over the number of threads per inch.
"""

import pytest

from loopwright.handbook.threads import limits, profile, thread
from loopwright.handbook.threads_wires import best_wire, over_wires, reading_limits, wire_range

INCH = 25.4
HALF_DIGIT = 0.00005 * INCH


def test_inch_and_a_half_six() -> None:
    """1 1/2-6 at basic size over wires of 0.140 in reads 1.6674 in (JONES)."""
    screw = thread("1 1/2-6")
    reading = over_wires(screw, profile(screw).pitch_diameter, 0.140 * INCH, helix=False)
    assert reading == pytest.approx(1.6674 * INCH, abs=HALF_DIGIT)


def test_seven_sixteenths_fourteen() -> None:
    """7/16-14 at basic size over wires of 0.045 in reads 0.464 in (NEME)."""
    screw = thread("7/16-14")
    reading = over_wires(screw, profile(screw).pitch_diameter, 0.045 * INCH, helix=False)
    assert reading == pytest.approx(0.464 * INCH, abs=0.0005 * INCH)


def test_quarter_twenty_within_2a() -> None:
    """¼-20 UNC-2A reads 0.2560 to 0.2597 in over wires of 0.0289 in (GUIDE)."""
    found = reading_limits(limits("1/4-20 UNC-2A"), 0.0289 * INCH, helix=False)
    assert found == pytest.approx((0.2560 * INCH, 0.2597 * INCH), abs=0.00015 * INCH)


def test_best_wire() -> None:
    """The best wire is 0.57735 P: 0.041 in for 14 threads (NEME), 0.0722 for 8 (ORDNANCE)."""
    assert best_wire(thread("7/16-14")) == pytest.approx(0.041 * INCH, abs=0.0005 * INCH)
    assert best_wire(thread("1-8")) == pytest.approx(0.57735 / 8 * INCH, abs=1e-5)


def test_wires_of_the_shop_note_can_be_used() -> None:
    """The thinnest and thickest wires that NEME names, 0.560 P and 0.900 P, lie within ours."""
    low, high = wire_range(thread("7/16-14"))
    assert low < 0.560 / 14 * INCH < best_wire(thread("7/16-14")) < 0.900 / 14 * INCH < high
