"""What the commands about fit-up, concession and selection answer."""

from collections.abc import Iterator

from loopwright.studies.answer_common import EXPECTED
from loopwright.studies.answer_fields import (
    Answer,
    answer,
    by_name,
    count,
    flag,
    listed,
    number,
    pair,
    ratio,
    record,
    share,
    shared,
    size,
    small,
    text,
    unit,
)


def in_fit_up() -> Iterator[Answer]:
    """What is said of assembly, of parts out of tolerance, and of bought items."""
    yield _fitup_plan()
    yield _fitup_step()
    yield _screw()
    yield _concession()
    yield _selection()


_SETTING = record(
    what=text("adjuster, or part/dim"),
    unit=unit(),
    standard_uncertainty=small("standard uncertainty of its setting over machines like this one"),
    range=pair(small(null="no end on this side"), "from and to"),
    chance_that_range_is_enough=share("over machines like this one"),
)
_STEP = record(
    number=count("number of the step, from 1"),
    name=text("name of the step"),
    looks_at=text("in words"),
    unit=unit("before, after and accept"),
    before=small("expected size of the worst that it looks at"),
    after=small("the same after the step"),
    accept=small("what is good enough", null="the step states none"),
    accepted=share("chance that it will be", null="the step states none"),
    minutes=number("time of reading", "min"),
    costs_if_left_out=ratio("what leaving it out would cost at the end", null="it was not asked for"),
    settings=listed(_SETTING, "what is set"),
    targets=listed(EXPECTED, "every target after the step"),
)


def _fitup_plan() -> Answer:
    return answer(
        "fitup-plan",
        "fitup plan",
        "the fit-up, run through before metal is cut",
        build=text("name of the machine"),
        start=listed(EXPECTED, "every target before the first step"),
        chances=by_name(share("to hold the limit after the last step"), "by target"),
        steps=listed(_STEP, "in order"),
        binding=listed(text(), "joints that bind after the last step"),
    )


_TO_SET = record(
    what=text("adjuster, or part/dim"),
    kind=text("how it is set"),
    size_unit=unit(),
    now=size("where it stands"),
    value=size("where to set it"),
    change=size("by how much that moves it"),
    standard_uncertainty=size("of what would be right"),
    range=pair(size(null="no end on this side"), "from and to"),
    at_limit=flag("the range does not suffice"),
    foils=listed(size(), "thicknesses to lay together", null="no foil in stock, or nothing to shim"),
    grind_off=listed(
        size(null="no end on this side"),
        "from the thinnest and the thickest that the blank may be",
        null="no spacer",
    ),
    possible=flag("the blank allows it", null="no spacer"),
    remedy=text("what to do where stock or blank do not allow it", null="they do"),
    must_come_down=record(
        "a shim that would have to be thinner than can be put in",
        null="none has to be",
        by=size("how far its contact must come down beyond that"),
        standard_uncertainty=size(),
        dim=text("part/dim of what it lies on, which could be ground by as much", null="none is named"),
        raised_instead=listed(
            text(), "shims of the joint that are raised instead; empty where that does not do"
        ),
    ),
)


def _fitup_step() -> Answer:
    return answer(
        "fitup-step",
        "fitup step",
        "a step of the fit-up: what it found, and what to set",
        build=text("name of the machine"),
        number=count("number of the step, from 1"),
        name=text("name of the step"),
        note=text("note of the build file", null="it has none"),
        seat=listed(text(), "what is put in place"),
        looks_at=text("in words"),
        reads=listed(
            record(
                test=text("its name"),
                entry=count("of its last reading that nothing done since has moved", null="still to do"),
            ),
            "the tests of the step",
        ),
        verdict=text("what the step is ready for", one_of=("good", "set", "read", "repeat", "rework")),
        unit=unit("every error of the step"),
        largest=small("worst known error that it looks at"),
        unknown=small("standard uncertainty of that"),
        accept=small("what is good enough", null="the step states none"),
        accepted=share("chance that it is, as it stands", null="the step states none"),
        to_set=listed(_TO_SET, "what to set"),
        left=small("worst known error after that"),
        expected=small("the same with what is not known, and how well settings are hit"),
        accepted_then=share("chance that it is good enough then", null="the step states none"),
        targets=listed(
            record(
                target=text("its name"),
                unit=unit(),
                limit=small("the limit that it must hold"),
                expected=pair(small(), "expected size of the error at the worst pose, now and then"),
            ),
            "every target",
        ),
        proven=flag("no other setting leaves less"),
        notes=listed(text(), "what a reader must know"),
    )


