"""The walls of the house: which room may know which, and how large a file or a function may grow."""

import ast
import builtins
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SRC = ROOT / "src"
HOUSE = "loopwright"
ROOMS = (
    "errors units handbook model buildfile measuring loop mechanisms making asbuilt fitup proving planning "
    "book studies sheets web cli"
).split()
DOOR = "__main__"  # starts the last room and may know it
FILE_LINES, FUNCTION_LINES = 600, 60
BY_TEXT = {"import_module", "__import__", "find_spec"}
BARE = {"Exception", "BaseException", "RuntimeError", "AssertionError", "OSError"}


def module_name(path: Path) -> str:
    """Dotted name of a source file; a package goes by the name of its folder."""
    parts = path.relative_to(SRC).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_name(path): path for path in sorted(SRC.rglob("*.py"))}


def room_of(module: str) -> str:
    """Second part of a dotted name; '' for the house itself."""
    return [*module.split("."), ""][1]


def imports(source: str, module: str, *, package: bool, known: set[str]) -> set[str]:
    """Every module of the house that a source imports, wherever the import stands and however written."""
    above = module if package else module.rpartition(".")[0]

    def absolute(name: str, level: int) -> str:
        steps = above.split(".")[: len(above.split(".")) - level + 1] if level else []
        return ".".join([*steps, *([name] if name else [])])

    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Import(names=names):
                found |= {name.name for name in names}
            case ast.ImportFrom(module=stem, names=names, level=level):
                origin = absolute(stem or "", level)
                inside = {f"{origin}.{name.name}" for name in names}
                found |= inside & known | ({origin} if inside - known else set())
            case ast.Call(
                func=ast.Name(id=name) | ast.Attribute(attr=name), args=[ast.Constant(value=str(text)), *_]
            ) if name in BY_TEXT:
                bare = text.lstrip(".")
                found.add(absolute(bare, len(text) - len(bare)))
    return {name for name in found if name == HOUSE or name.startswith(HOUSE + ".")}


def imports_of(module: str) -> set[str]:
    """Every module of the house that a module of the house imports."""
    path = MODULES[module]
    source = path.read_text("utf-8")
    return imports(source, module, package=path.name == "__init__.py", known=set(MODULES))


def trespasses(module: str, imported: set[str]) -> list[str]:
    """Imports that go through a wall: a room below the importing one, or a room that is on no plan."""
    order = {room: height for height, room in enumerate(["", *ROOMS, DOOR])}
    here = room_of(module)
    if here not in order:
        return [f"{module}: '{here}' is not a room of the design"]
    below = {name for name in imported if order.get(room_of(name), len(order)) > order[here]}
    return [f"{module} ({here}) imports {name} ({room_of(name)})" for name in sorted(below)]


def knots(graph: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules that import one another in a circle."""

    def reachable(start: str) -> set[str]:
        seen: set[str] = set()
        todo = list(graph[start])
        while todo:
            name = todo.pop()
            if name not in seen:
                seen.add(name)
                todo += graph.get(name, ())
        return seen

    reach = {name: reachable(name) for name in graph}
    groups = {tuple(sorted(b for b in reach[a] if a in reach.get(b, ()))) for a in graph if a in reach[a]}
    return [list(group) for group in sorted(groups)]


def functions(tree: ast.AST) -> Iterator[tuple[ast.FunctionDef | ast.AsyncFunctionDef, int]]:
    """Each function with the lines of its body and signature; the docstring is not counted."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or node.lineno) - node.lineno + 1
            if ast.get_docstring(node, clean=False) is not None:
                text = node.body[0]
                lines -= (text.end_lineno or text.lineno) - text.lineno + 1
            yield node, lines


def errors_outside(sources: dict[str, str]) -> list[str]:
    """Exception classes that do not descend from LoopwrightError, over all sources together."""
    classes = {
        node.name: (module, {ast.unparse(base).split(".")[-1] for base in node.bases})
        for module, source in sources.items()
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.ClassDef)
    }

    def line(name: str, seen: frozenset[str] = frozenset()) -> set[str]:
        bases = classes.get(name, ("", set()))[1] - seen
        return {name}.union(*(line(base, seen | {name}) for base in bases))

    native = {n for n, t in vars(builtins).items() if isinstance(t, type) and issubclass(t, BaseException)}
    lines = {name: line(name) for name in classes}
    return [
        f"{classes[n][0]}: {n}" for n in classes if lines[n] & native and "LoopwrightError" not in lines[n]
    ]


