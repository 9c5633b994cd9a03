"""Compares the files on the disks with the log: each file is hashed again, a missing file is sought by its hash.

The pass can be stopped at any time and goes on where it was: what was found right is noted beside the log with its
size and time, and isn't read again until a pass has come to its end.
"""

from __future__ import annotations

import errno
import hashlib
import io
import json
import os
import time
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from functools import cache
from pathlib import Path

from sqlalchemy import Connection, func, literal, select, union_all, update

from session.cameras.saving import is_leftover
from session.cameras.wholeness import kind_of
from session.frame.ports import LogError
from session.picture.stored_preview import whole_preview
from session.system.own_files import open_own
from session.units.file_kinds import FileKind
from storage.database.log_database import open_for_reading, open_for_writing
from storage.database.reach import within
from storage.database.soundness import damage_of, name_damage
from storage.files.paths import BAG_TXT, previews_folder
from storage.files.set_pictures import LOCK, set_pictures_folder, set_pictures_in
from storage.schema.frame_models import FileCopyTable, FrameFileTable, FrameTable
from storage.schema.models import JobTable, RevisionTable
from storage.schema.station_models import FetchedFrameTable
from storage.writing import event_rows

BLOCK_BYTES = 1 << 20
PREVIEWS_AT_ONCE = 500
"""Keys in one statement: fewer than the parameters that any SQLite takes (999)."""
YOUNG_S = 60
"""Seconds after its last byte in which an unfinished file may be a running bench's. Chosen: one takes less than 1 s."""
FIRST_BYTES = 12
"""Bytes that `kind_of` needs."""
NOT_TO_BE_WRITTEN = frozenset({errno.EACCES, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.ENAMETOOLONG})
"""Why there may be no notes, and a pass that is stopped begins anew."""
NOTES_ENDING = ".verify"
ERRORS = "errors.txt"
"""The file beside the log into which libraries print while a screen is up."""

FETCHED = select(FetchedFrameTable.frame_id)
"""Frames that came from the studio's archive: their files may lie only at the station that took them. Their files in
the log's own folder are looked at, no others, and no folder is walked because such a row names it."""


class Trouble(StrEnum):
    """Kinds of trouble with a file."""

    MISSING = "missing"
    MOVED = "moved"
    TRUNCATED = "truncated"
    CHANGED = "changed"
    UNREADABLE = "unreadable"
    ORPHAN = "orphan"
    PREVIEW = "preview"
    SET_PICTURE = "set picture"
    LEFTOVER = "leftover"
    UNSAVED = "unsaved"
    DAMAGED = "damaged"


@dataclass(frozen=True)
class LoggedFile:
    """A file as the log has it. `second`: it is the second copy; `fetched`: of a frame that another station took."""

    frame_id: str
    number: int
    job: str
    path: str
    bytes: int
    sha256: str
    second: bool
    fetched: bool


@dataclass(frozen=True)
class Found:
    """A fault that was found: in a file, a frame or the log.

    number, job   of the frame, None and "" where there is none
    found_at      where the bytes of a moved file are now, or of which logged file an orphan is a copy
    """

    trouble: Trouble
    path: str
    text: str
    frame_id: str = ""
    number: int | None = None
    job: str = ""
    found_at: str = ""


@dataclass(frozen=True)
class VerifyProgress:
    """Progress of verifying: files done of all, bytes read or passed over of all."""

    files: int
    of_files: int
    bytes: int
    of_bytes: int


class Notes:
    """Files that an unfinished pass has found right: path → size, time, hash. Empty without permission to write.

    Raises LogError when the notes are not this user's own: who may change them could have a changed file pass.
    """

    def __init__(self, log_path: Path) -> None:
        self._path = log_path.with_name(log_path.name + NOTES_ENDING)
        self._right: dict[str, tuple[int, int, str]] = {}
        self._file: io.TextIOWrapper | None = None
        try:
            descriptor = open_own(self._path, os.O_RDWR | os.O_CREAT | os.O_APPEND)
        except OSError as error:
            if error.errno in NOT_TO_BE_WRITTEN:
                return
            raise LogError(f"{self._path} can't be used: {error.strerror}. Delete it, and verify again.") from error
        self._file = os.fdopen(descriptor, "r+", encoding="utf-8")
        with suppress(ValueError, TypeError):  # a line half written ends what can be used
            for line in self._file:
                path, size, time_ns, digest = json.loads(line)
                self._right[path] = (size, time_ns, digest)

    def has(self, path: str, status: os.stat_result, digest: str) -> bool:
        """Whether a file was found right before, and nothing has touched it since."""
        return self._right.get(path) == (status.st_size, status.st_mtime_ns, digest)

    def add(self, path: str, status: os.stat_result, digest: str) -> None:
        """Note that a file is right."""
        if self._file is not None:
            with suppress(OSError):
                self._file.write(json.dumps([path, status.st_size, status.st_mtime_ns, digest]) + "\n")
                self._file.flush()

    def end(self) -> None:
        """Forget the notes, since the pass is done: the next pass begins anew."""
        if self._file is not None:
            with suppress(OSError):
                self._path.unlink()

    def close(self) -> None:
        """Leave the notes as they are, for the next run to go on from."""
        if self._file is not None:
            with suppress(OSError):
                self._file.close()


