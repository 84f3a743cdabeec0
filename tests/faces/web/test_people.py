"""Who may come in: passphrases, sessions, invitations, wrong tries."""

import sqlite3
import time
from pathlib import Path

import pytest

from loopwright.errors import RequestError
from loopwright.web.people import SESSION_SECONDS, TRIES, People, TooManyTries

PHRASE = "brass plate forty two"


@pytest.fixture
def people(tmp_path: Path) -> People:
    """A shop with one who may edit."""
    found = People(tmp_path / "drill.people")
    found.add("Mai", PHRASE, "edit")
    return found


def test_a_name_and_its_passphrase_begin_a_session(people: People) -> None:
    """The session says who it is and what they may do; letters of the name may be small or capital."""
    token = people.sign_in("mai", PHRASE, address="10.0.0.5")
    found = people.of_session(token)
    assert found is not None
    assert (found.name, found.role) == ("Mai", "edit")
    assert people.of_session(token + "x") is None


def test_neither_passphrase_nor_token_can_be_read_from_the_file(people: People) -> None:
    """Only hashes are kept: Argon2id of the passphrase, as RFC 9106 names it."""
    token, code = people.sign_in("Mai", PHRASE, address="a"), people.invite("read")
    stored = people.file.read_bytes()
    assert b"$argon2id$" in stored
    assert not any(secret.encode() in stored for secret in (PHRASE, token, code))
    assert people.file.stat().st_mode & 0o077 == 0


def test_after_five_wrong_tries_even_the_right_passphrase_must_wait(people: People) -> None:
    """It says how long; another name from another machine need not wait."""
    people.add("Ola", PHRASE, "record")
    for _ in range(TRIES):
        with pytest.raises(RequestError, match="do not belong together"):
            people.sign_in("Mai", "wrong wrong wrong", address="10.0.0.5")
    with pytest.raises(TooManyTries, match="wait 5 min"):
        people.sign_in("Mai", PHRASE, address="10.0.0.6")
    assert people.sign_in("Ola", PHRASE, address="10.0.0.6")


def test_trying_many_names_from_one_machine_is_stopped_too(people: People) -> None:
    """Who does not know a name cannot go through all of them."""
    for n in range(4 * TRIES):
        with pytest.raises(RequestError):
            people.sign_in(f"name {n}", "wrong wrong wrong", address="10.0.0.9")
    with pytest.raises(TooManyTries):
        people.sign_in("Mai", PHRASE, address="10.0.0.9")


def test_an_unknown_name_takes_as_long_as_a_wrong_passphrase(people: People) -> None:
    """So nobody learns by the clock which names there are."""

    def seconds(name: str) -> float:
        begun = time.perf_counter()
        with pytest.raises(RequestError):
            people.sign_in(name, "wrong wrong wrong", address="a")
        return time.perf_counter() - begun

    seconds("nobody")  # makes the stand-in
    known, unknown = min(seconds("Mai") for _ in range(2)), min(seconds("nobody else") for _ in range(2))
    assert 0.3 < known / unknown < 3


def test_an_invitation_lets_one_person_in_once(people: People) -> None:
    """It gives the role it was made for; dashes and small letters do not matter."""
    code = people.invite("record")
    token = people.join(f"{code[:4]}-{code[4:]}".lower(), "Ola", PHRASE, address="a")
    assert [(p.name, p.role) for p in people.everybody()] == [("Mai", "edit"), ("Ola", "record")]
    assert people.of_session(token) is not None
    with pytest.raises(RequestError, match="not known, was used, or is too old"):
        people.join(code, "Per", PHRASE, address="a")


def test_an_invitation_is_not_used_up_by_a_passphrase_that_is_too_short(people: People) -> None:
    """What was wrong can be put right."""
    code = people.invite("read")
    with pytest.raises(RequestError, match="has 5 letters"):
        people.join(code, "Ola", "short", address="a")
    assert people.join(code, "Ola", PHRASE, address="a")


def test_an_invitation_and_a_session_end_by_themselves(
    people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An invitation after a quarter of an hour, a session after two weeks without use."""
    code, token = people.invite("read"), people.sign_in("Mai", PHRASE, address="a")
    later = time.time() + SESSION_SECONDS + 1
    monkeypatch.setattr(time, "time", lambda: later)
    assert people.of_session(token) is None
    with pytest.raises(RequestError, match="too old"):
        people.join(code, "Ola", PHRASE, address="a")


def test_a_new_passphrase_ends_every_session(people: People) -> None:
    """Whoever had the old one is out."""
    token = people.sign_in("Mai", PHRASE, address="a")
    people.change("Mai", passphrase="another one entirely")
    assert people.of_session(token) is None
    with pytest.raises(RequestError):
        people.sign_in("Mai", PHRASE, address="a")


def test_the_last_one_who_may_edit_stays(people: People) -> None:
    """Otherwise nobody could let anybody in again."""
    for lose in (lambda: people.remove("Mai"), lambda: people.change("Mai", role="read")):
        with pytest.raises(RequestError, match="last one who may edit"):
            lose()
    people.add("Ola", PHRASE, "edit")
    people.remove("Mai")
    assert [person.name for person in people.everybody()] == ["Ola"]


@pytest.mark.parametrize(
    ("name", "phrase", "role", "what"),
    [
        ("", PHRASE, "read", "no name"),
        ("x" * 61, PHRASE, "read", "too long"),
        ("a\x00b", PHRASE, "read", "cannot be shown"),
        ("MAI", PHRASE, "read", "may come in already"),
        ("Ola", "short", "read", "5 letters"),
        ("Ola", "x" * 201, "read", "too long"),
        ("Ola", PHRASE, "owner", "no role 'owner'"),
    ],
)
def test_what_cannot_be_is_refused_with_a_remedy(
    people: People, name: str, phrase: str, role: str, what: str
) -> None:
    """Each says what is wrong."""
    with pytest.raises(RequestError, match=what):
        people.add(name, phrase, role)


def test_a_file_that_is_something_else_is_told(tmp_path: Path) -> None:
    """No traceback."""
    (tmp_path / "drill.people").write_text("not a table\n" * 100)
    with pytest.raises(RequestError, match=r"cannot be kept in drill\.people"):
        People(tmp_path / "drill.people")


def test_whose_role_was_taken_away_is_out_at_once(people: People) -> None:
    """What was looked up a moment ago does not outlive the change."""
    people.add("Ola", PHRASE, "edit")
    token = people.sign_in("Ola", PHRASE, address="a")
    assert people.of_session(token).role == "edit"  # type: ignore[union-attr]
    people.change("Ola", role="read")
    assert people.of_session(token).role == "read"  # type: ignore[union-attr]
    people.remove("Ola")
    assert people.of_session(token) is None
    with sqlite3.connect(people.file) as tables:
        assert tables.execute("select count(*) from session where name = 'Ola'").fetchone() == (0,)
    tables.close()
