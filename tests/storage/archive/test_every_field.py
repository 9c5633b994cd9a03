"""Each field of a set-up changed in turn comes through the archive: sent by one station, fetched by another."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from pathlib import Path

from session.set.setup import Revision, same_arrangement
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tests.support.changed_set_ups import CHANGED, SAMPLE
from tests.support.log_samples import SetClock, whole_frame

WRITTEN = [SAMPLE, *(replace(one, revision=number) for number, one in enumerate(CHANGED.values(), 2))]
WAYS = ["the sample", *CHANGED]


def set_ups(log: Path | str) -> list[Revision]:
    """The set-up of each frame, by the frames' numbers."""
    with closing(LogReader.open(log)) as reader:
        return [frame.revision for frame in reader.records(FrameFilter())]


def test_a_changed_field_of_a_set_up_comes_through_the_archive_to_another_station(tmp_path: Path, archive: str) -> None:
    here, there = tmp_path / "here.sqlite", tmp_path / "there.sqlite"
    with closing(SqlLog.open(here, SetClock())) as log:
        place = log.open_place("Rings", "ring 4", "front")
        for number, revision in enumerate(WRITTEN, 1):
            whole_frame(log, place, number, log.save_revision(place, revision))
    assert set_ups(here) == WRITTEN
    send(here, archive)
    SqlLog.open(there, SetClock()).close()
    fetch(there, archive)
    for name, found in (("the archive", set_ups(archive)), ("the other station", set_ups(there))):
        for way, wanted, told in zip(WAYS, WRITTEN, found, strict=True):
            assert told == wanted, f"{way} in {name}"
            assert way == "the sample" or not same_arrangement(told, SAMPLE), f"{way} in {name}"
