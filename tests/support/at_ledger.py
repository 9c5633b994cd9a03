"""The ledger over a real log of a dozen frames, with and without a bench behind it."""

from __future__ import annotations

from contextlib import AbstractAsyncContextManager

import numpy as np
import pytest
from numpy.typing import NDArray

from session.frame.finding import FocusVerdict
from tests.support.made_pictures import coded, photograph
from tests.support.played_bench import PlayedBench, played_bench
from tests.support.running_screen import LARGE, SMALL, Running, running
from tests.support.scripted import Studio
from tests.support.scripted_table import FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog
from tui.app.stillset_app import StillsetApp
from tui.screen.picture_view import PictureView

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED
VERDICTS = (
    *(FocusVerdict.UNJUDGED, SHARP, SHARP, FocusVerdict.SOFT, SHARP, MISSED),
    *(SHARP, SHARP, MISSED, SHARP, SHARP, SHARP),
)

SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
READ_ONLY = "Another stillset has this log open; look only."


def looking_only(written: WrittenLog, size: tuple[int, int] = SMALL) -> AbstractAsyncContextManager[Running]:
    """The ledger of a log that another writer holds."""
    app = StillsetApp(reader=written.reader, read_only=READ_ONLY, clock=FixedClock())
    return running(app, size)


def at_the_bench(
    written: WrittenLog, table: ScriptedTable, size: tuple[int, int] = SMALL
) -> AbstractAsyncContextManager[Running]:
    """The ledger over a bench that a test tells of its frames."""
    table.reader = written.reader
    return running(StillsetApp(table, clock=FixedClock()), size, table)


def over_the_controller(written: WrittenLog, size: tuple[int, int] = SMALL) -> AbstractAsyncContextManager[PlayedBench]:
    """The ledger over a bench of the real controller, whose log is the one that is looked at."""
    return played_bench(Studio(written=written), size, written.reader)


def row(at: Running, number: int) -> str:
    """The line of that frame in the list."""
    lines = [line for line in at.text.split("\n") if line[2:6].strip() == str(number)]
    return lines[0] if lines else ""


def photo_of_a_cup() -> NDArray[np.uint8]:
    """A photograph, (800, 1200, 3) codes."""
    return np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)


def shown(view: PictureView) -> NDArray[np.float64]:
    """The pixels on the screen, (height, width, 3)."""
    assert view.picture
    return view.picture.pixels.astype(float)
