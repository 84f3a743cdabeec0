"""What was found of raw readings, made ready for the book: one value for a dim, a sweep for a test."""

from collections.abc import Sequence
from math import pi
from uuid import uuid4

import numpy as np

from loopwright import units
from loopwright.errors import RequestError
from loopwright.loop.kinematics import poses_of
from loopwright.measuring.spreads import standard_uncertainty
from loopwright.model.indications import Test
from loopwright.model.records import Contribution, Effect, Evaluated, Method
from loopwright.studies.asking import no_such
from loopwright.studies.bench import Bench
from loopwright.studies.evaluating_forms import Array, Evaluation, Result, Shared, Sweep
from loopwright.studies.recording import Typed, Worked, calibration_of
from loopwright.units import Dimension

MOST_POSES = 500
"""Values of one sweep; more say nothing that these do not."""

SAME_PLACE = 1e-6
"""Positions that differ by less are one, mm."""


def typed_of(
    bench: Bench,
    found: Evaluation,
    of: str,
    *,
    take: str | None = None,
    item: str | None = None,
    opposite: bool = False,
    note: str | None = None,
    state: int | None = None,
    key: str | None = None,
) -> Typed:
    """An evaluation as a reading of a dim, a test or an item, with the raw readings kept beside it.

    A dim, an item and a test of one pose take one result; a test over a sweep takes the values along it, with the
    whole of their covariance.

    Args:
        bench: the build as it stands.
        found: the evaluation.
        of: 'part/dim', the name of a test, or kind/what of an item.
        take: name of the result, or its beginning; left out, the one that is meant for such a thing, else the headline.
        item: serial, of one of several items.
        opposite: the sign is turned: the test counts the other way round.
        note: anything to know.
        state: number of the state; None takes the newest.
        key: makes the names of errors that only these values share their own; left out, one that nothing else has.

    Raises:
        RequestError: there is no such dim or test, or what was found is not what it takes.
    """
    test = bench.build.tests.get(of) if item is None else None
    if test is None and item is None and bench.build.dim(of) is None and of not in bench.build.closures:
        raise no_such(bench, of)
    sign = -1.0 if opposite else 1.0
    if test is not None and take is None and _poses(bench, of, test) > 1:
        worked = _swept(bench, found, of, test, sign, key or uuid4().hex[:12])
    else:
        worked = _single(bench, found, of, test, item, take, sign)
    return Typed(
        of,
        (),
        item=item,
        gauge=found.reading.gauge,
        taken=found.given.taken,
        note=note,
        state=state,
        worked=worked,
    )


def _poses(bench: Bench, of: str, test: Test) -> int:
    return max((len(values) for values in poses_of(bench.build, test, of).values()), default=1)


def _single(
    bench: Bench,
    found: Evaluation,
    of: str,
    test: Test | None,
    item: str | None,
    take: str | None,
    sign: float,
) -> Worked:
    """One result as the value of a dim, a test of one pose, or an item."""
    if test is not None and _poses(bench, of, test) > 1:
        raise RequestError(f"'{of}' is read at several poses", "leave 'take' out, so that the sweep is taken")
    dimension, nominal, wanted = _wanted(bench, of, test, item)
    result = _chosen(found, take, dimension, wanted)
    if result.value is None or result.u is None or not np.isfinite(result.u):
        raise RequestError(
            f"'{result.name}' has no value that could be entered", result.note or "take another result"
        )
    if result.dimension is not dimension:
        raise RequestError(
            f"'{of}' is {dimension.with_article}, and '{result.name}' is {result.dimension.with_article}",
            "take one that fits: " + (_listed(found, dimension) or "none was found"),
        )
    value = sign * result.value + (nominal if result.fits == "right angle" and abs(nominal) > 1 else 0.0)
    notes = [f"{result.name}, by {found.kind.name}"]
    if sign < 0:
        notes.append("with its sign turned")
    return Worked(
        Evaluated(
            values=(value,),
            stds=(result.u,),
            contributions=tuple(Contribution(name=one.name, std=one.std) for one in result.parts),
            expanded=found.factor * result.u,
            notes=(*notes, *found.reading.remarks),
        ),
        _method(found, result.name),
        dimension,
    )


def _wanted(
    bench: Bench, of: str, test: Test | None, item: str | None
) -> tuple[Dimension, float, tuple[str, ...]]:
    """Dimension and nominal of what is to be entered, and what results are meant for it."""
    if test is not None:
        return test.dimension, 0.0, (test.component,) if isinstance(test.component, str) else ()
    dim = bench.build.dim(of)
    if dim is None:
        return Dimension.LENGTH, 0.0, (of.partition("/")[2],) if item is not None else ()
    square = dim.dimension is Dimension.ANGLE and abs(dim.nominal - pi / 2) < 0.1
    return dim.dimension, dim.nominal, ("right angle",) if square else ()


