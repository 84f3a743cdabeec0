"""The machine: move its axes, pick what is on it."""

import json
from dataclasses import dataclass, field

from nicegui import ui

from loopwright.errors import LoopwrightError
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.pages import Page
from loopwright.web.views import machine as views

AXIS = 8
"""An axis letter has at most so many signs; what is longer in an address is not one."""


@dataclass
class _Look:
    """What one open page shows.

    Attributes:
        pose: axis positions, mm or rad; those not named stand in the middle of their travel.
        target: whose error is shown; None takes the first.
        picked: what is picked.
        sequence: counts what the drawing asked for, so that it knows which answer it has.
        refused: axis whose typed position could not be taken.
    """

    pose: dict[str, float] = field(default_factory=dict)
    target: str | None = None
    picked: str = ""
    sequence: str = "0"
    refused: str = ""


async def machine(desk: Desk, joint: str = "") -> None:
    """The machine at a pose, with one thing picked."""
    look = _Look(picked=f"joint/{joint}" if joint else desk.query.get("pick", ""))
    look.target = desk.query.get("target")
    typed = {letter: text for letter, text in desk.query.items() if letter.isupper() and len(letter) < AXIS}
    ask = desk.ask(views.pose_for, typed) if typed else desk.ask(views.place_for, "worst", look.target)
    look.pose = await ask
    with ui.element("div").classes("machine-page"):
        stage = await desk.still(views.stage, look.pose, look.target)
        now = await desk.region(views.now, *_now(look))
        tree = await desk.region(views.tree, look.picked)
    _Acts(desk, look, stage, now, tree).join()


def _now(look: _Look) -> tuple[dict[str, float], str | None, str, str, str]:
    return look.pose, look.target, look.picked, look.sequence, look.refused


@dataclass
class _Acts:
    """What the forms and buttons of the page do."""

    desk: Desk
    look: _Look
    stage: Region
    now: Region
    tree: Region

    def join(self) -> None:
        for name, handler in (
            ("machine pose", self.moved),
            ("machine go", self.went),
            ("machine target", self.asked),
            ("machine pick", self.picked),
            ("machine lines", self.lines),
        ):
            self.desk.on(name, handler, role="read")

    async def moved(self, act: Act) -> None:
        """The axes were moved, by a slider or by typing."""
        self.look.sequence, self.look.refused = act.text("sequence"), ""
        typed = {str(letter): str(text) for letter, text in json.loads(act.text("pose") or "{}").items()}
        try:
            self.look.pose = await self.desk.ask(views.pose_for, typed)
        except LoopwrightError:
            self.look.refused = act.text("axis")
            raise
        finally:
            await self.desk.redraw(self.now, *_now(self.look))

    async def went(self, act: Act) -> None:
        """To a pose by its name."""
        self.look.pose = await self.desk.ask(views.place_for, act.text("to"), self.look.target)
        await self.desk.redraw(self.now, *_now(self.look))

    async def asked(self, act: Act) -> None:
        """Another target."""
        self.look.target = act.text("value")
        await self.desk.redraw(self.now, *_now(self.look))

    async def picked(self, act: Act) -> None:
        """Another thing."""
        self.look.picked = act.text("of")
        await self.desk.redraw(self.now, *_now(self.look))
        await self.desk.redraw(self.tree, self.look.picked)
        if self.look.picked:
            self.desk.reveal(self.now, narrow=True)

    async def lines(self, act: Act) -> None:
        """The description changed: other lines."""
        await self.desk.redraw(self.stage, self.look.pose, self.look.target)


PAGES = (
    Page("/machine", "machine.title", machine, letter="m"),
    Page("/machine/{joint}", "machine.title", machine, listed=False),
)
