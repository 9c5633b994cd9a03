"""How the live picture moves, as the bench says it: in px, by a release for stillness, and as the support's swing."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.frame import camera_messages as say
from session.frame.finding import RuleId
from session.rules.stillness_rules import still_limit_px
from session.set.kit import read_kit
from session.set.kit_file import keep_support
from session.set.setup import Confirmation
from session.shoot.events import RevisionChanged, Waiting
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, Stream15
from tests.support.live_pictures import live_jpeg, scene
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted import Studio
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


async def test_the_confirmations_for_stillness_and_for_a_locked_focus_are_settings() -> None:
    async with played_bench() as at:
        await at.press("e")
        assert "release waits for the timer" in at.flat and "focus drive free" in at.flat
        at_line = [line.label for line in LINES].index("release waits")
        await at.press(*["down"] * at_line, "right", "down", "right", "enter")
        assert set(at.revision.confirmed) == {Confirmation.BY_STILLNESS, Confirmation.FOCUS_LOCKED}
        assert len(at.studio.log.acts) == 1, "both are one change"
        await at.press("v", "comma")
        assert at.studio.camera.count(say.DriveFocus) == 0, "the focus is locked"
        await at.press("e", *["down"] * at_line)
        assert "for stillness" in at.text and "locked" in at.text
        await at.press("t")
        await at.type("for the t")
        await at.press("enter", "enter")
        assert at.revision.confirmed == (Confirmation.FOCUS_LOCKED,)


def swinging(studio: Studio) -> None:
    """Live pictures of a touch that rings down at 6 Hz with 3 % damping, at uneven times."""
    chance, light = np.random.default_rng(5), scene()
    began_s = studio.clock.now_s + 0.5
    for n in range(70):
        studio.clock.now_s += float(chance.uniform(0.8, 1.2)) / 15
        since_s = max(studio.clock.now_s - began_s, 0)
        right_px = 1.3 * math.exp(-0.03 * 2 * math.pi * 6 * since_s) * math.sin(2 * math.pi * 6 * since_s)
        studio.deliver(say.LiveFrame(live_jpeg(light, right_px=right_px, seed=n), studio.clock.now_s))


async def test_the_support_is_measured_and_kept_in_the_kit_file_on_two_keys(tmp_path: Path) -> None:
    path = tmp_path / "kit.toml"
    path.write_text('[[support]]\nname = "column"  # the old one\nhold_off_s = 2.0\n')
    async with played_bench(size=LARGE) as at:
        at.studio.shoot.shoot_state.keep_support = lambda name, found: keep_support(path, name, found)
        await at.press("v", "q")
        assert "touch the camera" in " ".join(at.text.split()), "nothing was seen yet"
        await at.press("K")
        assert "keep support" not in at.key_line and path.read_text().count("damping") == 0
        swinging(at.studio)
        await at.tell()
        await at.press("q")
        assert "The support swings at 6.0 Hz" in " ".join(at.text.split())
        assert "K keep support" in at.key_line and path.read_text().count("damping") == 0
        await at.press("K")
        kept = read_kit(path).support_for("column")
        assert kept is not None and kept.frequency_hz == pytest.approx(6, rel=0.05)
        assert "# the old one" in path.read_text()
        assert "Kept support column: 6 Hz" in " ".join(at.text.split())
        assert "keep support" not in at.key_line, "once is enough"
