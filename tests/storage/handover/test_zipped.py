"""A hand-over as one ZIP file: read back by another program, flat in memory, and nothing half-made under its name."""

from __future__ import annotations

import hashlib
import tracemalloc
import zipfile
from pathlib import Path

import bagit
import pytest

from session.frame.ports import LogError
from storage.files.paths import BAG_TXT
from storage.handover import bag
from storage.handover.zipped import write_zip, zip_path

pytestmark = pytest.mark.filterwarnings("ignore:'count' is passed as positional:DeprecationWarning")
"""The validator's own, from Python 3.13 on; it is no code of ours."""


def made_bag(folder: Path, size: int = 300_000) -> Path:
    (folder / "data").mkdir(parents=True)
    with (folder / "data" / "ring 1, חישוק.jpg").open("wb") as file:
        file.write(b"x" * 1000)
        file.truncate(size)
    path = folder / "data" / "ring 1, חישוק.jpg"
    (folder / BAG_TXT).write_text(bag.DECLARATION)
    name = path.relative_to(folder).as_posix()
    (folder / bag.MANIFEST).write_text(bag.manifest_text([(name, hashlib.sha256(path.read_bytes()).hexdigest())]))
    return folder


def test_what_is_unpacked_is_the_same_bag(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(zipfile, "ZIP64_LIMIT", 100_000)  # as though the file had more than 2 GiB
    folder = made_bag(tmp_path / "out")
    assert sum(write_zip(folder)) == sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())
    with zipfile.ZipFile(tmp_path / "out.zip") as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path / "there")
    assert bagit.Bag(str(tmp_path / "there/out")).validate()


def test_memory_stays_flat(tmp_path: Path) -> None:
    folder = made_bag(tmp_path / "out", 24 << 20)
    tracemalloc.start()
    for _ in write_zip(folder):
        pass
    _, peak_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak_bytes < 6 * bag.BLOCK_BYTES


def test_one_that_is_stopped_leaves_nothing_and_one_that_is_there_stays(tmp_path: Path) -> None:
    folder = made_bag(tmp_path / "out", 3 << 20)
    steps = write_zip(folder)
    next(steps)
    assert not zip_path(folder).exists()
    steps.close()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out"]
    list(write_zip(folder))
    before = zip_path(folder).read_bytes()
    with pytest.raises(LogError, match="is there already"):
        list(write_zip(folder))
    assert zip_path(folder).read_bytes() == before


def test_half_a_hand_over_is_not_zipped(tmp_path: Path) -> None:
    (tmp_path / "out" / "data").mkdir(parents=True)
    with pytest.raises(LogError, match="no whole hand-over"):
        list(write_zip(tmp_path / "out"))
