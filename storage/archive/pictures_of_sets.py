"""Pictures of the set on their way to the archive and back, each by its set-up's revision and the hash of its bytes.

Whoever may write to the archive may have put anything there: stored here is only a JPEG as stillset writes one, for a
revision that came out of the archive and that no frame of this station was shot with.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

from PIL import Image
from sqlalchemy import Connection, func, insert, select

from session.frame.ports import LogError
from session.picture.jpeg import BASELINE, read_header
from session.picture.set_picture import LONGEST_PX
from storage.archive.archive_schema import SetPictureSent
from storage.archive.rows import batches
from storage.files.set_pictures import MOST, attach_set_picture, set_pictures_folder, stored_set_pictures
from storage.schema.frame_models import FrameTable
from storage.schema.models import JobTable, RevisionTable, SetupTable
from storage.schema.station_models import FetchedFrameTable

MOST_SENT_BYTES = 6_000_000
"""Of one picture. Noise of 2048 × 2048 px at the stored quality comes to 3.2 MB. Measured, with room."""

_REVISION_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
"""A UUID as the log has it (RFC 9562, 4); anything else is no key to the server, which would refuse it."""

Key = tuple[str, str]
"""A revision, and the hash of a picture's bytes (64 hexadecimal digits)."""


def whole_set_pictures(log: Path) -> Iterator[tuple[Key, bytes]]:
    """The pictures beside a log that are as they were stored, one at a time; folders of other names are left alone.

    Raises LogError without permission.
    """
    folder = set_pictures_folder(log)
    try:
        names = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
    except OSError as error:
        raise LogError(f"{folder} can't be read: {error.strerror}.") from error
    for revision_id in filter(_REVISION_ID.fullmatch, names):
        for one in stored_set_pictures(log, revision_id):
            try:
                jpeg = one.path.read_bytes() if one.whole else b""
            except OSError:  # removed meanwhile
                continue
            if jpeg:
                yield (revision_id, hashlib.sha256(jpeg).hexdigest()), jpeg


def put_set_picture(there: Connection, key: Key, jpeg: bytes, told: list[str]) -> bool:
    """Put a picture into the archive, in the caller's transaction; False if the picture is there or its set-up isn't.

    told  gets a sentence for a set-up that has as many there as may be, once
    """
    revision_id, sha256 = key
    known = select(func.count()).where(SetPictureSent.revision_id == revision_id)
    of_revision = select(func.count()).where(RevisionTable.revision_id == revision_id)
    same = there.scalar(known.where(SetPictureSent.sha256 == sha256))
    if same or not there.scalar(of_revision) or not is_set_picture(jpeg):
        return False
    if (there.scalar(known) or 0) >= MOST:
        full = _full_words(there, revision_id)
        told += [] if full in told else [full]
        return False
    there.execute(insert(SetPictureSent).values(revision_id=revision_id, sha256=sha256, jpeg=jpeg))
    return True


def _full_words(there: Connection, revision_id: str) -> str:
    query = select(JobTable.name, SetupTable.number, RevisionTable.number).select_from(RevisionTable)
    query = query.join(SetupTable, SetupTable.setup_id == RevisionTable.setup_id)
    query = query.join(JobTable, JobTable.job_id == SetupTable.job_id)
    job, setup, revision = there.execute(query.where(RevisionTable.revision_id == revision_id)).one()
    return (
        f"The archive has {MOST} pictures of set-up {setup:02d}.{revision} of {job}, among them those that were deleted"
        " here since, and takes no more of it: newer ones weren't sent."
    )


def fetch_set_pictures(there: Connection, here: Connection, log: Path, job_ids: Iterable[str], told: list[str]) -> int:
    """Store the archive's pictures for fetched revisions of these jobs beside the log; returns how many are new.

    told  gets a sentence for each that was left out
    Raises LogError without room or permission.
    """
    query = select(SetPictureSent.revision_id, SetPictureSent.sha256, func.length(SetPictureSent.jpeg))
    query = query.join(RevisionTable, RevisionTable.revision_id == SetPictureSent.revision_id).join(SetupTable)
    found = there.execute(query.where(SetupTable.job_id.in_(list(job_ids))).order_by(SetPictureSent.sha256)).all()
    ours = fetched_revisions(here, sorted({row[0] for row in found}))
    new = 0
    for revision_id, sha256, length in found:
        if revision_id not in ours:
            continue
        stored = stored_set_pictures(log, revision_id)
        if any(one.whole and sha256.startswith(one.digest) for one in stored):
            continue
        if len(stored) >= MOST:
            told.append(f"A picture of the set of set-up {ours[revision_id]} was left out: there are {MOST} already.")
            continue
        this = (SetPictureSent.revision_id == revision_id, SetPictureSent.sha256 == sha256)
        jpeg = there.scalar(select(SetPictureSent.jpeg).where(*this)) if length <= MOST_SENT_BYTES else None
        if not jpeg or hashlib.sha256(jpeg).hexdigest() != sha256 or not is_set_picture(jpeg):
            told.append(f"A picture of the set of set-up {ours[revision_id]} was left out: it is none as it is stored.")
            continue
        attach_set_picture(log, revision_id, jpeg)
        new += 1
    return new


def fetched_revisions(here: Connection, revision_ids: list[str]) -> dict[str, str]:
    """Revision → its label, of the revisions with fetched frames and without frames of this station."""
    found: dict[str, str] = {}
    for batch in batches(revision_ids):
        query = select(RevisionTable.revision_id, SetupTable.number, RevisionTable.number).join(SetupTable)
        query = query.join(FrameTable, FrameTable.revision_id == RevisionTable.revision_id)
        query = query.outerjoin(FetchedFrameTable, FetchedFrameTable.frame_id == FrameTable.frame_id)
        query = query.where(RevisionTable.revision_id.in_(batch)).group_by(RevisionTable.revision_id)
        query = query.having(func.count(FrameTable.frame_id) == func.count(FetchedFrameTable.frame_id))
        found |= {key: f"{setup:02d}.{revision}" for key, setup, revision in here.execute(query)}
    return found


def is_set_picture(jpeg: bytes) -> bool:
    """Whether bytes are a JPEG as a picture of the set is stored: sequential, not larger, and read to its end."""
    if len(jpeg) > MOST_SENT_BYTES:
        return False
    try:
        header = read_header(jpeg)
        if header.frame_marker != BASELINE or max(header.width_px, header.height_px) > LONGEST_PX:
            return False
        with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
            if image.size != (header.width_px, header.height_px) or image.info.get("exif"):
                return False
            image.load()
    except (
        ValueError,
        OSError,
        SyntaxError,
        Image.DecompressionBombError,
    ):  # Pillow's for files that aren't what they begin as
        return False
    return True
