"""Hears the controller's events in a test's own loop: a test of a whole shoot waits for them and never sleeps."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TypeVar

from session.frame.states import FrameState
from session.shoot.events import Event, FrameJudged, FrameMoved
from tui.shell.build import OpenShoot

EventT = TypeVar("EventT")

WITHIN_S = 60.0
"""Longest wait for anything that the camera or the judge does; it only ends a test that has gone wrong."""


class Ears:
    """The events of one table, in the order in which they came."""

    def __init__(self, table: OpenShoot) -> None:
        loop = asyncio.get_running_loop()
        self._heard: asyncio.Queue[Event] = asyncio.Queue()

        def hear(event: Event) -> None:
            loop.call_soon_threadsafe(self._heard.put_nowait, event)

        table.listen(hear)

    async def until(self, kind: type[EventT], wanted: Callable[[EventT], bool] = lambda event: True) -> EventT:
        """The next event of this kind that is wanted; what came before it is passed over."""
        async with asyncio.timeout(WITHIN_S):
            while True:
                event = await self._heard.get()
                if isinstance(event, kind) and wanted(event):
                    return event

    async def frame(self, number: int) -> FrameJudged:
        """The judgement of that frame, once it is wholly logged."""
        judged = await self.until(FrameJudged, lambda event: event.number == number)
        await self.until(FrameMoved, lambda event: event.number == number and event.state is FrameState.LOGGED)
        return judged
