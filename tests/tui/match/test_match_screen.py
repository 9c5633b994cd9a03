"""The match screen over the real controller: frames from here, the way to the bench, and the reference beside."""

from __future__ import annotations

from tests.support.reshoot_screen import reshoot_screen
from tests.support.written_log import WrittenLog
from tui.bench.bench_screen import BenchScreen
from tui.match.match_screen import MatchScreen


async def test_a_frame_is_released_from_here_and_a_stop_is_settled_here(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        await at.wait(60.0)
        await at.press("space")
        assert at.releases == 1 and at.large == "HANDS OFF"
        await at.press("escape")
        assert isinstance(at.app.screen, BenchScreen) and "M match" in at.key_line
        await at.press("M")
        assert isinstance(at.app.screen, MatchScreen)
