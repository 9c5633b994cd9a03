"""Tables of frames: what is done moves no more, save the path of a file."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from session.frame.ports import Place
from session.frame.states import FrameState
from storage.schema.frame_models import FINAL
from storage.writing.log import SqlLog
from tests.support.log_samples import intent, revision


def test_moved_file_may_get_its_new_path(raw: sqlite3.Connection) -> None:
    assert raw.execute("UPDATE frame_file SET path = '/elsewhere/0001.JPG'").rowcount == 1


@pytest.mark.parametrize("state", [s for s in FrameState if s in FINAL])
def test_frame_that_is_done_moves_no_more(log: SqlLog, place: Place, path: Path, state: FrameState) -> None:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    connection = sqlite3.connect(path)
    connection.execute("UPDATE frame SET state = ?", (state,))
    with pytest.raises(sqlite3.IntegrityError, match="moves no more"):
        connection.execute("UPDATE frame SET state = 'receiving'")
    connection.close()
