"""What is in the budget as JSON, field by field; ``exchange`` writes it."""

from loopwright.studies.answer_fields import (
    Schema,
    by_name,
    count,
    flag,
    listed,
    number,
    pair,
    record,
    share,
    shared,
    small,
    text,
    unit,
)

FORMAT = "loopwright-budget/1"

_COMPONENT = record(
    name=text("name of the component"),
    bias=small("what is known of the error"),
    standard_uncertainty=small(),
    interval=pair(small(), "from and to, at the build's confidence"),
)
_SOURCE = record(
    name=text("name of the deviation"),
    kind=text("where it comes from"),
    part=text("the part that it belongs to", null="to none"),
    joint=text("the joint in which it acts", null="in several, or none"),
    field=text("the statement of the build file"),
    group=text("the profile of which it is one shape", null="it stands alone"),
    share=share("of the variance at the worst pose"),
    share_over_volume=share("of the variance over the whole volume"),
)
_TIGHTENING = record(
    field=text("the statement of the build file"),
    name=text("name of its deviation, or of the group that it makes"),
    part=text("the part that it belongs to", null="to none"),
    kind=text("where the deviation comes from"),
    now=small("largest expected size as it stands"),
    halved=small("the same with the limits halved"),
    doubled=small("the same with the limits doubled"),
)
_CONTACT = record(
    contact=text("its name"),
    misfit=small("what it must give, root mean square"),
    force_newton=number("expected force that this makes", "N"),
    clearance=small(
        "float to either side that would relieve it", null="it holds the joint, or no float does"
    ),
    pressed_newton=number("expected force that presses it, preload and weight included", "N"),
    chance_of_lifting=share("chance that it lifts off", null="a contact that holds both ways"),
)
_STIFFNESS = record(
    "at the worst pose",
    null="for a rotation",
    unit=unit("stiffness"),
    directions=by_name(small(null="nothing gives"), "by X, Y, Z"),
    compliance_shares=by_name(
        by_name(share("of the compliance"), "by joint"), "of each joint in what gives, by X, Y, Z"
    ),
)

TARGET = record(
    optional=("at_poses",),
    name=text("name of the target"),
    asks=text("what it asks for, in words"),
    component=text("component of the error: letters, or a direction"),
    unit=unit("every length or angle of this target"),
    limit=small("the limit that it must hold"),
    zeroed=text("how, in words"),
    worst_pose=shared("pose", "where the expected size is largest"),
    expected=small("expected size there, root mean square"),
    components=listed(_COMPONENT, "the error at the worst pose by component"),
    poses=count("how many were looked at"),
    at_poses=listed(
        record(
            pose=shared("pose", "which"),
            bias=listed(small(), "what is known of the error, one number for each component"),
            standard_uncertainty=listed(small(), "one number for each component"),
        ),
        "every pose; only with --poses",
    ),
    monte_carlo=record(
        "the worst error over the whole volume",
        trials=count("how many machines were drawn"),
        mean=small(),
        quantiles=by_name(small(), "by probability"),
        quantile_uncertainty=small("of the quantile at the build's confidence, by drawing", null="too few trials"),
    ),
    chance=share("chance to hold the limit over the whole volume"),
    chance_uncertainty=share("standard uncertainty that drawing leaves in it"),
    meets=flag("the chance is the build's confidence or better"),
    worst_case=record(
        "everything at its limit",
        size=small("size of the error"),
        pose=shared("pose", "where"),
    ),
    sources=listed(_SOURCE, "what drives it, the largest share first"),
    shares=record(
        "of the variance at the worst pose, added up",
        by_kind=by_name(share("of the variance"), "by where it comes from"),
        by_joint=by_name(share("of the variance"), "by joint"),
        by_part=by_name(share("of the variance"), "by part"),
    ),
    tightening=listed(_TIGHTENING, "what halving and doubling each statement would do, the largest gain first"),
    make_together=listed(
        record(
            first=text("a dim, part/dim"),
            second=text("another"),
            now=small("largest expected size as it stands"),
            together=small("the same with both made together"),
        ),
        "dims worth making together",
    ),
    exact=record(
        "how far exact rigid-body motion is from this",
        cases=count("how many were compared"),
        largest=small("largest error among them"),
        difference=small("largest difference among them"),
        typical_difference=small("the same with everything one standard uncertainty off"),
        typical_largest=small("largest error then"),
    ),
    stiffness=_STIFFNESS,
    just_in_limits=record(
        "the same with every dim only known to be within its limits, however it is made",
        null="no part has a route, so that is what all of it says",
        expected=small("expected size at its worst pose"),
        chance=share("chance to hold the limit over the whole volume"),
        chance_uncertainty=share("standard uncertainty that drawing leaves in it"),
    ),
)  # fmt: skip

BUDGET = record(
    format={"description": "name and version of this answer", "const": FORMAT},
    build=text("name of the machine"),
    file=text("name of its build file", null="it came from none"),
    confidence=share("confidence of intervals"),
    sources=count("deviations in all"),
    open_sources=count("deviations with a spread"),
    seed=count("seed of the draw"),
    chance_of_all=share("chance to hold all limits together"),
    targets=listed(shared("budget_target"), "each target"),
    over_constraint=listed(
        record(
            joint=text("its name"),
            contacts=count("how many it has"),
            spare=count("how many more than it has freedoms to hold"),
            unit=unit("misfit and clearance"),
            worst=listed(_CONTACT, "its contacts, the most strained first"),
        ),
        "joints with more contacts than freedoms",
    ),
    assumptions=listed(text(), "what was assumed or left out, in sentences"),
    idle_dims=listed(text(), "dims that move nothing"),
)

BUDGET_ANSWER: Schema = {
    "anyOf": [
        shared("budget"),
        record(
            "with --set",
            format={"description": "name and version of this answer", "const": FORMAT},
            changes=by_name(text(), "new value by field path"),
            before=shared("budget", "as the file has it"),
            after=shared("budget", "with the values changed"),
        ),
    ]
}
