"""The way in from the shop's network: signing in, joining, signing out. Plain pages without scripts."""

import asyncio
import secrets
from collections.abc import Awaitable, Callable
from urllib.parse import parse_qs, quote, urlsplit

from fastapi import FastAPI, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from loopwright.errors import RequestError
from loopwright.web.identity import SESSION, Identity
from loopwright.web.people import SESSION_SECONDS, People, TooManyTries
from loopwright.web.views.entrance import joining, signing_in

TOKEN = "loopwright_form"
BIGGEST = 4096
"""Bytes of a form; a name and a passphrase need no more."""


def routes(app: FastAPI, identity: Identity) -> None:
    """Adds the pages of the entrance; where the book is not open to the network they lead to the front page."""
    people = identity.people

    @app.get("/sign-in", include_in_schema=False)
    def sign_in_page(request: Request, to: str = "/") -> Response:
        return _home() if people is None else _page(request, lambda form: signing_in(form, own_path(to)))

    @app.get("/join", include_in_schema=False)
    def join_page(request: Request, code: str = "") -> Response:
        return _home() if people is None else _page(request, lambda form: joining(form, code))

    @app.post("/sign-in", include_in_schema=False)
    async def sign_in(request: Request) -> Response:
        return _home() if people is None else await _signed_in(request, people)

    @app.post("/join", include_in_schema=False)
    async def join(request: Request) -> Response:
        return _home() if people is None else await _joined(request, people)

    @app.post("/sign-out", include_in_schema=False)
    async def sign_out(request: Request) -> Response:
        if people is not None:
            await asyncio.to_thread(people.sign_out, request.cookies.get(SESSION, ""))
        answer = RedirectResponse("/sign-in", status_code=303)
        answer.delete_cookie(SESSION, path="/")
        return answer


def own_path(wanted: str) -> str:
    """Where to go after signing in: a path of ours, never another site.

    >>> own_path("/parts/column"), own_path("//elsewhere.example"), own_path("https://elsewhere.example/")
    ('/parts/column', '/', '/')
    """
    parts = urlsplit(wanted)
    plain = wanted.startswith("/") and not wanted.startswith(("//", "/\\")) and wanted.isprintable()
    return wanted if plain and not parts.scheme and not parts.netloc else "/"


async def _signed_in(request: Request, people: People) -> Response:
    fields, to = await _fields(request), "/"

    async def work() -> str:
        nonlocal to
        to = own_path(fields.get("to", "/"))
        return await asyncio.to_thread(
            people.sign_in,
            fields.get("name", ""),
            fields.get("passphrase", ""),
            address=_address(request),
            device=request.headers.get("user-agent", ""),
        )

    def again(form: str, wrong: str) -> str:
        return signing_in(form, to, name=fields.get("name", ""), wrong=wrong)

    return await _tried(request, fields, work, again, lambda: to)


async def _joined(request: Request, people: People) -> Response:
    fields = await _fields(request)

    async def work() -> str:
        return await asyncio.to_thread(
            people.join,
            fields.get("code", ""),
            fields.get("name", ""),
            fields.get("passphrase", ""),
            address=_address(request),
            device=request.headers.get("user-agent", ""),
        )

    def again(form: str, wrong: str) -> str:
        return joining(form, fields.get("code", ""), name=fields.get("name", ""), wrong=wrong)

    return await _tried(request, fields, work, again, lambda: "/")


async def _tried(
    request: Request,
    fields: dict[str, str],
    work: Callable[[], Awaitable[str]],
    again: Callable[[str, str], str],
    to: Callable[[], str],
) -> Response:
    """A session, or the page again with what was wrong."""
    own = request.cookies.get(TOKEN, "")
    if not own or not secrets.compare_digest(own.encode(), fields.get("form", "").encode()):
        return _page(request, lambda form: again(form, "This page had become too old. Try once more."), 403)
    try:
        token = await work()
    except TooManyTries as error:
        words, wait = str(error), {"Retry-After": str(round(error.seconds))}
        return _page(request, lambda form: again(form, words), 429, wait)
    except RequestError as error:
        words = str(error)
        return _page(request, lambda form: again(form, words), 403)
    answer = RedirectResponse(quote(to(), safe="/?=&%#"), status_code=303)
    answer.set_cookie(
        SESSION,
        token,
        max_age=SESSION_SECONDS,
        path="/",
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )
    return answer


def _page(
    request: Request, draw: Callable[[str], str], status: int = 200, headers: dict[str, str] | None = None
) -> Response:
    """A page of the entrance; its form carries a token that a cookie of this browser carries too."""
    form = request.cookies.get(TOKEN) or secrets.token_urlsafe(24)
    answer = HTMLResponse(
        draw(form), status_code=status, headers={"Cache-Control": "no-store"} | (headers or {})
    )
    answer.set_cookie(
        TOKEN, form, path="/", httponly=True, samesite="strict", secure=request.url.scheme == "https"
    )
    return answer


async def _fields(request: Request) -> dict[str, str]:
    """What a form holds, read no further than a form can be long."""
    read = bytearray()
    async for piece in request.stream():
        read += piece
        if len(read) > BIGGEST:
            return {}
    found = parse_qs(bytes(read).decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=12)
    return {name: values[-1] for name, values in found.items()}


def _address(request: Request) -> str:
    return request.client.host if request.client else ""


def _home() -> Response:
    return RedirectResponse("/", status_code=303)
