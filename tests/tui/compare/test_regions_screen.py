"""Regions compared beside each other, as large as the screen allows and on the same content."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.shoot.acts import MarkFrame
from tests.support.at_ledger import (
    SIZES,
    at_the_bench,
    looking_only,
    photo_of_a_cup,
)
from tests.support.bench_events import FOUND
from tests.support.made_pictures import coded, photograph
from tests.support.running_screen import LARGE, SMALL
from tests.support.scripted_table import ScriptedTable
from tests.support.written_log import WrittenLog
from tui.ledger.ledger_screen import LedgerScreen
from tui.screen.picture_view import PictureView


@SIZES
async def test_four_regions_lie_on_each_other_beside_each_other(
    looked_back: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    """Each picture shows the same photograph, moved by what its name says; 10 to 7 are the rows from the top."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)
    for number, (left, top) in {10: (150, 100), 9: (120, 112), 8: (160, 90), 7: (150, 130)}.items():
        Image.fromarray(photo[top : top + 600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with looking_only(looked_back, size) as at:
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
        assert isinstance(at.app.screen, LedgerScreen)
        assert [row.number for row in at.app.screen.beside] == [9, 8, 7]


@pytest.mark.parametrize("size", [SMALL, (120, 40), LARGE], ids=["80x24", "120x40", "160x48"])
async def test_compared_regions_are_as_large_as_the_screen_allows_and_lie_on_each_other(
    looked_back: WrittenLog, tmp_path: Path, size: tuple[int, int]
) -> None:
    """The second picture shows the same photograph moved by 30 px to the right and 12 px up."""
    photo = np.repeat(coded(photograph("coffee.png", (1200, 800)), noise_codes=2.0)[:, :, None], 3, axis=2)
    for number, (left, top) in {9: (150, 100), 10: (120, 112)}.items():
        Image.fromarray(photo[top : top + 600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with looking_only(looked_back, size) as at:
        await at.press("down", "down", "down", "b", "up", "b")
        views = [at.app.screen.query_one(f"#picture{i}", PictureView) for i in (0, 1)]
        one, other = (view.picture.pixels.astype(float) for view in views if view.picture)
        assert one.shape == other.shape
        assert np.abs(one - other).mean() < 4, "the same cup at the same place; coding differs"
        assert "FRAME 10 30 px right, 12 px up" in " ".join(at.text.split())
        assert views[0].size.height == pytest.approx(views[0].size.width / 3, abs=1.5), "no row of it is wasted"
        await at.press("plus")
        assert "1/2 region: 90 × 60 px" in at.text


async def test_compared_regions_are_shown_pixel_for_pixel_and_marked_there(
    looked_back: WrittenLog, table: ScriptedTable, tmp_path: Path
) -> None:
    for number, left in ((12, 0), (11, 30)):
        Image.fromarray(photo_of_a_cup()[:600, left : left + 900]).save(tmp_path / f"picture.jpg.{number}.jpg")
    async with at_the_bench(looked_back, table) as at:
        table.tell(FOUND)
        await at.press("l", "b", "down", "b", "enter")
        assert "1:1: 39 × 26 px" in at.text
        views = [at.app.screen.query_one(f"#picture{i}", PictureView) for i in (0, 1)]
        assert {view.picture.pixels.shape for view in views if view.picture} == {(26, 39, 3)}
        assert " FRAME 12" in at.text and "▸FRAME 11" in at.text
        await at.press("h", "left", "a")
        marks = [(act.frame_id, act.mark) for act in table.asked(MarkFrame)]
        assert marks == [(looked_back.frame_ids[11], "hero"), (looked_back.frame_ids[12], "alternate")]


async def test_a_region_wider_than_is_kept_is_shown_pixel_for_pixel_too(
    looked_back: WrittenLog, tmp_path: Path
) -> None:
    """The region has 2100 × 120 px; its view 39 × 2 cells, of two pixels each."""
    wide = np.resize(photo_of_a_cup(), (600, 10500, 3))
    for number in (12, 11):
        Image.fromarray(wide).save(tmp_path / f"picture.jpg.{number}.jpg", quality=95)
    async with looking_only(looked_back) as at:
        await at.press("b", "down", "b", "enter")
        assert "FRAME 12 1:1: 39 × 2 px" in " ".join(at.text.split())
        picture = at.app.screen.query_one("#picture0", PictureView).picture
        assert picture is not None
        middle = wide[299:301, 5230:5269].astype(float)
        assert np.abs(picture.pixels - middle).mean() < 8
