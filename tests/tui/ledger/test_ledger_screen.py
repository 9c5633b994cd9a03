"""Looking back by real keys over a real log, with and without a bench behind it."""

from __future__ import annotations

import shutil
import stat
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image

from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.finding import FocusVerdict
from session.frame.states import FrameEvent, FrameState, Intent
from session.shoot.acts import MarkFrame
from storage.reading.log_reader import LogReader
from tests.support.bench_events import FOUND, judged, moved
from tests.support.made_pictures import coded, photograph
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Running, running
from tests.support.scripted import Studio
from tests.support.scripted_table import READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, written_log
from tui.app.stillset_app import StillsetApp
from tui.screen.picture_view import PictureView

SHARP, MISSED = FocusVerdict.SHARP, FocusVerdict.MISSED
VERDICTS = (
    *(FocusVerdict.UNJUDGED, SHARP, SHARP, FocusVerdict.SOFT, SHARP, MISSED),
    *(SHARP, SHARP, MISSED, SHARP, SHARP, SHARP),
)

SIZES = pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "160x48"])
READ_ONLY = "Another stillset has this log open; look only."


@pytest.fixture
def written(tmp_path: Path, in_utc: None) -> Iterator[WrittenLog]:
    picture = tmp_path / "picture.jpg"
    Image.fromarray(np.full((200, 300, 3), 128, np.uint8)).save(picture)
    for number in range(2, len(VERDICTS) + 1):
        shutil.copy(picture, f"{picture}.{number}.jpg")
    log = written_log(tmp_path / "log.db", REVISION, READING, VERDICTS, picture)
    yield log
    log.close()


def looking_only(written: WrittenLog, size: tuple[int, int] = SMALL):
    app = StillsetApp(reader=written.reader, read_only=READ_ONLY, clock=FixedClock())
    return running(app, size)


def at_the_bench(written: WrittenLog, table: ScriptedTable, size: tuple[int, int] = SMALL):
    """The ledger over a bench that a test tells of its frames."""
    table.reader = written.reader
    return running(StillsetApp(table, clock=FixedClock()), size, table)


def over_the_controller(written: WrittenLog, size: tuple[int, int] = SMALL):
    """The ledger over a bench of the real controller, whose log is the one that is looked at."""
    return played_bench(Studio(written=written), size, written.reader)


def row(at: Running, number: int) -> str:
    """The line of that frame in the list."""
    lines = [line for line in at.text.split("\n") if line[2:6].strip() == str(number)]
    return lines[0] if lines else ""


