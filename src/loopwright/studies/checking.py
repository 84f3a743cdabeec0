"""Can this build file be used? Every mistake of the text, the names, the tree and the joints at once."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from loopwright.buildfile.editing import changed
from loopwright.buildfile.reading import Examined, examine, examine_document, file_text
from loopwright.buildfile.yaml_text import Document
from loopwright.errors import BuildError, LoopwrightError, Problem
from loopwright.loop import Loop
from loopwright.loop import examine as examine_loop
from loopwright.model.build import Build
from loopwright.studies.dims_as_made import dims_as_made
from loopwright.studies.reports import Check


def check_file(path: str | Path) -> Check:
    """Checks a build file; mistakes are in the answer, not raised.

    Args:
        path: of the build file.
    """
    name = Path(path).name
    try:
        return check_text(file_text(path), name)
    except BuildError as error:
        return Check(name, None, error.problems, (), {})


def check_text(text: str, file: str | None = None) -> Check:
    """Checks the text of a build file, as ``check_file`` does."""
    return _checked(examine(text, file), file)


def check_document(document: Document) -> Check:
    """Checks a build file that was parsed already, as ``check_file`` does."""
    return _checked(examine_document(document), document.file)


def _checked(found: Examined, file: str | None) -> Check:
    examined, loop = _examined(found)
    build = examined.build
    if build is None:
        return Check(file, None, examined.problems, (), {})
    notes = () if loop is None or examined.problems else (*_notes(build), *idle_notes(loop))
    return Check(file, build.name, examined.problems, notes, _counts(build))


def load(path: str | Path, changes: Mapping[str, str] | None = None) -> Loop:
    """The loop of a build file, with values changed as asked.

    Args:
        path: of the build file.
        changes: new value, as it would stand in the file, by field path.

    Raises:
        BuildError: with every mistake and its line.
        RequestError: a change leads nowhere.
    """
    return load_text(file_text(path), Path(path).name, changes)


def load_text(text: str, file: str | None = None, changes: Mapping[str, str] | None = None) -> Loop:
    """The loop of the text of a build file, as ``load`` does."""
    found = examine_document(changed(text, dict(changes), file)) if changes else examine(text, file)
    examined, loop = _examined(found)
    examined.whole()
    assert loop is not None
    return loop


def _examined(examined: Examined) -> tuple[Examined, Loop | None]:
    """Adds what the joints say to what the text says; joints are looked at even where the text has mistakes."""
    if examined.build is None or _names_are_broken(examined.problems):
        return examined, None
    try:
        loop, problems = examine_loop(examined.build, dims_as_made(examined.build, examined.problems))
    except LoopwrightError as error:
        loop, problems = None, [Problem("", str(error), "change the value that it speaks of")]
    located = [examined.located(p) for p in problems]
    every = sorted({*examined.problems, *located}, key=lambda p: p.line or 0)
    return replace(examined, problems=tuple(every)), loop


def _names_are_broken(problems: tuple[Problem, ...]) -> bool:
    """Whether the tree or the names are too broken to look at joints."""
    return any(
        "carries itself" in p.what or "under itself" in p.what or "no rail" in p.what for p in problems
    )


def _counts(build: Build) -> dict[str, int]:
    return {
        "parts": len(build.parts),
        "dims": sum(len(part.dims) for part in build.parts.values()),
        "bodies": len(build.bodies),
        "joints": len(build.joints),
        "targets": len(build.targets),
        "tests": len(build.tests),
    }


def _notes(build: Build) -> list[str]:
    notes = []
    if not build.targets:
        notes.append("there is no target yet: add one under 'targets' to ask what the machine will hold")
    used = {part for body in build.bodies.values() for part in body.parts}
    notes += [f"part '{name}' belongs to no body" for name in build.parts if name not in used]
    return notes


def idle_dims(loop: Loop) -> tuple[str, ...]:
    """Dims that move nothing: no contact, rail or block names them."""
    acting = {int(place) for model in loop.joints.values() for place in model.places}
    return tuple(dim for dim, places in loop.dims.items() if next(iter(places)) not in acting)


def idle_notes(loop: Loop) -> list[str]:
    """A note for the dims that move nothing."""
    idle = idle_dims(loop)
    if not idle:
        return []
    listed = ", ".join(idle[:6]) + (f" and {len(idle) - 6} more" if len(idle) > 6 else "")
    return [f"no contact names these dims, so they move nothing at the tool: {listed}"]
