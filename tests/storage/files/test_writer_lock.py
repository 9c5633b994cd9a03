"""One writer for a log: by whatever name it is opened, told by whom, and let go so that the next may come."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from session.frame.ports import LogError
from storage.files.writer_lock import HEADER_BYTES, WriterLock, lock_path, refuse_what_is_no_file


@pytest.fixture
def log(tmp_path: Path) -> Path:
    return tmp_path / "log.sqlite"


def test_a_new_log_is_made_empty_and_the_file_beside_it_says_by_whom(log: Path) -> None:
    lock = WriterLock(log)
    assert log.stat().st_size == 0 and lock.header() == b""
    assert lock_path(log).name == "log.sqlite.lock" and lock_path(log).read_text() == f"{os.getpid()}\n"
    lock.release()
    assert lock_path(log).exists(), "removing it would let two writers lock two files of one name"


def test_a_second_writer_is_refused_with_the_firsts_process_and_comes_in_when_it_is_gone(log: Path) -> None:
    lock = WriterLock(log)
    with pytest.raises(LogError) as refused:
        WriterLock(log)
    assert str(refused.value) == f"Another stillset has this log open (process {os.getpid()}): {log}."
    lock.release()
    WriterLock(log).release()


@pytest.mark.parametrize("how", ["a symbolic link", "a hard link"])
def test_another_name_of_the_same_log_lets_no_second_writer_in(log: Path, how: str) -> None:
    lock = WriterLock(log)
    other = log.with_name("other.sqlite")
    if how == "a symbolic link":
        other.symlink_to(log)
    else:
        other.hardlink_to(log)
    with pytest.raises(LogError, match="Another stillset has this log open, by another name of it: "):
        WriterLock(other)
    lock.release()
    WriterLock(other).release()


def test_a_refused_writer_leaves_no_lock_behind(log: Path) -> None:
    first = WriterLock(log)
    other = log.with_name("other.sqlite")
    other.hardlink_to(log)
    with pytest.raises(LogError):
        WriterLock(other)
    first.release()
    again = WriterLock(other)
    again.release()


def test_the_header_is_what_lies_on_the_disk(log: Path) -> None:
    log.write_bytes(bytes(range(200)))
    lock = WriterLock(log)
    assert lock.header() == bytes(range(HEADER_BYTES))
    lock.release()


def test_a_log_that_was_moved_deleted_or_replaced_is_not_in_its_place(log: Path) -> None:
    lock = WriterLock(log)
    assert lock.is_in_place() and lock.whereabouts() == log
    moved = log.rename(log.with_name("moved.sqlite"))
    assert not lock.is_in_place() and lock.whereabouts() == moved
    log.write_bytes(b"another log")
    assert not lock.is_in_place(), "something else has its name"
    moved.unlink()
    assert lock.whereabouts() is None
    lock.release()


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: path.mkdir(), "is a folder, not a log."),
        (os.mkfifo, "is a pipe, not a log."),
        (lambda path: path.symlink_to("/dev/null"), "is a device, not a log."),
    ],
    ids=["folder", "pipe", "device"],
)
def test_what_is_no_file_is_refused_before_anything_waits_for_it(log: Path, make: object, said: str) -> None:
    make(log)
    with pytest.raises(LogError) as refused:
        WriterLock(log)
    assert str(refused.value) == f"{log} {said}"
    assert not lock_path(log).exists()


def test_what_is_not_there_is_for_whoever_opens_it_to_say(tmp_path: Path) -> None:
    refuse_what_is_no_file(tmp_path / "gone" / "log.sqlite")
    with pytest.raises(LogError, match=r"The log .* can't be written: No such file or directory\."):
        WriterLock(tmp_path / "gone" / "log.sqlite")
