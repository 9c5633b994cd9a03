"""How the live picture moves, as the bench says it: in px, by a release for stillness, and as the support's swing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from session.frame.finding import RuleId
from session.optics.ring_down import ring_down
from session.rules.stillness_rules import still_limit_px
from session.set.setup import Confirmation
from session.shoot.acts import KeepSupport, MeasureSupport
from session.shoot.events import RevisionChanged, StandMeasured, Waiting
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, Stream15
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.setting_lines import LINES

WAITS_FOR_REST = replace(REVISION, confirmed=(Confirmation.BY_STILLNESS,))


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
    async with bench(table, clock, SMALL, FOUND, RevisionChanged(WAITS_FOR_REST, "r"), ON) as at:
        live = Stream15(at, clock)
        for i in range(12):
            await live.show(0.0, right_px=2.0 * (i % 2))
        await at.tell(Waiting("f1", 1, RuleId.HOLD_OFF, clock.now_s + 0.7))
        assert at.large == "MOVING 2.0 px"
        await live.show(*[0.0] * 3)
        await at.tell(Waiting("f1", 1, RuleId.HOLD_OFF, clock.now_s + 0.3))
        assert at.large == "AT REST 0.4 s"
        await at.tell(Waiting("f1", 1, RuleId.HOLD_OFF, clock.now_s + 1.5))
        assert at.large == "1.5 s", "the pictures could miss a swing: the timer's hold-off counts"


async def test_the_confirmations_for_stillness_and_for_a_locked_focus_are_settings(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, RevisionChanged(REVISION, "r")) as at:
        await at.press("e")
        assert "release waits    for the timer" in at.text and "focus drive      free" in at.text
        at_line = [line.label for line in LINES].index("release waits")
        await at.press(*["down"] * at_line, "right", "down", "right", "enter")
        wanted = at.revised
        assert set(wanted.confirmed) == {Confirmation.BY_STILLNESS, Confirmation.FOCUS_LOCKED}
        await at.tell(RevisionChanged(wanted, "r2"))
        await at.press("e", *["down"] * at_line)
        assert "for stillness" in at.text and "locked" in at.text
        await at.press("t")
        await at.type("for the t")
        await at.press("enter", "enter")
        again = at.revised
        assert again.confirmed == (Confirmation.FOCUS_LOCKED,)


def swing() -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """A touch that rings down at 4 Hz with 3 % damping, frames at uneven times: time, right, down."""
    time_s = np.cumsum(np.random.default_rng(1).uniform(0.02, 0.045, 90))
    right_px = 8 * np.exp(-0.03 * 2 * np.pi * 4 * time_s) * np.cos(2 * np.pi * 4 * time_s)
    return time_s, right_px, np.zeros_like(time_s)


async def test_the_stand_is_measured_and_kept_on_two_keys(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND, ON) as at:
        await at.press("q", "K")
        assert at.asked(MeasureSupport) == [MeasureSupport()]
        assert not at.asked(KeepSupport)
        found = ring_down(*swing())
        await at.tell(StandMeasured(found))
        assert "K keep support" in at.key_line
        await at.press("K")
        assert at.asked(KeepSupport) == [KeepSupport()]
