"""JSON Schema of the answer about the shop's machines."""

from collections.abc import Iterator

from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    count,
    flag,
    listed,
    number,
    pair,
    record,
    share,
    size,
    small,
    text,
    unit,
)

_FACTOR = "a factor"


def about_machines() -> Iterator[Answer]:
    """What the command about the machines answers.

    >>> [one.name for one in about_machines()]
    ['machines']
    """
    machine = record(
        machine=text("its name"),
        kind=text("what kind it is"),
        envelope=listed(size(), "largest piece that it takes", null="not stated"),
        speeds=listed(number("", "a number a minute"), "slowest and fastest", null="not stated"),
        power_watts=number("at the spindle", "a number in W", null="not stated"),
        hour_costs=number("what an hour on it costs", "a number in the shop's own money", null="not stated"),
        holds=listed(_holds(), "what it holds, by op"),
    )
    yield answer(
        "machines",
        "machines",
        "the shop's machines, what is taken for them, and what their parts say they hold",
        build=text("name of the machine that is built"),
        unit=unit("standard deviations of lengths"),
        angle_unit=unit("standard deviations of angles"),
        size_unit=unit("sizes"),
        machines=listed(machine, "in the order of the build file"),
        taken=record(
            "what was taken over into the description",
            null="that was not asked for",
            fields=listed(text(), "paths that are stated anew"),
            entry=count("of the book in which it was saved"),
            revision=count("number of that description"),
        ),
    )


def _deviations(says: str, null: str = "") -> Schema:
    return record(
        says,
        null=null,
        cut=small("of a cut against the next"),
        setting=small("of a setting"),
        seating=small("of seating one piece"),
        angular=number("squareness or taper", "a number in 'angle_unit'"),
    )


def _holds() -> Schema:
    factor_range = pair(number("", _FACTOR), "95 % range of it; null: nothing was read")
    return record(
        op=text("name of the op"),
        taken=_deviations("standard deviations that are reckoned with"),
        source=text("who says so"),
        assumed=flag("at least one of them is the handbook's"),
        of_diameter=flag("on round surfaces they are of the diameter; else of the radius"),
        known_within=number(
            "how well they are known before the readings that count here", _FACTOR, minimum=1
        ),
        field=text("where the build file states it, or would"),
        parts=count("parts that are made so"),
        read=count("of their dims that were read and count here"),
        counted_already=count("of their dims that were read and are in what is taken"),
        factor=number("to multiply the standard deviations by", _FACTOR, null="nothing was read", minimum=0),
        factor_range={**factor_range, "type": ["array", "null"]},
        doubt_removed=share("share of the doubt that the readings took away"),
        differs=flag("the range does not hold 1"),
        found=_deviations("standard deviations as found; the angle as taken", "nothing was read"),
    )
