"""The log's state now, read once for all onlookers, and the pictures that they may ask for."""

from __future__ import annotations

import asyncio
import json
import logging
from collections import OrderedDict
from collections.abc import AsyncIterator, Callable
from pathlib import Path

from session.frame.ports import LogError
from session.set.setup import Region
from tui.follow.followed_log import LOOKED_AT_AGAIN, LogMoment
from tui.follow.page.shown import Shown, page_of
from tui.follow.page.worker import Worker

FRAMES = 4
"""Newest frames whose pictures may be asked for: a tablet may be a frame behind. Chosen."""

OWN_MISTAKE = "Something went wrong in stillset itself; frames are safe."


class Watching:
    """Looks at the log again and again, in an event loop; `look` itself runs in a thread."""

    def __init__(self, look: Callable[[], LogMoment | None], log: str, looks_every_s: float, alive_s: float) -> None:
        """look  see `LogWatch.look`; log: its path or address; alive_s: a sign of life at least that often"""
        self._log = log
        self._look, self._looks_every_s, self._alive_s = look, looks_every_s, alive_s
        self._worker = Worker("log")
        self._sight: LogMoment | None = None
        self._now = page_of(None, "")
        self._news = asyncio.Event()
        self._frames: OrderedDict[str, tuple[str, Region]] = OrderedDict()
        self.ended = asyncio.Event()

    async def run(self) -> None:
        """Look until `end`."""
        while not self.ended.is_set():
            self._take(*await self._look_in_worker())
            await _either(self.ended, self._looks_every_s)

    def end(self) -> None:
        """No more news: everybody's stream ends."""
        self.ended.set()
        self._news.set()

    def picture(self, frame_id: str) -> tuple[str, Region] | None:
        """Path and region of a frame that was shown lately, None for other frames."""
        return self._frames.get(frame_id)

    async def news(self) -> AsyncIterator[bytes]:
        """The page's state now and at each change, as server-sent events (HTML standard, 9.2)."""
        told: Shown | None = None
        while not self.ended.is_set():
            news = self._news
            if self._now != told:
                told = self._now
                yield b"data: " + json.dumps(told.as_json()).encode() + b"\n\n"
            elif not await _either(news, self._alive_s):
                yield b"event: alive\ndata: 1\n\n"

    async def _look_in_worker(self) -> tuple[LogMoment | None, str]:
        try:
            return await self._worker.do(self._look), ""
        except LogError as error:
            return None, f"{without_place(str(error), self._log)} {LOOKED_AT_AGAIN}"
        except Exception:  # the edge: our own mistake is written down and said
            logging.getLogger(__name__).exception("The log could not be looked at.")
            return None, OWN_MISTAKE

    def _take(self, sight: LogMoment | None, trouble: str) -> None:
        self._sight = sight or self._sight
        record = self._sight.record if self._sight else None
        if record is not None and record.picture is not None:
            self._frames[record.frame_id] = (record.picture, record.revision.region)
            self._frames.move_to_end(record.frame_id)
            while len(self._frames) > FRAMES:
                self._frames.popitem(last=False)
        now = page_of(self._sight, trouble)
        if now != self._now:
            self._now, before, self._news = now, self._news, asyncio.Event()
            before.set()


def without_place(text: str, log: str) -> str:
    """The text with the log's name in place of its path or address: where it lies is no onlooker's business."""
    for place in sorted({log, str(Path(log).absolute()), str(Path(log).resolve())}, key=len, reverse=True):
        text = text.replace(place, Path(log).name)
    return text


async def _either(event: asyncio.Event, timeout_s: float) -> bool:
    """Wait for an event, at most `timeout_s` seconds. Returns whether the event came."""
    try:
        await asyncio.wait_for(event.wait(), timeout_s)
    except TimeoutError:
        return False
    return True
