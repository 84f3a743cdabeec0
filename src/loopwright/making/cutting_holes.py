"""Cutting data for holes: drilling, reaming, tapping, chamfering."""

from math import pi, sin
from types import MappingProxyType
from typing import Final

from loopwright.errors import LoopwrightError, OutOfRange
from loopwright.handbook.cutting_geometry import cutting_speed, feed_speed
from loopwright.handbook.drilled_holes import tap_drill
from loopwright.handbook.drilling import (
    POINT_ANGLE,
    depth_advice,
    drill_load,
    drilling_minutes,
    point_length,
)
from loopwright.handbook.reaming import FEED_PER_TOOTH, reaming_stock
from loopwright.handbook.stock_allowances import reaming
from loopwright.handbook.tapping import (
    KC_LUBERO,
    KC_YAMAWA,
    TAP_FACTOR,
    tapping_torque,
    tapping_torque_by_area,
)
from loopwright.handbook.threads import designation, limits
from loopwright.making.cutting_choice import (
    Chosen,
    Spindle,
    check_chip,
    eased,
    feed_for,
    raised_to_cut,
    slowed_by_power,
    speed_for,
    speeds_of,
    spindle,
)
from loopwright.making.cutting_records import Pass
from loopwright.making.cutting_task import Task
from loopwright.making.cutting_words import Told

APPROACH: Final = 2.0
PECK_MINUTES: Final = 0.05
"""For each way out and in again. Common practice."""
COUNTERSINKING: Final = (1 / 3, 1 / 2)
"""Speed over that of drilling, against chatter. Common practice."""
CHAMFER_FEED: Final = (0.05, 0.15)
"""Feed of a countersink, mm a turn. Common practice."""
CHAMFER_MINUTES: Final = 0.5
BY_HAND_MINUTES: Final = 1.5
"""To ream or tap one hole by hand. Common practice."""
HAND_TAPPING: Final = 300.0
"""Turns a minute of a tap that a hand still stops in time. Common practice."""

Found = tuple[list[Pass], list[Chosen]]

# group: names in the tables of tapping torque; '' where there is none
_TAPPED: Final = MappingProxyType(
    {
        "aluminium": ("aluminium, long chips, to 550 MPa", ""),
        "cast aluminium": ("aluminium, short chips, to 400 MPa", "cast aluminium AlSi8Cu3"),
        "free-cutting steel": ("free cutting steel to 700 MPa", "structural steel 133 HB"),
        "mild steel": ("structural steel to 700 MPa", "steel 0.15 % C 141 HB"),
        "medium carbon steel": ("steel 500 to 950 MPa", "steel 0.45 % C 188 HB"),
        "low alloy steel, annealed": ("steel 500 to 950 MPa", "chromium molybdenum steel 193 HB"),
        "tool steel O1, annealed": ("tempered steel 500 to 950 MPa", "carbon tool steel 175 HB"),
        "tool steel A2, annealed": ("tempered steel 500 to 950 MPa", "carbon tool steel 175 HB"),
        "tool steel D2, annealed": ("tempered steel 500 to 950 MPa", "carbon tool steel 175 HB"),
        "stainless steel 303": ("austenitic stainless steel 500 to 950 MPa", "austenitic stainless steel 209 HB"),
        "stainless steel 304": ("austenitic stainless steel 500 to 950 MPa", "austenitic stainless steel 209 HB"),
        "grey iron": ("grey cast iron 120 to 260 HB", "grey cast iron 193 HB"),
        "brass": ("copper alloy, short chips, to 500 MPa", "brass CuZn40"),
        "bronze": ("copper alloy, long chips, 300 to 700 MPa", ""),
        "copper": ("copper alloy, long chips, 300 to 700 MPa", ""),
    }
)  # fmt: skip


