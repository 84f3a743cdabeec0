"""What a budget assumes and leaves out, said with the numbers of the build at hand."""

from loopwright import units
from loopwright.asbuilt.prior import FARTHEST
from loopwright.loop import Loop
from loopwright.loop.columns import lead_of
from loopwright.model.build import Build
from loopwright.units import Dimension


def assumptions(loop: Loop) -> tuple[str, ...]:
    """Every assumption that bears on the numbers, one sentence each."""
    build = loop.build
    return (
        f"A bare ± limit is {build.assume.value}; parts are taken as made and not yet measured.",
        f"A profile stays within its stated band with {build.confidence:.0%} confidence and is smooth; "
        f"the worst case takes {FARTHEST:g} standard deviations where nothing bounds a deviation.",
        *_loads(loop),
        *_stiffness(loop),
        *_drives(loop),
        *_heat(loop),
        *_adjusters(build),
        "Bodies are rigid; only joints give. Control, vibration, wear, hysteresis and the bending of bodies under "
        "their own weight are not in it.",
    )


def _loads(loop: Loop) -> list[str]:
    build = loop.build
    if build.down is None:
        return ["Gravity is left out, as the build says."]
    without = [n for n in build.joint_above() if not build.bodies[n].mass.mean]
    found = ["Gravity acts at every pose; a process load acts only where a target names it."]
    if without:
        found.append(f"No mass is stated for {_listed(without)}: it weighs nothing here.")
    return found


def _stiffness(loop: Loop) -> list[str]:
    build = loop.build
    assumed = sum(sum(model.contacts.assumed) for model in loop.joints.values())
    found = []
    if assumed:
        shown = units.format_value(
            build.contact_stiffness, Dimension.STIFFNESS, build.units.stiffness, digits=3
        )
        found.append(f"{assumed} contacts without a stiffness of their own took {shown}.")
    rigid = [n for n, m in loop.joints.items() if not m.contacts.names and m.joint.stiffness is None]
    if rigid:
        found.append(f"{_listed(rigid)}: no contacts and no stiffness, taken as stiff.")
    return found


def _drives(loop: Loop) -> list[str]:
    """Grades that say nothing of the variation about the mean travel."""
    silent = []
    for name, joint in loop.build.joints.items():
        for _, drive in joint.every_drive():
            grade, travel = drive.lead_error.grade, joint.travel
            if grade and travel and not lead_of(drive.lead_error, travel[1] - travel[0]).bandwidth:
                silent.append(f"{grade} ('{name}')")
    if not silent:
        return []
    return [
        f"Grade {', '.join(silent)} limits only the mean travel; no variation about it is in the numbers."
    ]


def _heat(loop: Loop) -> list[str]:
    left_out = loop.growth.left_out
    if not any(loop.growth.bodies.values()) and not left_out:
        return ["Everything is at the reference temperature: no temperatures are stated that differ."]
    found = [
        "Each body and each screw has one temperature throughout; gradients within a body are not in it."
    ]
    if left_out:
        found.append(f"No material is stated for {_listed(left_out)}: it does not grow here.")
    return found


def _adjusters(build: Build) -> list[str]:
    count = sum(
        contact.adjust is not None for joint in build.joints.values() for contact in joint.contacts.values()
    )
    for joint in build.joints.values():
        rails = joint.guide.rails.values() if joint.guide is not None else ()
        count += sum(line.adjust is not None for rail in rails for line in (rail.height, rail.side))
        count += sum(drive.adjust is not None for _, drive in joint.every_drive())
    if not count:
        return []
    return [
        f"{count} contacts can be adjusted; no adjustment is made yet, so fit-up can only improve on this."
    ]


def _listed(names: list[str] | tuple[str, ...]) -> str:
    shown = [f"'{name}'" for name in names[:6]]
    return ", ".join(shown) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
