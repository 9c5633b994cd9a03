"""A disk that records what is done to it, and forgets after a power cut what was not made durable.

The model: bytes of a file are durable once the file was fsynced, names in a folder once the folder was. What is not
durable may be there, or not, or in part, whatever the order in which it was done. SQLite's files are not in it: a
commit with synchronous=FULL is taken as durable, and as wholly done or not at all (https://www.sqlite.org/atomiccommit.html).
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from random import Random

from session.cameras.saving import SystemDisk
from session.cameras.wholeness import Bytes

PIECE_BYTES = 700
"""So few are taken at one write, that a file takes several."""


class Loss(StrEnum):
    """What a stop does to what is not durable."""

    NONE = "kept"  # the process was killed, the computer runs on
    ALL = "lost"
    TORN = "torn"  # names are there, of the bytes the first half
    ZEROES = "zeroes"  # names and lengths are there, bytes are not
    OLD_NAMES = "all but the last name"
    LAST_NAME = "only the last name"
    RANDOM = "random"


@dataclass(frozen=True)
class Operation:
    """One thing done to the disk. `file` numbers files, so that a second name is no second file."""

    kind: str
    path: str = ""
    file: int = 0
    data: bytes = b""

    def __str__(self) -> str:
        return f"{self.kind} {Path(self.path).name}".strip()


@dataclass
class Image:
    """What is on the disk: folders, names and what they hold."""

    folders: set[str] = field(default_factory=set)
    files: dict[str, bytes] = field(default_factory=dict)

    def lay_out(self) -> None:
        """Put it on the real disk."""
        for folder in sorted(self.folders):
            Path(folder).mkdir(parents=True, exist_ok=True)
        for path, data in self.files.items():
            Path(path).write_bytes(data)


class RecordedDisk(SystemDisk):
    """The real disk, each operation of it written down; `after` is told of every one."""

    def __init__(self, start: Image, before: list[Operation], after: Callable[[str], None]) -> None:
        """`before`: what an earlier run, that was only killed, has done to `start`; not all of it is durable."""
        super().__init__()
        self.start = start
        self.operations = list(before)
        self._after = after
        self._open: dict[int, int] = {}
        self._numbers = {path: number for number, path in enumerate(start.files)}
        for one in before:
            if one.kind in ("create", "link"):
                self._numbers[one.path] = one.file
            elif one.kind == "unlink":
                del self._numbers[one.path]
        self._made = 1 + max((*self._numbers.values(), *(one.file for one in before)), default=0)

    def _did(self, operation: Operation) -> None:
        self.operations.append(operation)
        self._after(str(operation))

    def make_one_folder(self, path: str) -> None:
        super().make_one_folder(path)
        self._did(Operation("mkdir", path))

    def create(self, path: str) -> int:
        descriptor = super().create(path)
        self._numbers[path] = self._open[descriptor] = self._made
        self._made += 1
        self._did(Operation("create", path, self._numbers[path]))
        return descriptor

    def write(self, descriptor: int, data: Bytes) -> int:
        piece = bytes(data[:PIECE_BYTES])
        written = os.write(descriptor, piece)
        self._did(Operation("write", file=self._open[descriptor], data=piece[:written]))
        return written

    def sync(self, descriptor: int) -> None:
        self._did(Operation("fsync", file=self._open[descriptor]))

    def close(self, descriptor: int) -> None:
        super().close(descriptor)
        del self._open[descriptor]
        self._after("close")

    def rename(self, source: str, target: str) -> None:
        """As `rename_by_link` does it, with a step between."""
        Path(target).hardlink_to(source)
        self._numbers[target] = self._numbers[source]
        self._did(Operation("link", target, self._numbers[source]))
        self.remove(source)

    def remove(self, path: str) -> None:
        super().remove(path)
        self._did(Operation("unlink", path, self._numbers.pop(path)))

    def sync_folder(self, path: str) -> None:
        self._did(Operation("fsync folder", path))

    def read(self, path: str) -> bytes:
        data = super().read(path)
        self._after(f"read {Path(path).name}")
        return data


NAMING = frozenset({"mkdir", "create", "link", "unlink"})


def surviving(start: Image, operations: list[Operation], loss: Loss, chance: Random | None = None) -> Image:
    """What is on the disk at the next start, after these operations and a stop with this loss."""
    names = [place for place, one in enumerate(operations) if one.kind in NAMING]
    unsure = [place for place in names if not _name_is_durable(operations, place)]
    losses: dict[Loss, Callable[[], set[int]]] = {
        Loss.ALL: set,
        Loss.OLD_NAMES: lambda: set(unsure[:-1]),
        Loss.LAST_NAME: lambda: set(unsure[-1:]),
        Loss.RANDOM: lambda: {place for place in unsure if _of(chance).random() < 0.5},
    }
    kept = losses.get(loss, lambda: set(unsure))()
    contents = {number: data for number, data in enumerate(start.files.values())}
    durable = {number: len(data) for number, data in contents.items()}
    folders, held = set(start.folders), dict(zip(start.files, contents, strict=True))
    for place, one in enumerate(operations):
        if one.kind == "write":
            contents[one.file] = contents.get(one.file, b"") + one.data
        elif one.kind == "fsync":
            durable[one.file] = len(contents.get(one.file, b""))
        elif place in names and (place not in unsure or place in kept):
            _name(one, folders, held)
    for number, data in contents.items():
        contents[number] = _bytes_left(data, durable.get(number, 0), loss, chance)
    there = {path: contents.get(number, b"") for path, number in held.items() if str(Path(path).parent) in folders}
    return Image(folders, there)


def _name(one: Operation, folders: set[str], held: dict[str, int]) -> None:
    if one.kind == "mkdir":
        folders.add(one.path)
    elif one.kind == "unlink":
        held.pop(one.path, None)
    else:
        held[one.path] = one.file


def _name_is_durable(operations: list[Operation], place: int) -> bool:
    folder = str(Path(operations[place].path).parent)
    return any(later.kind == "fsync folder" and later.path == folder for later in operations[place:])


def _bytes_left(data: bytes, durable: int, loss: Loss, chance: Random | None) -> bytes:
    sure, rest = data[:durable], data[durable:]
    match loss:
        case Loss.NONE:
            return data
        case Loss.ALL:
            return sure
        case Loss.ZEROES:
            return sure + bytes(len(rest))
        case Loss.RANDOM:
            left = _of(chance).randrange(len(rest) + 1)
            return sure + (rest[:left] if _of(chance).random() < 0.5 else bytes(left))
        case _:
            return sure + rest[: len(rest) // 2]


def _of(chance: Random | None) -> Random:
    assert chance is not None
    return chance
