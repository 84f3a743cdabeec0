"""What may have been meant by a reading that is doubted: the same reading, typed as it would then have been."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright import units
from loopwright.measuring.plausibility import Alternative, SweepDoubt
from loopwright.studies.bench import Bench
from loopwright.studies.recording import Considered, Typed
from loopwright.units import Dimension

MOST = 5


@dataclass(frozen=True)
class Meant:
    """One thing that may have been meant.

    Attributes:
        what: the slip, in words.
        shown: the value, or the first values, as they would have been typed.
        typed: the reading as it would have been typed; None where that cannot be said of it, as where every value
            has repeats.
    """

    what: str
    shown: str
    typed: Typed | None


def meanings(bench: Bench, typed: Typed, considered: Considered, *, most: int = MOST) -> tuple[Meant, ...]:
    """What may have been meant by a reading that is doubted, the likeliest first.

    Args:
        bench: the build as it stands.
        typed: what was typed.
        considered: what came of it.
        most: how many.
    """
    doubt, reading = considered.doubt, considered.reading
    if doubt is None:
        return ()
    values = list(reading.evaluated.values)
    out: list[tuple[str, list[float], int | None]] = []
    if isinstance(doubt, SweepDoubt) and doubt.at_place is not None and doubt.place is not None:
        for one in doubt.at_place.alternatives:
            changed = [*values]
            changed[doubt.place] = _single(one)
            out.append((f"value {doubt.place + 1}: {one.what}", changed, doubt.place))
    for one in doubt.alternatives:
        whole = list(one.value) if isinstance(one.value, Sequence) else [float(one.value)]
        out.append((one.what, whole, None))
    return tuple(_meant(bench, typed, considered, *one) for one in out[:most])


def _single(one: Alternative) -> float:
    return float(one.value) if isinstance(one.value, float | int) else float(one.value[0])


def _meant(
    bench: Bench, typed: Typed, considered: Considered, what: str, values: list[float], place: int | None
) -> Meant:
    reading, dimension = considered.reading, considered.dimension
    unit = typed.unit or (
        bench.build.units.shown(dimension)
        if reading.subject == "test"
        else bench.build.units.bare()[dimension]
    )
    step = bench.gauge(reading.gauge).resolution if reading.gauge is not None else 0.0
    single = len(reading.raw) == len(values) and all(len(repeats) == 1 for repeats in reading.raw)
    # what was typed and what was made of it differ by corrections, which stay as they were
    offsets = (
        [repeats[0] - value for repeats, value in zip(reading.raw, reading.evaluated.values)]
        if single
        else []
    )
    numbers = [v + off for v, off in zip(values, offsets)] if single else values
    texts = [_text(number, dimension, unit, step) for number in numbers]
    shown = texts[place] if place is not None else ", ".join(texts[:3]) + (", …" if len(texts) > 3 else "")
    if not single:
        return Meant(what, f"{shown} {unit}", None)
    was = "; ".join(" ".join(repeats) for repeats in typed.values)
    note = f"typed as {was[:80]}, taken as {what}"
    new = replace(
        typed,
        values=[[text] for text in texts],
        unit=unit,
        note=note if typed.note is None else f"{typed.note}; {note}",
    )
    return Meant(what, f"{shown} {unit}", new)


def _text(value: float, dimension: Dimension, unit: str, step: float) -> str:
    """A value as the gauge would have shown it."""
    if step > 0:
        value = round(value / step) * step
    text = f"{float(units.convert(value, dimension, unit)):.9f}"
    return text.rstrip("0").rstrip(".") or "0"
