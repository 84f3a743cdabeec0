"""A screw and its nut on the terminal."""

from rich.console import Console

from loopwright.cli.cautions import GRINDING
from loopwright.cli.layout import columns, console, from_to, say, set_in
from loopwright.sheets.shown import Shown
from loopwright.studies.screw_alignment import Direction, ScrewAlignment
from loopwright.units import Dimension

LENGTH = Dimension.LENGTH


def show_screw(found: ScrewAlignment) -> None:
    """Prints how a screw lines up with its nut, before and after it is set."""
    out, shown = console(), Shown(found.units)
    say(out, f"{found.joint}/{found.drive}: the screw and its nut, over the travel", "bold")
    for one in found.directions:
        x, y, z = (v + 0.0 for v in one.normal)
        say(out, f"\n  {one.contact}, along ({x:g}, {y:g}, {z:g})")
        table = columns(">nut at", ">stands off", ">not known", ">side load before -> after")
        for number, at in enumerate(found.positions):
            table.add_row(
                shown.position(found.axis, at),
                shown.error_known(
                    float(one.before.mean[number]), float(one.before.std[number]), LENGTH, sign=True
                ),
                shown.error(float(one.before.std[number]), LENGTH),
                from_to(
                    shown.force(float(one.before.load[number])), shown.force(float(one.after.load[number]))
                ),
            )
        out.print(set_in(table))
        _remedies(out, shown, one)
    for note in found.notes:
        say(out, f"note: {note}", "dim")
    if any(r.what == "spacer" and r.value < -1e-4 for d in found.directions for r in d.remedies):
        say(out, GRINDING)


def _remedies(out: Console, shown: Shown, one: Direction) -> None:
    for remedy in one.remedies:
        value = shown.error_known(remedy.value, remedy.std, LENGTH, sign=True)
        std = shown.error(remedy.std, LENGTH)
        enough = "" if remedy.enough else "; its range does not suffice"
        oversize = shown.error(2 * remedy.float_, LENGTH)
        made = f"hole or pocket {oversize} larger than what goes in" if "mount" in remedy.what else remedy.of
        say(out, f"  {remedy.what}: {value} ± {std} ({made}){enough}")
