"""Focus in live view at the bench: the large number, the best held and kept, the sweep; real keys and frames."""

from __future__ import annotations

import re
from datetime import UTC, datetime

from session.frame.finding import FocusVerdict
from session.frame.ports import KeptPeak
from session.frame.states import FrameState
from session.shoot.events import (
    About,
    FrameJudged,
    PeakKept,
    RulesChanged,
    Said,
    SettingsChanged,
)
from tests.support.bench_events import FOUND, focus, moved, released
from tests.support.live_at_bench import ON, Stream15
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
