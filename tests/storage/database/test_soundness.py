"""Each value in a log that this program never writes is named by table, row and column; a sound log is sound."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from session.frame.ports import LogError, Place
from storage.database.soundness import (
    MOST_NAMED,
    Damage,
    connect_to_look,
    damage_of,
    damage_seen_at_once,
    is_damage,
    name_damage,
    sentence_on,
)
from storage.writing.log import SqlLog
from tests.support.flipped_bits import change_unasked
from tests.support.log_samples import revision, whole_frame


@pytest.fixture
def sound(log: SqlLog, place: Place, path: Path) -> Path:
    """A closed log with one frame."""
    whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.close()
    return path


def test_a_log_as_it_was_written_has_no_damage(sound: Path) -> None:
    assert damage_of(sound) == damage_seen_at_once(sound) == ()


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE frame SET number = 'one'", "frame, row 1 (number"),
        ("UPDATE frame SET ambient = 2", "frame, row 1 (ambient"),
        ("UPDATE frame SET frame_id = 'x'", "frame, row 1 (frame_id"),
        ("UPDATE frame SET asked_at = 'noon'", "frame, row 1 (asked_at"),
        ("UPDATE revision SET exposure_s = 'long'", "revision, row 1 (exposure_s"),
        ("UPDATE revision SET ticked = '[1]'", "revision, row 1 (ticked"),
        ("UPDATE camera_reading SET settings = '[]'", "camera_reading, row 1 (settings"),
        ("UPDATE finding SET details = 'not json'", "finding, row 1 (details"),
        ("UPDATE judgement SET frame_id = printf('%032d', 0)", "judgement, row 1 (no such frame)"),
    ],
)
def test_a_value_of_the_wrong_kind_is_named_by_its_place(sound: Path, statement: str, named: str) -> None:
    change_unasked(sound, statement)
    assert any(one.name_damage.startswith(named) for one in damage_of(sound)), damage_of(sound)


def test_a_file_that_grew_or_was_cut_is_named_by_its_size(sound: Path) -> None:
    size = sound.stat().st_size
    with sound.open("ab") as file:
        file.write(bytes(100))
    assert [one.text for one in damage_of(sound)] == [f"{size + 100} bytes instead of {size // 4096} pages of 4096"]
    os.truncate(sound, size - 100)
    assert f"{size - 100} bytes instead of {size // 4096} pages of 4096" in [one.text for one in damage_of(sound)]


def test_a_connection_to_look_changes_nothing(sound: Path) -> None:
    with closing(connect_to_look(sound)) as connection, pytest.raises(sqlite3.OperationalError, match="readonly"):
        connection.execute("UPDATE job SET client = 'x'")


def test_the_sentence_names_some_damages_counts_the_rest_and_says_what_rescues(tmp_path: Path) -> None:
    found = [Damage("frame", "state", row) for row in range(1, MOST_NAMED + 3)]
    told = sentence_on(tmp_path / "shoot.db", found)
    assert f"frame, row {MOST_NAMED} (state) and 2 more. `stillset log rescue " in told
    assert f"row {MOST_NAMED + 1} " not in told


def test_an_error_that_damage_caused_becomes_the_damages_sentence_and_another_stays(sound: Path) -> None:
    with pytest.raises(ValueError, match="of mine"), name_damage(sound):
        raise ValueError("of mine")
    change_unasked(sound, "UPDATE frame SET asked_at = 'noon'")
    with pytest.raises(LogError, match=r"is damaged in frame, row 1 \(asked_at\)"), name_damage(sound):
        raise ValueError("of mine")


def test_only_corruption_is_damage() -> None:
    corrupt, busy = sqlite3.DatabaseError("x"), sqlite3.OperationalError("x")
    corrupt.sqlite_errorcode, busy.sqlite_errorcode = sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_BUSY
    assert is_damage(corrupt) and not is_damage(busy)
    assert is_damage(sqlite3.OperationalError("Could not decode to UTF-8 column 'text'"))
