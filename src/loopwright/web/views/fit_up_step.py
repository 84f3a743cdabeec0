"""One step of the fit-up: what is seated, what is read and what that found, whether it is good, and who accepts it."""

from collections.abc import Sequence

from loopwright.model.indications import axis_dimension
from loopwright.sheets.drawing import in_figures, table
from loopwright.sheets.markup import Child, Markup, joined, tag
from loopwright.sheets.shown import Shown
from loopwright.studies.fitup_bench import StepReport, fitup_step
from loopwright.studies.fitup_progress import Made, SetOne, StepProgress, acceptance
from loopwright.studies.fitup_reading import FoundBefore, StepReadings, ToRead, step_readings
from loopwright.units import Dimension
from loopwright.web.views.address import address_label
from loopwright.web.views.book_entered import Entered, entered, seen_field
from loopwright.web.views.book_words import day, entry_path
from loopwright.web.views.fit_up import bench_path, progress_of, stage_chip, step_path
from loopwright.web.views.fit_up_figures import (
    Curve,
    in_other,
    legend,
    minus,
    size_words,
    stands_words,
    sweep,
)
from loopwright.web.views.kit import button, chance, chip, field, form, head, link, minutes, paper, row, stats
from loopwright.web.views.sentences import sentence
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work

VERDICTS = {
    "good": "conforming",
    "set": "undecided",
    "read": "open",
    "repeat": "undecided",
    "rework": "not conforming",
}


def report_of(work: Work, number: int) -> StepReport:
    """What a step found and what to set, kept until the book changes."""
    return work.kept(("fit-up step", number), lambda: fitup_step(work.bench, number))


def readings_of(work: Work, number: int) -> StepReadings:
    """What a step reads, kept until the book changes."""
    return work.kept(("fit-up readings", number), lambda: step_readings(work.bench, number))


def progress_of_step(work: Work, number: int) -> StepProgress:
    """How far a step is."""
    return progress_of(work).steps[number - 1]


# the head


def heading(work: Work, reader: Reader, number: int) -> Markup:
    """The step's name, how far it is, what is seated, and the way to the steps beside it."""
    step, one = work.bench.build.fit_up[number - 1], progress_of_step(work, number)
    last = len(work.bench.build.fit_up)
    around = row(
        link(say("fit_up.all_steps"), "/fit-up", quiet=True),
        link(say("fit_up.step_n", number=number - 1), step_path(number - 1), quiet=True)
        if number > 1
        else None,
        link(say("fit_up.step_n", number=number + 1), step_path(number + 1), quiet=True)
        if number < last
        else None,
    )
    heavy = any(name in work.bench.build.bodies for name in step.seat)
    seat = say("fit_up.seat_told", names=", ".join(step.seat)) if step.seat else None
    return joined(
        tag(
            "div",
            head(
                say("fit_up.step_title", number=number, name=step.step),
                sentence(step.note) if step.note else None,
            ),
            address_label(work, "step", step.step),
            class_="headed",
        ),
        row(stage_chip(one), around),
        _to_do(report_of(work, number), number, last),
        paper(say("fit_up.seat"), tag("p", seat), _caution("lifting") if heavy else None) if seat else None,
    )


def _to_do(found: StepReport, number: int, last: int) -> Markup | None:
    """What the step waits for, with the way there; nothing while it is still to be read, which stands next."""
    if found.verdict == "set":
        way = link(say("fit_up.to_set"), "#set", first=True)
    elif found.verdict == "good" and number < last:
        way = link(say("fit_up.to_next", number=number + 1), step_path(number + 1), first=True)
    else:
        return None
    said = tag("p", say(f"fit_up.to_do_{found.verdict}"))
    return tag("div", said, row(way), class_="told to-do")


def _caution(name: str) -> Markup:
    return tag(
        "p", tag("strong", say("fit_up.caution")), " ", say(f"fit_up.caution_{name}"), class_="caution"
    )


# what is read


def reads(work: Work, reader: Reader, number: int) -> Markup:
    """What the step reads: with what, where, how long that takes; and what the last reading found."""
    found, shown = readings_of(work, number), work.shown(reader)
    if not found.readings:
        return Markup()
    missing = [one.name for one in found.readings if one.last is None or not one.last.stands]
    swings = any(
        one.kind == "test" and one.dimension is Dimension.ANGLE and len(one.poses) == 1
        for one in found.readings
    )
    way = (
        row(link(say("fit_up.read_all"), bench_path(number), first=bool(missing)))
        if reader.may("record")
        else None
    )
    return paper(
        say("fit_up.read"),
        tag("p", say("fit_up.read_told", time=minutes(found.minutes)), class_="note"),
        way,
        _caution("spindle") if swings else None,
        *[_reading(shown, reader, number, one) for one in found.readings],
        id="read",
    )


