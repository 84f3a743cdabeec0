"""What a browser takes home: a copy of the book, its archive, and the printed codes of things in it."""

import asyncio
import contextlib
import re
import shutil
import tempfile
from collections.abc import AsyncIterator, Awaitable, Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

from fastapi import FastAPI, Request, Response
from fastapi.responses import PlainTextResponse, StreamingResponse

from loopwright.book import backup, export_archive
from loopwright.errors import LoopwrightError
from loopwright.studies.addresses import is_code, normal
from loopwright.web.identity import Identity
from loopwright.web.printing import ADDRESS, WAITING
from loopwright.web.shelf import Shelf
from loopwright.web.views.address import code_drawing, root_of
from loopwright.web.work import Reader, Work

PIECE = 1 << 18
"""Bytes that are sent at a time."""
PREFIX = "loopwright-download-"


def routes(app: FastAPI, shelf: Shelf, identity: Identity) -> None:
    """Adds the addresses of downloads and of printed codes.

    Args:
        app: the server's.
        shelf: with the open book.
        identity: tells who asks.
    """

    @app.get("/book/copy", include_in_schema=False)
    async def copy(request: Request) -> Response:
        return await _answered(request, identity, partial(_sent, shelf, write_copy))

    @app.get("/book/archive", include_in_schema=False)
    async def archive(request: Request) -> Response:
        return await _answered(request, identity, partial(_sent, shelf, write_archive))

    @app.get(ADDRESS + "/{token}", include_in_schema=False)
    async def sheets(request: Request, token: str) -> Response:
        async def send(reader: Reader) -> Response:
            path = WAITING.pop(token, None)
            return _refused(404, "there is no such file") if path is None else await _file(path)

        return await _answered(request, identity, send)

    @app.get("/code/{code}.svg", include_in_schema=False)
    async def drawn(request: Request, code: str) -> Response:
        if not is_code(code):
            return _refused(404, "there is no such code")
        root = root_of(identity.addresses, str(request.base_url))

        async def draw(reader: Reader) -> Response:
            svg = await shelf.room.ask(code_drawing, reader, f"{root}/A/{normal(code)}")
            return Response(
                svg, media_type="image/svg+xml", headers={"Cache-Control": "private, max-age=3600"}
            )

        return await _answered(request, identity, draw)


async def _answered(
    request: Request, identity: Identity, answer: Callable[[Reader], Awaitable[Response]]
) -> Response:
    try:
        return await answer(identity.reader(request))
    except LoopwrightError as error:
        return _refused(409, str(error))


def _refused(status: int, words: str) -> Response:
    return PlainTextResponse(words, status_code=status)


async def _sent(shelf: Shelf, write: Callable[[Work, Reader, str], str], reader: Reader) -> Response:
    """A file that the workroom writes, sent piece by piece and removed afterwards, however that ends."""
    folder = await asyncio.to_thread(tempfile.mkdtemp, prefix=PREFIX)
    try:
        return await _file(Path(await shelf.room.ask(write, reader, folder)))
    except BaseException:
        await asyncio.to_thread(shutil.rmtree, folder, ignore_errors=True)
        raise


async def _file(path: Path) -> Response:
    """A file that is alone in its folder, sent piece by piece; both are removed afterwards."""
    size = (await asyncio.to_thread(path.stat)).st_size
    headers = {
        "Content-Disposition": f'attachment; filename="{path.name}"',
        "Content-Length": str(size),
        "Cache-Control": "no-store",
    }
    return StreamingResponse(_pieces(path), media_type="application/octet-stream", headers=headers)


async def _pieces(path: Path) -> AsyncIterator[bytes]:
    try:
        file = await asyncio.to_thread(path.open, "rb")
        with contextlib.closing(file):
            while piece := await asyncio.to_thread(file.read, PIECE):
                yield piece
    finally:
        # not awaited: whoever stopped listening has cancelled this task already
        asyncio.get_running_loop().run_in_executor(
            None, partial(shutil.rmtree, path.parent, ignore_errors=True)
        )


def write_copy(work: Work, reader: Reader, folder: str) -> str:
    """A copy of the book as it is now, in a folder; of a PostgreSQL book it is its archive."""
    ending = "book" if work.book.info.database == "sqlite" else "txt"
    return str(backup(work.where, Path(folder) / file_name(work, ending)))


def write_archive(work: Work, reader: Reader, folder: str) -> str:
    """The archive of the book, in a folder."""
    return str(export_archive(work.book, Path(folder) / file_name(work, "txt")))


def file_name(work: Work, ending: str) -> str:
    """What a download is called: the machine, the day, the last entry; nothing that anybody could have put in."""
    machine = re.sub(r"[^a-z0-9]+", "-", work.book.info.build_name.lower()).strip("-")[:60] or "build"
    day = datetime.now(UTC).date().isoformat()
    return f"{machine}-{day}-entry-{work.book.last_number}.{ending}"
