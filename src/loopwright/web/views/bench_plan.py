"""What the script of the bench is told of each thing to be read: everything it shows is said here."""

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote

from loopwright.model.indications import Test
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.bench_sheet import Sheet, correction, positions_as_typed, sheet
from loopwright.web.views.bench_words import day, limits_words, stated
from loopwright.web.views.kit import minutes
from loopwright.web.wording import say

Plan = dict[str, Any]

ABOUT = {"A": "X", "B": "Y", "C": "Z"}
"""The linear axis about which a rotation turns (ISO 841)."""


def plan_of(
    bench: Bench, shown: Shown, of: str, *, against: str | None = None, item: str | None = None
) -> Plan:
    """What is asked of one reading.

    Raises:
        RequestError: there is no such thing to be read.
    """
    return _plan(bench, shown, sheet(bench, of, against=against, item=item, shown=shown.units))


def plan_of_correction(bench: Bench, shown: Shown, number: int) -> Plan:
    """What is asked of a reading that takes the place of another.

    Raises:
        RequestError: no reading that counts has this number.
    """
    return _plan(bench, shown, correction(bench, number, shown=shown.units))


def _plan(bench: Bench, shown: Shown, found: Sheet) -> Plan:
    told = found.asked
    poses = list(told.poses)
    moving = _moving(poses)
    places = [
        {
            "name": shown.pose({letter: pose[letter] for letter in moving}) if moving else _single(found, i),
            "was": list(found.was[i]) if i < len(found.was) else [],
        }
        for i, pose in enumerate(poses)
    ]
    return {
        "id": "|".join((told.of, found.against or "", found.item or "", str(found.corrects or ""))),
        "of": told.of,
        "against": found.against,
        "item": found.item,
        "corrects": found.corrects,
        "title": _title(found),
        "about": _about(bench, shown, found, poses),
        "before": _before(found),
        "places": places,
        "positions": {letter: list(texts) for letter, texts in positions_as_typed(told).items()}
        if moving
        else {},
        "repeats": told.repeats or max((len(one) for one in found.was), default=0),
        "fixed": told.repeats is not None,
        "unit": told.unit,
        "small": found.deviation_unit,
        "deviations": found.from_nominal,
        "gauge": found.gauge,
        "gauges": list(found.gauges),
        "warm": found.subject in ("dim", "item", "gap") and told.dimension.value == "length",
        "turns": found.artefact is not None,
        "both": any(_reverses(bench, name) for name in found.gauges),
        "time": minutes(found.minutes),
        "state": found.state,
        "seen": found.seen,
        "part": None if found.part is None else f"/parts/{quote(found.part, safe='')}",
    }


def _reverses(bench: Bench, gauge: str) -> bool:
    spread = bench.gauge(gauge).reversal
    return bool(spread.std or spread.upper or spread.lower)


def _moving(poses: Sequence[Mapping[str, float]]) -> list[str]:
    """Axes that stand elsewhere from one value to the next."""
    if len(poses) < 2:
        return []
    return [letter for letter in poses[0] if len({pose[letter] for pose in poses}) > 1]


def _single(found: Sheet, place: int) -> str:
    """What a value is called that has no pose of its own."""
    names = found.asked.names
    if found.against is not None and place < len(names):
        return names[place]
    return {
        "test": say("bench.indication"),
        "gap": say("bench.gap_width"),
        "item": found.asked.of.partition("/")[2] or found.asked.of,
    }.get(found.subject, say("bench.size"))


def _title(found: Sheet) -> str:
    if found.item is not None:
        return say("bench.name_item", of=found.asked.of, item=found.item)
    if found.against is not None:
        return say("bench.name_against", of=found.asked.of, against=found.against)
    return found.asked.of


def _about(bench: Bench, shown: Shown, found: Sheet, poses: Sequence[Mapping[str, float]]) -> list[str]:
    """Lines below the title: the drawing, or how the test is read, and anything to know."""
    lines = []
    if found.nominal is not None:
        lines.append(
            say("bench.drawing", size=stated(shown, found.nominal, found.limits, found.asked.dimension))
        )
    test = bench.build.tests.get(found.asked.of) if found.subject == "test" else None
    if test is not None:
        lines += _of_test(shown, test, found, poses)
    if found.subject == "gap":
        lines.append(say("bench.gap_filled", part=found.part or say("bench.gap_part")))
    if found.asked.note:
        lines.append(found.asked.note)
    return lines


def _of_test(shown: Shown, test: Test, found: Sheet, poses: Sequence[Mapping[str, float]]) -> list[str]:
    lines = []
    if found.limits is not None:
        limit = limits_words(shown, *found.limits, found.asked.dimension)
        lines.append(say("bench.limit_is", limit=limit))
    tool, work = test.between[1], test.between[0]
    if test.component in ABOUT:
        about = ABOUT[test.component]
        lines.append(say("bench.positive_turn", tool=tool, work=work, letter=test.component, axis=about))
    else:
        lines.append(say("bench.positive", tool=tool, work=work, direction=_direction(test)))
    if found.artefact is not None:
        lines.append(say("bench.against_artefact", artefact=found.artefact))
    held = {
        letter: pose for letter, pose in (poses[0] if poses else {}).items() if letter not in _moving(poses)
    }
    if held:
        lines.append(say("bench.held", pose=shown.pose(held)))
    zero = test.zeroed
    at = shown.pose(zero.at) if zero.how == "at" else ""
    if zero.how != "none":
        lines.append(say(f"bench.zero_{zero.how}", **({"pose": at} if at else {})))
    return lines


def _direction(test: Test) -> str:
    if test.component is not None:
        return "+" + test.component
    assert test.along is not None
    for letter, one in zip("XYZ", test.along):
        if abs(abs(one) - 1.0) < 1e-9:
            return ("+" if one > 0 else "-") + letter
    return "(" + ", ".join(f"{one:.3g}" for one in test.along) + ")"


def _before(found: Sheet) -> str:
    if found.corrects is not None and found.last is not None:
        return say("bench.corrects", number=found.corrects, who=found.last.who, at=day(found.last.at))
    if found.last is None:
        return say("bench.not_read_yet")
    return say("bench.last_read", who=found.last.who, at=day(found.last.at), number=found.last.entry)
