"""All kinds of sheets of the shop, asked for by name and handed over as PDF."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from loopwright.errors import Cancelled, RequestError
from loopwright.model.build import Build
from loopwright.sheets.buy_list import buy_list_pdf
from loopwright.sheets.fit_up_sheet import fit_up_pdf
from loopwright.sheets.inspection import inspections_pdf
from loopwright.sheets.label_sheet import Grid, labels_pdf
from loopwright.sheets.paper import A4, Paper, pages_in
from loopwright.sheets.saw_list import saw_list_pdf
from loopwright.sheets.setup_sheet import setups_pdf
from loopwright.sheets.shop_sizes import ShopSizes
from loopwright.sheets.tool_list import tool_list_pdf
from loopwright.sheets.traveller import travellers_pdf
from loopwright.studies.blank_lists import buy_list, saw_list
from loopwright.studies.fit_up_sheet import fit_up_sheet
from loopwright.studies.setup_sheets import setups
from loopwright.studies.shop_lists import labels, tool_list
from loopwright.studies.shop_sheets import chosen_parts, inspections, travellers

Progress = Callable[[int, int | None], None]
Cancel = Callable[[], bool]

KINDS = {
    "traveller": "what goes with a part or a matched set through the shop",
    "inspection": "what is measured on a finished part",
    "setup": "what is set up on each machine",
    "fit-up": "the steps of assembly",
    "saw": "which piece from which bar",
    "labels": "labels of parts",
    "tools": "the tools that open ops need",
    "buy": "material and parts to buy",
}
"""Kinds of sheets, and what each is."""


@dataclass(frozen=True)
class Asked:
    """What is to be printed.

    Attributes:
        kinds: of ``KINDS``; empty for all.
        parts: names; empty for all.
        paper: that it is printed on.
        units: one of ``WISHES``, or None for those of the build.
        each: one PDF for each part, set or machine rather than one for each kind.
        booked: the build has a book, so that codes open pages.
        finished: parts that are made, whose ops need no tools any more.
        grid: how labels lie on their sheet.
    """

    kinds: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    paper: Paper = A4
    units: str | None = None
    each: bool = False
    booked: bool = False
    finished: frozenset[str] = frozenset()
    grid: Grid = field(default_factory=Grid)


@dataclass(frozen=True)
class Printed:
    """A PDF of one kind.

    Attributes:
        kind: of ``KINDS``.
        of: part or machine; '' where it is of all of them.
        parts: that it is about; empty for lists over all.
        sheets: so many sheets begin in it.
        pages: so many pages it has.
        pdf: itself; empty where nothing is to be printed.
        why: why nothing is to be printed; ''.
    """

    kind: str
    of: str
    parts: tuple[str, ...]
    sheets: int
    pages: int
    pdf: bytes
    why: str = ""


def printed(
    build: Build, asked: Asked, *, progress: Progress | None = None, cancelled: Cancel | None = None
) -> Iterator[Printed]:
    """The sheets that are asked for, one after the other.

    Args:
        build: the build.
        asked: what is to be printed.
        progress: called with the parts and lists worked out and how many there are.
        cancelled: asked now and then; True stops.

    Raises:
        RequestError: there is no such kind or part, or what printing needs is not installed.
        Cancelled: it was stopped.
    """
    for kind in asked.kinds:
        if kind not in KINDS:
            raise RequestError(f"there is no sheet '{kind}'", f"there are: {', '.join(KINDS)}")
    chosen_parts(build, asked.parts)
    sizes = ShopSizes.wished(build.units, asked.units)
    shown = build.model_copy(update={"units": sizes.units})
    kinds = asked.kinds or tuple(kind for kind in KINDS if not (asked.parts and kind == "fit-up"))
    run = _Run(shown, asked, sizes, _Steps(build, asked, kinds, progress, cancelled))
    for kind in kinds:
        run.steps.look()
        yield from run.of(kind)


class _Steps:
    """Counts what is worked out: a part of a traveller or a setup is one step, a list is one."""

    def __init__(
        self,
        build: Build,
        asked: Asked,
        kinds: Sequence[str],
        progress: Progress | None,
        cancelled: Cancel | None,
    ) -> None:
        routed = sum(bool(build.parts[name].route) for name in chosen_parts(build, asked.parts))
        self.wanted = sum(max(routed, 1) if kind in ("traveller", "setup") else 1 for kind in kinds)
        self.done, self.progress, self.cancelled = 0, progress, cancelled

    def look(self) -> None:
        """Stops where that was asked for."""
        if self.cancelled is not None and self.cancelled():
            raise Cancelled(f"stopped after {self.done} of {self.wanted} sheets")

    def one(self, *_: object) -> None:
        """One step more is done."""
        self.look()
        self.done += 1
        if self.progress is not None:
            self.progress(min(self.done, self.wanted), self.wanted)


@dataclass(frozen=True)
class _Run:
    """Prints one kind after the other."""

    build: Build
    asked: Asked
    sizes: ShopSizes
    steps: _Steps

    def of(self, kind: str) -> Iterator[Printed]:
        """The sheets of one kind."""
        match kind:
            case "traveller":
                yield from self._travellers()
            case "inspection":
                found = inspections(self.build, self.asked.parts, booked=self.asked.booked)
                self.steps.one()
                parts = [one.heading.parts for one in found]
                yield from self._several(kind, found, inspections_pdf, parts, "no part has dims")
            case "setup":
                yield from self._setups()
            case "labels":
                yield self._labels()
            case "fit-up":
                yield self._fit_up()
            case "saw":
                yield self._saw()
            case "tools":
                yield self._tools()
            case _:
                yield self._buy()

    def _travellers(self) -> Iterator[Printed]:
        found = travellers(
            self.build, self.asked.parts, booked=self.asked.booked, progress=self.steps.one,
        )  # fmt: skip
        parts = [one.heading.parts for one in found]
        yield from self._several("traveller", found, travellers_pdf, parts, "no part has a route")

    def _setups(self) -> Iterator[Printed]:
        found = setups(self.build, self.asked.parts, booked=self.asked.booked, progress=self.steps.one)
        parts = [tuple(dict.fromkeys(p for setup in one.setups for p in setup.parts)) for one in found]
        names = [one.machine or "no machine" for one in found]
        yield from self._several("setup", found, setups_pdf, parts, "nothing is set up for any route", names)

    def _several(
        self,
        kind: str,
        found: Sequence[Any],
        face: Callable[..., bytes],
        parts: Sequence[tuple[str, ...]],
        why: str,
        names: Sequence[str] | None = None,
    ) -> Iterator[Printed]:
        """One PDF for all of a kind, or one for each."""
        if not found:
            yield Printed(kind, "", (), 0, 0, b"", why)
            return
        if not self.asked.each:
            pdf = face(found, self.sizes, self.asked.paper)
            every = tuple(dict.fromkeys(part for one in parts for part in one))
            yield Printed(kind, "", every, len(found), pages_in(pdf), pdf)
            return
        for number, one in enumerate(found):
            self.steps.look()
            pdf = face([one], self.sizes, self.asked.paper)
            of = names[number] if names is not None else parts[number][0]
            yield Printed(kind, of, parts[number], 1, pages_in(pdf), pdf)

    def _labels(self) -> Printed:
        found = labels(self.build, self.asked.parts, booked=self.asked.booked)
        self.steps.one()
        if not found.labels:
            return Printed("labels", "", (), 0, 0, b"", "there is no part")
        pdf = labels_pdf(found, self.asked.grid, self.asked.paper)
        return Printed(
            "labels", "", tuple(one.part for one in found.labels), pages_in(pdf), pages_in(pdf), pdf
        )

    def _fit_up(self) -> Printed:
        found = fit_up_sheet(self.build, booked=self.asked.booked)
        return self._whole("fit-up", found, fit_up_pdf, found.steps, "the build has no step of assembly")

    def _saw(self) -> Printed:
        found = saw_list(self.build, self.asked.parts, finished=self.asked.finished)
        return self._whole("saw", found, saw_list_pdf, found.pieces, "nothing is to be sawn")

    def _tools(self) -> Printed:
        found = tool_list(self.build, self.asked.parts, finished=self.asked.finished)
        every = (*found.tools, *found.unknown, *found.unnamed)
        return self._whole("tools", found, tool_list_pdf, every, "no open op needs a tool")

    def _buy(self) -> Printed:
        found = buy_list(self.build, self.asked.parts, finished=self.asked.finished)
        every = (*found.needed, *found.bought)
        return self._whole("buy", found, buy_list_pdf, every, "nothing is to be bought")

    def _whole(
        self, kind: str, found: Any, face: Callable[..., bytes], lines: Collection[object], why: str
    ) -> Printed:
        """A list over all parts; none where it has no line."""
        self.steps.one()
        if not lines:
            return Printed(kind, "", (), 0, 0, b"", why)
        pdf = face(found, self.sizes, self.asked.paper)
        return Printed(kind, "", (), 1, pages_in(pdf), pdf)
