"""loopwright serve."""

import os
import webbrowser
from pathlib import Path

import click

from loopwright.cli.at_book import BOOK, WHO, examples, person, place_of
from loopwright.errors import RequestError

CAUTION = """
Everybody in this network can now reach the sign-in page. Without TLS others in it can read what is sent, passphrases
among it: use it in a network that you trust, never over the internet."""


@click.command()
@click.argument("where", required=False, metavar="[BOOK]", envvar=BOOK)
@click.option("--port", type=click.IntRange(1, 65535), help="Where it listens. Default: the first free one.")
@click.option("--no-browser", is_flag=True, help="Do not open a browser.")
@click.option("--who", metavar="NAME", envvar=WHO, help="Name under which you enter.")
@click.option("--lan", is_flag=True, help="Open it to the shop's network; everybody signs in.")
@click.option("--name", "names", multiple=True, metavar="HOST", help="A further name that it is asked under.")
@click.option("--tls-certificate", type=click.Path(exists=True, dir_okay=False), help="For https: PEM file.")
@click.option(
    "--tls-key", type=click.Path(exists=True, dir_okay=False), help="For https: PEM file of the key."
)
@examples(
    "loopwright serve",
    "loopwright serve my-machine.book --port 8150 --no-browser",
    "loopwright serve my-machine.book --lan",
)
def serve(
    where: str | None,
    port: int | None,
    no_browser: bool,
    who: str | None,
    lan: bool,
    names: tuple[str, ...],
    tls_certificate: str | None,
    tls_key: str | None,
) -> None:
    """Open a book in the browser: the whole job without a terminal. Stop it with Ctrl+C.

    Without a book in this folder it begins with the page where one is made. Only this machine can reach it, unless
    --lan opens it to the shop's network.
    """
    if bool(tls_certificate) != bool(tls_key):
        raise RequestError("TLS takes a certificate and its key", "give both --tls-certificate and --tls-key")
    if names and not lan:
        raise RequestError("--name is for a server that others reach", "give --lan too")
    folder = Path.cwd()
    place = where or _only_book(folder)
    try:
        # the work is many small products, where threads wait for each other more than they help
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
        from loopwright.web.workroom import Workroom

        room = Workroom(place)
        room.begin()  # it gets ready while the pages are still being loaded
        from loopwright.web.serving import Serving, people_file
        from loopwright.web.serving import serve as run
    except ModuleNotFoundError as error:
        if (error.name or "").startswith("loopwright"):
            raise
        raise RequestError(
            f"the pages need the package '{error.name}', which is not installed",
            "install Loopwright with its pages: pip install 'loopwright[web]'",
        ) from None
    people = people_file(place, folder) if lan else None

    def ready(addresses: tuple[str, ...]) -> None:
        click.echo(f"{place or 'no book yet'}: {addresses[0]}/   (stop with Ctrl+C)")
        first = f"{addresses[0]}/"
        if people is not None:
            first = _opened_to_the_shop(addresses, people)
        if not no_browser:
            webbrowser.open(first)

    run(
        Serving(
            place,
            person(who),
            folder=folder,
            port=port or 0,
            people=people,
            names=names,
            certificate=tls_certificate or "",
            key=tls_key or "",
            ready=ready,
        ),
        room,
    )


def _only_book(folder: Path) -> str:
    """The book of this folder, or none where there is none yet."""
    return place_of(None) if any(folder.glob("*.book")) else ""


def _opened_to_the_shop(addresses: tuple[str, ...], file: Path) -> str:
    """Says where it is reached, and lets the first person in; where to begin."""
    from loopwright.web.people import People

    people = People(file)
    for address in addresses[1:]:
        click.echo(f"in the shop's network: {address}/")
    click.echo(CAUTION)
    if any(one.role == "edit" for one in people.everybody()):
        return f"{addresses[0]}/"
    first = f"{addresses[0]}/join?code={people.invite('edit')}"
    click.echo(
        f"\nNobody may come in yet. The first, who may edit everything, begins here within 15 minutes:\n  {first}"
    )
    return first
