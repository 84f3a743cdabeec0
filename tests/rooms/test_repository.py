"""The frame of the repository: locks, text files and generated pages."""

import ast
import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LOCKS = sorted((ROOT / "requirements").glob("*.lock"))
KEPT = ["src", "tests", "benchmarks", "docs", "scripts", "requirements", ".ci"]
TEXT = {
    ".py",
    ".md",
    ".toml",
    ".yaml",
    ".json",
    ".lock",
    ".html",
    ".css",
    ".js",
    ".typ",
    ".csv",
    ".sql",
    ".txt",
    "",
}
PINNED = re.compile(r"^([a-z0-9-]+)==(\S+)", re.M)


def texts() -> dict[str, str]:
    """Every text file of the repository by its path."""
    files = [path for top in KEPT for path in (ROOT / top).rglob("*")] + list(ROOT.glob("*.*"))
    chosen = [p for p in files if p.is_file() and p.suffix in TEXT and "__pycache__" not in p.parts]
    return {p.relative_to(ROOT).as_posix(): p.read_text("utf-8") for p in chosen}


def pins(text: str) -> dict[str, set[str]]:
    """Pinned versions by package; more than one where they differ between Python versions."""
    found: dict[str, set[str]] = {}
    for name, version in PINNED.findall(text):
        found.setdefault(name, set()).add(version)
    return found


def strangers(lock: str) -> list[str]:
    """Lines of a lock that tie it to a place: an address, a path, or an option of the installer."""
    tied = re.compile(r"://|(?<![\w.-])/\w|[A-Za-z]:\\|^\s*-(?!-hash=)|@ ")
    return [line for line in lock.splitlines() if tied.search(line)]


def test_locks_are_there() -> None:
    """One lock each for users, for developers and for all extras."""
    assert [path.name for path in LOCKS] == ["all.lock", "dev.lock", "loopwright.lock"]


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_a_lock_names_no_place(lock: Path) -> None:
    """A lock holds names, versions and hashes, and no address or path of any machine."""
    assert strangers(lock.read_text("utf-8")) == []


@pytest.mark.parametrize("lock", LOCKS, ids=lambda path: path.name)
def test_every_pin_has_a_hash(lock: Path) -> None:
    """Nothing can be installed from a lock that is not the very file that was locked."""
    blocks = re.split(r"\n(?=[a-z0-9])", lock.read_text("utf-8"))[1:]
    assert blocks
    assert [block.split("\n")[0] for block in blocks if "--hash=sha256:" not in block] == []


@pytest.mark.parametrize(
    "line",
    [
        "--index-url https://example.org/simple",
        "--find-links ../wheels",
        "-e .",
        "numpy @ file:///home/me/numpy.whl",
        "    # via /home/me/pyproject.toml",
        "#    uv pip compile C:\\me\\pyproject.toml",
    ],
)
def test_the_lock_check_sees_a_place(line: str) -> None:
    """An address, a path or an option is found."""
    assert strangers(f"numpy==2.4.6 \\\n    --hash=sha256:00\n{line}\n") == [line]


def test_all_locks_agree() -> None:
    """What users install is what developers test: the core has the same versions in each lock."""
    core = pins((ROOT / "requirements" / "loopwright.lock").read_text("utf-8"))
    for lock in LOCKS:
        assert core.items() <= pins(lock.read_text("utf-8")).items()


def test_the_lock_holds_what_the_project_asks_for() -> None:
    """Each dependency named in pyproject.toml is pinned, and so is what builds the project."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    asked = project["project"]["dependencies"] + project["dependency-groups"]["build"]
    names = {re.split(r"[><=\[]", text)[0].replace(".", "-") for text in asked}
    assert names <= set(pins((ROOT / "requirements" / "loopwright.lock").read_text("utf-8")))


def test_every_developer_can_test_on_postgresql() -> None:
    """The driver for PostgreSQL is locked for developers, and is none of what every user installs."""
    locked = {lock.stem: set(pins(lock.read_text("utf-8"))) for lock in LOCKS}
    assert {"psycopg", "psycopg-binary"} <= locked["dev"]
    assert "psycopg" not in locked["loopwright"]
    assert {"sqlalchemy", "alembic"} <= locked["loopwright"]


def test_text_files_are_plain() -> None:
    """Text files are UTF-8 with newlines of one kind, end in one, and hold no tab outside of tables."""
    files = texts()
    assert len(files) > 20
    assert [name for name, text in files.items() if "\r" in text] == []
    assert [name for name, text in files.items() if text and not text.endswith("\n")] == []
    assert [
        name for name, text in files.items() if name.endswith((".py", ".md", ".yaml")) and "\t" in text
    ] == []


def test_setting_up_says_so_kindly_on_an_old_python() -> None:
    """The set-up script asks for a newer Python before it uses anything that an old one lacks."""
    lines = (ROOT / "dev.py").read_text("utf-8").split("\nimport argparse", 1)[0]
    code = lines.replace("sys.version_info < (3, 11)", "sys.version_info < (99,)")
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert ended.stderr.startswith("Loopwright needs Python 3.11 or newer; this is 3.")


def test_the_page_of_checks_is_up_to_date() -> None:
    """docs/validation.md lists the published checks as they are now; if not, run: python3 dev.py docs."""
    spec = importlib.util.spec_from_file_location("validation_page", ROOT / "scripts" / "validation_page.py")
    assert spec is not None
    assert spec.loader is not None
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    assert (ROOT / "docs" / "validation.md").read_text("utf-8") == script.page()


def test_every_published_check_says_what_it_checks() -> None:
    """Each file of published checks opens with its reference, and each test states its fact."""
    for path in sorted((ROOT / "tests" / "published").glob("test_*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        tests = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef) and n.name.startswith("test_")]
        assert ast.get_docstring(tree), f"{path.name}: name the source first"
        assert tests, path.name
        assert [t.name for t in tests if not ast.get_docstring(t)] == [], path.name
