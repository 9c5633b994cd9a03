"""Files from the camera to our disk, so that a name without `.part` always stands for a whole file.

The steps: check that the file is all there → write under a temporary name in the same folder → fsync →
rename to a name that nobody has → fsync the folder. A crash between any two leaves either nothing, a
`.NAME.part` that `is_leftover` knows, or the whole file. Nothing is ever overwritten. A file that an earlier
try has already saved, byte for byte, is taken as it is and not saved twice.
"""

from __future__ import annotations

import ctypes
import errno
import hashlib
import os
import re
from contextlib import suppress
from dataclasses import replace
from pathlib import Path, PurePath
from typing import Protocol

from session.cameras.result_codes import CameraError
from session.cameras.wholeness import Bytes, flaw, kind_of
from session.frame.camera_messages import CardObject, Fault, SavedFile, SecondPlace
from session.units.file_kinds import FileKind
from session.units.refusals import UnreadableTextError

LEFTOVER = re.compile(r"\..+\.part")
EXTENSION = re.compile(r"[A-Za-z0-9]{1,8}")
MOST_NAMESAKES = 999
EXTENSIONS_BY_KIND: dict[str, str] = {FileKind.JPEG: "JPG", FileKind.RAW: "TIF", FileKind.OTHER: "BIN"}

AT_FDCWD = -100  # linux/fcntl.h
RENAME_NOREPLACE = 1  # linux/fs.h
NO_SUCH_CALL = frozenset({errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM})


class Disk(Protocol):
    """The single acts on the disk, so that a test can end the world between two acts."""

    def make_folder(self, path: str) -> None:
        """Make the folder and the missing folders above it, durably."""

    def create(self, path: str) -> int:
        """A new file open for writing; raises FileExistsError rather than touch an existing file."""

    def write(self, descriptor: int, data: Bytes) -> int:
        """Write some of it; how many bytes were taken."""

    def sync(self, descriptor: int) -> None: ...

    def close(self, descriptor: int) -> None: ...

    def rename(self, source: str, target: str) -> None:
        """Give it another name; raises FileExistsError rather than replace a file."""

    def remove(self, path: str) -> None: ...

    def sync_folder(self, path: str) -> None:
        """Make the names in it durable."""

    def read(self, path: str) -> bytes:
        """The bytes in the file. Raises OSError for a link, which this program never makes."""

    def device(self, path: str) -> int:
        """The number of the disk that holds the path; raises OSError when the path doesn't exist."""


class SystemDisk:
    """The computer's own disk."""

    def __init__(self) -> None:
        self._durable: set[str] = set()

    def make_folder(self, path: str) -> None:
        folder = Path(path).absolute()
        missing = [place for place in (folder, *folder.parents) if not place.exists()]
        for place in reversed(missing):
            self.make_one_folder(str(place))
        if not folder.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), path)
        if missing or path not in self._durable:  # an earlier run may have been killed before it came to this
            for place in folder.parents:
                with suppress(PermissionError):  # who may not read a folder made nothing in it
                    self.sync_folder(str(place))
            self._durable.add(path)

    def make_one_folder(self, path: str) -> None:
        """Make a folder whose parent exists; the folder is not durable yet."""
        Path(path).mkdir(exist_ok=True)

    def create(self, path: str) -> int:
        return os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o644)

    def write(self, descriptor: int, data: Bytes) -> int:
        return os.write(descriptor, data)

    def sync(self, descriptor: int) -> None:
        os.fsync(descriptor)

    def close(self, descriptor: int) -> None:
        os.close(descriptor)

    def rename(self, source: str, target: str) -> None:
        try:
            rename_by_link(source, target)
        except OSError as error:
            if error.errno not in NO_SUCH_CALL:
                raise
            rename_no_replace(source, target)  # exFAT and its like have no hard links

    def remove(self, path: str) -> None:
        Path(path).unlink()

    def sync_folder(self, path: str) -> None:
        descriptor = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            os.fsync(descriptor)
        except OSError as error:
            if error.errno != errno.EINVAL:  # some network drives know no fsync of a folder
                raise
        finally:
            os.close(descriptor)

    def read(self, path: str) -> bytes:
        with os.fdopen(os.open(path, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK), "rb") as file:
            return file.read()

    def device(self, path: str) -> int:
        return Path(path).stat().st_dev


def rename_by_link(source: str, target: str) -> None:
    """Rename by a second hard link, which fails when the target exists; raises OSError."""
    Path(target).hardlink_to(source)
    Path(source).unlink()


def rename_no_replace(source: str, target: str) -> None:
    """Rename by Linux' renameat2, which fails when the target exists; raises OSError, ENOSYS without it."""
    call = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if call is None:
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS), target)
    if call(AT_FDCWD, os.fsencode(source), AT_FDCWD, os.fsencode(target), RENAME_NOREPLACE):
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number), source, None, target)


def is_leftover(name: str) -> bool:
    """Whether a file of that name (without folder) is what a crash left of a transfer."""
    return LEFTOVER.fullmatch(name) is not None


