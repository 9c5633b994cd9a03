"""Live view on the match screen while another screen lies over it."""

from __future__ import annotations

from tests.support.live_at_bench import PlayedStream
from tests.support.reshoot_screen import reshoot_screen
from tests.support.written_log import WrittenLog
from tui.match.match_screen import MatchScreen


async def test_live_view_goes_on_after_help_was_read_over_the_match_screen(written: WrittenLog) -> None:
    async with reshoot_screen(written) as at:
        stream = PlayedStream(at)
        await at.press("v")
        await stream.show(1.0)
        await at.press("question_mark")
        await stream.show(1.0)
        asked = stream.asked_for
        await at.press("escape")
        assert isinstance(at.app.screen, MatchScreen)
        assert stream.asked_for == asked + 1, "the picture that came under the help was this screen's to take"
