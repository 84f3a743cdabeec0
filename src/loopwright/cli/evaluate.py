"""loopwright evaluate: one command for each evaluation, made from its description."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import click

from loopwright.cli.at_book import BOOK, WHO, examples, pairs, person, place_of, print_json, station
from loopwright.cli.faults import MISTAKE, show_problems
from loopwright.cli.typing_in import Kept, at_terminal
from loopwright.errors import Problem, RequestError
from loopwright.model.records import ColumnsKept
from loopwright.studies.evaluating import KINDS, parted, said_wrong, tried
from loopwright.studies.evaluating_forms import Evaluation, Given, Kind, Setting, Wanted
from loopwright.studies.evaluating_reading import Shop, as_request, in_units, shop_of, shop_of_bench
from loopwright.studies.evaluating_surfaces import lines_to_read
from loopwright.studies.evaluating_tables import Columns, read_columns
from loopwright.units import Dimension

PIPE = "-"


class _Evaluations(click.Group):
    """The evaluations, each made from its description when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [kind.command for kind in KINDS]

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        known = {kind.command: kind for kind in KINDS}
        return _command(known[name]) if name in known else None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Lists the evaluations with what each finds."""
        with formatter.section("Evaluations"):
            formatter.write_dl([(kind.command, kind.help) for kind in KINDS])


@click.group(cls=_Evaluations, invoke_without_command=True)
@click.option("--list", "as_list", is_flag=True, help="Print all that a form needs, as JSON.")
@click.pass_context
@examples(
    'loopwright evaluate straightness way.csv --u "0.5 µm"',
    'loopwright evaluate straightness --every 100 --u "0.5 µm"',
    "loopwright evaluate lead --help",
)
def evaluate(ctx: click.Context, as_list: bool) -> None:
    """Evaluate raw readings: what they say, each number with its uncertainty.

    Readings come from a table (CSV), from options, or are typed one by one. What one reading is worth is always
    asked for: --u '0.5 µm', or --gauge NAME of a build. With --record the result is entered in the book, the raw
    readings with it.
    """
    if as_list:
        from loopwright.model.build import Units
        from loopwright.studies.exchange_evaluation import kinds_as_data

        print_json(kinds_as_data(KINDS, Units()))
    elif ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


class _Signed(click.Command):
    """A command whose option values may begin with '-': '-1,2' is a list of readings."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, [re.sub(r"^-(?=[0-9.,])", "−", arg) for arg in args])


def _command(kind: Kind) -> click.Command:
    """The command of one evaluation."""
    params: list[click.Parameter] = [click.Argument(["file"], required=False, metavar="[FILE.csv]")]
    params += [_of_column(one) for one in kind.columns]
    if len(kind.places) == 1:
        params += _evenly(kind.places[0])
    params += [_of_setting(one) for one in kind.settings]
    params += [*_of_readings(kind), *_of_table(), *_of_answer(), *_of_book()]

    def called(**said: Any) -> int:
        return _run(kind, said)

    return _Signed(
        kind.command,
        params=params,
        callback=called,
        help=_help(kind),
        short_help=kind.help,
        no_args_is_help=False,
    )


def _help(kind: Kind) -> str:
    """Help text with the evaluation's own example, by options and by a table."""
    said = " ".join(f'--{_option(name)} "{text}"' for name, text in kind.example.items())
    table = " ".join(
        f'--{_option(name)} "{text}"'
        for name, text in kind.example.items()
        if name not in {one.name for one in kind.columns}
    )
    cautions = "".join(f"\n\nCaution: {one}" for one in kind.cautions)
    return (
        f"{kind.help}\n\n{kind.how}{cautions}\n\n\b\nExamples:\n"
        f"  loopwright evaluate {kind.command} readings.csv {table}\n"
        f"  loopwright evaluate {kind.command} {said}"
    )


def _option(name: str) -> str:
    return name.replace(" ", "-")


def _key(name: str, what: str) -> str:
    """Name of an option's value in the program, apart from all others."""
    return f"{what}_{name.replace(' ', '_')}"


