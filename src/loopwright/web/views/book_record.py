"""What stands in an entry, kind by kind."""

import json
from collections.abc import Sequence
from typing import Any

from loopwright.model.indications import axis_dimension
from loopwright.model.records import (
    Calibration,
    ColumnsKept,
    Concession,
    Reading,
    Revision,
    State,
    Stock,
    Verdict,
)
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.bench import Bench
from loopwright.studies.entry_told import EntryTold, Fit
from loopwright.studies.fitup_progress import Made
from loopwright.units import Dimension
from loopwright.web.views.address import path_of as path_of_thing
from loopwright.web.views.book import difference_of
from loopwright.web.views.book_words import about_path, change_words, typed_unit
from loopwright.web.views.fit_up_figures import Curve, legend, minus, size_words, stands_words, sweep
from loopwright.web.views.gauges import path_of as path_of_gauge
from loopwright.web.views.kit import chance, chip, more, paper
from loopwright.web.wording import say

FACTS = "entry-facts"


def body_of(bench: Bench, shown: Shown, told: EntryTold) -> list[Markup | None]:
    """The parts of an entry's page that say what stands in it."""
    record: Any = told.line.entry.record
    match record:
        case Reading():
            return reading(bench, shown, told, record)
        case State():
            return [state(shown, record, told.made)]
        case Revision():
            return [_revision(told, record)]
        case Calibration():
            return [_calibration(bench, shown, record)]
        case Concession():
            return [_concession(bench, record)]
        case Verdict():
            return [_verdict(bench, shown, record)]
        case Stock():
            return [_stock(shown, record)]
        case ColumnsKept():
            kept = json.dumps(record.columns, ensure_ascii=False, indent=2)
            return [paper(say("book.columns_kept"), tag("pre", kept, class_="difference", tabindex="0"))]
    return []


def facts(*pairs: tuple[str, Child]) -> Markup:
    """Names with what stands for them; what is empty is left out."""
    cells = [tag("div", tag("dt", name), tag("dd", value)) for name, value in pairs if value]
    return tag("dl", *cells, class_=FACTS)


# readings


def reading(bench: Bench, shown: Shown, told: EntryTold, record: Reading) -> list[Markup | None]:
    """A reading: raw as typed, evaluated, its uncertainty, and how it fits."""
    dimension = told.dimension or Dimension.LENGTH
    return [
        paper(
            say("book.reading"),
            _of_reading(bench, shown, told, record),
            _values(shown, told, record, dimension),
        ),
        _fit(shown, told, record, dimension),
        _uncertainty(shown, record, dimension),
        _method(record),
    ]


def _of_reading(bench: Bench, shown: Shown, told: EntryTold, record: Reading) -> Markup:
    gauge = record.gauge or ""
    known = gauge in bench.build.gauges
    warm = [
        None if one is None else f"{one.value:.4g} °C" + (f" ± {one.std:.2g} K" if one.std else "")
        for one in (record.part_temperature, record.gauge_temperature)
    ]
    limits = told.limits
    return facts(
        (say("book.subject"), tag("a", record.of, href=about_path(record.of))),
        (say("book.other_dim"), record.against),
        (say("book.item"), record.item),
        (say("book.with"), tag("a", gauge, href=path_of_gauge(gauge)) if known else gauge),
        (say("book.of_state"), str(record.state)),
        (say("book.limits"), None if limits is None else _limits(shown, limits, told, record)),
        (say("book.taken"), (record.taken or "")[:16].replace("T", " ")),
        (say("book.part_temperature"), warm[0]),
        (say("book.gauge_temperature"), warm[1]),
        (say("book.both_directions"), say("book.yes") if record.both_directions else None),
        (say("book.turned"), say("book.yes") if record.turned else None),
        (say("book.note"), record.note),
    )


def _limits(shown: Shown, limits: tuple[float, float], told: EntryTold, record: Reading) -> str:
    dimension = told.dimension or Dimension.LENGTH
    if record.subject == "test":
        return f"± {shown.limit(limits[1], dimension)}"
    low, high = (size_words(shown, value, dimension) for value in limits)
    return f"{low} … {high}"


def _values(shown: Shown, told: EntryTold, record: Reading, dimension: Dimension) -> Markup:
    """Raw as typed beside what was made of it; the fit where it is known."""
    fit, values, unit = told.fit, record.evaluated, typed_unit(record, dimension)
    compared = len(values.values) != len(record.raw)
    names = pose_names(shown, told, len(record.raw))
    head = [say("book.pose"), say("book.as_typed")]
    head += [] if compared else [">" + say("book.evaluated"), ">" + say("book.known_to")]
    head += [] if compared or fit is None else [">" + say("book.off")]
    rows: list[list[Child]] = []
    for k, name in enumerate(names):
        typed = ", ".join(record.typed[k]) if k < len(record.typed) else ""
        typed += f" {unit}" if typed and unit else ""
        cells: list[Child] = [name, tag("span", typed, class_="typed")]
        if not compared:
            std = values.stds[k]
            cells += [
                _value(shown, values.values[k], std, dimension, record),
                f"± {shown.error(std, dimension)}" if std else "—",
            ]
            if fit is not None:
                cells.append(minus(f"{fit.each[k]:+.1f}"))
        rows.append(cells)
    shown_table = table(head, rows, class_="blocks poses-read")
    if not compared:
        return shown_table
    difference = _value(shown, values.values[0], values.stds[0], dimension, record)
    words = f"{say('book.evaluated')}: {difference} ± {shown.error(values.stds[0], dimension)}"
    return joined(shown_table, tag("p", words))


