"""Previews on their way to an archive and back: made of any picture, stored as new files only, bytes that are none."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame.ports import LogError
from session.picture.preview import open_picture
from session.picture.stored_preview import MOST_BYTES, is_preview_of, keep_preview, whole_preview
from storage.archive.previews import is_small, preview, store

JPEG = b"\xff\xd8\xff\xe0 a picture"


def picture(path: Path, size: tuple[int, int]) -> Path:
    ramp = np.linspace(0, 255, size[0], dtype=np.uint8)[None, :, None]
    Image.fromarray(np.broadcast_to(ramp, (size[1], size[0], 3)).copy()).save(path, "JPEG")
    return path


@pytest.mark.parametrize("size", [(3200, 2133), (2133, 3200), (1600, 1067), (300, 200)])
def test_a_preview_is_the_picture_small_with_the_size_that_it_was_made_of(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    data = preview(tmp_path, "f-1", str(picture(tmp_path / "1.JPG", size)))
    assert data is not None and is_small(data) and is_preview_of(data, "f-1")
    (tmp_path / "sent.jpg").write_bytes(data)
    source = open_picture(tmp_path / "sent.jpg")
    assert (source.full_width_px, source.full_height_px) == size
    with Image.open(io.BytesIO(data)) as small:
        assert min(700, max(size)) <= max(small.size) <= 1400
        assert small.size[0] / small.size[1] == pytest.approx(size[0] / size[1], rel=0.01)
        row = np.asarray(small.convert("L"))[small.size[1] // 2]
    assert row[5] < row[-5], "the right way round"


def test_a_frame_whose_file_is_gone_is_sent_by_its_stored_preview(tmp_path: Path) -> None:
    assert keep_preview(tmp_path, "f-1", np.full((60, 90, 3), 118, np.uint8), (900, 600))
    sent = preview(tmp_path, "f-1", str(tmp_path / "gone.jpg"))
    assert sent is not None and sent == whole_preview(tmp_path, "f-1")


@pytest.mark.parametrize("content", [None, b"", b"no picture at all", b"\xff\xd8\xff\xe0 cut short"])
def test_what_is_no_picture_has_no_preview(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "1.JPG"
    if content is not None:
        path.write_bytes(content)
    assert preview(tmp_path, "f-1", str(path)) is None


def test_a_picture_that_an_earlier_version_sent_becomes_a_preview_of_its_own_size(tmp_path: Path) -> None:
    jpeg = picture(tmp_path / "1.JPG", (1600, 1067)).read_bytes()
    folder = tmp_path / "log.previews"
    assert store(folder, "f-1", jpeg) and whole_preview(folder, "f-1") is not None
    source = open_picture(folder / "f-1.jpg")
    assert source.is_stored_preview and (source.full_width_px, source.full_height_px) == (1600, 1067)


def test_a_picture_that_is_too_long_with_its_mark_is_left_out(tmp_path: Path) -> None:
    jpeg = picture(tmp_path / "1.JPG", (300, 200)).read_bytes().ljust(MOST_BYTES, b"\0")
    assert is_small(jpeg) and not store(tmp_path / "log.previews", "f-1", jpeg)
    assert not (tmp_path / "log.previews").exists(), "what would never be read as a preview isn't written"


def test_a_preview_is_a_new_file_and_never_another_ones_end(tmp_path: Path) -> None:
    (tmp_path / "f-1.jpg").write_bytes(b"mine")
    jpeg = picture(tmp_path / "1.JPG", (300, 200)).read_bytes()
    assert not store(tmp_path, "f-1", jpeg) and (tmp_path / "f-1.jpg").read_bytes() == b"mine"


def test_a_preview_of_another_frame_and_bytes_that_are_no_jpeg_are_left_out(tmp_path: Path) -> None:
    of_another = preview(tmp_path, "f-2", str(picture(tmp_path / "1.JPG", (300, 200))))
    assert of_another is not None
    assert not store(tmp_path, "f-1", of_another) and not store(tmp_path, "f-1", JPEG)
    assert not (tmp_path / "f-1.jpg").exists()


def test_a_name_that_leads_elsewhere_is_not_followed(tmp_path: Path) -> None:
    target = tmp_path / "somebody's file"
    (tmp_path / "f-1.jpg").symlink_to(target)
    assert not store(tmp_path, "f-1", picture(tmp_path / "1.JPG", (300, 200)).read_bytes()) and not target.exists()


def test_a_folder_that_leads_elsewhere_is_said(tmp_path: Path) -> None:
    (tmp_path / "log.previews").symlink_to(tmp_path)
    jpeg = picture(tmp_path / "1.JPG", (300, 200)).read_bytes()
    with pytest.raises(LogError, match=r"preview of frame f-1 can't be stored in .*log\.previews: it is a link\."):
        store(tmp_path / "log.previews", "f-1", jpeg)


def test_a_disk_that_is_full_leaves_no_half_preview(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    jpeg = picture(tmp_path / "1.JPG", (300, 200)).read_bytes()
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(LogError, match=r"can't be stored in .*: No space left on device\.$"):
        store(tmp_path / "log.previews", "f-1", jpeg)
    assert list((tmp_path / "log.previews").iterdir()) == []


@pytest.mark.parametrize(
    ("data", "small"),
    [
        (JPEG, True),
        (b"", False),
        (b"GIF89a", False),
        (JPEG.ljust(MOST_BYTES), True),
        (JPEG.ljust(MOST_BYTES + 1), False),
    ],
    ids=["a picture", "nothing", "another kind", "as large as may be", "larger"],
)
def test_only_a_jpeg_of_a_previews_size_is_taken_from_an_archive(data: bytes, small: bool) -> None:
    assert is_small(data) is small
