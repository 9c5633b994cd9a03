"""Verify: each kind of damage is found among two thousand files, nothing else is, and a stopped pass goes on."""

from __future__ import annotations

import os
import shutil
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import Connection

from session.frame.ports import LogError
from session.frame.states import FrameEvent
from session.picture.stored_preview import keep_preview
from storage.files.paths import previews_folder
from storage.files.set_pictures import attach_set_picture, set_pictures_folder
from storage.reading import verify as verify_module
from storage.reading.log_reader import LogReader
from storage.reading.shown_picture import FROM_PREVIEW, shown_picture
from storage.reading.verify import NOTES_ENDING, Found, Trouble, VerifyProgress, must_be_free, relink, verify
from storage.writing.log import SqlLog
from tests.support.log_of_files import content, fill
from tests.support.log_samples import NOON, card_object, intent, revision

FRAMES, FILES_EACH = 20, 100


def found(path: Path, *folders: Path) -> dict[Trouble, list[Found]]:
    told: dict[Trouble, list[Found]] = {}
    for one in verify(path, folders):
        told.setdefault(one.trouble, []).append(one)
    return told


@pytest.fixture
def few(path: Path, tmp_path: Path) -> list[Path]:
    return fill(path, tmp_path / "pictures", 2, 3)


def test_each_damage_is_found_among_two_thousand_files(path: Path, tmp_path: Path) -> None:
    files = fill(path, tmp_path / "pictures", FRAMES, FILES_EACH)
    assert len(files) == 2000
    flipped, short, renamed, gone = files[17], files[500], files[1234], files[1999]
    data = bytearray(flipped.read_bytes())
    data[100] ^= 0x04
    flipped.write_bytes(data)
    short.write_bytes(short.read_bytes()[:-1])
    new_name = renamed.rename(renamed.with_name("best of all.JPG"))
    gone.unlink()
    orphan = files[0].with_name("of nobody.JPG")
    orphan.write_bytes(content(9999, 0))
    assert {trouble: [(one.path, one.found_at) for one in told] for trouble, told in found(path).items()} == {
        Trouble.CHANGED: [(str(flipped), "")],
        Trouble.TRUNCATED: [(str(short), "")],
        Trouble.MOVED: [(str(renamed), str(new_name))],
        Trouble.MISSING: [(str(gone), "")],
        Trouble.ORPHAN: [(str(orphan), "")],
    }


def test_files_as_they_were_saved_are_no_news(path: Path, few: list[Path]) -> None:
    progress: list[VerifyProgress] = []
    assert list(verify(path, (), progress.append)) == []
    size = len(content(1, 0))
    assert progress[-1] == VerifyProgress(6, 6, 6 * size, 6 * size)
    assert not path.with_name(path.name + NOTES_ENDING).exists()


def test_moved_file_is_linked_on_request_and_the_event_stands_in_the_log(
    path: Path, tmp_path: Path, few: list[Path]
) -> None:
    (tmp_path / "archive").mkdir()
    new = few[0].rename(tmp_path / "archive" / "hero.JPG")
    assert list(found(path)) == [Trouble.MISSING]
    moved = found(path, tmp_path / "archive")
    assert [(one.number, one.found_at) for one in moved[Trouble.MOVED]] == [(1, str(new))]
    assert relink(path, moved[Trouble.MOVED], NOON) == 1
    assert found(path) == {}
    log = SqlLog.open(path)
    log.close()


