"""What a part is made from: the section of a bar, a plate, or a casting, as a shop writes it."""

import math
import re
from enum import StrEnum
from typing import Annotated, Any, Self

from pydantic import BeforeValidator, Field, PlainSerializer, WithJsonSchema, model_validator

from loopwright.model.base import (
    Context,
    Frozen,
    NonNegativeLength,
    PositiveLength,
    YesNo,
    bare_unit,
    for_file,
    mistake,
    read_quantity,
    short,
    write_quantity,
)
from loopwright.units import Dimension


class Form(StrEnum):
    """Form in which material is bought."""

    ROUND = "round"
    SQUARE = "square"
    HEXAGON = "hexagon"
    FLAT = "flat"
    TUBE = "tube"
    PLATE = "plate"
    CASTING = "casting"


_SIZES = {
    Form.ROUND: ("diameter",),
    Form.SQUARE: ("side",),
    Form.HEXAGON: ("width across flats",),
    Form.FLAT: ("width", "thickness"),
    Form.TUBE: ("outside diameter", "wall"),
    Form.PLATE: ("thickness",),
    Form.CASTING: (),
}
_EXAMPLES = "write round 60, square 40, hexagon 24, flat 60 x 20, tube 60 x 5, plate 12, or casting"


class Section(Frozen):
    """The section of a bar, the thickness of a plate, or a casting.

    >>> Section(form="flat", sizes=(60.0, 20.0)).area
    1200.0
    """

    form: Form
    """Its form."""
    sizes: tuple[float, ...] = ()
    """Its sizes in the order in which they are written (inside: mm)."""

    @model_validator(mode="after")
    def _sound(self) -> Self:
        wanted = _SIZES[self.form]
        if len(self.sizes) != len(wanted):
            many = "no size" if not wanted else " and ".join(wanted)
            raise mistake(f"'{self.form}' with {len(self.sizes)} sizes", f"it takes {many}: {_EXAMPLES}")
        if any(size <= 0 for size in self.sizes):
            raise mistake("a size is not above zero", "give sizes above zero")
        if self.form is Form.TUBE and 2 * self.sizes[1] >= self.sizes[0]:
            raise mistake("the walls of the tube meet", "give outside diameter x wall, such as tube 60 x 5")
        return self

    @property
    def area(self) -> float:
        """Area across the bar, mm²; nought for a plate or a casting, which have none."""
        match self.form, self.sizes:
            case Form.ROUND, (d,):
                return math.pi * d * d / 4
            case Form.SQUARE, (a,):
                return a * a
            case Form.HEXAGON, (a,):
                return math.sqrt(3) / 2 * a * a
            case Form.FLAT, (width, thickness):
                return width * thickness
            case Form.TUBE, (d, wall):
                return math.pi * wall * (d - wall)
        return 0.0

    @property
    def is_bar(self) -> bool:
        """It is sawn to length."""
        return self.area > 0


def _read_section(value: Any, info: Context) -> Any:
    if not isinstance(value, str):
        return value
    word, _, rest = value.strip().partition(" ")
    if word not in tuple(Form):
        raise mistake(f"{short(value)} is no section", _EXAMPLES)
    texts = re.split(r"\s*[x×]\s*(?=[\d.])", rest.strip()) if rest.strip() else []
    unit = next((t.lstrip("+-0123456789./ ") for t in texts[-1:]), "")
    # '60 x 20 mm' gives its unit once, at the end
    texts = [t if t.lstrip("+-0123456789./ ") or not unit else f"{t} {unit}" for t in texts]
    sizes = tuple(read_quantity(_number_or_text(t), info, Dimension.LENGTH) for t in texts)
    return {"form": word, "sizes": sizes}


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


def _write_section(section: Section, info: Context) -> Any:
    if not for_file(info):
        return section.model_dump(mode="json")
    sizes = [write_quantity(size, Dimension.LENGTH, info) for size in section.sizes]
    unit = bare_unit(info, Dimension.LENGTH)
    bare = not any(isinstance(size, str) for size in sizes)
    texts = [f"{size:.12g}" if bare else _with_unit(size, unit) for size in sizes]
    return " ".join([section.form.value, " x ".join(texts)]).strip()


def _with_unit(size: str | float, unit: str | None) -> str:
    return size if isinstance(size, str) else f"{size:.12g} {unit}"


SectionField = Annotated[
    Section,
    BeforeValidator(_read_section),
    PlainSerializer(_write_section, when_used="json"),
    WithJsonSchema(
        {"type": "string", "description": "section: 'round 60', 'flat 60 x 20', 'plate 12', 'casting'"}
    ),
]


class Blank(Frozen):
    """What a part is cut from."""

    section: SectionField
    """Section of the bar, thickness of the plate, or casting."""
    length: PositiveLength | None = None
    """Length to saw to; left out: found from the route."""
    width: PositiveLength | None = None
    """Of a piece of plate, its other side."""
    along: Annotated[str | None, Field(pattern=r"^[XYZ]$")] = None
    """Direction of the part in which the bar runs; left out: that of the sawn faces."""
    pieces: Annotated[int, Field(ge=1, le=10_000)] = 1
    """So many parts are cut from one blank."""
    grip: NonNegativeLength = 0.0
    """Length to hold it by, turned off or parted off in the end."""


class Bar(Frozen):
    """Material in the shop, or as it can be bought."""

    material: str
    """Name of its material."""
    section: SectionField
    """Its section."""
    length: PositiveLength
    """Length of a bar, or of one side of a plate."""
    width: PositiveLength | None = None
    """The other side of a plate."""
    pieces: Annotated[int, Field(ge=0, le=100_000)] = 1
    """So many are there; what can be bought does not end."""
    buy: YesNo = False
    """It is not in the shop and can be bought."""
    price: Annotated[float | None, Field(ge=0)] = None
    """Of one bar, in the shop's own money."""
    faced: YesNo = False
    """Its end is already clean, as that of an off-cut from the saw."""
    note: str | None = None
    """Where it lies, or who sells it."""
