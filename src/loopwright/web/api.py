"""The JSON API under /api: readings in, answers out, by the same rules as the pages."""

import asyncio
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Annotated, Any

from fastapi import Depends, FastAPI, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException

from loopwright.errors import LoopwrightError, Problem
from loopwright.web import api_work
from loopwright.web.api_bodies import EnteredBody, ReadingBody, ValueBody
from loopwright.web.api_description import described, responses
from loopwright.web.api_faults import again_after, problems_of, status_of
from loopwright.web.api_refusal import Refused, as_data
from loopwright.web.desk import Desk, MayNot
from loopwright.web.identity import Identity
from loopwright.web.shelf import Shelf
from loopwright.web.wording import say
from loopwright.web.work import Reader

MOST_BYTES = 1_000_000
"""Of what a program sends; a sweep of thousands of values is far smaller."""
OWN = "x-loopwright"
"""A header that a page of another site cannot send; what changes something must have it."""

Scope = MutableMapping[str, Any]


def api(shelf: Shelf, identity: Identity) -> FastAPI:
    """The API of a server.

    Args:
        shelf: with the open book.
        identity: tells who asks.
    """
    app = FastAPI(
        title=say("api.title"),
        version="1",
        description=say("api.description"),
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        exception_handlers={
            LoopwrightError: _told,
            RequestValidationError: _invalid,
            HTTPException: _not_here,
        },
    )
    app.add_middleware(_Bounded)
    asked = _Asked(shelf, identity)
    _answers(app, asked)
    _lists(app, asked)
    _readings(app, asked)

    @app.get("/openapi.json", include_in_schema=False)
    async def description() -> Response:
        return _json(await asyncio.to_thread(described, app))

    return app


class _Asked:
    """What every question has in common: who asks, and where the answer comes from."""

    def __init__(self, shelf: Shelf, identity: Identity) -> None:
        self.shelf, self.identity = shelf, identity

    def reader(self, request: Request, role: str = "read") -> Reader:
        reader = self.identity.reader(request)
        if not reader.may(role):
            raise MayNot(reader.role, role)
        if not self.shelf.room.where:
            raise Refused(409, [Problem("", say("api.no_book"), say("api.no_book_remedy"))])
        return reader

    def writer(self, request: Request) -> Reader:
        if request.headers.get(OWN) != "1":
            raise Refused(403, [Problem(OWN, say("api.no_header"), say("api.no_header_remedy"))])
        return self.reader(request, "record")

    async def ask(self, function: Callable[..., Any], request: Request, *arguments: Any) -> Response:
        return _json(await self.shelf.room.ask(function, self.reader(request), *arguments))

    async def long(self, function: Callable[..., Any], request: Request, *arguments: Any) -> Response:
        return _json(await self.shelf.room.long(function, self.reader(request), *arguments))


def _json(body: bytes, status: int = 200) -> Response:
    return Response(body, status, media_type="application/json", headers={"Cache-Control": "no-store"})


def _answers(app: FastAPI, asked: _Asked) -> None:
    """Questions about the machine as a whole."""

    @app.get("/standing", **responses("standing"))
    async def standing(request: Request) -> Response:
        return await asked.ask(api_work.standing, request)

    @app.get("/targets", **responses("targets"))
    async def targets(request: Request) -> Response:
        return await asked.ask(api_work.targets, request)

    @app.get("/next", **responses("next"))
    async def what_next(
        request: Request,
        minutes: Annotated[
            float | None, Query(gt=0, le=100_000, description=say("api.field.minutes"))
        ] = None,
    ) -> Response:
        # a plan for some hours compares many readings; it must not keep the bench waiting
        go = asked.ask if minutes is None else asked.long
        return await go(api_work.what_next, request, minutes)

    @app.get("/fitup/plan", **responses("fitup-plan"))
    async def plan(request: Request) -> Response:
        return await asked.long(api_work.plan, request)

    @app.get("/fitup/steps/{step}", **responses("fitup-step", 404))
    async def step(request: Request, step: str) -> Response:
        return await asked.ask(api_work.step, request, step)


def _lists(app: FastAPI, asked: _Asked) -> None:
    """Questions about what is in the build and in the book."""

    @app.get("/parts", **responses("parts"))
    async def parts(request: Request) -> Response:
        return await asked.ask(api_work.parts, request)

    @app.get("/parts/{part}", **responses("part", 404))
    async def part(request: Request, part: str) -> Response:
        return await asked.ask(api_work.part, request, part)

    @app.get("/gauges", **responses("gauges"))
    async def gauges(request: Request) -> Response:
        return await asked.ask(api_work.gauges, request)

    @app.get("/states", **responses("history", title="states"))
    async def states(request: Request) -> Response:
        return await asked.long(api_work.states, request)

    @app.get("/history", **responses("history"))
    async def history(
        request: Request,
        since: Annotated[int, Query(ge=0, description=say("api.field.since"))] = 0,
        most: Annotated[int, Query(ge=1, le=5000, description=say("api.field.most"))] = 500,
    ) -> Response:
        return await asked.ask(api_work.history, request, since, most)


