"""Write docs/validation.md from tests/published: each source, and each fact that is checked against it."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "validation.md"
HEAD = """# What the results are checked against

Every number below can be read in the source named, and a test compares it with what Loopwright computes.
The tolerance is half the last printed digit unless the test says otherwise. *From memory* marks a value that
was recalled, not seen in print.

This page is generated from the tests by `python3 dev.py docs`.
"""


def facts(tree: ast.Module) -> list[tuple[str, str]]:
    """Name and first sentence of each test, in the order of the file; tests inside classes too."""
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            said = " ".join((ast.get_docstring(node) or "").split("\n\n")[0].split())
            found.append((node.lineno, node.name, said))
    return [(name, said) for _, name, said in sorted(found)]


def section(path: Path) -> str:
    """One source: title, full reference, and the list of facts."""
    tree = ast.parse(path.read_text("utf-8"))
    title, _, reference = (ast.get_docstring(tree) or "").partition("\n")
    rows = [f"- {said} (`{name}`)" for name, said in facts(tree)]
    parts = [
        f"## {title.strip().rstrip('.')}",
        reference.strip(),
        f"In `tests/published/{path.name}`:",
        "\n".join(rows),
    ]
    return "\n\n".join(part for part in parts if part)


def page(root: Path = ROOT) -> str:
    """The whole page, as text."""
    sections = [section(path) for path in sorted((root / "tests" / "published").glob("test_*.py"))]
    return "\n\n".join([HEAD.strip(), *sections]) + "\n"


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8", newline="\n")
    print(f"wrote {PAGE.relative_to(ROOT)}")
