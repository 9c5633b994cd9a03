"""The ledger's contact sheet: pictures of the frames that are on the screen, made in the background."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from rich.cells import cell_len
from textual.app import App

from session.frame.finding import FocusVerdict
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, Running, running
from tests.support.scripted import Studio
from tests.support.scripted_table import READING, REVISION, FixedClock, ScriptedTable
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.app.stillset_app import StillsetApp
from tui.ledger import thumbnails
from tui.ledger.contact_sheet import ContactSheet, SheetCell, layout_of
from tui.screen.small_picture import SmallPicture, small_picture

FRAMES = 60
CYCLE = (FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.MISSED)
SIZES = pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])


def grey_of(number: int) -> int:
    return 20 + 3 * number


@pytest.fixture(scope="module")
def pictures(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A picture for each frame, of a grey that tells its number."""
    path = tmp_path_factory.mktemp("pictures") / "picture.jpg"
    for number in range(1, FRAMES + 1):
        pixels = np.full((200, 300, 3), grey_of(number), np.uint8)
        Image.fromarray(pixels).save(path if number == 1 else f"{path}.{number}.jpg", quality=95)
    return path


@pytest.fixture
def written(tmp_path: Path, pictures: Path, in_utc: None) -> Iterator[WrittenLog]:
    verdicts = [CYCLE[number % 3] for number in range(FRAMES)]
    log = written_log(tmp_path / "log.db", REVISION, READING, verdicts, pictures)
    yield log
    log.close()


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files of which small pictures were made, in their order."""
    files: list[str] = []

    def small(path: str) -> SmallPicture:
        files.append(path)
        return small_picture(path)

    monkeypatch.setattr(thumbnails, "small_picture", small)
    return files


def looking(written: WrittenLog, size: tuple[int, int]):
    return running(StillsetApp(reader=written.reader, clock=FixedClock()), size)


def over_the_controller(written: WrittenLog):
    return played_bench(Studio(written=written), SMALL, written.reader)


async def settled(at: Running) -> None:
    """Until no picture is made any more: each one begins the next."""
    await at.settle()
    while list(at.app.workers):
        await at.settle()


def words(at: Running, number: int) -> str:
    """The line under that frame's picture, from its number on."""
    for line in at.text.split("\n")[2:]:
        for start in (f" {number} ", f"▸{number} "):
            if start in line:
                return line[line.index(start) :][:20]
    return ""


