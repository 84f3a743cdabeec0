"""From what a person typed to a reading that can be entered: evaluated, held against what was expected, judged."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from math import hypot, inf, isfinite

import numpy as np

from loopwright import units
from loopwright.asbuilt.conformity import Conformity, decide
from loopwright.asbuilt.knowledge import Observation
from loopwright.asbuilt.observing import closing_dim
from loopwright.asbuilt.surprise import Look, look_ahead
from loopwright.errors import QuantityError, RequestError
from loopwright.handbook.materials import material
from loopwright.measuring.gauging import ReadingBudget, budget_of, comparison
from loopwright.measuring.plausibility import (
    Doubt,
    SweepDoubt,
    doubt_about,
    doubt_about_repeat,
    doubt_about_sweep,
)
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.measuring.temperature import Estimate, Warmth, expansion_of
from loopwright.model.indications import Gauge, Test
from loopwright.model.records import Contribution, Effect, Evaluated, Method, Reading, Warm
from loopwright.studies.bench import Bench
from loopwright.studies.growing import with_growth
from loopwright.units import Dimension

NEAR = 0.1
"""Sizes that are the same to this many millimetres share the calibration error of a gauge; common practice."""


@dataclass(frozen=True)
class Worked:
    """Values that were worked out of raw readings, ready to be entered.

    Attributes:
        evaluated: the values, and how well they are known.
        method: how they were worked out, with the raw readings.
        dimension: of the values.
        poses: axis positions of each value, mm or rad, where they are not the test's own.
        turned: an artefact was turned over between two readings, so its own error is not in the values.
    """

    evaluated: Evaluated
    method: Method
    dimension: Dimension
    poses: Mapping[str, tuple[float, ...]] = field(default_factory=dict)
    turned: bool = False


@dataclass(frozen=True)
class Typed:
    """What a person says of a reading, as typed.

    Attributes:
        of: 'part/dim', the name of a test, or for an item of several 'kind/what', as in 'ball screw/mean travel'.
        values: for each pose its repeats, as typed: '12.003', '3 µm', '0.0002 in'. A dim has one pose. A comparison
            has two: the one part and the other.
        against: the other dim of a comparison.
        item: serial of the item.
        unit: of values that have none; left out: the file's for a dim, and for a test it must be said.
        gauge: left out: the test's own.
        poses: axis positions of each value, as typed, where they are not the test's own.
        both_directions, turned: as in ``Reading``.
        from_nominal: the values are deviations from nominal, as a comparator that was set on gauge blocks shows them.
        part_temperature, gauge_temperature: as typed, '21.4 degC', with '±0.2' for what is not known of it.
        taken: when (ISO 8601), where that is not now.
        note: anything to know.
        state: number of the state; None takes the newest.
        worked: values that were worked out of raw readings, in place of ``values``.
    """

    of: str
    values: Sequence[Sequence[str]]
    against: str | None = None
    item: str | None = None
    unit: str | None = None
    gauge: str | None = None
    poses: Mapping[str, Sequence[str]] = field(default_factory=dict)
    both_directions: bool = False
    turned: bool = False
    part_temperature: str | None = None
    gauge_temperature: str | None = None
    taken: str | None = None
    note: str | None = None
    state: int | None = None
    from_nominal: bool = False
    worked: Worked | None = None


@dataclass(frozen=True)
class Considered:
    """A reading, worked out and held against what was expected, before it is entered.

    Attributes:
        reading: ready to be entered.
        dimension: of its values.
        look: beside what everything else lets one expect; None for an item on the bench.
        doubt: why it should be asked about, and what may have been meant; None where it is believed.
        conformity: verdict on a dim or on a test with a limit; None without limits.
    """

    reading: Reading
    dimension: Dimension
    look: Look | None
    doubt: Doubt | SweepDoubt | None
    conformity: Conformity | None


def consider(bench: Bench, typed: Typed) -> Considered:
    """Works out what was typed.

    Args:
        bench: the build as it stands.
        typed: what was typed.

    Raises:
        RequestError: no such dim, test or gauge; a value that cannot be read; not as many values as poses.
    """
    about = _About.of(bench, typed)
    reading = _reading(bench, typed, about) if typed.worked is None else _worked(bench, typed, about)
    if reading.item is not None:
        return Considered(reading, about.dimension, None, None, _conformity(bench, reading, None))
    seen = bench.observer.observation(reading)
    look = look_ahead(bench.knowledge, seen)
    reading = reading.model_copy(update={"surprise": round(look.surprise, 2)})
    doubt = _doubt(bench, typed, about, reading, look, seen)
    return Considered(reading, about.dimension, look, doubt, _conformity(bench, reading, look))


@dataclass(frozen=True)
class _About:
    """What a reading is about: its subject, its dimension and nominal size, and its gauge where one is named."""

    subject: str
    dimension: Dimension
    nominal: float
    test: Test | None
    gauge_name: str | None = None
    named: Gauge | None = None

    @classmethod
    def of(cls, bench: Bench, typed: Typed) -> "_About":
        about = _subject(bench, typed)
        if typed.against is not None and bench.build.dim(typed.against) is None:
            raise RequestError(f"there is no dim '{typed.against}'", "name it as part/dim")
        if typed.from_nominal and about.subject in ("test", "comparison"):
            raise RequestError(
                f"'{typed.of}' has no nominal size",
                "leave 'from nominal' out: its values are deviations already",
            )
        if typed.worked is not None:
            return about._with_worked(bench, typed)
        return about._with_gauge(bench, typed)

    @property
    def gauge(self) -> Gauge:
        assert self.named is not None  # only values that were worked out have none
        return self.named

    @property
    def resolution(self) -> float:
        return 0.0 if self.named is None else self.named.resolution

    def _with_gauge(self, bench: Bench, typed: Typed) -> "_About":
        name = typed.gauge or (self.test.gauge if self.test is not None else None)
        if name is None:
            fitting = [f"'{n}'" for n, g in bench.build.gauges.items() if g.dimension is self.dimension]
            raise RequestError(
                f"'{typed.of}' does not say what it was read with",
                "name a gauge: " + (", ".join(fitting) or "add one under 'gauges' first"),
            )
        gauge = bench.gauge(name)
        if gauge.dimension is not self.dimension:
            raise RequestError(
                f"the gauge '{name}' reads {gauge.dimension.value}, and '{typed.of}' is "
                f"{self.dimension.with_article}",
                f"name a gauge that reads {self.dimension.value}",
            )
        return replace(self, gauge_name=name, named=gauge)

    def _with_worked(self, bench: Bench, typed: Typed) -> "_About":
        """Values that were worked out: what their raw readings were read with need not read what they are."""
        assert typed.worked is not None
        if typed.worked.dimension is not self.dimension:
            raise RequestError(
                f"'{typed.of}' is {self.dimension.with_article}, and what was found is "
                f"{typed.worked.dimension.with_article}",
                f"take a result that is {self.dimension.with_article}",
            )
        if typed.gauge is not None:
            bench.gauge(typed.gauge)
        return replace(self, gauge_name=typed.gauge)


def _subject(bench: Bench, typed: Typed) -> _About:
    build = bench.build
    test, dim = build.tests.get(typed.of), build.dim(typed.of)
    if test is not None and typed.against is None and typed.item is None:
        return _About("test", test.dimension, 0.0, test)
    if typed.item is not None:
        return _About("dim", *((dim.dimension, dim.nominal) if dim else (Dimension.LENGTH, 0.0)), test)
    if typed.of in build.closures:
        filled = build.dim(closing_dim(build, build.closures[typed.of]) or "")
        return _About("gap", Dimension.LENGTH, filled.nominal if filled else 0.0, test)
    if dim is not None:
        return _About("dim" if typed.against is None else "comparison", dim.dimension, dim.nominal, test)
    raise RequestError(
        f"there is no dim or test '{typed.of}'",
        "name it as part/dim, or as a test or a closure of the build file",
    )


def _numbers(bench: Bench, typed: Typed, about: _About) -> tuple[tuple[float, ...], ...]:
    unit = typed.unit
    if unit is None and about.test is None:
        unit = bench.build.units.bare()[about.dimension]
    if not typed.values or not all(typed.values):
        raise RequestError(f"'{typed.of}' has a pose without a value", "give a value for each pose")
    return tuple(
        tuple(_number(typed.of, text, about.dimension, unit) for text in repeats) for repeats in typed.values
    )


def _number(of: str, text: str, dimension: Dimension, unit: str | None) -> float:
    try:
        return units.parse(text, dimension, bare=unit)
    except QuantityError as error:
        raise RequestError(f"'{of}': {error.what}", error.remedy) from None


def _reading(bench: Bench, typed: Typed, about: _About) -> Reading:
    raw = _numbers(bench, typed, about)
    part, gauge_warm = (_warm(typed.of, t) for t in (typed.part_temperature, typed.gauge_temperature))
    poses = {
        letter: tuple(
            _number(
                f"{typed.of}, {letter}", text, Dimension.LENGTH, bench.build.units.bare()[Dimension.LENGTH]
            )
            for text in positions
        )
        for letter, positions in typed.poses.items()
    }
    evaluated = _evaluated(bench, typed, about, raw, part, gauge_warm)
    if about.test is not None:
        read_with = str(about.gauge_name), about.gauge
        evaluated = with_growth(bench, typed.of, evaluated, poses, (part, gauge_warm), read_with)
    return Reading(
        subject=about.subject,  # type: ignore[arg-type]
        of=typed.of,
        against=typed.against,
        item=typed.item,
        state=bench.state if typed.state is None else typed.state,
        gauge=about.gauge_name,
        typed=tuple(tuple(repeats) for repeats in typed.values),
        raw=raw,
        poses=poses,
        both_directions=typed.both_directions,
        turned=typed.turned,
        part_temperature=part,
        gauge_temperature=gauge_warm,
        taken=typed.taken,
        evaluated=evaluated,
        note=typed.note,
    )


def _worked(bench: Bench, typed: Typed, about: _About) -> Reading:
    """A reading of values that were worked out; the raw readings stay with the method."""
    assert typed.worked is not None
    worked = typed.worked
    return Reading(
        subject=about.subject,  # type: ignore[arg-type]
        of=typed.of,
        item=typed.item,
        state=bench.state if typed.state is None else typed.state,
        gauge=about.gauge_name,
        raw=tuple((value,) for value in worked.evaluated.values),
        poses=dict(worked.poses),
        turned=worked.turned,
        taken=typed.taken,
        evaluated=worked.evaluated,
        method=worked.method,
        note=typed.note,
    )


def _warm(of: str, text: str | None) -> Warm | None:
    if text is None:
        return None
    value, _, limit = text.replace("+/-", "±").partition("±")
    try:
        found = units.parse(value.strip(), Dimension.TEMPERATURE, bare="degC")
        half = units.parse(limit.strip(), Dimension.TEMPERATURE_DIFFERENCE, bare="K") if limit else 0.0
    except QuantityError as error:
        raise RequestError(f"'{of}', temperature: {error.what}", error.remedy) from None
    return Warm(value=found, std=half / 3**0.5)


def _evaluated(
    bench: Bench,
    typed: Typed,
    about: _About,
    raw: tuple[tuple[float, ...], ...],
    part: Warm | None,
    gauge_warm: Warm | None,
) -> Evaluated:
    """One value for each pose, with what is its own and what it shares."""
    budgets = _budgets(bench, typed, about, raw, _warmth(bench, typed, about, part, gauge_warm))
    if about.subject == "comparison":
        return _compared(typed, budgets, bench.build.confidence)
    if about.test is None and len(budgets) > 1:
        raise RequestError(
            f"'{typed.of}' is one size and has {len(budgets)} poses",
            "write repeats of one size with a comma between them: 50.003,50.004",
        )
    count = len(raw)
    name = calibration_of(str(about.gauge_name), about.nominal)
    effects = [Effect(name=name, std=budgets[0].shared_std, column=(1.0,) * count)]
    form = _artefact(bench, typed, about, count)
    away = about.nominal if typed.from_nominal else 0.0
    return Evaluated(
        values=tuple(budget.value + away for budget in budgets),
        stds=tuple(budget.own_std for budget in budgets),
        effects=tuple(e for e in (*effects, *form) if e.std > 0),
        contributions=tuple(_lines(budgets[0], about, form)),
        expanded=hypot(budgets[0].expanded, 2 * form[0].std if form else 0.0),
        notes=tuple(dict.fromkeys(_notes(bench, typed, about, budgets, form))),
    )


def _budgets(
    bench: Bench, typed: Typed, about: _About, raw: tuple[tuple[float, ...], ...], warmth: Warmth | None
) -> list[ReadingBudget]:
    """The uncertainty budget of each pose."""
    on = date.fromisoformat(typed.taken[:10]) if typed.taken else None
    return [
        budget_of(
            about.gauge,
            repeats,
            assume=bench.build.assume,
            both_directions=typed.both_directions,
            warmth=warmth,
            on=on,
            confidence=bench.build.confidence,
        )
        for repeats in raw
    ]


def _lines(budget: ReadingBudget, about: _About, form: Sequence[Effect]) -> Iterator[Contribution]:
    """The budget of the first value, and the form of what it was read against."""
    for c in budget.contributions:
        dof = c.dof if isfinite(c.dof) else None
        yield Contribution(name=c.name, std=c.std, dof=dof, how=c.kind, shared=c.shared)
    if form and about.test is not None:
        yield Contribution(name=f"form of {about.test.artefact}", std=form[0].std)


def _notes(
    bench: Bench, typed: Typed, about: _About, budgets: Sequence[ReadingBudget], form: Sequence[Effect]
) -> Iterator[str]:
    """What was corrected or assumed."""
    for budget in budgets:
        yield from budget.remarks
    if typed.from_nominal:
        length = about.dimension is Dimension.LENGTH
        unit = bench.build.units.length if length else "deg"
        nominal = units.format_value(about.nominal, about.dimension, unit, digits=9)
        yield f"typed as deviations from the nominal {nominal}"
    if about.test is None:
        return
    if typed.part_temperature is not None or typed.gauge_temperature is not None:
        yield "temperatures are recorded and not used: a test is corrected by no single length"
    if not form and typed.turned and about.test.artefact is not None:
        yield f"the form of {about.test.artefact} cancels: it was turned over"


def calibration_of(gauge: str, nominal: float) -> str:
    """Name of the calibration error that readings of one gauge near one size, mm or rad, have in common.

    >>> calibration_of("height gauge", 12.04)
    'calibration of height gauge near 12'
    """
    return f"calibration of {gauge} near {round(nominal / NEAR) * NEAR:g}"


def _compared(typed: Typed, budgets: Sequence[ReadingBudget], confidence: float) -> Evaluated:
    if len(budgets) != 2:
        raise RequestError(
            f"a comparison of two dims has two readings, not {len(budgets)}", "give the one, then the other"
        )
    both = comparison(budgets[0], budgets[1], confidence=confidence)
    return Evaluated(
        values=(both.value,),
        stds=(both.combined,),
        contributions=tuple(
            Contribution(name=c.name, std=c.std, dof=c.dof if isfinite(c.dof) else None, how=c.kind)
            for c in both.contributions
        ),
        expanded=both.expanded,
        notes=both.remarks,
    )


def _artefact(bench: Bench, typed: Typed, about: _About, count: int) -> list[Effect]:
    """Form of the artefact: at each pose its own, and the same whenever the test is read again."""
    test = about.test
    if test is None or test.artefact is None or typed.turned:
        return []
    form = bench.build.artefacts[test.artefact].straightness
    std = standard_uncertainty(form, bench.build.assume)
    return [
        Effect(
            name=f"form of {test.artefact} in {typed.of}, {number}",
            std=std,
            column=tuple(float(k == number - 1) for k in range(count)),
        )
        for number in range(1, count + 1)
    ]


def _warmth(
    bench: Bench, typed: Typed, about: _About, part: Warm | None, gauge_warm: Warm | None
) -> Warmth | None:
    if (part is None and gauge_warm is None) or about.dimension is Dimension.ANGLE or about.test is not None:
        return None
    warm = [one for one in (part, gauge_warm) if one is not None]
    closure = bench.build.closures.get(typed.of)
    part_name = typed.of.partition("/")[0] if closure is None else closure.part or ""
    made_of = bench.build.parts.get(part_name)
    name = None if made_of is None else made_of.material
    grows = bench.build.materials.get(name or "") or material(name or "steel")
    return Warmth(
        part=Estimate(warm[0].value, warm[0].std),
        gauge=Estimate(warm[-1].value, warm[-1].std),
        part_expansion=Estimate(grows.expansion, grows.expansion_std),
        gauge_expansion=expansion_of(about.gauge),
        length=about.nominal if typed.from_nominal else None,
    )


def _doubt(
    bench: Bench, typed: Typed, about: _About, reading: Reading, look: Look, seen: Observation
) -> Doubt | SweepDoubt | None:
    """Asked about where it is a surprise, or one repeat is a slip; the unit is the one it was typed in."""
    unit = typed.unit or (
        "µm"
        if about.test is not None and about.dimension is Dimension.LENGTH
        else bench.build.units.bare()[about.dimension]
    )
    slip = _slipped(bench, about, reading, unit)
    if slip is not None:
        return slip
    if len(look.found) == 1:
        return _single_doubt(typed, about, reading, look, seen, unit)
    covariance, off = _covariance(bench, seen)
    # held against the values as they were typed, so that a slip is looked for in what was typed
    values = np.array(reading.evaluated.values)
    return doubt_about_sweep(
        values,
        values - off,
        covariance,
        dimension=about.dimension,
        unit=unit,
        resolution=about.resolution,
    )


def _single_doubt(
    typed: Typed, about: _About, reading: Reading, look: Look, seen: Observation, unit: str
) -> Doubt | None:
    found = float(reading.evaluated.values[0])
    nominal = found - float(seen.values[0])
    # a slip is looked for in what was typed, which may be the deviation alone
    from_ = nominal if typed.from_nominal else 0.0
    doubt = doubt_about(
        found - from_,
        float(look.expected[0]) + nominal - from_,
        float(look.std[0]),
        dimension=about.dimension,
        unit=unit,
        nominal=nominal,
        resolution=about.resolution,
    )
    return doubt if doubt is None or not from_ else doubt.moved_by(from_)


def _slipped(bench: Bench, about: _About, reading: Reading, unit: str) -> Doubt | None:
    """The one repeat that the others of its pose do not bear out, where a slip would explain it."""
    if about.named is None:
        return None
    stated = standard_uncertainty(about.named.repeatability, bench.build.assume)
    for place, repeats in enumerate(reading.raw):
        doubt = doubt_about_repeat(
            repeats,
            hypot(stated, about.resolution / 12**0.5),
            dimension=about.dimension,
            unit=unit,
            nominal=about.nominal,
            resolution=about.resolution,
        )
        if doubt is not None and doubt.at is not None:
            return replace(doubt, at=(place, doubt.at[1]))
    return None


def _covariance(bench: Bench, seen: Observation) -> tuple[np.ndarray, np.ndarray]:
    """Covariance of found less expected before the reading is known, and that difference, zeroed as the sweep is."""
    knowledge = bench.knowledge
    root = knowledge.root(seen.rows, seen.state)
    covariance = root @ root.T + np.diag(seen.stds**2)
    for error in seen.common:
        covariance += error.std**2 * np.outer(error.column, error.column)
    off = seen.values - knowledge.expected(seen.rows, seen.state)
    if seen.free.size:
        basis, _ = np.linalg.qr(seen.free)
        out = np.eye(len(off)) - basis @ basis.T
        covariance, off = out @ covariance @ out, out @ off
    return covariance, off


def _conformity(bench: Bench, reading: Reading, look: Look | None) -> Conformity | None:
    limits = limits_of(bench, reading.of) if reading.subject in ("dim", "test") else None
    if limits is None:
        return None
    values, std = np.array(reading.evaluated.values), _whole_std(reading)
    if reading.subject == "test":
        found = look.found if look is not None else values
        value = float(found[np.argmax(np.abs(found))])
    else:
        value = float(values.mean())
    return decide(value, std, lower=limits[0], upper=limits[1])


def _whole_std(reading: Reading) -> float:
    """Largest standard uncertainty of one value, what it shares included."""
    variance = np.array(reading.evaluated.stds) ** 2
    for effect in reading.evaluated.effects:
        variance = variance + effect.std**2 * np.array(effect.column) ** 2
    return float(np.sqrt(variance.max()))


def limits_of(bench: Bench, of: str) -> tuple[float, float] | None:
    """Limits of a dim as sizes, or of a test to either side of zero; mm or rad; None where there are none."""
    test = bench.build.tests.get(of)
    if test is not None:
        return None if test.limit is None else (-test.limit, test.limit)
    dim = bench.build.dim(of)
    if dim is None:
        return None
    spread = dim.spread or (bench.build.general_limits if dim.dimension is Dimension.LENGTH else None)
    if spread is None or spread.std is not None or spread.lower == spread.upper:
        return None
    middle = dim.nominal + spread.value
    return middle + spread.lower, middle + spread.upper


def no_limit(limits: tuple[float, float] | None) -> tuple[float | None, float | None]:
    """Limits for a record, None where there is none."""
    if limits is None:
        return None, None
    return tuple(None if abs(v) == inf else v for v in limits)  # type: ignore[return-value]
