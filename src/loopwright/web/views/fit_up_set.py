"""What to set, grind or lay under in a step, what that will leave, and the form to enter what was done in fact."""

from collections.abc import Sequence
from dataclasses import dataclass

from loopwright import units
from loopwright.model.contacts import AdjusterKind
from loopwright.sheets.drawing import table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.effect import TargetEffect
from loopwright.studies.fitup_bench import StepReport, ToSet, adjuster_report
from loopwright.studies.fitup_done import Done, WhatWasDone, set_in_fact
from loopwright.studies.fitup_setting import Shortfall
from loopwright.units import Dimension
from loopwright.web.views.book_effect import brought
from loopwright.web.views.book_entered import Entered, entered, seen_field
from loopwright.web.views.book_words import about_path
from loopwright.web.views.fit_up import bench_path
from loopwright.web.views.fit_up_figures import in_other, minus, range_figure, size_known, size_words
from loopwright.web.views.fit_up_step import report_of
from loopwright.web.views.kit import button, chance, chip, field, form, head, link, more, paper, row, stats
from loopwright.web.views.sentences import listed, sentence
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work

GROUND = "ground to size"
LENGTH = Dimension.LENGTH


@dataclass(frozen=True)
class SetEntered:
    """What was set is in the book.

    Attributes:
        made: the entry; state: the state of the machine that it began.
        step: number of the step that it was set in; None where an adjuster was set by itself.
        targets: each target before and after.
        left_out: readings that no longer count, with the reason.
    """

    made: Entered
    state: int
    step: int | None
    targets: tuple[TargetEffect, ...]
    left_out: tuple[str, ...]


# what to set


def to_set(work: Work, reader: Reader, number: int) -> Markup:
    """What the step sets and to what, as far as it is known, and the form to enter what was set in fact."""
    found = report_of(work, number)
    if not found.to_set:
        return Markup()
    return _sheet(work, reader, found, f"step {number}")


def one_adjuster(work: Work, reader: Reader, path: str) -> Markup:
    """One adjuster by itself: where it stands, where it would best stand, and the form to set it."""
    found = work.kept(("adjuster", path), lambda: adjuster_report(work.bench, path))
    title = head(path, say("fit_up.by_itself", what=found.looks_at))
    back = row(
        link(say("fit_up.all_steps"), "/fit-up", quiet=True),
        link(say("fit_up.its_history"), about_path(path), quiet=True),
    )
    if not found.to_set:
        return joined(title, back, paper(None, tag("p", say("fit_up.does_nothing"))))
    return joined(title, back, _sheet(work, reader, found, path))


def _sheet(work: Work, reader: Reader, found: StepReport, keep: str) -> Markup:
    shown = work.shown(reader)
    moved = [one for one in found.to_set if one.change or one.blank]
    kinds = [one.kind for one in moved] + [GROUND for one in found.to_set if one.shortfall is not None]
    early = tag("p", say("fit_up.read_first"), class_="told") if found.verdict == "read" else None
    words = dict.fromkeys(one.foil_words for one in found.to_set if one.foil_words)
    cards = tag("div", *[_card(shown, one) for one in found.to_set], class_="set-cards")
    form_ = _entering(work, shown, found, keep) if reader.may("record") else None
    short = any(one.shortfall is not None or one.at_limit for one in found.to_set)
    if not moved and not short:
        return paper(
            say("fit_up.set"),
            early,
            tag("p", chip("conforming", say("fit_up.leave_all"))),
            *[tag("p", sentence(one), class_="note") for one in words],
            more(say("fit_up.where_they_stand"), cards, id="cards"),
            more(say("fit_up.enter"), form_, id="entering") if form_ is not None else None,
            id="set",
        )
    return paper(
        say("fit_up.set"),
        early,
        *_cautions(kinds),
        *[tag("p", sentence(one), class_="told") for one in words],
        cards,
        _leaves(shown, found) if moved else None,
        form_,
        id="set",
    )


def _cautions(kinds: Sequence[str]) -> list[Markup]:
    """What can hurt someone at the work that is proposed."""
    out = []
    if GROUND in kinds or AdjusterKind.SPACER in kinds:
        out.append("grinding")
    if out or AdjusterKind.SHIM in kinds:
        out.append("lifting")
    return [
        tag("p", tag("strong", say("fit_up.caution")), " ", say(f"fit_up.caution_{name}"), class_="caution")
        for name in out
    ]


def value_words(shown: Shown, one: ToSet, value: float) -> str:
    """A place of an adjuster, to what it can be hit; a size as a size."""
    if one.kind == GROUND:
        return size_words(shown, value, one.dimension, one.hit or one.std or None, 1)
    return minus(shown.error_known(value, one.hit or 1e-6, one.dimension)) if value else "0"


