"""What each field of a record means, read from the text below it, when someone asks and not before."""

import ast
import inspect
import sys
from functools import cache

from pydantic import BaseModel


def field_notes(record: type[BaseModel]) -> dict[str, str]:
    """The meaning of every field of a record, its own and those that it has from others.

    Reading these texts takes longer than all else about loading the model, and a budget has no use for them.

    >>> from loopwright.model.joints import Body
    >>> field_notes(Body)["parts"]
    'The parts it consists of.'
    """
    found: dict[str, str] = {}
    for kind in reversed(record.__mro__):
        if issubclass(kind, BaseModel) and kind is not BaseModel:
            found |= _of_module(kind.__module__).get(kind.__name__, {})
    return {name: note for name, note in found.items() if name in record.model_fields}


@cache
def _of_module(name: str) -> dict[str, dict[str, str]]:
    tree = ast.parse(inspect.getsource(sys.modules[name]))
    return {node.name: _of_class(node) for node in tree.body if isinstance(node, ast.ClassDef)}


def _of_class(node: ast.ClassDef) -> dict[str, str]:
    notes = {}
    for field, below in zip(node.body, node.body[1:]):
        is_text = isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant)
        if isinstance(field, ast.AnnAssign) and isinstance(field.target, ast.Name) and is_text:
            notes[field.target.id] = inspect.cleandoc(str(below.value.value))  # type: ignore[attr-defined]
    return notes
