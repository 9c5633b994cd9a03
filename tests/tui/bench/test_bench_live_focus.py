"""Focus in live view at the bench: the large number, the best held and kept, the sweep; real keys and frames."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.frame.ports import KeptPeak
from session.frame.states import FrameState
from session.live.sweep import Range
from session.shoot.events import (
    About,
    FrameJudged,
    PeakKept,
    RulesChanged,
    Said,
    SettingsChanged,
)
from tests.support.bench_events import FOUND, focus, moved, released
from tests.support.live_at_bench import ON, PlayedStream, Stream15
from tests.support.played_bench import CHARGED_S, played_bench
from tests.support.running_screen import SMALL, Running, bench
from tests.support.scripted_table import READING, REVISION, SYNC, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.words.model import FADES_S


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
        words = " ".join(at.text.split())
        assert re.search(r"Past the best: turn back by about a third of the last move\. Now \d\d % of it\.", words)
        assert f"best {numbers[-1]:.2f}" in at.text or f"best {numbers[-1]:.1f}" in at.text, "the best is held"
        assert "█" in at.text and "▁" in at.text, "the trend line has its top and its bottom"
        await live.show(*[0.0] * 5)
        assert at.large.startswith("FOCUS "), "it is back at the best"


async def test_a_new_search_forgets_the_best_on_one_key_and_undo_brings_it_back() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(*[0.5] * 4)
        (best,) = re.findall(r"best (\d+\.\d+)", at.text)
        await at.press("B")
        await live.show(*[4.0] * 4)
        assert float(re.findall(r"best (\d+\.\d+)", at.text)[0]) < float(best)
        await at.press("z")
        await live.show(*[4.0] * 2)
        assert f"best {best}" in at.text


async def test_the_kept_best_stands_beside_the_best_of_now(table: ScriptedTable, clock: FixedClock) -> None:
    kept = KeptPeak(15.2, REVISION.region, 512, datetime(2026, 3, 1, tzinfo=UTC))
    async with bench(table, clock, SMALL, FOUND, ON, PeakKept(kept)) as at:
        await Stream15(at, clock).show(*[1.0] * 4)
        assert "kept 15.2" in at.text


async def test_a_sharp_frame_is_read_in_live_view_too_and_then_gives_way_to_the_focus(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        sharp = FrameJudged("f1", 1, (), focus(FocusVerdict.SHARP, 0.8))
        await at.tell(*released(1, path="/pictures/1.jpg"), moved("f1", 1, FrameState.SAVED), sharp)
        assert at.large == "SHARP 0.8 / 2.0"
        await _time_passes(at, clock)
        assert at.large.startswith("FOCUS ")


async def test_a_miss_stays_in_live_view_until_a_key_is_pressed(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        missed = FrameJudged("f1", 1, (), focus(FocusVerdict.MISSED, 7.3, 0.31))
        await at.tell(*released(1, path="/pictures/1.jpg"), moved("f1", 1, FrameState.SAVED), missed)
        await _time_passes(at, clock)
        await live.show(*[1.0] * 4)
        await at.tell(RulesChanged((SYNC,)), RulesChanged(()), SettingsChanged(READING, by_hand=True))
        await _time_passes(at, clock)
        assert at.large == "MISSED 0.3 mm" and "Any key goes on with the focus." in " ".join(at.text.split())
        await at.press("escape")
        assert at.large.startswith("FOCUS ")


async def _time_passes(at: Running, clock: FixedClock) -> None:
    clock.now_s += FADES_S
    screen = at.app.screen
    assert isinstance(screen, BenchScreen)
    screen.look_round()
    await at.settle()


async def test_a_stop_stands_before_the_focus(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(*[1.0] * 4)
        await at.tell(RulesChanged((SYNC,)))
        assert at.large == "NO SYNC" and "FOCUS" in at.text


# --- the focus drive --------------------------------------------------------------------------------


async def test_a_sweep_goes_on_from_a_pause_since_it_looks_at_every_place() -> None:
    async with played_bench() as at:
        await at.press("v", "j")
        live = PlayedStream(at)
        await live.show(1.0)
        assert live.asked_for == 0
        await at.press("slash")
        assert live.asked_for == 1
        assert at.studio.shoot.live.sweeping


async def test_how_far_a_sweep_looks_is_chosen_on_one_key_and_shown() -> None:
    async with played_bench() as at:
        await at.press("v")
        assert "/ sweep 200 steps" in at.key_line and "R range" in at.key_line
        for span, step in ((600, 60), (60, 6), (200, 20)):
            await at.press("R")
            assert f"A sweep looks over {span} steps of the drive, {step} apart" in at.text
            assert f"/ sweep {span} steps" in at.key_line
        await at.press("R", "slash")
        await PlayedStream(at).show(*[1.0] * 4)
        assert at.studio.camera.last(say.DriveFocus).steps == -(300 + Range().run_up_steps), (
            "half of the range, and slack"
        )
        await at.press("escape", "v", "v")
        assert "/ sweep 600 steps" in at.key_line, "it stays chosen"


async def test_a_sweep_that_passes_the_best_on_purpose_says_so_instead_of_turn_back(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON, Said("Looking for the peak.", About.SWEEP, True)) as at:
        live = Stream15(at, clock)
        for blur_px in (4.0, 2.5, 1.2, 0.0, 2.0):
            await live.show(*[blur_px] * 4)
            assert at.large.startswith("SWEEP ")
        await at.tell(Said("", About.SWEEP, True))
        assert at.large.startswith("BACK ")


@pytest.mark.parametrize("key", ["space", "h", "escape", "Q"])
async def test_any_key_stops_a_sweep_and_does_nothing_else(key: str) -> None:
    async with played_bench() as at:
        await at.press("v", "slash")
        assert at.studio.shoot.live.sweeping
        assert "any key stops it" in at.text
        written = len(at.studio.log.rows)
        await at.press(key)
        assert not at.studio.shoot.live.sweeping
        assert at.releases == 0 and len(at.studio.log.rows) == written and at.app.is_running
        await at.press("space")
        await at.wait(CHARGED_S)  # the drive has touched the camera
        assert at.releases == 1