def test_stopped_pass_goes_on_where_it_was(path: Path, few: list[Path], monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    digest = verify_module.digest_of

    def counted(file: Path) -> str:
        read.append(file.name)
        return digest(file)

    monkeypatch.setattr(verify_module, "digest_of", counted)

    class StopError(Exception):
        pass

    def stop(progress: VerifyProgress) -> None:
        if progress.files == 4:
            raise StopError

    with pytest.raises(StopError):
        list(verify(path, (), stop))
    few[1].write_bytes(content(7, 7))  # touched since: read again
    told = list(verify(path))
    assert [one.path for one in told] == [str(few[1])]
    assert read == [file.name for file in few[:4]] + [few[1].name, few[4].name, few[5].name]
    read.clear()
    list(verify(path))
    assert len(read) == 6, "a whole pass begins anew"


def test_notes_half_written_are_of_no_harm(path: Path, few: list[Path]) -> None:
    path.with_name(path.name + NOTES_ENDING).write_text('["/pictures/0001.JPG", 12, 3')
    assert list(verify(path)) == []


def test_second_copies_are_verified_too(path: Path, tmp_path: Path) -> None:
    copies = tmp_path / "second"
    copies.mkdir()
    files = fill(path, tmp_path / "pictures", 1, 2, copies)
    assert found(path) == {}
    (copies / files[0].name).unlink()
    (only,) = found(path)[Trouble.MISSING]
    assert "the second copy" in only.text and only.path == str(copies / files[0].name)
    moved = (copies / files[1].name).rename(copies / "other.JPG")
    told = found(path)[Trouble.MOVED]
    assert relink(path, told, NOON) == 1
    assert [one.path for one in found(path)[Trouble.MISSING]] == [only.path]
    assert moved.exists()


def test_copy_of_a_frames_file_and_a_leftover_are_told_as_such(path: Path, few: list[Path]) -> None:
    twin, leftover = few[0].with_name("twin.JPG"), few[0].with_name(".0009-top.JPG.part")
    twin.write_bytes(few[0].read_bytes())
    leftover.write_bytes(b"half")
    told = found(path)
    assert [one.found_at for one in told[Trouble.ORPHAN]] == [str(few[0])]
    assert [one.path for one in told[Trouble.LEFTOVER]] == [str(leftover)]


def test_frame_that_is_not_saved_is_told_in_the_logs_own_words(path: Path, few: list[Path]) -> None:
    log = SqlLog.open(path)
    place = log.open_place("Movement", "Bridge", "top")
    wish = intent(3, log.save_revision(place, revision(number=4)))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    said = "Frame 3 fired, not saved. Look on the card."
    log.move_frame(wish.frame_id, FrameEvent.LOST, said, objects=[card_object(3)])
    log.close()
    (only,) = found(path)[Trouble.UNSAVED]
    assert (only.number, only.text) == (3, "Frame 3 fired, not saved. Look on the card.")


def test_log_beside_the_files_is_no_orphan(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    fill(path, tmp_path, 1, 1)
    assert found(path) == {}


def test_log_that_is_none_is_told(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no log"):
        list(verify(tmp_path / "nothing.sqlite"))


def test_only_pictures_that_no_frame_has_are_orphans(tmp_path: Path) -> None:
    path, folder = tmp_path / "log.sqlite", tmp_path / "pictures"
    fill(path, folder, 1, 1)
    for name, data in (
        ("notes.txt", b"colder"),
        ("empty", b""),
        ("a picture by its bytes", b"\xff\xd8\xff\xe0"),
        ("a raw one", b"II*\x00"),
        ("torn.jpg", b""),  # by its ending, which the log's own files have
    ):
        (folder / name).write_bytes(data)
    orphans = [Path(one.path).name for one in verify(path, [folder]) if one.trouble is Trouble.ORPHAN]
    assert sorted(orphans) == ["a picture by its bytes", "a raw one", "torn.jpg"]


def test_what_was_handed_over_beside_the_pictures_is_no_orphan_and_a_lost_file_is_found_there(tmp_path: Path) -> None:
    path, folder = tmp_path / "log.sqlite", tmp_path / "pictures"
    (one, lost) = fill(path, folder, 1, 2)
    bag = folder / "rings-handover"
    (bag / "data").mkdir(parents=True)
    (bag / "bagit.txt").write_text("BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
    shutil.copy(one, bag / "data" / "one.jpg")
    lost.rename(bag / "data" / "two.jpg")
    (bag / "data" / "sheet.jpg").write_bytes(b"\xff\xd8\xff\xe0")
    (found,) = verify(path)
    assert (found.trouble, found.path, found.found_at) == (Trouble.MOVED, str(lost), str(bag / "data" / "two.jpg"))


def test_relinking_looks_at_the_lock_before_it_reads_a_file(tmp_path: Path) -> None:
    path, folder = tmp_path / "log.sqlite", tmp_path / "pictures"
    fill(path, folder, 1, 1)
    held = SqlLog.open(path)
    try:
        with pytest.raises(LogError, match="Another stillset has this log open"):
            must_be_free(path)
    finally:
        held.close()
    must_be_free(path)
    must_be_free(tmp_path / "none.sqlite")
    assert not (tmp_path / "none.sqlite").exists()


def test_previews_are_known_and_those_that_are_not_whole_or_of_nobody_are_told(path: Path, few: list[Path]) -> None:
    """The pictures lie beside the log here, so that the folder of previews is among what is looked through."""
    folder = previews_folder(path)
    folder.mkdir()
    with closing(LogReader.open(path)) as reader:
        first, second = (frame.frame_id for frame in reader.frames())
    for frame_id in (first, second):
        keep_preview(folder, frame_id, np.full((80, 120, 3), 118, np.uint8), (1200, 800))
    assert found(path, path.parent) == {}
    damaged, left, of_nobody = folder / f"{second}.jpg", folder / f".{first}.jpg.part", folder / "holiday.jpg"
    damaged.write_bytes(damaged.read_bytes()[:-2])
    left.write_bytes(b"x")
    assert Trouble.LEFTOVER not in found(path, path.parent), "a bench may be writing it now"
    os.utime(left, (0, 0))
    of_nobody.write_bytes(b"\xff\xd8\xff\xe0")
    few[0].unlink()
    told = found(path, path.parent)
    assert {kind: [one.path for one in them] for kind, them in told.items()} == {
        Trouble.LEFTOVER: [str(left)],
        Trouble.PREVIEW: [str(damaged), str(of_nobody)],
        Trouble.MISSING: [str(few[0])],
    }
    assert told[Trouble.MISSING][0].text.endswith("is nowhere. Its stored preview is there.")


def test_a_picture_of_a_set_that_was_changed_is_told(path: Path, few: list[Path]) -> None:
    with closing(LogReader.open(path)) as reader:
        (key,) = {record.revision_id for record in reader.records()}
    one, two = (attach_set_picture(path, key, b"\xff\xd8\xff %d" % number) for number in (1, 2))
    assert found(path, path.parent) == {}
    two.path.write_bytes(one.path.read_bytes())
    left, of_nobody = one.path.with_name(f".{one.path.name}.part"), attach_set_picture(path, "0190c1f0", b"").path
    left.write_bytes(b"x")
    os.utime(left, (0, 0))
    assert {kind: [one.path for one in them] for kind, them in found(path, path.parent).items()} == {
        Trouble.SET_PICTURE: [str(of_nobody.parent), str(two.path)],
        Trouble.LEFTOVER: [str(left)],
    }


def test_a_frame_that_is_released_meanwhile_and_its_preview_are_no_trouble(
    path: Path, few: list[Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bench goes on: it logs a frame and stores its preview as soon as the log was read."""
    folder = previews_folder(path)
    folder.mkdir()
    read = verify_module._unsaved_frames

    def and_a_frame_comes(connection: Connection) -> list[Found]:
        told = list(read(connection))
        keep_preview(folder, "0190c1f0-of-a-new-frame", np.full((8, 12, 3), 118, np.uint8), (120, 80))
        return told

    monkeypatch.setattr(verify_module, "_unsaved_frames", and_a_frame_comes)
    assert found(path) == {}


def test_folders_that_can_not_be_looked_through_are_told_and_the_rest_is_verified(path: Path, few: list[Path]) -> None:
    """Links that lead to themselves, for everybody what a folder of another user's is."""
    for folder in (previews_folder(path), set_pictures_folder(path)):
        folder.symlink_to(folder)
    few[0].unlink()
    told = found(path)
    assert [one.text.partition(":")[0] for one in told[Trouble.UNREADABLE]] == [
        f"{previews_folder(path)} can't be looked through",
        f"{set_pictures_folder(path)} can't be looked through",
    ]
    assert [one.path for one in told[Trouble.MISSING]] == [str(few[0])]


def test_a_log_that_is_opened_by_a_link_has_the_same_previews(path: Path, few: list[Path], tmp_path: Path) -> None:
    link = tmp_path / "today.sqlite"
    link.symlink_to(path)
    with closing(LogReader.open(link)) as reader:
        first = next(iter(reader.records()))
    previews_folder(link).mkdir()
    keep_preview(previews_folder(link), first.frame_id, np.full((8, 12, 3), 118, np.uint8), (120, 80))
    for file in few:
        file.unlink()
    shown = shown_picture(first)
    assert shown is not None and shown.told == FROM_PREVIEW
