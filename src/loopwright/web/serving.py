"""The server: one book, its workroom, and the pages, on this machine only unless it is opened to the shop."""

import gc
import hashlib
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fastapi import Request, Response
from fastapi.middleware.gzip import GZipMiddleware
from nicegui import app, ui
from starlette.types import ASGIApp

from loopwright.errors import RequestError
from loopwright.web.api import api
from loopwright.web.desk import Desk
from loopwright.web.downloads import routes as downloads
from loopwright.web.entrance import routes as entrance
from loopwright.web.frame import Frame
from loopwright.web.gate import LOCAL, Gate, Places
from loopwright.web.identity import Identity
from loopwright.web.pages import every_page
from loopwright.web.people import People
from loopwright.web.shelf import Shelf
from loopwright.web.style import script, style
from loopwright.web.uploads import routes as uploads
from loopwright.web.views.standing import front
from loopwright.web.work import Reader
from loopwright.web.workroom import Workroom

HERE = "127.0.0.1"
EVERYWHERE = "0.0.0.0"
PORTS = range(8140, 8180)
"""Where a free one is looked for when none is asked for."""

_EARLY = """
try {
  const look = localStorage.getItem("loopwright/look");
  if (look === "light" || look === "dark") document.documentElement.dataset.theme = look;
} catch { /* as the screen */ }
"""


@dataclass(frozen=True)
class Serving:
    """What is served, and to whom.

    Attributes:
        where: file of the book or address of its database; '' begins without one.
        who: name of whoever sits at this machine.
        folder: where books lie and new ones are put.
        port: where it listens; 0 takes a free one.
        people: file of those who may come in from the network; None keeps the server to this machine.
        names: further names under which it may be asked, as a server in front of it has them.
        certificate, key: files for TLS; '' serves plain HTTP.
        ready: called with the addresses of the pages when they can be opened, the best to open first.
    """

    where: str
    who: str
    folder: Path = field(default_factory=Path.cwd)
    port: int = 0
    people: Path | None = None
    names: tuple[str, ...] = ()
    certificate: str = ""
    key: str = ""
    ready: Callable[[tuple[str, ...]], None] = field(default=lambda addresses: None)


def free_port(host: str = HERE) -> int:
    """A port that nobody listens at.

    Raises:
        RequestError: all that are looked at are taken.
    """
    for port in PORTS:
        with socket.socket() as trial:
            try:
                trial.bind((host, port))
            except OSError:
                continue
            return port
    raise RequestError(
        f"the ports {PORTS[0]} to {PORTS[-1]} are all taken", "close another server, or give one with --port"
    )


def addresses_of_this_machine() -> tuple[str, ...]:
    """Names and numbers under which others in the shop's network reach this machine, the surest first."""
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as trial:
        try:
            # an address kept for examples (RFC 5737): nothing is sent, the system only says how it would go there
            trial.connect(("192.0.2.1", 9))
            found.append(trial.getsockname()[0])
        except OSError:
            pass
    name = socket.gethostname().lower()
    found += [name, name if "." in name else f"{name}.local"]
    return tuple(dict.fromkeys(one for one in found if one and not one.startswith("127.")))


def serve(serving: Serving, room: Workroom | None = None) -> None:
    """Serves a book until it is stopped.

    Args:
        serving: what, and to whom.
        room: where the book is open, where it was begun already.

    Raises:
        RequestError: no port is free, or who may come in cannot be kept.
    """
    room = room or Workroom(serving.where)
    if serving.where:
        # worked out while the browser still opens; what is wrong with it is told by the page that asks
        room.foresee(front, Reader(serving.who))
    lan = serving.people is not None
    host = EVERYWHERE if lan else HERE
    port = serving.port or free_port(host)
    identity = Identity(serving.who, People(serving.people) if serving.people is not None else None)
    shelf = Shelf(serving.folder, room)
    scheme = "https" if serving.certificate else "http"
    reached = addresses_of_this_machine() if lan else ()
    addresses = tuple(f"{scheme}://{name}:{port}" for name in ("localhost", *reached))
    identity.addresses.extend(addresses[1:])
    _assets()
    entrance(app, identity)
    uploads(app, shelf.uploads, identity)
    downloads(app, shelf, identity)
    app.mount("/api", api(shelf, identity))
    every_page()  # imported now: later it would hold the loop while somebody waits
    _pages(shelf, identity)

    @app.on_startup
    def start() -> None:
        shelf.room.open()
        # what was imported stays: looking through all of it for garbage would hold the loop for a tenth of a second
        gc.collect()
        gc.freeze()
        serving.ready(addresses)

    @app.on_shutdown
    def stop() -> None:
        shelf.close()

    places = Places(port, LOCAL | frozenset(reached), frozenset(name.lower() for name in serving.names))
    app.add_middleware(Gate, places=places, identity=identity)
    tls: dict[str, Any] = (
        {"ssl_certfile": serving.certificate, "ssl_keyfile": serving.key} if serving.certificate else {}
    )
    ui.run(
        host=host,
        port=port,
        reload=False,
        show=False,
        title="Loopwright",
        language="en-US",
        favicon=_MARK,
        dark=None,
        reconnect_timeout=30,
        tailwind=False,
        show_welcome_message=False,
        uvicorn_logging_level="warning",
        gzip_middleware_factory=_packed if lan else None,
        **tls,
    )


def people_file(where: str, folder: Path) -> Path:
    """Where it is kept who may come in to a book: beside its file, or where the user's settings are."""
    if where and "://" not in where:
        return Path(where).with_suffix(".people")
    settings = Path(os.environ.get("XDG_CONFIG_HOME") or Path.home() / ".config") / "loopwright"
    if not where:
        return folder / "loopwright.people"
    settings.mkdir(parents=True, exist_ok=True)
    return settings / f"{hashlib.sha256(where.encode()).hexdigest()[:12]}.people"


def _assets() -> None:
    css, js = style(), script()

    @app.get("/assets/style.css", include_in_schema=False)
    def sheet() -> Response:
        return Response(css, media_type="text/css", headers=_KEPT)

    @app.get("/assets/desk.js", include_in_schema=False)
    def code() -> Response:
        return Response(js, media_type="text/javascript", headers=_KEPT)

    @app.get("/favicon.ico", include_in_schema=False)
    def mark() -> Response:
        return Response(_MARK, media_type="image/svg+xml", headers=_KEPT)

    version = hashlib.sha256((css + js).encode()).hexdigest()[:12]
    ui.add_head_html(
        f"<script>{_EARLY}</script>"
        f'<link rel="stylesheet" href="/assets/style.css?{version}">'
        f'<script src="/assets/desk.js?{version}" defer></script>',
        shared=True,
    )


def _packed(inner: ASGIApp) -> GZipMiddleware:
    """Makes answers smaller on their way through the network; the highest level would hold the loop for long."""
    return GZipMiddleware(inner, compresslevel=1)


def _pages(shelf: Shelf, identity: Identity) -> None:
    async def page(request: Request) -> None:
        await Frame(Desk(shelf, identity, request)).build()

    for path in ("/", "/{rest:path}"):
        ui.page(path, response_timeout=20)(page)


_KEPT = {"Cache-Control": "public, max-age=31536000, immutable"}
_MARK = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32"><rect width="32" height="32" fill="#1c2e70"/>'
    '<g fill="none" stroke="#f4efdf" stroke-width="1.6"><circle cx="16" cy="16" r="8"/>'
    '<path d="M16 3v26M3 16h26" stroke-width="1"/></g><circle cx="16" cy="16" r="2.4" fill="#f4efdf"/></svg>'
)
