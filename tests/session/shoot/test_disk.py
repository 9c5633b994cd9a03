"""Looking on the disk for what the log has no row for."""

from __future__ import annotations

import hashlib
import io
from pathlib import Path

import pytest
from PIL import Image

from session.cameras.saving import SystemDisk, save
from session.frame.camera_messages import CardObject
from session.frame.ports import LogError
from session.shoot.disk import FreeStems, clear_leftovers, files_of

STEM = "0042-three-quarter-07.3"


def jpeg() -> bytes:
    held = io.BytesIO()
    Image.effect_noise((64, 48), 60).save(held, "JPEG")
    return held.getvalue()


def test_file_saved_by_the_cameras_process_is_found_as_it_was_told(tmp_path: Path) -> None:
    data = jpeg()
    told = save(data, CardObject("/DCIM/100STILL", "STIL0001.JPG", len(data)), str(tmp_path), STEM, SystemDisk())
    (found,) = files_of(str(tmp_path), STEM)
    assert (found.path, found.kind, found.bytes, found.sha256) == (told.path, told.kind, told.bytes, told.sha256)
    assert found.sha256 == hashlib.sha256(Path(found.path).read_bytes()).hexdigest()
    assert found.card == CardObject("", f"{STEM}.JPG", len(data))


def test_namesake_is_found_and_other_frames_are_not(tmp_path: Path) -> None:
    data = jpeg()
    for name in (f"{STEM}.JPG", f"{STEM}-2.JPG", f"{STEM}0.JPG", f"1{STEM}.JPG", f"{STEM}.JPG.xmp", STEM, "0043.JPG"):
        (tmp_path / name).write_bytes(data)
    found = [Path(file.path).name for file in files_of(str(tmp_path), STEM)]
    assert found == [f"{STEM}-2.JPG", f"{STEM}.JPG"]


@pytest.mark.parametrize("share", [0.0, 0.3, 0.99])
def test_file_that_is_not_whole_is_left_out(tmp_path: Path, share: float) -> None:
    data = jpeg()
    (tmp_path / f"{STEM}.JPG").write_bytes(data[: int(share * len(data))])
    assert files_of(str(tmp_path), STEM) == []


def test_half_file_under_its_temporary_name_is_no_file_and_is_cleared_away(tmp_path: Path) -> None:
    whole, half, other = tmp_path / f"{STEM}.JPG", tmp_path / f".{STEM}.DNG.part", tmp_path / ".0043-x.JPG.part"
    for path in (whole, half, other):
        path.write_bytes(jpeg())
    assert [Path(file.path).name for file in files_of(str(tmp_path), STEM)] == [whole.name]
    assert clear_leftovers(str(tmp_path), STEM) == (half.name,)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([whole.name, other.name])
    assert clear_leftovers(str(tmp_path), STEM) == ()


def test_folder_that_was_never_made_holds_nothing(tmp_path: Path) -> None:
    assert files_of(str(tmp_path / "none"), STEM) == []
    assert clear_leftovers(str(tmp_path / "none"), STEM) == ()


class FailingDisk(SystemDisk):
    """A disk that gives nothing and takes nothing away."""

    def read(self, path: str) -> bytes:
        raise PermissionError(13, "Permission denied", path)

    def remove(self, path: str) -> None:
        raise PermissionError(13, "Permission denied", path)


def test_disk_that_cannot_be_read_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / f"{STEM}.JPG").write_bytes(jpeg())
    (tmp_path / f".{STEM}.JPG.part").write_bytes(b"")
    with pytest.raises(LogError, match=r"can't be read: Permission denied"):
        files_of(str(tmp_path), STEM, FailingDisk())
    with pytest.raises(LogError, match=r"can't be cleared .*Permission denied"):
        clear_leftovers(str(tmp_path), STEM, FailingDisk())


def test_stem_under_which_the_folder_has_a_file_is_not_given(tmp_path: Path) -> None:
    stems = FreeStems()
    folder = tmp_path / "not yet"
    assert stems.free(str(folder), "0001") == "0001"
    folder.mkdir()
    (folder / "0001-2.XYZ").write_bytes(b"")
    assert stems.free(str(folder), "0001") == "0001-again"
    (folder / "0002.JPG").write_bytes(b"")
    (folder / "0003.XYZ").write_bytes(b"")
    (folder / "0004.ABC").write_bytes(b"")
    stems.note_saved("elsewhere/0009.ABC")
    assert [stems.free(str(folder), stem) for stem in ("0002", "0003", "0004")] == [
        "0002-again",
        "0003-again",
        "0004-again",
    ]
    (folder / "0001-2.XYZ").unlink()
    assert stems.free(str(folder), "0001") == "0001"


def test_folder_is_read_for_a_stem_once_in_a_run(tmp_path: Path) -> None:
    (tmp_path / "0001.JPG").write_bytes(b"")
    stems = FreeStems()
    assert stems.free(str(tmp_path), "0002") == "0002"
    (tmp_path / "0002.NEW").write_bytes(b"")
    assert stems.free(str(tmp_path), "0002") == "0002", "an ending that was never met is seen only by reading it all"
