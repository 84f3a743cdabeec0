"""Running commands as the program would, and what they printed."""

from dataclasses import dataclass

from click.testing import CliRunner

from loopwright.cli import group
from loopwright.cli.faults import guarded


@dataclass
class Done:
    """What a command printed, and its status."""

    code: int
    out: str
    err: str


def run(*words: str, lines: str = "") -> Done:
    """Runs a command in this process, with lines typed in."""
    with CliRunner().isolation(input=lines) as streams:
        try:
            guarded(lambda: group(list(words), standalone_mode=False, prog_name="loopwright"))
            code: object = 0
        except SystemExit as end:
            code = end.code
        return Done(int(str(code or 0)), *(s.getvalue().decode("utf-8") for s in streams[:2]))
