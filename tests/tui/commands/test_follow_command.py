"""`stillset follow` without a terminal: the newest frame at once, then a line for each that comes to rest."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import pytest

from tests.support.fresh_log import fresh_log
from tests.support.in_process import stillset
from tests.support.log_samples import SetClock, intent, revision, whole_frame
from tui.commands import follow_command

INTERRUPTED = 1


def test_frames_are_printed_as_they_come_to_rest_and_again_when_more_is_known(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with closing(fresh_log(tmp_path / "log.sqlite", SetClock())) as log:
        place = log.open_place("Movement", "Bridge", "top")
        key = log.save_revision(place, revision())
        first, second = whole_frame(log, place, 1, key), whole_frame(log, place, 2, key)
        steps = iter(
            [
                lambda: log.begin_frame(intent(3, key), place),  # under way: not told yet
                lambda: log.mark(second, "hero"),
                lambda: log.note(first, "an older one"),
                lambda: whole_frame(log, place, 4, key),
            ]
        )

        def instead_of_waiting(_: float) -> None:
            step = next(steps, None)
            if step is None:
                raise KeyboardInterrupt
            step()

        monkeypatch.setattr(follow_command, "sleep", instead_of_waiting)
        told = stillset("follow", "--log", str(tmp_path / "log.sqlite"), exit_code=INTERRUPTED).splitlines()
    frames = [line.split() for line in told if "Bridge" in line]
    assert [(line[0], "hero" in line) for line in frames] == [("2", False), ("2", True), ("4", False)], told


def test_a_log_that_is_not_there_yet_is_said_once_and_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks = iter([None, None])

    def instead_of_waiting(_: float) -> None:
        if next(looks, 1) is not None:
            raise KeyboardInterrupt

    monkeypatch.setattr(follow_command, "sleep", instead_of_waiting)
    told = stillset("follow", "--log", str(tmp_path / "none.sqlite"), exit_code=INTERRUPTED)
    assert told.count("none.sqlite") == 1


def test_a_place_to_serve_at_that_is_none_is_refused(tmp_path: Path) -> None:
    pytest.importorskip("uvicorn")
    said = stillset("follow", "--log", str(tmp_path / "none.sqlite"), "--serve", "everywhere", exit_code=2)
    assert "everywhere" in said