def _reading(shown: Shown, reader: Reader, number: int, one: ToRead) -> Markup:
    last = one.last
    state = (
        chip("open", say("fit_up.not_read"))
        if last is None
        else chip("done", say("fit_up.read_by", day=day(last.at), who=last.who))
        if last.stands
        else chip("look again", say("fit_up.moved_since"))
    )
    words = say("fit_up.read_it") if last is None else say("fit_up.read_again")
    again = (
        link(words, bench_path(number, one.name), quiet=last is not None) if reader.may("record") else None
    )
    return tag(
        "section",
        tag("h3", one.name),
        row(
            state,
            again,
            tag("a", say("book.entry_n", number=last.entry), href=entry_path(last.entry)) if last else None,
        ),
        tag("p", _how(one), class_="note"),
        tag("p", _poses(shown, one), class_="note") if one.kind == "test" else None,
        tag("p", sentence(one.note)) if one.note else None,
        _found(shown, one, last) if last is not None else None,
        class_="to-read",
    )


def _how(one: ToRead) -> str:
    pieces = [
        say("fit_up.with_gauge", gauge=one.gauge) if one.gauge else say("fit_up.no_gauge"),
        say("fit_up.against", artefact=one.artefact) if one.artefact else "",
        say("fit_up.between", one=one.between[0], other=one.between[1], along=one.along)
        if one.between
        else "",
        say(f"fit_up.zeroed_{one.zeroed}") if one.kind == "test" else say(f"fit_up.kind_{one.kind}"),
        minutes(one.minutes),
    ]
    return " · ".join(piece for piece in pieces if piece)


def _poses(shown: Shown, one: ToRead) -> str:
    """Where it is read: along which axis from where to where, the others held, and how often."""
    times = plural("fit_up.repeats", one.repeats)
    if one.moving:
        at = [pose[one.moving] for pose in one.poses]
        held = {letter: value for letter, value in one.poses[0].items() if letter != one.moving}
        words = say(
            "fit_up.poses",
            count=len(at),
            first=shown.position(one.moving, at[0]),
            last=shown.position(one.moving, at[-1]),
        )
        return "; ".join(
            filter(None, (words, say("fit_up.holding", pose=shown.pose(held)) if held else "", times))
        )
    where = shown.pose(one.poses[0]) if len(one.poses) == 1 else plural("fit_up.many_poses", len(one.poses))
    return "; ".join((say("fit_up.at", pose=where), times))


def _found(shown: Shown, one: ToRead, last: FoundBefore) -> Markup:
    d = one.dimension
    surprise = (
        tag("p", chip("look again", say("fit_up.surprises", value=f"{last.surprise:.1f}")))
        if last.surprise > 3
        else None
    )
    if one.moving and len(last.found) == len(one.poses) > 1:
        return joined(_sweep(shown, one, last), surprise)
    rows = [
        (*[_read_words(shown, one, v, std) for v in (found, expected)], f"± {shown.error(std, d)}")
        for found, expected, std in last.sizes
    ]
    if len(rows) == 1:
        found, expected, known = rows[0]
        cells = (
            (say("fit_up.found"), found, None),
            (say("fit_up.expected"), expected, say("fit_up.known_to", std=known)),
        )
        return joined(stats(*cells), surprise)
    names = (say("fit_up.found"), ">" + say("fit_up.expected"), ">" + say("fit_up.known"))
    return joined(table(names, rows), surprise)


def _read_words(shown: Shown, one: ToRead, value: float, std: float) -> str:
    if one.kind == "test":
        return minus(shown.error_known(value, std, one.dimension, sign=True))
    return size_words(shown, value, one.dimension, std)


def _sweep(shown: Shown, one: ToRead, last: FoundBefore) -> Markup:
    d, letter = one.dimension, one.moving
    at = [pose[letter] for pose in one.poses]
    unit = shown.unit(d)

    def numbers(values: Sequence[float]) -> tuple[float, ...]:
        return tuple(shown.number(v, d) for v in values)

    names = [shown.position(letter, place).split(" ")[1] for place in at]
    axis = f"{letter}, {'deg' if axis_dimension(letter) is Dimension.ANGLE else shown.units.length}"
    curves = [
        Curve(numbers(last.expected), numbers(last.std), "hollow", say("fit_up.expected")),
        Curve(numbers(last.found), (), "solid", say("fit_up.found")),
    ]
    limit = None if one.limit is None else shown.number(one.limit, d)
    rows = [
        (
            shown.position(letter, place),
            minus(shown.error_known(f, s, d, sign=True)),
            minus(shown.error_known(e, s, d, sign=True)),
            f"± {shown.error(s, d)}",
        )
        for place, f, e, s in zip(at, last.found, last.expected, last.std)
    ]
    head_ = (
        say("book.pose"),
        ">" + say("fit_up.found"),
        ">" + say("fit_up.expected"),
        ">" + say("fit_up.known"),
    )
    return joined(
        sweep(at, names, curves, unit, axis, limit),
        legend(("round", "solid", say("fit_up.found")), ("round", "hollow", say("fit_up.expected_legend"))),
        in_figures(say("book.in_figures"), head_, rows),
    )


# how it stands, and what was done


