"""The gate that every request and every connection goes through: only from our own pages, only who may come in."""

import asyncio
import json
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import quote, urlsplit

from starlette.requests import HTTPConnection

from loopwright.web.identity import SESSION, Identity

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOCAL = frozenset({"127.0.0.1", "localhost", "[::1]"})
POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval'; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; connect-src 'self' ws: wss:; font-src 'self' data:; object-src 'none'; "
    "base-uri 'self'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
OPEN = ("/sign-in", "/join", "/assets/", "/favicon.ico")
"""What can be asked for by who has not signed in yet."""
CHANGING = frozenset({"POST", "PUT", "PATCH", "DELETE"})
OWN_HEADER = b"x-loopwright"
"""Only a script of our own pages can send it: a form of another site cannot, and its scripts may not."""


@dataclass(frozen=True)
class Places:
    """Under which names the server may be asked.

    Attributes:
        port: where it listens.
        hosts: names and addresses of this machine, asked at that port.
        names: names that a server in front of ours has, at whatever port it listens.
    """

    port: int
    hosts: frozenset[str] = LOCAL
    names: frozenset[str] = field(default_factory=frozenset)

    def know(self, netloc: str) -> bool:
        """Whether a Host, or the place in an Origin, is one of ours."""
        host, _, port = netloc.rpartition(":") if netloc.rpartition(":")[2].isdigit() else (netloc, "", "")
        host = host.lower()
        own_port = port == str(self.port) or (not port and self.port in (80, 443))
        return host in self.names or (host in self.hosts and own_port)


class Gate:
    """Lets through what is asked of this machine by its own pages and, from the network, by who signed in.

    A page of another site can make a browser send requests here, and a name can be made to point here; neither
    carries our own address as Host and Origin.

    Args:
        app: what lies behind.
        places: under which names the server may be asked.
        identity: tells who asks.
    """

    def __init__(self, app: App, places: Places, identity: Identity) -> None:
        self.app, self.places, self.identity = app, places, identity

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or connection."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = dict(scope["headers"])
        if not self._from_here(scope, headers):
            await _refuse(scope, send, 403, "This was not asked by a page of this server.")
        elif not await self._may_come_in(scope):
            await _to_sign_in(scope, send)
        else:
            await self.app(scope, receive, _with_headers(send))

    def _from_here(self, scope: Scope, headers: dict[bytes, bytes]) -> bool:
        origin = headers.get(b"origin")
        if not self.places.know(headers.get(b"host", b"").decode("latin-1")):
            return False
        if origin is not None and not self.places.know(urlsplit(origin.decode("latin-1")).netloc):
            return False
        if scope["type"] == "websocket":
            return origin is not None
        # whatever changes something says where it comes from; a script of ours says it by a header of our own
        return scope["method"] not in CHANGING or origin is not None or OWN_HEADER in headers

    async def _may_come_in(self, scope: Scope) -> bool:
        people = self.identity.people
        if people is None or scope["path"].startswith(OPEN):
            return True
        token = HTTPConnection(scope).cookies.get(SESSION, "")
        if people.held(token) is not None:
            return True
        return await asyncio.to_thread(people.of_session, token) is not None


def _with_headers(send: Send) -> Send:
    async def sending(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *HEADERS]
        await send(message)

    return sending


async def _to_sign_in(scope: Scope, send: Send) -> None:
    """Shows a reader the way in; tells a program that it must sign in."""
    wants_page = scope["type"] == "http" and scope["method"] == "GET" and _wants_html(scope)
    if not wants_page:
        await _refuse(scope, send, 401, "Sign in first.")
        return
    where = scope["path"] + (f"?{scope['query_string'].decode('latin-1')}" if scope["query_string"] else "")
    location = "/sign-in?to=" + quote(where, safe="")
    await send(
        {
            "type": "http.response.start",
            "status": 303,
            "headers": [(b"location", location.encode()), *HEADERS],
        }
    )
    await send({"type": "http.response.body", "body": b""})


def _wants_html(scope: Scope) -> bool:
    accepted = dict(scope["headers"]).get(b"accept", b"")
    return b"text/html" in accepted and not scope["path"].startswith("/api")


async def _refuse(scope: Scope, send: Send, status: int, words: str) -> None:
    """Closes the gate before a request or a connection."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 1008})
        return
    problem = {"problems": [{"field": "", "what": words, "remedy": "open the address that the server shows"}]}
    body, kind = (
        (json.dumps(problem).encode(), b"application/json")
        if scope["path"].startswith("/api")
        else (words.encode(), b"text/plain; charset=utf-8")
    )
    await send(
        {"type": "http.response.start", "status": status, "headers": [(b"content-type", kind), *HEADERS]}
    )
    await send({"type": "http.response.body", "body": body})
