"""Which book is open, and where others lie: a server can be begun without one, and goes on to another when asked."""

from dataclasses import dataclass, field
from pathlib import Path

from loopwright.web.hub import Hub
from loopwright.web.uploads import Uploads
from loopwright.web.workroom import Workroom


@dataclass
class Shelf:
    """The open book and the folder that new ones are put in.

    Attributes:
        folder: where books lie; only they can be opened, and new ones are made there.
        room: where the open book is worked on; its ``where`` is '' while none is open.
        uploads: files that were sent and not yet used.
        hub: tells every page what changed.
    """

    folder: Path
    room: Workroom
    uploads: Uploads = field(default_factory=Uploads)
    hub: Hub = field(init=False)

    def __post_init__(self) -> None:
        self.hub = Hub(self.room)

    async def open(self, where: str) -> None:
        """Goes on with another book; every open page begins anew with it."""
        self.room.switch(where)
        await self.hub.begin_anew()

    def close(self) -> None:
        """Lets go of everything."""
        self.hub.close()
        self.room.close()
        self.uploads.close()
