"""The help: every key with its sentence, and the cautions."""

from __future__ import annotations

from tests.support.bench_events import FOUND
from tests.support.running_screen import SMALL, bench
from tests.support.scripted_table import FixedClock, ScriptedTable


async def test_help_lists_every_key_and_the_cautions(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, (120, 400), FOUND) as at:
        await at.press("question_mark")
        assert "Release, as soon as rules and waits allow." in at.text
        assert "never open a head or pack" in at.text
        await at.press("escape")
        assert at.large == "READY"


async def test_long_sentences_of_the_help_go_on_under_their_beginning(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, (80, 400), FOUND) as at:
        await at.press("question_mark")
        lines = at.text.split("\n")
        first = next(i for i, line in enumerate(lines) if "Change exposure time, aperture" in line)
        assert lines[first + 1].startswith(" " * 14) and "more." in lines[first + 1]


async def test_the_help_begins_with_the_release_and_not_with_the_demos_story(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND) as at:
        await at.press("question_mark")
        assert at.text.split("\n")[1].split()[:2] == ["space", "Release,"]
        assert "demo" not in at.text
