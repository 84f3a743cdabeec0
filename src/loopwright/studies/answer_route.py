"""JSON Schemas of what is asked about the making of a part: its route, and its tolerance charts."""

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
    size,
    small,
    text,
    unit,
)

_PROBLEMS = listed(
    record(field=text("path in the build file"), what=text("what is wrong"), remedy=text("what would do")),
    "what keeps it from being charted",
)


def route_answers() -> dict[str, Answer]:
    """Every such answer by its name.

    >>> sorted(route_answers())
    ['chart', 'cheapest', 'route']
    """
    return {one.name: one for one in (_route(), _chart(), _cheapest())}


def _share(says: str) -> Schema:
    return number(
        says,
        "a factor; 1 is what the machine can just be held to",
        null="nobody knows what it holds",
        minimum=0,
    )


def _cheapest() -> Answer:
    way = record(
        part=text("whose route"),
        op=count("number of the op that is replaced"),
        does=text("name of that op"),
        instead=text("the alternative"),
        matched_set=text("that it begins", null="none"),
        field=text("path in the build file"),
    )
    return answer(
        "cheapest",
        "cheapest",
        "the cheapest change of routes that brings a wished chance",
        build=text("name of the machine"),
        targets=listed(text(), "whose limits are to be held together"),
        wished_chance=share("asked for"),
        chance_now=share("with the routes as they stand"),
        reached=flag("some choice brings it"),
        changes=listed(way, "alternatives to take"),
        minutes=number("attended, more than now", "min"),
        chance=share("that they bring; where nothing is enough, the greatest that was found"),
        chance_uncertainty=share("standard uncertainty that drawing leaves in it"),
        best_not_enough=listed(way, "alternatives of the choice with that chance, where nothing is enough"),
        bound_minutes=number("no choice that is enough takes less", "min", null="none is enough"),
        proven=flag("nothing cheaper is enough, or none is"),
        choices=number("of combinations that there are", "a number", minimum=1),
        looked_at=count("looked at in full"),
        ops_without_minutes=count("among those that are changed"),
    )


def _cut() -> Schema:
    return record(
        surface=text("that is cut"),
        diameter=flag("its sizes are diameters"),
        direction=text("of its chart", null="no dim follows it", one_of=("X", "Y", "Z", "round")),
        measured_from=text("surface from which it is read", null="an axis, or it is the first of all"),
        size=size("middle of the working dim", null="it is the first reference, or its chart has a mistake"),
        tolerance=small("half the tolerance of the working dim", null="as for 'size'"),
        share_of_capability=_share("tolerance over what the machine can be held to"),
        given=flag("the route states the size"),
        stock=record(
            "that it takes off",
            null="the surface is new",
            least=size("in worst case"),
            expected=size("expected"),
            most=size("in worst case"),
        ),
        least_stock=size("that it has to take off"),
        tool=text("named for it", null="none"),
        thread=text("that is cut", null="none"),
        field=text("path in the build file"),
    )


def _route() -> Answer:
    return answer(
        "route",
        "route",
        "how a part is made",
        build=text("name of the machine"),
        part=text("name of the part"),
        material=text("its material", null="not stated"),
        condition=text("in which it is bought", null="not stated"),
        blank=text("what it is cut from, in mm", null="not stated"),
        mark=text("on the part", null="none"),
        note=text("anything to know", null="nothing"),
        size_unit=unit("sizes"),
        unit=unit("tolerances"),
        attended_minutes=number("stated by the route, with setting up", "min", minimum=0),
        unattended_minutes=number("stated by the route", "min", minimum=0),
        ops_without_minutes=count("ops for which the route states none"),
        ops=listed(_op(), "in order"),
        problems=_PROBLEMS,
        still_from_limits=by_name(text("why"), "dims whose deviation comes from their limits alone"),
    )


