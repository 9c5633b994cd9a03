"""How much is in the archive, and how much is still to be sent."""

from __future__ import annotations

from pathlib import Path

from storage.archive.send import send
from storage.archive.status import status
from tests.support.station_logs import FRAMES


def test_status_tells_what_is_still_to_be_sent(one: Path, two: Path, archive: str) -> None:
    send(one, archive, station="table 1")
    before = status(two, archive)
    assert (before.frames, before.frames_to_send) == (FRAMES, FRAMES)
    send(two, archive, station="table 2")
    after = status(two, archive)
    assert (after.jobs, after.frames, after.frames_to_send, after.events_to_send) == (2, 2 * FRAMES, 0, 0)
    assert [(s.name, s.own, s.frames) for s in after.stations] == [
        ("table 1", False, FRAMES),
        ("table 2", True, FRAMES),
    ]
