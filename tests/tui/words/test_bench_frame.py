"""A frame as the bench keeps it: the same out of the log as the log has it, and findings that hold no more left out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.finding import CheckId, Finding, FocusJudgement, FocusVerdict, Level
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState
from tests.support.bench_events import saved_file
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import WrittenLog, written_log
from tui.words.bench_frame import BenchFrame, from_record, from_row, that_hold

FACTS = FrameFacts("f-1", 7, FrameState.LOGGED)
OPEN = Finding(CheckId.FOCUS, Level.NOTE, "There is no reference yet.")
MEASURED = Finding(CheckId.FOCUS, Level.CAUTION, "Soft by 2.6 px.", 2.6, 1.0, "px")
DARK = Finding(CheckId.EXPOSURE, Level.CAUTION, "Dark by 0.6 EV.", -0.6, 0.25, "EV")


@pytest.fixture
def written(tmp_path: Path) -> Iterator[WrittenLog]:
    log = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP, FocusVerdict.MISSED))
    yield log
    log.close()


@pytest.mark.parametrize(
    ("checks", "as_reference"),
    [
        ((), ()),
        ((OPEN,), ()),
        ((MEASURED,), (MEASURED,)),
        ((OPEN, DARK), (DARK,)),
        ((DARK, MEASURED), (DARK, MEASURED)),
    ],
)
def test_a_frame_that_became_the_reference_lacks_none_any_more(
    checks: tuple[Finding, ...], as_reference: tuple[Finding, ...]
) -> None:
    assert that_hold(checks, is_reference=False) == checks
    assert that_hold(checks, is_reference=True) == as_reference
    frame = BenchFrame(FACTS, checks=checks, reference=7)
    assert frame.is_reference and frame.checks_now == as_reference


def test_another_frames_being_the_reference_changes_nothing_here() -> None:
    assert not BenchFrame(FACTS, checks=(OPEN,), reference=8).is_reference
    assert BenchFrame(FACTS, checks=(OPEN,), reference=8).checks_now == (OPEN,)
    assert not BenchFrame(FACTS).is_reference


@pytest.mark.parametrize(
    ("kinds", "shown"),
    [((), None), (("raw",), "raw"), (("raw", "jpeg"), "jpeg"), (("jpeg", "raw"), "jpeg"), (("other",), None)],
)
def test_the_jpeg_is_shown_else_the_raw(kinds: tuple[str, ...], shown: str | None) -> None:
    frame = BenchFrame(FACTS, files=tuple(saved_file(f"/{n}.X", kind, 1000) for n, kind in enumerate(kinds)))
    assert (frame.picture.kind if frame.picture else None) == shown
    assert frame.bytes == 1000 * len(kinds)


def test_its_facts_read_through_and_its_set_up_has_a_number() -> None:
    frame = BenchFrame(FACTS, setup="07.3", focus=FocusJudgement(FocusVerdict.SOFT, 2.6))
    assert (frame.frame_id, frame.number, frame.state) == ("f-1", 7, FrameState.LOGGED)
    assert frame.setup_number == "07" and frame.focus_verdict is FocusVerdict.SOFT
    assert BenchFrame(FACTS).focus_verdict is None and BenchFrame(FACTS).setup_number == ""


def test_a_line_of_the_log_leaves_files_and_findings_to_be_read(written: WrittenLog) -> None:
    row = next(row for row in written.reader.frames() if row.number == 2)
    frame = from_row(row)
    assert (frame.number, frame.focus_verdict, frame.setup) == (2, FocusVerdict.MISSED, row.setup)
    assert not frame.whole and frame.files == () and frame.checks == ()


def test_a_frame_of_the_log_has_all_that_the_log_has(written: WrittenLog) -> None:
    record = written.reader.frame(written.frame_ids[2])
    assert record is not None
    frame = from_record(record)
    assert frame.whole and frame.facts == record.facts
    assert [file.path for file in frame.files] == [file.path for file in record.files]
    assert (frame.rules, frame.checks, frame.focus) == (record.rules, record.checks, record.focus)
    assert (frame.region, frame.blur_limit_px) == (record.revision.region, record.revision.blur_limit_px)
    assert frame.piece == record.piece and frame.view == record.view
