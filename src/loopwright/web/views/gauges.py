"""The gauges of the shop: the list, and a gauge with its calibrations and what was read with it."""

from collections.abc import Sequence
from datetime import datetime
from urllib.parse import quote

from loopwright.model.records import Calibration
from loopwright.sheets.drawing import Scale, drawing, in_figures, lettering, line, mark, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.deciding import calibration_of
from loopwright.studies.gauges import Drift, GaugeLine, GaugePage, GaugeReading, gauge_page, gauges
from loopwright.studies.typed_numbers import exact
from loopwright.web.views.address import address_label
from loopwright.web.views.book_entered import Entered, entered, seen_field
from loopwright.web.views.fit_up_figures import in_other
from loopwright.web.views.kit import button, chip, field, form, head, link, paper, row, stats, tick
from loopwright.web.views.saying import empty
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

CHIPS = {
    "in date": "conforming",
    "due soon": "undecided",
    "overdue": "look again",
    "no date": "open",
    "not in order": "not conforming",
}
TOP, MIDDLE, HALF = 26.0, 126.0, 100.0
"""Places down the strip chart, pixels: its top, its zero, and from zero to the end of its scale."""
REACH = 4.0
"""Standard uncertainties from the middle to the end of the strip chart."""


def everything(work: Work, reader: Reader) -> Markup:
    """Every gauge in a list."""
    shown, lines = work.shown(reader), gauges(work.bench)
    title = head(say("gauges.title"), say("gauges.lede"))
    if not lines:
        return joined(title, empty(say("gauges.none"), say("gauges.none_told")), _to_stock())
    late = [one for one in lines if one.stands in ("overdue", "not in order")]
    return joined(
        title,
        tag("p", plural("gauges.late", len(late)), class_="told") if late else None,
        paper(
            None,
            table(
                (
                    say("gauges.gauge"),
                    say("gauges.state"),
                    ">" + say("gauges.resolution"),
                    ">" + say("gauges.calibration_k"),
                    say("gauges.figures"),
                    say("gauges.due"),
                    ">" + say("gauges.used"),
                ),
                [_row(shown, one) for one in lines],
                class_="blocks gauges",
            ),
        ),
        _to_stock(),
    )


def _to_stock() -> Markup:
    return row(link(say("gauges.to_stock"), "/stock"), link(say("address.labels_way"), "/labels", quiet=True))


def _row(shown: Shown, one: GaugeLine) -> Sequence[Child]:
    return (
        joined(tag("a", one.name, href=path_of(one.name)), tag("span", one.note, class_="beside under")),
        standing_chip(one),
        shown.limit(one.resolution, one.reads) if one.resolution else say("gauges.not_stated"),
        f"± {shown.error(one.calibration, one.reads)}" if one.calibration else say("gauges.not_stated"),
        say("gauges.verified") if one.verified else say("gauges.unverified"),
        _due(one),
        str(one.readings),
    )


def path_of(name: str) -> str:
    """Address of the page of a gauge."""
    return f"/gauges/{quote(name, safe='')}"


def standing_chip(one: GaugeLine) -> Markup:
    """Whether it is in date, as a shape and a word."""
    word = one.stands.replace(" ", "_")
    return chip(CHIPS[one.stands], say(f"gauges.stands_{word}"))


def _due(one: GaugeLine) -> Markup:
    if one.due is None or one.days is None:
        return joined(say("gauges.no_due"))
    due = tag("span", one.due.isoformat(), class_="nowrap")
    return joined(due, tag("span", _days(one.days), class_="beside under"))


def _days(days: int) -> str:
    return plural("gauges.days_late", -days) if days < 0 else plural("gauges.days_left", days)


# one gauge


def one_gauge(work: Work, reader: Reader, name: str) -> Markup:
    """A gauge with everything that the book holds of it."""
    shown, found = work.shown(reader), gauge_page(work.bench, name)
    return joined(
        tag("div", head(name, found.line.note or None), address_label(work, "gauge", name), class_="headed"),
        row(standing_chip(found.line), _said_of(found.line)),
        _figures(shown, found.line),
        _readings(shown, found),
        _calibrations(shown, found),
        _enter(work, shown, found) if reader.may("record") else None,
    )


def _said_of(one: GaugeLine) -> Markup | None:
    if one.stands == "overdue":
        return tag("span", say("gauges.overdue_told"), class_="beside")
    return None


