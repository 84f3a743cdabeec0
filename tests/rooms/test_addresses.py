"""Short addresses: the same for ever, told apart, and a misread one found out."""

import hashlib
import itertools
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.buildfile.editing import set_value
from loopwright.errors import RequestError
from loopwright.studies import addresses as room
from loopwright.studies.addresses import ALPHABET, addresses, check_character, code_of, is_code
from loopwright.studies.checking import load_text

TEXT = (files("loopwright.buildfile") / "examples" / "clock-plate.yaml").read_text("utf-8")
NAMES = st.text(min_size=1, max_size=40)
CODES = st.text(ALPHABET, min_size=6, max_size=6).map(lambda body: body + check_character(body))


def test_a_code_is_made_of_the_hash_of_kind_and_name() -> None:
    """Worked out here by another way: six places of the SHA-256 in base 23, and the weighted sum of them (printed on
    labels, so it may never change).
    """
    number = int(hashlib.sha256(b"part\ncolumn").hexdigest(), 16)
    places = [number // 23**k % 23 for k in range(6)]
    check = sum((k + 1) * place for k, place in enumerate(places)) % 23
    assert code_of("part", "column") == "".join(ALPHABET[k] for k in [*places, check])


def test_the_check_is_the_weighted_sum_of_isbn_10_in_base_23() -> None:
    """ISO 2108:1992: with weights that all differ modulo a prime, the sum of a right code and its check is nothing."""
    body = code_of("gauge", "micrometer")[:-1]
    total = sum(k * ALPHABET.index(one) for k, one in enumerate(body, 1))
    assert (total - ALPHABET.index(check_character(body))) % 23 == 0


@given(CODES, st.integers(0, 6), st.sampled_from(ALPHABET))
def test_any_one_misread_character_is_found_out(code: str, place: int, other: str) -> None:
    """Whatever is put in the place of one character, the check fails."""
    misread = code[:place] + other + code[place + 1 :]
    assert is_code(misread) == (misread == code)


@given(CODES, st.integers(0, 5))
def test_two_exchanged_neighbours_are_found_out(code: str, place: int) -> None:
    """As they happen when a code is typed."""
    exchanged = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert is_code(exchanged) == (exchanged == code)


@given(NAMES)
def test_however_a_code_is_written_it_is_the_same(name: str) -> None:
    """Small letters, spaces, hyphens, and S for the 5 that it can only have been."""
    code = code_of("part", name)
    assert is_code(f" {code[:3].lower()}-{code[3:].lower()} ".replace("5", "s"))


def test_no_two_characters_look_alike() -> None:
    """Of each pair that is taken for the other on a dirty label, at most one is used."""
    alike = ("0O", "0Q", "0D", "1I", "1L", "IL", "2Z", "5S", "6G", "8B", "UV", "VY", "MN", "OQ")
    assert not [pair for pair in alike if set(pair) <= set(ALPHABET)]
    assert len(set(ALPHABET)) == 23


def test_everything_of_an_example_has_an_address_of_its_own() -> None:
    """Parts, tests, steps and gauges, each found again by its code."""
    found = addresses(load_text(TEXT).build)
    build = load_text(TEXT).build
    assert len(found.things) == len(build.parts) + len(build.tests) + len(build.fit_up) + len(build.gauges)
    assert all(found.find(thing.code) == (thing,) for thing in found.things)
    assert [t.number for t in found.things if t.kind == "step"] == list(range(1, len(build.fit_up) + 1))


def test_a_code_stays_when_the_description_changes() -> None:
    """A part made larger, a step put before others: what is printed still opens the same thing."""
    before = addresses(load_text(TEXT).build)
    changed = set_value(TEXT, "column/Z_shoulder", "50.01 ±0.02")
    step = "fit_up:\n  - {step: clean everything}\n"
    after = addresses(load_text(changed.replace("fit_up:\n", step, 1)).build)
    assert {(t.kind, t.name, t.code) for t in before.things} <= {
        (t.kind, t.name, t.code) for t in after.things
    }
    tram = after.of("step", "tram the spindle")
    assert tram is not None
    assert tram.number == 9


def test_where_two_would_have_the_same_code_both_get_a_longer_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """And a label that is older than the second of them still opens both, to be chosen from."""
    monkeypatch.setattr(room, "LETTERS", 1)
    build = load_text(TEXT).build

    def short(kind: str, name: str, letters: int = 1) -> str:
        return code_of(kind, name, letters)

    monkeypatch.setattr(room, "code_of", short)
    found = addresses(build)
    one, other = next(
        (a, b)
        for a, b in itertools.combinations(found.things, 2)
        if short(a.kind, a.name) == short(b.kind, b.name)
    )
    assert len(one.code) == len(other.code) == 9
    assert one.code != other.code
    assert found.find(one.code) == (one,)
    assert {one, other} <= set(found.find(short(one.kind, one.name)))


def test_a_misread_code_leads_to_what_is_nearly_the_same() -> None:
    """One character wrong, and two exchanged; something else altogether leads nowhere."""
    found = addresses(load_text(TEXT).build)
    code = found.things[3].code
    wrong = code[:2] + next(c for c in ALPHABET if c != code[2]) + code[3:]
    exchanged = code[1] + code[0] + code[2:]
    assert found.near(wrong)[0] == found.near(exchanged)[0] == found.things[3]
    with pytest.raises(RequestError, match="none has that code"):
        found.asked("no such thing")


def test_a_name_is_asked_for_by_its_beginning_or_by_its_code() -> None:
    """As one types it at the bench."""
    found = addresses(load_text(TEXT).build)
    assert {t.name for t in found.asked("TRAM")} == {"tram the spindle", "tram bar"}
    assert found.asked(found.things[0].code.lower()) == (found.things[0],)
