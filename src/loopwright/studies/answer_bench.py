"""What the commands about a book answer: entries, history, readings, front page, what next."""

from collections.abc import Iterator

from loopwright.studies.answer_common import ENTERED, PATH
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    by_name,
    count,
    flag,
    listed,
    number,
    ratio,
    record,
    share,
    shared,
    size,
    small,
    text,
    unit,
)


def of_a_book() -> Iterator[Answer]:
    """What is said of a book and its entries."""
    yield answer(
        "book-info",
        "book new; book show; book save",
        "what a book says of itself; also where 'book save' found nothing new",
        build=text("name of the machine"),
        place=text("where the book is"),
        database=text("sqlite or postgresql"),
        uid=text("what tells this book from any other"),
        made=text("when, UTC, ISO 8601"),
        version=count("version of its format"),
        entries=count("how many"),
        kinds=by_name(count("how many"), "entries by kind"),
        state=count("number of the state that the machine is in"),
        reason=text("why that was made"),
    )
    yield answer(
        "entered",
        "book save; book calibrate; book stock; book withdraw; fitup set",
        "an entry that was made, and what it brought",
        **ENTERED,
        record=shared("book_record", "what was entered"),
        effect=listed(shared("effect"), "every target; empty for what moves none"),
        left_out=listed(record(entry=count("its number"), why=text("why")), "readings that no longer count"),
    )
    yield answer(
        "address",
        "address",
        "the short addresses of parts, tests, steps and gauges",
        build=text("name of the machine"),
        things=listed(
            record(
                code=text("its short address, which the pages open at /a/CODE"),
                kind=text("what it is", one_of=("part", "test", "step", "gauge")),
                name=text("as the build file has it"),
                step=count("number of a step", null="it is no step"),
            ),
            "those that were asked for",
        ),
    )
    yield _history()
    yield answer(
        "replay",
        "history --replay",
        "entry by entry, what each one brought",
        build=text("name of the machine"),
        entries=listed(
            record(
                entry=ENTERED["entry"],
                targets=listed(shared("effect"), "every target; empty for what moves none"),
            ),
            "every entry asked for",
        ),
    )


def _history() -> Answer:
    return answer(
        "history",
        "history",
        "what was entered, and where the machine stood in each state",
        build=text("name of the machine"),
        entries=listed(
            record(
                entry=ENTERED["entry"],
                at=ENTERED["at"],
                who=ENTERED["who"],
                station=text("the screen it was entered at"),
                why=text("the reason"),
                counts=flag("nothing took its place"),
                supersedes=ENTERED["supersedes"],
                record=shared("book_record", "what was entered"),
            ),
            "every entry asked for",
        ),
        states=listed(_state(), "each state; only with --states"),
    )


def _state() -> Schema:
    return record(
        number=count("number of the state"),
        at=text("when it was made, UTC, ISO 8601"),
        who=text("who made it"),
        reason=text("why"),
        cause=text("what made it"),
        readings=count("how many were taken in it"),
        targets=listed(
            record(
                target=text("its name"),
                unit=unit(),
                expected=small("expected size of the error at the worst pose, at the end of the state"),
                unknown=small("what was not known of it then, standard uncertainty"),
            ),
            "every target",
        ),
    )


