"""The ledger's list: narrowed and widened, searched, paged, and other jobs of the log."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

from session.frame.finding import FocusVerdict
from tests.support.at_ledger import (
    SHARP,
    at_the_bench,
    looking_only,
    over_the_controller,
    row,
)
from tests.support.bench_events import FOUND, judged
from tests.support.scripted_table import READING, REVISION, ScriptedTable
from tests.support.written_log import WrittenLog, written_log


async def test_the_list_is_narrowed_by_verdict_and_mark_and_by_words_and_widened_again(looked_back: WrittenLog) -> None:
    looked_back.log.mark(looked_back.frame_ids[3], "hero")
    looked_back.log.note(looked_back.frame_ids[4], "crown nearest the lens")
    async with looking_only(looked_back) as at:
        await at.press("v", "v", "v")
        assert "2 frames: missed" in at.text
        await at.press("escape", "m")
        assert "1 frame: hero" in at.text and row(at, 3)
        await at.press("escape", "slash")
        await at.type("nearest")
        await at.press("enter")
        assert "1 frame: “nearest”" in at.text and row(at, 4)
        await at.press("escape")
        assert "12 frames" in at.text


async def test_a_search_that_finds_nothing_says_so_and_leaves_the_list(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.press("v", "slash")
        await at.type("platypus")
        await at.press("enter")
        assert "None here: “platypus”." in at.text
        assert "8 frames: sharp" in at.text and row(at, 12)


async def test_verdicts_and_marks_that_no_frame_has_are_skipped_and_said(looked_back: WrittenLog) -> None:
    """None has a flaw, and the only mark is a kill: five verdicts bring four narrowings, one mark brings one."""
    looked_back.log.mark(looked_back.frame_ids[3], "kill")
    async with looking_only(looked_back) as at:
        await at.press("v", "v", "v", "v")
        assert "1 frame: focus ?" in at.text
        await at.press("v")
        assert "12 frames" in at.text and "None here: with a flaw." in at.text
        await at.press("m")
        assert "1 frame: kill" in at.text and "None here: hero, select, alternate." in at.text
        await at.press("v")
        assert "1 frame: sharp and kill" in at.text
        await at.press("v")
        assert "1 frame: kill" in at.text and "None here: soft, missed, focus ?, with a flaw." in at.text


async def test_a_list_that_a_mark_empties_says_so(looked_back: WrittenLog) -> None:
    looked_back.log.mark(looked_back.frame_ids[3], "hero")
    async with over_the_controller(looked_back) as at:
        await at.press("l", "m", "h")
        assert "No frame answers to this." in at.text
        await at.press("escape")
        assert "12 frames" in at.text


async def test_a_search_half_typed_is_cancelled(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.press("slash")
        await at.type("x")
        await at.press("escape")
        assert "12 frames" in at.text


async def test_the_other_jobs_of_the_log_come_by_key(looked_back: WrittenLog) -> None:
    looked_back.log.open_place("Type trays", "sort tray 2", "flat")
    async with looking_only(looked_back) as at:
        names = {at.text.split("\n")[0]}
        await at.press("j")
        names.add(at.text.split("\n")[0])
        assert len(names) == 2 and any("Type trays" in name for name in names)
        await at.press("j")
        assert at.text.split("\n")[0] in names


async def test_an_empty_log_says_that_there_is_no_frame_yet(tmp_path: Path) -> None:
    log = written_log(tmp_path / "new.db", REVISION, READING, ())
    try:
        async with looking_only(log) as at:
            assert "No frame yet." in at.text
            await at.press("up", "down", "pageup", "end", "p", "c", "h", "n", "v", "m")
            assert "frames" in at.text
    finally:
        log.close()


async def test_pages_and_ends_are_reached_by_keys(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.press("end")
        assert "FRAME 1 " in at.text
        await at.press("pageup")
        assert "FRAME 8 " in at.text
        await at.press("home")
        assert "FRAME 12 " in at.text


async def test_a_frame_that_is_shot_meanwhile_appears(looked_back: WrittenLog, table: ScriptedTable) -> None:
    async with at_the_bench(looked_back, table) as at:
        await at.tell(FOUND)
        await at.press("l")
        looked_back.log.mark(looked_back.frame_ids[12], "kill")
        await at.tell(*judged(12, FocusVerdict.SHARP, 0.4))
        assert "kill" in row(at, 12)
        assert "bench: SHARP" in at.text


async def test_a_list_narrowed_by_a_key_stays_so_when_a_frame_comes_in_meanwhile(
    looked_back: WrittenLog, table: ScriptedTable
) -> None:
    """Reading the list takes as long as it likes: the frame's news may come in the middle."""
    async with at_the_bench(looked_back, table) as at:
        await at.press("l")
        frames = looked_back.reader.frames
        news = iter([judged(12, SHARP)])

        def meanwhile(*wanted: object, **options: object) -> object:
            for events in news:
                table.tell(*events)
            return frames(*wanted, **options)  # type: ignore[arg-type]

        at.app.reader = SimpleNamespace(frames=meanwhile, frame=looked_back.reader.frame, jobs=looked_back.reader.jobs)
        await at.press("v", "v", "v")
        assert "2 frames: missed" in at.text