def drilling(task: Task, told: Told) -> Found:
    """A hole by a twist drill: torque, thrust, pecks.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: a size or a row is missing, or the hole is too deep for a twist drill.
    """
    size = task.needed(task.tool.diameter, "the diameter of the drill", "write diameter beside the tool")
    deep = task.needed(task.length, "the depth", "write length, or give the surface its size")
    advice = depth_advice(deep, size)
    deeper = f"{advice.ratio:.2g} diameters deep: {advice.source}" if advice.ratio >= 3 else ""
    speed = speed_for(task, told, factor=advice.speed, why=deeper, rule=False)
    feed = feed_for(task, told, per="rev", diameter=size, factor=advice.feed)
    if deeper:
        told.limits.append(f"speed and feed lowered: the hole is {advice.ratio:.2g} diameters deep")
    pilot = task.before or 0.0
    if pilot >= size:
        raise OutOfRange(
            f"the hole is {told.words.length(pilot)} wide already, and the drill {told.words.length(size)}; "
            "mend the size or the tool of one of the two ops"
        )
    slant = sin(POINT_ANGLE / 2) / 2
    fed = raised_to_cut(task, told, feed, slant)
    spin, fed = eased(
        task, told, spindle(task, told, speed, size), fed, diameter=size,
        slow=speed.value if speed.known == "proven" else speed.low, thin=fed,
        fine=fed if feed.known == "proven" else min(fed, feed.low), turned=True,
        power=lambda turning, each: _power(drill_load(task.law, size, each, pilot=pilot).torque, turning.rpm),
    )  # fmt: skip
    load = drill_load(task.law, size, fed, pilot=pilot)
    spin = slowed_by_power(task, told, spin, _power(load.torque, spin.rpm), size)
    check_chip(task, told, fed * slant)
    low, high = load.thrust
    if high > low * 1.001:
        told.say(
            "thrust",
            f"{told.words.force(low)} with a thinned point, {told.words.force(high)} with a common one",
        )
    if len(advice.pecks) > 1:
        told.say("pecks to", ", ".join(told.words.length(v) for v in advice.pecks))
    told.length("point of the drill beyond the full diameter", point_length(size))
    _for_what(task, told, size)
    minutes = drilling_minutes(deep, spin.rpm, fed, point=point_length(size), approach=APPROACH)
    minutes += PECK_MINUTES * (len(advice.pecks) - 1)
    one = Pass(
        "only", 1, spin.speed, spin.rpm, fed, "rev", feed_speed(spin.rpm, fed),
        chip=fed * slant, force=2 * load.torque * 1000 / ((size + pilot) / 2), power=_power(load.torque, spin.rpm),
        torque=load.torque, thrust=high, minutes=minutes,
    )  # fmt: skip
    return [one], [speed, feed]


def _power(torque: float, rpm: float) -> float:
    return torque * 2 * pi * rpm / 60


def _for_what(task: Task, told: Told, size: float) -> None:
    """Whether the drill leaves what a later tap wants."""
    if task.thread is None:
        return
    try:
        found = tap_drill(task.thread)
    except LoopwrightError as error:
        told.notes.append(f"no tap drill for '{task.thread}': {error}")
        return
    words = told.words
    told.say(f"tap drill for {found.thread.name}", f"{found.drill.name}: {found.percent:.0f} % of thread")
    if found.caution:
        told.notes.append(found.caution)
    if not found.minor[0] <= size <= found.minor[1]:
        low, high = (words.size(round(v, 4)) for v in found.minor)
        told.warn("tool", f"a drill of {words.size(size)} is outside {low} to {high}, the minor diameter of "
                  f"{found.thread.name}; take {found.drill.name}")  # fmt: skip


def _by_hand(
    told: Told, depth: float | None, *, feed: float | None = None, torque: float | None = None
) -> Pass:
    told.assumed.append(f"by hand, {told.words.minutes(BY_HAND_MINUTES)} a hole (common practice)")
    return Pass("only", 1, depth=depth, minutes=BY_HAND_MINUTES, feed=feed, torque=torque)


def reamed(task: Task, told: Told) -> Found:
    """A hole reamed to size.

    Args:
        task: the cut.
        told: what it has to tell.
    """
    size = task.needed(
        task.tool.diameter or task.diameter, "the diameter", "give the reamer its diameter, or the dim across"
    )
    words, hand = told.words, task.kind == "bench"
    bands = (reaming(size, by_hand=True),) if hand else reaming_stock(size)
    for band in bands:
        told.say(
            "stock on the diameter", f"{words.feed(band.low)} to {words.feed(band.high)} ({band.source})"
        )
    low, high = min(b.low for b in bands), max(b.high for b in bands)
    if task.stock is not None and task.stock_from[:7] != "assumed":
        least = task.stock if task.charted is None else max(task.charted.least, 0.0)
        found = words.feed(least if least < low * 0.99 else task.stock)
        if least < low * 0.99:
            told.warn("rubs", f"rubbing: the reamer finds {found} on the diameter, and {words.feed(low)} is the least; "
                      "it rubs and chatters")  # fmt: skip
        elif task.stock > high * 1.01:
            told.warn("stock", f"the reamer finds {found} on the diameter, and {words.feed(high)} is the most; bore or "
                      "drill larger first")  # fmt: skip
    told.notes.append("a reamer makes size and finish, not place: bore first where the place matters")
    if hand:
        return [_by_hand(told, None if task.stock is None else task.stock / 2)], []
    speed, feed = speed_for(task, told), feed_for(task, told, per="rev")
    spin = spindle(task, told, speed, size)
    teeth = task.tool.edges
    check_chip(task, told, feed.value / teeth)
    told.say("feed a tooth, usual", f"{words.feed(FEED_PER_TOOTH[0])} to {words.feed(FEED_PER_TOOTH[1])}")
    minutes = None
    if task.length is not None:
        minutes = drilling_minutes(task.length, spin.rpm, feed.value, approach=APPROACH + size / 2)
    one = Pass(
        "only", 1, spin.speed, spin.rpm, feed.value, "rev", feed_speed(spin.rpm, feed.value),
        None if task.stock is None else task.stock / 2, chip=feed.value / teeth, minutes=minutes,
    )  # fmt: skip
    return [one], [speed, feed]


