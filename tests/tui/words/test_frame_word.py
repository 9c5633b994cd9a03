"""A frame's word is the same whoever says it: out of the controller's events at the bench, out of the log elsewhere."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import takewhile
from pathlib import Path

import pytest

from session.checks.judge.all_checks import judge
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState
from session.set.setup import DEFAULT_BLUR_LIMIT_PX, Region
from session.shoot.events import FrameJudged, ReferenceChanged, RevisionChanged
from storage.reading.views import FrameFilter
from tests.support.bench_events import FOUND, model_after, moved, released
from tests.support.mock_set import mock_set
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import written_log
from tui.explain.explain_text import explanation
from tui.screen.ledger_text import RowColumns, comparison, record_text, row_line, row_verdict
from tui.screen.panels import findings_panel
from tui.words.bench_frame import BenchFrame, from_record, from_row
from tui.words.frame_word import frame_word
from tui.words.headline import Tone
from tui.words.wording import headline, onlooker_headline, sentences

DEPTH = Finding("depth", Level.CAUTION, "Sharp over 1.4 mm at f/11, the view needs 2.4 mm.", 1.4, 2.4, "mm")
DARK = Finding("exposure", Level.CAUTION, "The region is 0.6 EV darker than the reference.", -0.6, 0.25, "EV")


@pytest.mark.parametrize("verdict", [FocusVerdict.SHARP, FocusVerdict.SOFT, FocusVerdict.MISSED])
def test_bench_and_log_say_the_same_word_whatever_the_rules_had_to_say(tmp_path: Path, verdict: FocusVerdict) -> None:
    written = written_log(tmp_path / "log.db", REVISION, READING, (verdict,))
    written.log.frame_findings(written.frame_ids[1], (DEPTH,))
    record = written.reader.frame(written.frame_ids[1])
    written.close()
    assert record is not None and record.focus is not None and DEPTH.id in {finding.id for finding in record.findings}
    model = model_after(
        FOUND,
        *released(1, path="/pictures/1.jpg"),
        moved("f1", 1, FrameState.SAVED, findings=(DEPTH,)),
        FrameJudged("f1", 1, record.checks, record.focus),
    )
    at_bench, looked_on = headline(model, 0.0), onlooker_headline(from_record(record))
    assert (at_bench.large, at_bench.tone) == (looked_on.large, looked_on.tone)
    assert frame_word(model.frames["f1"]) == frame_word(from_record(record))


def test_after_a_restart_what_a_rule_said_before_a_release_is_said_once(tmp_path: Path) -> None:
    written = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.MISSED,))
    written.log.frame_findings(written.frame_ids[1], (DEPTH,))
    record = written.reader.frame(written.frame_ids[1])
    written.close()
    assert record is not None
    model = model_after(FOUND)
    model.rules = (DEPTH,)
    model.frames[record.frame_id] = from_record(record)
    said = [*sentences(model, 0.0), *(line.plain for line in findings_panel(model, 200, 0.0))]
    assert sum(DEPTH.text in line for line in said) == 1


def test_a_frame_that_no_check_has_answered_for_has_the_word_of_its_state() -> None:
    for state in FrameState:
        word = frame_word(BenchFrame(FrameFacts("f", 1, state)))
        assert word.large == word.large.upper() and word.about is None and not word.stays
    assert frame_word(BenchFrame(FrameFacts("f", 1, FrameState.MISSING))).tone is Tone.STOP


@pytest.mark.parametrize("piece", ["bridge", "type"])
def test_a_ring_knocked_by_little_is_never_plainly_sharp(tmp_path: Path, piece: str) -> None:
    """The demo's body, ratio and aperture: 1.2 mm make a disc of 1.2 mm / 22, a radius of 1.7 px, and 0.6 mm of 0.9 px.

    By geometry; diffraction blurs frame and reference alike, so that a little less is measured.
    """
    made = mock_set(tmp_path, 1, piece)
    reference, said = made.path(), []
    for knock_mm in (0.6, 1.2):
        made.world.do("turn_focus", to_mm=knock_mm)
        found = judge(made.assignment(made.path(), reference))
        frame = BenchFrame(
            FrameFacts("f", 1, FrameState.LOGGED),
            checks=found.findings,
            focus=found.focus,
            blur_limit_px=DEFAULT_BLUR_LIMIT_PX,
        )
        said.append(frame_word(frame).large)
    assert re.fullmatch(r"SHARP 0\.[78] / 1\.0", said[0])
    assert re.fullmatch(r"SOFT 1\.[45] px", said[1])


def test_a_reference_has_the_same_word_everywhere_whatever_was_said_of_it_before(tmp_path: Path) -> None:
    """It was judged when there was no reference; that there was none isn't told of it any more."""
    alone = Finding("focus", Level.NOTE, "Focus not judged: set-up 07 has no reference yet; look at it enlarged.")
    written = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.UNJUDGED, FocusVerdict.SHARP))
    log, frame_id = written.log, written.frame_ids[1]
    unjudged = FocusJudgement(FocusVerdict.UNJUDGED, reason="set-up 07 has no reference yet; look at it enlarged")
    log.frame_judged(frame_id, (alone, DARK), unjudged)
    log.set_reference(written.place, REVISION.setup_number, frame_id)
    record = written.reader.frame(frame_id)
    first, second = written.reader.frames(FrameFilter(job=written.place.job))
    written.close()
    assert record is not None
    model = model_after(
        FOUND,
        RevisionChanged(REVISION, "r"),
        *released(1, path="/pictures/1.jpg"),
        moved("f1", 1, FrameState.SAVED),
        FrameJudged("f1", 1, (alone, DARK), unjudged),
        ReferenceChanged("f1", 1, decided=True),
    )
    at_bench, looked_on = headline(model, 0.0), onlooker_headline(from_record(record))
    assert (at_bench.large, at_bench.sentence) == (looked_on.large, looked_on.sentence)
    assert at_bench.large == "REFERENCE" and "set-up 07" in at_bench.sentence
    assert frame_word(model.frames["f1"]) == frame_word(from_record(record)) == frame_word(from_row(first))
    assert row_verdict(first) == "reference" and row_verdict(second) == "sharp"
    columns = RowColumns.of((first, second))
    assert " 1 = reference" in row_line(first, columns, 100, here=False, beside=False).plain
    told = [*findings_panel(model, 200, 0.0), record_text(record, 200), explanation(record, record, (), 200)]
    assert "no reference yet" not in " ".join(line.plain for line in told)
    assert DARK.text in " ".join(line.plain for line in told), "what else was found still holds"


def test_what_differs_between_two_frames_is_told_whole_where_it_is_long(tmp_path: Path) -> None:
    written = written_log(tmp_path / "log.db", REVISION, READING, (FocusVerdict.SHARP, FocusVerdict.SHARP))
    one, other = (written.reader.frame(written.frame_ids[number]) for number in (1, 2))
    written.close()
    assert one is not None and other is not None
    elsewhere = replace(other, revision=replace(other.revision, region=Region(0.0, 0.0, 0.25, 0.5)))
    for width in (80, 120):
        lines = comparison(one, elsewhere, width).plain.split("\n")
        at = next(i for i, line in enumerate(lines) if line.startswith("region"))
        below = list(takewhile(lambda line: line.startswith(" " * 21), lines[at + 1 :]))
        right = [line[width // 2 :].strip() for line in (lines[at], *below)]  # its values begin under its picture
        assert " ".join(filter(None, right)) == "25 % × 50 % of the picture, middle at 12 %, 25 %", lines
