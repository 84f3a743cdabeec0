"""The most worthwhile things to do next: read, set, decide, look again."""

from loopwright.asbuilt.surprise import SECOND_LOOK
from loopwright.asbuilt.worth import Prospect
from loopwright.model.records import Reading
from loopwright.studies.as_built import Action, StandingAsBuilt
from loopwright.studies.bench import Bench
from loopwright.studies.conceding import dim_from_readings
from loopwright.studies.next_readings import NextReadings, next_readings, prospect_of
from loopwright.studies.recording import limits_of

SHOWN = 3
WORTH_SETTING = 0.02
"""Setting is worth while that takes this share of a limit off an expected error; common practice."""


def next_actions(bench: Bench, standing: StandingAsBuilt, *, most: int = SHOWN) -> tuple[Action, ...]:
    """What to do next, the most worthwhile first.

    First what makes everything else doubtful: a reading that surprises. Then what is decided by it: parts out of
    tolerance without a concession. Then what gains most for a minute: setting what is known to be off, or reading.

    Args:
        bench: the build as it stands.
        standing: of it, for the surprises and targets.
        most: how many.
    """
    out = [*_look_again(bench, standing), *_decide(bench)]
    worst = max(standing.targets, key=lambda t: t.expected / t.limit, default=None)
    names = [target.name for target in standing.targets]
    prospect = prospect_of(bench, names) if worst is not None else None
    if prospect is not None:
        out += _set(bench, standing, prospect)
        out += _read(next_readings(bench, targets=names, with_chance=SHOWN))
    return tuple(out[:most])


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
        )
        for look in sorted(asking, key=lambda look: -look.surprise)
    ]


def _decide(bench: Bench) -> list[Action]:
    settled = {dim for c in bench.concessions() for dim in c.dims}
    out = []
    for path in bench.readings_of_dims:
        limits, found = limits_of(bench, path), dim_from_readings(bench, path)
        # what was ground to size is as it was asked for, whatever the drawing says
        if path in settled or path in bench.sizes or limits is None or found is None:
            continue
        value, std, _ = found
        beyond = max(limits[0] - value, value - limits[1])
        if beyond > 2 * std:
            part = path.partition("/")[0]
            out.append(
                Action(
                    f"decide on '{part}': {path} is out of tolerance",
                    "decide",
                    "use as is, compensate, match or remake",
                    None,
                    f"loopwright concede '{part}'",
                )
            )
    return out


def _set(bench: Bench, standing: StandingAsBuilt, prospect: Prospect) -> list[Action]:
    """Setting what is known to be off, where that takes a visible share of a limit."""
    if not prospect.adjusts:
        return []
    now = [target.expected for target in standing.targets]
    then = prospect.now(chance=False)
    limits = [target.limit for target in standing.targets]
    gain = max((a - b.adjusted) / limit for a, b, limit in zip(now, then, limits))
    if gain < WORTH_SETTING:
        return []
    step = _step_that_sets(bench)
    where = f"loopwright fitup step {step}" if step else "loopwright fitup step NUMBER"
    return [
        Action(
            "set the adjusters by what is known now" + (f" (step {step})" if step else ""),
            "set",
            f"takes {100 * gain:.0f} % of a limit off an expected error",
            None,
            where,
        )
    ]


def _step_that_sets(bench: Bench) -> int | None:
    """The last step of the fit-up that sets something and whose readings are in, or None."""
    read = {r.of for _, r in bench.having(Reading) if r.state == bench.state}
    setting = [(n, step) for n, step in enumerate(bench.build.fit_up, 1) if step.adjust and step.read]
    ready = [n for n, step in setting if set(step.read) <= read]
    begun = [n for n, step in setting if set(step.read) & read]
    return max(ready or begun, default=setting[-1][0] if setting else None)


def _read(found: NextReadings) -> list[Action]:
    out = []
    for worth in found.ranked[:SHOWN]:
        if worth.gain <= 0:
            continue
        falls = [
            (a.unknown - b.unknown) / limit
            for a, b, (_, _, limit) in zip(worth.now, worth.then, found.targets)
        ]
        number = falls.index(max(falls))
        name = found.targets[number][0]
        was, then = worth.now[number], worth.then[number]
        chances = "" if was.chance is None or then.chance is None else _chances(was.chance, then.chance)
        out.append(
            Action(
                f"read {worth.name}",
                "read",
                f"takes {100 * falls[number]:.0f} % of the limit of '{name}' off what is not known of it{chances}",
                worth.minutes,
                f"loopwright record '{worth.name}' …",
            )
        )
    return out


def _chances(was: float, then: float) -> str:
    return f"; chance {100 * was:.0f} -> {100 * then:.0f} %" if abs(then - was) >= 0.01 else ""
