"""A shoot that can be looked up in many ways."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import pytest

from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.frame.states import FrameEvent, ReleasedBy
from session.set.setup import PlacedLight, Revision
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, intent, revision, whole_frame

SHARP = FocusJudgement(FocusVerdict.SHARP, 0.4)
BAND = Finding("band", Level.CAUTION, "A dark band covers a fifth of the picture.", 0.2, 0.0, "share")


@pytest.fixture
def shoot(log: SqlLog, reader: LogReader) -> Iterator[LogReader]:
    """Two jobs, five frames, each unlike the others in what it can be found by."""
    bridge = log.open_place("Movement", "Bridge", "three-quarter", "Uhren Müller")
    one = log.save_revision(bridge, revision(1, 1))
    rim = replace(revision(1, 2), lights=(PlacedLight("rim", -3.0, shaper="Grid"),), notes="kälter", passive=())
    two = log.save_revision(bridge, rim)
    whole_frame(log, bridge, 1, one)
    sharp = whole_frame(log, bridge, 2, two, asked_at=NOON + timedelta(days=1))
    log.frame_judged(sharp, [BAND], SHARP)
    log.mark(sharp, "hero")
    log.note(sharp, "ÜBER the screw, 100% sure\nsecond line")
    body = intent(3, two, asked_at=NOON + timedelta(days=2), released_by=ReleasedBy.BODY)
    log.begin_frame(body, bridge)
    log.move_frame(body.frame_id, FrameEvent.FIRED)
    log.move_frame(body.frame_id, FrameEvent.LOST, "Frame 3 fired, not saved.")
    wheel = log.open_place("Movement", "Wheel", "top")
    whole_frame(log, wheel, 4, one, asked_at=NOON + timedelta(days=3), overrulings={"sync": "the Band is wanted"})
    tray = log.open_place("Type", "Tray", "top")
    plain = log.save_revision(tray, Revision())
    whole_frame(log, tray, 1, plain, asked_at=NOON + timedelta(days=4), folder="/pictures/type")
    yield reader
