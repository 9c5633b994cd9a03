"""A running screen for tests: keys in, events in, text out."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from textual.app import App
from textual.pilot import Pilot

from session.set.setup import Revision
from session.shoot.acts import Act
from session.shoot.events import Event
from tests.support.played_table import PlayedTable
from tests.support.scripted_table import CHANGES, FixedClock, ScriptedTable
from tui.app.stillset_app import StillsetApp
from tui.screen.app_port import Story
from tui.screen.panel import LargeLine

SMALL, LARGE = (80, 24), (160, 48)

Kind = type[Act]


def screen_text(app: App[None]) -> str:
    """What stands on the screen, line by line. Textual has no public way to ask for it."""
    return "\n".join(strip.text.rstrip() for strip in app.screen._compositor.render_strips())


class Running:
    """The app under Textual's pilot, and the table behind it."""

    def __init__(self, app: StillsetApp, pilot: Pilot[None], table: ScriptedTable | PlayedTable | None) -> None:
        self.app, self.pilot, self.table = app, pilot, table

    async def tell(self, *events: Event) -> None:
        if isinstance(self.table, ScriptedTable):
            self.table.tell(*events)
        elif self.table is not None:
            self.table.tell()
        await self.settle()

    async def press(self, *keys: str) -> None:
        """Real keys, one after the other, and everything that they set going done."""
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def type(self, text: str) -> None:
        """Letters into the line that is open."""
        await self.pilot.press(*["space" if letter == " " else letter for letter in text])
        await self.settle()

    async def settle(self) -> None:
        """Until nothing is under way in the background, nor what that set going, and everything is painted."""
        await self.pilot.pause()
        while any(not worker.is_finished for worker in self.app.workers):
            await self.app.workers.wait_for_complete()
            await self.pilot.pause()
        await self.pilot.pause()

    @property
    def text(self) -> str:
        return screen_text(self.app)

    @property
    def large(self) -> str:
        return "".join(line.text for line in self.app.screen.query(LargeLine))

    @property
    def key_line(self) -> str:
        return "\n".join(self.text.split("\n")[-2:])

    @property
    def posted(self) -> ScriptedTable:
        """The table, which keeps what was asked of the controller."""
        assert isinstance(self.table, ScriptedTable)
        return self.table

    def asked(self, *kinds: Kind) -> list[Any]:
        """The acts of these kinds that were posted, in order."""
        return self.posted.asked(*kinds)

    def changes(self) -> list[Any]:
        """The changes of the arrangement that were posted, in order."""
        return self.posted.asked(*CHANGES)

    @property
    def revised(self) -> Revision:
        """What the last change that was posted makes of the set-up."""
        return self.posted.revised


class Hinting(Story):
    """A story of one line."""

    def __init__(self, line: str) -> None:
        self._line = line

    def hint(self) -> str:
        return self._line


@asynccontextmanager
async def running(
    app: StillsetApp, size: tuple[int, int], table: ScriptedTable | PlayedTable | None = None
) -> AsyncIterator[Running]:
    async with app.run_test(size=size) as pilot:
        at = Running(app, pilot, table)
        await at.settle()
        yield at


@asynccontextmanager
async def bench(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int] = SMALL, *events: Event, **options: Any
) -> AsyncIterator[Running]:
    async with running(StillsetApp(table, clock=clock, **options), size, table) as at:
        await at.tell(*events)
        yield at