def _figures(shown: Shown, one: GaugeLine) -> Markup:
    def cell(name: str, number: float, told: str) -> tuple[str, Child, Child]:
        if not number:
            return say(f"gauges.{name}"), say("gauges.not_stated"), None
        other = tag("span", in_other(shown, number, one.reads), class_="nowrap")
        return say(f"gauges.{name}"), f"± {shown.error(number, one.reads)}", joined(told, " ", other)

    resolution = shown.limit(one.resolution, one.reads) if one.resolution else say("gauges.not_stated")
    error = say("gauges.with_error", error=shown.error(one.error, one.reads, sign=True)) if one.error else ""
    return paper(
        say("gauges.how_good"),
        stats(
            (say("gauges.resolution"), resolution, in_other(shown, one.resolution, one.reads)),
            cell("calibration", one.calibration, error or say("gauges.calibration_told")),
            cell("repeatability", one.repeatability, say("gauges.repeatability_told")),
            cell("whole", one.whole, say("gauges.whole_told")),
            (
                say("gauges.due"),
                one.due.isoformat() if one.due else "—",
                say("gauges.no_due") if one.days is None else _days(one.days or 0),
            ),
        ),
        tag("p", say("gauges.verified_told" if one.verified else "gauges.unverified_told"), class_="note"),
        tag("p", say("gauges.tests", names=", ".join(one.tests)), class_="note") if one.tests else None,
    )


def _calibrations(shown: Shown, found: GaugePage) -> Markup:
    if not found.calibrations:
        return paper(say("gauges.calibrations"), tag("p", say("gauges.no_calibration"), class_="note"))
    return paper(
        say("gauges.calibrations"),
        table(
            (
                say("gauges.done"),
                say("gauges.next"),
                ">" + say("gauges.left"),
                ">" + say("gauges.error"),
                say("gauges.certificate"),
                say("gauges.order"),
                say("gauges.entry"),
            ),
            [_calibration(shown, found, *one) for one in found.calibrations],
            class_="blocks",
        ),
    )


def _calibration(
    shown: Shown, found: GaugePage, number: int, at: str, who: str, record: Calibration
) -> Sequence[Child]:
    reads = found.line.reads
    entry = tag("a", say("book.by_person", number=number, who=who), href=f"/book/{number}")
    return (
        record.done,
        record.due or "—",
        say("gauges.as_stated") if record.std is None else f"± {shown.error(record.std, reads)}",
        shown.error(record.error, reads, sign=True) if record.error else "—",
        record.certificate or "—",
        chip("conforming", say("gauges.in_order"))
        if record.verified
        else chip("not conforming", say("gauges.not_order")),
        joined(entry, tag("span", record.note, class_="beside under") if record.note else None),
    )


def _enter(work: Work, shown: Shown, found: GaugePage) -> Markup:
    unit, keep = shown.unit(found.line.reads), f"calibration/{found.line.name}"
    return paper(
        say("gauges.enter"),
        tag("p", say("gauges.enter_told"), class_="note"),
        form(
            "calibrate",
            seen_field(work, keep),
            tag(
                "div",
                field(
                    say("gauges.done"),
                    "done",
                    type="date",
                    value=found.today.isoformat(),
                    keep=f"{keep}/done",
                ),
                field(say("gauges.next"), "due", type="date", keep=f"{keep}/due"),
                field(
                    say("gauges.std"),
                    "std",
                    unit=unit,
                    number=True,
                    hint=say("gauges.std_hint"),
                    keep=f"{keep}/std",
                ),
                field(
                    say("gauges.limit"),
                    "limit",
                    unit=unit,
                    number=True,
                    hint=say("gauges.limit_hint"),
                    keep=f"{keep}/limit",
                ),
                field(
                    say("gauges.error"),
                    "error",
                    unit=unit,
                    number=True,
                    hint=say("gauges.error_hint"),
                    keep=f"{keep}/error",
                ),
                field(say("gauges.certificate"), "certificate", keep=f"{keep}/certificate"),
                field(say("gauges.note"), "note", keep=f"{keep}/note"),
                class_="fields level",
            ),
            tick(say("gauges.good"), "good", checked=True),
            row(button(say("gauges.enter_do"), first=True)),
            id="calibrate",
        ),
        id="enter",
    )


def enter_calibration(
    work: Work, reader: Reader, name: str, typed: dict[str, str], key: str, seen: int | None
) -> Entered:
    """Enters a calibration as typed; it holds for readings that are entered after it.

    Args:
        work: with the book.
        reader: who enters.
        name: of the gauge.
        typed: fields of the form.
        key: of the entry.
        seen: last entry that the page had seen.
    """
    bench, shown = work.bench, work.shown(reader)
    reads = bench.gauge(name).dimension
    unit = shown.unit(reads)
    record = calibration_of(
        bench,
        name,
        done=typed["done"] or None,
        due=typed["due"] or None,
        std=exact(say("gauges.std"), typed["std"], reads, unit),
        limit=exact(say("gauges.limit"), typed["limit"].lstrip("± "), reads, unit),
        error=exact(say("gauges.error"), typed["error"], reads, unit),
        good=typed["good"] == "on",
        certificate=typed["certificate"] or None,
        note=typed["note"] or None,
    )
    return entered(
        work.book.append(
            record, who=reader.who or say("frame.nobody"), station=reader.station, key=key, seen=seen
        )
    )


