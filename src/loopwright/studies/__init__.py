"""One function for each question that the tool answers; every face shows what these return."""

from loopwright.buildfile import examples
from loopwright.loop import Loop
from loopwright.studies.checking import check_file, check_text, load, load_text
from loopwright.studies.standing import standing, standing_of_file, what_if


def example_loop(name: str) -> Loop:
    """The loop of a shipped example, for trying things out.

    Raises:
        RequestError: there is no example of that name.
    """
    return load_text(examples.text(name), name)


__all__ = [
    "check_file",
    "check_text",
    "example_loop",
    "load",
    "load_text",
    "standing",
    "standing_of_file",
    "what_if",
]
