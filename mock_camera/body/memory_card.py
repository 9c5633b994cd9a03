"""The memory card: files in folders named as a camera names them, each with a handle.

Folders are `DCIM/100STILL`, `101STILL`, ... and files `STIL0001.JPG` after the Design rule for
Camera File system (CIPA DC-009): four letters, four digits, the digits running on over deletion,
formatting and restart; the objects of a release share a number. The card is a real folder,
so that files can be compared byte by byte; handles live as long as the process. A second card, in the
folder `second`, is there from the first file that is saved on it, and is never full; so is the body's memory, in the
folder `memory`.
"""

import re
import shutil
import threading
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from tempfile import mkdtemp

from mock_camera.ptp.codes import MEMORY_STORE, SECOND_STORAGE_ID, STORAGE_ID, ObjectFormat
from mock_camera.ptp.datasets import ObjectInfo

FILE_NAME = re.compile(r"STIL(\d{4})\.[A-Z]+")
NUMBERS_IN_FOLDER = 9999
FIRST_FOLDER = 100
MIB = 1024 * 1024
SECOND_FOLDER, MEMORY_FOLDER = "second", "memory"
FORMATS = {".JPG": ObjectFormat.EXIF_JPEG, ".TIF": ObjectFormat.TIFF_EP}


@dataclass(frozen=True)
class StoredObject:
    """A file or folder on the card. `thumb` is a JPEG; pixel sizes are (width, height)."""

    handle: int
    parent: int
    path: Path
    info: ObjectInfo
    thumb: bytes = b""


class CardFullError(Exception):
    """The file doesn't fit on the card."""


