"""Finding every mistake of a file at once: what cannot be read is put aside, so that the rest can be looked at."""

import copy
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from loopwright.buildfile.schema import fields_at
from loopwright.buildfile.yaml_text import Place
from loopwright.model.build import Build

_ROUNDS = 12

# What may stand for a field that its record cannot do without, so that the rest of the record is looked at too.
_STAND_INS: dict[str, Any] = {
    "at": [0, 0, 0],
    "normal": "+Z",
    "along": "+X",
    "about": "+Z",
    "component": "X",
    "limit": 1,
    "range": [0, 1],
    "shared": "±0",
    "own": "±0",
    "travel": [-1e9, 1e9],
    "errors_at": [0, 0, 0],
}


class Mending:
    """Reads the data of a file over and over, each time without what was found wrong.

    Attributes:
        mistakes: what was wrong, without what follows from it.
        unread: paths of what was put aside.
        build: what is left, good for looking at its names only, as stand-ins are in it; None where too little is.
    """

    def __init__(self, data: dict[str, Any], context: dict[str, Any]) -> None:
        self.mistakes: list[ErrorDetails] = []
        self.build: Build | None = None
        self._removed: set[Place] = set()
        self._data = data
        for number in range(_ROUNDS):
            try:
                self.build = Build.model_validate(self._data, context=context)
                return
            except ValidationError as error:
                self._data = self._data if number else copy.deepcopy(data)
                if not self._put_aside(error.errors(include_url=False)):
                    return

    @property
    def unread(self) -> set[str]:
        """Paths of what was put aside."""
        return {"/".join(map(str, place)) for place in self._removed}

    def _put_aside(self, details: list[ErrorDetails]) -> bool:
        # in a record out of which something was taken, a mistake is our own doing
        ours = {place[:length] for place in self._removed for length in range(len(place) + 1)}
        ours |= _misspelt(details)
        self.mistakes += [error for error in details if error["loc"] not in ours]
        gone = [self._remove(self._place(error["loc"])) for error in details]
        return all(gone)

    def _place(self, loc: Place) -> Place:
        """The smallest thing in the data that can go."""
        if loc[:1] == ("name",):
            return loc[:1]
        if loc[-1:] == ("[key]",):
            loc = loc[:-1]
        if loc[0] == "parts" and loc[2:3] == ("dims",):
            loc = loc[:4]  # half a dim would be one more mistake
        here: Any = self._data
        for depth, key in enumerate(loc):
            if (isinstance(here, dict) and key in here) or (
                isinstance(here, list) and isinstance(key, int) and key < len(here)
            ):
                here = here[key]
            else:
                missing = depth == len(loc) - 1 and isinstance(here, dict) and _stands_in(loc)
                return loc if missing else loc[:depth]
        return loc

    def _remove(self, place: Place) -> bool:
        if place in (("name",), ()):
            self._data["name"] = "unnamed"
            return bool(place)
        if place == ("bodies",):
            return False
        *above, last = place
        holder = self._at(above)
        if isinstance(holder, list):  # without one entry, the places of those after it would be wrong
            return self._remove(tuple(above))
        if not isinstance(holder, dict):
            return True  # it went with something around it
        if _stands_in(place) and place not in self._removed:
            holder[last] = _STAND_INS[str(last)]
        elif last in holder:
            del holder[last]
        elif above:
            return self._remove(tuple(above))
        self._removed.add(place)
        return True

    def _at(self, place: list[Any]) -> Any:
        here: Any = self._data
        for key in place:
            try:
                here = here[key]
            except (KeyError, IndexError, TypeError):
                return None
        return here


def _stands_in(place: Place) -> bool:
    last = str(place[-1])
    if place[0] == "joints" and last in ("along", "about"):
        return False  # another direction would be another axis
    return last in _STAND_INS and last in fields_at(place[:-1])


def _misspelt(details: list[ErrorDetails]) -> set[Place]:
    """Fields that are missing only because their name was written otherwise."""
    unknown: dict[Place, list[str]] = {}
    for error in details:
        if error["type"] == "extra_forbidden":
            unknown.setdefault(error["loc"][:-1], []).append(str(error["loc"][-1])[:100])
    missing = [error["loc"] for error in details if error["type"] == "missing"]
    return {loc for loc in missing if get_close_matches(str(loc[-1]), unknown.get(loc[:-1], ())[:50])}


def readable(data: dict[str, Any], context: dict[str, Any], mistakes: list[ErrorDetails]) -> Build | None:
    """The build without the entries in which something is wrong; None where nothing is left without them.

    Args:
        data: of the file.
        context: for validation.
        mistakes: those that were found in it.
    """
    for _ in range(4):
        places = {_entry(e["loc"], data) for e in mistakes}
        if None in places:
            return None
        data = _without(data, {place for place in places if place})
        try:
            return Build.model_validate(data, context=context)
        except ValidationError as error:
            mistakes = error.errors(include_url=False)
    return None


def _entry(loc: Place, data: dict[str, Any]) -> Place | None:
    if not loc or loc[0] not in data or loc[0] in ("name", "format"):
        return None
    section = data[str(loc[0])]
    if len(loc) > 1 and isinstance(section, dict) and loc[1] in section and loc[0] not in ("units", "heat"):
        return loc[:2]
    return None if loc[0] == "bodies" else loc[:1]


def _without(data: dict[str, Any], places: set[Place]) -> dict[str, Any]:
    out = {}
    for key, section in data.items():
        if (key,) in places:
            continue
        if isinstance(section, dict):
            section = {name: entry for name, entry in section.items() if (key, name) not in places}
        out[key] = section
    return out
