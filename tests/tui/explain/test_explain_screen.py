"""Why a frame was judged as it was: by real keys over a real log, from the ledger and from the bench."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from threading import Event

import numpy as np
import pytest
from PIL import Image

from session.frame.finding import FocusVerdict
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameRecord
from tests.support.bench_events import FOUND, released
from tests.support.running_screen import LARGE, SMALL, Running, running
from tests.support.scripted_table import READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.app.stillset_app import StillsetApp
from tui.ledger.ledger_screen import LedgerScreen
from tui.screen.picture_view import PictureView

SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
VERDICTS = (FocusVerdict.SHARP, FocusVerdict.MISSED, FocusVerdict.UNJUDGED)
DARK, LIT = 40, 180


@pytest.fixture
def written(tmp_path: Path, in_utc: None) -> Iterator[WrittenLog]:
    """Three frames of one set-up: 1 is its reference and bright in the region, 2 and 3 are dark there.

    Marks around the region, alike in all, show that they are pictures of the same thing.
    """
    marks = np.random.default_rng(7).random((50, 75)) < 0.05
    path = tmp_path / "picture.jpg"
    log = written_log(tmp_path / "log.db", REVISION, READING, VERDICTS, path)
    left, top, right, bottom = REVISION.region.in_pixels(600, 400)
    for number in (1, 2, 3):
        pixels = np.full((400, 600, 3), 90, np.uint8)
        pixels[np.kron(marks, np.ones((8, 8), bool))] = 130
        pixels[top:bottom, left:right] = LIT if number == 1 else DARK
        Image.fromarray(pixels).save(path if number == 1 else f"{path}.{number}.jpg", quality=95)
    log.log.set_reference(log.place, REVISION.setup_number, log.frame_ids[1])
    yield log
    log.close()


def looking(written: WrittenLog, size: tuple[int, int] = SMALL):
    return running(StillsetApp(reader=written.reader, clock=FixedClock()), size)


def flat(at: Running) -> str:
    """The text on the screen with its lines joined."""
    return " ".join(at.text.split())


def codes_shown(at: Running, side: int) -> float:
    picture = at.app.screen.query_one(f"#picture{side}", PictureView).picture
    assert picture is not None
    return float(picture.pixels.mean())


def shapes(at: Running) -> list[tuple[int, ...]]:
    views = (at.app.screen.query_one(f"#picture{side}", PictureView) for side in (0, 1))
    return [view.picture.pixels.shape[:2] for view in views if view.picture]


class HeldReader:
    """The log, which keeps a frame that is asked for to itself until it is let go."""

    def __init__(self, reader: LogReader) -> None:
        self._reader, self.go = reader, Event()
        self.go.set()

    def frame(self, frame_id: str) -> FrameRecord | None:
        assert self.go.wait(60)
        return self._reader.frame(frame_id)

    def __getattr__(self, name: str) -> object:
        return getattr(self._reader, name)


async def test_left_before_its_pictures_are_there_it_stays_left(written: WrittenLog) -> None:
    held = HeldReader(written.reader)
    async with running(StillsetApp(reader=held, clock=FixedClock()), SMALL) as at:  # type: ignore[arg-type]
        held.go.clear()
        await at.pilot.press("i", "escape")
        held.go.set()
        await at.settle()
        assert isinstance(at.app.screen, LedgerScreen)
        await at.press("i")
        assert "FRAME 3 " in at.text


@SIZES
async def test_missed_frame_shows_its_number_against_the_limit_and_both_regions(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking(written, size) as at:
        await at.press("down", "i")
        assert "FRAME 2 " in at.text
        assert "REFERENCE 1 " in at.text
        assert "region: 120 × 80 px" in at.text
        assert codes_shown(at, 0) == pytest.approx(DARK, abs=3)
        assert codes_shown(at, 1) == pytest.approx(LIT, abs=3)
        assert "compared with frame 1" in flat(at)
        blur = next(line for line in at.text.split("\n") if line.startswith("radius"))
        assert "┃" in blur
        assert blur.endswith("7.3 px ± 0.2")
        assert blur.index("┃") < len(blur) / 2, "the limit is passed by far"


async def test_the_limits_origin_the_distance_and_the_scale_are_told(written: WrittenLog) -> None:
    async with looking(written, LARGE) as at:
        await at.press("down", "i")
        told = flat(at)
        assert "Blurrier than the reference by a disc of 7.3 px radius, measured at 0.5 of full size" in told
        assert "about 0.3 mm off on the piece" in told
        assert "┃ 2.0 px: the view's own limit, from the plan or the settings" in told
        assert "Common practice, no source" in told


async def test_the_spread_of_light_stands_for_frame_and_reference_on_one_scale(written: WrittenLog) -> None:
    """Codes 40 and 180 lie 5.6 and 1.1 EV under white by IEC 61966-2-1; the surroundings of code 90 3.3 EV."""
    async with looking(written, LARGE) as at:
        await at.press("down", "i")
        lines = at.text.split("\n")
        frame = next(line for line in lines if line.startswith("frame "))[10:]
        reference = next(line for line in lines if line.startswith("reference "))[10:]
        axis = next(line for line in lines if "white" in line and "−8" in line)[10:]
        step = (axis.index("white") + len("white")) / 8
        assert frame.index("▁") / step - 8 == pytest.approx(-5.6, abs=0.2)
        assert reference.rindex("▁") / step - 8 == pytest.approx(-1.1, abs=0.2)
        assert frame.index("█") == reference.index("█")
        assert frame.index("█") / step - 8 == pytest.approx(-3.3, abs=0.2)


async def test_the_reference_itself_says_so_and_shows_no_other(written: WrittenLog) -> None:
    async with looking(written, LARGE) as at:
        await at.press("end", "i")
        assert "is the reference" in flat(at)
        assert "no other frame to compare with" in at.text


async def test_frame_that_was_not_judged_says_why_and_what_the_limit_is(written: WrittenLog) -> None:
    async with looking(written, LARGE) as at:
        await at.press("i")
        assert "Not judged: nothing was measured." in at.text
        assert "┃ 2.0 px" in at.text


async def test_plus_enlarges_the_middle_of_both_and_minus_takes_it_back(written: WrittenLog) -> None:
    async with looking(written) as at:
        await at.press("down", "i", "plus", "plus")
        assert "1/4 region: 30 × 20 px" in at.text and shapes(at) == [(20, 30), (20, 30)]
        await at.press("minus", "minus", "minus")
        assert " region: 120 × 80 px" in at.text and shapes(at) == [(80, 120), (80, 120)]
        await at.press(*["plus"] * 9)
        assert "1/32 region: 4 × 2 px" in at.text


async def test_the_same_key_and_escape_lead_back(written: WrittenLog) -> None:
    async with looking(written) as at:
        for back in ("i", "escape"):
            await at.press("i", back)
            assert "LEDGER" in at.text


async def test_file_that_is_gone_is_said_in_its_place_and_the_numbers_stay(written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.2.jpg").unlink()
    async with looking(written) as at:
        await at.press("down", "i")
        assert "can't be read" in at.text
        assert "7.3 px ± 0.2" in at.text


@SIZES
async def test_the_frame_at_the_bench_is_explained(
    written: WrittenLog, table: ScriptedTable, size: tuple[int, int]
) -> None:
    table.reader = written.reader
    async with running(StillsetApp(table, clock=FixedClock()), size, table) as at:
        await at.tell(FOUND)
        await at.press("left", "i")
        assert "compared with frame 1" in flat(at)
        await at.press("escape")
        assert "FRAME 2 · missed" in at.text


async def test_frame_that_the_log_does_not_have_yet_is_said(written: WrittenLog, table: ScriptedTable) -> None:
    table.reader = written.reader
    async with running(StillsetApp(table, clock=FixedClock()), SMALL, table) as at:
        await at.tell(FOUND, *released(77))
        await at.press("i")
        assert "The log doesn't have this frame yet." in at.text
