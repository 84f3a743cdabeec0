"""What a changed description would do to the readings of the book and to every target, before it is saved."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from loopwright.book.differing import difference
from loopwright.buildfile.comparing import Clash, FieldChange, compare, merge
from loopwright.errors import BuildError, RequestError
from loopwright.model.records import Entry, Reading, Revision
from loopwright.studies.as_built import StandingAsBuilt, TargetAsBuilt, standing_as_built
from loopwright.studies.bench import Bench, bench
from loopwright.studies.checking import load_text
from loopwright.studies.edit_form import checked, document_of


@dataclass(frozen=True)
class Described:
    """A description as the book has it.

    Attributes:
        entry: number of its entry.
        revision: its number among the revisions.
        text: of it.
        file: name of the file it came from; '' where it is not known.
        who, at, why: of the entry.
    """

    entry: int
    revision: int
    text: str
    file: str
    who: str
    at: str
    why: str


def described(entry: Entry) -> Described:
    """What an entry that holds a revision says."""
    record = entry.record
    assert isinstance(record, Revision)
    return Described(
        entry.number, entry.of or 1, record.text, record.file or "", entry.who, entry.at, entry.why
    )


def newest(found: Bench) -> Described:
    """The description that counts.

    Raises:
        RequestError: the book has none.
    """
    revisions = found.having(Revision)
    if not revisions:
        raise RequestError("the book has no description of a build", "save one: loopwright book save FILE")
    return described(revisions[-1][0])


@dataclass(frozen=True)
class Difference:
    """Two texts of a description beside one another.

    Attributes:
        changes: field by field; none where one of the two cannot be parsed.
        lines: that went and came, as the book keeps them.
    """

    changes: tuple[FieldChange, ...]
    lines: str


def difference_of(before: str, after: str) -> Difference:
    r"""What changed from one text to the other.

    >>> [c.path for c in difference_of("name: a\nbodies: {b: {}}", "name: c\nbodies: {b: {}}").changes]
    ['name']
    """
    old, new = document_of(before), document_of(after)
    changes = () if old is None or new is None else compare(old.data, new.data)
    return Difference(changes, difference(before, after))


@dataclass(frozen=True)
class Together:
    """Two people's changes of one description put together.

    Attributes:
        text: with both; mine where they clash.
        clashes: where they do.
        problems: how many mistakes the whole has.
    """

    text: str
    clashes: tuple[Clash, ...]
    problems: int


def put_together(base: str, mine: str, theirs: str) -> Together:
    """Mine on top of theirs, line by line.

    Args:
        base: what both began with.
        mine: what one made of it.
        theirs: what the book has now.
    """
    merged = merge(base, mine, theirs)
    return Together(merged.text, merged.clashes, len(checked(merged.text).problems))


@dataclass(frozen=True)
class TargetEffect:
    """One target before and after: None where the description has it on one side only."""

    name: str
    before: TargetAsBuilt | None
    after: TargetAsBuilt | None


@dataclass(frozen=True)
class EditEffect:
    """What a changed description would do.

    Attributes:
        targets: every target of either side.
        chance_of_all: to meet all limits, before and after.
        lost: readings that would no longer count: entry, what was read, why.
        found: readings that would count again.
        notes: what a reader must know of the changed build.
    """

    targets: tuple[TargetEffect, ...]
    chance_of_all: tuple[float, float]
    lost: tuple[tuple[int, str, str], ...]
    found: tuple[int, ...]
    notes: tuple[str, ...]


def with_text(found: Bench, text: str) -> Bench:
    """The build as it would stand with another description, and every entry of the book.

    Raises:
        BuildError: the text has mistakes.
        RequestError: an entry of the book cannot stand with it, as a setting of an adjuster that is gone.
    """
    described_, revision = found.having(Revision)[-1]
    other = described_.model_copy(update={"record": revision.model_copy(update={"text": text})})
    entries = [other if one.number == described_.number else one for one in found.entries]
    try:
        return bench(entries, last=found.last, book=found.book)
    except KeyError as error:
        raise RequestError(
            f"the book says something of {error}, and this description has no such thing",
            "keep it, or give it back its name",
        ) from None


def effect_of_text(
    found: Bench,
    text: str,
    *,
    progress: Callable[[int, int | None], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> EditEffect:
    """What a changed description would do to every target, and to the readings there are.

    Args:
        found: the build as it stands.
        text: the changed description.
        progress: called with what is done and what there is.
        cancel: asked now and then; True stops.

    Raises:
        BuildError, RequestError: as ``with_text``.
        Cancelled: it was stopped.
    """
    if progress is not None:
        progress(0, 3)
    after = with_text(found, text)
    if progress is not None:
        progress(1, 3)
    old = _standing(found, cancel)
    if progress is not None:
        progress(2, 3)
    new = _standing(after, cancel)
    gone_before, gone_after = dict(found.left_out), dict(after.left_out)
    return EditEffect(
        _targets(old, new),
        (old.chance_of_all[1] if old else 1.0, new.chance_of_all[1] if new else 1.0),
        tuple((n, _of(found, n), why) for n, why in gone_after.items() if n not in gone_before),
        tuple(n for n in gone_before if n not in gone_after),
        new.notes if new else (),
    )


def _standing(found: Bench, cancel: Callable[[], bool] | None) -> StandingAsBuilt | None:
    return standing_as_built(found, cancel=cancel) if found.build.targets else None


def _targets(old: StandingAsBuilt | None, new: StandingAsBuilt | None) -> tuple[TargetEffect, ...]:
    before: Mapping[str, TargetAsBuilt] = {t.name: t for t in old.targets} if old else {}
    after: Mapping[str, TargetAsBuilt] = {t.name: t for t in new.targets} if new else {}
    names = list(dict.fromkeys((*before, *after)))
    return tuple(TargetEffect(name, before.get(name), after.get(name)) for name in names)


def _of(found: Bench, number: int) -> str:
    record = next((e.record for e in found.entries if e.number == number), None)
    return record.of if isinstance(record, Reading) else ""


def ready_to_save(found: Bench, text: str) -> Described:
    """The description that a text would take the place of, once it is sure that it can be saved.

    Raises:
        BuildError: the text has mistakes.
        RequestError: it is what the book has already, or an entry of the book cannot stand with it.
    """
    now = newest(found)
    if text == now.text:
        raise RequestError("this is what the book has already", "change something first")
    problems = checked(text).problems
    if problems:
        raise BuildError(problems)
    load_text(text)
    with_text(found, text)
    return now


def count_of_readings(found: Bench, path: str) -> int:
    """How many readings of the book name an entry of the description: a part, a dim, a test, a closure.

    Args:
        found: the build as it stands.
        path: of the entry in the description.
    """
    keys = path.split("/")
    match keys:
        case ["parts", part]:
            return sum(_names_part(r, part) for _, r in found.having(Reading))
        case ["parts", part, "dims", dim]:
            wanted = f"{part}/{dim}"
            return sum(wanted in (r.of, r.against) for _, r in found.having(Reading) if r.subject != "test")
        case ["tests", test]:
            return sum(r.of == test and r.subject == "test" for _, r in found.having(Reading))
        case ["closures", closure]:
            return sum(r.of == closure and r.subject == "gap" for _, r in found.having(Reading))
        case ["gauges", gauge]:
            return sum(r.gauge == gauge for _, r in found.having(Reading))
    return 0


def _names_part(reading: Reading, part: str) -> bool:
    return reading.subject != "test" and any(
        name is not None and name.startswith(f"{part}/") for name in (reading.of, reading.against)
    )
