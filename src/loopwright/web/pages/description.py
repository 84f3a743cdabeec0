"""The description: changed in forms or as text, looked over, saved as a new revision."""

import asyncio
import json
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, field

from loopwright.buildfile.comparing import Clash
from loopwright.errors import LoopwrightError, RequestError
from loopwright.model.records import Revision
from loopwright.studies import edit_acts
from loopwright.studies.edit_acts import Edited, Splice, splice_between, spliced_on
from loopwright.studies.edit_effect import (
    Described,
    EditEffect,
    Together,
    effect_of_text,
    newest,
    put_together,
    ready_to_save,
)
from loopwright.studies.edit_form import entry_path
from loopwright.web.desk import Act, Desk
from loopwright.web.elements.region import Region
from loopwright.web.longwork import LongWork
from loopwright.web.pages import Page
from loopwright.web.views import description as views
from loopwright.web.views.description import CHANGES, FIELDS, TEXT, VIEWS, Refused, Sheet
from loopwright.web.wording import plural, say
from loopwright.web.work import Reader, Work
from loopwright.web.workshop import Telling

MOST_STEPS = 400
"""So many changes can be taken back."""
ACTS: dict[str, Callable[..., Edited]] = {
    "set": edit_acts.set_field,
    "add": edit_acts.add_entry,
    "field": edit_acts.add_field,
    "append": edit_acts.add_to_list,
    "remove": edit_acts.take_out,
    "rename": edit_acts.name_anew,
}


@dataclass(frozen=True)
class Step:
    """One change: what was done, to what, and the text after it with the splice that leads there."""

    words: str
    path: str
    text: str
    splice: Splice


@dataclass
class Draft:
    """A description as it is being changed on one open page.

    Attributes:
        base: the revision it began with.
        steps: changes, the first first; those after ``position`` were taken back.
        position: how many of them count.
    """

    base: Described
    steps: list[Step] = field(default_factory=list)
    position: int = 0

    @property
    def text(self) -> str:
        """As it is now."""
        return self.steps[self.position - 1].text if self.position else self.base.text

    def take(self, step: Step, *, over: bool = False) -> None:
        """One more change; ``over``: it takes the place of the last one, as somebody types on."""
        del self.steps[self.position :]
        if over and self.steps:
            before = self.steps[-2].text if len(self.steps) > 1 else self.base.text
            self.steps.pop()
            step = Step(step.words, step.path, step.text, splice_between(before, step.text))
        self.steps.append(step)
        if len(self.steps) > MOST_STEPS:
            first, second = self.steps[0], self.steps[1]
            self.steps[:2] = [
                Step(second.words, second.path, second.text, splice_between(self.base.text, second.text))
            ]
            assert first is not None
        self.position = len(self.steps)

    @property
    def kept(self) -> str:
        """What a device keeps of it; '' where there is nothing to keep."""
        if not self.steps:
            return ""
        steps = [[s.words, s.path, s.splice.start, s.splice.length, s.splice.written] for s in self.steps]
        return json.dumps(
            {"base": self.base.entry, "position": self.position, "steps": steps}, ensure_ascii=False
        )


async def description(desk: Desk) -> None:
    """The description of the build."""
    draft = Draft(await desk.ask(views.newest_revision))
    await Editing(desk, draft).build()