def bare_raises(source: str) -> list[int]:
    """Lines that raise an exception which tells a caller nothing."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Raise)
        and node.exc is not None
        and ast.unparse(node.exc).split("(")[0] in BARE
    ]


@pytest.mark.parametrize("module", MODULES)
def test_each_room_knows_only_the_rooms_above_it(module: str) -> None:
    """An import never goes down the list of rooms."""
    assert trespasses(module, imports_of(module)) == []


def test_no_circle_inside_a_room() -> None:
    """Modules do not import one another in a circle, inside a room or across rooms."""
    assert knots({module: imports_of(module) for module in MODULES}) == []


def test_the_plan_is_true() -> None:
    """ARCHITECTURE.md lists the rooms in order, and calls unbuilt exactly those that hold no code."""
    text = (ROOT / "ARCHITECTURE.md").read_text("utf-8")
    unbuilt = re.findall(r"^Not yet built: (.*)\.$", text, re.M)
    built = {room_of(module) for module in MODULES}
    assert re.findall(r"^\| `(\w+)` \|", text, re.M) == ROOMS
    assert re.findall(r"`(\w+)`", "".join(unbuilt)) == [room for room in ROOMS if room not in built]


def test_rooms_stand_as_drawn() -> None:
    """A room is one module or one package, never both, and none is missing from the plan."""
    places = list((SRC / HOUSE).iterdir())
    top = [path.stem for path in places if path.suffix == ".py" or any(path.rglob("*.py"))]
    assert len(top) == len(set(top))
    assert set(top) <= {*ROOMS, DOOR, "__init__"}


@pytest.mark.parametrize("place", ["src/**/*.py", "tests/**/*.py", "scripts/*.py", "*.py"])
def test_files_and_functions_fit_a_reader(place: str) -> None:
    """No file is over 600 lines, and no function over 60 without its docstring."""
    sources = {path.relative_to(ROOT).as_posix(): path.read_text("utf-8") for path in ROOT.glob(place)}
    lengths = {name: len(source.splitlines()) for name, source in sources.items()}
    assert {name: n for name, n in lengths.items() if n > FILE_LINES} == {}
    assert too_long(sources) == []


def too_long(sources: dict[str, str]) -> list[str]:
    """Functions over the limit, with their place and length."""
    return [
        f"{name}: {function.name} has {lines} lines"
        for name, source in sources.items()
        for function, lines in functions(ast.parse(source))
        if lines > FUNCTION_LINES
    ]


@pytest.mark.parametrize("module", MODULES)
def test_no_star_imports(module: str) -> None:
    """Every imported name is written out."""
    tree = ast.parse(MODULES[module].read_text("utf-8"))
    stars = [n.lineno for n in ast.walk(tree) if isinstance(n, ast.ImportFrom) and n.names[0].name == "*"]
    assert stars == []


def test_every_error_descends_from_one() -> None:
    """Whoever catches LoopwrightError catches everything that Loopwright raises on purpose."""
    sources = {module: path.read_text("utf-8") for module, path in MODULES.items()}
    assert errors_outside(sources) == []
    assert {module: lines for module, text in sources.items() if (lines := bare_raises(text))} == {}


@pytest.mark.parametrize(
    "source",
    [
        "import loopwright.cli",
        "import loopwright.cli.main as face",
        "from loopwright import cli",
        "from loopwright.cli import main",
        "from .. import cli",
        "from ..cli import main",
        "def f():\n    from loopwright.cli import main",
        "async def f():\n    import loopwright.cli",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from loopwright.cli import main",
        "try:\n    import loopwright.cli\nexcept ImportError:\n    pass",
        "class A:\n    from loopwright.cli import main",
        "import importlib\nimportlib.import_module('loopwright.cli')",
        "__import__('loopwright.cli')",
        "import_module('..cli', __package__)",
    ],
)
def test_the_checker_sees_an_import_downwards(source: str) -> None:
    """An import of a lower room is found at the top, in a function, under TYPE_CHECKING or by text."""
    known = {"loopwright", "loopwright.loop", "loopwright.loop.tree", "loopwright.cli"}
    found = imports(source, "loopwright.loop.tree", package=False, known=known)
    assert len(trespasses("loopwright.loop.tree", found)) == 1


def test_the_checker_lets_pass_what_is_allowed() -> None:
    """Rooms above, the own room, the house's version and other libraries are no trespass."""
    source = (
        "import numpy\nimport loopwright.units\nfrom loopwright import __version__\n"
        "from ..model import parts\nfrom . import joint"
    )
    known = {"loopwright", "loopwright.model", "loopwright.loop", "loopwright.loop.joint", "loopwright.units"}
    found = imports(source, "loopwright.loop.tree", package=False, known=known)
    assert found == {"loopwright", "loopwright.model", "loopwright.loop.joint", "loopwright.units"}
    assert trespasses("loopwright.loop.tree", found) == []


def test_the_checker_reads_relative_imports_of_a_package() -> None:
    """In an __init__ one dot is the package itself."""
    found = imports("from .joint import J", "loopwright.loop", package=True, known={"loopwright.loop.joint"})
    assert found == {"loopwright.loop.joint"}


def test_the_checker_refuses_a_room_off_the_plan() -> None:
    """A module in a room that the design does not name is refused."""
    assert len(trespasses("loopwright.cellar.wine", set())) == 1
    assert len(trespasses("loopwright", {"loopwright.units"})) == 1


def test_the_checker_sees_a_knot() -> None:
    """A circle of three is found, and a diamond is not one."""
    assert knots({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [["a", "b", "c"]]
    assert knots({"a": {"b", "c"}, "b": {"d"}, "c": {"d"}, "d": set()}) == []


def test_the_checker_counts_a_function_without_its_docstring() -> None:
    """Four lines with a two-line docstring count as two, and sixty-one without one are too many."""
    ((_, lines),) = functions(ast.parse('def f():\n    """One.\n    Two."""\n    return 1\n'))
    assert lines == 2
    assert too_long({"a": "def f():\n" + "    x = 1\n" * FUNCTION_LINES}) == ["a: f has 61 lines"]


def test_the_checker_sees_a_stray_error() -> None:
    """A class outside LoopwrightError and a raise without a meaning are found."""
    good = "class LoopwrightError(Exception): pass\nclass A(LoopwrightError): pass"
    other = "class B(A): pass\nclass C(ValueError): pass\nclass D: pass"
    assert errors_outside({"errors": good, "units": other}) == ["units: C"]
    assert bare_raises("raise RuntimeError('no')\nraise A('yes')\nraise\nraise Exception") == [1, 4]