def at_the_bench() -> Iterator[Answer]:
    """What is said of readings, and of where the machine stands."""
    yield _recorded()
    yield answer(
        "imported",
        "import-readings",
        "the readings of a table",
        readings=listed(
            record(
                line=count("where it begins in the table"),
                entry=count("its number in the book", null="nothing was entered"),
                of=text(PATH),
                item=text("serial of the item that was read", null="not of an item"),
                surprise=_surprise(),
                doubt=text("why it was asked about", null="it was believed"),
                conformity=shared("conformity", null="it has no limits"),
            ),
            "one for each reading, in the order of the table",
        ),
        effect=listed(
            shared("effect"), "every target, before the table and after; empty where nothing was entered"
        ),
    )
    yield _standing()
    yield answer(
        "what-if",
        "what-if",
        "two front pages side by side",
        changes=by_name(text(), "new value by field path"),
        before=shared("standing", "as described"),
        after=shared("standing", "with the description changed"),
    )
    yield _next()
    yield answer(
        "parts",
        "parts",
        "every dim that was read, with its verdict",
        build=text("name of the machine"),
        state=count("number of the state of the machine"),
        unread=count("how many dims were not read"),
        dims=listed(
            record(
                dim=text("part/dim"),
                size_unit=unit("the numbers beside it"),
                size=size("by its readings alone"),
                standard_uncertainty=size(),
                readings=count("how many there are of the part as it is"),
                conformity=shared("conformity", null="it has no limits"),
                concession=text("what was decided of it", null="nothing was"),
            ),
            "what is out of tolerance first",
        ),
    )


def _surprise() -> Schema:
    return number(
        "how far it is from what was expected", "in standard uncertainties", null="of an item on the bench"
    )


_LINE = record(
    name=text("where it comes from"),
    standard_uncertainty=size("of one value"),
    type=text("by statistics or by other means (JCGM 100)", one_of=("A", "B")),
    degrees_of_freedom=number("degrees of freedom", "a number", null="no end to them"),
    shared=flag("in common with other readings"),
)


def _recorded() -> Answer:
    return answer(
        "recorded",
        "record",
        "a reading that was entered",
        **ENTERED,
        reading=record(
            "what was made of it",
            of=text(PATH),
            state=count("number of the state of the machine"),
            gauge=text("what it was read with", null="none was named"),
            size_unit=unit("every size and uncertainty here"),
            values=listed(size(), "one for each pose, brought to 20 degC where a temperature was read"),
            standard_uncertainties=listed(size(), "of each value on its own"),
            expanded=size(
                "expanded uncertainty of one value, at the build's confidence", null="it was not asked for"
            ),
            contributions=listed(_LINE, "where the uncertainty comes from"),
            notes=listed(text(), "what was corrected or assumed"),
        ),
        surprise=_surprise(),
        conformity=shared("conformity", null="it has no limits"),
        effect=listed(shared("effect"), "every target, before and after"),
    )


_TARGET = record(
    name=text("name of the target"),
    unit=unit(),
    limit=small("the limit that it must hold"),
    designed=record(
        "before any reading",
        expected=small("expected size of the error at the worst pose"),
        chance=share("chance to hold the limit everywhere"),
    ),
    as_built=record(
        "with the readings",
        expected=small(
            "expected size of the error at the worst pose: known and not known, root sum of squares"
        ),
        known=small("size of the known error there"),
        unknown=small("what is not known of it, standard uncertainty"),
        worst_pose=shared("pose", "where the expected size is largest"),
        chance=share("chance to hold the limit everywhere"),
        chance_uncertainty=share("standard uncertainty that drawing leaves in it"),
        chance_all_normal=share("the same with every deviation counted as normal"),
        coverage=small("size that the build's share of machines like this one keeps to"),
    ),
    when_set=record(
        "once the adjusters are set by what is known now",
        expected=small("expected size of the error at the worst pose"),
        chance=share("chance to hold the limit everywhere", null="it was not asked for"),
    ),
    before_last_entry=record(
        "before the last entry that moved anything",
        null="there is none",
        expected=small("expected size of the error at the worst pose"),
        chance=share("chance to hold the limit everywhere", null="it was not asked for"),
    ),
    enough=flag("the chance is the build's confidence or better"),
    verdict=text(
        "too close to call: drawing leaves open which", one_of=("enough", "not yet", "too close to call")
    ),
)
_KNOWN = record(
    name=text("name of the deviation"),
    kind=text("where it comes from"),
    field=text("the statement of the build file"),
    how=text("how it is known", one_of=("measured", "assumed", "unresolved")),
    share=share("largest share of a target's variance that it carries now"),
    resolved_by=text("the reading that would narrow it most", null="none is declared"),
)
_LOOK = record(
    entry=count("number of the reading"),
    name=text("what was read"),
    surprise=number("of all values together", "in standard uncertainties"),
    unit=unit(),
    found=listed(small(), "at each pose, a free zero taken out"),
    expected=listed(small(), "what everything else lets one expect there"),
    standard_uncertainty=listed(small(), "of the difference"),
    outside=text("a mean that lies outside of all that it is the mean of", null="none does"),
)
_ACTION = record(
    what=text("in words"),
    kind=text("kind of work: read, set, decide and so on"),
    gain=text("what it brings, in words"),
    minutes=number("time of work", "min", null="not known"),
    command=text("how to do it from the command line"),
)