class Editing:
    """What a page does that changes the description; one for a part of it says otherwise what it has of its own.

    Args:
        desk: of the page.
        draft: what is changed on it.

    Attributes:
        acts: names of what can be done to the text.
    """

    acts: Sequence[str] = tuple(ACTS)

    def __init__(self, desk: Desk, draft: Draft) -> None:
        self.desk, self.draft = desk, draft
        self.at, self.show, self.find = desk.query.get("at", ""), desk.query.get("show", FIELDS), ""
        self.show = self.show if self.show in VIEWS else FIELDS
        self.refused: Refused | None = None
        self.generation, self.sequence = 0, ""
        self.clashes: tuple[Clash, ...] = ()
        self.effect: EditEffect | None = None
        self.effect_of = ""
        self.turn = asyncio.Lock()
        self.sheet: Region | None = None

    async def build(self) -> None:
        """Puts the page together."""
        self.sheet = await self.place()
        self.working = LongWork(self.desk, "description effect", say("description.effect_working"))
        for name, handler in (
            *((name, self._acting(name)) for name in self.acts),
            ("undo", self._undo),
            ("redo", self._redo),
            ("open", self.open),
            ("show", self._show),
            ("line", self.line),
            ("find", self._find),
            ("text", self._text),
            ("restore", self._restore),
            ("drop", self._drop),
            ("together", self._together),
            ("anew", self._anew),
            ("seen", self._seen),
            ("effect", self._effect),
        ):
            self.desk.on(f"description {name}", self._in_turn(handler), role="read")
        self.desk.on("description save", self._in_turn(self._save), role="edit")

    async def place(self) -> Region:
        """Draws the page for the first time."""
        return await self.desk.region(views.sheet, self.now())

    async def again(self, sheet: Region) -> None:
        """Draws it anew."""
        await self.desk.redraw(sheet, self.now())

    async def changed(self, name: str, path: str, given: tuple[str, ...]) -> Step:
        """What an act comes to."""
        return await self.desk.ask(done, name, self.draft.text, path, given)

    def arrive(self, name: str, path: str) -> None:
        """What is open after an act that brought something to a path."""
        if name in ("add", "rename", "remove") and not _within(self.at, path):
            self.at = path
        if name in ("add", "rename"):
            self.at, self.show = path, FIELDS

    def opened_by(self, path: str) -> str:
        """Path of what is opened to show a place."""
        return entry_path(path)

    def given(self, name: str, act: Act) -> tuple[str, ...]:
        """What an act needs besides the path."""
        return _given(name, act)

    def now(self) -> Sheet:
        """What the page holds."""
        draft = self.draft
        undo = draft.steps[draft.position - 1].words if draft.position else ""
        redo = draft.steps[draft.position].words if draft.position < len(draft.steps) else ""
        return Sheet(
            base=draft.base.entry,
            text=draft.text,
            at=self.at,
            show=self.show,
            find=self.find,
            undo=undo,
            redo=redo,
            steps=draft.position,
            refused=self.refused,
            generation=self.generation,
            sequence=self.sequence,
            kept=draft.kept,
            clashes=self.clashes,
            effect=self.effect,
            effect_is_now=self.effect_of == draft.text,
        )

    def _in_turn(self, handler: Callable[[Act], Awaitable[None]]) -> Callable[[Act], Awaitable[None]]:
        """One thing after the other, and the page drawn after each, whatever came of it."""

        async def handle(act: Act) -> None:
            async with self.turn:
                self.sequence = act.text("sequence", self.sequence)
                self.refused = None
                try:
                    await handler(act)
                finally:
                    await self._draw()

        return handle

    async def _draw(self) -> None:
        if self.sheet is not None:
            await self.again(self.sheet)

    # changing

    def _acting(self, name: str) -> Callable[[Act], Awaitable[None]]:
        async def handle(act: Act) -> None:
            path = act.text("of")
            try:
                step = await self.changed(name, path, self.given(name, act))
            except LoopwrightError as error:
                what, remedy = getattr(error, "what", str(error)), getattr(error, "remedy", "")
                if name != "set":
                    raise
                self.refused = Refused(path, what, remedy)
                return
            if step.text == self.draft.text:
                return
            # what is typed on in one field is one change
            last = self.draft.steps[self.draft.position - 1] if self.draft.position else None
            over = name == "set" and act.text("typing") == "on" and last is not None and last.path == path
            self.draft.take(step, over=over)
            self.arrive(name, step.path)

        return handle

    async def _text(self, act: Act) -> None:
        text = str(act.fields.get("text", "")).replace("\r\n", "\n")
        if "\r\n" in self.draft.base.text:
            text = text.replace("\n", "\r\n")
        if text == self.draft.text:
            return
        splice = await self.desk.ask(splice_for, self.draft.text, text)
        last = self.draft.steps[self.draft.position - 1] if self.draft.position else None
        over = last is not None and last.path == "" and act.text("typing") == "on"
        self.draft.take(Step(say("description.text_label"), "", text, splice), over=over)

    async def _undo(self, act: Act) -> None:
        if self.draft.position:
            self.draft.position -= 1
            self._show_what(self.draft.steps[self.draft.position].path)

    async def _redo(self, act: Act) -> None:
        if self.draft.position < len(self.draft.steps):
            self.draft.position += 1
            self._show_what(self.draft.steps[self.draft.position - 1].path)

    def _show_what(self, path: str) -> None:
        self.generation += 1
        if path and self.show == FIELDS:
            self.at = self.opened_by(path)

    # looking

    async def open(self, act: Act) -> None:
        """Opens an entry."""
        self.at, self.show = act.text("of"), FIELDS

    async def _show(self, act: Act) -> None:
        self.show = act.text("of") if act.text("of") in VIEWS else FIELDS
        self.generation += 1

    async def line(self, act: Act) -> None:
        """Shows a line of the text."""
        self.show = TEXT
        self.generation += 1
        line = int(act.text("line")) if act.text("line").isdecimal() else 1
        self.desk.client.run_javascript(f"window.loopwright.line?.({line})")

    async def _find(self, act: Act) -> None:
        self.find = act.text("words")

    # what this device kept, and what others did

    async def _restore(self, act: Act) -> None:
        if self.draft.steps:
            return
        try:
            kept = json.loads(act.text("kept") or "{}")
            restored = await self.desk.ask(restored_from, kept)
        except (LoopwrightError, ValueError, KeyError, TypeError):
            self.desk.notice(say("description.restore_failed"), kind="told")
            return
        self.draft = restored
        self.generation += 1
        if restored.position:
            self.desk.notice(say("description.restored"), kind="told")

    async def _drop(self, act: Act) -> None:
        await self._begin_anew()
        self.desk.notice(say("description.dropped"))

    async def _anew(self, act: Act) -> None:
        await self._begin_anew()

    async def _begin_anew(self) -> None:
        self.draft = Draft(await self.desk.ask(views.newest_revision))
        self.clashes, self.effect, self.effect_of = (), None, ""
        self.generation += 1

    async def _together(self, act: Act) -> None:
        now, found, splice = await self.desk.ask(together_with_newest, self.draft.base.text, self.draft.text)
        self.draft = Draft(now)
        self.clashes = found.clashes
        if found.text != now.text:
            words = say("description.meanwhile_together")
            self.draft.take(Step(words, "", found.text, splice))
        self.generation += 1
        self.show = CHANGES
        self.desk.notice(say("description.together", revision=now.revision))

    async def _seen(self, act: Act) -> None:
        self.clashes = ()

    # what it does, and saving

    async def _effect(self, act: Act) -> None:
        self.desk.begin("description effect", self._work_out(self.draft.text))

    async def _work_out(self, text: str) -> None:
        found = await self.working.answer(worked_out, text)
        if found is not None:
            self.effect, self.effect_of = found, text
            async with self.turn:
                await self._draw()

    async def _save(self, act: Act) -> None:
        if self.clashes:
            raise RequestError(
                plural("description.together_clashes", len(self.clashes)), say("description.clash_seen")
            )
        draft = self.draft
        entry, revision = await self.desk.ask(save, draft.text, draft.base.entry, act.text("why"), act.key)
        await self._begin_anew()
        self.show = FIELDS
        await self._draw()
        self.desk.notice(say("description.saved", revision=revision, entry=entry))
        await self.desk.hub.changed(entry)


