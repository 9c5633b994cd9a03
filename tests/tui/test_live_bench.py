"""Live view at the bench: real keys and real live frames through the real instruments, on a scripted table."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from bench_events import FOUND, focus, released
from live_pictures import live_jpeg, scene, with_hand
from made_pictures import jpeg_bytes
from numpy.typing import NDArray
from running_screen import LARGE, SMALL, Running, bench
from scripted_table import CAMERA, READING, REVISION, SYNC, FixedClock, ScriptedTable

from session.cameras.protocol import Fault
from session.events import (
    CameraFound,
    CameraLost,
    FrameJudged,
    FrameMoved,
    LivePicture,
    LiveViewChanged,
    PeakKept,
    ReferenceChanged,
    RevisionChanged,
    RulesChanged,
    Said,
    StandMeasured,
    Waiting,
)
from session.finding import FocusVerdict
from session.frame import FrameState
from session.live.decode import TEXTS, Stream, grey
from session.live.instruments import Instruments
from session.live_view import FOCUS_LOCKED, SWEEP, TROUBLE
from session.optics.ring_down import ring_down
from session.ports import KeptPeak
from session.rules.stillness import STILL_TICK, still_limit_px
from tui.bench import BenchScreen
from tui.model import FADES_S
from tui.setting_lines import LINES
from tui.widgets.picture import PictureView

FRAME_S = 1 / 15
SCENE = scene()
ON = LiveViewChanged(True)
BY_STILLNESS = replace(REVISION, ticked=(STILL_TICK,))


class Stream15:
    """Live frames at 15 a second through instruments of their own."""

    def __init__(self, at: Running, clock: FixedClock) -> None:
        self._at, self._clock = at, clock
        self._instruments = Instruments()
        self._instruments.begin(clock.now_s)
        self._seed = 0

    async def send(self, jpeg: bytes) -> None:
        self._clock.now_s += FRAME_S
        limit_px = still_limit_px(REVISION)
        reading = self._instruments.see(jpeg, self._clock.now_s, REVISION.region, pixels_across=1024, limit_px=limit_px)
        await self._at.tell(LivePicture(jpeg, reading))

    async def show(self, *blurs_px: float, right_px: float = 0.0) -> None:
        for blur_px in blurs_px:
            self._seed += 1
            await self.send(live_jpeg(SCENE, blur_px=blur_px, right_px=right_px, seed=self._seed))


# --- pictures ---------------------------------------------------------------------------------------


async def test_the_next_frame_is_asked_for_once_for_each_that_was_shown(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(*[1.0] * 5)
        assert at.shoot.live_picture_used.call_count == 5


async def test_a_paused_picture_asks_for_nothing_and_goes_on_where_it_was(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(1.0)
        await at.press("j")
        assert at.large == "PAUSED" and "LIVE VIEW · paused" in at.text
        await live.show(1.0)  # the one that was on its way
        assert at.shoot.live_picture_used.call_count == 1
        await at.press("j")
        assert at.shoot.live_picture_used.call_count == 2
        assert "paused" not in at.text


async def test_the_region_is_enlarged_step_by_step_and_back_to_the_whole(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(1.0)
        view = at.app.screen.query_one(PictureView)
        widths = [view.picture.full_width_px]
        for key in ("plus", "plus", "minus", "minus"):
            await at.press(key)
            widths.append(view.picture.full_width_px)
        whole, region, middle, region_again, whole_again = widths
        assert whole == whole_again == 512
        assert region == region_again == pytest.approx(2 * middle, abs=2)
        assert 512 * REVISION.region.width <= region < 512


async def test_an_enlarged_picture_shows_what_lies_in_the_region(table: ScriptedTable, clock: FixedClock) -> None:
    """A white square in the region's middle fills the picture at the highest enlargement and is small in the whole."""
    codes = grey(live_jpeg(SCENE)).codes.copy()
    codes[:] = 30
    codes[150:190, 236:276] = 250
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).send(jpeg_bytes(codes))
        view = at.app.screen.query_one(PictureView)
        white = [float((view.picture.pixels > 128).mean())]
        for _ in range(4):
            await at.press("plus")
            white.append(float((view.picture.pixels > 128).mean()))
        assert white[0] < 0.02 and white[-1] > 0.9 and white == sorted(white)