def _of_column(one: Wanted) -> click.Option:
    metavar = "A,B,…" if one.role == "name" else "1,2,3 [UNIT]"
    text = f"{one.help[0].upper()}{one.help[1:]}."
    return click.Option([f"--{_option(one.name)}", _key(one.name, "column")], metavar=metavar, help=text)


def _evenly(place: Wanted) -> list[click.Parameter]:
    unit = "45 deg" if place.dimension is Dimension.ANGLE else "100 mm"
    return [
        click.Option(["--every"], metavar=f"'{unit}'", help="Readings stand at even places, so far apart."),
        click.Option(
            ["--from", "from_"], metavar="PLACE", help="Where the first of them stands. Default: 0."
        ),
    ]


def _of_setting(one: Setting) -> click.Option:
    more = f" Default: {one.default}." if one.default else " Needed." if one.needed else ""
    text = f"{one.help[0].upper()}{one.help[1:]}.{more}"
    typed = "WORD" if one.choices else str(one.dimension or "text").upper()
    return click.Option([f"--{_option(one.name)}", _key(one.name, "setting")], metavar=typed, help=text)


def _of_readings(kind: Kind) -> list[click.Parameter]:
    example = "'0.5 µm'" if kind.reads is Dimension.LENGTH else "'0.5 arcsec'"
    return [
        click.Option(["--u"], metavar=example, help="Standard uncertainty of one reading."),
        click.Option(["--gauge"], metavar="NAME", help="Or the gauge of the build that it was read with."),
        click.Option(
            ["--build"], metavar="FILE.yaml", help="Build file that has the gauge, where there is no book."
        ),
        click.Option(["--taken"], metavar="DAY", help="When it was read, as 2026-11-25."),
        click.Option(
            ["--in", "units_in"], multiple=True, metavar="COLUMN=UNIT", help="Unit of numbers that name none."
        ),
    ]


def _of_table() -> list[click.Parameter]:
    return [
        click.Option(
            ["--column", "headings"],
            multiple=True,
            metavar="COLUMN=HEADING",
            help="Which column of FILE is what.",
        ),
        click.Option(
            ["--columns"],
            metavar="NAME",
            help="Name under which the book keeps that. Default: the command's.",
        ),
    ]


def _of_answer() -> list[click.Parameter]:
    return [
        click.Option(
            ["--unit", "answer"],
            multiple=True,
            metavar="UNIT",
            help="Of the answer; once for lengths, once for angles.",
        ),
        click.Option(["--all", "every_row"], is_flag=True, help="Print long tables whole."),
        click.Option(["--json", "as_json"], is_flag=True, help="Print the answer as JSON."),
    ]


BOOK_OPTIONS: tuple[tuple[str, str, str], ...] = (
    ("record", "NAME", "Enter the result: a dim as part/dim, a test, or kind/what of an item."),
    ("take", "RESULT", "Which result is entered, by the beginning of its name."),
    ("item", "SERIAL", "Serial of the item, where it is one of several alike."),
    ("opposite", "", "Turn the sign: the test counts the other way round."),
    ("instead-of", "ENTRY", "Corrects this entry, which then no longer counts."),
    ("state", "N", "State of the machine it belongs to. Default: the newest."),
    ("keep", "", "Believe it although it surprises."),
    ("note", "TEXT", "Anything to know about it."),
    ("budget", "", "Show where the uncertainty of what was entered comes from."),
)
"""Name, what to type ('' for nothing) and help of the options about the book."""


def _of_book() -> list[click.Parameter]:
    where = f"The book. Default: {BOOK}, else the only *.book in this folder, where one is needed."
    who = f"Who enters it. Default: {WHO}, else the login name."
    whole = ("ENTRY", "N")
    return [
        click.Option(["--book", "-b", "where"], envvar=BOOK, metavar="BOOK", help=where),
        *(
            click.Option(
                [f"--{name}"],
                is_flag=not typed,
                type=int if typed in whole else str if typed else None,
                metavar=typed or None,
                help=text,
            )
            for name, typed, text in BOOK_OPTIONS
        ),
        click.Option(["--who"], envvar=WHO, metavar="NAME", help=who),
    ]


