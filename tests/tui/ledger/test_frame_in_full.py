"""A frame of the ledger in full: its picture, its findings, or a word in their place."""

from __future__ import annotations

from pathlib import Path

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.states import FrameEvent, FrameState, Intent
from session.picture.set_picture import set_picture
from storage.files.set_pictures import attach_set_picture
from tests.support.at_ledger import (
    at_the_bench,
    looking_only,
)
from tests.support.bench_events import FOUND, moved
from tests.support.reshoot_screen import picture
from tests.support.running_screen import LARGE
from tests.support.scripted_table import FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog


async def test_a_missed_frame_shows_its_finding_and_by_how_much(looked_back: WrittenLog) -> None:
    async with looking_only(looked_back, LARGE) as at:
        await at.press("down", "down", "down")
        assert "FRAME 9 " in at.text
        assert "missed · blur radius 7.3 px, 0.3 mm off" in at.text
        assert "! blur 7.3 px in the region against a limit of 2.0 px." in at.text


async def test_a_frame_of_an_earlier_day_is_shown_with_its_picture_and_findings(
    looked_back: WrittenLog, table: ScriptedTable
) -> None:
    async with at_the_bench(looked_back, table) as at:
        await at.press("left", "left", "left")
        assert "FRAME 9 · missed" in at.text
        assert "┌" in at.text and "on frame 9" in at.text


async def test_a_frame_that_recovery_found_on_the_disk_shows_its_picture(
    looked_back: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    """Recovery tells the screen of the frame's states, and the log alone of the file."""
    frame_id, log = "00000000-0000-4000-8000-000000000013", looked_back.log
    begun = Intent(frame_id, 13, looked_back.revision_id, "invented-1", str(tmp_path), "0013", FixedClock().now())
    log.begin_frame(begun, looked_back.place)
    log.move_frame(frame_id, FrameEvent.FIRED)
    log.move_frame(frame_id, FrameEvent.LOST, "Frame 13 fired, not saved.")
    async with at_the_bench(looked_back, table) as at:
        await at.tell(FOUND)
        assert "FRAME 13" in at.text and "┌" not in at.text
        card = CardObject("/card", "IMG0013.JPG", 1000)
        log.frame_file(frame_id, SavedFile(str(tmp_path / "picture.jpg"), "jpeg", 1000, "0" * 64, card))
        log.move_frame(frame_id, FrameEvent.FOUND)
        log.move_frame(frame_id, FrameEvent.ALL_SAVED)
        await at.tell(moved(frame_id, 13, FrameState.SAVED, fired=Fired.YES))
        assert "┌" in at.text, "the picture, with the region's frame"


async def test_a_picture_that_is_gone_from_the_disk_is_said_in_its_place(
    looked_back: WrittenLog, tmp_path: Path
) -> None:
    (tmp_path / "picture.jpg.12.jpg").unlink()
    async with looking_only(looked_back) as at:
        assert "can't be read" in at.text


async def test_pictures_of_the_set_stand_in_the_frames_place_by_key(looked_back: WrittenLog, tmp_path: Path) -> None:
    async with looking_only(looked_back, LARGE) as at:
        assert "← → set" not in at.key_line
    jpeg = set_picture(Path(picture(tmp_path / "phone.jpg")))
    attach_set_picture(tmp_path / "log.db", looked_back.revision_id, jpeg)
    async with looking_only(looked_back, LARGE) as at:
        assert "← → set" in at.key_line and "SET, PICTURE" not in at.text
        await at.press("right")
        assert "SET, PICTURE 1" in at.text and "2 of 2" in at.text and "┌" not in at.text
        await at.press("right")
        assert "SET, PICTURE" not in at.text and "┌" in at.text
