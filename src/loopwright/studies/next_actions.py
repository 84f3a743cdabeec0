"""The most worthwhile things to do next: read, set, decide, look again."""

from dataclasses import dataclass

from loopwright.asbuilt.surprise import SECOND_LOOK
from loopwright.asbuilt.worth import Prospect
from loopwright.errors import RequestError
from loopwright.model.records import Reading
from loopwright.studies.as_built import Action, StandingAsBuilt
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.fitup_bench import fitup_step
from loopwright.studies.next_readings import NextReadings, next_readings, prospect_of
from loopwright.studies.recording import limits_of

SHOWN = 3
WORTH_SETTING = 0.02
"""Setting is worth while that takes this share of a limit off an expected error; common practice."""


@dataclass(frozen=True)
class Todo:
    """What to do next.

    Attributes:
        actions: the most worthwhile first.
        nothing_more: why nothing more is worth reading or setting; '' where something is.
    """

    actions: tuple[Action, ...]
    nothing_more: str


def next_actions(bench: Bench, standing: StandingAsBuilt, *, most: int = SHOWN) -> Todo:
    """What to do next, the most worthwhile first, and why there is no more of it.

    First what makes everything else doubtful: a reading that surprises. Then what is decided by it: parts out of
    tolerance without a concession. Then what gains most for a minute: setting what is known to be off, or reading.
    What gains nothing that could be seen is not proposed.

    Args:
        bench: the build as it stands.
        standing: of it, for the surprises and targets.
        most: how many.
    """
    first = [*_look_again(bench, standing), *_decide(bench)]
    names = [target.name for target in standing.targets]
    if not names:
        return Todo(tuple(first[:most]), "")
    found = next_readings(bench, targets=names, with_chance=SHOWN)
    then = [*_set(bench, standing, prospect_of(bench, names)), *_read(found)]
    return Todo(tuple([*first, *then][:most]), "" if then else _nothing_more(standing, found))


def _nothing_more(standing: StandingAsBuilt, found: NextReadings) -> str:
    """Why nothing more is worth reading or setting, and what would help a target that is not held yet."""
    missed = [target for target in standing.targets if not target.meets]
    if not missed:
        asked = f"every limit is held with the {standing.confidence:.0%} that is asked for"
        return f"{asked}; {found.nothing}"
    worst = min(missed, key=lambda target: target.chance)
    if worst.known > worst.unknown:
        helps = f"what is off at '{worst.name}' is known, and nothing that can be set takes it out"
    else:
        unseen = next((known.name for known in standing.unresolved if not known.resolved_by), None)
        helps = f"'{worst.name}' is not held yet" + (
            "" if unseen is None else f", and no test is declared that shows '{unseen}': add one"
        )
    return f"{helps}; {found.nothing}"


def _look_again(bench: Bench, standing: StandingAsBuilt) -> list[Action]:
    kept = {entry.number for entry, reading in bench.having(Reading) if reading.kept}
    asking = [look for look in standing.surprises if look.surprise > SECOND_LOOK and look.entry not in kept]
    return [
        Action(
            f"read {look.name} again: entry {look.entry} is {look.surprise:.1f} standard uncertainties from "
            "what everything else says",
            "look again",
            "until then the rest cannot be trusted",
            None,
            f"loopwright record '{look.name}' … --instead-of {look.entry}",
            str(look.entry),
        )
        for look in sorted(asking, key=lambda look: -look.surprise)
    ]


def _decide(bench: Bench) -> list[Action]:
    settled = {dim for c in bench.concessions() for dim in c.dims}
    out = []
    beyond = _beyond_limits(bench)
    for path in bench.readings_of_dims:
        # what was ground to size is as it was asked for, whatever the drawing says
        if beyond[path] and path not in settled and path not in bench.sizes:
            part = path.partition("/")[0]
            out.append(
                Action(
                    f"decide on '{part}': {path} is out of tolerance",
                    "decide",
                    "use as is, compensate, match or remake",
                    None,
                    f"loopwright concede '{part}'",
                    part,
                )
            )
    return out


def _beyond_limits(bench: Bench) -> dict[str, bool]:
    """Whether each dim that was read is out of its limits; kept until it is read or the machine changed again."""
    states, kept = bench.kept.get("beyond limits", ([], {}))
    now = bench.states()
    out: dict[str, tuple[list[Reading], bool]] = {}
    for path, readings in bench.readings_of_dims.items():
        was = kept.get(path) if states == now else None
        out[path] = was if was is not None and was[0] == readings else (readings, _is_beyond(bench, path))
    bench.kept["beyond limits"] = now, out
    return {path: beyond for path, (_, beyond) in out.items()}


def _is_beyond(bench: Bench, path: str) -> bool:
    limits, found = limits_of(bench, path), dim_from_readings(bench, path)
    if limits is None or found is None:
        return False
    value, std, _ = found
    return max(limits[0] - value, value - limits[1]) > 2 * std


def _set(bench: Bench, standing: StandingAsBuilt, prospect: Prospect) -> list[Action]:
    """Setting what is known to be off, where that takes a visible share of a limit."""
    if not prospect.adjusts:
        return []
    now = [target.expected for target in standing.targets]
    then = prospect.now(chance=False)
    limits = [target.limit for target in standing.targets]
    # no step of the fit-up does better than everything set together, and as finely as one likes
    if max((a - b.adjusted) / limit for a, b, limit in zip(now, then, limits)) < WORTH_SETTING:
        return []
    worth = [step for step in _steps_that_set(bench) if step[1] >= WORTH_SETTING]
    if not worth:
        return []
    _, gain, step, target = max(worth)
    return [
        Action(
            f"step {step}, {bench.build.fit_up[step - 1].step}: set it as its readings say",
            "set",
            f"takes {100 * gain:.0f} % of its limit off the expected error of '{target}'",
            None,
            f"loopwright fitup step {step}",
            str(step),
        )
    ]


def _steps_that_set(bench: Bench) -> list[tuple[bool, float, int, str]]:
    """Steps that would set something: all their readings are in, gain as a share of a limit, number, that target."""
    out = []
    for number, step in enumerate(bench.build.fit_up, 1):
        if not step.adjust:
            continue
        try:
            found = fitup_step(bench, number)
        except RequestError:  # it sets what cannot be set; the step says so where it is asked for
            continue
        gains = [((now - then) / limit, name) for name, _, limit, now, then in found.targets]
        if gains and any(one.change for one in found.to_set):
            out.append((found.verdict == "set", max(gains)[0], number, max(gains)[1]))
    return out


def _read(found: NextReadings) -> list[Action]:
    out = []
    for worth in found.worthwhile[:SHOWN]:
        was, then = worth.of_target
        chances = "" if was.chance is None or then.chance is None else _chances(was.chance, then.chance)
        what = "what is left of it when set" if worth.of == "adjusted" else "what is not known of it"
        out.append(
            Action(
                f"read {worth.name}",
                "read",
                f"takes {max(round(100 * worth.gain), 1)} % of the limit of '{worth.target}' off {what}{chances}",
                worth.minutes,
                f"loopwright record '{worth.name}' …",
                worth.name,
            )
        )
    return out


def _chances(was: float, then: float) -> str:
    return f"; chance {100 * was:.0f} -> {100 * then:.0f} %" if abs(then - was) >= 0.01 else ""
