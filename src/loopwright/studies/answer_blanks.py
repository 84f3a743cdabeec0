"""JSON Schema of the answer about blanks and the saw list."""

from collections.abc import Iterator

from loopwright.model.blanks import Form
from loopwright.studies.answer_fields import (
    Answer,
    Schema,
    answer,
    count,
    flag,
    listed,
    number,
    pair,
    record,
    share,
    size,
    text,
    unit,
)
from loopwright.studies.blank_records import SOURCES

_MASS, _MONEY = "a number in 'mass_unit'", "a number in the shop's own money"
_AS_COUNTED = "a number as 'counted_by' says"


def about_blanks() -> Iterator[Answer]:
    """What the command about blanks answers.

    >>> [one.name for one in about_blanks()]
    ['blanks']
    """
    yield answer(
        "blanks",
        "blanks",
        "the blanks of the parts, what they are sawn from, what to buy and what to keep",
        build=text("name of the machine"),
        size_unit=unit("every length here"),
        mass_unit=unit("every mass here"),
        saw=record(
            "what sawing takes",
            kerf=size("width of the cut"),
            grip=size("end of a bar that the vice holds"),
            facing=size("what facing a raw end or edge takes"),
            shortest_kept=size("shortest off-cut that is kept; of a sheet its shorter side"),
        ),
        pieces=listed(_piece(), "blanks to be sawn, those alike together"),
        bars=listed(_bar(), "what comes off each bar"),
        sheets=listed(_sheet(), "what comes off each sheet"),
        proofs=listed(_proof(), "how good the list of each section is"),
        proven=flag("no other list buys less of any section"),
        buy=listed(_order(), "what to buy"),
        price=number("of all that is bought", _MONEY, null="a price is not stated", minimum=0),
        mass=number("of all that is bought", _MASS, null="a density is not known", minimum=0),
        offcuts=listed(_offcut(), "what is kept"),
        unplanned=listed(
            record(material=text("its name"), section=_section(), why=text("and what would do")),
            "sections of which some pieces, or all, come off nothing",
        ),
        sawn_already=listed(text(), "parts whose blanks lie ready"),
        made_already=listed(text(), "parts that the book has as made"),
        castings=listed(text(), "parts whose blanks are cast"),
        no_blank=listed(text(), "parts of which nobody has said what they are cut from"),
        cautions=listed(
            record(
                hazard=text("its name"),
                texts=listed(text(), "reminders"),
                source=text("regulation, standard or practice"),
            ),
            "of sawing",
        ),
        cautions_defer=text("what stands under every caution"),
        after=_after(),
    )


def _section() -> Schema:
    return record(
        "section of a bar, or thickness of a plate",
        form=text("of the section", one_of=tuple(Form)),
        sizes=listed(size(), "in the order in which a build file writes them"),
    )


def _piece() -> Schema:
    return record(
        parts=listed(text(), "made from pieces like it"),
        marks=listed(text(null="no mark"), "engraved or stamped on each part"),
        material=text(null="not said"),
        condition=text(null="not said"),
        section=_section(),
        length=size("to saw to, with what it is held by", null="neither blank nor route tells"),
        length_within=size("so much longer or shorter it may be"),
        width=size("of a piece of plate", null="of a bar, or nobody tells"),
        width_within=size("so much wider or narrower it may be"),
        to_hold_by=size("of the length, to hold it by"),
        count=count("how many"),
        op=count("number of the sawing op", null="the route has none"),
        machine=text("of that op", null="not said"),
        mass=number("of all of them", _MASS, null="it cannot be told"),
        size_from=text("where its size comes from", null="nobody tells", one_of=SOURCES[1:]),
        worked_out_from=size("length before anything was added", null="it was not worked out"),
        added_for_ends=size("stock added to it to clean up its ends"),
        section_too_small={
            **pair(
                size(),
                "what the route needs across, and what the section gives; null: it is not too small",
            ),
            "type": ["array", "null"],
        },
        planned=flag("it comes off a bar or a sheet here"),
        why_not=text("why it does not", null="it does"),
    )


