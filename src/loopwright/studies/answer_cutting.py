"""JSON Schema of the answer about cutting data."""

from collections.abc import Iterator
from typing import get_args

from loopwright.making.cutting_records import Alarm, Known
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    count,
    flag,
    listed,
    number,
    record,
    size,
    small,
    text,
    unit,
)

_SPEED = "in 'speed_unit', m/min or ft/min"
_FEED_SPEED = "in 'feed_speed_unit', mm/min or in/min"
_UNKNOWN = "not known, or not for this way of cutting"


def about_cutting() -> Iterator[Answer]:
    """The answer about cutting data.

    >>> [one.name for one in about_cutting()]
    ['cutting']
    """
    yield answer(
        "cutting",
        "cut",
        "speed, feed, passes and minutes of an op, and what limits them",
        build=text("name of the machine"),
        part=text("its name"),
        number=count("of the op: 10, 20 …"),
        op=text("its name"),
        machine=text("of the shop", null="none is named"),
        machine_kind=text("its kind; the usual one where none is named"),
        setup=text("name of the clamping", null="it has none"),
        together=listed(text(), "other parts that are cut before the setting is broken"),
        material=text("of the part", null="not said"),
        cut_as=text("group of materials that are cut alike", null="the handbook has none"),
        condition=text("how hard it is when it is cut, and how that is known"),
        size_unit=unit("lengths and feeds"),
        unit=unit("limits, bending, chips and roughness"),
        speed_unit=unit("cutting speeds"),
        feed_speed_unit=unit("feed speeds"),
        cuts=listed(_cut(), "in the order of the route"),
        minutes=_minutes(),
        notes=listed(text(), "on op and material"),
        cautions=listed(
            record(
                hazard=text("its name"),
                texts=listed(text(), "reminders"),
                source=text("regulation, standard or practice"),
            ),
            "what can hurt someone",
        ),
        cautions_defer=text("what stands under every caution"),
    )


def _minutes() -> Schema:
    return record(
        "for the op",
        attended=number("for one part, setting up not counted", "min"),
        feeding=number("of it, in which a tool feeds", "min", null="not known"),
        setting_up=number("attended, once for the part or its matched set", "min"),
        pieces=count("parts that share the setting up"),
        unattended=number("in which nobody need stand by", "min"),
        known=text("how that is known", one_of=("given", "estimated", "assumed")),
        made_of=listed(text(), "what the estimate is made of"),
    )


def _cut() -> Schema:
    return record(
        surface=text("its name"),
        field=text("path of the cut in the build file"),
        way=text("how it is cut"),
        known=text("how speed and feed are known", one_of=get_args(Known)),
        tool=_tool(),
        diameter=size("of the round surface, or of the work on a lathe", null=_UNKNOWN),
        length=size("fed along, or depth of the hole", null=_UNKNOWN),
        stock=size("that comes off, on a face or on the diameter; by the chart its mean", null="not known"),
        stock_least=size("least of it in worst case, by the tolerance chart", null="the chart does not tell"),
        stock_most=size("most of it in worst case, by the tolerance chart", null="the chart does not tell"),
        stock_from=text("how that is known", null="it is not"),
        limit=small("half the width between the limits", null="there are none"),
        limit_from=text("which dim", null="there is none"),
        passes=listed(_pass(), "in order; empty where there are no data"),
        minutes=number("of feeding", "min", null="not known"),
        ranges=listed(_range(), "every source of speed and feed"),
        details=listed(
            record(
                what=text("in words"),
                value=number("as a number", "in 'unit'", null="words only"),
                unit=text("of the value", null="a plain number, or words only"),
                text=text("as a person reads it"),
            ),
            "further figures: tap drill, pecks, ramp, path of a thread mill",
        ),
        limited_by=listed(text(), "what limits a value"),
        warnings=listed(
            record(about=text("what it is about", one_of=get_args(Alarm)), text=text("the warning")),
            "plain ones",
        ),
        proven=listed(text(), "what the shop's own values replaced"),
        assumed=listed(text(), "what was assumed"),
        notes=listed(text(), "anything else to know"),
    )


def _tool() -> Schema:
    return record(
        "with what it is cut",
        name=text("in the shop", null="none is named; a usual one is assumed"),
        kind=text("of tool"),
        material=text("that cuts", null="by hand"),
        diameter=size("of cutter, wheel or bar", null=_UNKNOWN),
        edges=count("teeth or flutes"),
        stick_out=size("out of its holder", null=_UNKNOWN),
        nose_radius=size("of its corner"),
        edge_angle=number("of its edge to the feed", "a number of degrees"),
        speed_limit=number("marked on it", "a number of turns a minute", null="none is stated"),
        edge_radius=small("sharpness of its edge"),
    )


def _pass() -> Schema:
    def of(says: str, unit_of: str) -> Schema:
        return number(says, unit_of, null=_UNKNOWN)

    return record(
        kind=text("what it is for", one_of=("rough", "finish", "only", "spark out")),
        count=count("how many alike"),
        speed=of("cutting speed; of a grinding wheel too", _SPEED),
        rpm=of("of the spindle", "a number of turns a minute"),
        feed=size("for each turn, tooth or stroke", null=_UNKNOWN),
        feed_for_each=text("what the feed is for", one_of=("rev", "tooth", "stroke")),
        feed_speed=of("of table or slide; of a grinder table or work", _FEED_SPEED),
        depth=size("into the surface; on a radius the radial depth", null=_UNKNOWN),
        width=size("across the feed, along the surface", null=_UNKNOWN),
        chip=small("mean thickness of the chip", null=_UNKNOWN),
        engagement=of("arc over which a tooth cuts", "a number of degrees"),
        force=of("tangential, of a sharp tool", "N"),
        thrust=of("along the tool", "N"),
        power=of("at the cut, of a sharp tool, W", "N·m/s"),
        torque=of("at the spindle", "N·m"),
        deflection=small("of tool or work where it cuts", null=_UNKNOWN),
        effect=small("what that does to the dim", null=_UNKNOWN),
        height=small("of the feed marks by geometry alone, Rt", null=_UNKNOWN),
        roughness=small("of them, Ra", null=_UNKNOWN),
        minutes=of("of feeding, all passes together", "min"),
    )


def _range() -> Schema:
    return record(
        what=text("of what", one_of=("speed", "feed")),
        unit=unit("low and high"),
        low=number("least", "in 'unit'"),
        high=number("greatest", "in 'unit'"),
        for_each=text("what a feed is for", null="a speed, or in-feed of a pass"),
        cut=text("for which cut the source means it", null="for any"),
        by_rule=flag("a rule of the trade made it from a neighbouring row"),
        counted=flag("it was taken into account"),
        source=text("who says so"),
    )
