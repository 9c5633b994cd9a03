"""Words on the steps of a reshoot: the time when each was said stays with it, whatever is undone later."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from session.frame.step_said import StepWord
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, revision


def test_a_word_that_undo_brings_back_has_the_time_when_it_was_said(tmp_path: Path) -> None:
    clock = SetClock()
    log = SqlLog.open(tmp_path / "log.db", clock)
    place = log.open_place("Movement", "bridge", "flat")
    key = log.save_revision(place, revision())
    log.say_of_step(place, key, "check list", StepWord.CONFIRMED)
    (first,) = log.steps_said(place, key)
    clock.at = NOON + timedelta(hours=9)
    log.say_of_step(place, key, "check list", StepWord.CONFIRMED)
    (second,) = log.steps_said(place, key)
    assert second.at - first.at >= timedelta(hours=8)
    log.undo_last(place)
    assert log.steps_said(place, key) == (first,)
    log.close()
