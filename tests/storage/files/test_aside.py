"""What the log can never take is told apart from what it can't take now, and is kept beside it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.frame.camera_messages import Reading, Setting
from session.frame.ports import LogError, Place, RefusedEntry, RefusedForGoodError
from storage.files import aside
from storage.writing.log import SqlLog
from tests.support.log_samples import MISS, MISSED, SetClock, intent, revision


@pytest.fixture
def frame_id(log: SqlLog, place: Place) -> str:
    wish = intent(1, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    return wish.frame_id


def test_a_value_that_no_log_can_hold_is_refused_for_good(log: SqlLog, frame_id: str) -> None:
    unknown = replace(MISS, level="loud")  # type: ignore[arg-type]
    with pytest.raises(RefusedForGoodError, match="is none of the words"):
        log.frame_judged(frame_id, [unknown], MISSED)
    wrong_kind = Reading({"iso": Setting("iso", np.float32(100.0), "100")})  # type: ignore[arg-type]
    with pytest.raises(RefusedForGoodError, match=r"settings: .*not JSON serializable"):
        log.frame_reading(frame_id, wrong_kind)
    with pytest.raises(RefusedForGoodError, match="knows no frame"):
        log.mark("nobody", "hero")
    log.frame_judged(frame_id, [MISS], MISSED)


def test_what_may_pass_is_not_refused_for_good(log: SqlLog, path: Path, frame_id: str) -> None:
    with log._database.transaction() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    with pytest.raises(LogError, match=r"can.t be written: its disk, .+, is full") as full:
        log.frame_findings(frame_id, [replace(MISS, text="long " * 10_000)])
    assert not isinstance(full.value, RefusedForGoodError)


def test_refused_entries_stand_whole_in_a_file_beside_the_log(log: SqlLog, path: Path) -> None:
    assert aside.kept_entries(path) is None
    where = log.keep_aside(RefusedEntry("frame_judged", ("frame", (MISS,), MISSED), "The log refused a value."))
    log.keep_aside(RefusedEntry("note", ("frame", "half a pair \ud800"), "no"))
    assert aside.kept_entries(path) == (Path(where), 2) and Path(where).parent == path.parent
    first, second = (json.loads(line) for line in Path(where).read_text("ascii").splitlines())
    assert (first["call"], first["error"]) == ("frame_judged", "The log refused a value.")
    assert first["values"][1][0]["text"] == MISS.text and first["values"][2]["blur_px"] == MISSED.blur_px
    assert second["values"] == ["frame", "half a pair \ud800"]


def test_a_file_that_cant_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "log.refused").mkdir()
    with pytest.raises(LogError, match=r"log.refused can't be written"):
        aside.keep(tmp_path / "log", RefusedEntry("note", (), "no"), SetClock().now())
