"""Whole copies of a log: under a free name, over an older copy, and of damaged bytes; never half a copy."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from storage.files.copies import copy_damaged, copy_under_free_name, replace_copy, sync, under_free_name


@pytest.fixture
def source(tmp_path: Path) -> Iterator[sqlite3.Connection]:
    with closing(sqlite3.connect(tmp_path / "log.sqlite")) as connection:
        connection.execute("PRAGMA journal_mode=WAL")
        connection.execute("CREATE TABLE note (text)")
        connection.execute("INSERT INTO note VALUES ('first')")
        connection.commit()
        yield connection


def notes(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as connection:
        return [text for (text,) in connection.execute("SELECT text FROM note ORDER BY rowid")]


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if not path.name.endswith(("-wal", "-shm")))


def test_a_copy_holds_what_was_committed_also_when_it_lies_in_the_wal(
    source: sqlite3.Connection, tmp_path: Path
) -> None:
    copy = copy_under_free_name(source, tmp_path / "copy")
    assert notes(copy) == ["first"] and not (tmp_path / "copy-wal").exists()


def test_a_name_that_is_taken_is_left_alone_and_the_next_free_one_used(
    source: sqlite3.Connection, tmp_path: Path
) -> None:
    (tmp_path / "copy").write_text("somebody's")
    (tmp_path / "copy-2").symlink_to(tmp_path / "nowhere")
    copy = copy_under_free_name(source, tmp_path / "copy")
    assert copy.name == "copy-3" and notes(copy) == ["first"]
    assert (tmp_path / "copy").read_text() == "somebody's" and not (tmp_path / "nowhere").exists()


def test_a_copy_that_could_not_be_filled_leaves_nothing(tmp_path: Path) -> None:
    def fill(target: Path) -> None:
        target.write_bytes(b"half")
        raise OSError(28, "No space left on device")

    with pytest.raises(OSError, match="No space left"):
        under_free_name(tmp_path / "copy", fill)
    assert names(tmp_path) == []


def test_an_older_copy_is_replaced_and_stays_when_that_fails(
    source: sqlite3.Connection, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "kept"
    replace_copy(source, target)
    source.execute("INSERT INTO note VALUES ('second')")
    source.commit()
    (tmp_path / ".kept.part").write_bytes(b"what a crash left")
    replace_copy(source, target)
    assert notes(target) == ["first", "second"]

    def refuse(self: Path, other: Path) -> None:
        raise OSError(13, "Permission denied")

    monkeypatch.setattr(Path, "replace", refuse)
    source.execute("INSERT INTO note VALUES ('third')")
    source.commit()
    with pytest.raises(OSError, match="Permission denied"):
        replace_copy(source, target)
    assert notes(target) == ["first", "second"] and names(tmp_path) == ["kept", "log.sqlite"]


def test_a_damaged_log_is_copied_byte_by_byte_with_its_wal_and_once_only(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    log.write_bytes(b"no database any more")
    (tmp_path / "log.sqlite-wal").write_bytes(b"and its wal")
    copy = copy_damaged(log)
    assert copy.name == "log.sqlite.damaged" and copy.read_bytes() == log.read_bytes()
    assert (tmp_path / "log.sqlite.damaged-wal").read_bytes() == b"and its wal"
    assert copy_damaged(log) == copy, "the same bytes are there already"
    log.write_bytes(b"damaged once more")
    again = copy_damaged(log)
    assert again.name == "log.sqlite.damaged-2" and again.read_bytes() == b"damaged once more"


def test_a_name_with_signs_of_a_pattern_is_a_name(tmp_path: Path) -> None:
    log = tmp_path / "log[1]*.sqlite"
    log.write_bytes(b"damaged")
    copy = copy_damaged(log)
    assert copy == copy_damaged(log) and copy.read_bytes() == b"damaged"


def test_an_empty_wal_is_not_copied(tmp_path: Path) -> None:
    log = tmp_path / "log.sqlite"
    log.write_bytes(b"damaged")
    (tmp_path / "log.sqlite-wal").touch()
    copy_damaged(log)
    assert names(tmp_path) == ["log.sqlite", "log.sqlite.damaged"]


def test_what_is_not_there_cant_be_made_durable(tmp_path: Path) -> None:
    sync(tmp_path)
    with pytest.raises(FileNotFoundError):
        sync(tmp_path / "gone")
