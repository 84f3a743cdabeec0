"""JSON Schema of the answer about stock to leave."""

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
    text,
    unit,
)

_GROWTH = "a fraction of each length"
_HRC = "in HRC, a number"


def about_stock() -> Iterator[Answer]:
    """The answer about stock to leave.

    >>> [one.name for one in about_stock()]
    ['stock']
    """
    yield answer(
        "stock",
        "stock",
        "how much stock to leave on a part for each finishing cut",
        build=text("name of the machine"),
        part=text("its name"),
        noun=text("what to call it", one_of=("ring", "shaft", "part")),
        material=text("what it is made of", null="not said"),
        chance=share("chance to clean up all over that was asked for"),
        furnace=text("how the part is kept from losing carbon in the furnace"),
        size_unit=unit("every length here"),
        surfaces=listed(
            _surface(), "finishing cuts in the order of the route; lengths on the diameter of a round surface"
        ),
        hardening=_hardening(),
        cautions=listed(
            record(
                hazard=text("its name"),
                texts=listed(text(), "reminders"),
                source=text("regulation, standard or practice"),
            ),
            "of the heat and the grinding",
        ),
        cautions_defer=text("what stands under every caution"),
        problems=listed(
            record(
                field=text("path of the field"),
                what=text("what keeps the route from being charted"),
                remedy=text("what would do"),
            ),
            "what could not be counted for that reason",
        ),
    )


def _band(of: str, says: str, null: str) -> Schema:
    return record(
        says,
        null=null,
        low=number("least", of),
        high=number("greatest", of),
        source=text("who says so"),
    )


def _surface() -> Schema:
    return record(
        surface=text("its name"),
        faces=text("where it faces"),
        on_diameter=flag("the lengths are on the diameter"),
        op=count("number of the op that cuts it"),
        op_name=text("its name"),
        machine=text("on which machine", null="none is named"),
        field=text("path of the cut in the build file"),
        before=count("number of the op that made the surface before", null="it is as the blank came"),
        before_name=text("name of that op, or 'blank'"),
        left_by=count("number of the op whose size leaves the stock", null="none does"),
        leave=pair(size(), "what to leave: least and most, rounded"),
        rounded_to=size("step to which they are rounded"),
        least=size("at which the wanted chance is just met"),
        most=size("least, and the width of the limits of the cut before"),
        chance=share("chance to clean up with the least that is told, rounded"),
        fails=record(
            "a stock that is too little",
            null="hardly any would fail with any",
            stock=size("with which so many do not clean up"),
            share=share("of the pieces that do not"),
        ),
        curve=listed(
            record(stock=size("left"), chance=share("chance to clean up with it")), "for a picture, rising"
        ),
        window=size("between the limits of the dim that leaves the stock"),
        window_written=flag("they stand in the route; else it is three standard deviations either way"),
        causes=listed(_cause(), "what eats into the stock, what takes most first"),
        remedies=listed(
            record(
                name=text("in short"),
                words=text("what to do"),
                least=size("stock that would do then"),
                saves=size("by how much less"),
            ),
            "what would let less stock do, each by computing all of it again; the best first, then all together",
        ),
        work_to=_work_to(),
        blank=size("diameter that the bar must have", null="it is not cut from a bar here"),
        written=record(
            "what the working dim that stands in the route leaves",
            null="none stands there",
            stock=pair(size(), "least and most"),
            chance_at_least=share("chance to clean up with the least"),
            chance=share("chance on average between the two"),
        ),
        least_written=size("least stock that the route says", null="it says none"),
        grinding=record(
            "what more stock costs to grind off; an estimate",
            null="it is not ground, or its size is not known",
            extra=size("so much more"),
            minutes=pair(number("", "min"), "at the in-feed of roughing, and at that of finishing"),
            words=text("wheel and source"),
        ),
        customary=_band("in 'size_unit'", "what the trade leaves", "the handbook has none"),
        customary_says=text("where the least lies", one_of=("inside", "under", "over"), null="none is known"),
        notes=listed(text(), "what was not counted, or should be known"),
    )


def _cause() -> Schema:
    return record(
        name=text("what it is"),
        kind=text(
            "of what sort",
            one_of=("growth", "warp", "skin", "damage", "form", "run-out", "size", "lean"),
        ),
        shape=text("how it is spread", one_of=("known", "between", "factor", "normal", "tilt", "run-out")),
        low=size("least, for 'between' and 'factor'"),
        high=size("most, for 'between' and 'factor'"),
        std=size("standard deviation, for the others"),
        expected=size("what it takes on average"),
        takes=size("by how much less stock would do without it"),
        source=text("where the figure comes from"),
        assumed=flag("the shop has neither measured nor stated it"),
    )


def _work_to() -> Schema:
    return record(
        "the dim to work to, so that the stock is left",
        null="no finished dim says where the surfaces lie",
        surface=text("that is cut to it"),
        measured_from=text("from which surface", null="it is a diameter"),
        op=count("number of the op"),
        limits=pair(size(), "least and most"),
        grows=size("by how much it is expected to grow afterwards"),
    )


def _hardening() -> Schema:
    unknown = "it is not known"
    return record(
        "how the part is hardened",
        null="it is not",
        steel=text("name of the treatment"),
        op=count("number of the op"),
        tempers_in=listed(count(), "numbers of the tempering ops"),
        aim=record(
            "hardness that is asked for",
            null="none is",
            low=number("least", "a number in 'scale'"),
            high=number("greatest", "a number in 'scale'"),
            scale=text("of the test", one_of=("HRC", "HV", "HB", "HRB")),
            hrc={
                "anyOf": [pair(number("", _HRC), "converted"), {"type": "null"}],
                "description": "in HRC; null: it cannot be converted",
            },
            op=count("number of the op that asks for it"),
        ),
        harden_degc=_band("degC", "furnace", unknown),
        soak_minutes=_band("min", "time at heat", unknown),
        quench=text("medium", null=unknown),
        quench_to_degc=_band("degC", "taken out and tempered at", unknown),
        section=size("thickest section", null=unknown),
        through=text("how far it hardens", one_of=("through", "doubtful", "skin only"), null=unknown),
        as_quenched_hrc=_band(_HRC, "what the test must show before tempering", unknown),
        temper_degc=_band("degC", "temperatures that lead to the aim", unknown),
        temper_written_degc=number("what the route says", "degC", null="it says none"),
        tempered_hrc=_band(_HRC, "what to expect after tempering", unknown),
        temper_hours=_band("hours, a number", "of each tempering", unknown),
        tempers=count("how many times it is tempered"),
        growth=record(
            "growth of all lengths that dims are planned with",
            mean=number("expected", _GROWTH),
            low=number("least", _GROWTH),
            high=number("most", _GROWTH),
            source=text("who says so"),
        ),
        stress_relief_degc=_band("degC", "stress relief before finishing", "the handbook has none"),
        tested=record(
            "whether the part can bear a hardness test",
            null="hardness or size is not known",
            thickness=size("under the indentation"),
            for_hrc=number("for which hardness", _HRC),
            usable=listed(text(), "tests that may be used, the quickest first"),
            hrc_needs=size("thickness that HRC needs"),
            between=size("between indentations", null="no test may be used"),
            to_edge=size("from an indentation to an edge", null="no test may be used"),
        ),
        notes=listed(text(), "warnings, and what is not known"),
    )
