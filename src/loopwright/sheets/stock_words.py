"""Stock to leave in words and numbers, in the user's units."""

from collections.abc import Iterator

from loopwright import units
from loopwright.handbook.bands import Band
from loopwright.sheets.shown import percent
from loopwright.studies.stock_hardening import Hardening
from loopwright.studies.stock_sheet import Cause, StockSheet, SurfaceStock
from loopwright.units import Dimension

FINER = 5
"""Dims and what they come from are told so much finer than the stock is rounded."""
_NUMBERS = "two three four five six seven eight nine ten".split()
_ROUND = "\N{LATIN CAPITAL LETTER O WITH STROKE}"


class StockWords:
    """Says what a sheet of stock to leave found.

    Args:
        sheet: what was found.
    """

    def __init__(self, sheet: StockSheet) -> None:
        self.sheet, self.units = sheet, sheet.units

    def size(self, value: float, step: float) -> str:
        """A length to the place of a step: '0.42 mm'."""
        return units.format_value(value, Dimension.LENGTH, self.units.length, uncertainty=step, digits=1)

    def sizes(self, low: float, high: float, step: float) -> str:
        """From one length to another: '0.42 to 0.48 mm'."""
        first, last = self.size(low, step), self.size(high, step)
        return last if first == last else f"{first.rpartition(' ')[0]} to {last}"

    def leave(self, one: SurfaceStock) -> str:
        """What to leave: 'leave 0.25 to 0.30 mm on diameter; with 0.13 mm one ring in five will not clean up'."""
        where = "on diameter" if one.on_diameter else "on the face"
        stock = self.sizes(one.leave_low, one.leave_high, one.step)
        if one.before is None:
            said = f"{stock} {where} has to come off the {_blank(one)}"
        else:
            said = f"leave {stock} {where}"
        if one.fails_stock is None:
            return said
        fails = self.size(one.fails_stock, one.step)
        return f"{said}; with {fails} {one_in(one.fails_share, self.sheet.noun)} will not clean up"

    def work_to(self, one: SurfaceStock) -> str:
        """The dim to work to before: 'op 20: rim to Ø60.320 to 60.380 mm; it grows by 0.09 mm afterwards'."""
        if one.blank is not None:
            side = "at least" if one.faces == "outside" else "at most"
            return f"the bar: {side} {_ROUND}{self.size(one.blank, one.step / FINER)}"
        to = one.work_to
        if to is None:
            return ""
        limits = self.sizes(to.low, to.high, one.step / FINER)
        where = f" from {to.measured_from}" if to.measured_from else ""
        said = f"op {to.op}: {to.surface} to {_ROUND if not to.measured_from else ''}{limits}{where}"
        if one.grows:
            change = "grows" if one.grows > 0 else "shrinks"
            said += (
                f"; it {change} by {self.size(abs(one.grows), one.step / FINER)} afterwards, as is expected"
            )
        return said

    def written(self, one: SurfaceStock) -> str:
        """What the working dim in the route leaves; '' where none stands there."""
        if one.written is None:
            return ""
        left = self.sizes(one.written.low, one.written.high, one.step / FINER)
        chance = percent(one.written.chance)
        return f"as the route has it, {left} is left: {chance} of them clean up"

    def minutes(self, one: SurfaceStock) -> str:
        """What more stock costs; '' where it is not ground."""
        if one.minutes is None:
            return ""
        extra = units.format_value(one.minutes.extra, Dimension.LENGTH, self.units.length, digits=2)
        low, high = one.minutes.low, one.minutes.high
        return f"each {extra} more takes {low:.2g} to {high:.2g} min to grind off (estimate: {one.minutes.words})"

    def customary(self, one: SurfaceStock) -> str:
        """The customary stock beside the computed; '' where none is known."""
        if one.customary is None:
            return ""
        band = self.sizes(one.customary.low, one.customary.high, one.step)
        least = self.size(one.least, one.step)
        verdict = {
            "inside": "inside",
            "under": "less than that would do here",
            "over": "more than that is needed here",
        }[one.customary_says]
        return (
            f"customary {band} ({one.customary.source}); {least} is {verdict}"
            if verdict == "inside"
            else (f"customary {band} ({one.customary.source}); {verdict}: {least}")
        )

    def cause(self, cause: Cause, step: float) -> tuple[str, str]:
        """How a cause is spread, and by how much less stock would do without it."""
        fine = step / FINER
        if cause.shape in ("between", "factor", "known"):
            spread = self.sizes(cause.low, cause.high, fine)
        elif cause.shape == "normal":
            spread = f"± {self.size(2 * cause.std, fine)}"
        else:
            spread = f"up to {self.size(2 * cause.std, fine)}"
        return spread, self.size(cause.takes, fine)

    def temperature(self, degc: float) -> str:
        """A temperature: '788 degC'."""
        return units.format_value(degc, Dimension.TEMPERATURE, self.units.temperature, digits=3)

    def temperatures(self, band: Band) -> str:
        """A range of temperatures: '788 to 816 degC'."""
        first, last = self.temperature(band.low), self.temperature(band.high)
        return last if first == last else f"{first.rpartition(' ')[0]} to {last}"

    def hardening(self, one: Hardening) -> Iterator[str]:
        """How the part is hardened and tested, line by line."""
        if one.harden_degc is not None:
            yield f"furnace {self.temperatures(one.harden_degc)}{self._soak(one)} ({one.harden_degc.source})"
        if one.quench_to_degc is not None:
            yield f"quench in {one.quench}; out and temper at once at {self.temperatures(one.quench_to_degc)}"
        if one.as_quenched_hrc is not None:
            shows = numbers(one.as_quenched_hrc)
            failed = "under it the hardening has failed, and no temper mends it"
            yield f"as quenched the test must show {shows} HRC; {failed}"
        yield from self._temper(one)
        grows = one.growth
        low, high, mean = (f"{100 * v:.2g}" for v in (grows.low, grows.high, grows.mean))
        yield f"all lengths change by {low} to {high} %, {mean} % expected ({grows.source})"
        if one.relief is not None:
            degc = self.temperatures(one.relief.degc)
            yield f"stress relief between roughing and finishing: {degc} ({one.relief.degc.source})"
        yield from self._tested(one)

    def _soak(self, one: Hardening) -> str:
        if one.soak_min is None or one.section is None:
            return ""
        section = units.format_value(one.section, Dimension.LENGTH, self.units.length, digits=3)
        through = {"through": ", hard all through", "doubtful": ", doubtful whether hard all through"}
        depth = through.get(one.through, ", hard in the skin only")
        return f", {numbers(one.soak_min)} min at heat for a section of {section}{depth}"

    def _temper(self, one: Hardening) -> Iterator[str]:
        times = {0: "", 1: ", once", 2: ", twice"}.get(one.tempers, f", {one.tempers} times")
        hours = "" if one.temper_h is None else f", {numbers(one.temper_h)} h{times}"
        if one.aim is not None and one.temper_degc is not None:
            aim = f"{one.aim.low:g} to {one.aim.high:g} {one.aim.scale}"
            yield f"temper for {aim}: {self.temperatures(one.temper_degc)}{hours} ({one.temper_degc.source})"
        if one.temper_written_degc is not None and one.tempered_hrc is not None:
            degc, shows = self.temperature(one.temper_written_degc), numbers(one.tempered_hrc)
            yield f"the route tempers at {degc}: expect {shows} HRC"
        if one.aim is not None:
            yield (
                f"after op {one.aim.op} the test must show {one.aim.low:g} to {one.aim.high:g} {one.aim.scale}; "
                "too hard: temper again, hotter; too soft: harden again"
            )

    def _tested(self, one: Hardening) -> Iterator[str]:
        if one.tested is None:
            return
        thickness = units.format_value(one.tested.thickness, Dimension.LENGTH, self.units.length, digits=3)
        if not one.tested.usable:
            yield f"{thickness} is too thin for any test here: treat a witness piece of the same bar with it"
            return
        said = f"on {thickness} may be tested by {', '.join(one.tested.usable)}"
        if one.tested.spacing is not None:
            between, edge = (
                units.format_value(v, Dimension.LENGTH, self.units.length, digits=2)
                for v in (one.tested.spacing.between, one.tested.spacing.to_edge)
            )
            said += f"; {one.tested.usable[0]} indentations {between} apart, {edge} from an edge"
        yield said


def _blank(one: SurfaceStock) -> str:
    return "bar" if one.blank is not None else "blank"


def one_in(share: float, noun: str) -> str:
    """A share as people say it: 'one ring in five'.

    >>> one_in(0.2, "ring"), one_in(0.5, "part")
    ('one ring in five', 'one part in two')
    """
    count = round(1 / share)
    return f"one {noun} in {_NUMBERS[count - 2] if count <= 10 else count}"


def numbers(band: Band) -> str:
    """A range without a unit: '20 to 30'."""
    low, high = f"{band.low:.3g}", f"{band.high:.3g}"
    return low if low == high else f"{low} to {high}"
