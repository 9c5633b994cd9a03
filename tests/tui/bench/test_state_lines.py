"""The lines of the state: large, sentences, remedies, hints, in little room too."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.finding import Level, RuleId
from session.shoot.events import (
    Event,
    RulesChanged,
    Said,
    Waiting,
)
from tests.support.bench_events import FOUND, MISSED
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Hinting, bench
from tests.support.scripted import DESCRIPTION, Studio
from tests.support.scripted_table import SYNC, FixedClock, ScriptedTable
from tui.screen.letters import block_text


async def test_the_large_line_is_drawn_three_rows_high_and_six_where_there_is_room(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for size, rows in ((SMALL, 3), (LARGE, 6)):
        async with bench(ScriptedTable(), clock, size, FOUND) as at:
            drawn = block_text("READY", size[0], rows)
            lines = at.text.split("\n")
            assert [line[: len(drawn[0])].rstrip() for line in lines[1 : 1 + rows]] == [row.rstrip() for row in drawn]


async def test_the_count_follows_the_clock(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, Waiting("f1", 1, RuleId.RECYCLING, clock.now_s + 2.0)) as at:
        assert at.large == "RECYCLES 2.0"
        clock.now_s += 1.2
        await at.tell(Said("anything"))
        assert at.large == "RECYCLES 0.8"


async def test_at_40_by_10_the_large_line_and_the_keys_still_serve_and_one_sentence_asks_for_room() -> None:
    of_the_kit = replace(DESCRIPTION, model="Wendle 16")  # else a caution stands where the sentence is to be
    async with played_bench(Studio(description=of_the_kit), (40, 10)) as at:
        flat = " ".join(at.text.split())
        assert "More room shows all: stillset wants 80 × 24, this terminal has 40 × 10." in flat
        assert block_text("READY", 40)[0].rstrip() in at.text
        await at.press("space")
        assert at.releases == 1


@pytest.mark.parametrize(
    ("going_on", "remedy"),
    [
        ([RulesChanged((SYNC,))], "[f] set 1/200 s"),
        ([RulesChanged((replace(SYNC, level=Level.CAUTION),))], "[f] set 1/200 s"),
        (MISSED, "Refocus in live view [v]."),
    ],
    ids=["stop", "caution", "missed"],
)
async def test_no_other_sentence_pushes_out_the_remedy_or_its_key(
    table: ScriptedTable, clock: FixedClock, going_on: list[Event], remedy: str
) -> None:
    lasts = Said("Something that lasts and is told at length. " * 12, "disk", lasting=True)
    passes = Said("Something that was just done and is told at length too. " * 8)
    async with bench(table, clock, SMALL, FOUND, *going_on, lasts, passes) as at:
        assert remedy in " ".join(at.text.split())
        assert "Something that lasts" in at.text and at.key_line.rstrip().endswith("Q leave")


async def test_a_hint_stands_above_the_keys(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, story=Hinting("Press [space] and see.")) as at:
        assert at.text.split("\n")[-3] == "Press [space] and see."


async def test_a_long_hint_takes_two_lines(table: ScriptedTable, clock: FixedClock) -> None:
    hint = "A tray of type lies on the table now. Press [p], choose it, and [y]: begin from what stands."
    async with bench(table, clock, SMALL, FOUND, story=Hinting(hint)) as at:
        assert hint in " ".join(at.text.split())