def _chosen(found: Evaluation, take: str | None, dimension: Dimension, wanted: tuple[str, ...]) -> Result:
    if take is not None:
        plain = take.strip().casefold()
        named = [one for one in found.results if one.name.casefold() == plain]
        named = named or [one for one in found.results if one.name.casefold().startswith(plain)]
        if len(named) != 1:
            known = ", ".join(f"'{one.name}'" for one in found.results)
            what = f"no result is called '{take}'" if not named else f"several results begin with '{take}'"
            raise RequestError(what, f"there are: {known}")
        return named[0]
    meant = [one for one in found.results if one.fits and one.fits in wanted]
    return next(iter(meant), found.headline)


def _listed(found: Evaluation, dimension: Dimension) -> str:
    return ", ".join(f"'{one.name}'" for one in found.results if one.dimension is dimension)


def _method(found: Evaluation, result: str) -> Method:
    return found.method.model_copy(update={"result": result[:200]})


def _swept(bench: Bench, found: Evaluation, of: str, test: Test, sign: float, key: str) -> Worked:
    """Values along a sweep, for a test that is swept along one axis."""
    sweep = found.sweep
    if sweep is None:
        raise RequestError(
            f"'{of}' takes a value at each pose, and {found.kind.name} gives no sweep",
            "name a dim, or a test of one pose",
        )
    _fits(of, test, sweep)
    letter = _axis(bench, of, test, sweep)
    own = np.eye(len(sweep.values)) if sweep.rows is None else sweep.rows
    own, values = sign * own, sign * sweep.values
    zeroed = test.zeroed.how != "none"
    if zeroed and not own.any(axis=1).all():
        # one height is zero by definition; about their mean each has its share of what is unknown
        own, values = own - own.mean(axis=0), values - values.mean()
    stds, effects = _parted(own * found.reading.own, f"{of}, {found.kind.name} {key}", zeroed=zeroed)
    readings = len(effects)
    if found.reading.shared and found.reading.gauge is not None:
        effects.append(
            _effect(calibration_of(found.reading.gauge, 0.0), found.reading.shared, own.sum(axis=1))
        )
    effects += [_effect(_name(test, one, key), one.std, sign * one.column) for one in sweep.shared]
    effects += _form(bench, of, test, sweep)
    u = _stds(stds, effects)
    worst = int(np.argmax(u))
    own_poses = _same_places(poses_of(bench.build, test, of)[letter], sweep.positions)
    evaluated = Evaluated(
        values=tuple(values.tolist()),
        stds=tuple(stds.tolist()),
        effects=tuple(one for one in effects if one.std > 0 and any(one.column)),
        contributions=_lines(stds, effects, worst, readings),
        expanded=float(found.factor * u[worst]),
        notes=_said(found, sweep, sign),
    )
    poses = {} if own_poses else {letter: tuple(sweep.positions.tolist())}
    return Worked(evaluated, _method(found, sweep.what), sweep.dimension, poses, sweep.turned)


def _stds(stds: Array, effects: Sequence[Effect]) -> Array:
    """Standard uncertainty of each value with all that it shares, (m,)."""
    shared = sum(((one.std * np.array(one.column)) ** 2 for one in effects), stds**2)
    return np.asarray(np.sqrt(shared))


def _lines(stds: Array, effects: Sequence[Effect], worst: int, readings: int) -> tuple[Contribution, ...]:
    """The budget of the least known value; the first effects are those of the readings themselves."""
    own = float(_stds(stds, effects[:readings])[worst])
    lines = [Contribution(name="readings", std=own)]
    lines += [
        Contribution(name=one.name, std=one.std * abs(one.column[worst]), shared=True)
        for one in effects[readings:]
    ]
    return tuple(one for one in lines if one.std > 0)


def _fits(of: str, test: Test, sweep: Sweep) -> None:
    """Whether a test leaves open what the sweep leaves open, and takes such a value."""
    if sweep.dimension is not test.dimension:
        raise RequestError(
            f"'{of}' is {test.dimension.with_article}, and {sweep.what} is {sweep.dimension.with_article}",
            "name a test that fits",
        )
    if sweep.zero == "line" and test.zeroed.how != "line":
        raise RequestError(
            f"{sweep.what} leaves offset and slope open, and '{of}' is not zeroed by a line",
            "name a test with 'zeroed: line'; for squareness use an evaluation of squareness",
        )
    if sweep.zero == "mean" and test.zeroed.how == "none":
        raise RequestError(
            f"{sweep.what} leaves its zero open, and '{of}' is not zeroed", "name a test that is zeroed"
        )
    if len(sweep.values) > MOST_POSES:
        raise RequestError(
            f"the sweep has {len(sweep.values)} values; {MOST_POSES} is the most",
            "evaluate every n-th of them",
        )


