"""Looking back by real keys over a real log, with and without a bench behind it."""

from __future__ import annotations

import stat
from dataclasses import replace
from pathlib import Path

import pytest

from session.frame.shot_plane import SERIES_OUTCOME
from session.frame.states import Intent
from session.order.client_order import Order, OrderedPiece
from session.shoot.acts import Act, MarkFrame
from storage.reading.log_reader import LogReader
from tests.support.at_ledger import (
    READ_ONLY,
    SIZES,
    at_the_bench,
    looking_only,
    over_the_controller,
    row,
)
from tests.support.bench_events import FOUND
from tests.support.log_samples import PLANE, whole_frame
from tests.support.running_screen import LARGE, SMALL, running
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog
from tui.app.stillset_app import StillsetApp


@SIZES
async def test_without_a_camera_the_newest_job_is_listed_newest_frame_first_and_shown_in_full(
    looked_back: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking_only(looked_back, size) as at:
        assert "Invented movements · 12 frames" in at.text
        assert row(at, 12).startswith("▸") and "sharp" in row(at, 12) and "07.4" in row(at, 12)
        assert "FRAME 12 · barrel 6 of 24 · three-quarter" in at.text
        assert "1/200 s  f/11  ISO 100" in at.text
        assert "▀" in at.text and "┌" in at.text


async def test_where_nothing_can_be_written_it_says_so_and_offers_no_keys_for_it(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        assert READ_ONLY in at.text
        assert "mark" not in at.key_line.replace("marked", "") and "note" not in at.key_line
        await at.press("h", "n")
        assert looked_back.reader.frame(looked_back.frame_ids[12]).mark is None


async def test_a_log_that_another_writer_holds_and_that_has_no_write_permission_can_be_looked_at(
    looked_back: WrittenLog, tmp_path: Path
) -> None:
    """The writer of the fixture is still open; the second reader opens beside it."""
    path = tmp_path / "log.db"
    path.chmod(stat.S_IRUSR)
    other = LogReader.open(path)
    try:
        async with running(StillsetApp(reader=other, read_only=READ_ONLY), SMALL) as at:
            assert "12 frames" in at.text
    finally:
        other.close()


async def test_marks_are_set_and_removed_from_the_ledger(looked_back: WrittenLog) -> None:
    async with over_the_controller(looked_back) as at:
        await at.press("l", "down", "h")
        assert "hero" in row(at, 11)
        frame = looked_back.reader.frame(looked_back.frame_ids[11])
        assert frame is not None and frame.mark == "hero"
        await at.press("h")
        assert "hero" not in row(at, 11)


async def test_a_hero_that_is_not_sharp_or_not_the_only_one_is_told_as_it_is_marked(
    looked_back: WrittenLog, table: ScriptedTable
) -> None:
    looked_back.log.mark(looked_back.frame_ids[2], "hero")
    async with at_the_bench(looked_back, table) as at:
        table.tell(FOUND)
        await at.press("l", "down", "down", "down", "h")  # frame 9
        told = " ".join(at.text.split())
        assert "Frame 9 (barrel 6 of 24, three-quarter) was found missed." in told
        assert "has several heroes: frames 2, 9." in told
        await at.press("H")
        assert "HAND-OVER" in at.text and at.app.model.passing == "", "the ledger's sentence belongs to the ledger"
        await at.press("escape", "h", "h")
        assert "several heroes" in at.text
        await at.press("s")
        assert "several heroes" not in at.text, "what was said of the mark of before is over"


async def test_the_hero_of_the_orders_last_view_says_how_the_job_is_handed_over(
    looked_back: WrittenLog, table: ScriptedTable
) -> None:
    job = looked_back.place.job
    both, one = (
        Order(job, pieces=(OrderedPiece("barrel 6 of 24", views=views),))
        for views in (("three-quarter", "top"), ("three-quarter",))
    )
    looked_back.log.keep_order(both)
    async with over_the_controller(looked_back) as at:
        await at.press("l", "h")
        assert "hands the job over" not in at.text, "the view from the top has none"
        looked_back.log.keep_order(one)
        await at.press("h", "h")
        assert "Every view of the order has its hero. [H] hands the job over." in " ".join(at.text.split())


async def test_a_hero_is_judged_once_its_mark_and_those_before_it_stand_in_the_log(
    looked_back: WrittenLog, table: ScriptedTable, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The mark is taken from 11 and given to 12 before the log has either; both are sharp, so there is no doubt."""
    looked_back.log.mark(looked_back.frame_ids[11], "hero")
    waiting: list[Act] = []
    post = table.post
    async with at_the_bench(looked_back, table) as at:
        table.tell(FOUND)
        await at.press("l", "down")
        monkeypatch.setattr(at.app, "post", waiting.append)
        await at.press("h", "up", "h")
        assert [act.mark for act in waiting if isinstance(act, MarkFrame)] == [None, "hero"]
        assert "several heroes" not in at.text
        for act in waiting:
            if isinstance(act, MarkFrame):
                looked_back.log.mark(act.frame_id, act.mark)
            post(act)
        await at.settle()
        assert "several heroes" not in at.text


async def test_what_was_done_last_is_undone_and_redone_from_the_ledger(looked_back: WrittenLog) -> None:
    async with over_the_controller(looked_back) as at:
        await at.press("l", "down", "h", "up", "k")
        await at.press("z")
        assert "kill" not in row(at, 12) and "hero" in row(at, 11)
        await at.press("z")
        assert "hero" not in row(at, 11)
        await at.press("Z")
        assert "hero" in row(at, 11)
        assert "Redone: frame 11 marked hero." in at.text


async def test_undo_in_the_ledger_is_about_the_job_that_is_listed(looked_back: WrittenLog) -> None:
    """Each of two jobs has a mark; the bench shoots for one, the ledger lists the other."""
    other = looked_back.log.open_place("Type trays", "sort tray 2", "flat")
    key = "00000000-0000-4000-8000-000000000099"
    revision_id = looked_back.log.save_revision(other, REVISION)
    begun = Intent(key, 1, revision_id, "invented-1", "/pictures", "0001", FixedClock().now())
    looked_back.log.begin_frame(begun, other)
    async with over_the_controller(looked_back) as at:
        await at.press("l", "h")
        looked_back.log.mark(key, "select")
        await at.press("j")
        assert "Type trays" in at.text.split("\n")[0] and "select" in row(at, 1)
        await at.press("z")
        assert "select" not in row(at, 1)
        assert "Undone: frame 1 marked select." in at.text
        own, theirs = looked_back.reader.frame(looked_back.frame_ids[12]), looked_back.reader.frame(key)
        assert own is not None and own.mark == "hero"
        assert theirs is not None and theirs.mark is None
        await at.press("z")
        assert "There is nothing before this to go back to (set-up 07.3)." in at.text
        await at.press("j", "z")
        own = looked_back.reader.frame(looked_back.frame_ids[12])
        assert own is not None and own.mark is None


async def test_a_log_for_looking_only_has_nothing_to_undo(looked_back: WrittenLog) -> None:
    looked_back.log.mark(looked_back.frame_ids[12], "hero")
    async with looking_only(looked_back) as at:
        await at.press("z", "Z")
        assert "hero" in row(at, 12) and "undo" not in at.key_line


async def test_a_note_is_added_and_read_at_once(looked_back: WrittenLog) -> None:
    async with over_the_controller(looked_back, LARGE) as at:
        await at.press("l", "n")
        await at.type("[bold] not markup")
        await at.press("enter")
        assert "[bold] not markup" in at.text
        assert looked_back.reader.notes()[0].text == "[bold] not markup"


async def test_marks_made_in_the_ledger_stand_at_the_bench(looked_back: WrittenLog) -> None:
    async with over_the_controller(looked_back) as at:
        assert "12 sharp ◂" in at.text, "frames of earlier days are there too"
        await at.press("l", "s", "l")
        assert "12 sharp select ◂" in at.text


async def test_ctrl_c_ends_the_ledger(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back) as at:
        await at.press("ctrl+c")
        assert at.app.return_code == 0


async def test_a_focus_series_is_one_row_and_its_frames_open_beneath_it(looked_back: WrittenLog) -> None:
    log, place, key = looked_back.log, looked_back.place, looked_back.revision_id
    for number, mm in enumerate((0.0, 0.88, 1.76), 13):
        last = whole_frame(log, place, number, key, series=replace(PLANE, plane_mm=mm, frames=3))
    log.record(SERIES_OUTCOME, "99 % of what can be told is sharp in 3 frames; 8 % of the picture can't be told.", last)
    async with looking_only(looked_back) as at:
        assert (
            "15 frames" in at.text and "series of 3, sharp: 99 % of what can be told" in row(at, 15) and not row(at, 14)
        )
        assert "+ − series" in at.key_line
        await at.press("plus")
        assert [number for number in range(13, 16) if "plane" in row(at, number)] == [13, 14, 15]
        await at.press("down", "minus")
        assert row(at, 15).startswith("▸") and not row(at, 14)
        await at.press("tab")
        assert "series of 3" in at.text
        await at.press("tab", "down")
        assert row(at, 12).startswith("▸") and "+ −" not in at.key_line
        await at.press("slash")
        await at.type("barrel")
        await at.press("enter")
        assert "3 frames of a series of 3 planes" in row(at, 15)
