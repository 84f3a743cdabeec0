"""What drives a target as built: what is known to be off, and what is not known."""

from collections.abc import Mapping, Sequence
from urllib.parse import quote

from loopwright.sheets.drawing import Scale, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.driving import Carried, Driver, TargetNow
from loopwright.web.views.kit import columns, more, paper
from loopwright.web.views.standing import read_path
from loopwright.web.views.target_drawn import reach_of, signed_bar
from loopwright.web.wording import plural, say
from loopwright.web.work import Work

SHOWN, MOST, GROUPS = 10, 40, 8
SEEN = 0.0005
"""Shares of the whole below this are not listed."""


def try_path(field: str) -> str:
    """Address of the page that tries another value of a field."""
    return f"/what-if?of={quote(field, safe='')}"


def what_drives(work: Work, shown: Shown, now: TargetNow) -> Markup:
    """Both halves of the error side by side, then added up by kind, joint and part."""
    open_ = [known for known in reversed(work.front.unresolved) if known.resolved_by]
    readers = {known.field: known.resolved_by for known in open_}
    readers |= {f"{known.field} {known.name}": known.resolved_by for known in open_}
    return paper(
        say("target.drives"),
        columns(_off(shown, now), _unknown(shown, now, readers)),
        tag(
            "div",
            _groups(shown, now, say("target.by_kind"), say("target.kind"), now.by_kind),
            _groups(shown, now, say("target.by_joint"), say("target.joint"), now.by_joint, "/machine/"),
            _groups(shown, now, say("target.by_part"), say("target.part"), now.by_part, "/parts/"),
            class_="three",
        ),
        tag("p", say("target.groups_note"), class_="note"),
        class_="drives",
    )


def _off(shown: Shown, now: TargetNow) -> Markup:
    seen = [d for d in now.drivers if abs(d.off) > SEEN * now.expected]
    ordered = sorted(seen, key=lambda d: -abs(d.off))
    size = shown.error(now.known, now.dimension)
    title = tag("h3", say("target.drives_off", size=size))
    if not ordered:
        return tag("div", title, tag("p", say("target.drives_off_none"), class_="note"))
    reach = reach_of([driver.off for driver in ordered])
    rows = [_off_row(shown, now, driver, reach) for driver in ordered]
    heads = (say("target.deviation"), say("target.adds"), ">" + shown.unit(now.dimension))
    return tag(
        "div", title, tag("p", say("target.drives_off_note"), class_="note"), _folded(heads, rows, "off")
    )


def _off_row(shown: Shown, now: TargetNow, driver: Driver, reach: Scale) -> Sequence[Child]:
    said = _signed(shown, driver.off, now)
    return _named(driver), signed_bar(driver.off, reach, said), _bare(said)


def _signed(shown: Shown, value: float, now: TargetNow) -> str:
    """A part of the known error, to the place that three digits of the whole reach, with a true minus."""
    return shown.error_known(value, now.expected, now.dimension, sign=True, digits=3).replace(
        "-", "\u2212", 1
    )


def _bare(said: str) -> str:
    """A size without its unit, which the head of the column says."""
    return said.partition(" ")[0]


def _unknown(shown: Shown, now: TargetNow, readers: Mapping[str, str]) -> Markup:
    seen = [d for d in now.drivers if abs(d.unknown) > SEEN]
    title = tag("h3", say("target.drives_unknown", size=shown.error(now.unknown, now.dimension)))
    if not seen:
        return tag("div", title, tag("p", say("target.drives_unknown_none"), class_="note"))
    reach = reach_of([driver.unknown for driver in seen])
    rows = [_unknown_row(driver, reach, readers) for driver in seen]
    heads = (
        say("target.deviation"),
        say("target.bar"),
        ">" + say("target.share_now"),
        ">" + say("target.share_designed"),
    )
    note = tag("p", say("target.drives_unknown_note"), class_="note")
    return tag("div", title, note, _folded(heads, rows, "unknown"))


def _unknown_row(driver: Driver, reach: Scale, readers: Mapping[str, str]) -> Sequence[Child]:
    reader = readers.get(f"{driver.field} {driver.name}") or readers.get(driver.field)
    way = (
        tag("a", say("target.read_name", name=reader), href=read_path(reader), class_="way-to")
        if reader
        else None
    )
    said = _share(driver.unknown)
    return joined(_named(driver), way), signed_bar(driver.unknown, reach, said), said, _share(driver.designed)


def _share(share: float) -> str:
    """A share that may be below zero."""
    return percent(share) if share >= 0 else "\u2212" + percent(-share)


def _named(driver: Driver) -> Markup:
    label = say("target.try_name", path=driver.field)
    return joined(
        tag("span", driver.name, class_="name"),
        tag(
            "a",
            *steps_of(driver.field),
            href=try_path(driver.field),
            class_="path",
            aria_label=label,
            title=label,
        ),
    )


def steps_of(field: str) -> list[Markup]:
    """A path that may break behind each slash."""
    first, *rest = field.split("/")
    return [joined(first), *[joined("/", tag("wbr"), step) for step in rest]]


def _folded(heads: Sequence[str], rows: Sequence[Sequence[Child]], what: str) -> Markup:
    rest = min(len(rows), MOST) - SHOWN
    return joined(
        table(heads, rows[:SHOWN], class_="carriers"),
        more(
            plural("target.more_drivers", rest),
            table(heads, rows[SHOWN:MOST], class_="carriers"),
            id=f"more-{what}",
        )
        if rest > 0
        else None,
    )


def _groups(
    shown: Shown, now: TargetNow, title: str, head: str, groups: Sequence[Carried], where: str = ""
) -> Markup:
    seen = [g for g in groups if abs(g.unknown) >= SEEN or abs(g.off) >= SEEN * now.expected][:GROUPS]
    rows: list[Sequence[Child]] = [
        (
            tag("a", g.name, href=where + quote(g.name, safe="")) if where else g.name,
            _bare(_signed(shown, g.off, now)),
            _share(g.unknown),
            _share(g.designed),
        )
        for g in seen
    ]
    off = say("target.off_in", unit=shown.unit(now.dimension))
    heads = (head, ">" + off, ">" + say("target.share_now"), ">" + say("target.share_designed"))
    return tag("div", tag("h4", title), table(heads, rows, class_="groups-now"))