def _axis(bench: Bench, of: str, test: Test, sweep: Sweep) -> str:
    """The one axis along which a test is swept; every position lies in its travel."""
    letters = [letter for letter, span in test.over.items() if span.start != span.end]
    if len(letters) != 1:
        raise RequestError(
            f"'{of}' is swept along {len(letters)} axes", "name a test that is swept along one axis"
        )
    (letter,) = letters
    travel = bench.build.joints[bench.build.axes()[letter]].travel
    low, high = float(sweep.positions.min()), float(sweep.positions.max())
    if travel is not None and not (travel[0] - SAME_PLACE <= low and high <= travel[1] + SAME_PLACE):
        unit = bench.build.units.length
        ends = [units.format_value(one, Dimension.LENGTH, unit, digits=6) for one in (low, high, *travel)]
        raise RequestError(
            f"positions from {ends[0]} to {ends[1]} are beyond the travel of {letter}, {ends[2]} to {ends[3]}",
            f"give positions of the axis {letter}, and not along the artefact",
        )
    return letter


def _same_places(own: Array, found: Array) -> bool:
    return len(own) == len(found) and bool(np.allclose(own, found, rtol=0, atol=SAME_PLACE))


def _parted(weights: Array, name: str, *, zeroed: bool) -> tuple[Array, list[Effect]]:
    """Standard uncertainty of each value on its own, and what they have in common, of weights in unit readings.

    The covariance V = W Wᵀ is D + F Fᵀ exactly, D diagonal: its own where V is diagonal; else the largest multiple of
    one that leaves no negative variance, and F from the eigenvectors of what is left. Of a zeroed test any multiple
    of 1 1ᵀ may be added to V, as the unknown zero takes it out.
    """
    covariance = weights @ weights.T
    if np.abs(covariance - np.diag(np.diag(covariance))).max() <= 1e-12 * np.abs(covariance).max():
        return np.sqrt(np.diag(covariance)), []
    if zeroed:
        covariance = covariance + np.diag(covariance).mean()
    sizes, axes = np.linalg.eigh(covariance)
    least = max(float(sizes[0]), 0.0)
    kept = sizes - least > 1e-12 * sizes[-1]
    effects = [
        _effect(f"{name}, {number}", float(np.sqrt(size - least)), axis)
        for number, (size, axis) in enumerate(zip(sizes[kept], axes.T[kept]), 1)
    ]
    return np.full(len(covariance), np.sqrt(least)), effects


def _effect(name: str, std: float, column: Array) -> Effect:
    return Effect(name=name[:200], std=std, column=tuple(np.asarray(column, float).tolist()))


def _name(test: Test, shared: Shared, key: str) -> str:
    """A square's error stays with the artefact whenever it is used; anything else is of these readings alone."""
    kept = shared.stays and test.artefact is not None
    return f"{shared.name} of {test.artefact}" if kept else f"{shared.name}, {key}"


def _form(bench: Bench, of: str, test: Test, sweep: Sweep) -> list[Effect]:
    """Form of the test's artefact, as where its readings are entered directly."""
    if test.artefact is None or sweep.turned or sweep.rows is not None:
        return []
    std = standard_uncertainty(bench.build.artefacts[test.artefact].straightness, bench.build.assume)
    count = len(sweep.values)
    return [
        _effect(f"form of {test.artefact} in {of}, {number + 1}", std, np.eye(count)[number])
        for number in range(count)
    ]


def _said(found: Evaluation, sweep: Sweep, sign: float) -> tuple[str, ...]:
    said = [f"{sweep.what}, by {found.kind.name}"]
    if sign < 0:
        said.append("with its sign turned")
    if sweep.turned:
        said.append("the artefact was turned over, so its own error cancels")
    return (*said, *found.reading.remarks)


def words_of(method: Method) -> str:
    """What readings were worked out of, in words: 'from straightedge reversal, 2 x 9 readings'.

    >>> from loopwright.studies.evaluating import evaluate, example_of, kind_of
    >>> words_of(evaluate(example_of(kind_of("straightedge reversal"))).method)
    'from straightedge reversal, 2 x 5 readings'
    """
    counts = [sum(one is not None for one in column.numbers) for column in method.columns if column.reading]
    if len(set(counts)) == 1 and len(counts) > 1:
        many = f"{len(counts)} x {counts[0]} readings"
    else:
        total = sum(counts)
        many = "1 reading" if total == 1 else f"{total} readings"
    return f"from {method.evaluation}, {many}"