_REMEDY = record(
    what=text("spacer, fixed mount or free mount"),
    of=text("the dim or adjuster that is set"),
    by=small("by how much, from where it stands; a thicker spacer is above zero"),
    uncertainty=small("standard uncertainty of what would be right"),
    float=small("how far it must be able to go to either side, at the build's confidence"),
    enough=flag("it lies inside of its range"),
)
_DIRECTION = record(
    contact=text("contact of the joint that holds the nut in it"),
    normal=listed(number("", "a unit vector"), "the direction in machine coordinates"),
    stands_off=listed(small(), "expected misfit at each position"),
    not_known=listed(small(), "standard uncertainty of it at each position"),
    side_load=listed(number("", "N"), "expected load at each position"),
    side_load_when_set=listed(number("", "N"), "the same with the remedies"),
    remedies=listed(_REMEDY, "what to set"),
)


def _screw() -> Answer:
    return answer(
        "screw",
        "fitup screw",
        "how a screw lines up with its nut",
        build=text("name of the machine"),
        joint=text("joint of the axis"),
        drive=text("which of its drives"),
        unit=unit("every misfit"),
        size_unit=unit("the positions"),
        positions=listed(size(), "positions of the axis"),
        directions=listed(_DIRECTION, "each direction in which the nut is held"),
        notes=listed(text(), "what was assumed"),
    )


_ITEM = record(
    serial=text("serial of the item"),
    read=listed(
        record(what=text("that was read"), value=small(), standard_uncertainty=small()),
        "what was found of this item",
    ),
)
_GRADED = record(
    serial=text("serial of the item"),
    grade=text("grade that was ordered", null="none was stated"),
    verdict=text("against the grade", null="no grade", one_of=("keep", "send back", "undecided")),
    source=text("source of its limits", null="no grade"),
)


def _concession() -> Answer:
    return answer(
        "concession",
        "concede",
        "what a part out of tolerance means at the tool",
        build=text("name of the machine"),
        part=text("its name"),
        state=count("number of the state of the machine"),
        dims=listed(
            record(
                dim=text("part/dim"),
                readings=count("how many there are in this state"),
                conformity=shared("conformity", "against its limits"),
            ),
            "every dim of it that was read",
        ),
        ways=listed(
            record(
                decision=text("the way", one_of=("use as is", "compensate", "match", "remake")),
                words=text("what it means"),
                targets=listed(shared("left"), "every target then"),
                settings=listed(
                    record(
                        what=text("adjuster, or part/dim"),
                        size_unit=unit(),
                        value=size("where to set it"),
                        change=size("by how much that moves it"),
                    ),
                    "what to set",
                ),
            ),
            "the ways to go on, as it is first",
        ),
        best=text("the way with the best chance of the target that is worst off"),
        matches=listed(
            record(
                name=text("the other part, or serial of the item"),
                kind=text("what sort of thing that is", one_of=("same drawing", "mirror part", "item")),
                chances=by_name(share("to hold the limit then"), "by target"),
                largest_expected=ratio("largest expected size of an error"),
            ),
            "everything that it could be exchanged with, the best chance first",
        ),
        entered=shared("entered", null="nothing was decided"),
    )


def _selection() -> Answer:
    return answer(
        "selection",
        "select",
        "which of the inspected items goes where",
        build=text("name of the machine"),
        kind=text("kind of the items"),
        best=by_name(text("serial"), "by place"),
        objective=ratio("largest expected error with the best choice"),
        average=ratio("the same of items taken as they come"),
        average_uncertainty=ratio("standard uncertainty that drawing leaves in it"),
        worst=ratio("the worst choice that was found"),
        choices=count("how many there are"),
        every_choice=flag("all of them were looked at"),
        unit=unit("what was read"),
        items=listed(_ITEM, "every item that was looked at"),
        ranking=listed(
            record(serials=listed(text(), "in the order of the places"), objective=ratio()),
            "the best choices, the best first",
        ),
        never_worth_using=listed(text(), "serials"),
        graded=listed(_GRADED, "each item against its grade"),
        entered=shared("entered", null="nothing was put in"),
    )
