"""Pictures of the set beside a log: `LOG.set-pictures/REVISION/NN-HASH.jpg`, each under the hash of its bytes.

They belong to a revision, need no lock on the log, and so are attached and removed while a bench has it open. The file
`LOG.set-pictures/.lock` is locked while a picture is attached, so that no two get one number. The hash in the name
tells a picture that isn't as it was stored.
"""

from __future__ import annotations

import fcntl
import hashlib
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from session.frame.ports import LogError
from session.picture.stored_preview import put_whole
from session.system.own_files import folder_of_ours, open_own
from storage.files.paths import beside

MOST = 24
"""Pictures of one revision. Chosen: they fill two pages of a card."""

MOST_BYTES = 20_000_000
"""A longer file is none that was stored: 4.2 million pixels without compression are 12.6 MB."""

LOCK = ".lock"
HASH_DIGITS = 16
_NAME = re.compile(r"(\d{2,9})-([0-9a-f]{16})\.jpg")
_KEY = re.compile(r"[0-9A-Za-z-]{1,64}")


@dataclass(frozen=True)
class StoredSetPicture:
    """A picture of a set. `number`: its number for people, from 1; `whole`: the file has the stored bytes."""

    number: int
    path: Path
    whole: bool

    @property
    def digest(self) -> str:
        """The beginning of the hash of the bytes that were stored, HASH_DIGITS hexadecimal digits."""
        return self.path.stem.rpartition("-")[2]


def set_pictures_folder(log: Path) -> Path:
    """The folder in which the pictures of a log's sets are stored."""
    return beside(log, ".set-pictures")


def stored_set_pictures(log: Path, revision_id: str) -> tuple[StoredSetPicture, ...]:
    """The pictures attached to a revision, by number."""
    folder = _folder(log, revision_id)
    return set_pictures_in(folder) if folder else ()


def set_pictures_in(folder: Path) -> tuple[StoredSetPicture, ...]:
    """The pictures in the folder of a revision, by number; other files are left alone."""
    return tuple(sorted(_in_folder(folder), key=lambda one: (one.number, one.path)))


def attach_set_picture(log: Path, revision_id: str, jpeg: bytes) -> StoredSetPicture:
    """Store a picture of the set with the revision. A picture that is there already is not stored again.

    Raises LogError without room or permission, and when there are as many as a card takes.
    """
    folder = _folder(log, revision_id)
    if folder is None:
        raise LogError(f"Pictures are attached to a set-up that is in the log, not to {revision_id!r}.")
    try:
        folder_of_ours(folder.parent)
        with _hold_lock(folder.parent):
            folder_of_ours(folder)
            return _attach(folder, jpeg)
    except OSError as error:
        raise LogError(f"The picture can't be stored in {folder}: {error.strerror}.") from error


def _attach(folder: Path, jpeg: bytes) -> StoredSetPicture:
    there = set_pictures_in(folder)
    digest = hashlib.sha256(jpeg).hexdigest()[:HASH_DIGITS]
    known = next((one for one in there if one.whole and one.digest == digest), None)
    if known:
        return known
    if len(there) >= MOST:
        raise LogError(f"The set-up has {MOST} pictures already; remove one first.")
    number = max((one.number for one in there), default=0) + 1
    path = folder / f"{number:02d}-{digest}.jpg"
    put_whole(path, jpeg)
    return StoredSetPicture(number, path, whole=True)


@contextmanager
def _hold_lock(folder: Path) -> Iterator[None]:
    """Wait for whoever attaches a picture to a set of the log now. Raises OSError."""
    descriptor = open_own(folder / LOCK, os.O_RDWR | os.O_CREAT)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield
    finally:
        os.close(descriptor)


def copy_set_pictures(log: Path, copy: Path) -> int:
    """Copy the whole pictures beside a log that aren't beside this copy of the log; returns how many.

    Nothing there is deleted or written over. Raises OSError.
    """
    source, target = set_pictures_folder(log), set_pictures_folder(copy)
    count = 0
    for folder in sorted(_folders_of_revisions(source)):
        for path in sorted(folder.iterdir()):
            named, second = _NAME.fullmatch(path.name), target / folder.name / path.name
            if named and not os.path.lexists(second) and not path.is_symlink() and _digest(path) == named[2]:
                folder_of_ours(target)
                folder_of_ours(second.parent)
                put_whole(second, path.read_bytes())
                count += 1
    return count


def _folders_of_revisions(folder: Path) -> list[Path]:
    try:
        return [
            path for path in folder.iterdir() if _KEY.fullmatch(path.name) and path.is_dir() and not path.is_symlink()
        ]
    except FileNotFoundError:
        return []


def remove_set_picture(log: Path, revision_id: str, name: str) -> bool:
    """Delete a revision's picture by file name; False for a name without a file. Raises LogError without permission.

    Not by number: beside a copy of the log another picture may have it, one that was deleted here since.
    """
    found = next((one for one in stored_set_pictures(log, revision_id) if one.path.name == name), None)
    if found is None:
        return False
    try:
        found.path.unlink()
    except OSError as error:
        raise LogError(f"{found.path} can't be deleted: {error.strerror}.") from error
    return True


def _folder(log: Path, revision_id: str) -> Path | None:
    return set_pictures_folder(log) / revision_id if _KEY.fullmatch(revision_id) else None


def _in_folder(folder: Path) -> Iterator[StoredSetPicture]:
    try:
        paths = [] if folder.is_symlink() else list(folder.iterdir())
    except OSError:  # there is none, or it is another user's, who alone may look into it
        return
    for path in paths:
        named = _NAME.fullmatch(path.name)
        if named and path.is_file() and not path.is_symlink():
            yield StoredSetPicture(int(named[1]), path, whole=_digest(path) == named[2])


def _digest(path: Path) -> str:
    """The beginning of the file's hash; "" where it can't be read, or is longer than any that is stored."""
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError:
        return ""
    return hashlib.sha256(data).hexdigest()[:HASH_DIGITS] if len(data) <= MOST_BYTES else ""
