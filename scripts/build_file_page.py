"""Write docs/reference/build-file.md: the opening, then every record and field of the build file from the program."""

import re
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, WithJsonSchema
from pydantic.fields import FieldInfo

from loopwright.buildfile.schema import defaults, records
from loopwright.model.base import Text
from loopwright.model.build import Units
from loopwright.model.notes import field_notes
from loopwright.units import Dimension

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "build-file.md"
OPENING = ROOT / "scripts" / "build-file-opening.md"

# Records in the order of the page, each with its heading and where it stands.
SECTIONS = {
    "Build": ("The file", ""),
    "Units": ("Units", "`units:`"),
    "Heat": ("Heat", "`heat:`"),
    "Material": ("Material", "`materials:`, by name"),
    "Part": ("Part", "`parts:`, by name"),
    "Dim": ("Dim", "`dims:` of a part, by name"),
    "Surface": ("Surface", "`surfaces:` of a part, by name"),
    "Geometrical": ("Geometrical tolerance", "`geometry:` of a part, by name"),
    "Blank": ("Blank", "`blank:` of a part"),
    "Op": ("Op", "`route:` of a part, as a list"),
    "Cut": ("Cut", "`cuts:` of an op, by surface"),
    "Shop": ("Shop", "`shop:`"),
    "Machine": ("Machine", "`machines:` of the shop, by name"),
    "Capability": ("What a machine holds", "`holds:` of a machine, by op"),
    "Tool": ("Tool", "`tools:` of the shop, by name"),
    "Bar": ("Bar or plate", "`bars:` of the shop, by name"),
    "Proven": ("Proven cutting data", "`proven:` of the shop, as a list"),
    "MadeTogether": ("Made together", "`made_together:`, by name"),
    "Body": ("Body", "`bodies:`, by name"),
    "Joint": ("Joint", "`joints:`, by name"),
    "Contact": ("Contact", "`contacts:` of a joint, by name"),
    "DimTerm": ("Dim in a sum", "`dims:` of a contact, a rail, a block or a drive, as a list"),
    "Adjuster": ("Adjuster", "`adjust:`"),
    "Guide": ("Guide", "`guide:` of a joint"),
    "Rail": ("Rail", "`rails:` of a guide, by name"),
    "RailLine": ("Line of a rail", "`height:` or `side:` of a rail"),
    "Block": ("Block", "`blocks:` of a guide, by name"),
    "EveryBlock": ("Every block", "`every_block:` of a guide"),
    "Seat": ("Contact of a block", "`height:` or `side:` of a block"),
    "Drive": ("Drive", "`drive:` of a joint, or `drives:`, by name"),
    "LeadError": ("Lead error", "`lead_error:` of a drive"),
    "ErrorMotion": ("Error motion", "`errors:` of a joint, by its letters"),
    "JointStiffness": ("Lumped stiffness", "`stiffness:` of a joint"),
    "Target": ("Target", "`targets:`, by name"),
    "Test": ("Test", "`tests:`, by name"),
    "Gauge": ("Gauge", "`gauges:`, by name"),
    "Artefact": ("Artefact", "`artefacts:`, by name"),
    "ProcessLoad": ("Load", "`loads:`, by name"),
    "Closure": ("Closure", "`closures:`, by name"),
    "FitUpStep": ("Fit-up step", "`fit_up:`, as a list"),
    "Spread": ("Deviation", "every field that takes one, where one line of text is not enough"),
}
# Records that are written in a way of their own, told in the opening.
TOLD_BEFORE = {"Span", "Zeroing", "Measure", "Section", "Hardness"}
SPREAD = "`value`, `limits`, `lower`, `upper`, `std`, `shape`, `multiple`, `top`"
# Fields that the file has otherwise than the program: their names, or None for none.
WRITTEN: dict[tuple[str, str], str | None] = {
    ("Dim", "spread"): SPREAD,
    ("ErrorMotion", "spread"): SPREAD,
    ("DimTerm", "lever"): None,
}
# What a field takes, where its type alone does not say it.
TAKES = {
    ("Dim", "nominal"): "length, or angle with its unit",
    ("Dim", "spread"): "as in a [deviation](#deviation)",
    ("ErrorMotion", "spread"): "as in a [deviation](#deviation)",
    ("ErrorMotion", "table"): "length or angle by position: `{0: 0, 100: 2 µm}`",
    ("DimTerm", "times"): "number; for an angle a length with its unit",
    ("Joint", "errors"): "[error motions](#error-motion) by their letters",
    ("Joint", "at"): "point `[x, y, z]`",
    ("Gauge", "resolution"): "length or angle, as `reads` says",
    ("Gauge", "calibration"): "[deviation](#deviation), as `reads` says",
    ("Gauge", "repeatability"): "[deviation](#deviation), as `reads` says",
    ("Gauge", "reversal"): "[deviation](#deviation), as `reads` says",
    ("Gauge", "drift_per_kelvin"): "[deviation](#deviation), as `reads` says",
    **{("Units", name): f"unit of {name.replace('_', ' ')}" for name in Units.model_fields},
    ("Units", "errors"): "unit of length",
    ("MadeTogether", "dims"): "list of `part/dim`, two or more",
    ("Body", "parts"): "list of names of parts",
    ("FitUpStep", "seat"): "list of names of bodies and parts",
    ("FitUpStep", "read"): "list of names of tests",
    ("FitUpStep", "adjust"): "list of `joint/contact`",
    ("LeadError", "grade"): "a grade",
    ("LeadError", "travel"): "[deviation](#deviation), length",
}
BY_NAME = {
    "parent": "name of a body",
    "child": "name of a body",
    "on": "name of a body",
    "against": "name of a body",
    "turns_with": "name of a body",
    "between": "names of two bodies: `[table, head]`",
    "under": "list of names of loads",
    "material": "name of a material",
    "part": "name of a part",
    "joint": "name of a joint",
    "contact": "name of a contact",
    "rail": "name of a rail",
    "gauge": "name of a gauge",
    "artefact": "name of an artefact",
    "dim": "`part/dim`",
    "axis": "axis letter, such as `W` or `X2`",
    "travel": "`[from, to]`: lengths, or angles of a rotary joint",
    "limit": "length; angle where a rotation is asked",
    "over": "spans: `{X: [from, to, step]}`",
    "holding": "pose: `{X: 160, Y: 110}`",
    "zeroed": "`none`, `mean`, `line` or `{at: {X: 160}}`",
}
SAYS = {
    "machine coordinates at the home pose": "point `[x, y, z]`",
    "a direction in machine coordinates": "direction: `+Z`, or `[0, 0.6, 0.8]`",
    "from…to along": "range: `-20…340`",
    "from…to, e.g.": "range: `0…0.2`",
    "length; for a rotary joint": "length; angle of a rotary joint",
}
MEASURES = {
    Dimension.RATIO: "share: `0.3` or `30 %`",
    Dimension.EXPANSION: "expansion, such as `11.6 µm/m/K`",
    Dimension.PRESSURE: "modulus, such as `110 GPa`",
    Dimension.DENSITY: "density, such as `7200 kg/m³`",
}
INTRODUCED = {
    "Build": "One machine being built. These are the sections of the file.",
    "Spread": "What is known of a deviation (`value`), and how far it may be from that: limits, or `std`, not both. "
    "One line of text does for most: see [limits](#limits).",
}
TABLE = ("| field | takes | left out | meaning |", "|---|---|---|---|")