def _standing() -> Answer:
    return answer(
        "standing",
        "standing",
        "where the machine stands as built",
        build=text("name of the machine"),
        book=text("name of the book"),
        confidence=share("what the build asks of chances"),
        state=record("of the machine", number=count("number of the state"), reason=text("why it was made")),
        entries=count("how many are in the book"),
        readings=count("how many readings count"),
        chance_of_all=record(
            "to hold all limits together",
            designed=share("before any reading"),
            as_built=share("with the readings"),
        ),
        targets=listed(_TARGET, "each target"),
        moved_by=text("the last entry that moved anything", null="there is none"),
        deviations=record(
            "how many are known how",
            measured=count("how many"),
            assumed=count("how many"),
            unresolved=count("how many"),
        ),
        unresolved=listed(_KNOWN, "deviations that matter and are not known, the largest share first"),
        surprises=listed(_LOOK, "readings that ask for a second look"),
        actions=listed(_ACTION, "what to do next, the most worthwhile first"),
        nothing_more=text(
            "why nothing more is worth reading or setting", null="something is, or it was not asked"
        ),
        notes=listed(text(), "what a reader must know"),
        trials=record(
            "what the chances rest on",
            drawn=count("how many machines were drawn"),
            worth=number("draws of equal weight that they are worth", "a number"),
        ),
    )


_WORTH = record(
    name=text("test or dim"),
    minutes=number("time of work", "min"),
    gain=ratio("largest fall among the targets of what 'gain_of' names"),
    gain_per_minute=number("the same for a minute of work", "a fraction of the limit, 1/min"),
    target=text("the target for which it gains most"),
    worth_taking=flag("its gain could be seen"),
    now=listed(shared("left"), "every target as it stands"),
    then=listed(shared("left"), "every target after it, on average over what may be found"),
)


def _next() -> Answer:
    return answer(
        "next",
        "next",
        "what to measure next",
        build=text("name of the machine"),
        gain_of=text("what a gain is of: the field of 'now' and 'then'", one_of=("adjusted", "unknown")),
        readings=listed(_WORTH, "by gain for a minute, the best first"),
        plan=record(
            "for the time there is",
            null="no time was given",
            readings=listed(_WORTH, "in order, each after those before it"),
            minutes=number("time of work in all", "min"),
            before=listed(shared("left"), "every target as it stands"),
            after=listed(shared("left"), "every target after the plan"),
        ),
        not_worth_taking=listed(text(), "tests that would lower no target visibly"),
        nothing_more=text("why no reading is worth taking", null="one is"),
        gauges=listed(
            record(
                test=text("its name"),
                gauge=text("that the build file names for it", null="it names none"),
                unit=unit(),
                standard_uncertainty=small("of one value with it"),
                good_enough=small(
                    "standard uncertainty that would do", null="no gauge makes it worth taking"
                ),
                gain=ratio("what the test is worth with it"),
                gain_with_a_perfect_one=ratio("the same with a perfect one"),
                instead=text("another gauge that would do", null="none, or none is needed"),
            ),
            "what gauge each test needs; only with --gauges",
        ),
    )