@dataclass
class _Call:
    """One call of an evaluation: what was said, and the book and the shop that it is made in."""

    kind: Kind
    said: Mapping[str, Any]
    book: Any = None
    bench: Any = None
    shop: Shop = field(default_factory=Shop)

    def option(self, one: Wanted | Setting) -> str | None:
        text = self.said[_key(one.name, "column" if isinstance(one, Wanted) else "setting")]
        return None if text is None else str(text).replace("−", "-")

    @property
    def columns_name(self) -> str:
        return str(self.said["columns"] or f"evaluate {self.kind.command}")


def _run(kind: Kind, said: dict[str, Any]) -> int:
    with _opened(kind, said) as call:
        if said["record"] is not None:
            person(said["who"])
        found = _evaluated(call)
        if found is None:
            return MISTAKE
        evaluation, columns, kept = found
        if said["record"] is None:
            _show(call, evaluation, None)
        elif not _recorded(call, evaluation, columns):
            return MISTAKE
        if kept is not None:
            kept.drop()
    return 0


@contextmanager
def _opened(kind: Kind, said: Mapping[str, Any]) -> Iterator[_Call]:
    """Opens the book where one is needed, and looks the gauges up."""
    needed = said["record"] is not None or (said["gauge"] is not None and said["build"] is None)
    if not (needed or said["where"]):
        shop = None
        if said["build"] is not None:
            from loopwright.studies.checking import load

            shop = shop_of(load(said["build"]).build)
        yield _Call(kind, said, shop=in_units(shop, said["answer"]))
        return
    from loopwright.book import open_book
    from loopwright.cli.layout import busy
    from loopwright.studies.books import bench_of
    from loopwright.studies.effect import without_entry

    name = place_of(said["where"])
    with open_book(name) as book:
        with busy("working out the machine", quiet=said["as_json"]):
            bench = bench_of(book)
        if said["instead_of"] is not None:
            without_entry(bench, said["instead_of"])
        shop = shop_of_bench(bench)
        yield _Call(kind, said, book, bench, in_units(shop, said["answer"]))


def _evaluated(call: _Call) -> tuple[Evaluation, Columns | None, Kept | None] | None:
    """The evaluation, the columns of the table it came from, and what was typed; None after mistakes in a table."""
    said = call.said
    base = Given(
        call.kind.name,
        {},
        {one.name: text for one in call.kind.settings if (text := call.option(one)) is not None},
        pairs(said["units_in"], "--in height=µm"),
        None if said["u"] is None else said["u"].replace("−", "-"),
        said["gauge"],
        said["taken"],
    )
    given, columns = _by_options(call, base), None
    if said["file"] not in (None, PIPE):
        given, columns, problems = _by_table(call, given)
        if problems:
            _tell(call, problems)
            return None
    given = _evenly_placed(call, given)
    kept = None
    missing = [one for one in call.kind.columns if one.needed and one.name not in given.columns]
    if missing and columns is None:
        given, kept = _by_typing(call, given, missing)
    found, problems = tried(given, _answered_in(call, given))
    if found is None:
        if given.file is not None:
            _tell(call, problems)
            return None
        raise as_request(tuple(_as_options(call, one) for one in problems))
    return found, columns, kept


def _answered_in(call: _Call, given: Given) -> Shop:
    """The shop; where no build and no option says the units of the answer, they are those of the readings."""
    if call.bench is not None or call.said["build"] is not None:
        return call.shop
    return in_units(call.shop, call.said["answer"], like=(call.kind, given))


def _tell(call: _Call, problems: tuple[Problem, ...]) -> None:
    told = (one if one.file is not None else _as_options(call, one) for one in problems)
    show_problems(tuple(sorted(told, key=lambda one: one.line or 0)))


def _as_options(call: _Call, problem: Problem) -> Problem:
    """A mistake with the name of the option that mends it."""
    columns, settings = ({one.name for one in many} for many in (call.kind.columns, call.kind.settings))
    known = problem.field in {"u", "gauge", "taken", *columns, *settings}
    if problem.field in columns and "without a unit" in problem.what:
        return replace(problem, remedy=f"write it behind the last one, or --in {problem.field}=UNIT")
    return replace(problem, field=f"--{_option(problem.field)}") if known else problem


