"""A route edited as a list: ops moved, added, changed and taken out of a description, one change at a time."""

import re
from collections.abc import Sequence
from typing import Any

from loopwright.buildfile.editing import insert, parsed, remove, value_at
from loopwright.buildfile.moving import insert_at, move
from loopwright.buildfile.yaml_layout import flow
from loopwright.errors import RequestError
from loopwright.handbook.operations import OPS
from loopwright.making.planned import number_of
from loopwright.model.routes import FACES, ROUND
from loopwright.studies.edit_acts import SHOWN, Edited, set_field

LISTS = ("datum", "inspect")
"""Fields of an op that are lists of names, typed with commas between them."""
_FIRST = re.compile(r"\d{1,4}")


def op_path(part: str, index: int) -> str:
    """Where the description has an op.

    >>> op_path("ring", 2)
    'parts/ring/route/2'
    """
    return f"parts/{part}/route/{index}"


def place_of(typed: str, index: int, count: int) -> int:
    """Place in a route, counted from 0, that a typed op number means.

    Args:
        typed: '30' puts it where op 30 is now, '25' between 20 and 30.
        index: where the op that is moved is now; ``count`` for one that is new.
        count: how many ops there are, that one left out where it is new.

    Raises:
        RequestError: it is no number.

    >>> place_of("30", 4, 6), place_of("25", 4, 6), place_of("25", 0, 6), place_of("999", 0, 6)
    (2, 2, 1, 5)
    """
    if not _FIRST.fullmatch(typed.strip()):
        raise RequestError(
            f"'{typed.strip()[:SHOWN]}' is no op number", "type one such as 30, or 25 for between 20 and 30"
        )
    wanted = int(typed)
    last = max(count - (index < count), 0)
    if wanted and wanted % 10 == 0:
        return min(wanted // 10 - 1, last)
    return min(sum(number_of(n) < wanted for n in range(count) if n != index), last)


def move_op(text: str, path: str, to: str, number: str = "") -> Edited:
    r"""An op at another place of its route.

    Args:
        text: a build file.
        path: of the op: 'parts/ring/route/3'.
        to: its place afterwards, counted from 0; '' where a number is typed.
        number: op number of that place, as typed.

    Raises:
        RequestError: there is no such op or place.

    >>> edited = move_op("parts: {a: {route: [{op: saw}, {op: turn}]}}", "parts/a/route/1", "0")
    >>> edited.text, edited.path
    ('parts: {a: {route: [{op: turn}, {op: saw}]}}', 'parts/a/route/0')
    """
    route, index = _op_at(text, path)
    ops = _ops(text, route)
    wanted = place_of(number, index, len(ops)) if number.strip() else _place(to, len(ops))
    if wanted == index:
        return Edited(text, f"op {number_of(index)} stays where it is", path)
    words = f"{_name(ops[index])}: from op {number_of(index)} to op {number_of(wanted)}"
    return Edited(move(text, path, wanted), words, f"{route}/{wanted}")


def add_op(text: str, path: str, op: str, number: str = "") -> Edited:
    """One more op of a route, begun with the clamping of the op before it.

    Args:
        text: a build file.
        path: of the part's route; it may have none yet.
        op: name of the op in the trade.
        number: where it goes, as typed; '' puts it at the end.

    Raises:
        RequestError: there is no such op, or no such part.

    >>> add_op("parts: {a: {route: [{op: saw}]}}", "parts/a/route", "turn").text
    'parts: {a: {route: [{op: saw}, {op: turn}]}}'
    """
    if op not in OPS:
        raise RequestError(f"'{op[:SHOWN]}' is not an op of the trade", f"use one of {', '.join(OPS)}")
    ops = _ops(text, path)
    to = place_of(number, len(ops), len(ops)) if number.strip() else len(ops)
    out = insert_at(text, path, {"op": op}, min(to, len(ops)))
    return Edited(out, f"op {number_of(min(to, len(ops)))} {op}: added", f"{path}/{min(to, len(ops))}")


def take_out_of_route(text: str, path: str) -> Edited:
    """Without an op, or without one of its cuts; the route goes with its last op.

    Raises:
        RequestError: there is no such thing.
    """
    keys = path.split("/")
    if len(keys) == 4:
        route, index = _op_at(text, path)
        ops = _ops(text, route)
        out = remove(text, path if len(ops) > 1 else route)
        place = max(index - 1, 0)
        return Edited(out, f"op {number_of(index)} {_name(ops[index])}: taken out", f"{route}/{place}")
    whole = keys[4] == "cuts" and len(keys) == 6 and len(value_at(parsed(text).data, keys[:-1]) or ()) == 1
    out = remove(text, "/".join(keys[:-1]) if whole else path)
    return Edited(out, f"{_words(keys)}: taken out", "/".join(keys[:4]))


def add_cut(text: str, path: str, surface: str) -> Edited:
    """One more surface that an op cuts.

    Args:
        text: a build file.
        path: of the op.
        surface: its name.

    Raises:
        RequestError: the part has no such surface, or the op cuts it already.

    >>> add_cut("parts: {a: {surfaces: {top: +Z}, route: [{op: face}]}}", "parts/a/route/0", "top").text
    'parts: {a: {surfaces: {top: +Z}, route: [{op: face, cuts: {top: {}}}]}}'
    """
    surface = surface.strip()
    _op_at(text, path)
    keys = path.split("/")
    known = value_at(parsed(text).data, [*keys[:2], "surfaces"]) or {}
    if surface not in known:
        listed = ", ".join(map(str, known)) or "none yet: say under 'surfaces' where each faces"
        raise RequestError(f"the part has no surface '{surface[:SHOWN]}'", f"there are: {listed}")
    out = insert(text, f"{path}/cuts/{surface}", {})
    return Edited(out, f"op {number_of(int(keys[3]))}, {surface}: added", path)


def add_surface(text: str, path: str, name: str, faces: str) -> Edited:
    """One more surface of a part.

    Args:
        text: a build file.
        path: of the part: 'parts/ring'.
        name: of the surface.
        faces: where it faces: '+Z', 'outside', 'inside'.

    Raises:
        RequestError: it has no name or no side, or there is one of that name.

    >>> add_surface("parts: {a: {material: brass}}", "parts/a", "top", "+Z").text
    'parts: {a: {material: brass, surfaces: {top: +Z}}}'
    """
    name = name.strip()
    if not name or "/" in name:
        raise RequestError("a surface needs a name without '/'", "type one, such as top or bore")
    if faces not in (*FACES, *ROUND):
        raise RequestError(
            f"'{faces[:SHOWN]}' says not where it faces", f"choose one of {', '.join((*FACES, *ROUND))}"
        )
    out = insert(text, f"{path}/surfaces/{name}", faces)
    return Edited(out, f"surface {name}: added", f"{path}/surfaces/{name}")


def set_in_route(text: str, path: str, typed: str) -> Edited:
    """A field of an op or of a cut, as typed; lists of names with commas between them.

    Args:
        text: a build file.
        path: of the field.
        typed: as it was typed; nothing takes the field out.

    Raises:
        RequestError: there is no such field, or it cannot be written that way.

    >>> set_in_route("parts: {a: {route: [{op: turn}]}}", "parts/a/route/0/datum", "left, rim").text
    'parts: {a: {route: [{op: turn, datum: [left, rim]}]}}'
    """
    keys = path.split("/")
    named = (len(keys) == 5 and keys[4] in LISTS) or (keys[2:3] == ["spans"] and "," in typed)
    if named and typed.strip() and typed.strip()[0] not in "[{":
        typed = flow([one.strip() for one in typed.split(",") if one.strip()])
    edited = set_field(text, path, typed)
    if len(keys) < 5 or keys[2] != "route":
        return edited
    said = typed.strip()[:SHOWN] or "left out"
    return Edited(edited.text, f"{_words(keys)}: {said}", path)


def typed_of(value: Any) -> str:
    """A value of the file as it is shown in a field.

    >>> typed_of(["left", "rim"]), typed_of(12), typed_of("60 ±0.02"), typed_of(None)
    ('left, rim', '12', '60 ±0.02', '')
    """
    if value is None:
        return ""
    if isinstance(value, list) and all(isinstance(one, str) and "," not in one for one in value):
        return ", ".join(value)
    return value if isinstance(value, str) else flow(value)


def _words(keys: Sequence[str]) -> str:
    """A field of a route in words: 'op 20, rim size'."""
    rest = [key for key in keys[4:] if key != "cuts"]
    return f"op {number_of(int(keys[3]))}, {' '.join(rest).replace('_', ' ')}"


def _op_at(text: str, path: str) -> tuple[str, int]:
    """Path of the route, and place of the op in it."""
    keys = path.split("/")
    if len(keys) == 4 and keys[0] == "parts" and keys[2] == "route" and keys[3].isdecimal():
        route = "/".join(keys[:3])
        if int(keys[3]) < len(_ops(text, route)):
            return route, int(keys[3])
    raise RequestError("there is no such op any more", "choose one of the list")


def _ops(text: str, route: str) -> list[Any]:
    found = value_at(parsed(text).data, route.split("/"))
    return found if isinstance(found, list) else []


def _place(typed: str, count: int) -> int:
    if not typed.strip().isdecimal() or not 0 <= int(typed) < count:
        raise RequestError(f"the route has no place '{typed[:SHOWN]}'", f"it has {count} ops")
    return int(typed)


def _name(op: Any) -> str:
    name = op.get("op") if isinstance(op, dict) else None
    return name if isinstance(name, str) else "op"
