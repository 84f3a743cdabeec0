"""Who may come in from the shop's network."""

import asyncio

from loopwright.errors import RequestError
from loopwright.sheets.markup import Markup
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.pages import Page
from loopwright.web.people import People
from loopwright.web.views.people import closed, invitation, people_sheet
from loopwright.web.wording import say
from loopwright.web.work import Reader, Work


async def people(desk: Desk) -> None:
    """Everybody who may come in, and a way to invite others."""
    kept = desk.identity.people
    if kept is None:
        Region(closed(), tag="div", class_="region")
        return
    await _Sheet(desk, kept).build()


class _Sheet:
    def __init__(self, desk: Desk, people: People) -> None:
        self.desk, self.people = desk, people
        self.editor = desk.reader.may("edit")

    async def build(self) -> None:
        """Puts the page together, and says what its forms do."""
        self.invited = Region(invitation("", ""), tag="div", class_="region")
        self.list = Region(await self._everybody(), tag="div", class_="region")
        self.desk.on("people_invite", self._invite, role="edit")
        self.desk.on("people_role", self._role, role="edit")
        self.desk.on("people_remove", self._remove, role="edit")
        self.desk.on("people_passphrase", self._passphrase, role="read")

    async def _everybody(self) -> Markup:
        found = await asyncio.to_thread(self.people.everybody)
        return people_sheet(found, self.desk.reader.who, editor=self.editor)

    async def _invite(self, act: Act) -> None:
        code = await asyncio.to_thread(self.people.invite, act.text("role"))
        reached = self.desk.identity.addresses
        if not reached:
            raise RequestError("this machine has no address in a network", "connect it to the shop's network")
        self.invited.show(await self.desk.ask(_drawn_invitation, code, reached[0]))

    async def _role(self, act: Act) -> None:
        name, role = act.text("name"), act.text("role")
        await asyncio.to_thread(self.people.change, name, role=role)
        self.list.show(await self._everybody())
        self.desk.notice(say("people.changed", name=name, role=say(f"people.role_{role}")))

    async def _remove(self, act: Act) -> None:
        await asyncio.to_thread(self.people.remove, act.text("name"))
        self.list.show(await self._everybody())
        self.desk.notice(say("people.removed", name=act.text("name")))

    async def _passphrase(self, act: Act) -> None:
        wanted = str(act.fields.get("passphrase", ""))
        await asyncio.to_thread(self.people.change, self.desk.reader.who, passphrase=wanted)
        self.desk.notice(say("people.passphrase_changed"))


def _drawn_invitation(work: Work, reader: Reader, code: str, address: str) -> Markup:
    return invitation(code, address)


PAGES = (Page("/people", "people.title", people, letter="e", bookless=True),)
