"""The approved pictures of the screens, `tests/tui/app/approved`: each main screen as SVG at 80x24 and at 160x48.

    .venv/bin/python -m tests.support.approved_screens    writes them anew; look at what changed before it is kept

One run of the app on scripted events at each size, over a log with invented frames, shows all of them. Clock, time
zone, pictures and numbers stand still, so that they come out the same everywhere.
`tests/tui/app/test_approved_screens.py` compares.
"""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image

from session.frame.finding import FocusVerdict
from session.frame.moves import Moves
from session.frame.states import FrameState
from session.frame.step_said import StepWord
from session.live.decode import Stream, grey
from session.live.instruments import LiveReading
from session.live.meter import FocusReading, Trend
from session.match.reshoot_steps import Reshoot
from session.shoot.events import Event, FrameJudged, LivePicture, LiveViewChanged, PlaceChanged
from tests.support.bench_events import FOUND, MISS, focus, moved, released
from tests.support.log_samples import SetClock
from tests.support.running_screen import Running, bench
from tests.support.screen_picture import Screen, screen_in, screen_of, svg_of
from tests.support.scripted_table import PLACE, READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.follow.follow_screen import FollowApp
from tui.follow.followed_log import LogWatch

FOLDER = Path(__file__).parents[1] / "tui/app/approved"
SIZES = ((80, 24), (160, 48))
RENEW = "If it is meant so: .venv/bin/python -m tests.support.approved_screens"

VERDICTS = (FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.MISSED, FocusVerdict.UNJUDGED, FocusVerdict.SHARP)
DARK, LIT = 40, 168
"""Codes of the pictures' two tones: in the middle of what is one colour on the screen, so no decoder moves them."""

PLATES = ((80, 80, 160, 120), (240, 160, 64, 64), (336, 120, 80, 160), (440, 80, 120, 48), (256, 248, 56, 40))
"""Left, top, width and height, px, of what is lit in a picture: on the blocks of a JPEG, so that edges stay edges."""

CONTRASTS = (2.0, 3.1, 4.6, 6.4, 8.8, 12.4, 15.2, 14.9)
"""Of a focus ring that is turned just past the best, percent, one every STEP_S."""

STEP_S = 0.5


async def screens_at(size: tuple[int, int], folder: Path) -> dict[str, Screen]:
    """Every approved screen by its name, shown at this size; the log and its pictures are made in the folder."""
    with _in_utc(), chdir(folder):
        written = _log()
        try:
            seen = await _at_the_bench(size, written)
            return seen | {"match": await _matched(size, written), "follower": await _followed(size)}
        finally:
            written.close()


async def _at_the_bench(size: tuple[int, int], written: WrittenLog) -> dict[str, Screen]:
    seen: dict[str, Screen] = {}
    table, clock = ScriptedTable(), FixedClock()
    table.reader = written.reader
    async with bench(table, clock, size, FOUND) as at:

        def keep(name: str) -> None:
            seen[name] = screen_of(at.app)

        keep("bench ready")
        await at.press("1")
        keep("light chosen")
        await at.press("escape")
        await at.tell(*_missed())
        keep("bench missed")
        await at.press("question_mark")
        keep("help")
        await at.press("escape", "m")
        keep("planner")
        await at.press("escape", "l")
        keep("ledger")
        await at.press("down", "down", "i")
        keep("explain")
        await at.press("escape", "b", "down", "b")
        keep("compare")
        await at.press("escape", "l")
        await _focus_live(at, clock)
        keep("live view")
    return seen


async def _matched(size: tuple[int, int], written: WrittenLog) -> Screen:
    """A reshoot whose check list and lens are settled, and whose framing comes next."""
    table = ScriptedTable()
    table.reader, table.reshoot = written.reader, Reshoot(REVISION, written.revision_id)
    for step, word, reason in (("check list", StepWord.CONFIRMED, ""), ("lens", StepWord.SKIPPED, "it is still up")):
        written.log.say_of_step(written.place, written.revision_id, step, word, reason)
    async with bench(table, FixedClock(), size, FOUND, PlaceChanged(written.place)) as at:
        return screen_of(at.app)


