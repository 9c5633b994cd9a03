"""Saving: whole or not at all, never over a file, never outside the folder, whatever the disk does."""

from __future__ import annotations

import errno
import hashlib
import io
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from session.cameras.result_codes import CameraError
from session.cameras.saving import (
    SystemDisk,
    is_leftover,
    local_name,
    prepare,
    rename_by_link,
    rename_no_replace,
    save,
    save_twice,
)
from session.frame.camera_messages import CardObject, Fault, Fired, SecondPlace


def picture(seed: int = 1) -> bytes:
    written = io.BytesIO()
    values = np.random.default_rng(seed).integers(0, 256, (40, 60, 3), dtype=np.uint8)
    Image.fromarray(values).save(written, "JPEG")
    return written.getvalue()


DATA = picture()
OTHER = picture(2)


def card(data: bytes = DATA, name: str = "STIL0001.JPG") -> CardObject:
    return CardObject("/store/DCIM/100STILL", name, len(data))


def names(folder: Path) -> list[str]:
    return sorted(place.name for place in folder.iterdir())


class PowerCut(BaseException):
    """Nothing after this happens; not an Exception, since no code may answer it."""


class FailingDisk(SystemDisk):
    """A real disk which fails at the given step; the steps before are done. Counts and names them."""

    def __init__(self, failing_step: int = -1, failure: Callable[[], BaseException] = PowerCut) -> None:
        self.steps: list[str] = []
        self.off = False
        self.failing_step = failing_step
        self.failure = failure

    def _step(self, name: str) -> None:
        failing = self.off or len(self.steps) == self.failing_step
        self.off = failing and self.failure is PowerCut
        if failing:
            self.failing_step = -1
            raise self.failure()
        self.steps.append(name)

    def create(self, path: str) -> int:
        self._step(f"create {Path(path).name}")
        return super().create(path)

    def write(self, descriptor: int, data: Any) -> int:
        self._step("write")
        return super().write(descriptor, data[: len(DATA) // 3])

    def sync(self, descriptor: int) -> None:
        self._step("sync")
        super().sync(descriptor)

    def close(self, descriptor: int) -> None:
        super().close(descriptor)  # a dead process's files are closed too
        self._step("close")

    def rename(self, source: str, target: str) -> None:
        self._step(f"rename to {Path(target).name}")
        super().rename(source, target)

    def remove(self, path: str) -> None:
        self._step("remove")
        super().remove(path)

    def sync_folder(self, path: str) -> None:
        self._step("sync folder")
        super().sync_folder(path)


def test_a_saved_file_is_what_came_and_its_record_is_true(tmp_path: Path) -> None:
    saved = save(DATA, card(), str(tmp_path), "bridge-0042", SystemDisk())
    assert saved.path == str(tmp_path / "bridge-0042.JPG")
    assert Path(saved.path).read_bytes() == DATA
    assert (saved.kind, saved.bytes, saved.card) == ("jpeg", len(DATA), card())
    assert saved.sha256 == hashlib.sha256(DATA).hexdigest()
    assert names(tmp_path) == ["bridge-0042.JPG"]


def test_the_file_is_durable_before_it_has_its_name_and_the_name_before_it_is_told(tmp_path: Path) -> None:
    disk = FailingDisk()
    save(DATA, card(), str(tmp_path), "a", disk)
    assert disk.steps == [
        "create .a.JPG.part",
        "write",
        "write",
        "write",
        *(["write"] if len(DATA) % 3 else []),
        "sync",
        "close",
        "rename to a.JPG",
        "sync folder",
    ]


def test_power_may_go_at_any_step_and_the_next_try_saves_it_whole_and_once(tmp_path: Path) -> None:
    steps = 0
    while True:
        folder = tmp_path / str(steps)
        folder.mkdir()
        failing = FailingDisk(steps)
        try:
            save(DATA, card(), str(folder), "a", failing)
        except PowerCut:
            left = names(folder)
            assert all(is_leftover(name) or (folder / name).read_bytes() == DATA for name in left)
        else:
            break
        saved = save(DATA, card(), str(folder), "a", SystemDisk())
        assert saved.path == str(folder / "a.JPG")
        whole = [name for name in names(folder) if not is_leftover(name)]
        assert whole == ["a.JPG"]
        steps += 1
    assert steps == len(failing.steps) > 6


@pytest.mark.parametrize(
    ("number", "words"),
    [(errno.ENOSPC, "full"), (errno.EDQUOT, "full"), (errno.EROFS, "may not be written"), (errno.EIO, "can't be")],
)
def test_a_disk_that_fails_at_any_step_leaves_nothing_and_the_frame_on_the_card(
    tmp_path: Path, number: int, words: str
) -> None:
    steps = 0
    while True:
        folder = tmp_path / str(steps)
        folder.mkdir()
        disk = FailingDisk(steps, lambda: OSError(number, os.strerror(number)))
        try:
            save(DATA, card(), str(folder), "a", disk)
        except CameraError as error:
            assert error.fault is (Fault.DISK_FULL if number in (errno.ENOSPC, errno.EDQUOT) else Fault.DISK)
            assert error.missing == (card(),)
            assert words in error.text
            assert [name for name in names(folder) if (folder / name).read_bytes() != DATA] == []
        else:
            break
        steps += 1
    assert steps > 6


def test_another_file_of_that_name_is_never_touched(tmp_path: Path) -> None:
    (tmp_path / "a.JPG").write_bytes(b"somebody's")
    (tmp_path / "a-2.JPG").mkdir()
    saved = save(DATA, card(), str(tmp_path), "a", SystemDisk())
    assert Path(saved.path).name == "a-3.JPG"
    assert (tmp_path / "a.JPG").read_bytes() == b"somebody's"


def test_a_file_saved_before_a_crash_is_taken_and_not_saved_twice(tmp_path: Path) -> None:
    first = save(DATA, card(), str(tmp_path), "a", SystemDisk())
    assert save(DATA, card(), str(tmp_path), "a", SystemDisk()) == first
    assert names(tmp_path) == ["a.JPG"]
    assert save(OTHER, card(OTHER), str(tmp_path), "a", SystemDisk()).path == str(tmp_path / "a-2.JPG")


def test_a_leftover_is_neither_used_nor_removed(tmp_path: Path) -> None:
    (tmp_path / ".a.JPG.part").write_bytes(DATA[:100])
    saved = save(DATA, card(), str(tmp_path), "a", SystemDisk())
    assert Path(saved.path).read_bytes() == DATA
    assert (tmp_path / ".a.JPG.part").read_bytes() == DATA[:100]
    assert [name for name in names(tmp_path) if not is_leftover(name)] == ["a.JPG"]


@pytest.mark.parametrize("rename", [rename_by_link, rename_no_replace])
def test_either_way_of_renaming_refuses_to_replace(tmp_path: Path, rename: Callable[[str, str], None]) -> None:
    source, target = tmp_path / "a", tmp_path / "b"
    source.write_bytes(b"new")
    target.write_bytes(b"old")
    with pytest.raises(FileExistsError):
        rename(str(source), str(target))
    assert (source.read_bytes(), target.read_bytes()) == (b"new", b"old")
    target.unlink()
    rename(str(source), str(target))
    assert (source.exists(), target.read_bytes()) == (False, b"new")


@pytest.mark.parametrize("data", [b"", DATA[: len(DATA) // 2]])
def test_short_data_is_never_saved(tmp_path: Path, data: bytes) -> None:
    with pytest.raises(CameraError) as caught:
        save(data, card(), str(tmp_path), "a", SystemDisk())
    assert (caught.value.fault, caught.value.missing) == (Fault.BAD_FILE, (card(),))
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    "name",
    ["../../evil.JPG", "/etc/passwd", "a/../../b", "..", "", "x.J/G", "x.\0", "x.part", "x." + "A" * 300],
)
def test_a_hostile_name_on_the_card_does_not_leave_the_folder(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "in" / "side"
    folder.mkdir(parents=True)
    saved = save(DATA, card(name=name), str(folder), "a", SystemDisk())
    assert saved.path == str(folder / "a.JPG")
    assert names(tmp_path / "in") == ["side"]


@pytest.mark.parametrize("stem", ["", ".hidden", "../a", "a/b", "a\0"])
def test_a_stem_that_is_no_file_name_is_refused(stem: str) -> None:
    with pytest.raises(ValueError, match="file name"):
        local_name(stem, "x.JPG", "jpeg")


def test_a_folder_that_cannot_be_made_is_told_before_anything_fires(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(CameraError) as caught:
        prepare(str(tmp_path / "file" / "frames"), None, SystemDisk())
    assert caught.value.fault == Fault.DISK
    prepare(str(tmp_path / "made" / "for" / "it"), None, SystemDisk())
    assert (tmp_path / "made" / "for" / "it").is_dir()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has /dev/full")
def test_a_truly_full_device_reads_as_a_full_disk(tmp_path: Path) -> None:
    class FullDisk(SystemDisk):
        def create(self, path: str) -> int:
            super().close(super().create(path))
            return os.open("/dev/full", os.O_WRONLY)

    with pytest.raises(CameraError, match="disk is full") as caught:
        save(DATA, card(), str(tmp_path), "a", FullDisk())
    assert caught.value.fault == Fault.DISK_FULL
    assert names(tmp_path) == []


def second_place(root: Path, device: int | None = None) -> SecondPlace:
    return SecondPlace(str(root / "movement"), str(root), root.stat().st_dev if device is None else device)


def test_file_with_a_second_place_is_in_both_and_each_as_safe(tmp_path: Path) -> None:
    (tmp_path / "second").mkdir()
    place, disk = second_place(tmp_path / "second"), SystemDisk()
    prepare(str(tmp_path / "first"), place, disk)
    file = save_twice(DATA, card(DATA), str(tmp_path / "first"), "0001", place, disk)
    assert Path(file.path).read_bytes() == Path(file.copy_path).read_bytes() == DATA
    assert file.copy_path == str(tmp_path / "second" / "movement" / "0001.JPG")
    assert save_twice(DATA, card(DATA), str(tmp_path / "first"), "0001", place, disk) == file


def test_second_place_whose_disk_is_unplugged_is_told_before_anything_fires(tmp_path: Path) -> None:
    """What is left is an empty folder of its name on another disk: nothing must be saved there."""
    (tmp_path / "second").mkdir()
    unplugged = second_place(tmp_path / "second", device=-1)
    with pytest.raises(CameraError, match="disk for second copies is not at") as caught:
        prepare(str(tmp_path / "first"), unplugged, SystemDisk())
    assert (caught.value.fault, caught.value.fired) == (Fault.DISK, Fired.NO)
    with pytest.raises(CameraError, match=r"0001\.JPG has no second copy") as caught:
        save_twice(DATA, card(DATA), str(tmp_path / "first"), "0001", unplugged, SystemDisk())
    assert caught.value.missing == (card(DATA),)
    assert list((tmp_path / "second").iterdir()) == []
