"""A log of finished frames whose files are there, told apart by their hashes alone."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path

from session.frame.camera_messages import SavedFile
from session.frame.ports import Place
from session.frame.states import FrameEvent
from storage.database.log_database import open_for_writing
from storage.writing import frames
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, card_object, intent, revision


def content(frame: int, file: int) -> bytes:
    """Of one size all, so that only the hash tells them apart."""
    return b"frame %04d file %04d " % (frame, file) * 20


def fill(path: Path, folder: Path, frame_count: int, files_each: int, copies: Path | None = None) -> list[Path]:
    """A log with that many finished frames and their files; the files' paths in order."""
    log = SqlLog.open(path)
    place: Place = log.open_place("Movement", "Bridge", "top")
    revision_id = log.save_revision(place, revision())
    log.close()
    folder.mkdir(exist_ok=True)
    database, made = open_for_writing(path), []
    with database.transaction() as connection:
        for number in range(1, frame_count + 1):
            wish = intent(number, revision_id, folder=str(folder))
            frames.begin(connection, wish, place, NOON)
            for position in range(files_each):
                data = content(number, position)
                file = folder / f"{number:04d}-{position:03d}.JPG"
                file.write_bytes(data)
                made.append(file)
                on_card = card_object(number, f"{position:03d}", len(data))
                saved = SavedFile(str(file), "jpeg", len(data), hashlib.sha256(data).hexdigest(), on_card)
                if copies is not None:
                    (copies / file.name).write_bytes(data)
                    saved = replace(saved, copy_path=str(copies / file.name))
                frames.add_file(connection, wish.frame_id, saved, NOON)
            for event in (FrameEvent.FIRED, FrameEvent.ALL_SAVED, FrameEvent.JUDGED):
                frames.move(connection, wish.frame_id, event, NOON)
    database.close()
    return made