def _card(shown: Shown, one: ToSet) -> Markup:
    d = one.dimension
    unit = shown.units.bare()[d] if one.kind == GROUND else shown.unit(d)
    ground = one.kind == GROUND
    low, high, now, then, std = (
        _in_unit(shown, v, d, ground=ground) for v in (one.low, one.high, one.now, one.value, one.std)
    )
    said = say(
        "fit_up.range_said",
        low=value_words(shown, one, one.low),
        high=value_words(shown, one, one.high),
        now=value_words(shown, one, one.now),
        value=value_words(shown, one, one.value),
    )
    return tag(
        "section",
        tag("h3", one.name, tag("small", f" {one.kind}")),
        tag("p", *_instruction(shown, one), class_="instruction"),
        tag(
            "p",
            say("fit_up.known_and_hit", std=shown.error(one.std, d), hit=shown.error(one.hit, d)),
            class_="note",
        ),
        range_figure(low, high, now, then, std, unit, said),
        tag("p", _suffices(one)),
        *[tag("p", words, class_="told") for words in _remarks(shown, one)],
        class_="set-card",
    )


def _in_unit(shown: Shown, value: float, dimension: Dimension, *, ground: bool) -> float:
    unit = shown.units.bare()[dimension] if ground else shown.unit(dimension)
    return float(units.convert(value, dimension, unit))


def _instruction(shown: Shown, one: ToSet) -> list[Child]:
    """The one sentence that matters: what to do, to what size."""
    d, value = one.dimension, tag("b", value_words(shown, one, one.value))
    other = " " + in_other(shown, one.change, one.dimension, sign=True) if one.change else ""
    if one.kind == GROUND:
        if not (one.change or one.blank):
            return [say("fit_up.leave_at"), " ", value]
        return [
            say("fit_up.grind_to"),
            " ",
            tag("b", size_known(shown, one.value, one.std, d)),
            *_off(shown, one),
        ]
    if not one.change:
        return [say("fit_up.leave_at"), " ", value]
    by = say("fit_up.against_now", by=minus(shown.error(one.change, one.dimension, sign=True)) + other)
    if one.foils is not None:
        return [say("fit_up.lay"), " ", tag("b", _pack(shown, one.foils)), f", {by}"]
    return [say("fit_up.set_to"), " ", value, f", {by}"]


def _off(shown: Shown, one: ToSet) -> list[Child]:
    spacer = one.spacer
    if spacer is None or not spacer.possible:
        return []
    least, most = (shown.error(v, LENGTH) for v in spacer.grind_off)
    key = "fit_up.take_off" if least == most else "fit_up.take_off_range"
    return [", ", say(key, least=least, most=most)]


def _pack(shown: Shown, foils: Sequence[float]) -> str:
    return " + ".join(shown.limit(foil, LENGTH) for foil in foils) or say("fit_up.no_foil")


def _suffices(one: ToSet) -> Markup:
    if one.spacer is not None and not one.spacer.possible and (one.change or one.blank):
        return chip("look again", say("fit_up.blank_short"))
    if one.shortfall is not None or one.at_limit:
        return chip("look again", say("fit_up.range_short"))
    return chip("conforming", say("fit_up.range_enough"))


def _remarks(shown: Shown, one: ToSet) -> list[str]:
    out = []
    if one.shortfall is not None:
        out.append(_must_come_down(shown, one.shortfall, one.dimension))
    if one.spacer is not None and not one.spacer.possible and (one.change or one.blank):
        out.append(_blank_words(shown, one) if one.too_thin else sentence(one.spacer.remedy))
    return out


def _blank_words(shown: Shown, one: ToSet) -> str:
    by = shown.error(one.too_thin, one.dimension)
    return say("fit_up.too_thin", by=by, size=value_words(shown, one, one.value))


def _must_come_down(shown: Shown, short: Shortfall, dimension: Dimension) -> str:
    """What foil cannot do, and what else would do."""
    by = shown.error_known(short.by, short.std, dimension, digits=1)
    known = shown.error(short.std, dimension)
    pieces = [say("fit_up.must_come_down", by=by, std=known)]
    if short.raised:
        pieces.append(say("fit_up.raise_instead", names=listed(list(short.raised))))
    pieces.append(
        say("fit_up.grind_dim", by=by, dim=short.dim) if short.dim else say("fit_up.grind_below", by=by)
    )
    return " ".join(pieces)


def _leaves(shown: Shown, found: StepReport) -> Markup:
    """What it will leave, in what the step looks at and at the tool."""
    d = found.dimension
    cells: list[tuple[str, Child, Child]] = [
        (say("fit_up.then_known"), shown.error(found.left, d), in_other(shown, found.left, d)),
        (say("fit_up.then_expected"), shown.error(found.expected, d), say("fit_up.then_expected_told")),
    ]
    if found.accepted_then is not None:
        accept = "" if found.accept is None else shown.limit(found.accept, d)
        cells.append(
            (say("fit_up.then_chance"), chance(found.accepted_then), say("fit_up.good_enough", limit=accept))
        )
    rows = [
        (
            name,
            shown.limit(limit, dimension),
            shown.error(now, dimension),
            tag("b", shown.error(then, dimension))
            if shown.error(now, dimension) != shown.error(then, dimension)
            else say("fit_up.same"),
        )
        for name, dimension, limit, now, then in found.targets
    ]
    head_ = (say("book.target"), ">" + say("book.limit"), ">" + say("fit_up.now"), ">" + say("fit_up.then"))
    return tag(
        "div",
        tag("h3", say("fit_up.will_leave")),
        stats(*cells),
        table(head_, rows, class_="blocks") if rows else None,
        class_="leaves",
    )


