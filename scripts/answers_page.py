"""Write docs/reference/answers.md: every answer that a command prints as JSON, field by field, from the schemas."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from loopwright.studies.answer_schemas import answers, shared_schemas

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "answers.md"
OPENING = """\
# Answers as JSON

Every command that answers with numbers takes `--json` and then prints one JSON object on its output, and nothing else.
Progress and notes go to the error stream, and the status is the same as without `--json`.

```console
$ loopwright new drill.yaml
$ loopwright book new drill.yaml
$ loopwright parts --json
$ loopwright schema --answer parts
```

- `format` names the answer and its version, as `loopwright-parts/1`. Fields may be added within a version; none changes
  its meaning.
- `loopwright schema --answer NAME` prints the JSON Schema (draft 2020-12) of an answer. It is strict: it describes the
  answers of the program that prints it to the last field, so take it anew with a new version of the program.
- An error or an uncertainty is in the `unit` that stands beside it, and a size in the `size_unit` beside it. Both can
  be typed back into the program. Chances and shares are fractions of 1.
- A field is always there. Where there is nothing to say it is `null`, or an empty list; what `null` means is told.
- What the book holds (`record` of an entry) is given as the book has it, in mm, rad and degC.
- Times of day are UTC (ISO 8601).

In the tables `[]` stands for each entry of a list, and `{}` for each name of a mapping whose names are the build's own.
"""
SHARED = {
    "pose": "Pose",
    "conformity": "Verdict on a size",
    "effect": "Effect on a target",
    "left": "What is left of a target",
    "budget_target": "Target of a budget",
    "book_record": "Record of the book",
}
TABLE = ("| field | is | meaning |", "|---|---|---|")
KINDS = {"string": "text", "integer": "whole number", "boolean": "true or false", "null": "null"}


def page() -> str:
    """The whole page, as text."""
    shared = shared_schemas()
    known = answers()
    rest = set(shared) - set(SHARED) - set(known)
    parts = [OPENING.strip(), listing(known), "## The answers"]
    parts += [answer_section(one, shared) for one in known.values()]
    parts += ["## What several answers have"]
    parts += [section(title, shared[name]) for name, title in SHARED.items()]
    kinds = [ref.rpartition("/")[2] for ref in refs(shared["book_record"])]
    parts += [section(heading(name), shared[name]) for name in [*kinds, *sorted(rest - set(kinds))]]
    return "\n\n".join(parts) + "\n"


def listing(known: dict[str, Any]) -> str:
    """Every answer with what prints it."""
    rows = [
        f"| [`{one.name}`](#{one.name}) | {', '.join(map(asked, one.commands))} | {one.says} |"
        for one in known.values()
    ]
    return "\n".join(["| answer | printed by | is |", "|---|---|---|", *rows])


def asked(command: str) -> str:
    """How a command is asked for its answer as JSON."""
    return f"`{command}`" if "--list" in command else f"`{command} --json`"


def answer_section(one: Any, shared: dict[str, Any]) -> str:
    """One answer: its format, and its fields."""
    schema = shared["budget"] if one.name == "budget" else one.schema
    told = [f"Format `{one.format}`: {one.says}."]
    if one.name == "budget":
        told.append(
            "With `--set` it has three fields: `changes`, and `before` and `after`, each as in the table and "
            "with its own `format`."
        )
    return "\n".join([f"### {one.name}", "", *told, "", *TABLE, *rows_of(schema)])


def section(title: str, schema: dict[str, Any]) -> str:
    """Something that several answers have."""
    said = schema.get("description", "")
    told = [quoted(said[0].upper() + said[1:].rstrip(".")) + ".", ""] if said else []
    if "oneOf" in schema:
        told += [", ".join(link(name) for name in refs(schema)) + ".", ""]
    rows = list(rows_of(schema))
    return "\n".join([f"### {title}", "", *told, *((*TABLE, *rows) if rows else ())]).rstrip()


def rows_of(schema: dict[str, Any], path: str = "") -> Iterator[str]:
    """A row for each field, in order, those of what is inside after it."""
    for part, step in ((schema, ""), *((one, "") for one in schema.get("anyOf", ()))):
        for name, field in part.get("properties", {}).items():
            here = f"{path}{step}{name}"
            yield f"| `{here}` | {kind(field)} | {quoted(meaning(field))} |"
            yield from deeper(field, here)
        if not path and "additionalProperties" in part and isinstance(part["additionalProperties"], dict):
            yield from deeper(part, "")


def meaning(field: dict[str, Any]) -> str:
    """What is said of a field, and of the numbers or texts that it is a list of."""
    said = field.get("description", "").rstrip(".")
    inner = field.get("items", field.get("additionalProperties"))
    each = (
        meaning(inner)
        if isinstance(inner, dict) and "properties" not in inner and "$ref" not in inner
        else ""
    )
    return ", ".join(filter(None, (said, each)))


def deeper(field: dict[str, Any], path: str) -> Iterator[str]:
    """Rows of what is inside of a field."""
    for part in (field, *field.get("anyOf", ())):
        if "properties" in part:
            yield from rows_of(part, f"{path}.")
        if "items" in part:
            yield from deeper(part["items"], f"{path}[]")
        if isinstance(part.get("additionalProperties"), dict):
            yield from deeper(part["additionalProperties"], f"{path}{{}}")


def kind(field: dict[str, Any]) -> str:
    """What a field is, in a word or two."""
    if "const" in field:
        return f"`{field['const']}`"
    if "$ref" in field:
        return link(field["$ref"].rpartition("/")[2])
    if "enum" in field:
        return " or ".join("null" if one is None else f"`{one}`" for one in field["enum"])
    if "anyOf" in field:
        return " or ".join(kind(one) for one in field["anyOf"])
    if "items" in field:
        both = field.get("maxItems") == 2
        return f"{'two' if both else 'list'} of {kind(field['items'])}"
    if "prefixItems" in field:
        return f"two of {kind(field['prefixItems'][0])}"
    if field.get("type") == "object":
        inside = field.get("additionalProperties")
        return f"by name: {kind(inside)}" if isinstance(inside, dict) else "object"
    types = field["type"] if isinstance(field["type"], list) else [field["type"]]
    return " or ".join(str(KINDS.get(one, one)) for one in types)


def refs(schema: dict[str, Any]) -> list[str]:
    """Names of the records of which one must be there."""
    return [one["$ref"].rpartition("/")[2] for one in schema.get("oneOf", ())]


def heading(name: str) -> str:
    """Title of something shared."""
    return SHARED.get(name) or f"{re.sub('(?<!^)(?=[A-Z])', ' ', name).capitalize()} record"


def link(name: str) -> str:
    """Something by its name on this page."""
    title = name if name in answers() else heading(name)
    words = name if name in answers() else heading(name).lower()
    return f"[{words}](#{title.lower().replace(' ', '-')})"


def quoted(text: str) -> str:
    """A note with the names of fields and words set as such."""
    return re.sub(r"'([^' ]+)'", r"`\1`", text)


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(), "utf-8", newline="\n")
    print(f"wrote {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
