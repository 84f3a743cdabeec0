"""What to measure next: what each reading would be worth, and the best of them for the hours there are."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from loopwright.asbuilt.worth import (
    WITH_CHANCE,
    WORTHLESS,
    Candidate,
    Plan,
    Prospect,
    Worth,
    plan,
    ranking,
)
from loopwright.errors import RequestError
from loopwright.model.build import Units
from loopwright.studies.as_built import prospect_now
from loopwright.studies.bench import Bench
from loopwright.studies.candidates import candidate_of_test, candidates, only, seen_by
from loopwright.units import Dimension

GOOD_ENOUGH = 0.8
"""A gauge is good enough that brings this share of what a perfect one would."""


@dataclass(frozen=True)
class GaugeProposal:
    """The gauge that a test needs.

    Attributes:
        test: its name.
        dimension: of its values.
        gauge: the one that the build names; None where it names none.
        gain: what the test is worth with that, as a share of a limit.
        perfect: what it would be worth with a perfect gauge.
        std: standard uncertainty of one value at which it brings most of that, mm or rad; None where it is not
            worth anything.
        now: standard uncertainty of one value with the gauge named.
        instead: another gauge of the build that would be good enough, where the one named is not; or None.
    """

    test: str
    dimension: Dimension
    gauge: str | None
    gain: float
    perfect: float
    std: float | None
    now: float
    instead: str | None


@dataclass(frozen=True)
class NextReadings:
    """What to measure next.

    Attributes:
        build: its name; units: in which the user reads.
        targets: names, dimensions and limits of the targets asked for, in the order of each worth's 'now' and 'then'.
        adjusts: whether anything can be set that moves a target; gains are of 'adjusted' then, else of 'unknown'.
        ranked: readings by gain per minute, the best first.
        plan: the best for the minutes there are; None where none were given.
        worthless: declared tests that are not worth taking now.
        gauges: what gauge each declared test needs.
        nothing: why none of them is worth taking; '' where one is.
    """

    build: str
    units: Units
    targets: tuple[tuple[str, Dimension, float], ...]
    adjusts: bool
    ranked: tuple[Worth, ...]
    plan: Plan | None
    worthless: tuple[str, ...]
    gauges: tuple[GaugeProposal, ...]
    nothing: str

    @property
    def worthwhile(self) -> tuple[Worth, ...]:
        """Readings that are worth taking, by gain per minute, the best first."""
        return tuple(worth for worth in self.ranked if worth.worthwhile)


def next_readings(
    bench: Bench,
    *,
    targets: Sequence[str] = (),
    minutes: float | None = None,
    among: Sequence[str] = (),
    gauges: bool = False,
    with_chance: int = WITH_CHANCE,
) -> NextReadings:
    """What each reading that could be taken would be worth.

    Args:
        bench: the build as it stands.
        targets: names of those asked for; none asks for all.
        minutes: that there are, for a plan.
        among: names of tests and dims; none takes every declared test and every dim not yet read.
        gauges: whether to say what gauge each test needs.
        with_chance: of how many readings, the best first, chances are worked out.

    Raises:
        RequestError: there is no such target, test or dim, or no target at all.
    """
    prospect = prospect_of(bench, targets)
    found = candidates(bench)
    chosen = only(found, among) if among else found
    ranked = ranking(prospect, chosen, with_chance=with_chance, seen=seen_by(bench, chosen))
    names = list(targets) or list(bench.build.targets)
    worthless = [w.name for w in ranked if w.name in bench.build.tests and not w.worthwhile]
    return NextReadings(
        build=bench.build.name,
        units=bench.build.units,
        targets=tuple((name, bench.target(name).dimension, bench.target(name).limit) for name in names),
        adjusts=prospect.adjusts,
        ranked=tuple(ranked),
        plan=None if minutes is None else plan(prospect, chosen, minutes),
        worthless=tuple(worthless),
        gauges=tuple(_proposals(bench, prospect, ranked)) if gauges else (),
        nothing=_nothing(ranked),
    )


def _nothing(ranked: Sequence[Worth]) -> str:
    """Why none of some readings is worth taking; '' where one is."""
    if not ranked:
        return "no test is declared that could be read, and every dim that acts and has a gauge was read"
    best = max(ranked, key=lambda worth: worth.gain)
    if best.worthwhile:
        return ""
    takes = (
        f"'{best.name}' takes {100 * best.gain:.1f} %" if best.gain >= WORTHLESS / 10 else "none takes any"
    )
    what = "what is left of it after setting" if best.of == "adjusted" else "what is not known of it"
    several = (
        f"each of the {len(ranked)} readings that could be taken" if len(ranked) > 1 else "the one reading"
    )
    return f"{several} takes less than {100 * WORTHLESS:g} % of any limit off {what}; the most: {takes}"


def prospect_of(bench: Bench, targets: Sequence[str] = ()) -> Prospect:
    """The targets of a build as they stand, ready to be asked what a reading would change."""
    names = list(targets) or list(bench.build.targets)
    if not names:
        raise RequestError("the build has no target", "add one under 'targets' in the build file")
    return prospect_now(bench, names, bench.state)


def _proposals(bench: Bench, prospect: Prospect, ranked: Sequence[Worth]) -> list[GaugeProposal]:
    gains = {worth.name: worth.gain for worth in ranked}
    out = []
    for name, test in bench.build.tests.items():
        if name not in gains:
            continue
        usual = candidate_of_test(bench, name, test, bench.state, gauge=None)
        now = float(
            np.sqrt(usual.observation.stds[0] ** 2 + sum(c.std**2 for c in usual.observation.common[:1]))
        )
        perfect = prospect.worth(_with_std(usual, 1e-7), chance=False).gain
        std = _enough(prospect, usual, perfect) if perfect >= WORTHLESS else None
        instead = None
        if std is not None and gains[name] < GOOD_ENOUGH * perfect:
            instead = _other_gauge(bench, prospect, name, GOOD_ENOUGH * perfect)
        out.append(GaugeProposal(name, test.dimension, test.gauge, gains[name], perfect, std, now, instead))
    return out


def _with_std(candidate: Candidate, std: float) -> Candidate:
    """The same reading with a gauge of a stated uncertainty and nothing else; the artefact stays as it is."""
    seen = candidate.observation
    common = tuple(error for error in seen.common if error.name.startswith("form of "))
    return replace(candidate, observation=replace(seen, stds=np.full(len(seen.stds), std), common=common))


def _enough(prospect: Prospect, usual: Candidate, perfect: float) -> float:
    """Coarsest gauge that brings most of what a perfect one would, by halving on a logarithmic scale."""
    low, high = np.log(1e-7), np.log(1.0)
    for _ in range(24):
        middle = (low + high) / 2
        gain = prospect.worth(_with_std(usual, float(np.exp(middle))), chance=False).gain
        low, high = (middle, high) if gain >= GOOD_ENOUGH * perfect else (low, middle)
    return float(np.exp(low))


def _other_gauge(bench: Bench, prospect: Prospect, name: str, wanted: float) -> str | None:
    test = bench.build.tests[name]
    fitting = [
        g for g, gauge in bench.build.gauges.items() if gauge.dimension is test.dimension and g != test.gauge
    ]
    for other in fitting:
        candidate = candidate_of_test(bench, name, test, bench.state, gauge=bench.gauge(other))
        if prospect.worth(candidate, chance=False).gain >= wanted:
            return other
    return None
