"""A standing on the terminal: something to read at arm's length and pin to the wall."""

from collections.abc import Iterator, Sequence

from rich.console import Console
from rich.table import Table
from rich.text import Text

from loopwright.asbuilt.misfit import JointMisfit
from loopwright.cli.layout import RULE, columns, console, set_in
from loopwright.sheets.shown import Shown, percent
from loopwright.sheets.standing_words import as_made
from loopwright.studies.reports import Change, Standing, TargetStanding, WhatIf
from loopwright.units import Dimension

_SOURCES, _TIGHTENINGS, _PAIRS, _CONTACTS = 8, 6, 3, 2


def show_standing(found: Standing) -> None:
    """Prints where a build stands."""
    out, shown = console(), Shown(found.units)
    _title(out, found)
    for target in found.targets:
        _target(out, shown, target, found)
    _over_constraint(out, shown, found.misfits)
    _assumptions(out, found)


def show_what_if(compared: WhatIf) -> None:
    """Prints two standings side by side, then the changed one whole."""
    out, shown = console(), Shown(compared.after.units)
    _title(out, compared.after)
    out.print("\n[bold]What if[/bold]")
    for path, value in compared.changes.items():
        out.print(Text(f"  {path} = {value}"))
    table = columns("target", "", ">as the file has it", ">changed", ">by")
    for before, after, change in compared.targets:
        dimension, first, second = after.dimension, before.monte_carlo, after.monte_carlo
        by = _points(change.chance)
        chances = percent(first.chance, first.chance_std), percent(second.chance, second.chance_std)
        table.add_row(after.name, "chance", *chances, by)
        for label, was, now, moved in (
            ("expected", before.expected, after.expected, change.expected),
            (_coverage_words(after), before.coverage, after.coverage, change.coverage),
            ("worst case", before.worst_case, after.worst_case, change.worst_case),
        ):
            by = "within sampling" if moved.is_sampling and moved.doubt else _moved(shown, moved, dimension)
            table.add_row("", label, shown.error(was, dimension), shown.error(now, dimension), by)
        for row in _just_in_limits(shown, compared, after):
            table.add_row("", *row)
    out.print(set_in(table))
    for target in compared.after.targets:
        _target(out, shown, target, compared.after)
    _over_constraint(out, shown, compared.after.misfits)
    _assumptions(out, compared.after)


def _just_in_limits(shown: Shown, compared: WhatIf, target: TargetStanding) -> Iterator[tuple[str, ...]]:
    """The same if every dim is just in its limits, where its making says otherwise."""
    found = compared.just_in_limits(target.name)
    if found is None:
        return
    was, now, change = found
    chances = percent(was.chance, was.chance_std), percent(now.chance, now.chance_std)
    yield "chance, just in limits", *chances, _points(change.chance)
    sizes = (shown.error(one.expected, target.dimension) for one in (was, now))
    yield "expected, just in limits", *sizes, _moved(shown, change.expected, target.dimension)


def _points(change: Change) -> str:
    return "within sampling" if change.is_sampling else f"{100 * change.value:+.1f} points"


def _title(out: Console, found: Standing) -> None:
    out.print()
    out.print(Text(found.build, style="bold"))
    out.print(
        f"as designed, nothing measured yet · {found.sources} deviations, {found.open_sources} of them open · "
        f"seed {found.seed}"
    )
    if len(found.targets) > 1:
        together = percent(found.chance_of_all, 0.001)
        out.print(f"chance to hold all {len(found.targets)} limits together: [bold]{together}[/bold]")


