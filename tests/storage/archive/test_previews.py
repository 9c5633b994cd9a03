"""Small pictures of approved frames: made of any picture, written as new files only, and bytes that are no preview."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame.ports import LogError
from storage.archive.previews import LONGEST_PX, MOST_BYTES, is_small, preview, write

JPEG = b"\xff\xd8\xff\xe0 a picture"


def picture(path: Path, size: tuple[int, int], kind: str = "JPEG") -> Path:
    ramp = np.linspace(0, 255, size[0], dtype=np.uint8)[None, :, None]
    Image.fromarray(np.broadcast_to(ramp, (size[1], size[0], 3)).copy()).save(path, kind)
    return path


@pytest.mark.parametrize("size", [(3200, 2133), (2133, 3200), (1600, 1067), (300, 200)])
def test_a_preview_is_the_picture_no_longer_than_its_limit(tmp_path: Path, size: tuple[int, int]) -> None:
    data = preview(str(picture(tmp_path / "1.JPG", size)))
    assert data is not None and is_small(data)
    with Image.open(io.BytesIO(data)) as small:
        assert small.format == "JPEG" and max(small.size) == min(LONGEST_PX, max(size))
        assert small.size[0] / small.size[1] == pytest.approx(size[0] / size[1], rel=0.01)
        row = np.asarray(small.convert("L"))[small.size[1] // 2]
    assert row[5] < row[-5], "the right way round"


@pytest.mark.parametrize("content", [None, b"", b"no picture at all", b"\xff\xd8\xff\xe0 cut short"])
def test_what_is_no_picture_has_no_preview(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "1.JPG"
    if content is not None:
        path.write_bytes(content)
    assert preview(str(path)) is None


def test_a_preview_is_a_new_file_and_never_another_ones_end(tmp_path: Path) -> None:
    assert write(tmp_path, "f-1", JPEG) and (tmp_path / "f-1.jpg").read_bytes() == JPEG
    assert not write(tmp_path, "f-1", b"other bytes") and (tmp_path / "f-1.jpg").read_bytes() == JPEG


def test_a_name_that_leads_elsewhere_is_not_followed(tmp_path: Path) -> None:
    target = tmp_path / "somebody's file"
    (tmp_path / "f-1.jpg").symlink_to(target)
    assert not write(tmp_path, "f-1", JPEG) and not target.exists()


def test_a_folder_that_takes_no_file_is_said_with_the_files_name(tmp_path: Path) -> None:
    with pytest.raises(LogError, match=r"The preview .*gone/f-1\.jpg can't be written: No such file or directory\."):
        write(tmp_path / "gone", "f-1", JPEG)


def test_a_disk_that_is_full_leaves_no_half_preview(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Full:
        def __enter__(self) -> Full:
            return self

        def __exit__(self, *_: object) -> None: ...

        def write(self, data: bytes) -> None:
            raise OSError(28, "No space left on device")

    def fdopen(descriptor: int, mode: str) -> Full:
        os.close(descriptor)
        return Full()

    monkeypatch.setattr(os, "fdopen", fdopen)
    with pytest.raises(LogError, match=r"can't be written: No space left on device\.$"):
        write(tmp_path, "f-1", JPEG)
    assert list(tmp_path.iterdir()) == []


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
