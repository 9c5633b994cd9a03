"""A paste where no line is open does nothing and says so."""

from __future__ import annotations

import pytest
from textual.events import Paste

from session.frame.finding import FocusVerdict
from tests.support.bench_events import FOUND, judged, released
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import FixedClock, ScriptedTable

SEEN = (*released(1), *judged(1, FocusVerdict.SHARP, 0.4))


@pytest.mark.parametrize("screen", [(), ("l",), ("m",), ("question_mark",)], ids=["bench", "ledger", "planner", "help"])
async def test_a_paste_where_no_line_is_open_does_nothing_and_says_so(
    table: ScriptedTable, clock: FixedClock, screen: tuple[str, ...]
) -> None:
    async with bench(table, clock, SMALL, FOUND, *SEEN) as at:
        await at.press(*screen)
        at.posted.acts.clear()
        at.app.post_message(Paste("h x  \r f o Q"))
        await at.settle()
        assert at.posted.acts == []
        assert at.app.is_running
        assert "A paste goes only into an open line" in at.text or screen == ("question_mark",)
