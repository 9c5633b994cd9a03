"""The bench as lines for a screen reader."""

from __future__ import annotations

import io

from tests.support.bench_events import FOUND
from tests.support.scripted_table import FixedClock, ScriptedTable
from tui.app.plain import PlainApp
from tui.bench.bench_screen import BenchScreen


async def test_a_screen_that_is_not_composed_yet_is_told_when_it_is(table: ScriptedTable, clock: FixedClock) -> None:
    app = PlainApp(table, clock=clock)
    app.out = io.StringIO()
    async with app.run_test() as pilot:
        table.tell(FOUND)
        await pilot.pause()
        app.push_screen(BenchScreen())
        app.action_say_all()
        await pilot.pause()
        app.action_say_all()
    assert "READY" in app.out.getvalue()
