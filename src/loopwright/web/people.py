"""Who may come in from the shop's network: names, passphrases, roles, sessions and invitations.

Kept in a small SQLite file of its own beside the book, or where the user's settings are for a book in PostgreSQL: who
may come in is not part of what is known about the machine, and an exported book must hold nobody's passphrase.
Only hashes are stored: Argon2id of passphrases (RFC 9106), SHA-256 of session tokens and invitations, which are random
and long.
"""

import hashlib
import secrets
import sqlite3
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from loopwright.errors import RequestError

ROLES = ("read", "record", "edit")
SHORTEST = 10
"""Letters that a passphrase must have: length keeps it from being guessed (NIST SP 800-63B: 8 or more)."""
LONGEST = 200
SESSION_SECONDS = 14 * 24 * 3600
INVITATION_SECONDS = 15 * 60
TRIES, TRIES_SECONDS = 5, 300
"""So many wrong passphrases for a name, or from an address, and it must wait until the oldest is so old."""
_LOOK_ALIKE_FREE = "ABCDEFGHJKMNPQRSTVWXYZ23456789"

_TABLES = """
create table if not exists person (
    name text primary key collate nocase, role text not null, passphrase text not null, made real not null);
create table if not exists session (
    token text primary key, name text not null collate nocase references person on delete cascade,
    begun real not null, used real not null, device text not null);
create table if not exists invitation (token text primary key, role text not null, ends real not null);
create table if not exists wrong (what text not null, at real not null);
create index if not exists wrong_what on wrong (what);
"""


@dataclass(frozen=True)
class Person:
    """Somebody who may come in.

    Attributes:
        name: under which they enter.
        role: 'read', 'record' or 'edit'.
        sessions: at how many browsers they are signed in.
    """

    name: str
    role: str
    sessions: int = 0


class TooManyTries(RequestError):
    """Somebody was wrong too often, and must wait so many seconds."""

    seconds: float = 60.0


def _too_many_tries(seconds: float) -> TooManyTries:
    error = TooManyTries("too many wrong tries", f"wait {max(round(seconds / 60), 1)} min, then try again")
    error.seconds = seconds
    return error