def tapping(task: Task, told: Told) -> Found:
    """A thread by a tap: torque by two rules, and whether the hole is right.

    Args:
        task: the cut.
        told: what it has to tell.

    Raises:
        LoopwrightError: no thread is stated, or a row is missing.
    """
    words, said = told.words, designation(task.thread_text())
    size, pitch = said.thread.diameter_mm, said.thread.pitch_mm
    drill = tap_drill(said.thread)
    hole = task.before or drill.drill.diameter_mm
    _for_what(task, told, hole)
    bounds = limits(said.thread, said.classes[0] if len(said.classes) == 1 else "internal")
    told.say(
        f"pitch diameter, {bounds.tolerance_class}",
        " to ".join(words.size(round(v, 4)) for v in bounds.pitch_diameter),
    )
    torque = _tap_torque(task, told, size, pitch, hole)
    if said.left_hand:
        told.notes.append("left-hand thread: the tap turns the other way")
    if task.kind == "bench":
        return [_by_hand(told, None, feed=pitch, torque=torque)], []
    speed, power = speed_for(task, told), None
    spin = _reversible(task, told, speed, size)
    if torque is not None:
        spin = slowed_by_power(task, told, spin, _power(torque, spin.rpm), size)
        power = _power(torque, spin.rpm)
    minutes = None
    if task.length is not None:
        minutes = 2 * (task.length + 4 * pitch) / (spin.rpm * pitch)
    one = Pass(
        "only", 1, spin.speed, spin.rpm, pitch, "rev", feed_speed(spin.rpm, pitch),
        power=power, torque=torque, minutes=minutes,
    )  # fmt: skip
    told.notes.append("the feed is the pitch; the way out is counted at the same speed")
    return [one], [speed]


def _reversible(task: Task, told: Told, speed: Chosen, size: float) -> Spindle:
    """The spindle, slowed to what a hand can stop and reverse above the bottom of a hole."""
    if not task.by_hand or spindle(task, Told(told.words), speed, size).rpm <= HAND_TAPPING:
        return spindle(task, told, speed, size)
    turns = max(HAND_TAPPING, speeds_of(task)[0])
    told.limits.append(
        f"speed limited by the hand: {told.words.rpm(turns)} can still be stopped above the bottom of a hole (common "
        "practice)"
    )
    return Spindle(turns, cutting_speed(turns, size))


def _tap_torque(task: Task, told: Told, size: float, pitch: float, hole: float) -> float | None:
    """Torque of a sharp tap, N·m: the greater of two makers' rules."""
    plain, area = _TAPPED.get(task.group.name, ("", ""))
    found = []
    if plain:
        one = tapping_torque(size, pitch, KC_LUBERO[plain])
        found.append((one.torque, one.source))
    if area and hole < size:
        two = tapping_torque_by_area(size, hole, KC_YAMAWA[area], factor=TAP_FACTOR["hand tap, plug"])
        found.append((two.torque, two.source))
    for torque, source in found:
        told.say("torque of a sharp tap", f"{told.words.torque(torque)} ({source})")
    if not found:
        told.notes.append(f"no tapping torque was found in print for {task.group.name}")
        return None
    return max(torque for torque, _ in found)


def chamfering(task: Task, told: Told) -> Found:
    """A chamfer, by a countersink or on the lathe.

    Args:
        task: the cut.
        told: what it has to tell.
    """
    size = task.diameter or task.tool.diameter
    if size is None or task.kind == "bench":
        told.notes.append("by hand")
        return [Pass("only", 1, minutes=CHAMFER_MINUTES)], [Chosen(0.0, 0.0, 0.0, "assumed")]
    why = "common practice: countersinking at a third to half of drilling, against chatter"
    speed = speed_for(task, told, operation="drill", factor=COUNTERSINKING, why=why)
    spin: Spindle = spindle(task, told, speed, size)
    low, high = CHAMFER_FEED
    feed = low + (high - low) / 2
    told.assumed.append(
        f"feed {told.words.feed(feed)} a turn, {told.words.minutes(CHAMFER_MINUTES)} an edge (common practice)"
    )
    one = Pass(
        "only", 1, spin.speed, spin.rpm, feed, "rev", feed_speed(spin.rpm, feed), minutes=CHAMFER_MINUTES
    )
    return [one], [speed, Chosen(feed, low, high, "assumed")]
