"""What to measure in the hours there are: the plan, and the gauges that it takes, for whoever waits for them."""

from collections.abc import Callable, Sequence

from loopwright import units
from loopwright.asbuilt.worth import Plan, plan
from loopwright.errors import QuantityError, RequestError
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidates
from loopwright.studies.next_readings import GaugeProposal, next_readings, prospect_of
from loopwright.units import Dimension

Progress = Callable[[int, int | None], None]

HOURS = 2.0
"""Hours that are reckoned with where nobody said how many there are."""
LONGEST = 24 * 60 * 7.0
"""Minutes in the longest time that is planned for, a week."""


def minutes_of(typed: str) -> float:
    """Minutes in a time as a person types it; a bare number is hours.

    Raises:
        RequestError: it is no time, or not between a minute and a week.

    >>> minutes_of("2"), minutes_of("90 min"), minutes_of("1:30")
    (120.0, 90.0, 90.0)
    """
    text = typed.strip()
    hours, colon, rest = text.partition(":")
    if colon and hours.isdecimal() and rest.isdecimal() and int(rest) < 60:
        found = 60.0 * int(hours) + int(rest)
    else:
        try:
            found = units.parse(text, Dimension.TIME, bare="h") / 60
        except QuantityError as error:
            raise RequestError(error.what, "give hours, as in 2, 1:30 or 90 min") from None
    if not 1 <= found <= LONGEST:
        raise RequestError(
            f"'{text}' is no time to plan for", "give a time from a minute to a week, as in 2 h"
        )
    return found


def plan_for(
    bench: Bench,
    minutes: float,
    *,
    targets: Sequence[str] = (),
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Plan:
    """The best readings for a number of minutes, in the order in which to take them.

    Args:
        bench: the build as it stands.
        minutes: that there are.
        targets: names of those that count; none takes all.
        progress: called with the minutes that are filled and those that there are.
        cancel: asked before each reading is chosen; True stops.

    Raises:
        RequestError: there is no such target, or no target at all.
        Cancelled: ``cancel`` said so.
    """
    return plan(prospect_of(bench, targets), candidates(bench), minutes, progress=progress, cancel=cancel)


def gauges_for(
    bench: Bench,
    *,
    targets: Sequence[str] = (),
    progress: Progress | None = None,
    cancel: Callable[[], bool] | None = None,
) -> tuple[GaugeProposal, ...]:
    """What gauge each declared test needs, test by test.

    Args:
        bench: the build as it stands.
        targets: names of those that count; none takes all.
        progress: called with the tests looked at and their number.
        cancel: asked before each test; True stops, with those found so far.

    Raises:
        RequestError: there is no such target, or no target at all.
    """
    names = [c.name for c in candidates(bench, dims=False)]
    out: list[GaugeProposal] = []
    for number, name in enumerate(names):
        if cancel is not None and cancel():
            break
        out += next_readings(bench, targets=targets, among=[name], gauges=True, with_chance=0).gauges
        if progress is not None:
            progress(number + 1, len(names))
    return tuple(out)
