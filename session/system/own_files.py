"""Files and folders of ours in places where others may write: never through a link, and never somebody else's.

A lock or a note beside the log, a folder in the temporary directory: whoever can plant a link there, or a file that
they may change later, must not have us write where they like. A refusal is an OSError whose `strerror` says why.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable
from pathlib import Path

OTHERS_MAY_WRITE = stat.S_IWGRP | stat.S_IWOTH


def open_own(path: Path, flags: int, mode: int = 0o644) -> int:
    """A descriptor of a regular file of ours, made when `flags` say so; it is not followed when it is a link.

    Raises OSError: a link, somebody else's, others may write to it, a second name of another file, or no plain file.
    """
    try:
        descriptor = os.open(path, flags | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK, mode)
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise _refusal("it is a link", path) from error
        raise
    try:
        _check(os.fstat(descriptor), path, stat.S_ISREG, "a plain file")
    except BaseException:
        os.close(descriptor)
        raise
    return descriptor


def own_folder(path: Path) -> Path:
    """The folder, made for this user alone when it is missing.

    Raises OSError as `open_own` does, and where others may give it another name and put their own in its place.
    """
    parent = path.parent.stat()
    if parent.st_mode & OTHERS_MAY_WRITE and not parent.st_mode & stat.S_ISVTX:
        raise _refusal(f"other users may change the names in {path.parent}", path)
    try:
        path.mkdir(mode=0o700)
    except FileExistsError:
        _check(path.lstat(), path, stat.S_ISDIR, "a folder")
    return path


def folder_of_ours(path: Path) -> Path:
    """The folder, made for this user alone when it is missing, for files that are known by their own hash.

    Others may be let into it, and into the folder around it. Raises OSError for a link, a file, and somebody else's.
    """
    try:
        path.mkdir(mode=0o700)
    except FileExistsError:
        _check_kind(path.lstat(), path, stat.S_ISDIR, "a folder")
    return path


def _check_kind(status: os.stat_result, path: Path, is_right: Callable[[int], bool], word: str) -> None:
    if stat.S_ISLNK(status.st_mode):
        raise _refusal("it is a link", path)
    if not is_right(status.st_mode):
        raise _refusal(f"it is not {word}", path)
    if status.st_uid != os.geteuid():
        raise _refusal(f"it belongs to another user, {status.st_uid}", path)


def _check(status: os.stat_result, path: Path, is_right: Callable[[int], bool], word: str) -> None:
    _check_kind(status, path, is_right, word)
    if status.st_mode & OTHERS_MAY_WRITE:
        raise _refusal(f"other users may write to it: {stat.filemode(status.st_mode)}", path)
    if stat.S_ISREG(status.st_mode) and status.st_nlink > 1:
        raise _refusal(f"it is a second name of another file, one of {status.st_nlink}", path)


def _refusal(why: str, path: Path) -> PermissionError:
    return PermissionError(errno.EPERM, why, str(path))