def _readings(app: FastAPI, asked: _Asked) -> None:
    """Readings in."""

    @app.get("/readings/asked", **responses("sheet", 404))
    async def sheet(
        request: Request,
        of: Annotated[str, Query(max_length=200, description=say("api.field.of"))],
        against: Annotated[str | None, Query(max_length=200, description=say("api.field.against"))] = None,
        item: Annotated[str | None, Query(max_length=200, description=say("api.field.item"))] = None,
    ) -> Response:
        return await asked.ask(api_work.asked_of, request, of, against, item)

    @app.get("/bench/next", include_in_schema=False)
    async def following(request: Request) -> Response:
        return await asked.ask(api_work.following, request)

    @app.post("/readings/value", **responses("value", 403, 422))
    async def value(
        request: Request,
        said: ValueBody,
        reader: Annotated[Reader, Depends(asked.writer)],
        page: Annotated[bool, Query(include_in_schema=False)] = False,
    ) -> Response:
        try:
            return _json(await asked.shelf.room.ask(api_work.value, reader, said.model_dump()))
        except Refused as error:
            if not page:
                raise
            return _problems(200, *error.problems)

    @app.post("/readings/consider", **responses("considered", 403, 422))
    async def consider(
        request: Request, said: ReadingBody, reader: Annotated[Reader, Depends(asked.writer)]
    ) -> Response:
        return _json(await asked.shelf.room.ask(api_work.consider, reader, said.model_dump()))

    @app.post("/readings", status_code=201, **responses("recorded", 403, 409, 422, 503, status=201))
    async def record(
        request: Request,
        said: EnteredBody,
        reader: Annotated[Reader, Depends(asked.writer)],
        page: Annotated[bool, Query(include_in_schema=False)] = False,
    ) -> Response:
        room = asked.shelf.room
        try:
            status, number, body = await room.ask(api_work.record, reader, said.model_dump(), page=page)
        except LoopwrightError as error:
            if not page or status_of(error) >= 500:
                raise
            status, number = status_of(error), 0
            body = await room.ask(api_work.refused, reader, status, problems_of(error))
        if number:
            # pages are told at once, and not only when the book is next looked at
            asyncio.get_running_loop().call_soon(_tell, asked, number)
        # a browser says every refusal on its console; our own page finds the status in what it asked for
        return _json(body, 200 if page else status)


_TELLING: set[asyncio.Task[None]] = set()


def _tell(asked: _Asked, number: int) -> None:
    task = asyncio.ensure_future(asked.shelf.hub.changed(number))
    _TELLING.add(task)
    task.add_done_callback(_TELLING.discard)


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, LoopwrightError)
    Desk.note(error)
    after = again_after(error)
    response = _json(api_work.to_json(as_data(problems_of(error))), status_of(error))
    if after is not None:
        response.headers["Retry-After"] = str(after)
    return response


async def _invalid(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    found = error.errors()[:50]
    if any(one["type"] == "json_invalid" for one in found):
        return _problems(400, Problem("", say("api.no_json"), say("api.no_json_remedy")))
    problems = [
        Problem(
            "/".join(str(part) for part in one["loc"][1:]), str(one["msg"]), say("api.look_at_description")
        )
        for one in found
    ]
    return _json(api_work.to_json(as_data(problems)), 422)


async def _not_here(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    problem = Problem("", say("api.not_here", path=request.url.path), say("api.look_at_description"))
    return _problems(error.status_code, problem)


def _problems(status: int, *problems: Problem) -> Response:
    return _json(api_work.to_json(as_data(problems)), status)


class _Bounded:
    """Refuses what is too large, while it is still coming in."""

    def __init__(self, app: Callable[..., Awaitable[None]]) -> None:
        self.app = app

    async def __call__(
        self, scope: Scope, receive: Callable[[], Awaitable[Any]], send: Callable[..., Any]
    ) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        pieces, size, more = [], 0, True
        while more:
            message = await receive()
            if message["type"] != "http.request":
                return
            pieces.append(message.get("body", b""))
            size += len(pieces[-1])
            more = message.get("more_body", False)
            if size > MOST_BYTES:
                refused = _problems(413, Problem("", say("api.too_large"), say("api.too_large_remedy")))
                await refused(scope, receive, send)
                return
        whole = [{"type": "http.request", "body": b"".join(pieces), "more_body": False}]

        async def again() -> Any:
            return whole.pop() if whole else await receive()

        await self.app(scope, again, send)
