"""How mistakes reach the person at the terminal, and with which exit status."""

import sys
from collections.abc import Callable

import click

from loopwright.errors import BuildError, Cancelled, LoopwrightError, Problem

MOST_SHOWN = 40

MISTAKE, USAGE, STOPPED = 1, 2, 130


def guarded(run: Callable[[], object]) -> None:
    """Runs a command and ends the program: 0 done, 1 mistakes in what was given, 2 wrong call, 130 stopped."""
    for stream in (sys.stdout, sys.stderr):
        # a terminal that cannot show µ gets a question mark, not a crash
        getattr(stream, "reconfigure", lambda **_: None)(errors="replace")
    try:
        status = run()
        sys.exit(status if isinstance(status, int) else 0)
    except click.exceptions.Exit as done:
        sys.exit(done.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(USAGE)
    except (click.Abort, KeyboardInterrupt, Cancelled):
        click.echo("stopped", err=True)
        sys.exit(STOPPED)
    except BuildError as error:
        show_problems(error.problems)
        sys.exit(MISTAKE)
    except LoopwrightError as error:
        click.echo(f"loopwright: {error}", err=True)
        sys.exit(MISTAKE)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)


def show_problems(problems: tuple[Problem, ...], *, err: bool = True) -> None:
    """Lists problems, one to two lines each: where and what, then what would do."""
    for problem in problems[:MOST_SHOWN]:
        place = ":".join(str(part) for part in (problem.file, problem.line) if part is not None)
        field = f"  {problem.field}" if problem.field else ""
        click.echo(f"{place}{field}" if place or field else "", err=err)
        click.echo(f"    {problem.what}", err=err)
        click.echo(f"    -> {problem.remedy}", err=err)
    if len(problems) > MOST_SHOWN:
        click.echo(f"... and {len(problems) - MOST_SHOWN} more", err=err)
    count = "1 mistake" if len(problems) == 1 else f"{len(problems)} mistakes"
    click.echo(count, err=err)