def verify(
    log_path: Path, folders: Iterable[Path] = (), tell: Callable[[VerifyProgress], None] = lambda progress: None
) -> Iterator[Found]:
    """The troubles found: file by file in the log's order, then files that belong to no frame.

    folders   looked through for files that aren't where the log says, and for such as no frame has; besides those
              that the log's files are in, and that of the stored previews
    tell      hears of the progress after each file
    Raises LogError when the log can't be read.
    """
    damaged = [Found(Trouble.DAMAGED, str(log_path), f"the log: {one.name_damage}.") for one in damage_of(log_path)]
    yield from damaged
    previews, hidden = _look_through(
        previews_folder(log_path)
    )  # before the log is read: what they are of is in it by then
    sets, hidden_sets = _look_through(set_pictures_folder(log_path))
    with name_damage(log_path), closing(open_for_reading(log_path)) as database, database.transaction() as connection:
        logged = list(_files(connection, log_path.absolute().parent))
        unsaved = list(_unsaved_frames(connection))
        frames = _frames_of(connection, previews)
        revisions = set(connection.scalars(select(RevisionTable.revision_id)))
    yield from unsaved
    yield from (*hidden, *hidden_sets)
    yield from _wrong_previews(previews, frames)
    yield from _wrong_set_pictures(sets, revisions)
    with closing(Notes(log_path)) as notes:
        of_bytes, done_bytes = sum(file.bytes for file in logged), 0
        missing: list[LoggedFile] = []
        for place, file in enumerate(logged):
            found = _check_file(file, notes)
            if found is not None and found.trouble is Trouble.MISSING:
                missing += [] if file.fetched else [file]
            elif found is not None:
                yield found
            done_bytes += file.bytes
            tell(VerifyProgress(place + 1, len(logged), done_bytes, of_bytes))
        strangers = _strangers({file.path for file in logged}, _places(logged, folders), log_path)
        yield from (_with_preview(found, log_path) for found in _elsewhere(logged, missing, strangers))
        notes.end()


def must_be_free(log_path: Path) -> None:
    """Raise LogError when the log can't be written now, as while another stillset has it open."""
    if log_path.exists():
        open_for_writing(log_path).close()


def relink(log_path: Path, moved: Iterable[Found], now: datetime) -> int:
    """Have the log name the place where each moved file is now; how many were. Raises LogError."""
    database = open_for_writing(log_path)
    try:
        with database.transaction() as connection:
            return sum(_relink(connection, found, now) for found in moved if found.trouble is Trouble.MOVED)
    finally:
        database.close()


def _relink(connection: Connection, found: Found, now: datetime) -> int:
    count = 0
    for table in (FrameFileTable, FileCopyTable):
        of_file = (table.frame_id == found.frame_id, table.path == found.path)
        count += connection.execute(update(table).where(*of_file).values(path=found.found_at)).rowcount
    said = f"frame {found.number}: {Path(found.path).name} is at {found.found_at} now"
    event_rows.record(connection, now, "file moved", said, found.frame_id, {"old": found.path, "new": found.found_at})
    return count


def _files(connection: Connection, folder: Path) -> Iterator[LoggedFile]:
    """The files that the log names; of fetched frames, only files in this folder."""
    first = select(
        FrameFileTable.frame_id,
        FrameFileTable.path,
        FrameFileTable.bytes,
        FrameFileTable.sha256,
        literal(0).label("second"),
    )
    size = select(func.max(FrameFileTable.bytes)).where(
        FrameFileTable.frame_id == FileCopyTable.frame_id, FrameFileTable.sha256 == FileCopyTable.sha256
    )
    second = select(
        FileCopyTable.frame_id,
        FileCopyTable.path,
        size.scalar_subquery().label("bytes"),
        FileCopyTable.sha256,
        literal(1).label("second"),
    )
    both = union_all(first, second).subquery()
    fetched = FrameTable.frame_id.in_(FETCHED).label("fetched")
    query = select(both, FrameTable.number, JobTable.name.label("job"), fetched).join(
        FrameTable, FrameTable.frame_id == both.c.frame_id
    )
    query = query.join(JobTable, JobTable.job_id == FrameTable.job_id).order_by(
        both.c.second, JobTable.job_id, FrameTable.number, both.c.path
    )
    for row in connection.execute(query):
        if not isinstance(row.bytes, int):  # a damaged row, which is told as such
            continue
        told = (row.frame_id, row.number, row.job, row.path, row.bytes, row.sha256)
        if not row.fetched or within(row.path, folder):
            yield LoggedFile(*told, bool(row.second), bool(row.fetched))


