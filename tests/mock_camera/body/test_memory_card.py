"""The card: names, handles, numbers and room. Naming rules of CIPA DC-009 (DCF) from memory."""

import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.body.memory_card import Card, CardFullError, StoredObject
from mock_camera.ptp.codes import MEMORY_STORE, STORAGE_ID


def test_folders_and_files_are_named_by_the_camera_file_system_rule(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    card.save(card.take_number(), ".JPG", b"1")
    assert [str(item.path.relative_to(tmp_path)) for item in card] == [
        "DCIM",
        "DCIM/100STILL",
        "DCIM/100STILL/STIL0001.JPG",
    ]


def test_number_after_9999_starts_the_next_folder(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    card.last_number = 9998
    paths = [card.save(card.take_number(), ".JPG", b"1").path.relative_to(tmp_path) for _ in range(2)]
    assert [str(path) for path in paths] == ["DCIM/100STILL/STIL9999.JPG", "DCIM/101STILL/STIL0001.JPG"]
    assert Card(tmp_path, 1).take_number() == 10_001


def test_files_and_number_outlive_the_camera(tmp_path: Path) -> None:
    first = Card(tmp_path, 1)
    first.save(first.take_number(), ".TIF", b"raw")
    (tmp_path / "DCIM/100STILL/notes.txt").write_text("not the camera's")
    second = Card(tmp_path, 1)
    assert [item.path.name for item in second if item.path.is_file()] == ["STIL0001.TIF"]
    assert second.take_number() == 2


def test_handle_is_never_given_twice(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    first = card.save(1, ".JPG", b"1")
    card.delete(first.handle)
    assert card.find(first.handle) is None
    assert card.save(2, ".JPG", b"1").handle > first.handle


def test_file_that_does_not_fit_leaves_nothing_behind(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    card.save(1, ".TIF", bytes(700_000))
    assert card.free_bytes() == 2**20 - 700_000
    with pytest.raises(CardFullError):
        card.save(1, ".JPG", bytes(400_000))
    assert sorted(path.name for path in (tmp_path / "DCIM/100STILL").iterdir()) == ["STIL0001.TIF"]


def test_formatting_removes_files_and_folders_but_the_number_goes_on(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    for _ in range(3):
        card.save(card.take_number(), ".JPG", b"1")
    assert len(card.format()) == 4
    assert card.used_bytes() == 0
    assert card.save(card.take_number(), ".JPG", b"1").path.name == "STIL0004.JPG"


class CountingCard(Card):
    """Counts how often all objects are gone through."""

    passes = 0

    def __iter__(self) -> Iterator[StoredObject]:
        self.passes += 1
        return super().__iter__()


def test_formatting_goes_through_the_card_for_its_folders_not_for_each_file(tmp_path: Path) -> None:
    card = CountingCard(tmp_path, 1)
    for _ in range(50):
        card.save(card.take_number(), ".JPG", b"1")
    card.format()
    assert card.passes < 10


def test_a_card_whose_files_are_being_removed_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """libgphoto2 waits 2.5 s for an answer, and a busy disk took 3.5 s for 2,000 files."""
    card, free, remove = Card(tmp_path, 1), list[int](), shutil.rmtree

    def ask_and_remove(folder: Path) -> None:
        asking = threading.Thread(target=lambda: free.append(card.free_bytes()), daemon=True)
        asking.start()
        asking.join(10.0)  # only a card that doesn't answer takes so long
        remove(folder)

    monkeypatch.setattr(shutil, "rmtree", ask_and_remove)
    card.save(card.take_number(), ".JPG", b"1")
    card.format()
    assert free == [card.capacity_bytes]
    assert [path.name for path in tmp_path.iterdir()] == ["DCIM"]


def test_used_room_is_what_the_files_on_the_card_take(tmp_path: Path) -> None:
    card = Card(tmp_path, 1)
    kept, gone = (card.save(card.take_number(), ".JPG", bytes(size)) for size in (1000, 300))
    card.save(kept.handle, ".JPG", bytes(50), store=MEMORY_STORE)
    card.delete(gone.handle)
    assert card.used_bytes() == 1000
    card.format()
    assert card.used_bytes() == 0
    assert card.stores() == [STORAGE_ID]
    card.save(card.take_number(), ".JPG", bytes(7))
    assert Card(tmp_path, 1).used_bytes() == card.used_bytes() == 7
