"""Frames of the log as the bench keeps them."""

from __future__ import annotations

from session.cameras.protocol import CardObject, SavedFile
from session.finding import FocusJudgement
from storage.views import FrameRecord, FrameRow
from tui.model import BenchFrame


def from_row(row: FrameRow) -> BenchFrame:
    """A line of the ledger; files and findings are left to be read when they are looked at."""
    verdict = row.focus_verdict
    return BenchFrame(
        row.frame_id,
        row.number,
        row.state,
        row.released_by,
        row.fired,
        row.text,
        focus=FocusJudgement(verdict, row.blur_px, None, row.defocus_mm) if verdict else None,
        mark=row.mark,
        setup=row.setup,
        piece=row.piece,
        verdict=row.verdict,
        whole=False,
    )


def from_record(record: FrameRecord) -> BenchFrame:
    """A frame with all that belongs to it."""
    frame = from_row(record)
    frame.files = tuple(
        SavedFile(
            file.path, file.kind, file.bytes, file.sha256, CardObject(file.card_folder, file.card_name, file.bytes)
        )
        for file in record.files
    )
    frame.checks, frame.focus, frame.whole = record.findings, record.focus, True
    return frame
