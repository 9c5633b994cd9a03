"""Searches of the archive find what the same searches of the log find."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from storage.archive.send import send
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from tests.support.log_samples import NOON

SEARCHES = [
    FrameFilter(text="col* movement tube"),
    FrameFilter(text='"white card" 8'),
    FrameFilter(text='"wanted"'),
    FrameFilter(light="KEY", power_ev_to=-1.5),
    FrameFilter(mark="select"),
    FrameFilter(client="An Invented CLIENT", magnification_from=0.7),
    FrameFilter(since=NOON + timedelta(minutes=4), until=NOON + timedelta(minutes=9), shaper="tube"),
    FrameFilter(text="nothing of the kind"),
]


def test_archive_finds_what_the_log_finds(one: Path, archive: str) -> None:
    send(one, archive)
    here, there = LogReader.open(one), LogReader.open(archive)
    for wanted in SEARCHES:
        for limit in (None, 3):
            ours, theirs = (
                [frame.number for frame in reader.frames(wanted, newest_first=True, limit=limit)]
                for reader in (here, there)
            )
            assert ours == theirs, wanted
            assert bool(ours) == (wanted.text != "nothing of the kind"), wanted
    here.close()
    there.close()