def _bar() -> Schema:
    return record(
        bar=text("its name in the shop"),
        number=count("which of that name"),
        material=text("its name"),
        section=_section(),
        length=size(),
        buy=flag("it has to be bought first"),
        note=text("where it lies", null="none"),
        cuts=listed(
            record(
                part=text("that is made from it"),
                mark=text("engraved or stamped on the part", null="none"),
                length=size("to saw to"),
                within=size("so much longer or shorter it may be"),
                from_faced_end=size("where to mark it out"),
            ),
            "in the order of sawing",
        ),
        rest=size("what is left"),
        kept=flag("that is worth keeping"),
    )


def _sheet() -> Schema:
    piece = record(
        part=text("that is made from it"),
        mark=text("engraved or stamped on the part", null="none"),
        begins=size("from the edge, along the strip"),
        along_strip=size("its side along the strip"),
        across_strip=size("its side across; below the strip's width it is cut down once more"),
    )
    strip = record(
        begins=size("from the edge to its near side"),
        width=size(),
        pieces=listed(piece, "in the order of cutting"),
        rest=size("length that is left of it"),
        kept=flag("that is worth keeping"),
    )
    return record(
        sheet=text("its name in the shop"),
        number=count("which of that name"),
        material=text("its name"),
        section=_section(),
        length=size(),
        width=size(),
        buy=flag("it has to be bought first"),
        note=text("where it lies", null="none"),
        strips_along_length=flag("the strips run along its length; else along its width"),
        off_each_edge=size("what comes off each edge first"),
        strips=listed(strip, "right across the sheet, in the order of cutting"),
        rest={**pair(size(), "width and length of what is left beside the strips; null: nothing"),
              "type": ["array", "null"]},
        kept=flag("that is worth keeping"),
    )  # fmt: skip


def _proof() -> Schema:
    return record(
        material=text("its name"),
        section=_section(),
        counted_by=text(
            "what is made least; length or area where a price is not stated",
            one_of=("price", "length", "area"),
        ),
        bought=number("what this list buys", _AS_COUNTED, minimum=0),
        bound=number("no list buys less; of sheets, none with strips right across", _AS_COUNTED, minimum=0),
        gap=share("by how much of what it buys the list may be too dear; 0 is proven"),
        proven=flag("no list buys less"),
        how=text("how the bound was reached"),
        own_stock_unproven=number(
            "what better use of the shop's own stock might save at most", "in 'size_unit', of sheets squared"
        ),
    )


def _order() -> Schema:
    return record(
        name=text("of what is offered"),
        material=text("its name"),
        section=_section(),
        length=size("of one"),
        width=size("of one sheet", null="a bar"),
        count=count("how many"),
        price_each=number("of one", _MONEY, null="not stated"),
        mass=number("of all of them", _MASS, null="it cannot be told"),
        note=text("who sells it", null="none"),
    )


def _offcut() -> Schema:
    return record(
        name=text("that it gets in the shop"),
        of=text("bar or sheet that it is left of"),
        number=count("which of that name"),
        material=text("its name"),
        section=_section(),
        length=size(),
        width=size("of what is left of a sheet", null="a bar"),
        mass=number("of it", _MASS, null="it cannot be told"),
    )


def _after() -> Schema:
    counted = record(name=text("in the shop"), count=count("how many"))
    return record(
        "the description when everything is sawn",
        null="that was not asked for",
        used=listed(counted, "bars and sheets of the shop that are gone"),
        bought=listed(counted, "what was bought and sawn up"),
        kept=listed(text(), "off-cuts that the shop has now"),
        sawn=listed(text(), "parts whose blanks lie ready now"),
        section=text("bars and sawn blanks of the shop then, as they stand in a build file"),
        entry=count("of the book in which it was saved", null="nothing was saved: a build file was asked"),
        revision=count("number of that description", null="nothing was saved"),
    )