def _given(name: str, act: Act) -> tuple[str, ...]:
    """What an act needs besides the path."""
    match name:
        case "set" | "append":
            return (str(act.fields.get("typed", "")),)
        case "add":
            return act.text("name"), act.text("like")
        case "rename":
            return (act.text("name"),)
    return ()


def _within(path: str, above: str) -> bool:
    return path == above or path.startswith(above + "/")


# in the workroom


def done(work: Work, reader: Reader, name: str, text: str, path: str, given: tuple[str, ...]) -> Step:
    """One change of a text."""
    found = ACTS[name](text, path, *given)
    return Step(found.words, found.path, found.text, splice_between(text, found.text))


def splice_for(work: Work, reader: Reader, before: str, after: str) -> Splice:
    """What leads from one text to another."""
    return splice_between(before, after)


def restored_from(work: Work, reader: Reader, kept: dict[str, object]) -> Draft:
    """A draft out of what a device kept.

    Raises:
        RequestError: it is of another book.
    """
    entry, steps = int(str(kept["base"])), kept["steps"]
    assert isinstance(steps, list)
    base = views.begun_with(work, entry) if views.revision_text(work, reader, entry) else newest(work.bench)
    draft, text = Draft(base), base.text
    for words, path, start, length, written in steps[:MOST_STEPS]:
        splice = Splice(int(start), int(length), str(written))
        text = spliced_on(text, [splice])
        draft.steps.append(Step(str(words)[:200], str(path), text, splice))
    draft.position = min(max(int(str(kept["position"])), 0), len(draft.steps))
    return draft


def together_with_newest(
    work: Work, reader: Reader, base: str, mine: str
) -> tuple[Described, Together, Splice]:
    """Somebody's changes on top of the newest revision."""
    now = newest(work.bench)
    found = put_together(base, mine, now.text)
    return now, found, splice_between(now.text, found.text)


def worked_out(work: Work, reader: Reader, text: str, telling: Telling) -> EditEffect:
    """What a changed description would do; long."""
    return effect_of_text(work.bench, text, progress=telling.progress, cancel=telling.cancelled)


def save(work: Work, reader: Reader, text: str, base: int, why: str, key: str) -> tuple[int, int]:
    """Saves a text as a new revision; the numbers of its entry and of the revision.

    Raises:
        BuildError, RequestError: it has mistakes, changes nothing, or somebody else saved another one meanwhile.
    """
    bench = work.bench
    now = ready_to_save(bench, text)
    if now.entry != base:
        raise RequestError(say("description.meanwhile_refused"), say("description.meanwhile_remedy"))
    written = work.book.append(
        Revision(text=text, file=now.file or None),
        who=reader.who,
        why=why,
        station=reader.station,
        key=key or None,
        seen=bench.last,
    )
    return written.entry.number, written.entry.of or 0


PAGES = (Page("/description", "description.title", description, letter="d"),)
