"""One reading on the terminal: what was made of it, and what is doubted of it."""

from collections.abc import Sequence

import click
from rich.console import Console

from loopwright.asbuilt.conformity import Conformity
from loopwright.asbuilt.observing import name_of
from loopwright.cli.layout import columns, say, set_in
from loopwright.cli.sizes import limits_words, size
from loopwright.model.build import Units
from loopwright.model.records import Contribution, Reading
from loopwright.sheets.shown import Shown, percent
from loopwright.studies.evaluating_record import words_of
from loopwright.studies.meant import Meant
from loopwright.studies.recording import Considered
from loopwright.units import Dimension

_LINES = 3


def show_reading(
    out: Console, shown: Units, considered: Considered, number: int, who: str, *, budget: bool
) -> None:
    """Prints a reading that was entered: value, verdict, uncertainty, surprise."""
    reading, dimension = considered.reading, considered.dimension
    how = f"read with {reading.gauge}" if reading.method is None else _worked_out(reading)
    say(out, f"entry {number}: {name_of(reading)}, {how} by {who}, state {reading.state}", "bold")
    table = columns("", "")
    table.show_header = False
    if len(reading.evaluated.values) == 1:
        table.add_row("found", " ± ".join(_found(shown, reading, dimension)))
    else:
        table.add_row("found", f"{len(reading.evaluated.values)} values, one for each pose")
    if considered.conformity is not None:
        table.add_row("verdict", verdict_words(shown, considered.conformity, dimension))
    table.add_row("uncertainty", _uncertainty(shown, reading, dimension))
    if considered.look is not None:
        words = f"{considered.look.surprise:.1f} standard uncertainties from what was expected"
        table.add_row("surprise", words + (": kept although it was asked about" if reading.kept else ""))
    for note in reading.evaluated.notes:
        table.add_row("note", note)
    out.print(set_in(table))
    if budget:
        _budget(out, shown, reading.evaluated.contributions, dimension)


def _worked_out(reading: Reading) -> str:
    """What values were worked out of."""
    assert reading.method is not None
    gauge = "" if reading.gauge is None else f" with {reading.gauge}"
    return words_of(reading.method) + gauge


def verdict_words(shown: Units, held: Conformity, dimension: Dimension) -> str:
    """A verdict with its probability, limits and rule."""
    return (
        f"{held.verdict}: within {limits_words(shown, (held.lower, held.upper), dimension)} with a probability of "
        f"{percent(held.probability)} ({held.rule})"
    )


def _found(shown: Units, reading: Reading, dimension: Dimension) -> tuple[str, str]:
    """The value, and its expanded uncertainty."""
    value, found = reading.evaluated.values[0], reading.evaluated
    spread = found.expanded if found.expanded is not None else 2 * found.stds[0]
    if reading.subject == "test" or reading.subject == "comparison":
        words = Shown(shown)
        return words.error_known(value, spread / 2, dimension, sign=True), words.error(spread, dimension)
    return size(shown, value, spread / 2, dimension)[0], Shown(shown).error(spread, dimension)


def _uncertainty(shown: Units, reading: Reading, dimension: Dimension) -> str:
    words, found = Shown(shown), reading.evaluated
    largest = sorted(found.contributions, key=lambda c: -c.std)[:_LINES]
    made_of = ", ".join(f"{c.name} {words.error(c.std, dimension)}" for c in largest if c.std > 0)
    expanded = "" if found.expanded is None else f"{words.error(found.expanded, dimension)} expanded; "
    return f"{expanded}standard: {made_of or 'nothing is stated of the gauge'}"


def _budget(out: Console, shown: Units, contributions: Sequence[Contribution], dimension: Dimension) -> None:
    table = columns("uncertainty of one value", ">standard", "type", ">degrees of freedom", "")
    for one in contributions:
        table.add_row(
            one.name,
            Shown(shown).error(one.std, dimension),
            one.how,
            "∞" if one.dof is None else f"{one.dof:.3g}",
            "shared with other readings" if one.shared else "",
        )
    out.print(set_in(table))


def show_doubt(considered: Considered, meant: Sequence[Meant]) -> None:
    """Says on the error stream why a reading is asked about, and what may have been meant."""
    assert considered.doubt is not None
    click.echo(f"{name_of(considered.reading)}: {considered.doubt.what}", err=True)
    if meant:
        click.echo("it would be believed if it were:", err=True)
    for number, one in enumerate(meant, 1):
        click.echo(f"  {number}  {one.shown}   ({one.what})", err=True)
