"""The description as forms: one entry of it at a time, its fields as they were typed, with what is wrong at each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from loopwright.buildfile.editing import parsed
from loopwright.buildfile.fields import Field, Look, entry_of, fields_of, meaning_of, sections
from loopwright.buildfile.naming import used_in
from loopwright.buildfile.splicing import aliases_of
from loopwright.buildfile.yaml_layout import flow
from loopwright.buildfile.yaml_text import Document, plain_data
from loopwright.buildfile.yaml_tree import Kind, Node
from loopwright.errors import BuildError, Problem, RequestError
from loopwright.handbook.materials import MATERIALS
from loopwright.studies.checking import check_document
from loopwright.studies.reports import Check

Keys = tuple[str, ...]

SUMMARY = 110
"""Letters of an entry that are shown beside its name."""
MOST_USES = 12


@dataclass(frozen=True)
class Line:
    """An entry that has a form of its own: path, name, the beginning of what it holds, mistakes in it."""

    path: str
    name: str
    summary: str
    problems: int


@dataclass(frozen=True)
class Slot:
    """One field of a form, as it stands in the text.

    Attributes:
        path: of the field.
        field: what the format says of it.
        label: what it is called.
        given: it stands in the text.
        look: how it is shown: as the format says, or as it was written where that is otherwise.
        typed: what stands there, for a single value.
        slots: fields of a record, entries of a list, or named entries that are single values.
        lines: named entries that have forms of their own.
        problems: what is wrong with it.
        repeated: in how many other places the text repeats it by '*name'; -1 where it is such a repetition itself.
    """

    path: str
    field: Field
    label: str
    given: bool
    look: Look
    typed: str = ""
    slots: tuple["Slot", ...] = ()
    lines: tuple[Line, ...] = ()
    problems: tuple[Problem, ...] = ()
    repeated: int = 0


@dataclass(frozen=True)
class Form:
    """One entry of the description, or one of its sections.

    Attributes:
        path: of it; '' for what stands at the head of the file.
        name: of it.
        meaning: what an entry like this is.
        crumbs: path and name of everything above it, the outermost first.
        slots: its fields.
        used_in: entries elsewhere that name it, each with its path and name, at most a dozen.
        uses: how many there are.
        named: it has a name that can be changed.
        removable: it can go.
        problems: what is wrong with it as a whole.
        line: where it begins in the text, counted from 1; None where it is not there.
    """

    path: str
    name: str
    meaning: str
    crumbs: tuple[tuple[str, str], ...]
    slots: tuple[Slot, ...]
    used_in: tuple[tuple[str, str], ...]
    uses: int
    named: bool
    removable: bool
    problems: tuple[Problem, ...]
    line: int | None


@dataclass(frozen=True)
class Section:
    """A section of the description: its path and name, what it is, its entries, mistakes in it."""

    path: str
    note: str
    lines: tuple[Line, ...]
    problems: int


@lru_cache(maxsize=4)
def checked(text: str) -> Check:
    """What is wrong with a text, kept for the next question about it."""
    try:
        return check_document(parsed(text))
    except BuildError as error:
        return Check(None, None, error.problems, (), {})


def document_of(text: str) -> Document | None:
    """The parsed text; None where it cannot be parsed at all."""
    try:
        return parsed(text)
    except BuildError:
        return None


def outline(text: str) -> tuple[Section, ...]:
    r"""The sections of a description with the names of their entries.

    Args:
        text: a build file.

    >>> [s.path for s in outline("format: loopwright-build/1\nname: a\nbodies: {b: {}}") if s.lines]
    ['bodies']
    """
    document = document_of(text)
    data = {} if document is None else document.data
    problems = checked(text).problems
    notes = {field.name: field.note for field in fields_of(())}
    counts = _counted(problems)
    return tuple(
        Section(name, notes[name], _lines(data.get(name), (name,), counts), counts.get(name, 0))
        for name in sections()
    )


def _counted(problems: Sequence[Problem]) -> dict[str, int]:
    """How many mistakes there are at and below each path."""
    out: dict[str, int] = {}
    for problem in problems:
        keys = problem.field.split("/")
        for depth in range(len(keys)):
            path = "/".join(keys[: depth + 1])
            out[path] = out.get(path, 0) + 1
    return out


def _lines(held: Any, keys: Keys, counts: Mapping[str, int]) -> tuple[Line, ...]:
    if isinstance(held, dict):
        entries = [(str(name), str(name), value) for name, value in held.items()]
    elif isinstance(held, list):
        entries = [(str(n), _step_name(n, value), value) for n, value in enumerate(held)]
    else:
        return ()
    paths = ["/".join((*keys, key)) for key, _, _ in entries]
    return tuple(
        Line(path, name, _summary(value), counts.get(path, 0))
        for path, (_, name, value) in zip(paths, entries)
    )


def _step_name(number: int, value: Any) -> str:
    said = value.get("step") if isinstance(value, dict) else value
    return f"{number + 1}. {said}" if isinstance(said, str) else str(number + 1)


def _summary(value: Any) -> str:
    text = value if isinstance(value, str) else "" if value is None else flow(value)
    text = text[1:-1] if text[:1] in ("{", "[") else text
    return text if len(text) <= SUMMARY else text[: SUMMARY - 1] + "…"


def form_at(text: str, path: str) -> Form:
    r"""The form of one entry of a description.

    Args:
        text: a build file.
        path: of the entry, as in 'parts/column' or 'joints/X slide/contacts/nut side'; '' is the head of the file.

    Raises:
        RequestError: there is no such entry, or the text cannot be parsed.

    >>> form = form_at("format: loopwright-build/1\nname: a\nbodies: {b: {mass: 80 kg}}", "bodies/b")
    >>> [(slot.label, slot.typed) for slot in form.slots if slot.given]
    [('mass', '80 kg')]
    """
    document = document_of(text)
    if document is None:
        raise RequestError("the text cannot be read, so it has no forms", "mend it as text first")
    keys: Keys = tuple(key for key in path.split("/") if key)
    found = _node_at(document.root, keys)
    if found is None and not (len(keys) == 1 and keys[0] in sections()):
        raise RequestError(
            f"there is no '{path[:80]}' in the description", "choose another entry from the list"
        )
    form = _Form(text, document, checked(text).problems)
    places = used_in(document.data, list(keys)) if len(keys) > 1 else []
    uses = list(dict.fromkeys(entry_path("/".join(place)) for place in places))
    above = _node_at(document.root, keys[:-1]) if keys else None
    named = len(keys) > 1 and above is not None and above.kind is Kind.MAPPING and not _is_field(keys)
    return Form(
        path,
        form.name_of(keys),
        meaning_of(keys),
        tuple(("/".join(keys[:depth]), form.name_of(keys[:depth])) for depth in range(1, len(keys))),
        form.slots(keys, found),
        tuple((use, form.name_of(tuple(use.split("/")))) for use in uses[:MOST_USES]),
        len(uses),
        named,
        bool(keys) and found is not None,
        tuple(p for p in form.problems if p.field == path),
        document.line(keys) if found is not None else None,
    )


def entry_path(path: str) -> str:
    """Path of the entry that has a form of its own, on which a place of the description stands.

    >>> entry_path("joints/X slide/contacts/nut side/stiffness"), entry_path("parts/pad/dims/height")
    ('joints/X slide/contacts/nut side', 'parts/pad')
    """
    keys = path.split("/")
    if keys[0] not in sections():
        return ""
    if keys[0] == "joints" and len(keys) > 4:
        if keys[2] in ("contacts", "drives"):
            return "/".join(keys[:4])
        if keys[2] == "guide" and keys[3] in ("rails", "blocks"):
            return "/".join(keys[:5])
    return "/".join(keys[:2])


def _is_field(keys: Keys) -> bool:
    return any(field.name == keys[-1] for field in fields_of(keys[:-1]))


def _node_at(root: Node, keys: Sequence[str]) -> Node | None:
    node = root
    for key in keys:
        entry = node.entry(key)
        if entry is None and key == "over":
            entry = node.entry("sweep")
        if entry is None:
            return None
        node = entry[1]
    return node


class _Form:
    """Puts the fields of one form together."""

    def __init__(self, text: str, document: Document, problems: Sequence[Problem]) -> None:
        self.text, self.document, self.problems = text, document, problems
        self.counts = _counted(problems)

    def name_of(self, keys: Keys) -> str:
        """What people call an entry: its name, and for one of a list its number."""
        if not keys:
            return ""
        node = _node_at(self.document.root, keys)
        if keys[-1].isdecimal() and node is not None:
            return _step_name(int(keys[-1]), plain_data(self.text, node))
        return keys[-1]

    def slots(self, keys: Keys, node: Node | None) -> tuple[Slot, ...]:
        """The fields of a record, or the whole of a section."""
        known = fields_of(keys)
        if keys and (not known or (node is not None and node.kind is not Kind.MAPPING)):
            whole = entry_of(keys[:-1]) or Field(keys[-1], "", "", Look.TEXT)
            own = next((f for f in fields_of(keys[:-1]) if f.name == keys[-1]), None)
            return (self.slot(keys, own or replace(whole, name=keys[-1])),)
        listed = [field for field in known if keys or field.name not in sections()]
        listed.sort(key=lambda field: not field.required)
        return tuple(self.slot((*keys, field.name), field) for field in listed)

    def slot(self, keys: Keys, field: Field, label: str = "") -> Slot:
        """One field."""
        node = _node_at(self.document.root, keys)
        keys = self.written(keys, node)
        path = "/".join(keys)
        problems = tuple(p for p in self.problems if self._is_at(p, keys, field, node))
        made = Slot(
            path, field, label or field.name or keys[-1], node is not None, field.look, problems=problems
        )
        if node is None:
            return made
        made = replace(made, repeated=self._repeated(node))
        if node.kind is Kind.SCALAR:
            # a field that may be a record or a single value shows what it is
            look = Look.CHOICE if field.choices and field.look is Look.RECORD else field.look
            look = Look.TEXT if look in (Look.LIST, Look.RECORD, Look.ENTRIES) else look
            return replace(made, look=look, typed=node.text)
        if node.kind is Kind.LIST:
            return self._listed(made, keys, node)
        if field.look is Look.ENTRIES or (field.look is Look.RECORD and not fields_of(keys)):
            return self._entries(made, keys, node)
        if field.look is Look.RECORD:
            return replace(made, look=Look.RECORD, slots=self.slots(keys, node))
        return replace(made, look=Look.TEXT, typed=flow(plain_data(self.text, node)))

    def written(self, keys: Keys, node: Node | None) -> Keys:
        """The keys as the file has them, where the format has two words for one field."""
        above = _node_at(self.document.root, keys[:-1])
        if keys[-1] == "over" and above is not None and above.entry("over") is None and above.entry("sweep"):
            return (*keys[:-1], "sweep")
        return keys

    def _is_at(self, problem: Problem, keys: Keys, field: Field, node: Node | None) -> bool:
        path = "/".join(keys)
        if problem.field == path:
            return True
        single = node is None or node.kind is Kind.SCALAR or field.look is Look.TEXT
        return single and problem.field.startswith(path + "/")

    def _repeated(self, node: Node) -> int:
        if node.alias:
            return -1
        return len(aliases_of(self.document.root, node)) if node.anchor is not None else 0

    def _listed(self, made: Slot, keys: Keys, node: Node) -> Slot:
        inside = entry_of(keys)
        if inside is None or (made.field.look not in (Look.LIST, Look.TEXT) and inside.look is not Look.TEXT):
            return replace(made, look=Look.TEXT, typed=flow(plain_data(self.text, node)))
        if inside.look is Look.RECORD:
            held = plain_data(self.text, node)
            return replace(made, look=Look.ENTRIES, lines=_lines(held, keys, self.counts))
        labels = made.field.labels
        slots = [
            self._item((*keys, str(n)), inside, labels[n] if n < len(labels) else str(n + 1))
            for n in range(len(node.items))
        ]
        return replace(made, look=Look.LIST, slots=tuple(slots))

    def _item(self, keys: Keys, inside: Field, label: str) -> Slot:
        made = self.slot(keys, inside, label)
        if made.look in (Look.LIST, Look.RECORD, Look.ENTRIES):
            node = _node_at(self.document.root, keys)
            assert node is not None
            return replace(made, look=Look.TEXT, typed=flow(plain_data(self.text, node)), slots=(), lines=())
        return made

    def _entries(self, made: Slot, keys: Keys, node: Node) -> Slot:
        inside = entry_of(keys)
        if inside is None:
            return replace(made, look=Look.TEXT, typed=flow(plain_data(self.text, node)))
        if inside.look is Look.RECORD:
            held = plain_data(self.text, node)
            return replace(made, look=Look.ENTRIES, lines=_lines(held, keys, self.counts))
        names = [name.text for name, _ in node.pairs()]
        slots = [self._item((*keys, name), inside, name) for name in names]
        return replace(made, look=Look.ENTRIES, slots=tuple(slots))


# what can be named


def names_for(text: str, what: str, path: str) -> tuple[str, ...]:
    """Names that a field may hold: of bodies, parts, dims and the like.

    Args:
        text: a build file.
        what: as ``Field.names`` has it.
        path: of the field.
    """
    document = document_of(text)
    data: dict[str, Any] = {} if document is None else document.data
    return tuple(_names(data, what, path.split("/")))


def _names(data: dict[str, Any], what: str, keys: Sequence[str]) -> list[str]:
    dims = [f"{part}/{dim}" for part, held in _entries(data, "parts") for dim in _inside(held, "dims")]
    tests, closures = list(_section(data, "tests")), list(_section(data, "closures"))
    match what:
        case "":
            return []
        case "signed dims":
            return [f"{sign}{dim}" for dim in dims for sign in ("+", "-")]
        case "dims":
            return dims
        case "materials":
            return [*_section(data, "materials"), *MATERIALS]
        case "seats":
            return [*_section(data, "bodies"), *_section(data, "parts")]
        case "readable":
            return [*tests, *closures, *dims]
        case "adjusters":
            return _adjusters(data)
        case "rails":
            guide = _inside(_section(data, "joints").get(keys[1]), "guide") if len(keys) > 1 else {}
            return list(_inside(guide, "rails"))
        case "contacts":
            joint = _inside(data, "closures").get(keys[1], {}) if len(keys) > 1 else {}
            named = joint.get("joint") if isinstance(joint, dict) else None
            return list(_inside(_section(data, "joints").get(str(named)), "contacts"))
    return list(_section(data, what))


def _section(data: dict[str, Any], name: str) -> dict[str, Any]:
    found = data.get(name)
    return found if isinstance(found, dict) else {}


def _entries(data: dict[str, Any], name: str) -> list[tuple[str, Any]]:
    return list(_section(data, name).items())


def _inside(held: Any, name: str) -> dict[str, Any]:
    found = held.get(name) if isinstance(held, dict) else None
    return found if isinstance(found, dict) else {}


def _adjusters(data: dict[str, Any]) -> list[str]:
    out = []
    for joint, held in _entries(data, "joints"):
        for contact, stated in _inside(held, "contacts").items():
            if isinstance(stated, dict) and stated.get("adjust"):
                out.append(f"{joint}/{contact}")
        for rail, lines in _inside(_inside(held, "guide"), "rails").items():
            set_ = [line for line in ("height", "side") if _inside(lines, line).get("adjust")]
            out += [f"{joint}/guide/rails/{rail}/{line}" for line in set_]
        if _inside(held, "drive").get("adjust"):
            out.append(f"{joint}/drive")
        for drive, stated in _inside(held, "drives").items():
            if isinstance(stated, dict) and stated.get("adjust"):
                out.append(f"{joint}/drives/{drive}")
    closures = [closure for closure in _section(data, "closures").values() if isinstance(closure, dict)]
    out += [f"{closure.get('joint')}/{closure.get('contact')}" for closure in closures]
    return list(dict.fromkeys(out))
