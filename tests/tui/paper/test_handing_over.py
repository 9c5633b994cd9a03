"""A hand-over out of a log: the folder that is offered, and a stop in the middle of a file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from session.set.kit import Kit
from storage.handover import bag
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.storage.handover.test_hand_over import ORDER, contents, shot
from tests.support.log_samples import SetClock
from tui.paper.handing_over import HandoverWish, PreparedHandover, carry_into_zip, carry_out, folder_for, look_ahead


@pytest.fixture
def prepared(tmp_path: Path) -> Iterator[PreparedHandover]:
    log = SqlLog.open(tmp_path / "log.sqlite", SetClock())
    log.keep_order(ORDER)
    folder = tmp_path / "pictures" / "spring_line" / "ring_1"
    folder.mkdir(parents=True)
    shot(log, folder, 1, "ring 1", "front")
    shot(log, folder, 2, "ring 1", "top")
    log.close()
    reader = LogReader.open(tmp_path / "log.sqlite")
    assert look_ahead(reader, HandoverWish("another job"), Kit()) is None
    found = look_ahead(reader, HandoverWish(delivers=True), Kit())
    assert found is not None
    yield found
    reader.close()


class StopHereError(Exception):
    """Somebody stops it."""


def test_it_is_stopped_in_the_middle_of_any_file_and_goes_on_to_the_same_folder(
    prepared: PreparedHandover, tmp_path: Path
) -> None:
    list(carry_out(prepared, tmp_path / "whole"))
    wanted, calls, stops = contents(tmp_path / "whole"), 0, 0

    def heard() -> None:
        nonlocal calls
        calls += 1
        if calls > stops:
            raise StopHereError

    folder = tmp_path / "stopped"
    while True:
        calls, stops = 0, stops + 3
        try:
            steps = list(carry_out(prepared, folder, heard))
        except StopHereError:
            (folder / "data/.half.jpg.part").unlink(missing_ok=True)
            there = contents(folder)
            assert "manifest-sha256.txt" not in there and not [name for name in there if name.endswith(bag.PART_ENDING)]
            assert all(wanted[name] == data for name, data in there.items())
            (folder / "data").mkdir(exist_ok=True)
            (folder / "data/.half.jpg.part").write_bytes(b"what a crash left")
        else:
            break
    assert stops > 30 and contents(folder) == wanted
    assert [step.count for step in steps] == list(range(1, len(wanted) + 1))


def test_the_folder_that_is_offered_lies_beside_the_jobs_pictures_and_is_never_a_whole_hand_over(
    prepared: PreparedHandover, tmp_path: Path
) -> None:
    first = tmp_path / "pictures" / "spring_line-handover"
    assert folder_for(prepared) == first
    next(carry_out(prepared, first))
    assert folder_for(prepared) == first, "one that was stopped goes on there"
    list(carry_out(prepared, first))
    assert folder_for(prepared) == first.with_name("spring_line-handover-2")
    zipped = list(carry_into_zip(first))
    assert zipped[-1].done_bytes == zipped[-1].total_bytes and first.with_name("spring_line-handover.zip").is_file()
    (tmp_path / "pictures/spring_line").rename(tmp_path / "pictures/moved")
    assert folder_for(prepared).parent == Path.home(), "where the pictures aren't there"