def _by_options(call: _Call, base: Given) -> Given:
    """Columns that were given as options."""
    columns: dict[str, list[str]] = {}
    units = dict(base.units)
    for one in call.kind.columns:
        text = call.option(one)
        if text is not None:
            columns[one.name], unit = parted(text)
            if unit and one.dimension is not None:
                units[one.name] = unit
    return replace(base, columns=columns, units=units)


def _by_table(call: _Call, given: Given) -> tuple[Given, Columns, tuple[Problem, ...]]:
    """Columns of a table, with those that were given as options over them."""
    file = Path(call.said["file"])
    if not file.is_file():
        raise RequestError(
            f"'{file}' is not there", "check its name; values are given by options, or '-' reads them"
        )
    said = Columns(pairs(call.said["headings"], "--column height=Dial"), given.units)
    remembered = _kept_columns(call)
    elsewhere = {*given.columns, *(call.kind.places[0].name for _ in "1" if call.said.get("every"))}
    read = read_columns(
        file, call.kind, said=said if remembered is None else said.over(remembered), elsewhere=elsewhere
    )
    if not call.said["as_json"]:
        _show_columns(read.columns, read.unused)
    table = replace(
        read.given,
        columns={**read.given.columns, **given.columns},
        settings=given.settings,
        units={**given.units, **read.given.units},
        u=given.u,
        gauge=given.gauge,
        taken=given.taken,
    )
    problems = read.problems
    if problems:  # what is wrong with settings and gauge is told along with the cells
        problems = (*problems, *said_wrong(table, call.shop))
    return table, read.columns, problems


def _kept_columns(call: _Call) -> Columns | None:
    """The columns that the book keeps for this evaluation."""
    if call.bench is None:
        return None
    from loopwright.studies.importing import kept_columns

    found = kept_columns(call.bench, call.columns_name)
    return None if found is None else Columns.from_dict(found.columns)


def _show_columns(columns: Columns, unused: tuple[str, ...]) -> None:
    """Says on the error stream which column is taken for what."""
    for what, heading in columns.headings.items():
        unit = f", in {columns.units[what]}" if what in columns.units else ""
        click.echo(f"  {what}: column '{heading}'{unit}", err=True)
    if unused:
        click.echo(f"  not used: {', '.join(unused)}", err=True)


def _evenly_placed(call: _Call, given: Given) -> Given:
    """Places that stand evenly, where the readings are there already."""
    every = call.said.get("every")
    if every is None:
        return given
    (place,) = call.kind.places
    if place.name in given.columns:
        raise RequestError(f"{place.name} is told twice", f"leave --every out, or --{_option(place.name)}")
    rows = max((len(column) for column in given.columns.values()), default=0)
    if not rows:
        return given
    texts = _even_places(call, place, rows)
    return replace(
        given,
        columns={**given.columns, place.name: texts},
        units={**given.units, place.name: _unit_of(call, place)},
    )


def _unit_of(call: _Call, place: Wanted) -> str:
    return place.unit(call.shop.units)


def _even_places(call: _Call, place: Wanted, rows: int) -> list[str]:
    """So many even places, as texts in the unit of places."""
    from loopwright import units
    from loopwright.errors import QuantityError

    assert place.dimension is not None
    unit = _unit_of(call, place)
    try:
        step, start = (
            units.parse(str(text).replace("−", "-"), place.dimension, bare=unit)
            for text in (call.said["every"], call.said["from_"] or "0")
        )
    except QuantityError as error:
        raise RequestError(f"--every: {error.what}", error.remedy) from None
    if not step:
        raise RequestError("--every is 0", "give the distance from one reading to the next")
    return [
        f"{float(units.convert(start + number * step, place.dimension, unit)):.12g}" for number in range(rows)
    ]


