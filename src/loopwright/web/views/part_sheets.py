"""Sheets of one part on paper: which kinds there are, and the PDF made in the back room."""

from loopwright.errors import RequestError
from loopwright.sheets.markup import Markup, joined, tag
from loopwright.sheets.paper import PAPERS
from loopwright.sheets.printing import Asked, Printed, printed
from loopwright.sheets.shop_sizes import WISHES
from loopwright.web.views.kit import choice, link, paper, row
from loopwright.web.views.making import made_head, part_of, without_route
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

KINDS = ("traveller", "inspection", "setup", "labels")
"""Kinds that are of one part."""


def sheets(work: Work, reader: Reader, name: str) -> Markup:
    """The sheets of a part.

    Args:
        work: the open book.
        reader: who looks.
        name: of the part.

    Raises:
        RequestError: there is no such part.
    """
    found = part_of(work, name)
    if not found.route:
        return without_route(name, found, "sheets")
    papers = {one: say(f"part_sheets.paper_{one}") for one in PAPERS}
    wishes = {"": say("part_sheets.units_build"), **{one: say(f"part_sheets.units_{one}") for one in WISHES}}
    return joined(
        made_head(name, "sheets"),
        paper(
            None,
            tag(
                "form",
                tag(
                    "div",
                    choice(say("part_sheets.paper"), "paper", papers, keep="sheets/paper"),
                    choice(
                        say("part_sheets.units"), "units", wishes, value=reader.units, keep="sheets/units"
                    ),
                    class_="fields",
                ),
                tag("ul", *[_kind(kind) for kind in KINDS], class_="part-sheets"),
                data_act="part sheets",
                data_after="stay",
                id="part-sheets",
            ),
            tag("p", say("part_sheets.told"), class_="note"),
            row(link(say("part_sheets.all"), "/making/sheets", quiet=True)),
        ),
    )


def _kind(kind: str) -> Markup:
    return tag(
        "li",
        tag("div", tag("h2", say(f"part_sheets.{kind}")), tag("p", say(f"part_sheets.{kind}_told"))),
        tag(
            "button",
            say("part_sheets.make"),
            type="button",
            data_act="part sheets",
            data_kind=kind,
            data_form="part-sheets",
            class_="first",
            aria_label=say("part_sheets.make_of", kind=say(f"part_sheets.{kind}")),
        ),
    )


def pdf_of_part(
    work: Work, reader: Reader, name: str, kind: str, size: str, wish: str, *, telling: Telling
) -> Printed:
    """One kind of sheet of a part, as PDF; long.

    Args:
        work: the open book.
        reader: who asks.
        name: of the part.
        kind: of ``KINDS``.
        size: of paper.
        wish: units, or '' for those of the build.
        telling: how far it is, and whether it was stopped.

    Raises:
        RequestError: there is no such part, kind or paper, or there is nothing to print.
    """
    part_of(work, name)
    if kind not in KINDS or size not in PAPERS or wish not in ("", *WISHES):
        raise RequestError(say("part_sheets.no_such"), say("part_sheets.no_such_remedy"))
    asked = Asked((kind,), (name,), PAPERS[size], wish or None, booked=True)
    found = next(printed(work.bench.build, asked, progress=telling.progress, cancelled=telling.cancelled))
    if found.why:
        raise RequestError(found.why, say("part_sheets.nothing_remedy"))
    return found
