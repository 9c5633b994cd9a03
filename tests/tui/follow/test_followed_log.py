"""A log that somebody else writes: looked at when it changed, never missed, and opened anew when it was replaced."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from session.frame.finding import FocusVerdict
from session.frame.ports import LogError
from tests.support.scripted_table import READING, REVISION
from tests.support.written_log import WrittenLog, add_frame, written_log
from tui.follow.followed_log import SAME_TIME_NS, LogMoment, LogWatch, headline_of, seen_in
from tui.words.headline import Tone

SHARP = FocusVerdict.SHARP


@pytest.fixture
def written(tmp_path: Path) -> Iterator[WrittenLog]:
    log = written_log(tmp_path / "log.db", REVISION, READING, (SHARP, FocusVerdict.MISSED))
    yield log
    log.close()


@pytest.fixture
def watch(written: WrittenLog, tmp_path: Path) -> Iterator[LogWatch]:
    """By a clock a minute after the files' own times, so that a write is known to be over."""
    watch = LogWatch(str(tmp_path / "log.db"), now_ns=lambda: later_ns(tmp_path))
    yield watch
    watch.close()


def later_ns(folder: Path) -> int:
    return max(path.stat().st_mtime_ns for path in folder.iterdir()) + 60 * 10**9


def test_the_first_look_sees_the_log_and_the_next_nothing_new(watch: LogWatch) -> None:
    sight = watch.look()
    assert sight is not None and sight.job == "Invented movements"
    assert [row.number for row in sight.recent] == [1, 2]
    assert sight.record is not None and sight.record.number == 2 and sight.region == REVISION.region
    assert watch.look() is None and watch.look() is None


def test_a_new_frame_is_seen(watch: LogWatch, written: WrittenLog, tmp_path: Path) -> None:
    watch.look()
    add_frame(written, 3, SHARP, READING, tmp_path / "3.jpg")
    sight = watch.look()
    assert sight is not None and sight.record is not None and sight.record.number == 3


def test_a_write_of_just_now_is_looked_at_again_until_it_is_known_to_be_over(
    written: WrittenLog, tmp_path: Path
) -> None:
    """Two writes in one step of the file system's clock leave the same time and size."""
    now = [later_ns(tmp_path) - 60 * 10**9 + SAME_TIME_NS // 2]
    watch = LogWatch(str(tmp_path / "log.db"), now_ns=lambda: now[0])
    assert watch.look() is not None and watch.look() is not None, "not settled yet"
    now[0] += SAME_TIME_NS
    assert watch.look() is not None and watch.look() is None
    watch.close()


def test_a_log_that_is_missing_is_told_and_found_when_it_comes(written: WrittenLog, tmp_path: Path) -> None:
    watch = LogWatch(str(tmp_path / "late.db"), now_ns=lambda: 10**19)
    with pytest.raises(LogError):
        watch.look()
    written.close()
    shutil.copy(tmp_path / "log.db", tmp_path / "late.db")
    assert watch.look() is not None
    watch.close()


def test_a_log_that_was_replaced_is_opened_anew(watch: LogWatch, written: WrittenLog, tmp_path: Path) -> None:
    watch.look()
    (tmp_path / "other").mkdir()
    other = written_log(tmp_path / "other" / "log.db", REVISION, READING, (SHARP,) * 5)
    other.close()
    written.close()
    for name in ("log.db-wal", "log.db-shm"):
        (tmp_path / name).unlink(missing_ok=True)
    (tmp_path / "other" / "log.db").replace(tmp_path / "log.db")
    sight = watch.look()
    assert sight is not None and len(sight.recent) == 5


def test_places_are_counted_with_their_choice(written: WrittenLog) -> None:
    written.log.mark(written.frame_ids[1], "hero")
    written.log.open_place("Invented movements", "crown", "top")
    sight = seen_in(written.reader)
    counts = {(place.piece, place.view): (place.frames, place.chosen) for place in sight.places}
    assert counts == {("barrel 6 of 24", "three-quarter"): (2, 1), ("crown", "top"): (0, 0)}


def test_another_job_can_be_asked_for_and_one_without_frames_shows_none(written: WrittenLog) -> None:
    written.log.open_place("Type trays", "sort", "flat")
    assert seen_in(written.reader, "type trays").record is None
    assert seen_in(written.reader, "Invented movements").record is not None


def test_an_empty_log_has_no_moment_to_speak_of(tmp_path: Path) -> None:
    empty = written_log(tmp_path / "new.db", REVISION, READING, ())
    sight = seen_in(empty.reader)
    assert sight.record is None and sight.frame is None and sight.region is None
    empty.close()


@pytest.mark.parametrize(
    ("sight", "trouble", "sentence"),
    [
        (None, "", "The job has no frame yet."),
        (None, "The log can't be read.", ""),
        (LogMoment("j", None, (), ()), "", "The job has no frame yet."),
    ],
)
def test_without_a_frame_the_large_line_says_so(sight: LogMoment | None, trouble: str, sentence: str) -> None:
    told = headline_of(sight, trouble)
    assert (told.large, told.sentence, told.tone) == ("NO FRAME", sentence, Tone.WAIT)