def _value(shown: Shown, value: float, std: float, dimension: Dimension, record: Reading) -> str:
    if record.subject == "test" or record.against is not None:
        return (
            minus(shown.error_known(value, std, dimension, sign=True))
            if std
            else minus(shown.limit(value, dimension))
        )
    return size_words(shown, value, dimension, std)


def pose_names(shown: Shown, told: EntryTold, count: int) -> list[str]:
    """Where each value was read: the place of the axis that moves, a whole pose, the dim, or its number."""
    record = told.line.entry.record
    assert isinstance(record, Reading)
    if len(told.poses) == count and count > 1:
        if told.moving:
            return [shown.position(told.moving, pose[told.moving]) for pose in told.poses]
        return [shown.pose(pose) for pose in told.poses]
    if record.against is not None and count == 2:
        return [record.of, record.against]
    return [record.of] if count == 1 else [str(k) for k in range(1, count + 1)]


def _fit(shown: Shown, told: EntryTold, record: Reading, dimension: Dimension) -> Markup | None:
    fit = told.fit
    if fit is None:
        return None
    surprise = tag(
        "p",
        say("book.fit_surprise"),
        " ",
        tag("b", f"{fit.surprise:.1f}"),
        tag("span", f": {say('book.fit_surprise_told')}", class_="beside"),
    )
    if told.moving and len(fit.found) > 1:
        return paper(
            say("book.fit"),
            tag("p", say("book.fit_told"), class_="note"),
            fit_figure(shown, told, fit, dimension),
            surprise,
        )
    size_found, size_expected, std = fit.sizes(told.nominal)[0]
    if record.subject in ("dim", "gap") and record.against is None:
        found, expected = (size_words(shown, v, dimension, std) for v in (size_found, size_expected))
    else:
        found, expected = (
            minus(shown.error_known(v, std, dimension, sign=True)) for v in (size_found, size_expected)
        )
    words = say("book.fit_one", found=found, expected=expected, std=shown.error(std, dimension))
    return paper(say("book.fit"), tag("p", words) if len(fit.found) == 1 else None, surprise)


def fit_figure(shown: Shown, told: EntryTold, fit: Fit, dimension: Dimension) -> Markup:
    """A sweep as it was found beside what was expected of it."""
    letter, unit = told.moving, shown.unit(dimension)
    at = [pose[letter] for pose in told.poses]
    names = [shown.position(letter, place).split(" ", 1)[1] for place in at]
    turns = axis_dimension(letter) is Dimension.ANGLE

    def numbers(values: Sequence[float]) -> tuple[float, ...]:
        return tuple(shown.number(v, dimension) for v in values)

    curves = [
        Curve(numbers(fit.expected), numbers(fit.std), "hollow", say("book.fit_expected")),
        Curve(numbers(fit.found), (), "solid", say("book.fit_found")),
    ]
    axis = f"{letter}, {'deg' if turns else shown.units.length}"
    bare = [name.split(" ")[0] for name in names]
    return joined(
        sweep(at, bare, curves, unit, axis),
        legend(("round", "solid", say("book.fit_found")), ("round", "hollow", say("book.fit_expected"))),
    )


def _uncertainty(shown: Shown, record: Reading, dimension: Dimension) -> Markup | None:
    found = record.evaluated
    lines = [
        (
            one.name,
            f"± {shown.error(one.std, dimension)}",
            say(f"book.how_{one.how}"),
            "∞" if one.dof is None else f"{one.dof:.3g}",
            say("book.yes") if one.shared else "—",
        )
        for one in found.contributions
    ]
    head = (
        say("book.contribution"),
        ">" + say("book.standard"),
        say("book.how"),
        ">" + say("book.freedom"),
        say("book.shared"),
    )
    whole = (
        None if found.expanded is None else say("book.expanded", value=shown.error(found.expanded, dimension))
    )
    if not lines and whole is None and not found.notes:
        return None
    effects = [(one.name, f"± {shown.error(one.std, dimension)}") for one in found.effects]
    return paper(
        say("book.uncertainty"),
        table(head, lines, class_="blocks") if lines else None,
        tag("p", whole) if whole else None,
        more(
            say("book.effects"),
            table((say("book.effect"), ">" + say("book.standard")), effects),
            id="effects",
        )
        if effects
        else None,
        tag("ul", *[tag("li", note) for note in found.notes], class_="plain") if found.notes else None,
    )