class People:
    """Who may come in from the network. Safe to use from several threads.

    Args:
        file: where it is kept; made where there is none, readable by its owner only.
    """

    def __init__(self, file: str | Path) -> None:
        self.file = Path(file)
        self._lock = threading.RLock()
        # the defaults of the library are the second recommended choice of RFC 9106 (64 MiB, 3 passes)
        self._hasher = PasswordHasher()
        self._sessions: dict[str, tuple[Person, float]] = {}
        fresh = not self.file.exists()
        try:
            with self._open() as tables:
                tables.executescript(_TABLES)
            if fresh:
                self.file.chmod(0o600)
        except (sqlite3.Error, OSError) as error:
            raise RequestError(
                f"who may come in cannot be kept in {self.file.name}: {error}",
                "make sure that its folder can be written in, and that nothing else has the file open",
            ) from None

    @contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        with self._lock:
            connection = sqlite3.connect(self.file, timeout=5)
            try:
                connection.execute("pragma foreign_keys = on")
                with connection:
                    yield connection
            finally:
                connection.close()

    # people

    def everybody(self) -> tuple[Person, ...]:
        """All who may come in, by name."""
        with self._open() as tables:
            found = tables.execute(
                "select name, role, (select count(*) from session s where s.name = p.name and s.used > ?) "
                "from person p order by name",
                (time.time() - SESSION_SECONDS,),
            ).fetchall()
        return tuple(Person(*row) for row in found)

    def add(self, name: str, passphrase: str, role: str) -> Person:
        """Lets somebody come in.

        Raises:
            RequestError: the name is taken or empty, the role is none, or the passphrase is too short or too long.
        """
        name = _proper_name(name)
        _proper_role(role)
        hashed = self._hashed(passphrase)
        try:
            with self._open() as tables:
                tables.execute("insert into person values (?, ?, ?, ?)", (name, role, hashed, time.time()))
        except sqlite3.IntegrityError:
            raise RequestError(f"'{name}' may come in already", "sign in, or take another name") from None
        return Person(name, role)

    def change(self, name: str, *, role: str | None = None, passphrase: str | None = None) -> None:
        """Gives somebody another role or passphrase; with a new passphrase all their sessions end.

        Raises:
            RequestError: nobody has this name; the last one who may edit would be gone; or as for ``add``.
        """
        if role is not None:
            _proper_role(role)
            self._keeps_an_editor(name, role)
            self._update("update person set role = ? where name = ?", role, name)
        if passphrase is not None:
            self._update("update person set passphrase = ? where name = ?", self._hashed(passphrase), name)
            self.sign_out_everywhere(name)
        self._sessions.clear()

    def remove(self, name: str) -> None:
        """Somebody may no longer come in; what they entered stays in the book.

        Raises:
            RequestError: nobody has this name, or it is the last one who may edit.
        """
        self._keeps_an_editor(name, None)
        self._update("delete from person where name = ?", name)
        self._sessions.clear()

    def _update(self, statement: str, *values: str) -> None:
        with self._open() as tables:
            if tables.execute(statement, values).rowcount == 0:
                known = ", ".join(person.name for person in self.everybody()) or "nobody yet"
                raise RequestError(f"nobody here is called '{values[-1]}'", f"there is: {known}")

    def _keeps_an_editor(self, name: str, role: str | None) -> None:
        editors = {person.name.casefold() for person in self.everybody() if person.role == "edit"}
        if role != "edit" and editors == {name.casefold()}:
            raise RequestError(
                f"'{name}' is the last one who may edit", "give somebody else the role 'edit' first"
            )

    def _hashed(self, passphrase: str) -> str:
        if len(passphrase) < SHORTEST:
            raise RequestError(
                f"the passphrase has {len(passphrase)} letters",
                f"take at least {SHORTEST}: a few words that you can remember are best",
            )
        if len(passphrase) > LONGEST:
            raise RequestError("the passphrase is too long", f"take at most {LONGEST} letters")
        return self._hasher.hash(passphrase)

    # signing in

    def sign_in(self, name: str, passphrase: str, *, address: str, device: str = "") -> str:
        """Begins a session.

        Args:
            name: of the person.
            passphrase: as typed.
            address: of the machine that asks, for counting wrong tries.
            device: what it calls itself.

        Returns:
            The token of the session, which is told nowhere else.

        Raises:
            TooManyTries: this name or this address was wrong too often.
            RequestError: the name and the passphrase do not belong together.
        """
        name = name.strip()
        self._may_try(name, address)
        with self._open() as tables:
            row = tables.execute("select name, passphrase from person where name = ?", (name,)).fetchone()
        # an unknown name takes as long as a known one, so that nobody learns which names there are
        right = self._fits(row[1] if row else _nobody(self._hasher), passphrase) and row is not None
        if not right:
            with self._open() as tables:
                now = time.time()
                tables.executemany(
                    "insert into wrong values (?, ?)", [(w, now) for w in _tried(name, address)]
                )
            raise RequestError(
                "this name and this passphrase do not belong together", "check both; capital letters count"
            )
        with self._open() as tables:
            tables.execute("delete from wrong where what = ?", (_tried(name, address)[0],))
        return self._begin(str(row[0]), device)

    def _fits(self, hashed: str, passphrase: str) -> bool:
        try:
            return self._hasher.verify(hashed, passphrase[:LONGEST])
        except (VerificationError, InvalidHashError):
            return False

    def _may_try(self, name: str, address: str) -> None:
        since = time.time() - TRIES_SECONDS
        with self._open() as tables:
            tables.execute("delete from wrong where at < ?", (since,))
            for what in _tried(name, address):
                most = TRIES if what.startswith("name") else 4 * TRIES
                times = tables.execute("select at from wrong where what = ? order by at", (what,)).fetchall()
                if len(times) >= most:
                    raise _too_many_tries(times[-most][0] - since)

    def _begin(self, name: str, device: str) -> str:
        token, now = secrets.token_urlsafe(32), time.time()
        with self._open() as tables:
            tables.execute("delete from session where used < ?", (now - SESSION_SECONDS,))
            tables.execute(
                "insert into session values (?, ?, ?, ?, ?)", (_digest(token), name, now, now, device[:200])
            )
        return token

    def held(self, token: str) -> Person | None:
        """Who began a session, where that was looked up a moment ago; costs nothing."""
        found = self._sessions.get(_digest(token)) if token else None
        return found[0] if found is not None and time.time() - found[1] < 30 else None

    def of_session(self, token: str) -> Person | None:
        """Who began a session; None where it ended or never was."""
        if not token:
            return None
        held = self.held(token)
        if held is not None:
            return held
        digest, now = _digest(token), time.time()
        with self._open() as tables:
            row = tables.execute(
                "select p.name, p.role from session s join person p on p.name = s.name "
                "where s.token = ? and s.used > ?",
                (digest, now - SESSION_SECONDS),
            ).fetchone()
            if row is None:
                self._sessions.pop(digest, None)
                return None
            tables.execute("update session set used = ? where token = ?", (now, digest))
        found = Person(str(row[0]), str(row[1]))
        self._sessions[digest] = (found, now)
        return found

    def sign_out(self, token: str) -> None:
        """Ends a session."""
        self._sessions.pop(_digest(token), None)
        with self._open() as tables:
            tables.execute("delete from session where token = ?", (_digest(token),))

    def sign_out_everywhere(self, name: str) -> None:
        """Ends all sessions of somebody."""
        self._sessions.clear()
        with self._open() as tables:
            tables.execute("delete from session where name = ?", (name,))

    # invitations

    def invite(self, role: str) -> str:
        """A code by which somebody may come in once, soon.

        Raises:
            RequestError: there is no such role.
        """
        _proper_role(role)
        code = "".join(secrets.choice(_LOOK_ALIKE_FREE) for _ in range(12))
        with self._open() as tables:
            tables.execute("delete from invitation where ends < ?", (time.time(),))
            tables.execute(
                "insert into invitation values (?, ?, ?)",
                (_digest(code), role, time.time() + INVITATION_SECONDS),
            )
        return code

    def join(self, code: str, name: str, passphrase: str, *, address: str, device: str = "") -> str:
        """Comes in by an invitation, which is used up by it.

        Returns:
            The token of the session.

        Raises:
            TooManyTries: this address was wrong too often.
            RequestError: the invitation is none, is used or too old; or as for ``add``.
        """
        self._may_try("", address)
        digest, role, ends = self._claimed(code, address)
        try:
            person = self.add(name, passphrase, role)
        except RequestError:
            # the invitation was good; what else was wrong can be put right
            with self._open() as tables:
                tables.execute("insert into invitation values (?, ?, ?)", (digest, role, ends))
            raise
        return self._begin(person.name, device)

    def _claimed(self, code: str, address: str) -> tuple[str, str, float]:
        """Takes an invitation out, so that nobody else can come in by it."""
        digest, now = _digest("".join(code.split()).replace("-", "").upper()), time.time()
        with self._open() as tables:
            row = tables.execute(
                "delete from invitation where token = ? and ends > ? returning role, ends", (digest, now)
            ).fetchone()
            if row is None:
                tables.execute("insert into wrong values (?, ?)", (_tried("", address)[1], now))
        if row is None:
            raise RequestError(
                "this invitation is not known, was used, or is too old", "ask for a new one on the screen"
            )
        return digest, str(row[0]), float(row[1])


def _tried(name: str, address: str) -> tuple[str, str]:
    return f"name {name.casefold()}", f"address {address}"


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


_STAND_IN: list[str] = []


def _nobody(hasher: PasswordHasher) -> str:
    """A hash that nothing fits."""
    if not _STAND_IN:
        _STAND_IN.append(hasher.hash(secrets.token_urlsafe(16)))
    return _STAND_IN[0]


def _proper_name(name: str) -> str:
    name = " ".join(name.split())
    if not name:
        raise RequestError("no name is given", "give the name under which you enter")
    if len(name) > 60 or not name.isprintable():
        raise RequestError(
            "the name is too long, or has signs that cannot be shown", "take at most 60 letters"
        )
    return name


def _proper_role(role: str) -> None:
    if role not in ROLES:
        raise RequestError(f"there is no role '{role}'", f"there are: {', '.join(ROLES)}")
