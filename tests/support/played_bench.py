"""The bench over the real controller on a scripted camera: keys in; what the camera is asked, what the log has, and
what the screen says out."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.match.reshoot_steps import Reshoot
from session.set.setup import Revision
from tests.support.played_table import PlayedTable
from tests.support.running_screen import SMALL, Running, running
from tests.support.scripted import Studio
from tui.app.stillset_app import StillsetApp

CHARGED_S = 60.0
"""Longer than any flash of the demo's kit charges, and than any hold-off."""


class PlayedBench(Running):
    """Keys in, and the scripted camera's answers."""

    studio: Studio

    async def camera(self, *messages: say.Message) -> None:
        """The camera says these."""
        for message in messages:
            self.studio.deliver(message)
        await self.tell()

    async def wait(self, seconds: float) -> None:
        """Time passes, s."""
        self.studio.wait(seconds)
        await self.tell()

    async def taken(self, values: dict[str, Any] | None = None) -> None:
        """The camera has taken the settings that it was asked for; what it says of itself besides."""
        self.studio.answer_settings(**(values or {}))
        await self.tell()

    async def frame(self, verdict: FocusVerdict = FocusVerdict.SHARP, path: str = "") -> str:
        """A frame by the space key, until the checks have spoken; its key in the log. `path`: where its JPEG lies."""
        await self.wait(CHARGED_S)
        await self.press("space")
        frame_id = self.studio.fire()
        self.studio.file(frame_id, path=path)
        self.studio.deliver(say.FrameComplete(frame_id))
        self.studio.judged(frame_id, verdict)
        await self.tell()
        return frame_id

    @property
    def flat(self) -> str:
        """The text on the screen with its lines joined."""
        return " ".join(self.text.split())

    @property
    def revision(self) -> Revision:
        """The arrangement in force."""
        return self.studio.shoot.shoot_state.revision

    @property
    def releases(self) -> int:
        """How often the camera was asked to release."""
        return self.studio.camera.count(say.Release)

    def row(self, frame_id: str) -> dict[str, Any]:
        """What the log has of a frame."""
        return self.studio.log.rows[frame_id]


@asynccontextmanager
async def played_bench(
    studio: Studio | None = None, size: tuple[int, int] = SMALL, reader: Any = None, reshoot: Reshoot | None = None
) -> AsyncIterator[PlayedBench]:
    """The bench of a shoot. `reader`: the log to look back in; `reshoot`: what is built again, on the match screen."""
    table = PlayedTable(studio)
    table.reader, table.reshoot = reader, reshoot
    async with running(StillsetApp(table, clock=table.studio.clock, bell=False), size, table) as begun:
        at = PlayedBench(begun.app, begun.pilot, table)
        at.studio = table.studio
        yield at