def _target(out: Console, shown: Shown, target: TargetStanding, found: Standing) -> None:
    dimension, drawn = target.dimension, target.monte_carlo
    out.print()
    out.print(Text(RULE * out.width, style="dim"))
    head = Text(target.name, style="bold")
    head.append(f"   limit {shown.limit(target.limit, dimension)}", style="bold")
    out.print(head)
    out.print(Text(f"{target.asks}; {target.zeroed}; {target.poses} poses", style="dim"))
    asked = f"{found.confidence:.0%} is asked for"
    verdict = f"enough, as {asked}" if target.meets else f"not enough yet: {asked}"
    out.print(
        Text.assemble(
            ("\n  " + percent(drawn.chance, drawn.chance_std), "bold"),
            f" of such machines hold the limit everywhere; {verdict}\n",
        )
    )
    out.print(
        Text(
            f"  counted in {drawn.trials:,} machines built on paper, sampling ± {_sampling(drawn.chance_std)}\n",
            style="dim",
        )
    )
    if (limits := found.in_limits.get(target.name)) is not None:
        out.print(Text(f"  {as_made(shown, target, limits)}\n"))
    out.print(set_in(_answers(shown, target, found)))
    out.print(_scale(shown, target, out.width), "")
    out.print(set_in(_components(shown, target, found)), "")
    out.print(set_in(_drivers(target)))
    out.print(set_in(Text("by kind: " + _listed(target.by_kind), style="dim")))
    out.print(set_in(Text("by joint: " + _listed(target.by_joint), style="dim")), "")
    _tightening(out, shown, target)
    _closing_lines(out, shown, target)


def _sampling(std: float) -> str:
    return f"{200 * std:.1f} %"


def _moved(shown: Shown, change: Change, dimension: Dimension) -> str:
    return shown.error(change.value, dimension, sign=True) if change.value else "none"


def _coverage_words(target: TargetStanding) -> str:
    return f"{target.monte_carlo.confidence:.0%} of machines"


def _answers(shown: Shown, target: TargetStanding, found: Standing) -> Table:
    dimension, drawn = target.dimension, target.monte_carlo
    table = columns("", ">", "")
    table.show_header = False
    table.add_row(
        "expected",
        shown.error(target.expected, dimension),
        f"root mean square at the worst pose: {shown.pose(target.worst_pose)}",
    )
    table.add_row(
        f"{found.confidence:.0%} of machines",
        shown.error_known(target.coverage, 2 * drawn.quantile_std, dimension, digits=1),
        "are this good or better everywhere in the volume (Monte Carlo, stated shapes)",
    )
    table.add_row(
        "worst case",
        shown.error(target.worst_case, dimension),
        f"everything at its limit the wrong way: {shown.pose(target.worst_case_pose)}",
    )
    return table


def _scale(shown: Shown, target: TargetStanding, width: int) -> Text:
    """The three answers and the limit on one scribed line."""
    marks = {"e": target.expected, "q": target.coverage, "L": target.limit, "w": target.worst_case}
    length = width - 24
    top = max(marks.values())
    line = [RULE] * (length + 1)
    for letter, value in marks.items():
        place = round(value / top * length)
        while line[place] not in (RULE,) and place > 0:
            place -= 1
        line[place] = letter
    text = Text("  0 ")
    for character in line:
        text.append(character, style="dim" if character == RULE else "bold")
    text.append(f" {shown.error(top, target.dimension)}")
    names = [f"e expected   q {target.monte_carlo.confidence:.0%} of machines", "L limit", "w worst case"]
    text.append("\n    " + "   ".join(names), style="dim")
    return text


def _components(shown: Shown, target: TargetStanding, found: Standing) -> Table:
    table = columns("at the worst pose", ">bias", ">std. uncertainty", f">{found.confidence:.0%} interval")
    for c in target.components:
        low, high = (shown.error_known(v, c.std, target.dimension, sign=True) for v in c.interval)
        table.add_row(
            c.name,
            shown.error_known(c.bias, c.std, target.dimension, sign=True),
            shown.error(c.std, target.dimension),
            f"{low} … {high}",
        )
    return table


def _drivers(target: TargetStanding) -> Table:
    """The largest shares; the shapes of one profile count as one."""
    table = columns("what drives it", "", ">share", "stated at")
    largest = target.drivers[:_SOURCES]
    for source in largest:
        place = source.field.removeprefix(f"joints/{source.joint}/").removeprefix("parts/")
        length = _bar(source.worst / largest[0].worst) if largest[0].worst else ""
        table.add_row(source.name, length, percent(source.worst), Text(place, style="dim"))
    return table


def _bar(fraction: float, length: int = 10) -> str:
    return "█" * max(round(fraction * length), 1)


