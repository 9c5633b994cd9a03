"""Stored previews: known as such, whole or not used, never half written, and of the size that they were made of."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.picture.preview import decode, open_picture
from session.picture.stored_preview import (
    LEAST_FREE_BYTES,
    is_preview_of,
    keep_preview,
    marked_as_preview,
    preview_bytes,
    put_preview,
    whole_preview,
)
from tests.support.made_pictures import coded, photograph

FULL_PX = (9600, 6400)


@pytest.fixture(scope="module")
def pixels() -> np.ndarray[tuple[int, int, int], np.dtype[np.uint8]]:
    """(80, 120, 3) codes of a photograph."""
    return np.repeat(coded(photograph("coffee.png", (120, 80)))[:, :, None], 3, axis=2)


def test_a_preview_opens_as_a_small_picture_of_the_originals_size(tmp_path: Path, pixels: np.ndarray) -> None:
    assert keep_preview(tmp_path, "f-1", pixels, FULL_PX)
    source = open_picture(tmp_path / "f-1.jpg")
    assert source.is_stored_preview and source.scale == 120 / 9600
    assert (source.full_width_px, source.full_height_px) == FULL_PX
    shown = decode(source, colour=True).pixels.astype(int)
    assert shown.shape == pixels.shape and np.abs(shown - pixels).mean() < 4
    with Image.open(tmp_path / "f-1.jpg") as image:  # by another reader: an ordinary JPEG with a comment
        assert image.size == (120, 80) and b"stillset preview of frame f-1, 9600 x 6400 px" in image.info["comment"]


def test_whatever_was_changed_it_is_no_preview_any_more(tmp_path: Path, pixels: np.ndarray) -> None:
    whole = preview_bytes(pixels, "f-1", FULL_PX)
    assert is_preview_of(whole, "f-1") and not is_preview_of(whole, "f-2")
    for place in [*range(0, 200), *range(200, len(whole), 97)]:
        changed = bytearray(whole)
        changed[place] ^= 0x10
        assert not is_preview_of(bytes(changed), "f-1"), f"byte {place}"
    assert not is_preview_of(whole[:-1], "f-1") and not is_preview_of(b"", "f-1")


@pytest.mark.parametrize("claimed", [(999_999, 666_666), (9600, 100), (10, 7)])
def test_a_size_that_cannot_be_is_not_believed(tmp_path: Path, pixels: np.ndarray, claimed: tuple[int, int]) -> None:
    """Too many pixels to be opened, of another shape, smaller than the preview itself."""
    (tmp_path / "1.jpg").write_bytes(preview_bytes(pixels, "f-1", claimed))
    source = open_picture(tmp_path / "1.jpg")
    assert (source.full_width_px, source.full_height_px) == (120, 80)


def test_a_preview_is_kept_once_and_made_anew_where_it_is_damaged(tmp_path: Path, pixels: np.ndarray) -> None:
    assert keep_preview(tmp_path, "f-1", pixels, FULL_PX)
    assert not keep_preview(tmp_path, "f-1", pixels, FULL_PX)
    (tmp_path / "f-1.jpg").write_bytes(b"\xff\xd8\xff")
    (tmp_path / ".f-1.jpg.part").write_bytes(b"what a crash left")
    assert whole_preview(tmp_path, "f-1") is None
    assert keep_preview(tmp_path, "f-1", pixels, FULL_PX) and whole_preview(tmp_path, "f-1") is not None
    assert [path.name for path in tmp_path.iterdir()] == ["f-1.jpg"]


def test_previews_give_way_to_frames_on_a_disk_with_little_room(
    tmp_path: Path, pixels: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    usage = shutil.disk_usage(tmp_path)._replace(free=LEAST_FREE_BYTES - 1)
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: usage)
    with pytest.raises(OSError, match="less than 500 MB are free"):
        keep_preview(tmp_path, "f-1", pixels, FULL_PX)
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_is_full_leaves_nothing(
    tmp_path: Path, pixels: np.ndarray, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        keep_preview(tmp_path, "f-1", pixels, FULL_PX)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("key", ["../f-1", "a/b", "", "f 1", "f" * 65])
def test_a_key_that_leads_elsewhere_has_no_preview(tmp_path: Path, pixels: np.ndarray, key: str) -> None:
    assert not put_preview(tmp_path, key, marked_as_preview(b"\xff\xd8\xff", "f-1", FULL_PX))
    assert not keep_preview(tmp_path, key, pixels, FULL_PX) and whole_preview(tmp_path, key) is None
    assert list(tmp_path.parent.glob("*.jpg")) == list(tmp_path.iterdir()) == []


def test_a_link_is_not_followed(tmp_path: Path, pixels: np.ndarray) -> None:
    (tmp_path / "elsewhere").write_bytes(preview_bytes(pixels, "f-1", FULL_PX))
    (tmp_path / "f-1.jpg").symlink_to(tmp_path / "elsewhere")
    assert whole_preview(tmp_path, "f-1") is None
