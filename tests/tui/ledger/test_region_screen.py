"""A region pixel for pixel, frame after frame at the same place, or a word where its picture is gone."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.picture.stored_preview import keep_preview
from session.shoot.acts import MarkFrame
from storage.reading.views import FrameRecord
from tests.support.at_ledger import (
    at_the_bench,
    looking_only,
    over_the_controller,
    photo_of_a_cup,
    shown,
)
from tests.support.bench_events import FOUND
from tests.support.scripted_table import ScriptedTable
from tests.support.written_log import WrittenLog
from tui.ledger.ledger_screen import LedgerScreen
from tui.ledger.region_screen import RegionScreen
from tui.screen.picture_view import PictureView


def record_of(written: WrittenLog, number: int) -> FrameRecord:
    found = written.reader.frame(written.frame_ids[number])
    assert found is not None
    return found


async def test_a_region_is_looked_at_pixel_for_pixel_frame_after_frame_at_the_same_place(
    looked_back: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    """The picture of 11 shows the same photograph 30 px farther left; the region is 180 × 120 px."""
    for number, left in ((12, 0), (11, 30)):
        Image.fromarray(photo_of_a_cup()[:600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with at_the_bench(looked_back, table) as at:
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
        assert "LEDGER" in at.text
        assert isinstance(at.app.screen, LedgerScreen) and at.app.screen.list.here.number == 11


@pytest.mark.parametrize(("first", "after", "before"), [(11, 10, 12), (10, None, 11)])
async def test_a_frame_that_its_mark_takes_out_of_the_narrowed_list_stays_shown_and_is_the_one_that_is_marked(
    looked_back: WrittenLog, first: int, after: int | None, before: int
) -> None:
    """The list is narrowed to the selected frames 12, 11, 10; the keys are asked where the frame has left it."""
    for number in (10, 11, 12):
        looked_back.log.mark(looked_back.frame_ids[number], "select")
    async with over_the_controller(looked_back) as at:
        await at.press("l", "m", *["down"] * (12 - first), "enter", "k")
        assert isinstance(at.app.screen, RegionScreen)
        at.app.screen.look_round()
        await at.settle()
        assert f"FRAME {first}  sharp  KILL" in at.text
        await at.press("k")  # again: no mark
        marks = {number: record_of(looked_back, number).mark for number in (10, 11, 12)}
        assert marks == {10: "select", 11: "select", 12: "select", first: None}
        await at.press("full_stop")
        assert f"FRAME {after or first} " in at.text
        if after is None:
            await at.press("comma")
            assert f"FRAME {before} " in at.text


async def test_a_frame_that_left_the_list_is_read_no_more_once_nobody_looks_at_it(looked_back: WrittenLog) -> None:
    looked_back.log.mark(looked_back.frame_ids[11], "select")
    async with over_the_controller(looked_back) as at:
        await at.press("l", "m", "enter", "k")
        assert isinstance(at.app.screen, RegionScreen)
        at.app.screen.look_round()
        await at.settle()
        await at.press("escape")
        assert isinstance(at.app.screen, LedgerScreen)
        assert at.app.screen.list.row_of(looked_back.frame_ids[11]) is None


async def test_a_picture_of_another_size_is_said_to_show_the_same_part_only_and_keeps_the_place_in_it(
    looked_back: WrittenLog, tmp_path: Path
) -> None:
    """11 has half the pixels of 12 across and down; the place is the region's upper left corner in both."""
    cup = photo_of_a_cup()[:600, :900]
    Image.fromarray(cup).save(tmp_path / "picture.jpg.12.jpg")
    half = np.asarray(Image.fromarray(cup).resize((450, 300)))
    Image.fromarray(half).save(tmp_path / "picture.jpg.11.jpg")
    async with looking_only(looked_back) as at:
        await at.press("enter", *["left"] * 2, *["up"] * 3)
        assert "the same part" not in at.text
        await at.press("full_stop")
        assert "FRAME 11  sharp  the same part of the picture only  1:1, 80 × 40 px of 90 × 60" in at.text
        there = half[120:160, 180:260].astype(float)
        assert np.abs(shown(at.app.screen.query_one(PictureView)) - there).mean() < 5
        await at.press("comma")
        assert "FRAME 12  sharp  1:1" in at.text


async def test_a_region_of_a_picture_that_is_gone_says_so(looked_back: WrittenLog, tmp_path: Path) -> None:
    (tmp_path / "picture.jpg.12.jpg").unlink()
    async with looking_only(looked_back) as at:
        await at.press("enter", "left", "plus", "enter", "V")
        assert "FRAME 12" in at.text and "the file" in at.text
        await at.press("full_stop")
        assert "FRAME 11  sharp  1:1, 60 × 40 px of 60 × 40" in at.text


async def test_a_frame_whose_file_is_gone_is_looked_at_by_its_stored_preview_and_every_screen_says_so(
    looked_back: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    record = record_of(looked_back, 12)
    previews = Path(record.previews)
    previews.mkdir()
    keep_preview(previews, record.frame_id, photo_of_a_cup()[::2, ::2], (1200, 800))
    (tmp_path / "picture.jpg.12.jpg").unlink()
    async with at_the_bench(looked_back, table) as at:
        table.tell(FOUND)
        await at.press("l")
        assert "Picture from the stored preview" in at.text
        await at.press("tab")
        assert "stored preview" in at.text
        await at.press("enter")
        assert "FRAME 12  sharp  from the stored preview" in at.text
        await at.press("escape", "tab", "b", "down", "b")
        assert re.search(r"FRAME 12\s+from the stored preview", at.text) and "FRAME 11" in at.text
        await at.press("escape")
        other = record_of(looked_back, 11)
        keep_preview(previews, other.frame_id, photo_of_a_cup()[::2, ::2], (1200, 800))
        (tmp_path / "picture.jpg.11.jpg").unlink()
        await at.press("b")
        assert "FRAME 11 stored preview, at the same…" in " ".join(at.text.split()), "it hides nothing of the place"
