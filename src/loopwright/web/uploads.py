"""Files that a browser sends: taken to a folder of ours under names of ours, bounded, and gone soon."""

import contextlib
import secrets
import shutil
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse

from loopwright.errors import RequestError
from loopwright.web.identity import Identity

LARGEST = {"build": 1_000_000, "readings": 10_000_000, "archive": 200_000_000}
"""Bytes of a file, by what it is."""
ROLE = {"build": "edit", "readings": "record", "archive": "edit"}
KEPT_SECONDS = 900.0


@dataclass
class Uploads:
    """Files that were sent and not yet used."""

    folder: Path = field(default_factory=lambda: Path(tempfile.mkdtemp(prefix="loopwright-uploads-")))
    _held: dict[str, tuple[str, float]] = field(default_factory=dict)
    _said: dict[str, Any] = field(default_factory=dict)

    def begin(self, kind: str) -> tuple[str, Path]:
        """A token and a place for a file of a kind."""
        self.tidy()
        token = secrets.token_urlsafe(24)
        self._held[token] = (kind, time.monotonic())
        return token, self.folder / token

    def take(self, token: str, kind: str) -> Path:
        """The file of a token.

        Raises:
            RequestError: it is not there, or of another kind.
        """
        held = self._held.get(token)
        path = self.folder / token if held is not None else None
        if held is None or path is None or held[0] != kind or not path.is_file():
            raise RequestError("the file is no longer here", "choose it again")
        return path

    def remember(self, token: str, what: Any) -> None:
        """Keeps what somebody said of a file, as long as the file is kept; nothing where it is gone."""
        if token in self._held:
            self._said[token] = what

    def remembered(self, token: str) -> Any:
        """What was said of a file; None where nothing was."""
        return self._said.get(token)

    def drop(self, token: str) -> None:
        """The file is no longer needed."""
        self._said.pop(token, None)
        if self._held.pop(token, None) is not None:
            with contextlib.suppress(OSError):
                (self.folder / token).unlink()

    def tidy(self) -> None:
        """Removes what nobody used."""
        old = time.monotonic() - KEPT_SECONDS
        for token in [token for token, (_, begun) in self._held.items() if begun < old]:
            self.drop(token)

    def close(self) -> None:
        """Removes everything."""
        shutil.rmtree(self.folder, ignore_errors=True)


def plain_name(given: str, default: str) -> str:
    r"""What a browser calls a file, as a name to show and keep; never a path.

    >>> plain_name("../../etc/drill.yaml", "build.yaml"), plain_name("C:\\work\\a.yaml", "build.yaml")
    ('drill.yaml', 'a.yaml')
    """
    name = PureWindowsPath(PurePosixPath(given).name).name.strip()
    return name[:100] if name and name.isprintable() and not name.startswith(".") else default


def routes(app: FastAPI, uploads: Uploads, identity: Identity) -> None:
    """Adds the address that takes files; answers a token by which a page goes on with one."""

    @app.post("/uploads/{kind}", include_in_schema=False)
    async def upload(request: Request, kind: str) -> JSONResponse:
        if kind not in LARGEST:
            return _refused(404, "no such kind of file", "choose it on a page")
        if not identity.reader(request).may(ROLE[kind]):
            return _refused(403, "your role does not allow this", "ask whoever keeps the book")
        if "x-loopwright" not in request.headers:
            return _refused(403, "this was not asked by a page of this server", "choose the file on a page")
        token, path = uploads.begin(kind)
        size = 0
        with path.open("wb") as file:
            async for piece in request.stream():
                size += len(piece)
                if size > LARGEST[kind]:
                    break
                file.write(piece)
        if not 0 < size <= LARGEST[kind]:
            uploads.drop(token)
            most = f"{LARGEST[kind] / 1e6:g} MB"
            return (
                _refused(413, f"the file is larger than {most}", "choose the right one, or make it smaller")
                if size
                else _refused(400, "the file is empty", "choose another one")
            )
        return JSONResponse({"token": token, "bytes": size})


def _refused(status: int, what: str, remedy: str) -> JSONResponse:
    return JSONResponse({"problems": [{"field": "file", "what": what, "remedy": remedy}]}, status_code=status)
