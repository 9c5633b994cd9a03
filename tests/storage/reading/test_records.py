"""Ledger lines and whole frames, made of their rows."""

from __future__ import annotations

from datetime import timedelta

from session.frame.camera_messages import Fired
from session.frame.finding import FocusVerdict, Verdict
from session.frame.ports import Place
from session.frame.states import FrameState, ReleasedBy
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tests.support.log_samples import (
    MISS,
    MISSED,
    NOON,
    SERIAL,
    SYNC,
    TASK,
    revision,
    saved_file,
    whole_frame,
)


def test_ledger_line_shows_the_last_judgement_and_how_many_notes(shoot: LogReader) -> None:
    rows = {frame.number: frame for frame in shoot.frames(FrameFilter(job="movement"))}
    assert (rows[1].focus_verdict, rows[1].blur_px, rows[1].defocus_mm) == (FocusVerdict.MISSED, 4.2, 0.31)
    assert (rows[2].focus_verdict, rows[2].blur_px, rows[2].verdict) == (FocusVerdict.SHARP, 0.4, Verdict.FLAWED)
    assert (rows[3].focus_verdict, rows[3].verdict, rows[3].text) == (None, None, "Frame 3 fired, not saved.")
    assert [row.note_count for row in rows.values()] == [0, 1, 0, 0]


def test_notes_come_with_their_frames(shoot: LogReader) -> None:
    (note,) = shoot.notes("movement")
    assert (note.number, note.piece, note.text) == (2, "Bridge", "ÜBER the screw, 100% sure\nsecond line")
    assert shoot.notes("type") == ()


def test_whole_frame_comes_out_as_it_went_in(log: SqlLog, reader: LogReader, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    frame_id = whole_frame(log, place, 42, revision_id, overrulings={"sync": "want to see the band"})
    log.frame_findings(frame_id, [SYNC])
    frame = reader.frame(frame_id)
    assert frame is not None
    assert (frame.number, frame.job, frame.piece, frame.view) == (42, "Movement", "Bridge", "three-quarter")
    assert (frame.state, frame.fired, frame.released_by) == (FrameState.LOGGED, Fired.YES, ReleasedBy.TOOL)
    assert (frame.asked_at, frame.released_at) == (NOON, NOON + timedelta(seconds=42))
    assert (frame.revision, frame.setup) == (revision(), "07.3")
    assert frame.camera == {
        "exposure_s": 1 / 200,
        "f_number": 11.0,
        "iso": 100,
        "white_balance": "Flash",
        "battery_percent": 81,
    }
    assert [(f.path, f.kind, f.bytes, f.sha256) for f in frame.files] == [
        (saved_file(42).path, "jpeg", 1000, saved_file(42).sha256)
    ]
    assert (frame.rules, frame.checks, frame.findings) == ((SYNC,), (MISS,), (SYNC, MISS))
    assert (frame.focus, frame.focus_verdict, frame.verdict) == (MISSED, FocusVerdict.MISSED, Verdict.CLEAN)
    assert frame.overrulings == {"sync": "want to see the band"}
    assert frame.camera_serial == SERIAL


def test_which_flaw_it_is_and_how_far_to_move_come_back(log: SqlLog, reader: LogReader, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.frame_judged(frame_id, [TASK], MISSED)
    frame = reader.frame(frame_id)
    assert frame is not None and frame.checks == (TASK,)
