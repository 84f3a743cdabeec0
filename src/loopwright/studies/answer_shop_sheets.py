"""JSON Schema of the answer to what sheets of the shop were printed."""

from collections.abc import Iterator

from loopwright.studies.answer_fields import Answer, answer, count, listed, record, text


def about_sheets() -> Iterator[Answer]:
    """What the command that prints them answers.

    >>> [one.name for one in about_sheets()]
    ['sheets']
    """
    file = record(
        file=text("its name in the folder"),
        kind=text("kind of sheet"),
        parts=listed(text(), "that it is about; empty for a list over all"),
        sheets=count("how many sheets begin in it"),
        pages=count("how many pages it has"),
        bytes=count("its length"),
    )
    yield answer(
        "sheets",
        "sheets",
        "the sheets of the shop that were printed",
        build=text("name of the machine"),
        paper=text("that they are printed on", one_of=("a4", "letter")),
        files=listed(file, "in the order of printing"),
        left_out=listed(
            record(kind=text("kind of sheet"), why=text("why there is nothing to print")),
            "kinds without a file",
        ),
    )