def page() -> str:
    """The whole page, as text."""
    kinds = records()
    missing = set(kinds) - set(SECTIONS) - TOLD_BEFORE
    if missing:
        raise SystemExit(
            f"give these records a heading in {Path(__file__).name}: {', '.join(sorted(missing))}"
        )
    parts = [OPENING.read_text("utf-8").strip(), contents()]
    parts += [section(name, kinds[name]) for name in SECTIONS]
    return "\n\n".join(parts) + "\n"


def contents() -> str:
    """Links to all records."""
    links = ", ".join(f"[{title}](#{anchor(name)})" for name, (title, _) in SECTIONS.items())
    return f"## Records\n\nEvery record of the file, each with a table of its fields below: {links}."


def section(name: str, kind: type[BaseModel]) -> str:
    """One record: what it is, where it stands, and its fields."""
    title, place = SECTIONS[name]
    words = INTRODUCED.get(name) or quoted(" ".join((kind.__doc__ or "").split(">>>")[0].split()))
    standing = f"Stands under {place}. " if ":" in place else ""
    rows = deviation_rows() if name == "Spread" else [*rows_of(name, kind)]
    return "\n".join([f"## {title}", "", f"{standing}{words}", "", *TABLE, *rows])


def rows_of(name: str, kind: type[BaseModel]) -> Iterator[str]:
    """A row for each field that a file may have."""
    given, notes = defaults(kind), field_notes(kind)
    for field_name, field in kind.model_fields.items():
        names = WRITTEN.get((name, field_name), f"`{field_name}`")
        if names is None:
            continue
        needed = field.is_required() or field_name == "format"
        left_out = "**needed**" if needed else default(given.get(field_name))
        told = TAKES.get((name, field_name)) or BY_NAME.get(field_name) or takes_of(field)
        yield row(names, told, left_out, quoted(notes[field_name]))
        if field_name == "over":
            yield row("`sweep`", "as `over`", "–", "Another word for `over`.")


