"""Whole copies of an open log, made by SQLite's online backup: one state of the log, also while it is written.

Source: https://www.sqlite.org/backup.html.
"""

from __future__ import annotations

import filecmp
import glob
import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path


def copy_under_free_name(source: sqlite3.Connection, wanted: Path) -> Path:
    """Copy the log to this name, or to `NAME-2`, `NAME-3` … when it is taken; where it is then, whole and on the disk.

    Raises OSError or sqlite3.Error, and leaves nothing behind.
    """
    return under_free_name(wanted, lambda target: _fill(source, target))


def under_free_name(wanted: Path, fill: Callable[[Path], None]) -> Path:
    """Make a new file of the wanted name, or the next free one, and have it filled; durable when it returns."""
    number, target = 1, wanted
    while True:
        try:
            os.close(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644))
            break
        except FileExistsError:
            number += 1
            target = wanted.with_name(f"{wanted.name}-{number}")
    try:
        fill(target)
        sync(target)
        sync(target.parent)
    except BaseException:
        target.unlink(missing_ok=True)
        raise
    return target


def replace_copy(source: sqlite3.Connection, target: Path) -> None:
    """Copy the log over an older copy: at any time the old copy or the new copy is whole.

    Raises OSError or sqlite3.Error; the old copy stays then.
    """
    part = target.with_name(f".{target.name}.part")
    part.unlink(missing_ok=True)  # what a crash left of an earlier copy
    part = copy_under_free_name(source, part)
    try:
        part.replace(target)
    except OSError:
        part.unlink(missing_ok=True)
        raise
    sync(target.parent)


def copy_damaged(log: Path) -> Path:
    """Copy a damaged log, at rest, byte by byte with its WAL to `LOG.damaged`. Returns the copy's path. Raises OSError.

    An earlier copy with the same bytes is used again, so that repeated tries don't pile up copies.
    """
    wanted = log.with_name(f"{log.name}.damaged")
    for there in sorted(log.parent.glob(f"{glob.escape(wanted.name)}*")):
        if not there.name.endswith("-wal") and there.is_file() and filecmp.cmp(log, there, shallow=False):
            return there
    copy = under_free_name(wanted, lambda target: _fill_from(log, target))
    wal = log.with_name(f"{log.name}-wal")
    if wal.exists() and wal.stat().st_size:
        under_free_name(copy.with_name(f"{copy.name}-wal"), lambda target: _fill_from(wal, target))
    return copy


def _fill_from(file: Path, target: Path) -> None:
    with file.open("rb") as source, target.open("r+b") as copy:
        shutil.copyfileobj(source, copy)


def sync(path: Path) -> None:
    """Make a file's bytes, or a folder's names, durable. Raises OSError."""
    descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _fill(source: sqlite3.Connection, target: Path) -> None:
    with closing(sqlite3.connect(target)) as copy:
        source.backup(copy)
        copy.execute("PRAGMA journal_mode=DELETE")  # so that looking into it makes no helper files beside it
