"""A hand-over in a thread of its own: how far it is, how it ends, and that it goes on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from session.set.kit import Kit
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import ORDER, contents, no_file_larger_than, shot
from tests.support.log_samples import SetClock
from tests.support.scripted_table import FixedClock
from tui.handover.handover_run import HandoverRun
from tui.paper.handing_over import HandoverWish, PreparedHandover, look_ahead


@pytest.fixture
def prepared(tmp_path: Path) -> Iterator[PreparedHandover]:
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    log.keep_order(ORDER)
    shot(log, tmp_path, 1, "ring 1", "front")
    log.close()
    reader = LogReader.open(tmp_path / "log.sqlite")
    found = look_ahead(reader, HandoverWish(), Kit())
    assert found is not None
    yield found
    reader.close()


def run(prepared: PreparedHandover, folder: Path, *, zips: bool = False, whole: bool = False) -> HandoverRun:
    return HandoverRun(prepared, folder, FixedClock(), zips=zips, whole=whole)


def test_it_says_that_it_begins_how_it_ended_and_makes_the_zip(prepared: PreparedHandover, tmp_path: Path) -> None:
    handing = run(prepared, tmp_path / "out", zips=True)
    assert not handing.is_over and handing.words() == "begins"
    handing.work()
    count = len(contents(tmp_path / "out"))
    folder, zipped = tmp_path / "out", tmp_path / "out.zip"
    assert handing.is_over and zipped.is_file()
    told, _, missing = handing.words().partition(" Not all that was wanted is there: ")
    assert told == f"{folder}: 1 frame handed over, {count} files. {zipped}: the whole folder."
    assert missing.startswith("ring 1, top has no hero.")


def test_one_that_is_stopped_or_finds_no_room_goes_on_and_comes_out_the_same(
    prepared: PreparedHandover, tmp_path: Path
) -> None:
    run(prepared, tmp_path / "whole").work()
    stopped = run(prepared, tmp_path / "out")
    stopped.stop()
    stopped.work()
    assert stopped.words().startswith("Stopped. What is there is right") and not contents(tmp_path / "out")
    full = run(prepared, tmp_path / "out")
    with no_file_larger_than(2000):
        full.work()
    assert "is not whole yet: File too large." in full.outcome
    run(prepared, tmp_path / "out").work()
    assert contents(tmp_path / "out") == contents(tmp_path / "whole")
    again = run(prepared, tmp_path / "out")
    again.work()
    assert "is a whole hand-over already" in again.outcome
    zipped = run(prepared, tmp_path / "out", zips=True, whole=True)
    zipped.stop()
    zipped.work()
    assert "Stopped." in zipped.outcome and not list(tmp_path.glob("*out.zip*"))


def test_a_mistake_of_our_own_ends_it_too_and_is_not_hidden(
    prepared: PreparedHandover, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken = run(replace(prepared, pictures=None), tmp_path / "out")  # type: ignore[arg-type]
    with pytest.raises(AttributeError):
        broken.work()
    assert broken.is_over and "mistake of stillset's own" in broken.words()
