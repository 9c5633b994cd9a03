"""A log with a set-up that has a reference, and the match screen on which that set-up is built again."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from PIL import Image

from session.frame.finding import FocusVerdict
from session.match.reshoot_steps import Reshoot
from session.set.setup import PlacedLight, Revision
from tests.support.made_pictures import coded, moved, photograph
from tests.support.played_bench import PlayedBench, played_bench
from tests.support.running_screen import SMALL
from tests.support.scripted import ManualClock, Studio
from tests.support.scripted_table import READING
from tests.support.written_log import WrittenLog, written_log

SET = Revision(lights=(PlacedLight("key", -2.0, 620.0), PlacedLight("fill", -4.0)))

PICTURE_PX = (720, 480)
"""Width and height of the pictures that `picture` writes."""


def picture(path: Path, right_px: float = 0.0, seed: int = 0, size_px: tuple[int, int] = PICTURE_PX) -> str:
    """Write a photograph whose content lies that much farther right; returns the path."""
    content = moved(photograph("coffee.png", size_px), right_px, 0.0)
    Image.fromarray(coded(content, seed=seed)).save(path, quality=95)
    return str(path)


def referenced_log(folder: Path) -> WrittenLog:
    """Three frames, of which the first is the reference; the third is of another revision."""
    log = written_log(folder / "log.db", SET, READING, (FocusVerdict.SHARP,) * 3, clock=ManualClock())
    log.log.set_reference(log.place, SET.setup_number, log.frame_ids[1])
    return log


@asynccontextmanager
async def reshoot_screen(written: WrittenLog, size: tuple[int, int] = SMALL) -> AsyncIterator[PlayedBench]:
    """The match screen over the real controller, for the log's first revision."""
    target = Reshoot(SET, written.revision_id)
    async with played_bench(Studio(written=written), size, written.reader, target) as at:
        yield at
