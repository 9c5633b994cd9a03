"""Frames of which reading log, disk and card could not tell whether they fired, or which files are theirs: by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from session.cameras.wholeness import flaw, kind_of
from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.card import base_name
from session.frame.frame_facts import AboutFrame, FrameFacts
from session.frame.ports import LogError
from session.frame.states import TRANSITIONS, FrameEvent, FrameState
from session.units.file_kinds import FileKind
from storage.schema import frame_models
from storage.schema.frame_models import FOUND_BEFORE, FrameFileTable, FrameTable, facts_of
from storage.schema.models import EventTable, JobTable
from storage.writing import cards, event_rows, frames

HEAD_BYTES = 16
"""Enough to tell a picture's kind by."""

OPEN = (FrameState.UNCERTAIN, FrameState.MISSING)


@dataclass(frozen=True)
class OpenFrame(AboutFrame):
    """A frame that a person has to settle.

    candidates  files that came on its camera's card since it was asked for and are nobody's
    on_disk     pictures in its folder that are no frame's
    beside      number and picture of the frame before and after it, to compare with
    """

    facts: FrameFacts
    job: str
    asked_at: datetime
    candidates: tuple[CardObject, ...]
    on_disk: tuple[Path, ...] = ()
    beside: tuple[tuple[int, Path], ...] = ()


def still_open(connection: Connection) -> tuple[OpenFrame, ...]:
    """Frames without a file that were sought in vain and that nobody has settled, by job and number."""
    query = (
        select(FrameTable, JobTable.name)
        .join(JobTable)
        .where(FrameTable.state.in_(OPEN), FrameTable.sought_at.is_not(None))
    )
    query = query.where(
        FrameTable.frame_id.not_in(select(EventTable.frame_id).where(EventTable.kind == event_rows.SETTLED))
    )
    query = query.where(FrameTable.frame_id.not_in(select(FrameFileTable.frame_id))).order_by(
        JobTable.name, FrameTable.number
    )
    return tuple(
        OpenFrame(
            facts_of(row),
            row.name,
            row.asked_at,
            _candidates(connection, row.camera_id, row.asked_at),
            _nobodys(connection, Path(row.folder)),
            _beside(connection, row.job_id, row.number),
        )
        for row in connection.execute(query).all()
    )


def _candidates(connection: Connection, camera_id: str, since: datetime) -> tuple[CardObject, ...]:
    table = frame_models.CardObjectTable
    query = select(table.folder, table.name, table.bytes, table.modified_at_s)
    query = query.where(table.camera_id == camera_id, table.disposition == FOUND_BEFORE, table.noted_at >= since)
    return tuple(CardObject(*row) for row in connection.execute(query.order_by(table.folder, table.name)))


def _nobodys(connection: Connection, folder: Path) -> tuple[Path, ...]:
    """Pictures in the folder that the log names for no frame, by name."""
    with suppress(OSError):
        known = {Path(path).name for path in connection.scalars(_paths_in(folder))}
        there = sorted(path for path in folder.iterdir() if path.name not in known and not path.name.startswith("."))
        return tuple(path for path in there if path.is_file() and not path.is_symlink() and _is_picture(path))
    return ()


def _is_picture(path: Path) -> bool:
    with suppress(OSError), path.open("rb") as file:
        return kind_of(file.read(HEAD_BYTES)) is not FileKind.OTHER
    return False


def _paths_in(folder: Path) -> Any:
    return select(FrameFileTable.path).where(FrameFileTable.path.startswith(f"{folder}/", autoescape=True))


def _beside(connection: Connection, job_id: str, number: int) -> tuple[tuple[int, Path], ...]:
    """Number and JPEG of the frames of the job before and after this number, as far as they have a JPEG."""
    files = select(FrameTable.number, FrameFileTable.path).join(
        FrameFileTable, FrameFileTable.frame_id == FrameTable.frame_id
    )
    files = files.where(FrameTable.job_id == job_id, FrameFileTable.kind == FileKind.JPEG).limit(1)
    before = connection.execute(files.where(FrameTable.number < number).order_by(FrameTable.number.desc())).all()
    after = connection.execute(files.where(FrameTable.number > number).order_by(FrameTable.number)).all()
    return tuple((row.number, Path(row.path)) for row in (*before, *after))


def none_of_these(connection: Connection, frame: OpenFrame, at: datetime) -> None:
    """Note a person's word that no file on card or disk is the frame's: the frame is looked for no more."""
    did_not_fire = (frame.state, FrameEvent.NOT_FOUND) in TRANSITIONS
    event = FrameEvent.NOT_FOUND if did_not_fire else FrameEvent.NOT_WHOLE
    what = "did not fire, or its file is lost" if did_not_fire else "fired, and its file is lost"
    said = f"Frame {frame.number} {what}: none of the files is its own, settled by hand."
    frames.move(connection, frame.frame_id, event, at, said)
    event_rows.record(connection, at, event_rows.SETTLED, said, frame.frame_id)


def not_fired(connection: Connection, frame: OpenFrame, at: datetime) -> None:
    """Note a person's word that the shutter did not go. Raises LogError when the log knows that the shutter went."""
    if (frame.state, FrameEvent.NOT_FOUND) not in TRANSITIONS:
        raise LogError(f"Frame {frame.number} is {frame.state}: its shutter went.", Fired.YES)
    said = f"Frame {frame.number} did not fire: settled by hand."
    frames.move(connection, frame.frame_id, FrameEvent.NOT_FOUND, at, said)


def on_the_card(connection: Connection, frame: OpenFrame, name: str, at: datetime) -> Sequence[CardObject]:
    """Note that a candidate and all candidates of its base name are the frame's. Returns them.

    They are fetched when the camera is connected. Raises LogError when `name` is no candidate.
    """
    bases = {base_name(one) for one in frame.candidates if name in (one.name, f"{one.folder}/{one.name}")}
    if len(bases) != 1:
        raise LogError(f"{name} is no file that could be frame {frame.number}'s.", Fired.UNKNOWN)
    objects = [one for one in frame.candidates if base_name(one) in bases]
    cards.announce(connection, objects, frame.frame_id, at)
    return objects


def on_the_disk(connection: Connection, frame: OpenFrame, path: Path, at: datetime) -> None:
    """Note a person's word that a file is the frame's. Raises LogError for a broken file, or another frame's."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise LogError(f"{path} can't be read: {error.strerror or error}.", Fired.UNKNOWN) from error
    wrong = flaw(data, 0)
    if wrong:
        raise LogError(f"{path} is not whole: {wrong}.", Fired.UNKNOWN)
    digest = hashlib.sha256(data).hexdigest()
    owner = connection.scalar(
        select(FrameTable.number)
        .join(FrameFileTable, FrameFileTable.frame_id == FrameTable.frame_id)
        .where(FrameFileTable.sha256 == digest)
    )
    if owner is not None:
        raise LogError(f"{path} is a file of frame {owner}.", Fired.UNKNOWN)
    card = CardObject("", path.name, len(data))
    file = SavedFile(str(path.absolute()), kind_of(data), len(data), digest, card)
    frames.move(connection, frame.frame_id, FrameEvent.FOUND, at)
    frames.add_file(connection, frame.frame_id, file, at)
    said = f"Frame {frame.number}: {path.name} is its file, by hand."
    frames.move(connection, frame.frame_id, FrameEvent.ALL_SAVED, at, said)