# readings taken with it


def _readings(shown: Shown, found: GaugePage) -> Markup:
    if not found.readings:
        return paper(say("gauges.taken"), tag("p", say("gauges.not_used"), class_="note"))
    return paper(
        say("gauges.taken"),
        tag("p", say("gauges.strip_told"), class_="note"),
        strip(found.readings, [record.done for *_, record in found.calibrations]),
        tag("p", say("gauges.strip_axis"), class_="small"),
        tag("p", _drift(shown, found, found.drift), class_="told"),
        in_figures(
            say("gauges.in_figures"),
            (
                say("gauges.entry"),
                say("gauges.read"),
                say("gauges.when"),
                ">" + say("gauges.off"),
                ">" + say("gauges.surprise"),
            ),
            [
                (
                    tag("a", str(one.entry), href=f"/book/{one.entry}"),
                    one.of,
                    one.at[:10],
                    "—" if one.miss is None else f"{one.miss:+.1f}".replace("-", "−"),
                    f"{one.surprise:.1f}",
                )
                for one in reversed(found.readings)
            ],
        ),
        id="readings",
    )


def _drift(shown: Shown, found: GaugePage, drift: Drift | None) -> str:
    if drift is None:
        return say("gauges.drift_unknown")
    rate = shown.error_known(drift.rate, drift.std, found.line.reads, sign=True).replace("-", "−")
    key = "gauges.drift_seen" if drift.seen else "gauges.drift_none"
    return say(
        key,
        rate=rate,
        std=shown.error(drift.std, found.line.reads),
        count=drift.readings,
        days=f"{drift.days:.0f}",
    )


def strip(readings: Sequence[GaugeReading], calibrated: Sequence[str]) -> Markup:
    """Every reading over time: how far off what was expected, in standard uncertainties.

    Args:
        readings: oldest first.
        calibrated: days on which the gauge was calibrated.
    """
    moments = [_moment(one.at) for one in readings]
    first, last = min(moments), max(moments)
    along = Scale(first - 0.03 * (last - first or 1.0), last + 0.03 * (last - first or 1.0))
    days = [(day, _moment(day)) for day in calibrated]
    rules = [
        joined(
            line(0, _down(v), 100, _down(v), "limit" if abs(v) == 3 else "rest" if v else "scribed"),
            lettering(0, _down(v) + 4, f"{v:+.0f}".replace("-", "−") if v else "0", "tick left", dx=-6),
        )
        for v in (-3, -2, 0, 2, 3)
    ]
    marks = [_reading_mark(one, along.at(moment)) for one, moment in zip(readings, moments)]
    bottom = MIDDLE + HALF
    return drawing(
        bottom + 26,
        say("gauges.strip", count=len(readings)),
        *rules,
        *[
            joined(
                line(along.at(at), TOP, along.at(at), bottom, "scribed thin"),
                lettering(along.at(at), TOP - 10, say("gauges.calibrated_on", day=day), "tick"),
            )
            for day, at in days
            if first <= at <= last
        ],
        *marks,
        lettering(0, bottom + 22, readings[0].at[:10], "tick first"),
        lettering(100, bottom + 22, readings[-1].at[:10], "tick right"),
        class_="map strip",
    )


def _reading_mark(one: GaugeReading, x: float) -> Markup:
    place = _down(one.surprise if one.miss is None else one.miss)
    value = f"{one.surprise:.1f}" if one.miss is None else f"{one.miss:+.1f}".replace("-", "−")
    key = "gauges.mark_shape" if one.miss is None else "gauges.mark"
    said = say(key, entry=one.entry, of=one.of, day=one.at[:10], value=value)
    return mark(
        x, place, "diamond" if one.miss is None else "round", "hollow" if one.miss is None else "solid", said
    )


def _down(value: float) -> float:
    """Place down the chart of a value in standard uncertainties; what is off the chart stands at its edge."""
    return MIDDLE - HALF * max(min(value, REACH), -REACH) / REACH


def _moment(text: str) -> float:
    return datetime.fromisoformat(text if len(text) > 10 else f"{text}T12:00:00+00:00").timestamp()