def local_name(stem: str, card_name: str, kind: str) -> str:
    """`stem.EXT` for a file that the camera calls `card_name`, of which only a plain extension is used.

    Raises ValueError when the stem isn't a file name.
    """
    if not stem or stem.startswith(".") or "/" in stem or "\0" in stem:
        raise UnreadableTextError(f"{stem!r} is no file name")
    extension = card_name.rpartition(".")[2] if "." in card_name else ""
    if not EXTENSION.fullmatch(extension) or extension.lower() == "part":
        extension = EXTENSIONS_BY_KIND[kind]
    return f"{stem}.{extension.upper()}"


def prepare(folder: str, second: SecondPlace | None, disk: Disk) -> None:
    """Make the folders. Raises CameraError(DISK) when one can't be made, or the second copy's disk isn't there."""
    try:
        disk.make_folder(folder)
    except OSError as error:
        raise _disk_error(error, folder) from error
    if second is not None:
        _see(second, disk)
        try:
            disk.make_folder(second.folder)
        except OSError as error:
            raise _disk_error(error, second.folder) from error


def save_twice(
    data: Bytes, card: CardObject, folder: str, stem: str, second: SecondPlace | None, disk: Disk
) -> SavedFile:
    """`save` in the folder, and then in the second place where one is given. Raises as `save` does.

    When only the second can't be saved, the first stays, and a later try takes it as it is.
    """
    file = save(data, card, folder, stem, disk)
    if second is None:
        return file
    try:
        _see(second, disk)
        return replace(file, copy_path=save(data, card, second.folder, stem, disk).path)
    except CameraError as error:
        text = f"{PurePath(file.path).name} has no second copy. {error.text}"
        raise error.but(text=text, missing=(card,)) from error


def _see(second: SecondPlace, disk: Disk) -> None:
    """Raises CameraError(DISK) when the disk of second copies isn't there any more."""
    try:
        there = disk.device(second.root) == second.device
    except OSError:
        there = False
    if not there:
        raise CameraError(Fault.DISK, f"The disk for second copies is not at {second.root}; plug it in.")


def save(data: Bytes, card: CardObject, folder: str, stem: str, disk: Disk) -> SavedFile:
    """Save one file of the camera as `folder/stem.EXT`, or `stem-2.EXT` … when another file has that name.

    Raises CameraError: BAD_FILE when it isn't all there, DISK when the disk won't take it. Then nothing is
    left behind, and the card has the file still.
    """
    wrong = flaw(data, card.bytes)
    if wrong:
        raise CameraError(Fault.BAD_FILE, f"{card.name} is not whole: {wrong}.", missing=(card,))
    digest = hashlib.sha256(data).hexdigest()
    kind = kind_of(data)
    name = local_name(stem, card.name, kind)
    try:
        path = _write(data, digest, str(Path(folder).absolute()), name, disk)
    except OSError as error:
        raise _disk_error(error, folder).but(missing=(card,)) from error
    return SavedFile(path=path, kind=kind, bytes=len(data), sha256=digest, card=card)


def _write(data: Bytes, digest: str, folder: str, name: str, disk: Disk) -> str:
    temporary, descriptor = _create_temporary(folder, name, disk)
    try:
        try:
            _write_all(descriptor, data, disk)
            disk.sync(descriptor)
        finally:
            disk.close(descriptor)
        path = _rename_to_free(temporary, folder, name, digest, disk)
    except OSError:
        _try_remove(temporary, disk)
        raise
    disk.sync_folder(folder)
    return path


def _create_temporary(folder: str, name: str, disk: Disk) -> tuple[str, int]:
    for candidate in _names_to_try(name):
        path = f"{folder}/.{candidate}.part"
        try:
            return path, disk.create(path)
        except FileExistsError:  # what a crash left; it may be looked at before it is cleared away
            continue
    raise OSError(errno.EEXIST, os.strerror(errno.EEXIST), name)


def _write_all(descriptor: int, data: Bytes, disk: Disk) -> None:
    rest = memoryview(data)
    while rest:
        rest = rest[disk.write(descriptor, rest) :]


def _rename_to_free(temporary: str, folder: str, name: str, digest: str, disk: Disk) -> str:
    for candidate in _names_to_try(name):
        path = f"{folder}/{candidate}"
        try:
            disk.rename(temporary, path)
        except FileExistsError:
            if not _holds(path, digest, disk):
                continue
            disk.remove(temporary)
        return path
    raise OSError(errno.EEXIST, os.strerror(errno.EEXIST), name)


def _holds(path: str, digest: str, disk: Disk) -> bool:
    try:
        return hashlib.sha256(disk.read(path)).hexdigest() == digest
    except OSError:  # a folder of that name, say
        return False


def _names_to_try(name: str) -> list[str]:
    stem, _, extension = name.rpartition(".")
    return [name, *(f"{stem}-{number}.{extension}" for number in range(2, MOST_NAMESAKES + 1))]


def _try_remove(path: str, disk: Disk) -> None:
    try:
        disk.remove(path)
    except OSError:  # stays as a leftover, and the first error is the one to tell
        return


def _disk_error(error: OSError, folder: str) -> CameraError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return CameraError(Fault.DISK_FULL, f"The disk is full: {folder} takes no more files.")
    if error.errno in (errno.EROFS, errno.EACCES, errno.EPERM):
        why = f"{folder} may not be written to."
    else:
        why = f"{folder} can't be written to: {error.strerror or error}."
    return CameraError(Fault.DISK, why)