def _method(record: Reading) -> Markup | None:
    method = record.method
    if method is None:
        return None
    count = max((len(column.typed) for column in method.columns), default=0)
    head = ["", *[f"{one.name}, {one.unit}" if one.unit else one.name for one in method.columns]]
    rows = [
        [str(k + 1), *[one.typed[k] if k < len(one.typed) else "" for one in method.columns]]
        for k in range(count)
    ]
    settings = [(name, value) for name, value in method.settings.items()]
    return paper(
        f"{say('book.method')} {method.evaluation}",
        facts(*settings, (say("book.file"), method.file), (say("book.value"), method.result)),
        more(say("book.method_table"), table(head, rows, class_="blocks poses-read"), id="method"),
    )


# everything else


def state(shown: Shown, record: State, made: Made | None) -> Markup:
    """A state of the machine: what was done, asked for and reached."""
    rows = [
        (
            one.name,
            stands_words(shown, one.value, one.dimension, one.what, one.std)
            if one.value is not None
            else _exchanged(one.item),
            "—"
            if one.planned is None
            else stands_words(shown, one.planned, one.dimension, one.what, one.std),
            f"± {shown.error(one.std, one.dimension)}" if one.std else "—",
            f"± {shown.error(one.lock_std, one.dimension)}" if one.lock_std else "—",
        )
        for one in (() if made is None else made.things)
    ]
    head = (
        say("book.thing"),
        ">" + say("book.stands"),
        ">" + say("book.asked"),
        ">" + say("book.hit"),
        ">" + say("book.lock"),
    )
    return paper(
        say("book.done"),
        facts(
            (say("book.reason"), record.reason),
            (say("book.cause"), say(f"book.cause_{record.cause}")),
            (say("book.step"), record.step),
        ),
        table(head, rows, class_="blocks") if rows else None,
    )


def _exchanged(item: str | None) -> str:
    return (
        say("book.change_renewed_item", of="", item=item).strip()
        if item
        else say("book.change_renewed", of="").strip()
    )


def _revision(told: EntryTold, record: Revision) -> Markup:
    return paper(
        say("book.difference"),
        facts((say("book.file"), record.file)),
        difference_of(record, first=told.line.entry.of == 1),
        more(say("book.whole_text"), tag("pre", record.text, class_="difference", tabindex="0"), id="whole"),
    )


def _calibration(bench: Bench, shown: Shown, record: Calibration) -> Markup:
    gauge = bench.build.gauges.get(record.gauge)
    dimension = Dimension.LENGTH if gauge is None else gauge.dimension
    order = (
        chip("conforming", say("gauges.in_order"))
        if record.verified
        else chip("not conforming", say("gauges.not_order"))
    )
    return paper(
        say("book.calibrated"),
        facts(
            (say("gauges.gauge"), tag("a", record.gauge, href=path_of_gauge(record.gauge))),
            (say("gauges.done"), record.done),
            (say("book.due"), record.due),
            (say("book.standard"), None if record.std is None else f"± {shown.error(record.std, dimension)}"),
            (say("book.error"), shown.error(record.error, dimension, sign=True) if record.error else None),
            (say("book.certificate"), record.certificate),
            (say("book.order"), order),
            (say("book.note"), record.note),
        ),
    )


def _concession(bench: Bench, record: Concession) -> Markup:
    chances = ", ".join(f"{name} {chance(value)}" for name, value in record.chances.items())
    return paper(
        say("book.decision"),
        facts(
            (say("book.subject"), ", ".join(record.dims)),
            (say("book.decision"), record.decision),
            (say("book.terms"), record.terms),
            (say("book.of_state"), str(record.state)),
            (say("book.chances"), chances),
        ),
    )


def _verdict(bench: Bench, shown: Shown, record: Verdict) -> Markup:
    dim, test = bench.build.dim(record.of), bench.build.tests.get(record.of)
    step = next((one for one in bench.build.fit_up if one.step == record.of), None)
    angle = step is not None and step.accept_angle is not None and step.accept is None
    dimension = (
        dim.dimension if dim else test.dimension if test else Dimension.ANGLE if angle else Dimension.LENGTH
    )
    low, high = record.limits
    limits = " … ".join("—" if v is None else shown.limit(v, dimension) for v in (low, high))
    return paper(
        say("book.verdict"),
        facts(
            (say("book.subject"), record.of),
            (say("book.item"), record.item),
            (say("book.verdict"), chip(record.verdict)),
            (
                say("book.value"),
                f"{shown.error(record.value, dimension)} ± {shown.error(record.std, dimension)}",
            ),
            (say("book.limits"), None if low is None and high is None else minus(limits)),
            (say("book.probability"), chance(record.probability)),
            (say("book.rule"), record.rule),
            (say("book.of_state"), str(record.state)),
        ),
    )


def _stock(shown: Shown, record: Stock) -> Markup:
    return paper(
        say("book.kind_stock"),
        facts(
            (say("book.thing"), record.what),
            (say("book.thickness"), shown.limit(record.size, Dimension.LENGTH)),
            (say("book.known_to"), f"± {shown.error(record.std, Dimension.LENGTH)}" if record.std else None),
            (say("book.pieces"), str(record.count)),
            (say("book.note"), record.note),
        ),
    )


__all__ = ["body_of", "change_words", "facts", "path_of_thing", "state"]
