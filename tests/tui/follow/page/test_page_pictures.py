"""The pictures for tablets: as fine as one shows, the region pixel for pixel, each made once, and few kept."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.set.setup import Region
from tests.support.served_page import HIGH, WIDE, ServedPage
from tests.support.written_log import WrittenLog
from tui.follow.page import page_pictures


def test_the_whole_picture_is_as_fine_as_a_tablet_shows_and_carries_nothing_but_pixels(
    page: ServedPage, written: WrittenLog
) -> None:
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"picture/{written.frame_ids[2]}")
    assert answer.status == 200 and answer.headers["content-type"] == "image/jpeg"
    with Image.open(io.BytesIO(answer.body)) as image:
        assert image.size == (WIDE // 2, HIGH // 2)
        assert not image.getexif()
    assert page.get(f"picture/{written.frame_ids[2]}", "HEAD").body == b""


def test_the_region_is_sent_pixel_for_pixel(page: ServedPage, written: WrittenLog, photograph: Path) -> None:
    page.looking_on().until("large", "MISSED 0.3 mm")
    answer = page.get(f"region/{written.frame_ids[2]}")
    box = Region().in_pixels(WIDE, HIGH)
    with Image.open(photograph) as file, Image.open(io.BytesIO(answer.body)) as sent:
        wanted = np.asarray(file.crop(box).convert("RGB"), np.float64)  # decoded whole by Pillow
        got = np.asarray(sent.convert("RGB"), np.float64)
    assert got.shape == wanted.shape == (480, 720, 3)
    off = np.abs(got - wanted).mean()
    assert off < 2.0, "codes of one more JPEG at quality 95"
    assert min(np.abs(got[:, 1:] - wanted[:, :-1]).mean(), np.abs(got[1:] - wanted[:-1]).mean()) > 3 * off
    assert answer.headers["x-caption"] == "region at 1:1, 720 × 480 px"


def test_of_a_large_region_the_middle_is_sent_and_said_so(photograph: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_pictures, "MOST_REGION_PX", 500)
    cut = page_pictures.region_cut(str(photograph), Region(0.0, 0.0, 1.0, 1.0))
    assert cut.caption == "its middle at 1:1, 500 × 500 px"
    with Image.open(photograph) as file, Image.open(io.BytesIO(cut.jpeg)) as sent:
        left, top = (WIDE - 500) // 2, (HIGH - 500) // 2
        wanted = np.asarray(file.crop((left, top, left + 500, top + 500)), np.float64)
        assert np.abs(np.asarray(sent, np.float64) - wanted).mean() < 2.0


def test_pictures_are_made_once_for_all_and_the_oldest_are_let_go(
    written: WrittenLog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[page_pictures.Wanted] = []
    real = page_pictures.make

    def counted(wanted: page_pictures.Wanted) -> page_pictures.Cut:
        made.append(wanted)
        return real(wanted)

    monkeypatch.setattr(page_pictures, "make", counted)
    with ServedPage(tmp_path / "log.db") as page:
        page.looking_on().until("large", "MISSED 0.3 mm")
        for _ in range(4):
            assert page.get(f"picture/{written.frame_ids[2]}").status == 200
    assert len(made) == 1


async def test_what_is_kept_of_pictures_is_bounded(written: WrittenLog, photograph: Path) -> None:
    kept = page_pictures.Pictures(kept_bytes=1)
    first, second = (page_pictures.Wanted(name, str(photograph), Region()) for name in ("a", "b"))
    one = await kept.cut(first)
    assert await kept.cut(first) is one
    await kept.cut(second)
    assert await kept.cut(first) is not one


def test_a_region_is_part_of_what_is_kept() -> None:
    assert page_pictures.Wanted("f", "p", None) != page_pictures.Wanted("f", "p", Region())