@SIZES
async def test_tab_shows_the_newest_frames_with_number_and_verdict_under_each_picture(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking(written, size) as at:
        await at.press("tab")
        await settled(at)
        shown = at.app.screen.query_one(ContactSheet).layout_now.shown
        assert shown >= {80: 8, 120: 12, 160: 24}[size[0]]
        for number in range(FRAMES, FRAMES - shown, -1):
            assert CYCLE[(number - 1) % 3] in words(at, number)
        assert at.text.count("▀" * 12) >= shown, "every picture is there"
        await at.press("tab")
        assert "FRAME 60 · barrel 6 of 24" in at.text, "the list again, with the frame in full"


async def test_the_pictures_are_those_of_their_frames(written: WrittenLog) -> None:
    async with looking(written, SMALL) as at:
        await at.press("tab")
        await settled(at)
        sheet = at.app.screen.query_one(ContactSheet)
        strips = sheet.render_lines(sheet.region.reset_offset)
        colours = [segment.style.color.triplet.red for segment in strips[1] if segment.text.startswith("▀")]
        wanted = [grey_of(number) for number in (60, 59, 58, 57)]
        assert colours[-4:] == pytest.approx(wanted, abs=8), "five bits a channel"


async def test_words_that_are_cut_end_with_a_sign_names_to_go_stand_whole_and_wide_letters_take_their_room() -> None:
    pixels = np.full((200, 300, 3), 90, np.uint8)
    cells = [
        SheetCell(None, "to go: A very long bracelet · three-quarter from above", ("", "", "")),
        SheetCell(
            SmallPicture(pixels, 300, 200),
            "",
            ("▸45 ○ missed, dark 0.6 EV, moved", " hero 1✎", "指輪の大きな箱の中に・正面"),
        ),
    ]

    class Shown(App[None]):
        def compose(self) -> Iterator[ContactSheet]:
            yield ContactSheet()

    app = Shown()
    async with app.run_test(size=(40, 12)) as pilot:
        sheet = app.query_one(ContactSheet)
        sheet.styles.height = 12
        await pilot.pause()
        sheet.show(2, 1, lambda i: cells[i])
        lines = [strip.text for strip in sheet.render_lines(sheet.region.reset_offset)]
        width, columns = sheet.size.width, sheet.layout_now.columns
    assert {cell_len(line) for line in lines} == {width}
    told = " ".join("".join(line[:columns] for line in lines).split())
    assert "to go: A very long bracelet · three-quarter from above" in " ".join(told.split())
    (verdict,) = (line for line in lines if "▸45" in line)
    assert verdict.rstrip().endswith("…") and "▸45 ○ missed, dar" in verdict
    (name,) = (line for line in lines if "指輪" in line)
    assert name.rstrip().endswith("…") and cell_len(name.rstrip()) <= width


@SIZES
async def test_arrows_move_over_the_sheet_and_the_chosen_one_is_framed(
    written: WrittenLog, size: tuple[int, int]
) -> None:
    async with looking(written, size) as at:
        await at.press("tab")
        across = at.app.screen.query_one(ContactSheet).layout_now.across
        assert "▸60 " in at.text and at.text.count("┌") == 1
        await at.press("right", "right", "down")
        assert f"▸{60 - 2 - across} " in at.text
        await at.press("left", "up")
        assert "▸59 " in at.text
        await at.press("up")
        assert "▸60 " in at.text, "of the first row up goes to the first picture"
        await at.press("end")
        assert "▸1 " in at.text
        await at.press("home")
        assert "▸60 " in at.text


async def test_only_pictures_on_the_screen_are_made_and_none_twice(written: WrittenLog, made: list[str]) -> None:
    async with looking(written, SMALL) as at:
        await at.press("tab")
        await settled(at)
        shown = at.app.screen.query_one(ContactSheet).layout_now.shown
        assert len(made) == len(set(made)) == shown
        await at.press("end")
        await settled(at)
        assert len(made) <= 2 * shown, "what lies between was never on the screen when its turn came"
        await at.press("home")
        await settled(at)
        assert len(made) == len(set(made))


async def test_marks_and_narrowings_work_on_the_sheet(written: WrittenLog) -> None:
    async with over_the_controller(written) as at:
        await at.press("l", "tab", "right", "h")
        await settled(at)
        marked = written.reader.frame(written.frame_ids[59])
        assert marked is not None and marked.mark == "hero"
        assert "hero" in at.text
        await at.press("m")
        await settled(at)
        assert "1 frame: hero" in at.text and "▸59 " in at.text
        await at.press("escape", "i")
        assert "FRAME 59" in at.text, "what is explained is the chosen picture's frame"


async def test_a_picture_that_is_gone_is_said_in_its_place(written: WrittenLog, pictures: Path, tmp_path: Path) -> None:
    add_to = tmp_path / "elsewhere.jpg"
    add_frame(written, 61, FocusVerdict.SHARP, READING, add_to)
    async with looking(written, SMALL) as at:
        await at.press("tab")
        await settled(at)
        assert "can't be read" in at.text and "▸61 " in at.text


@given(st.integers(20, 300), st.integers(3, 100), st.integers(1, 3000), st.data())
def test_the_chosen_one_is_always_on_the_sheet_in_whole_rows(
    width: int, height: int, count: int, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, count - 1))
    layout = layout_of(width, height)
    first = layout.first(at, count)
    assert first % layout.across == 0
    assert first <= at < first + layout.shown
    assert layout.across * layout.columns <= width
    assert layout.down * (layout.rows + 3) <= max(height, 4)


async def test_a_picture_that_is_ready_after_the_sheet_was_left_ends_nothing(
    written: WrittenLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def slow(path: str) -> SmallPicture:
        begun.set()
        assert go_on.wait(60)
        return small_picture(path)

    monkeypatch.setattr(thumbnails, "small_picture", slow)
    table = ScriptedTable()
    table.reader = written.reader
    app = StillsetApp(table, clock=FixedClock())
    async with running(app, SMALL, table) as at:
        bench = app.screen
        await at.press("l")
        await at.pilot.press("tab")
        await at.pilot.pause()
        assert await asyncio.to_thread(begun.wait, 60)
        await at.pilot.press("l")
        await at.pilot.pause()
        assert app.screen is bench
        go_on.set()
        await at.settle()
        assert app.is_running and app.screen is bench


async def test_the_sheet_has_the_frames_of_a_view_together_and_names_it(written: WrittenLog, pictures: Path) -> None:
    for number, view in ((61, "top"), (62, "three-quarter"), (63, "top")):
        place = written.log.open_place(written.place.job, written.place.piece, view)
        add_frame(replace(written, place=place), number, FocusVerdict.SHARP, READING, pictures)
    async with looking(written, LARGE) as at:
        await at.press("down", "tab")
        await settled(at)
        assert [row.number for row in at.app.screen.list.rows[:4]] == [63, 61, 62, 60]
        assert at.app.screen.list.here.number == 62, "the cursor stays on its frame"
        assert "barrel 6 of 24 · top" in at.text
        await at.press("tab")
        assert [row.number for row in at.app.screen.list.rows[:4]] == [63, 62, 61, 60]
