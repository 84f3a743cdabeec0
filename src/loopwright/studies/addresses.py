"""Short stable addresses of parts, tests, steps and gauges, for labels and printed codes."""

import hashlib
import re
import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from loopwright.errors import RequestError
from loopwright.model.build import Build
from loopwright.studies.bench import Bench

ALPHABET = "23456789ACDEFHJKMPRTWXY"
"""Figures and capitals of which no two look alike on a dirty label: 23 of them, a prime, as the check needs."""
LETTERS, MORE_LETTERS = 6, 8
"""Characters before the check character; the more where two things would have the same few."""
KINDS = ("part", "test", "step", "gauge")


@dataclass(frozen=True)
class Thing:
    """Something that a label can be stuck on.

    Attributes:
        kind: 'part', 'test', 'step' or 'gauge'.
        name: of it, as the build file has it.
        code: its short address.
        number: of a step, counted from 1; None for anything else.
    """

    kind: str
    name: str
    code: str
    number: int | None = None


@dataclass(frozen=True)
class Addresses:
    """Short addresses of everything in a build.

    Attributes:
        things: parts, tests, steps and gauges, each in the order of the build file.
    """

    things: tuple[Thing, ...]

    @cached_property
    def _by_code(self) -> dict[str, tuple[Thing, ...]]:
        found: dict[str, tuple[Thing, ...]] = {}
        for thing in self.things:
            for code in dict.fromkeys((thing.code, code_of(thing.kind, thing.name))):
                found[code] = (*found.get(code, ()), thing)
        return found

    def of(self, kind: str, name: str) -> Thing | None:
        """The thing of a kind and a name, or None."""
        return next((thing for thing in self.things if (thing.kind, thing.name) == (kind, name)), None)

    def named(self, name: str) -> tuple[Thing, ...]:
        """Everything of a name; else, without regard to capitals, what begins with it."""
        exact = tuple(thing for thing in self.things if thing.name == name)
        start = name.strip().casefold()
        return exact or tuple(t for t in self.things if start and t.name.casefold().startswith(start))

    def asked(self, text: str) -> tuple[Thing, ...]:
        """What a person means who types a name, the beginning of one, or a code.

        Raises:
            RequestError: nothing is called so, and no thing has that code.
        """
        found = self.named(text) or self.find(text)
        if not found:
            near = ", ".join(f"{thing.code} ({thing.name})" for thing in self.near(text))
            raise RequestError(
                f"no part, test, step or gauge is called '{text}', and none has that code",
                f"nearly the same: {near}" if near else "see them all: loopwright address",
            )
        return found

    def find(self, code: str) -> tuple[Thing, ...]:
        """What a code stands for: one thing; several where a label is older than the second of them; none."""
        return self._by_code.get(normal(code), ())

    def near(self, code: str, most: int = 5) -> tuple[Thing, ...]:
        """Things whose code is nearly that: up to two characters misread, or two neighbours exchanged."""
        asked = normal(code)
        off = [(_off(asked, thing.code), thing) for thing in self.things]
        return tuple(thing for miss, thing in sorted(off, key=lambda one: one[0]) if miss <= 2)[:most]


def addresses(build: Build) -> Addresses:
    """The short address of every part, test, step and gauge of a build.

    A code is made of the kind and the name alone, so it is the same in every revision and every state that has the
    thing. Where two things would have the same, both get a longer one, and the short one still leads to both.

    Args:
        build: any.

    >>> from loopwright.studies import example_loop
    >>> found = addresses(example_loop("clock-plate").build)
    >>> found.find(found.of("part", "column").code)[0].name
    'column'
    """
    everything = list(_everything(build))
    shared = Counter(code_of(kind, name) for kind, name, _ in everything)
    return Addresses(
        tuple(
            Thing(
                kind,
                name,
                code_of(kind, name, MORE_LETTERS if shared[code_of(kind, name)] > 1 else LETTERS),
                number,
            )
            for kind, name, number in everything
        )
    )


def addresses_of(bench: Bench) -> Addresses:
    """The same for the build on a bench, worked out once for each description."""
    if "addresses" not in bench.kept:
        bench.kept["addresses"] = addresses(bench.build)
    found: Addresses = bench.kept["addresses"]
    return found


def addresses_as_data(build: str, things: Sequence[Thing]) -> dict[str, object]:
    """Addresses as plain data, format loopwright-address/1.

    Args:
        build: name of the machine.
        things: whose addresses are told.
    """
    return {
        "format": "loopwright-address/1",
        "build": build,
        "things": [
            {"code": one.code, "kind": one.kind, "name": one.name, "step": one.number} for one in things
        ],
    }


def _everything(build: Build) -> Iterator[tuple[str, str, int | None]]:
    yield from (("part", name, None) for name in build.parts)
    yield from (("test", name, None) for name in build.tests)
    steps = {step.step: number for number, step in reversed(list(enumerate(build.fit_up, 1)))}
    yield from (("step", name, number) for name, number in sorted(steps.items(), key=lambda one: one[1]))
    yield from (("gauge", name, None) for name in build.gauges)


def code_of(kind: str, name: str, letters: int = LETTERS) -> str:
    """The code of one thing: characters from the SHA-256 of its kind and name, and one that checks them.

    Args:
        kind: one of ``KINDS``.
        name: as in the build file; how its accents are composed makes no difference.
        letters: characters before the check character.

    >>> code_of("part", "column") == code_of("part", "column") != code_of("test", "column")
    True
    >>> len(code_of("part", "column"))
    7
    """
    told = f"{kind}\n{unicodedata.normalize('NFC', name)}".encode()
    rest, out = int.from_bytes(hashlib.sha256(told).digest(), "big"), ""
    for _ in range(letters):
        rest, place = divmod(rest, len(ALPHABET))
        out += ALPHABET[place]
    return out + check_character(out)


def check_character(body: str) -> str:
    """The character that makes a misread one, or two exchanged neighbours, show: the weighted sum modulo 23.

    Weights 1, 2, 3 … modulo a prime: any single wrong character and any two exchanged neighbours change the sum, as in
    the check digit of ISBN-10 (ISO 2108:1992, modulus 11).

    Args:
        body: characters of the alphabet, fewer than 23.
    """
    total = sum(weight * ALPHABET.index(one) for weight, one in enumerate(body, 1))
    return ALPHABET[total % len(ALPHABET)]


def is_code(text: str) -> bool:
    """Whether a text, once written plainly, is a code with the right check character.

    >>> is_code(code_of("gauge", "micrometer")), is_code("2222223")
    (True, False)
    """
    plain = normal(text)
    known = len(plain) in (LETTERS + 1, MORE_LETTERS + 1) and set(plain) <= set(ALPHABET)
    return known and check_character(plain[:-1]) == plain[-1]


def normal(text: str) -> str:
    """A code as it was made: capitals, without spaces and hyphens, and S read as the 5 that it can only have been.

    >>> normal("a2-s 4")
    'A254'
    """
    return re.sub(r"[\s\-_.]", "", text).upper().replace("S", "5")[:40]


def _off(one: str, other: str) -> int:
    """How many characters differ; two exchanged neighbours count as one, and another length as very many."""
    if len(one) != len(other):
        return abs(len(one) - len(other)) if one and (other.startswith(one) or one.startswith(other)) else 99
    places = [k for k, (a, b) in enumerate(zip(one, other)) if a != b]
    exchanged = len(places) == 2 and places[1] == places[0] + 1 and one[places[0]] == other[places[1]]
    return 1 if exchanged and one[places[1]] == other[places[0]] else len(places)