def _unsaved_frames(connection: Connection) -> Iterator[Found]:
    """Frames that fired, or may have, and of which something is not on the disk by the log's own word."""
    states = ("releasing", "uncertain", "receiving", "missing")
    query = select(FrameTable.frame_id, FrameTable.number, FrameTable.state, FrameTable.state_text, JobTable.name).join(
        JobTable
    )
    query = query.where(FrameTable.state.in_(states), FrameTable.frame_id.not_in(FETCHED))
    for row in connection.execute(query.order_by(JobTable.job_id, FrameTable.number)):
        said = row.state_text or f"Frame {row.number} is {row.state}."
        yield Found(Trouble.UNSAVED, "", said, row.frame_id, row.number, row.name)


def _check_file(file: LoggedFile, notes: Notes) -> Found | None:
    try:
        status = Path(file.path).stat()
        if status.st_size != file.bytes:
            short = status.st_size < file.bytes
            sizes = f"{status.st_size} of {file.bytes} bytes"
            return _wrong(file, Trouble.TRUNCATED if short else Trouble.CHANGED, f"is not as it was saved: {sizes}.")
        if notes.has(file.path, status, file.sha256):
            return None
        if digest_of(Path(file.path)) != file.sha256:
            return _wrong(file, Trouble.CHANGED, "is not as it was saved: its size is right, its content is not.")
    except (FileNotFoundError, NotADirectoryError):
        return _wrong(file, Trouble.MISSING, "is nowhere.")
    except OSError as error:
        return _wrong(file, Trouble.UNREADABLE, f"can't be read: {error.strerror or error}.")
    notes.add(file.path, status, file.sha256)
    return None


def _wrong(file: LoggedFile, trouble: Trouble, what: str, found_at: str = "") -> Found:
    text = f"Frame {file.number}: {'the second copy ' if file.second else ''}{file.path} {what}"
    return Found(trouble, file.path, text, file.frame_id, file.number, file.job, found_at)


def _places(logged: list[LoggedFile], folders: Iterable[Path]) -> list[Path]:
    """Folders to look through, none inside another."""
    wanted = {Path(file.path).parent for file in logged if not file.fetched} | {folder.absolute() for folder in folders}
    return [place for place in sorted(wanted) if not any(other in wanted for other in place.parents)]


def _strangers(named: set[str], places: list[Path], log_path: Path) -> list[Path]:
    """Files in these places that the log doesn't name; the log itself and files named after it are left out."""
    log = log_path.absolute()
    found = [path for place in places for path in _below(place) if str(path) not in named]
    own = (previews_folder(log), set_pictures_folder(log))
    others = (path for path in found if not any(path.is_relative_to(folder) for folder in own))
    return [path for path in others if path.parent != log.parent or not path.name.startswith((log.name, ERRORS))]


def _look_through(folder: Path) -> tuple[list[Path], list[Found]]:
    """What is in a folder, in order; and the trouble where it is there and can't be looked through."""
    try:
        return sorted(folder.iterdir()), []
    except FileNotFoundError:
        return [], []
    except OSError as error:
        text = f"{folder} can't be looked through: {error.strerror or error}."
        return [], [Found(Trouble.UNREADABLE, str(folder), text)]


def _frames_of(connection: Connection, previews: list[Path]) -> dict[str, tuple[int, str]]:
    """Frame's key → number and job, of the frames that these are named after."""
    found: dict[str, tuple[int, str]] = {}
    for start in range(0, len(previews), PREVIEWS_AT_ONCE):
        some = [path.stem for path in previews[start : start + PREVIEWS_AT_ONCE]]
        query = select(FrameTable.frame_id, FrameTable.number, JobTable.name).join(JobTable)
        rows = connection.execute(query.where(FrameTable.frame_id.in_(some)))
        found |= {row.frame_id: (row.number, row.name) for row in rows}
    return found