def standing(work: Work, reader: Reader, number: int) -> Markup:
    """How the step stands: the verdict, and what is known of what it looks at."""
    found, shown = report_of(work, number), work.shown(reader)
    d = found.dimension
    accept = None if found.accept is None else shown.limit(found.accept, d)
    cells: list[tuple[str, Child, Child]] = [
        (say("fit_up.known_error"), shown.error(found.largest, d), in_other(shown, found.largest, d)),
        (say("fit_up.unknown"), f"± {shown.error(found.unknown, d)}", say("fit_up.standard")),
    ]
    if accept is not None:
        cells.append((say("fit_up.enough"), accept, None))
    if found.accepted is not None:
        cells.append((say("fit_up.chance_good"), chance(found.accepted), None))
    return paper(
        say("fit_up.stands_title"),
        tag(
            "p",
            chip(VERDICTS[found.verdict], say(f"fit_up.verdict_{found.verdict}")),
            class_="verdict-line",
            role="status",
        ),
        stats(*cells),
        tag("p", sentence(say("fit_up.looks_at", what=found.looks_at)), class_="note"),
        *[tag("p", sentence(note), class_="note") for note in found.notes],
        id="stands",
    )


def made(work: Work, reader: Reader, number: int) -> Markup:
    """What was set in the step so far, asked for and reached."""
    one, shown = progress_of_step(work, number), work.shown(reader)
    if not one.made:
        return Markup()
    return paper(say("fit_up.made"), *[_made(shown, part) for part in reversed(one.made)], id="made")


def _made(shown: Shown, one: Made) -> Markup:
    head_ = (
        say("fit_up.what"),
        ">" + say("fit_up.asked"),
        ">" + say("fit_up.reached"),
        ">" + say("fit_up.off"),
        ">" + say("book.hit"),
        ">" + say("book.lock"),
    )
    told = say("fit_up.made_by", day=day(one.at), who=one.who, state=one.state)
    return tag(
        "section",
        tag("h3", one.reason),
        tag(
            "p",
            told,
            " · ",
            tag("a", say("book.entry_n", number=one.entry), href=entry_path(one.entry)),
            class_="note",
        ),
        table(head_, [_thing(shown, thing) for thing in one.things], class_="blocks"),
    )


def _thing(shown: Shown, one: SetOne) -> Sequence[Child]:
    d = one.dimension
    if one.value is None:
        item = (
            say("book.change_renewed_item", of="", item=one.item)
            if one.item
            else say("book.change_renewed", of="")
        )
        return (one.name, "—", item.strip(), "—", "—", "—")
    return (
        one.name,
        "—" if one.planned is None else stands_words(shown, one.planned, d, one.what, one.std),
        tag("b", stands_words(shown, one.value, d, one.what, one.std)),
        "—" if one.off is None else minus(shown.error(one.off, d, sign=True)) if one.off else "0",
        f"± {shown.error(one.std, d)}" if one.std else "—",
        f"± {shown.error(one.lock_std, d)}" if one.lock_std else "—",
    )


# accepting


def accepting(work: Work, reader: Reader, number: int) -> Markup:
    """Who accepted the step, and the form to do so."""
    one, found = progress_of_step(work, number), report_of(work, number)
    told: list[Child] = []
    if one.accepted is not None:
        words = say("fit_up.accepted_by", who=one.accepted.who, day=day(one.accepted.at))
        entry = tag("a", say("book.entry_n", number=one.accepted.entry), href=entry_path(one.accepted.entry))
        told.append(tag("p", words, f" ({one.accepted.verdict}, {chance(one.accepted.probability)}) ", entry))
        told.append(tag("p", sentence(one.accepted.why)) if one.accepted.why else None)
        if not one.accepted.stands:
            told.append(tag("p", chip("look again", say("fit_up.moved_after"))))
    elif one.proven:
        told.append(tag("p", say("fit_up.proven_told")))
    if not reader.may("record"):
        return paper(say("fit_up.accept"), *told) if told else Markup()
    good = found.verdict == "good"
    return paper(
        say("fit_up.accept"),
        *told,
        tag("p", say("fit_up.accept_good" if good else f"fit_up.accept_{found.verdict}"), class_="note"),
        form(
            "step_accept",
            seen_field(work, f"accept/{number}"),
            field(
                say("fit_up.accept_why"),
                "why",
                keep=f"accept/{number}",
                hint=None if good else say("fit_up.accept_hint"),
            ),
            row(
                button(say("fit_up.accept_do"), first=good),
                link(say("fit_up.repeat"), bench_path(number)) if one.reads else None,
            ),
            id="accept-form",
        ),
        id="accept",
    )


def accept(work: Work, reader: Reader, number: int, why: str, key: str, seen: int | None) -> Entered:
    """Enters that somebody accepts the step as it stands; the entry says what can be said of it."""
    record = acceptance(work.bench, number)
    return entered(
        work.book.append(
            record,
            who=reader.who or say("frame.nobody"),
            why=why,
            station=reader.station,
            key=key,
            seen=seen,
        )
    )


__all__ = ["accept", "accepting", "heading", "made", "reads", "standing"]