# entering what was set in fact


def _entering(work: Work, shown: Shown, found: StepReport, keep: str) -> Markup:
    every = tag("button", say("fit_up.take_all"), type="button", data_way="take-all")
    step = str(found.number) if found.number else ""
    return form(
        "set_enter",
        tag("h3", say("fit_up.enter")),
        tag("p", say("fit_up.enter_told"), class_="note"),
        seen_field(work, keep),
        tag("input", type="hidden", name="step", value=step),
        row(every) if sum(bool(one.change or one.blank) for one in found.to_set) > 1 else None,
        tag("div", *[_fields(shown, one, keep) for one in found.to_set], class_="set-fields"),
        field(
            say("fit_up.reason"),
            "reason",
            keep=f"{keep}/reason",
            hint=say("fit_up.reason_hint", step=found.name),
        ),
        row(button(say("fit_up.enter_do"), first=True)),
        id="set-form",
    )


def _fields(shown: Shown, one: ToSet, keep: str) -> Markup:
    d, name = one.dimension, one.name
    unit = shown.units.bare()[d] if one.kind == GROUND else shown.unit(d)
    where, now = f"f-value/{name}".replace("/", "-"), value_words(shown, one, one.now)
    # what stays as it is was not touched: entered anew it would only be known less well
    moved = bool(one.change or one.blank)
    hint = say("fit_up.value_hint" if moved else "fit_up.value_stays", now=now)
    take = tag(
        "button",
        say("fit_up.take", value=value_words(shown, one, one.value)),
        type="button",
        data_way="take",
        data_for=where,
        data_value=value_words(shown, one, one.value).replace("−", "-"),
    )
    hit = f"± {shown.error(one.hit, d)}" if one.hit else say("fit_up.not_stated")
    return tag(
        "fieldset",
        tag("legend", name),
        tag(
            "div",
            field(
                say("fit_up.value"),
                f"value/{name}",
                unit=unit,
                number=True,
                keep=f"{keep}/{name}",
                hint=hint,
            ),
            take if moved else None,
            class_="take",
        ),
        more(
            say("fit_up.more"),
            tag(
                "div",
                field(
                    say("fit_up.std"),
                    f"std/{name}",
                    unit=shown.unit(d),
                    number=True,
                    keep=f"{keep}/{name}/std",
                    hint=say("fit_up.std_hint", hit=hit),
                ),
                field(
                    say("fit_up.lock"),
                    f"lock/{name}",
                    unit=shown.unit(d),
                    number=True,
                    keep=f"{keep}/{name}/lock",
                    hint=say("fit_up.lock_hint"),
                ),
                class_="fields level",
            ),
            id=f"more-{where}",
        ),
    )


def enter(work: Work, reader: Reader, typed: dict[str, str], key: str, seen: int | None) -> SetEntered:
    """Enters what was set in fact: every field that something was typed in; a new state of the machine begins.

    Args:
        work: with the book.
        reader: who enters.
        typed: fields of the form.
        key: of the entry.
        seen: last entry that the page had seen.

    Raises:
        BuildError: values that cannot be read, all of them at once.
        RequestError: nothing was typed, or nothing can be set there.
    """
    paths = [
        name.removeprefix("value/") for name, text in typed.items() if name.startswith("value/") and text
    ]
    done = [
        Done(path, typed[f"value/{path}"], typed.get(f"std/{path}", ""), typed.get(f"lock/{path}", ""))
        for path in paths
    ]
    before, step = work.bench, typed.get("step", "")
    found = set_in_fact(
        work.book,
        before,
        WhatWasDone(done, typed.get("reason", ""), step),
        bare=work.shown(reader).units,
        who=reader.who or say("frame.nobody"),
        station=reader.station,
        key=key,
        seen=seen,
    )
    work.hold(found.bench)
    return SetEntered(
        entered(found.written),
        found.written.entry.of or 1,
        int(step) if step.isdecimal() else None,
        found.targets,
        tuple(why for _, why in found.left_out),
    )


def left(work: Work, reader: Reader, done: SetEntered | None) -> Markup:
    """What was just set has brought at the tool; nothing as long as nothing was."""
    if done is None:
        return Markup()
    return paper(
        say("fit_up.brought", state=done.state),
        brought(work.shown(reader), done.targets),
        *[tag("p", sentence(words), class_="told") for words in done.left_out],
        _and_then(work, done.step),
        id="brought",
    )


def _and_then(work: Work, step: int | None) -> Markup:
    """The way on from what was just set: reading it again, where the step reads anything, and where that stands."""
    reads = step is not None and bool(work.bench.build.fit_up[step - 1].read)
    return row(
        link(say("fit_up.read_after"), bench_path(step), first=True) if reads and step is not None else None,
        link(say("standing.title"), "/", first=not reads),
    )
