"""JSON Schemas of answers that only programs ask for: parts, gauges, what a reading asks for."""

from collections.abc import Iterator

from loopwright.studies.answer_common import PATH
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    by_name,
    count,
    flag,
    listed,
    number,
    pair,
    record,
    share,
    shared,
    size,
    small,
    text,
    unit,
)


def sheet_answers() -> dict[str, Answer]:
    """Every such answer by its name.

    >>> sorted(sheet_answers())
    ['considered', 'gauges', 'part', 'sheet', 'targets', 'value']
    """
    return {one.name: one for one in (*_of_the_build(), _part(), *_of_readings())}


def _of_the_build() -> Iterator[Answer]:
    yield answer(
        "targets",
        "",
        "what the machine must hold",
        build=text("name of the machine"),
        confidence=share("chance to hold a limit that is asked for"),
        targets=listed(
            record(
                name=text("of the target"),
                between=pair(text(), "work side and tool side"),
                component=text("what is asked: a letter, several, or 'along' one direction"),
                unit=unit(),
                limit=small("largest error to either side"),
                note=text("anything to know", null="nothing"),
            ),
            "every target",
        ),
    )
    yield answer(
        "gauges",
        "",
        "the gauges of the build, as their last calibration left them",
        build=text("name of the machine"),
        gauges=listed(
            record(
                name=text("of the gauge"),
                reads=text("what it reads", one_of=("length", "angle")),
                unit=unit(),
                resolution=small("its step"),
                verified=flag("it was checked in this shop"),
                calibrated=text("day of the last calibration", null="not known"),
                due=text("day of the next", null="none is set"),
                note=text("anything to know", null="nothing"),
            ),
            "every gauge",
        ),
    )


def _dim() -> Schema:
    reading = record(
        entry=count("its number in the book"),
        at=text("when, UTC, ISO 8601"),
        who=text("who entered it"),
        gauge=text("what it was read with", null="none was named"),
        against=text("the other dim of a comparison; the size is then the difference", null="no comparison"),
        size=size("found"),
        expanded=size("expanded uncertainty", null="it was not asked for"),
        state=count("number of the state of the machine"),
        counts=flag("it counts for the part as it now is"),
        item=text("serial of the item", null="of the machine itself"),
    )
    carries = record(
        target=text("its name"),
        unit=unit(),
        known=small("known error that the dim brings at the worst pose"),
        unknown=small("standard uncertainty that it brings there"),
        unknown_before=small("before any reading"),
        share=share("of the variance there"),
        share_before=share("before any reading"),
    )
    return record(
        dim=text("part/dim"),
        size_unit=unit("every size here"),
        nominal=size("on the drawing"),
        limits=_limits(),
        stated=text("where the limits come from", null="it has none"),
        state=text("where it stands"),
        size=size("by its readings", null="it was not read"),
        standard_uncertainty=size("of that", null="it was not read"),
        conformity=shared("conformity", null="not read, or without limits"),
        best=size("what everything that was read lets one expect"),
        best_standard_uncertainty=size("of that"),
        concession=text("what was decided", null="nothing was"),
        made_together_with=listed(text("part/dim"), "dims cut in one setup with it"),
        readings=listed(reading, "all of it, the newest first"),
        carries=listed(carries, "what it carries of each target, the largest share first"),
    )


def _part() -> Answer:
    decided = record(
        entry=count("its number in the book"),
        at=text("when, UTC, ISO 8601"),
        who=text("who decided"),
        why=text("the reason"),
        counts=flag("nothing took its place"),
        dims=listed(text("part/dim"), "what it is about"),
        decision=text("what was decided"),
        terms=text("what has to be done for it"),
        chances=by_name(share(), "to hold each target on these terms, as it was then"),
    )
    return answer(
        "part",
        "",
        "a part with its dims, readings and verdicts, what it carries, and what was decided",
        build=text("name of the machine"),
        part=text("its name"),
        machine_state=count("number of the state of the machine"),
        material=text("what it is made of", null="not said"),
        note=text("anything to know", null="nothing"),
        bought=flag("rather than made"),
        state=text("where it stands"),
        dims=listed(_dim(), "in the order of the description"),
        bodies=listed(text(), "it belongs to"),
        contacts=listed(
            record(joint=text("its name"), contact=text("its name"), dims=listed(text(), "of the part")),
            "that it places",
        ),
        closures=listed(text(), "gaps that it fills"),
        items=listed(
            record(
                place=text("part or drive"),
                serial=text("of the item", null="one without a serial"),
                entry=count("that put it in"),
            ),
            "in place of it",
        ),
        concessions=listed(decided, "the newest first"),
    )


def _limits() -> Schema:
    return {
        "anyOf": [pair(size(null="none on this side"), "lower and upper"), {"type": "null"}],
        "description": "lower and upper limit; null where there are none",
    }


def _of_readings() -> Iterator[Answer]:
    yield answer(
        "sheet",
        "",
        "what is asked of a reading",
        build=text("name of the machine"),
        of=text(PATH),
        subject=text("what sort of thing", one_of=("dim", "test", "comparison", "gap", "item")),
        against=text("the other dim of a comparison", null="no comparison"),
        item=text("serial of the item", null="of the machine itself"),
        unit=unit("values that are typed without one"),
        poses=listed(shared("pose"), "one for each value; empty ones where there is no pose"),
        repeats=count("how often each is read", null="as often as one likes"),
        size_unit=unit("nominal and limits"),
        nominal=size("on the drawing", null="none"),
        limits=_limits(),
        gauge=text("proposed", null="none fits"),
        gauges=listed(text(), "that read this"),
        artefact=text("what it is read against", null="nothing"),
        minutes=number("of work", "min", null="not said"),
        note=text("how to take it", null="nothing"),
        last_entry=count("newest reading of it", null="it was not read yet"),
        state=count("number of the state of the machine"),
        seen=count("last entry of the book; send it along, and you are told what others read meanwhile"),
    )
    yield answer("value", "", "what a text means as a value", value=text("with its unit"))
    send = record(
        "to be sent in place of what was sent",
        values=listed(listed(text(), "repeats"), "one for each pose"),
        unit=text("of values that have none", null="the build's"),
        from_nominal=flag("they are deviations from nominal"),
        note=text("says what was typed at first", null="nothing"),
    )
    yield answer(
        "considered",
        "",
        "a reading that was worked out and not entered",
        build=text("name of the machine"),
        of=text(PATH),
        state=count("number of the state of the machine"),
        gauge=text("what it was read with", null="none was named"),
        size_unit=unit("every size here"),
        values=listed(size(), "one for each pose"),
        standard_uncertainties=listed(size(), "of each value on its own"),
        expanded=size("expanded uncertainty of one value", null="it was not asked for"),
        notes=listed(text(), "what was corrected or assumed"),
        surprise=number("from what was expected", "standard uncertainties", null="an item on the bench"),
        conformity=shared("conformity", null="it has no limits"),
        doubt=text("why it would be asked about", null="it is believed"),
        meant=listed(
            record(
                what=text("the slip"),
                shown=text("the value as it would have been typed"),
                send={"anyOf": [send, {"type": "null"}], "description": "null where that cannot be said"},
            ),
            "what may have been meant, the likeliest first",
        ),
    )