class Card:
    """Files with handles in `folder`, at most `capacity_mib` MiB of them. Safe to call from any thread."""

    def __init__(self, folder: Path, capacity_mib: int) -> None:
        self.folder = folder
        self.capacity_bytes = capacity_mib * MIB
        self._objects: dict[int, StoredObject] = {}
        self._folders: dict[Path, StoredObject] = {}
        self._used_bytes: Counter[int] = Counter()
        """By store; kept beside the objects, since a release asks for it several times."""
        self._next_handle = 1
        self._lock = threading.RLock()
        self.last_number = 0
        (folder / "DCIM").mkdir(parents=True, exist_ok=True)
        dcim = self._add(0, folder / "DCIM", ObjectFormat.Association)
        for path in sorted((folder / "DCIM").glob("[1-9][0-9][0-9]STILL")):
            still = self._add(dcim.handle, path, ObjectFormat.Association)
            for file in sorted(path.iterdir()):
                match = FILE_NAME.fullmatch(file.name)
                if match and file.suffix in FORMATS:
                    self._add(still.handle, file, FORMATS[file.suffix])
                    self.last_number = max(self.last_number, self._running_number(path, int(match[1])))
        self._still_folder(self.last_number + 1)

    @staticmethod
    def _running_number(folder: Path, number: int) -> int:
        return (int(folder.name[:3]) - FIRST_FOLDER) * NUMBERS_IN_FOLDER + number

    def take_number(self) -> int:
        """Running number of the next release, from 1; never given twice."""
        with self._lock:
            self.last_number += 1
            return self.last_number

    def save(
        self,
        number: int,
        suffix: str,
        data: bytes,
        *,
        thumb: bytes = b"",
        thumb_size_px: tuple[int, int] = (0, 0),
        image_size_px: tuple[int, int] = (0, 0),
        taken_at: datetime | None = None,
        store: int = STORAGE_ID,
    ) -> StoredObject:
        """Put one file of release `number` on the card, or on the second card.

        thumb_size_px, image_size_px  (width, height) in px
        Raises CardFullError when the file doesn't fit.
        """
        with self._lock:
            if store == STORAGE_ID and len(data) > self.free_bytes():
                raise CardFullError(f"{len(data)} bytes into {self.free_bytes()}")
            parent = self._still_folder(number, store)
            path = parent.path / f"{base_name(number)}{suffix}"
            path.write_bytes(data)
            return self._add(
                parent.handle,
                path,
                FORMATS[suffix],
                thumb=thumb,
                thumb_size_px=thumb_size_px,
                image_size_px=image_size_px,
                taken_at=taken_at,
            )

    def stores(self) -> list[int]:
        """The cards that are in."""
        with self._lock:
            return sorted({item.info.storage_id for item in self._folders.values()} - {MEMORY_STORE})

    def _still_folder(self, number: int, store: int = STORAGE_ID) -> StoredObject:
        name = f"{FIRST_FOLDER + (number - 1) // NUMBERS_IN_FOLDER}STILL"
        path = self._dcim(store).path / name
        if path in self._folders:
            return self._folders[path]
        path.mkdir(parents=True, exist_ok=True)
        return self._add(self._dcim(store).handle, path, ObjectFormat.Association)

    def _dcim(self, store: int) -> StoredObject:
        for item in self._folders.values():
            if item.parent == 0 and item.info.storage_id == store:
                return item
        path = self.folder / (MEMORY_FOLDER if store == MEMORY_STORE else SECOND_FOLDER) / "DCIM"
        path.mkdir(parents=True, exist_ok=True)
        return self._add(0, path, ObjectFormat.Association)

    def _add(
        self,
        parent: int,
        path: Path,
        object_format: ObjectFormat,
        *,
        thumb: bytes = b"",
        thumb_size_px: tuple[int, int] = (0, 0),
        image_size_px: tuple[int, int] = (0, 0),
        taken_at: datetime | None = None,
    ) -> StoredObject:
        folder = object_format == ObjectFormat.Association
        handle, self._next_handle = self._next_handle, self._next_handle + 1
        info = ObjectInfo(
            storage_id=self._store_of(path),
            object_format=object_format,
            size_bytes=0 if folder else path.stat().st_size,
            parent_handle=parent,
            name=path.name,
            taken_at=taken_at or datetime.fromtimestamp(path.stat().st_mtime, UTC),
            thumb_bytes=len(thumb),
            thumb_size_px=thumb_size_px,
            image_size_px=image_size_px,
            image_bit_depth=0 if folder else 24,
        )
        self._objects[handle] = item = StoredObject(handle, parent, path, info, thumb)
        self._used_bytes[info.storage_id] += info.size_bytes
        if folder:
            self._folders[path] = item
        return item

    def _store_of(self, path: Path) -> int:
        if (self.folder / SECOND_FOLDER) in path.parents:
            return SECOND_STORAGE_ID
        return MEMORY_STORE if (self.folder / MEMORY_FOLDER) in path.parents else STORAGE_ID

    def find(self, handle: int) -> StoredObject | None:
        with self._lock:
            return self._objects.get(handle)

    def __iter__(self) -> Iterator[StoredObject]:
        """Every object, oldest handle first, as they are now."""
        with self._lock:
            return iter(list(self._objects.values()))

    def delete(self, handle: int) -> list[int]:
        """Delete a file, or a folder with what it holds; the handles that are gone. DCIM itself stays."""
        with self._lock:
            item = self._objects[handle]
            if item.parent == 0:
                return [gone for child in self._inside(item) for gone in self.delete(child.handle)]
            if item.info.object_format == ObjectFormat.Association:
                shutil.rmtree(item.path)
            else:
                item.path.unlink()
            return self._forget(item)

    def format(self) -> list[int]:
        """Empty the card; the handles that are gone. Numbers go on."""
        with self._lock:
            folders = self._inside(next(item for item in self if item.parent == 0))
            emptied = Path(mkdtemp(prefix=".emptied-", dir=self.folder))
            for folder in folders:
                folder.path.rename(emptied / folder.path.name)
            gone = [gone for folder in folders for gone in self._forget(folder)]
            self._still_folder(self.last_number + 1)
        shutil.rmtree(emptied)  # a busy disk takes longer for thousands of files than a host waits for an answer
        return gone

    def _inside(self, item: StoredObject) -> list[StoredObject]:
        if item.info.object_format != ObjectFormat.Association:
            return []
        return [child for child in self if child.parent == item.handle]

    def _forget(self, item: StoredObject) -> list[int]:
        """Let a file, or a folder with what it holds, be no object any more; the handles that are gone."""
        gone = [gone for child in self._inside(item) for gone in self._forget(child)]
        self._folders.pop(item.path, None)
        del self._objects[item.handle]
        self._used_bytes[item.info.storage_id] -= item.info.size_bytes
        return [*gone, item.handle]

    def used_bytes(self) -> int:
        """Bytes that the files on the first card take."""
        with self._lock:
            return self._used_bytes[STORAGE_ID]

    def free_bytes(self) -> int:
        """Bytes still free on the first card."""
        return max(0, self.capacity_bytes - self.used_bytes())


def base_name(number: int) -> str:
    """File name without suffix of a running number: 1 is STIL0001, 10000 is STIL0001 of the next folder."""
    return f"STIL{(number - 1) % NUMBERS_IN_FOLDER + 1:04d}"