def _op() -> Schema:
    return record(
        number=count("10, 20, 30 …"),
        op=text("its name"),
        machine=text("of the shop", null="not stated"),
        setup=text("name of the clamping", null="one of its own"),
        together=text("matched set", null="none"),
        as_one=flag("the set is clamped as one"),
        set_with=listed(text(), "other parts of the matched set"),
        datum=listed(text(), "surfaces on which it stands"),
        held=text("how it is held", null="not stated"),
        cuts=listed(_cut(), "what it cuts"),
        hardness=text("what the test must show", null="nothing asked"),
        minutes=number("attended, for one part", "min", null="not stated", minimum=0),
        setting_up_minutes=number("to set up", "min", minimum=0),
        unattended_minutes=number("in which nobody need stand by", "min", minimum=0),
        inspect=listed(text(), "what is measured before it leaves the machine"),
        gauge=text("for that", null="not stated"),
        cautions=listed(text(), "hazards"),
        alternatives=listed(text(), "other ways that the shop would accept"),
        note=text("anything to know", null="nothing"),
        field=text("path in the build file"),
    )


def _chart() -> Answer:
    return answer(
        "chart",
        "chart",
        "the tolerance charts of a part",
        build=text("name of the machine"),
        part=text("name of the part"),
        size_unit=unit("sizes"),
        unit=unit("tolerances"),
        confidence=share("of the likely ranges"),
        feasible=flag("every chart holds in worst case"),
        problems=_PROBLEMS,
        charts=listed(_direction(), "one for each direction in which something is cut"),
    )


def _direction() -> Schema:
    return record(
        direction=text("of the chart", one_of=("X", "Y", "Z", "round")),
        diameters=flag("its sizes are diameters"),
        problems=_PROBLEMS,
        feasible=flag("its cuts can be held, and hold drawing and stock in worst case"),
        share_of_capability=_share("least tolerance over what the machine can be held to"),
        working=listed(_working(), "working dims in the order of work"),
        finished=listed(_chained("of the drawing"), "dims of the drawing"),
        stock=listed(_chained("least and most stock"), "stock removals"),
        lacking=listed(text(), "chains that cannot be held, in words"),
        notes=listed(text(), "what given sizes settle"),
        would_free=listed(
            record(
                what=text("the change"),
                minutes=number("that it costs", "min"),
                share_of_capability=_share("that it brings"),
                enough=flag("it is enough"),
            ),
            "single changes that would free it",
        ),
        findings=listed(
            record(
                kind=text("of the fault"),
                field=text("path in the build file"),
                what=text("what is wrong"),
                remedy=text("what would do"),
                by=small("by how much in worst case"),
                chance=share("that it turns out well all the same"),
            ),
            "what is wrong with the sizes that the route gives",
            null="no audit was asked for",
        ),
    )


def _working() -> Schema:
    return record(
        op=count("number of the op"),
        does=text("name of the op"),
        surface=text("that is cut"),
        measured_from=text("surface from which it is read", null="an axis"),
        size=size("middle of its limits"),
        tolerance=small("half its tolerance"),
        capability=small("half the tolerance that can be held", null="nobody knows"),
        share_of_capability=_share("tolerance over capability"),
        given=flag("the route states it"),
        bound_by=text("what keeps it from being wider", null="nothing"),
        field=text("path in the build file"),
    )


def _chained(asked: str) -> Schema:
    ends = size("", null="nothing is asked")
    return record(
        name=text("of the dim, or of surface and op"),
        over=text("surfaces that it runs over"),
        asked=pair(ends, f"limits {asked}"),
        worst_case=pair(ends, "least and most"),
        expected=size("expected"),
        standard_deviation=small("of it"),
        likely=pair(ends, "range that holds it with the confidence"),
        chance=share("that it is within what is asked"),
        chance_of_any=share("of a stock, that there is any"),
        holds=flag("the worst case is within what is asked"),
        binds=flag("nothing is left to give to its cuts"),
    )