def quoted(text: str) -> str:
    """A note with the names of fields and words of the file set as such."""
    return re.sub(r"'([^' ]+)'", r"`\1`", text)


def deviation_rows() -> list[str]:
    """The fields of a deviation, which a file writes with limits as one text."""
    schema = next(meta.schema for meta in _metadata_of("Artefact", "straightness") if isinstance(meta, Text))
    fields = schema["anyOf"][1]["properties"]
    kinds = {"string": "limits as one text", "number": "number"}
    return [
        row(
            f"`{name}`",
            choice(field["enum"])
            if "enum" in field
            else "quantity"
            if isinstance(field["type"], list)
            else kinds[field["type"]],
            "–",
            quoted(field["description"][0].upper() + field["description"][1:] + "."),
        )
        for name, field in fields.items()
    ]


def _metadata_of(record: str, field: str) -> list[Any]:
    return records()[record].model_fields[field].metadata


def row(*cells: str) -> str:
    """A row of a table."""
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def default(value: Any) -> str:
    """What holds where the file says nothing."""
    if value in (None, [], {}) or isinstance(value, dict):
        return "–"
    if isinstance(value, bool):
        return f"`{str(value).lower()}`"
    if isinstance(value, list):
        return f"`[{', '.join(default(one).strip('`') for one in value)}]`"
    return f"`{value:g}`" if isinstance(value, float) else f"`{value}`"


def takes_of(field: FieldInfo) -> str:
    """What a field takes, in words."""
    return takes(field.annotation, tuple(field.metadata))


def takes(annotation: Any, metadata: tuple[Any, ...] = ()) -> str:
    """What an annotated type takes, in words, with links to records."""
    for meta in metadata:
        if isinstance(meta, Text):
            return described(meta.schema)
        if isinstance(meta, WithJsonSchema) and meta.json_schema is not None:
            return described(meta.json_schema, annotation)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return takes(inner[0], inner[1:])
    if origin is Literal:
        return choice(inner)
    if origin in (Union, UnionType):
        return " or ".join(takes(one) for one in inner if one is not NoneType)
    if origin is dict:
        return f"by name: {takes(inner[1])}"
    if origin is list:
        return f"list of: {takes(inner[0])}"
    if origin is tuple:
        return f"list of {len(inner)}: {takes(inner[0])}"
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return choice([one.value for one in annotation])
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return link(annotation.__name__)
    return {str: "text", int: "whole number", float: "number", bool: "true or false"}[annotation] + bounds(
        metadata
    )


def described(schema: dict[str, Any], annotation: Any = None) -> str:
    """What a schema takes: a record where it stands for one, else the words it describes itself with."""
    if annotation is not None:
        found = [
            one for one in (annotation, *get_args(annotation)) if getattr(one, "__name__", "") in SECTIONS
        ]
        if found:
            return link(found[0].__name__)
    if schema.get("enum") == [True, False, "yes", "no"]:
        return "true or false"
    words = str(schema.get("description", ""))
    for start, says in SAYS.items():
        if words.startswith(start):
            return says
    for dimension in Dimension:
        if words.startswith(f"{dimension.value}, e.g."):
            return MEASURES.get(dimension, dimension.value)
        if words.startswith(f"deviation ({dimension.value})"):
            return f"[deviation](#deviation), {MEASURES.get(dimension, dimension.value)}"
        if words.startswith(f"{dimension.value}, with"):
            return f"{dimension.value}, with limits if they matter"
    return words


def bounds(metadata: tuple[Any, ...]) -> str:
    """Least and most, where a number has them."""
    found = {key: getattr(meta, key) for meta in metadata for key in ("ge", "gt", "le") if hasattr(meta, key)}
    if not found:
        return ""
    least = f"{found['ge']}" if "ge" in found else f"above {found.get('gt', 0):g}"
    return f", {least} to {found['le']}" if "le" in found else f", {least} or more"


def choice(values: Any) -> str:
    """One of several words."""
    words = [f"`{value}`" for value in values]
    return " or ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else words[0]


def link(name: str) -> str:
    """A record by its name on this page."""
    return f"[{SECTIONS[name][0].lower()}](#{anchor(name)})"


def anchor(name: str) -> str:
    """Heading of a record as link target."""
    return SECTIONS[name][0].lower().replace(" ", "-")


def main() -> None:
    """Write the page."""
    PAGE.write_text(page(), "utf-8", newline="\n")
    print(f"wrote {PAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
