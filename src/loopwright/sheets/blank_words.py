"""Words about blanks: where their size comes from, and how good a saw list is."""

from loopwright.model.blanks import Form
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.sheets.shown import percent
from loopwright.studies.blank_records import Piece, Proven


def money(value: float) -> str:
    """An amount in the shop's own money: '38', '38.50'.

    >>> money(38.0), money(1238.5)
    ('38', '1,238.50')
    """
    return f"{value:,.2f}".removesuffix(".00")


def source_words(one: Piece, sizes: ShopSizes) -> str:
    """Where the size of a blank comes from; '' where it is stated. First, whether the section is too small."""
    return "; ".join(filter(None, (_too_small(one, sizes), _from(one, sizes))))


def _too_small(one: Piece, sizes: ShopSizes) -> str:
    if one.too_small is None:
        return ""
    needs, has = (sizes.length(size) for size in one.too_small)
    return f"the section is too small: the route needs {needs} across, the bar gives {has}"


def _from(one: Piece, sizes: ShopSizes) -> str:
    if one.base is None or one.source in ("", "stated"):
        return ""
    held = f", {sizes.about(one.grip)} to hold it by" if one.grip else ""
    if one.source == "saw":
        return f"length from the route, op {one.op}{held}"
    if one.source == "blank":
        return f"length from the tolerance chart{held}"
    ends = f"{sizes.about(one.base)} and {sizes.about(one.added)} to clean up its ends"
    if one.source == "cuts":
        return f"length worked out: as first cut {ends}{held}"
    return f"length guessed: finished {ends}{held}; longer than its dims say? state length under {one.field}"


def amount(value: float, one: Proven, sizes: ShopSizes) -> str:
    """What is bought as it counts: money, a length of bar, or an area of sheet."""
    if one.priced:
        return money(value)
    if one.section.form is not Form.PLATE:
        return f"{sizes.about(value)} of bar"
    return f"{value / 645.16:.0f} in² of sheet" if sizes.unit == "in" else f"{value / 1e6:.3f} m² of sheet"


def proof_words(one: Proven, sizes: ShopSizes) -> str:
    """How good the list of one section is, in words."""
    across = " among lists whose strips run right across the sheet" if one.section.form is Form.PLATE else ""
    if one.bought <= 0:
        return "Nothing has to be bought." + _spare(one)
    counted = "" if one.priced else "; not every price is stated, so the least is bought"
    bought = amount(one.bought, one, sizes)
    if one.proven:
        return f"To buy: {bought}{counted}. No list buys less{across}: proven." + _spare(one)
    bound = amount(one.bound, one, sizes)
    return (
        f"To buy: {bought}{counted}. No list buys less than {bound}{across}, so this one is at most "
        f"{percent(one.gap)} too dear; it is not proven to be the best."
    )


def _spare(one: Proven) -> str:
    """The second aim: what is left of the shop's own stock."""
    return "" if one.spare <= 0 else " That your own stock could not be used still better is not proven."