def _listed(shares: object) -> str:
    items = list(shares.items())[:6]  # type: ignore[attr-defined]
    return " · ".join(f"{name} {percent(share)}" for name, share in items if share > 0.0005)


def _tightening(out: Console, shown: Shown, target: TargetStanding) -> None:
    dimension = target.dimension
    best = [t for t in target.tightenings if t.halved < t.now * 0.999][:_TIGHTENINGS]
    if best:
        table = columns("what tightening buys: limits halved", ">expected now", ">then", ">gain")
        for t in best:
            table.add_row(
                t.name,
                shown.error(t.now, dimension),
                shown.error(t.halved, dimension),
                percent(1 - t.halved / t.now),
            )
        out.print(set_in(table))
    for pair in target.pairings[:_PAIRS]:
        out.print(
            set_in(
                Text(
                    f"make {pair.first} and {pair.second} in one setup: expected "
                    f"{shown.error(pair.now, dimension)} -> {shown.error(pair.together, dimension)}"
                )
            )
        )
    if target.free:
        names = ", ".join(t.name for t in target.free[:4])
        words = f"limits that could be doubled at no visible cost: {len(target.free)}, such as {names}"
        out.print(set_in(Text(words, style="dim")), "")


def _closing_lines(out: Console, shown: Shown, target: TargetStanding) -> None:
    if target.stiffness is not None:
        along = "   ".join(f"{d} {shown.stiffness(k)}" for d, k in target.stiffness.directions.items())
        softest = min(target.stiffness.directions, key=lambda d: target.stiffness.directions[d])  # type: ignore[union-attr]
        shares = target.stiffness.shares[softest]
        joints = ", ".join(
            f"'{j}' {percent(s)}" for j, s in sorted(shares.items(), key=lambda i: -i[1])[:3] if s > 0
        )
        out.print(
            set_in(
                Text(
                    f"stiffness at the tool: {along}"
                    + (f"   ({softest} gives in {joints})" if joints else "")
                )
            )
        )
    out.print(set_in(Text(_exactness(shown, target), style="dim")))


def _exactness(shown: Shown, target: TargetStanding) -> str:
    found = target.exact
    sizes = (found.difference, found.largest, found.typical, found.typical_largest)
    apart, largest, apart_then, largest_then = (shown.error(v, target.dimension) for v in sizes)
    return (
        f"linear against exact motion: apart by {apart} of {largest} where everything is at its limit, by {apart_then} "
        f"of {largest_then} where everything is one standard uncertainty off; {found.cases} cases"
    )


def _over_constraint(out: Console, shown: Shown, joints: Sequence[JointMisfit]) -> None:
    if not joints:
        return
    out.print()
    out.print(Text(RULE * out.width, style="dim"))
    out.print("[bold]Over-constraint[/bold]  [dim]joints with more contacts than freedoms[/dim]")
    table = columns("joint and contact", ">must give", ">force", ">relieved by", ">chance it lifts")
    for joint in joints:
        table.add_row(Text(f"{joint.joint} ({joint.contacts} contacts, {joint.spare} spare)", style="bold"))
        for contact in joint.worst[:_CONTACTS]:
            float_ = (
                "-" if contact.clearance is None else "± " + shown.error(contact.clearance, Dimension.LENGTH)
            )
            table.add_row(
                f"  {contact.contact}",
                shown.error(contact.misfit, Dimension.LENGTH),
                shown.force(contact.force),
                float_,
                "-" if contact.lifts is None else percent(contact.lifts),
            )
    out.print(set_in(table))


def _assumptions(out: Console, found: Standing) -> None:
    out.print()
    out.print("[bold]Assumed, and left out[/bold]")
    for line in found.assumptions:
        out.print(Text(f"  · {line}"), style="dim")
    if found.idle_dims:
        more = f" and {len(found.idle_dims) - 6} more" if len(found.idle_dims) > 6 else ""
        out.print(
            Text(
                f"  · No contact names these dims, so they move nothing: {', '.join(found.idle_dims[:6])}{more}."
            ),
            style="dim",
        )