async def test_lines_over_the_picture_change_on_one_key(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(1.0)
        seen = []
        for _ in range(6):
            seen.append(("┌" in at.text, "┼" in at.text))
            await at.press("number_sign")
        region, thirds, square, upright, wide, none = seen
        assert region == square == upright == wide == (True, False)
        assert thirds == (False, True) and none == (False, False)
        assert "┌" in at.text, "and from the beginning again"


async def test_keys_of_live_view_are_shown_while_it_is_on_and_only_then(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, LARGE, FOUND) as at:
        assert "enlarge" not in at.key_line
        await at.tell(ON)
        for words in ("+ − enlarge", "# lines", "j pause", "0 new best", "/ sweep"):
            assert words in at.key_line
        assert "k reference" not in at.key_line, "there is none"


async def test_no_live_view_and_no_drive_are_said_and_all_else_works(table: ScriptedTable, clock: FixedClock) -> None:
    plain = replace(CAMERA, live_view=False, focus_drive=False)
    async with bench(table, clock, SMALL, CameraFound(plain, READING, None)) as at:
        await at.press("v")
        assert "This camera offers no live view; everything else works." in at.text
        await at.press("slash")
        assert "This camera offers no focus drive; turn the ring by hand." in at.text
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()


# --- focus ------------------------------------------------------------------------------------------


async def test_the_large_number_rises_to_the_best_and_then_says_to_turn_back(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        numbers = []
        for blur_px in (6.0, 4.0, 2.5, 1.2, 0.0):
            await live.show(*[blur_px] * 4)
            assert at.large.startswith("FOCUS ")
            numbers.append(float(at.large.removeprefix("FOCUS ")))
        assert numbers == sorted(numbers) and numbers[-1] > 1.5 * numbers[0]
        await live.show(*[2.0] * 5)
        assert at.large.startswith("BACK ")
        assert "Past the best: turn back by about a third of the last move." in " ".join(at.text.split())
        assert f"best {numbers[-1]:.2f}" in at.text or f"best {numbers[-1]:.1f}" in at.text, "the best is held"
        assert "█" in at.text and "▁" in at.text, "the trend line has its top and its bottom"
        await live.show(*[0.0] * 5)
        assert at.large.startswith("FOCUS "), "it is back at the best"


async def test_a_new_search_forgets_the_best_on_one_key(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(*[2.0] * 4)
        await at.press("0")
        at.shoot.forget_best.assert_called_once_with()


async def test_a_hand_in_the_picture_is_said_and_takes_no_number(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 8)
        covered = with_hand(grey(live_jpeg(SCENE)).codes, 0.5)
        await live.send(jpeg_bytes(covered))
        assert at.large == "COVERED"
        assert "the best so far is kept" in " ".join(at.text.split())


async def test_a_result_is_read_in_live_view_too_and_then_gives_way_to_the_focus(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        missed = FrameJudged("f1", 1, (), focus(FocusVerdict.MISSED, 7.3, 0.31))
        await at.tell(*released(1, path="/pictures/1.jpg"), FrameMoved("f1", 1, FrameState.SAVED), missed)
        assert at.large == "MISSED 0.3 mm"
        clock.now_s += FADES_S
        screen = at.app.screen
        assert isinstance(screen, BenchScreen)
        screen.look_round()
        await at.settle()
        assert at.large.startswith("FOCUS ")


async def test_a_stop_stands_before_the_focus(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(*[1.0] * 4)
        await at.tell(RulesChanged((SYNC,)))
        assert at.large == "NO SYNC" and "FOCUS" in at.text


# --- what goes wrong --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "large"),
    [
        (Stream.LOST, "NO PICTURE"),
        (Stream.FROZEN, "FROZEN"),
        (Stream.BLACK, "BLACK"),
        (Stream.BROKEN, "DAMAGED"),
    ],
)
async def test_an_unwell_stream_is_said_large_with_its_sentence_and_is_over_by_itself(
    table: ScriptedTable, clock: FixedClock, state: Stream, large: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        await at.tell(Said(TEXTS[state], TROUBLE, True))
        assert at.large == large
        assert TEXTS[state] in " ".join(at.text.split())
        await at.tell(Said("", TROUBLE, True))
        await live.show(1.0)
        assert at.large.startswith("FOCUS ")


async def test_a_damaged_frame_leaves_the_last_picture_and_the_next_is_asked_for(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(1.0)
        view = at.app.screen.query_one(PictureView)
        before = view.picture
        await live.send(b"\xff\xd8 half a frame")
        assert view.picture is before
        assert at.shoot.live_picture_used.call_count == 2


async def test_after_a_pulled_cable_live_view_stands_as_it_was(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        await at.press("plus")
        await at.tell(CameraLost(Fault.LOST, "The cable was pulled."))
        assert at.large == "NO CAMERA" and "LIVE VIEW" not in at.text
        await at.tell(FOUND, ON)
        await live.show(*[1.0] * 4)
        assert at.large.startswith("FOCUS ")
        assert "LIVE VIEW · region" in at.text, "enlarged as it was"


async def test_a_picture_of_another_size_is_measured_anew_and_shown(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        codes = grey(live_jpeg(SCENE)).codes
        for _ in range(4):  # the same again and again, which says no more than once
            await live.send(jpeg_bytes(codes[::2, ::2]))
            assert at.large.startswith("FOCUS ")
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None and view.picture.full_width_px == 256
        assert at.shoot.live_picture_used.call_count == 8


# --- stillness --------------------------------------------------------------------------------------


async def test_the_motion_stands_there_in_px_with_its_limit(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        for i in range(12):
            await live.show(0.0, right_px=2.0 * (i % 2))
        assert "moves ±2.0 px" in at.text  # ±1 live px, two sensor px each
        assert f"limit ±{still_limit_px(REVISION):.1f} px" in at.text


async def test_a_release_by_stillness_counts_how_long_the_picture_has_been_still(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, RevisionChanged(BY_STILLNESS, "r"), ON) as at:
        live = Stream15(at, clock)
        for i in range(12):
            await live.show(0.0, right_px=2.0 * (i % 2))
        await at.tell(Waiting("f1", 1, "hold-off", clock.now_s + 0.7))
        assert at.large == "MOVES 2.0 px"
        await live.show(*[0.0] * 3)
        await at.tell(Waiting("f1", 1, "hold-off", clock.now_s + 0.3))
        assert at.large == "STILL 0.4 s"
        await at.tell(Waiting("f1", 1, "hold-off", clock.now_s + 1.5))
        assert at.large == "1.5 s", "the pictures could miss a swing: the timer's hold-off counts"


# --- the focus drive --------------------------------------------------------------------------------


async def test_a_sweep_goes_on_from_a_pause_since_it_looks_at_every_place(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await at.press("j")
        await live.show(1.0)
        at.shoot.live_picture_used.assert_not_called()
        await at.press("slash")
        at.shoot.live_picture_used.assert_called_once_with()
        at.shoot.sweep_focus.assert_called_once_with()


async def test_any_key_stops_a_sweep_and_does_nothing_else(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await at.press("slash")
        at.shoot.sweep_focus.assert_called_once_with()
        for key in ("space", "h", "escape", "Q"):
            await at.tell(Said("Looking for the peak; any key stops it.", SWEEP, True))
            assert "Looking for the peak; any key stops it." in at.text
            at.shoot.stop_sweep.reset_mock()
            await at.press(key)
            at.shoot.stop_sweep.assert_called_once_with()
        at.shoot.ask_release.assert_not_called()
        await at.tell(Said("", SWEEP, True), Said("At the peak."))
        assert "At the peak." in at.text
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()


async def test_the_ticks_for_stillness_and_for_a_locked_focus_are_settings(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, RevisionChanged(REVISION, "r")) as at:
        await at.press("e")
        assert "release waits    for the timer" in at.text and "focus drive      free" in at.text
        at_line = [line.label for line in LINES].index("release waits")
        await at.press(*["down"] * at_line, "right", "down", "right", "enter")
        (wanted,) = at.shoot.revise.call_args.args
        assert set(wanted.ticked) == {STILL_TICK, FOCUS_LOCKED}
        await at.tell(RevisionChanged(wanted, "r2"))
        await at.press("e", *["down"] * at_line)
        assert "for stillness" in at.text and "locked" in at.text
        await at.press("t")
        await at.type("for the t")
        await at.press("enter", "enter")
        (again,) = at.shoot.revise.call_args.args
        assert again.ticked == (FOCUS_LOCKED,)


# --- what is kept -----------------------------------------------------------------------------------


async def test_the_kept_best_stands_beside_the_best_of_now(table: ScriptedTable, clock: FixedClock) -> None:
    kept = KeptPeak(15.2, REVISION.region, 512, datetime(2026, 3, 1, tzinfo=UTC))
    async with bench(table, clock, SMALL, FOUND, ON, PeakKept(kept)) as at:
        await Stream15(at, clock).show(*[1.0] * 4)
        assert "kept 15.2" in at.text


async def test_the_stand_is_measured_and_kept_on_two_keys(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND, ON) as at:
        await at.press("q", "K")
        at.shoot.stands.measure.assert_called_once_with()
        at.shoot.stands.keep.assert_not_called()
        found = ring_down(*swing())
        await at.tell(StandMeasured(found))
        assert "K keep stand" in at.key_line
        await at.press("K")
        at.shoot.stands.keep.assert_called_once_with()


def swing() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """A touch that rings down at 4 Hz with 3 % damping, frames at uneven times: time, right, down."""
    time_s = np.cumsum(np.random.default_rng(1).uniform(0.02, 0.045, 90))
    right_px = 8 * np.exp(-0.03 * 2 * np.pi * 4 * time_s) * np.cos(2 * np.pi * 4 * time_s)
    return time_s, right_px, np.zeros_like(time_s)


# --- against the reference --------------------------------------------------------------------------


async def test_the_reference_is_blended_in_or_taken_away_and_what_to_correct_is_told(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    """24 mm of sensor, 512 live px, 1:2: a live px is 24 / 512 / 0.5 = 0.094 mm on the piece, 4 px are 0.38 mm."""
    path = tmp_path / "reference.jpg"
    path.write_bytes(live_jpeg(SCENE))
    table.reader = SimpleNamespace(frame=lambda frame_id: SimpleNamespace(picture=str(path)), frames=lambda *a, **k: [])
    async with bench(table, clock, LARGE, FOUND, ON, RevisionChanged(REVISION, "r")) as at:
        live = Stream15(at, clock)
        await live.show(0.0, right_px=4.0)
        await at.press("k")
        assert "REFERENCE" not in at.text, "there is none yet"
        await at.tell(ReferenceChanged("f0", 1))
        await at.press("k")
        await live.show(*[0.0] * 2, right_px=4.0)
        words = " ".join(at.text.split())
        assert "LIVE VIEW · blended with the reference" in words
        assert "Camera 0.4 mm to the right." in words
        assert isinstance(at.app.screen, BenchScreen)
        told = at.app.screen.correction or ""
        assert re.search(r"Lies 1[12]\.\d px \(0\.4 mm\) right", told), "3 sensor px a live px"
        view = at.app.screen.query_one(PictureView)
        await at.press("k")
        await live.show(*[0.0] * 2, right_px=0.0)
        assert "difference from the reference" in at.text
        assert "Lies as the reference." in at.text
        assert abs(float(view.picture.pixels.mean()) - 128) < 3, "nothing but noise is left"
        await at.press("k")
        await live.show(0.0)
        assert "REFERENCE" not in at.text and "reference" not in at.text.split("LIVE VIEW")[1].split("\n")[0]


async def test_a_reference_whose_file_is_gone_is_said_and_live_view_goes_on(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    gone = SimpleNamespace(picture=str(tmp_path / "gone.jpg"))
    table.reader = SimpleNamespace(frame=lambda frame_id: gone, frames=lambda *a, **k: [])
    async with bench(table, clock, LARGE, FOUND, ON, RevisionChanged(REVISION, "r"), ReferenceChanged("f0", 1)) as at:
        live = Stream15(at, clock)
        await live.show(0.0)
        await at.press("k")
        await live.show(0.0)
        assert "The reference: " in at.text
        assert at.shoot.live_picture_used.call_count == 2
