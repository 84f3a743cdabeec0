"""Both databases for the tests of the book: a file, and a PostgreSQL server of our own that is thrown away."""

import importlib.util
import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

import pytest

import browsers

ROOT = Path(__file__).parents[1]
SPEC = importlib.util.spec_from_file_location("dev", ROOT / "dev.py")
assert SPEC is not None
assert SPEC.loader is not None
DEV = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(DEV)

PROGRAMS: Path | None = DEV.postgresql()
DATABASES = ["sqlite", "postgresql"] if PROGRAMS else ["sqlite"]
NUMBERS = count(1)
QUICK = [
    "fsync=off",
    "full_page_writes=off",
    "max_wal_size=256MB",
    "shared_buffers=16MB",
    "max_connections=40",
]
Places = Callable[..., str]


def unprivileged() -> dict[str, Any]:
    """Arguments that start a process as somebody else when we are root, whom the server refuses."""
    if os.name == "nt" or os.geteuid() != 0:
        return {}
    import pwd

    names = {entry.pw_name: entry for entry in pwd.getpwall()}
    entry = names.get("postgres") or names["nobody"]
    return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}


def free_port() -> int:
    """A port on which nobody listens."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def running() -> Iterator[str]:
    """A PostgreSQL server with an empty database; its address."""
    import psycopg

    assert PROGRAMS is not None
    folder, who = tempfile.mkdtemp(prefix="book-"), unprivileged()
    if who:
        os.chown(folder, who["user"], who["group"])
    data, port = f"{folder}/data", free_port()
    initdb = [PROGRAMS / "initdb", "-D", data, "-A", "trust", "-U", "tool", "-E", "UTF8", "--no-locale", "-N"]
    subprocess.run(initdb, check=True, cwd=folder, stdout=subprocess.DEVNULL, **who)
    options = [word for setting in QUICK for word in ("-c", setting)]
    options += ["-c", "listen_addresses=127.0.0.1", "-k", folder, "-p", str(port)]
    with open(f"{folder}/log", "wb") as log:
        server = subprocess.Popen(
            [PROGRAMS / "postgres", "-D", data, *options], cwd=folder, stdout=log, stderr=log, **who
        )
    address = f"postgresql://tool@127.0.0.1:{port}/postgres"
    try:
        for _ in range(300):
            try:
                psycopg.connect(address).close()
                break
            except psycopg.OperationalError:
                assert server.poll() is None, Path(folder, "log").read_text("utf-8")
                time.sleep(0.05)
        yield address
    finally:
        server.terminate() if server.poll() is None else None
        try:
            server.wait(3)  # it waits for its clients; who forgot to close a book does not hold it up
        except subprocess.TimeoutExpired:
            server.send_signal(3)
            server.wait(10)
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """Address of a PostgreSQL server that runs as long as the tests."""
    with running() as address:
        yield address


@pytest.fixture(params=DATABASES)
def database(request: pytest.FixtureRequest) -> str:
    """Each of the databases in turn."""
    name: str = request.param
    return name


@pytest.fixture
def places(database: str, tmp_path: Path, request: pytest.FixtureRequest) -> Places:
    """A function that gives, by a name, a place for a book of the database in turn. The same name, the same place."""
    number = next(NUMBERS)

    def place(name: str = "drill") -> str:
        if database == "sqlite":
            return str(tmp_path / f"{name}.book")
        return f"{request.getfixturevalue('server')}?book=t{number}_{name}"

    return place


@pytest.fixture
def where(places: Places) -> str:
    """A place for a book, on each of the databases in turn."""
    return places()


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Say loudly what did not run."""
    if PROGRAMS is None:
        terminalreporter.section("NOT everything was tested", red=True, bold=True)
        terminalreporter.line(DEV.NO_POSTGRESQL)
    if browsers.CHROMIUM is None:
        terminalreporter.section("NOT everything was tested", red=True, bold=True)
        terminalreporter.line(DEV.NO_CHROMIUM)
    if not hasattr(os, "fork"):
        terminalreporter.section("NOT everything was tested", red=True, bold=True)
        terminalreporter.line(
            "writers were killed only 20 times: this system cannot fork, and starting each is slow"
        )