def _by_typing(call: _Call, given: Given, missing: list[Wanted]) -> tuple[Given, Kept | None]:
    """Columns that are typed one value after the other."""
    from loopwright.cli.evaluate_typing import Wish, typed_columns

    wrong = said_wrong(given, call.shop)
    if wrong:
        raise as_request(tuple(_as_options(call, one) for one in wrong))
    if call.said["file"] != PIPE and not at_terminal():
        raise RequestError(
            f"{missing[0].name} is not given",
            f"name a table, give --{_option(missing[0].name)}, or '-' to read one value a line",
        )
    for caution in call.kind.cautions:
        click.echo(f"Caution: {caution}", err=True)
    even = call.said.get("every") is not None
    asked = [one for one in missing if not (even and one.role == "place")]
    units = {one.name: given.units.get(one.name) or one.unit(call.shop.units) for one in asked}
    count, labels = _rows_to_type(call, given, even)
    by_row = any(one.role == "place" for one in asked)
    kept = Kept.of("evaluate", call.kind.command, "")
    typed = typed_columns(Wish(call.kind, asked, units, count, labels, by_row), kept)
    given = replace(given, columns={**given.columns, **typed}, units={**given.units, **units})
    return _evenly_placed(call, given), kept


def _rows_to_type(call: _Call, given: Given, even: bool) -> tuple[int | None, list[str]]:
    """How many rows there are, where that is known, and what to call them."""
    lines = lines_to_read(given.settings)
    if lines:
        labels = [f"{name}, step {number + 1}" for name, steps in lines for number in range(steps)]
        return len(labels), labels
    places = call.kind.places
    for place in places[:1]:
        if place.name in given.columns:
            unit = given.units.get(place.name) or _unit_of(call, place)
            return len(given.columns[place.name]), [f"{text} {unit}" for text in given.columns[place.name]]
        if even:
            texts = _even_places(call, place, 1000)
            labels = [f"{text} {_unit_of(call, place)}" for text in texts]
            turn = place.dimension is Dimension.ANGLE
            once = next(
                (n for n in range(1, 1000) if abs(float(texts[n]) - float(texts[0])) >= 360 - 1e-9), None
            )
            return (once if turn else None), labels
    return max((len(column) for column in given.columns.values()), default=None), []


def _show(call: _Call, found: Evaluation, recorded: dict[str, Any] | None) -> None:
    if call.said["as_json"]:
        from loopwright.studies.exchange_evaluation import evaluation_as_data

        print_json(evaluation_as_data(found, recorded))
        return
    from loopwright.cli.evaluate_text import show_evaluation

    show_evaluation(found, every=call.said["every_row"])


def _recorded(call: _Call, found: Evaluation, columns: Columns | None) -> bool:
    """Shows the evaluation and enters it; False where nothing was entered."""
    from loopwright.cli.record import entered
    from loopwright.studies.effect import without_entry
    from loopwright.studies.evaluating_record import typed_of

    said, who = call.said, person(call.said["who"])
    if not said["as_json"]:
        _show(call, found, None)
        click.echo()
    seen = call.bench if said["instead_of"] is None else without_entry(call.bench, said["instead_of"])
    typed = typed_of(
        seen,
        found,
        said["record"],
        take=said["take"],
        item=said["item"],
        opposite=said["opposite"],
        note=said["note"],
        state=said["state"],
    )
    done = entered(
        call.book,
        call.bench,
        typed,
        seen=seen,
        who=who,
        instead_of=said["instead_of"],
        keep=said["keep"],
        ask=not said["as_json"],
    )
    if done is None:
        return False
    _remember(call, columns, who)
    if said["as_json"]:
        _show(call, found, done.as_data())
    else:
        done.show(budget=said["budget"])
    return True


def _remember(call: _Call, columns: Columns | None, who: str) -> None:
    """Keeps in the book which column of a table is what, where that was said and is not kept already."""
    if columns is None or not (call.said["headings"] or call.said["units_in"]):
        return
    if _kept_columns(call) != columns:
        record = ColumnsKept(name=call.columns_name, columns=columns.to_dict())
        call.book.append(record, who=who, station=station())