def _wrong_previews(previews: list[Path], frames: Mapping[str, tuple[int, str]]) -> Iterator[Found]:
    """Stored previews that aren't whole, or are of no frame, and what a crash left of one."""
    for path in previews:
        if is_leftover(path.name):
            yield from _left_by_a_crash(path, "a preview")
        elif path.stem not in frames:
            yield Found(Trouble.PREVIEW, str(path), f"{path} is no preview of a frame of this log.")
        elif whole_preview(path.parent, path.stem) is None and os.path.lexists(path):
            number, job = frames[path.stem]
            text = f"Frame {number}: its stored preview {path} isn't whole, and isn't used; it may be deleted."
            yield Found(Trouble.PREVIEW, str(path), text, path.stem, number, job)


def _wrong_set_pictures(sets: list[Path], revisions: Collection[str]) -> Iterator[Found]:
    """Pictures of a set that aren't as they were stored, or are of no set-up, and what a crash left of one."""
    for of_revision in sets:
        if of_revision.name == LOCK:
            continue
        if of_revision.name not in revisions:
            text = f"{of_revision} holds no pictures of a set-up of this log."
            yield Found(Trouble.SET_PICTURE, str(of_revision), text)
            continue
        paths, hidden = _look_through(of_revision)
        yield from hidden
        for path in paths:
            if is_leftover(path.name):
                yield from _left_by_a_crash(path, "a picture of the set")
        for one in set_pictures_in(of_revision):
            if not one.whole:
                yield Found(Trouble.SET_PICTURE, str(one.path), f"{one.path} is not as it was stored.")


def _left_by_a_crash(path: Path, of: str) -> Iterator[Found]:
    """The trouble with a file that was never finished, unless it is being written now."""
    with suppress(OSError):  # it is whole meanwhile, and has its name
        if abs(time.time() - path.lstat().st_mtime) >= YOUNG_S:
            yield Found(Trouble.LEFTOVER, str(path), f"{path} is what a crash left of {of}; it may be deleted.")


def _with_preview(found: Found, log_path: Path) -> Found:
    """The trouble with a missing file, with a word on the preview that stands in for it."""
    if found.trouble is not Trouble.MISSING or whole_preview(previews_folder(log_path), found.frame_id) is None:
        return found
    return replace(found, text=f"{found.text} Its stored preview is there.")


def _elsewhere(logged: list[LoggedFile], missing: list[LoggedFile], strangers: list[Path]) -> Iterator[Found]:
    """Troubles of files that the log doesn't name: moved (by the hash), leftovers, orphans; then of missing files.

    What was handed over in a bag is no orphan; a logged file that is nowhere else is found there.
    """
    in_a_bag = cache(_in_a_bag)
    by_hash: dict[tuple[int, str], list[LoggedFile]] = defaultdict(list)
    for file in missing:
        by_hash[file.bytes, file.sha256].append(file)
    sizes, twins = {file.bytes for file in logged}, {file.sha256: file for file in logged}
    endings = {Path(file.path).suffix.casefold() for file in logged} - {""}
    for path in strangers:
        try:
            size = path.stat().st_size
            digest = digest_of(path) if size in sizes else ""
            pictured = digest in twins or path.suffix.casefold() in endings or _is_picture(path)
        except OSError as error:
            yield Found(Trouble.UNREADABLE, str(path), f"{path} can't be read: {error.strerror or error}.")
            continue
        wanted = by_hash.get((size, digest))
        if wanted:
            yield _wrong(wanted.pop(0), Trouble.MOVED, f"is at {path} now.", str(path))
        elif is_leftover(path.name):
            yield Found(Trouble.LEFTOVER, str(path), f"{path} is what a crash left of a transfer; it may be deleted.")
        elif pictured and not in_a_bag(path.parent):
            twin = twins.get(digest)
            same = f", the same as {twin.path} of frame {twin.number}" if twin else ""
            said = f"{path} belongs to no frame{same}."
            yield Found(Trouble.ORPHAN, str(path), said, found_at=twin.path if twin else "")
    for left in by_hash.values():
        yield from (_wrong(file, Trouble.MISSING, "is nowhere.") for file in left)


def _in_a_bag(folder: Path) -> bool:
    """Whether the folder lies in a bag, as a hand-over is one."""
    return any((one / BAG_TXT).is_file() for one in (folder, *folder.parents))


def _is_picture(path: Path) -> bool:
    """Whether a file's first bytes are those of a picture; only pictures count as orphans."""
    with path.open("rb") as file:
        return kind_of(file.read(FIRST_BYTES)) is not FileKind.OTHER


def _below(place: Path) -> Iterator[Path]:
    """Every file in and under the folder, in order; links are not followed."""
    for folder, names, files in os.walk(place):
        names.sort()
        yield from (Path(folder) / name for name in sorted(files))


def digest_of(path: Path) -> str:
    """SHA-256 of the file, in hexadecimal. Raises OSError."""
    hashed = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            hashed.update(block)
    return hashed.hexdigest()
