"""Reading and writing the build file. Mistakes come back as data, all at once."""

from loopwright.buildfile.editing import changed, set_value
from loopwright.buildfile.reading import Examined, examine, examine_file, read_file, read_text
from loopwright.buildfile.schema import json_schema
from loopwright.buildfile.writing import write_text

__all__ = [
    "Examined",
    "changed",
    "examine",
    "examine_file",
    "json_schema",
    "read_file",
    "read_text",
    "set_value",
    "write_text",
]