@SIZES
async def test_without_a_camera_the_newest_job_is_listed_newest_frame_first_and_shown_in_full(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking_only(written, size) as at:
        assert "Invented movements · 12 frames" in at.text
        assert row(at, 12).startswith("▸") and "sharp" in row(at, 12) and "07.4" in row(at, 12)
        assert "FRAME 12 · barrel 6 of 24 · three-quarter" in at.text
        assert "1/200 s  f/11  ISO 100" in at.text
        assert "▀" in at.text and "┌" in at.text


async def test_a_missed_frame_shows_its_finding_and_by_how_much(written: WrittenLog) -> None:
    async with looking_only(written, LARGE) as at:
        await at.press("down", "down", "down")
        assert "FRAME 9 " in at.text
        assert "missed · blur radius 7.3 px, 0.3 mm off" in at.text
        assert "! blur 7.3 px in the region against a limit of 2.0 px." in at.text


async def test_where_nothing_can_be_written_it_says_so_and_offers_no_keys_for_it(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        assert READ_ONLY in at.text
        assert "mark" not in at.key_line.replace("marked", "") and "note" not in at.key_line
        await at.press("h", "n")
        assert written.reader.frame(written.frame_ids[12]).mark is None


async def test_a_log_that_another_writer_holds_and_that_has_no_write_permission_can_be_looked_at(
    written: WrittenLog, tmp_path: Path
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


async def test_the_list_is_narrowed_by_verdict_and_mark_and_by_words_and_widened_again(written: WrittenLog) -> None:
    written.log.mark(written.frame_ids[3], "hero")
    written.log.note(written.frame_ids[4], "crown nearest the lens")
    async with looking_only(written) as at:
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


async def test_a_search_that_finds_nothing_says_so_and_leaves_the_list(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.press("v", "slash")
        await at.type("platypus")
        await at.press("enter")
        assert "None here: “platypus”." in at.text
        assert "8 frames: sharp" in at.text and row(at, 12)


async def test_verdicts_and_marks_that_no_frame_has_are_skipped_and_said(written: WrittenLog) -> None:
    """None has a flaw, and the only mark is a kill: five verdicts bring four narrowings, one mark brings one."""
    written.log.mark(written.frame_ids[3], "kill")
    async with looking_only(written) as at:
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


async def test_a_list_that_a_mark_empties_says_so(written: WrittenLog) -> None:
    written.log.mark(written.frame_ids[3], "hero")
    async with over_the_controller(written) as at:
        await at.press("l", "m", "h")
        assert "No frame answers to this." in at.text
        await at.press("escape")
        assert "12 frames" in at.text


async def test_a_search_half_typed_is_cancelled(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.press("slash")
        await at.type("x")
        await at.press("escape")
        assert "12 frames" in at.text


async def test_marks_are_set_and_removed_from_the_ledger(written: WrittenLog) -> None:
    async with over_the_controller(written) as at:
        await at.press("l", "down", "h")
        assert "hero" in row(at, 11)
        frame = written.reader.frame(written.frame_ids[11])
        assert frame is not None and frame.mark == "hero"
        await at.press("h")
        assert "hero" not in row(at, 11)


async def test_what_was_done_last_is_undone_and_redone_from_the_ledger(written: WrittenLog) -> None:
    async with over_the_controller(written) as at:
        await at.press("l", "down", "h", "up", "k")
        await at.press("z")
        assert "kill" not in row(at, 12) and "hero" in row(at, 11)
        await at.press("z")
        assert "hero" not in row(at, 11)
        await at.press("Z")
        assert "hero" in row(at, 11)
        assert "Redone: frame 11 marked hero." in at.text


async def test_undo_in_the_ledger_is_about_the_job_that_is_listed(written: WrittenLog) -> None:
    """Each of two jobs has a mark; the bench shoots for one, the ledger lists the other."""
    other = written.log.open_place("Type trays", "sort tray 2", "flat")
    key = "00000000-0000-4000-8000-000000000099"
    revision_id = written.log.save_revision(other, REVISION)
    begun = Intent(key, 1, revision_id, "invented-1", "/pictures", "0001", FixedClock().now())
    written.log.begin_frame(begun, other)
    async with over_the_controller(written) as at:
        await at.press("l", "h")
        written.log.mark(key, "select")
        await at.press("j")
        assert "Type trays" in at.text.split("\n")[0] and "select" in row(at, 1)
        await at.press("z")
        assert "select" not in row(at, 1)
        assert "Undone: frame 1 marked select." in at.text
        own, theirs = written.reader.frame(written.frame_ids[12]), written.reader.frame(key)
        assert own is not None and own.mark == "hero"
        assert theirs is not None and theirs.mark is None
        await at.press("z")
        assert "There is nothing before this to go back to (set-up 07.3)." in at.text
        await at.press("j", "z")
        own = written.reader.frame(written.frame_ids[12])
        assert own is not None and own.mark is None


async def test_a_log_for_looking_only_has_nothing_to_undo(written: WrittenLog) -> None:
    written.log.mark(written.frame_ids[12], "hero")
    async with looking_only(written) as at:
        await at.press("z", "Z")
        assert "hero" in row(at, 12) and "undo" not in at.key_line


async def test_a_note_is_added_and_read_at_once(written: WrittenLog) -> None:
    async with over_the_controller(written, LARGE) as at:
        await at.press("l", "n")
        await at.type("[bold] not markup")
        await at.press("enter")
        assert "[bold] not markup" in at.text
        assert written.reader.notes()[0].text == "[bold] not markup"


async def test_marks_made_in_the_ledger_stand_at_the_bench(written: WrittenLog) -> None:
    async with over_the_controller(written) as at:
        assert "12 sharp ◂" in at.text, "frames of earlier days are there too"
        await at.press("l", "s", "l")
        assert "12 sharp select ◂" in at.text


async def test_a_frame_of_an_earlier_day_is_shown_with_its_picture_and_findings(
    written: WrittenLog, table: ScriptedTable
) -> None:
    async with at_the_bench(written, table) as at:
        await at.press("left", "left", "left")
        assert "FRAME 9 · missed" in at.text
        assert "┌" in at.text and "on frame 9" in at.text


async def test_a_frame_that_recovery_found_on_the_disk_shows_its_picture(
    written: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    """Recovery tells the screen of the frame's states, and the log alone of the file."""
    frame_id, log = "00000000-0000-4000-8000-000000000013", written.log
    begun = Intent(frame_id, 13, written.revision_id, "invented-1", str(tmp_path), "0013", FixedClock().now())
    log.begin_frame(begun, written.place)
    log.move_frame(frame_id, FrameEvent.FIRED)
    log.move_frame(frame_id, FrameEvent.LOST, "Frame 13 fired, not saved.")
    async with at_the_bench(written, table) as at:
        await at.tell(FOUND)
        assert "FRAME 13" in at.text and "┌" not in at.text
        card = CardObject("/card", "IMG0013.JPG", 1000)
        log.frame_file(frame_id, SavedFile(str(tmp_path / "picture.jpg"), "jpeg", 1000, "0" * 64, card))
        log.move_frame(frame_id, FrameEvent.FOUND)
        log.move_frame(frame_id, FrameEvent.ALL_SAVED)
        await at.tell(moved(frame_id, 13, FrameState.SAVED, fired=Fired.YES))
        assert "┌" in at.text, "the picture, with the region's frame"


@SIZES
async def test_two_frames_are_compared_in_settings_lights_and_findings(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking_only(written, size) as at:
        await at.press("down", "down", "down", "b", "up", "b")  # 9, on revision 4, and 10, on revision 3
        flat = "\n".join(" ".join(line.split()) for line in at.text.split("\n"))
        assert "FRAME 9 region: 60 × 40 px ▸FRAME 10 at the same place" in flat
        for words in ("verdict missed sharp", "set-up 07.4 07.3", "light key power 1/2 (−1 EV) 1/4 (−2 EV)"):
            assert words in flat
        assert "limit of 2.0 px" in " ".join(at.text.split())
        await at.press("escape")
        assert "LEDGER" in at.text


@SIZES
async def test_four_regions_lie_on_each_other_beside_each_other(
    written: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    """Each picture shows the same photograph, moved by what its name says; 10 to 7 are the rows from the top."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)
    for number, (left, top) in {10: (150, 100), 9: (120, 112), 8: (160, 90), 7: (150, 130)}.items():
        Image.fromarray(photo[top : top + 600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with looking_only(written, size) as at:
        await at.press("down", "down", "b", "down", "B", "down", "B", "down", "b")
        told = " ".join(at.text.split())
        views = [at.app.screen.query_one(f"#picture{i}", PictureView) for i in range(4)]
        pictures = [view.picture.pixels.astype(float) for view in views if view.picture]
        assert len(pictures) == 4 and len({picture.shape for picture in pictures}) == 1
        assert all(np.abs(pictures[0] - other).mean() < 4 for other in pictures[1:]), told
        for number in (10, 9, 8, 7):
            assert f"FRAME {number}" in told
        if size != SMALL:
            assert "FRAME 9 30 px right" in told
        await at.press("escape", "B")  # the frame under the cursor was none of those laid beside: it is laid too
        assert [row.number for row in at.app.screen.beside] == [9, 8, 7]


@pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])
async def test_compared_regions_are_as_large_as_the_screen_allows_and_lie_on_each_other(
    written: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    """The second picture shows the same photograph moved by 30 px to the right and 12 px up."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)
    for number, (left, top) in {9: (150, 100), 10: (120, 112)}.items():
        Image.fromarray(photo[top : top + 600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with looking_only(written, size) as at:
        await at.press("down", "down", "down", "b", "up", "b")
        views = [at.app.screen.query_one(f"#picture{i}", PictureView) for i in (0, 1)]
        one, other = (view.picture.pixels.astype(float) for view in views if view.picture)
        assert one.shape == other.shape
        assert np.abs(one - other).mean() < 4, "the same cup at the same place; coding differs"
        assert "FRAME 10 30 px right, 12 px up" in " ".join(at.text.split())
        assert views[0].size.height == pytest.approx(views[0].size.width / 3, abs=1.5), "no row of it is wasted"
        await at.press("plus")
        assert "1/2 region: 90 × 60 px" in at.text


def photo_of_a_cup() -> NDArray[np.uint8]:
    """A photograph, (800, 1200, 3) codes."""
    return np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)


def shown(view: PictureView) -> NDArray[np.float64]:
    assert view.picture
    return view.picture.pixels.astype(float)


async def test_compared_regions_are_shown_pixel_for_pixel_and_marked_there(
    written: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    for number, left in ((12, 0), (11, 30)):
        Image.fromarray(photo_of_a_cup()[:600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with at_the_bench(written, table) as at:
        table.tell(FOUND)
        await at.press("l", "b", "down", "b", "enter")
        assert "1:1: 39 × 26 px" in at.text
        views = [at.app.screen.query_one(f"#picture{i}", PictureView) for i in (0, 1)]
        assert {view.picture.pixels.shape for view in views if view.picture} == {(26, 39, 3)}
        assert " FRAME 12" in at.text and "▸FRAME 11" in at.text
        await at.press("h", "left", "a")
        marks = [(act.frame_id, act.mark) for act in table.asked(MarkFrame)]
        assert marks == [(written.frame_ids[11], "hero"), (written.frame_ids[12], "alternate")]


async def test_a_region_is_looked_at_pixel_for_pixel_frame_after_frame_at_the_same_place(
    written: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    """The picture of 11 shows the same photograph 30 px farther left; the region is 180 × 120 px."""
    for number, left in ((12, 0), (11, 30)):
        Image.fromarray(photo_of_a_cup()[:600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with at_the_bench(written, table) as at:
        table.tell(FOUND)
        await at.press("l", "enter")
        view = at.app.screen.query_one(PictureView)
        assert "FRAME 12  sharp  1:1, 80 × 40 px of 180 × 120" in at.text
        here = photo_of_a_cup()[300 - 20 : 300 + 20, 450 - 40 : 450 + 40].astype(float)
        assert shown(view).shape == here.shape and np.abs(shown(view) - here).mean() < 4
        await at.press("left", "left", "up", "up", "up")
        there = photo_of_a_cup()[240:280, 360:440].astype(float)
        assert np.abs(shown(view) - there).mean() < 4, "moved to the corner, and no farther"
        await at.press("full_stop")
        assert "FRAME 11" in at.text and np.abs(shown(view) - there).mean() < 4, "the same place of the cup"
        await at.press("h", "minus")
        assert [act.mark for act in table.asked(MarkFrame)] == ["hero"]
        assert "1:2, 160 × 80 px of 180 × 120" in at.text
        await at.press("escape")
        assert "LEDGER" in at.text and at.app.screen.list.here.number == 11


async def test_a_region_of_a_picture_that_is_gone_says_so(written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.12.jpg").unlink()
    async with looking_only(written) as at:
        await at.press("enter", "left", "plus", "enter", "V")
        assert "FRAME 12" in at.text and "the file" in at.text
        await at.press("full_stop")
        assert "FRAME 11  sharp  1:1, 60 × 40 px of 60 × 40" in at.text


async def test_comparing_goes_with_the_cursor_however_quickly_the_keys_come(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.pilot.press("down", "b", "down", "down", "b")  # without waiting for what is read in between
        await at.settle()
        assert "FRAME 11" in at.text and "FRAME 9" in at.text


async def test_frames_that_are_alike_say_that_nothing_differs(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.press("down", "b", "down", "down", "down", "b")  # 11 and 8: same revision, both sharp
        assert "Nothing differs in settings, lights or verdict." in at.text


async def test_the_other_jobs_of_the_log_come_by_key(written: WrittenLog) -> None:
    written.log.open_place("Type trays", "sort tray 2", "flat")
    async with looking_only(written) as at:
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


async def test_a_picture_that_is_gone_from_the_disk_is_said_in_its_place(written: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.12.jpg").unlink()
    async with looking_only(written) as at:
        assert "can't be read" in at.text


async def test_pages_and_ends_are_reached_by_keys(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.press("end")
        assert "FRAME 1 " in at.text
        await at.press("pageup")
        assert "FRAME 8 " in at.text
        await at.press("home")
        assert "FRAME 12 " in at.text


async def test_a_frame_that_is_shot_meanwhile_appears(written: WrittenLog, table: ScriptedTable) -> None:
    async with at_the_bench(written, table) as at:
        await at.tell(FOUND)
        await at.press("l")
        written.log.mark(written.frame_ids[12], "kill")
        await at.tell(*judged(12, FocusVerdict.SHARP, 0.4))
        assert "kill" in row(at, 12)
        assert "bench: SHARP" in at.text


async def test_ctrl_c_ends_the_ledger(written: WrittenLog) -> None:
    async with looking_only(written) as at:
        await at.press("ctrl+c")
        assert at.app.return_code == 0


async def test_a_list_narrowed_by_a_key_stays_so_when_a_frame_comes_in_meanwhile(
    written: WrittenLog, table: ScriptedTable
) -> None:
    """Reading the list takes as long as it likes: the frame's news may come in the middle."""
    async with at_the_bench(written, table) as at:
        await at.press("l")
        frames = written.reader.frames
        news = iter([judged(12, SHARP)])

        def meanwhile(*wanted: object, **options: object) -> object:
            for events in news:
                table.tell(*events)
            return frames(*wanted, **options)  # type: ignore[arg-type]

        at.app.reader = SimpleNamespace(frames=meanwhile, frame=written.reader.frame, jobs=written.reader.jobs)
        await at.press("v", "v", "v")
        assert "2 frames: missed" in at.text
