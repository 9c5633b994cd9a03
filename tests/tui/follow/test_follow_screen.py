"""Looking on over a real log that grows meanwhile: at a terminal, as lines, and in a browser's page."""

from __future__ import annotations

import asyncio
import hashlib
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, closing
from pathlib import Path
from time import time_ns

import numpy as np
import pytest
from PIL import Image
from textual.pilot import Pilot

from session.frame.finding import FocusVerdict
from tests.support.running_screen import screen_text
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.follow.follow_screen import FollowApp
from tui.follow.followed_log import LogWatch, seen_in
from tui.screen.panel import LargeLine
from tui.words.keys import KEYS, Where

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED
SIZES = pytest.mark.parametrize("size", [(80, 24), (120, 40), (40, 15)], ids=["80x24", "120x40", "40x15"])


@pytest.fixture
def picture(tmp_path: Path) -> Path:
    path = tmp_path / "picture.jpg"
    for name in (path, f"{path}.2.jpg", f"{path}.3.jpg"):
        Image.fromarray(np.full((200, 300, 3), 200, np.uint8)).save(name)
    return path


@pytest.fixture
def written(tmp_path: Path, picture: Path, in_utc: None) -> Iterator[WrittenLog]:
    log = written_log(tmp_path / "log.db", REVISION, READING, (SHARP, MISSED), picture)
    yield log
    log.close()


class Following:
    """The follower under Textual's pilot; it looks when it is told to, so that no test waits for a clock."""

    def __init__(self, app: FollowApp, pilot: Pilot[None]) -> None:
        self.app, self._pilot = app, pilot

    async def look(self) -> None:
        for _ in range(2):  # what was seen may have a picture to be read
            self.app.look()
            await self._pilot.pause()
            await self.app.workers.wait_for_complete()
            await self._pilot.pause()

    async def press(self, *keys: str) -> None:
        await self._pilot.press(*keys)

    @property
    def text(self) -> str:
        return screen_text(self.app)

    @property
    def large(self) -> str:
        return self.app.screen.query_one(LargeLine).text


@asynccontextmanager
async def following(log: Path, size: tuple[int, int] = (80, 24), job: str = "") -> AsyncIterator[Following]:
    watch = LogWatch(str(log), job)
    app = FollowApp(watch)
    async with app.run_test(size=size) as pilot:
        at = Following(app, pilot)
        await at.look()
        yield at
    watch.close()


@SIZES
async def test_the_last_frame_stands_there_with_its_verdict_and_picture(
    written: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    async with following(tmp_path / "log.db", size) as at:
        assert at.large.startswith("MISSED")
        assert "barrel 6 of 24 · three-quarter" in at.text and "FRAME 2" in at.text
        assert "Q leave" in at.text
        assert "▀" in at.text and "┌" in at.text
        if size[0] >= 80:
            assert "Invented movements" in at.text
            assert "2 frames, 1 view" in at.text and "2 barrel 6 of 24 · three-quarter" in at.text


async def test_a_frame_that_comes_in_meanwhile_is_shown_without_a_key(written: WrittenLog, tmp_path: Path) -> None:
    async with following(tmp_path / "log.db") as at:
        add_frame(written, 3, SHARP, READING, tmp_path / "picture.jpg")
        await at.look()
        assert at.large == "SHARP 0.4 / 2.0" and "FRAME 3" in at.text
        written.log.mark(written.frame_ids[3], "hero")
        await at.look()
        assert "hero" in at.text and "✓  3 barrel 6 of 24" in at.text


async def test_the_follower_has_the_same_help(written: WrittenLog, tmp_path: Path) -> None:
    async with following(tmp_path / "log.db") as at:
        await at.press("question_mark")
        assert "FOLLOWER" in at.text and "Leave; the shoot goes on." in at.text
        await at.look()
        await at.press("escape")
        assert at.large.startswith("MISSED")


async def test_it_waits_for_a_log_that_is_not_there_yet(tmp_path: Path, picture: Path, in_utc: None) -> None:
    async with following(tmp_path / "late.db") as at:
        assert at.large == "NO FRAME" and "There is no log at" in " ".join(at.text.split())
        log = written_log(tmp_path / "late.db", REVISION, READING, (SHARP,), picture)
        await at.look()
        assert at.large == "SHARP 0.4 / 2.0" and "There is no log" not in at.text
        log.close()


async def test_another_log_in_the_same_place_is_taken_up(tmp_path: Path, picture: Path, in_utc: None) -> None:
    path = tmp_path / "log.db"
    written_log(path, REVISION, READING, (SHARP, SHARP), picture).close()
    async with following(path) as at:
        assert "FRAME 2" in at.text
        path.unlink()
        await at.look()
        assert at.large == "SHARP 0.4 / 2.0", "what was seen stays"
        assert "There is no log at" in " ".join(at.text.split())
        written_log(path, REVISION, READING, (MISSED,), picture).close()
        await at.look()
        assert at.large.startswith("MISSED") and "FRAME 1" in at.text


async def test_a_picture_that_is_gone_is_said_in_its_place(written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.2.jpg").unlink()
    async with following(tmp_path / "log.db") as at:
        assert "the file" in at.text and at.large.startswith("MISSED")


async def test_an_unchanged_log_is_not_asked_again(written: WrittenLog, tmp_path: Path) -> None:
    watch = LogWatch(str(tmp_path / "log.db"), now_ns=lambda: time_ns() + 10**9)
    assert watch.look() is not None
    assert watch.look() is None
    written.log.mark(written.frame_ids[1], "kill")
    assert watch.look() is not None
    watch.close()


async def test_no_key_of_the_follower_does_anything_but_look(written: WrittenLog, tmp_path: Path) -> None:
    assert {key.act for key in KEYS if key.where is Where.FOLLOW} == {"theme", "leave", "help"}
    before = hashlib.sha256((tmp_path / "log.db").read_bytes()).hexdigest()
    async with following(tmp_path / "log.db") as at:
        theme = at.app.theme
        await at.press("space", "h", "n", "c", "v", "slash", "delete", "enter", "z", "d")
        await asyncio.sleep(0)
        assert at.app.theme != theme
        assert at.large.startswith("MISSED")
    assert written.reader.frame(written.frame_ids[2]).mark is None
    assert hashlib.sha256((tmp_path / "log.db").read_bytes()).hexdigest() == before


def test_progress_counts_frames_and_chosen_ones_by_view(written: WrittenLog) -> None:
    written.log.open_place("Invented movements", "barrel 7 of 24", "flat")
    written.log.mark(written.frame_ids[1], "select")
    written.log.mark(written.frame_ids[2], "kill")
    counts = [(place.piece, place.frames, place.chosen) for place in seen_in(written.reader).places]
    assert counts == [("barrel 6 of 24", 2, 1), ("barrel 7 of 24", 0, 0)]


def test_a_log_written_a_moment_ago_is_looked_at_again(written: WrittenLog, tmp_path: Path) -> None:
    """The next write may leave the same time and size."""
    path = tmp_path / "log.db"
    written_ns = max(file.stat().st_mtime_ns for file in tmp_path.glob("log.db*"))
    now_ns = [written_ns + 1_000_000]
    with closing(LogWatch(str(path), now_ns=lambda: now_ns[0])) as watch:
        assert watch.look() is not None
        assert watch.look() is not None
        now_ns[0] += 1_000_000_000
        assert watch.look() is not None
        assert watch.look() is None
