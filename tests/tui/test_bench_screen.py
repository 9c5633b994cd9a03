"""What stands on the bench screen at 80x24 and 160x48, with a scripted table and a clock that stands still."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_events import COMING, FOUND, focus, judged, released
from running_screen import LARGE, SMALL, bench
from scripted_table import CAMERA, READING, SYNC, FixedClock, ScriptedTable

from session.events import (
    Event,
    FrameJudged,
    FrameMoved,
    RulesChanged,
    Said,
    Waiting,
)
from session.finding import Finding, FocusVerdict, Level
from session.frame import FrameState
from tui.widgets.letters import block_text
from tui.widgets.picture import PictureView

SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])


# --- what stands on the screen ----------------------------------------------------------------------


@SIZES
async def test_everything_that_matters_before_a_release_stands_on_one_screen(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int]
) -> None:
    async with bench(table, clock, size, FOUND) as at:
        for words in (
            "barrel 6 of 24 · three-quarter · set-up 07.3",
            "battery 81 %",
            "1/200 s",
            "f/11 (f/16 here)",  # N·(1 + m/P) = 11 · 1.5 = 16.5 at 1:2 (references: effective f-number)
            "ISO 100",
            *(("1 key   1/4 (−2 EV)", "35° up   tube") if size[0] > 80 else ("1 key   1/4  600 mm",)),
            "45° left · 35° up",
            "2 rim   1/8",
            "FINDINGS",
            "LEDGER",
            "space release",
        ):
            assert words in at.text
        assert at.large == "READY"


@SIZES
async def test_a_shoot_reads_as_it_goes(table: ScriptedTable, clock: FixedClock, size: tuple[int, int]) -> None:
    missed = Finding("focus", Level.CAUTION, "blur 7.3 px in the region, limit 2.0 px: 0.3 mm off.", 7.3, 2.0, "px")
    steps: list[tuple[Event, str]] = [
        (FOUND, "READY"),
        (Waiting("f1", 1, "hold-off", clock.now_s + 1.2), "1.2 s"),
        (released(1)[0], "HANDS OFF"),
        (released(1)[1], "SAVING"),
        (FrameMoved("f1", 1, FrameState.SAVED), "CHECKING"),
        (FrameJudged("f1", 1, (missed,), focus(FocusVerdict.MISSED, 7.3, 0.31)), "MISSED 0.3 mm"),
    ]
    async with bench(table, clock, size) as at:
        assert at.large == "NO CAMERA"
        for event, large in steps:
            await at.tell(event)
            assert at.large == large
        assert "blur 7.3 px in the region" in at.text
        assert "1 missed" in at.text.replace("○ ", "")


async def test_the_large_line_is_drawn_three_rows_high_and_six_where_there_is_room(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for size, rows in ((SMALL, 3), (LARGE, 6)):
        async with bench(ScriptedTable(), clock, size, FOUND) as at:
            drawn = block_text("READY", size[0], rows)
            lines = at.text.split("\n")
            assert [line[: len(drawn[0])].rstrip() for line in lines[1 : 1 + rows]] == [row.rstrip() for row in drawn]


async def test_the_count_follows_the_clock(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, Waiting("f1", 1, "recycling", clock.now_s + 2.0)) as at:
        assert at.large == "RECYCLES 2.0"
        clock.now_s += 1.2
        await at.tell(Said("anything"))
        assert at.large == "RECYCLES 0.8"


@SIZES
async def test_the_last_picture_is_shown_with_the_regions_frame(
    table: ScriptedTable, clock: FixedClock, size: tuple[int, int], picture: str
) -> None:
    async with bench(table, clock, size, FOUND, *released(1, path=picture)) as at:
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None and view.picture.full_width_px == 300
        assert "▀" in at.text and "┌" in at.text and "┘" in at.text
        left, top = view.region.offset
        upper_left = at.app.screen.get_style_at(left + view.size.width // 4, top + 1)
        lower_right = at.app.screen.get_style_at(left + 3 * view.size.width // 4, top + view.size.height - 4)
        assert upper_left.color and upper_left.color.triplet and min(upper_left.color.triplet) > 200
        assert lower_right.color and lower_right.color.triplet and max(lower_right.color.triplet) < 50


async def test_a_file_that_cant_be_shown_says_so_where_its_picture_would_be(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    (tmp_path / "broken.jpg").write_bytes(b"\xff\xd8broken")
    async with bench(table, clock, SMALL, FOUND, *released(1, path=str(tmp_path / "broken.jpg"))) as at:
        assert "the file" in at.text


async def test_at_40_by_10_the_large_line_and_the_keys_still_serve_and_one_sentence_asks_for_room(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, (40, 10), FOUND) as at:
        flat = " ".join(at.text.split())
        assert "More room shows all: stillset wants 80 × 24, this terminal has 40 × 10." in flat
        assert block_text("READY", 40)[0].rstrip() in at.text
        await at.press("space")
        at.shoot.ask_release.assert_called_once_with()


async def test_the_screen_follows_the_terminals_size(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, LARGE, FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)) as at:
        assert "1 ● sharp" in at.text
        await at.pilot.resize_terminal(80, 24)
        await at.settle()
        assert "LEDGER  1 sharp ◂" in at.text
        await at.pilot.resize_terminal(20, 5)
        await at.settle()
        await at.pilot.resize_terminal(160, 48)
        await at.settle()
        assert "1 ● sharp" in at.text


async def test_what_was_there_before_the_screen_opened_is_shown_too(table: ScriptedTable, clock: FixedClock) -> None:
    table.shoot.bench.description, table.shoot.bench.reading = CAMERA, READING
    table.shoot.findings.return_value = (SYNC,)
    async with bench(table, clock) as at:
        assert at.large == "NO SYNC"
        at.shoot.say_reference.assert_called()


async def test_findings_that_find_no_room_are_counted(table: ScriptedTable, clock: FixedClock) -> None:
    many = tuple(Finding(f"rule-{i}", Level.CAUTION, f"Caution number {i} of a great many.") for i in range(40))
    async with bench(table, clock, SMALL, FOUND, RulesChanged(many)) as at:
        assert "Caution number 0 of a great many." in at.text
        assert "more lines" in at.text
