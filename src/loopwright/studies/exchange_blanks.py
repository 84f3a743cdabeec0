"""Blanks and the saw list as plain data."""

from collections.abc import Mapping

from loopwright import units
from loopwright.handbook.cautions import DEFERS, caution
from loopwright.model.blanks import Form, Section
from loopwright.studies.after_sawing import AfterSawing
from loopwright.studies.blank_records import CutStrip, Offcut, Order, Piece, Proven, SawList, Sawn, SawnSheet
from loopwright.studies.exchange_bench import Data, Plain, number
from loopwright.units import Dimension

_LENGTH = Dimension.LENGTH


def blanks_as_data(
    found: SawList, after: AfterSawing | None = None, entry: int | None = None, revision: int | None = None
) -> Data:
    """Blanks, what they come off, what to buy and to keep, format loopwright-blanks/1.

    Args:
        found: the saw list.
        after: the description after sawing, where that was asked for.
        entry: of the book in which that was saved; None where it was not.
        revision: its number.
    """
    told = _Told(Plain(found.units))
    return {
        "format": "loopwright-blanks/1",
        "build": found.build,
        "size_unit": told.plain.size_unit(_LENGTH),
        "mass_unit": found.units.mass,
        "saw": {
            "kerf": told.size(found.saw.kerf),
            "grip": told.size(found.saw.grip),
            "facing": told.size(found.saw.end_loss),
            "shortest_kept": told.size(found.saw.least_offcut),
        },
        "pieces": [told.piece(one, found) for one in found.pieces],
        "bars": [told.bar(one) for one in found.bars],
        "sheets": [told.sheet(one) for one in found.sheets],
        "proofs": [told.proof(one) for one in found.proofs],
        "proven": all(one.proven for one in found.proofs),
        "buy": [told.order(one) for one in found.orders],
        "price": found.price,
        "mass": told.mass(found.mass),
        "offcuts": [told.offcut(one) for one in found.offcuts],
        "unplanned": [
            {"material": material, "section": told.section(section), "why": why}
            for material, section, why in found.unplanned
        ],
        "sawn_already": list(found.sawn),
        "made_already": list(found.finished),
        "castings": list(found.castings),
        "no_blank": list(found.unknown),
        "cautions": [
            {"hazard": one.hazard, "texts": list(one.texts), "source": one.source}
            for one in map(caution, found.hazards)
        ],
        "cautions_defer": DEFERS,
        "after": None if after is None else _after(after, entry, revision),
    }


def _after(after: AfterSawing, entry: int | None, revision: int | None) -> Data:
    def counted(many: Mapping[str, int]) -> list[Data]:
        return [{"name": name, "count": count} for name, count in many.items()]

    return {
        "used": counted(after.used),
        "bought": counted(after.bought),
        "kept": [one.name for one in after.kept],
        "sawn": list(after.sawn),
        "section": after.section,
        "entry": entry,
        "revision": revision,
    }


class _Told:
    """Writes what a saw list says in the units of its build."""

    def __init__(self, plain: Plain) -> None:
        self.plain = plain

    def size(self, value: float) -> float | None:
        return self.plain.size(value, _LENGTH)

    def maybe(self, value: float | None) -> float | None:
        return None if value is None else self.size(value)

    def mass(self, value: float | None) -> float | None:
        if value is None:
            return None
        return number(float(units.convert(value, Dimension.MASS, self.plain.units.mass)))

    def section(self, one: Section) -> Data:
        return {"form": one.form.value, "sizes": [self.size(size) for size in one.sizes]}

    def piece(self, one: Piece, found: SawList) -> Data:
        planned = bool(found.planned & set(one.parts))
        why = {(material, section): words for material, section, words in found.unplanned}
        return {
            "parts": list(one.parts),
            "marks": [mark or None for mark in one.marks],
            "material": one.material or None,
            "condition": one.condition or None,
            "section": self.section(one.section),
            "length": self.maybe(one.length),
            "length_within": self.size(one.within),
            "width": self.maybe(one.width),
            "width_within": self.size(one.width_within),
            "to_hold_by": self.size(one.grip),
            "count": one.pieces,
            "op": one.op or None,
            "machine": one.machine or None,
            "mass": self.mass(one.mass),
            "size_from": one.source or None,
            "worked_out_from": self.maybe(one.base),
            "added_for_ends": self.size(one.added),
            "section_too_small": None
            if one.too_small is None
            else [self.size(size) for size in one.too_small],
            "planned": planned,
            "why_not": None if planned else why.get((one.material, one.section)),
        }

    def bar(self, one: Sawn) -> Data:
        return {
            "bar": one.bar,
            "number": one.number,
            "material": one.material,
            "section": self.section(one.section),
            "length": self.size(one.length),
            "buy": one.buy,
            "note": one.note or None,
            "cuts": [
                {
                    "part": cut.part,
                    "mark": cut.mark or None,
                    "length": self.size(cut.length),
                    "within": self.size(cut.within),
                    "from_faced_end": self.size(cut.at),
                }
                for cut in one.cuts
            ],
            "rest": self.size(one.rest),
            "kept": one.kept,
        }

    def sheet(self, one: SawnSheet) -> Data:
        return {
            "sheet": one.sheet,
            "number": one.number,
            "material": one.material,
            "section": self.section(one.section),
            "length": self.size(one.length),
            "width": self.size(one.width),
            "buy": one.buy,
            "note": one.note or None,
            "strips_along_length": one.along,
            "off_each_edge": self.size(one.edge),
            "strips": [self.strip(strip) for strip in one.strips],
            "rest": None if one.rest is None else [self.size(side) for side in one.rest],
            "kept": one.kept,
        }

    def strip(self, one: CutStrip) -> Data:
        return {
            "begins": self.size(one.start),
            "width": self.size(one.width),
            "pieces": [
                {
                    "part": piece.part,
                    "mark": piece.mark or None,
                    "begins": self.size(piece.start),
                    "along_strip": self.size(piece.run),
                    "across_strip": self.size(piece.rise),
                }
                for piece in one.pieces
            ],
            "rest": self.size(one.rest),
            "kept": one.kept,
        }

    def proof(self, one: Proven) -> Data:
        flat = one.section.form is Form.PLATE
        factor = float(units.factor(self.plain.size_unit(_LENGTH), _LENGTH))
        by = 1.0 if one.priced else factor**2 if flat else factor
        return {
            "material": one.material,
            "section": self.section(one.section),
            "counted_by": "price" if one.priced else "area" if flat else "length",
            "bought": one.bought / by,
            "bound": one.bound / by,
            "gap": one.gap,
            "proven": one.proven,
            "how": one.how,
            "own_stock_unproven": one.spare / (factor**2 if flat else factor),
        }

    def order(self, one: Order) -> Data:
        return {
            "name": one.name,
            "material": one.material,
            "section": self.section(one.section),
            "length": self.size(one.length),
            "width": self.maybe(one.width),
            "count": one.count,
            "price_each": one.price,
            "mass": self.mass(one.mass),
            "note": one.note or None,
        }

    def offcut(self, one: Offcut) -> Data:
        return {
            "name": one.name,
            "of": one.of,
            "number": one.number,
            "material": one.material,
            "section": self.section(one.section),
            "length": self.size(one.length),
            "width": self.maybe(one.width),
            "mass": self.mass(one.mass),
        }
