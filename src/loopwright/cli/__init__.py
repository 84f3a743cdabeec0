"""The commands. They read, ask one study, and show what it says."""

import gc
import os
from importlib import import_module

import click

# no plug-in of the record library is wanted here, and looking for one takes a twentieth of a start
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

COMMANDS = {
    "check": "Look a build file over; say every mistake in it.",
    "budget": "Say what the machine will hold at the tool, and what drives that.",
    "new": "Start a build file from a shipped example.",
    "schema": "Print the JSON Schema of the build file, for editors.",
    "book": "Begin and keep the book of a build: revisions, calibrations, stock, backups.",
    "record": "Enter a reading: judged, and shown with what it brings at the tool.",
    "evaluate": "Evaluate raw readings: straightness, flatness, squareness, reversal, run-out, lead.",
    "import-readings": "Enter the readings of a table (CSV), all of them or none.",
    "serve": "Open a book in the browser: the whole job without a terminal.",
    "standing": "Say where the machine stands as built.",
    "next": "Say what to measure next, and what that is worth.",
    "parts": "List every dim that was read, with its verdict.",
    "route": "Say how a part is made: ops in order, working dims, stock, minutes.",
    "chart": "Draw up the tolerance charts of a part: what adds up, what binds, what frees it.",
    "stock": "Say how much stock to leave for each finishing cut, and what drives it.",
    "cut": "Say how to cut an op: speed, feed, passes, what limits them, minutes.",
    "blanks": "Say what to saw each blank from, what to buy, and which off-cuts to keep.",
    "sheets": "Print the sheets of the shop: travellers, inspection, setups, fit-up, saw list, labels.",
    "machines": "Say what the shop's machines hold: as taken, and as their own parts say.",
    "cheapest": "Say which change of routes brings a wished chance for the least minutes.",
    "fitup": "What each step of the assembly will leave, what to set, and what was set.",
    "concede": "Say what a part out of tolerance means, and enter what was decided.",
    "select": "Say which of several inspected items goes where.",
    "history": "List what was entered, and what each state of the machine brought.",
    "address": "Say the short address of a part, test, step or gauge, for its label.",
    "what-if": "Say where the machine would stand if its description said something else.",
}
BUILTIN = {"next": "next_"}
"""Commands whose function may not be called as they are."""


class _Lazy(click.Group):
    """Loads a command's module only when that command is used, so that help comes at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        called = name.replace("-", "_")
        module = import_module(f"loopwright.cli.{called}")
        command: click.Command = getattr(module, BUILTIN.get(called, called))
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Lists the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


def _version(ctx: click.Context, _: click.Parameter, wanted: bool) -> None:
    if wanted:
        from loopwright import __version__

        click.echo(f"loopwright {__version__}")
        ctx.exit()


@click.group(cls=_Lazy, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.option(
    "--version", is_flag=True, callback=_version, expose_value=False, is_eager=True, help="Print the version."
)
def group() -> None:
    """From a description of a one-off machine to what it will hold at the tool.

    Start with: loopwright new my-machine.yaml, then: loopwright budget my-machine.yaml

    Once metal is cut: loopwright book new my-machine.yaml, then: loopwright record PART/DIM VALUE, and at any time:
    loopwright standing
    """


def main() -> None:
    """Runs the command line; mistakes of a user end in a message, never in a traceback."""
    from loopwright.cli.faults import guarded

    # a command is short and makes few cycles: looking for them, above all at the end, costs a fifth of its time
    gc.set_threshold(100_000, 50, 100)
    try:
        guarded(lambda: group(standalone_mode=False))
    finally:
        gc.freeze()