def _missed() -> list[Event]:
    """One more frame than the log has, and it missed."""
    judgement = replace(focus(FocusVerdict.MISSED, 7.3, 0.31), sharpest_at=(0.9, 0.5))
    number = len(VERDICTS) + 1
    return [
        *released(number, path=_picture(2)),
        moved(f"f{number}", number, FrameState.SAVED),
        FrameJudged(f"f{number}", number, (MISS,), judgement),
    ]


async def _focus_live(at: Running, clock: FixedClock) -> None:
    """Live view while the ring is turned past the best."""
    await at.tell(LiveViewChanged(True))
    jpeg = Path(_picture(1)).read_bytes()
    for number, contrast in enumerate(CONTRASTS):
        clock.now_s += STEP_S
        best = max(CONTRASTS[: number + 1])
        past = contrast < best
        turned = FocusReading(
            contrast, best, 0.0, contrast / best, Trend.FALLING if past else Trend.RISING, past_best=past
        )
        moves = Moves(clock.now_s, 0.4, 0.6, clock.now_s - 0.7, clock.now_s - 0.7)
        reading = LiveReading(clock.now_s, Stream.GOOD, 15.0, picture=grey(jpeg), focus=turned, moves=moves)
        await at.tell(LivePicture(jpeg, reading))


async def _followed(size: tuple[int, int]) -> Screen:
    watch = LogWatch("log.db")
    app = FollowApp(watch)
    async with app.run_test(size=size) as pilot:
        for _ in range(2):  # what was seen may have a picture to be read
            app.look()
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()
        shown = screen_of(app)
    watch.close()
    return shown


def _log() -> WrittenLog:
    """A job of a few frames in the working folder, the first its reference, the second the hero."""
    for number in range(1, len(VERDICTS) + 1):
        codes = np.full((400, 600), DARK, np.uint8)
        for left, top, wide, high in PLATES:
            codes[top : top + high, left : left + wide] = LIT
        Image.fromarray(codes).convert("RGB").save(_picture(number), quality=95, subsampling=0)
    written = written_log(Path("log.db"), REVISION, READING, VERDICTS, Path(_picture(1)), clock=SetClock())
    written.log.open_place(PLACE.job, PLACE.piece, "top")
    written.log.set_reference(written.place, REVISION.setup_number, written.frame_ids[1])
    written.log.mark(written.frame_ids[2], "hero")
    return written


def _picture(number: int) -> str:
    """Where the frame's picture lies, by a name without a folder, so that no screen tells one."""
    return "frame.jpg" if number == 1 else f"frame.jpg.{number}.jpg"


@contextmanager
def _in_utc() -> Iterator[None]:
    before = os.environ.get("TZ")
    os.environ["TZ"] = "UTC"
    time.tzset()
    try:
        yield
    finally:
        if before is None:
            del os.environ["TZ"]
        else:
            os.environ["TZ"] = before
        time.tzset()


def file_of(name: str, size: tuple[int, int]) -> Path:
    """Where the approved picture of a screen lies."""
    return FOLDER / f"{name.replace(' ', '-')}-{size[0]}x{size[1]}.svg"


def approved(name: str, size: tuple[int, int]) -> Screen:
    """The approved picture of a screen, read back."""
    return screen_in(file_of(name, size).read_text(encoding="utf-8"))


def main() -> None:
    """Write all pictures anew, and say which are otherwise than before."""
    FOLDER.mkdir(exist_ok=True)
    for size in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            screens = asyncio.run(screens_at(size, Path(folder)))
        for name, screen in screens.items():
            path = file_of(name, size)
            svg = svg_of(screen, f"{name}, {size[0]}x{size[1]}")
            if not path.exists() or path.read_text(encoding="utf-8") != svg:
                path.write_text(svg, encoding="utf-8")
                sys.stdout.write(f"{path.name} written\n")


if __name__ == "__main__":
    main()
