"""A damaged log: named in words, read as far as it is whole, copied before anything is written, and rescued."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from contextlib import closing, suppress
from dataclasses import replace
from pathlib import Path

import pytest

from session.frame.ports import LogError
from storage.database.rescue import path_of_refused, rescue
from storage.database.soundness import damage_of
from storage.reading.log_reader import LogReader
from storage.reading.verify import Trouble, verify
from storage.writing.log import SqlLog
from tests.support.flipped_bits import answers, change_unasked, refused_rows, rows_of, trial
from tests.support.station_logs import station
from tests.support.stillset_program import StillsetHome

FRAMES = 60
TRIALS = 10


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sound") / "log.sqlite"
    station(path, "Movement", frames=FRAMES)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("VACUUM")  # each table's pages in a row, and none of them free
    return path


@pytest.fixture
def path(sound: Path, tmp_path: Path) -> Path:
    path = tmp_path / "log.sqlite"
    path.write_bytes(sound.read_bytes())
    return path


def leaf_pages(path: Path, table: str) -> list[int]:
    """Offsets of the pages that hold the table's rows (https://www.sqlite.org/fileformat2.html, 1.6: type 13)."""
    with closing(sqlite3.connect(path)) as connection:
        (root,) = connection.execute("SELECT rootpage FROM sqlite_schema WHERE name = ?", (table,)).fetchone()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    data = path.read_bytes()
    start = (root - 1) * size
    if data[start] == 13:
        return [start]
    cells = int.from_bytes(data[start + 3 : start + 5], "big")
    pointers = [int.from_bytes(data[at : at + 2], "big") for at in range(start + 12, start + 12 + 2 * cells, 2)]
    children = [int.from_bytes(data[start + at : start + at + 4], "big") for at in pointers]
    return [(child - 1) * size for child in children]


def spoil_page(path: Path, offset: int) -> None:
    data = bytearray(path.read_bytes())
    data[offset : offset + 8] = b"\xa5" * 8
    path.write_bytes(data)


@pytest.mark.parametrize(
    ("statement", "named"),
    [
        ("UPDATE frame SET state = 'lofged' WHERE number = 7", "frame"),
        ("UPDATE frame SET asked_at = '2026-15-04 12:00:00' WHERE number = 7", "frame, row 7 (asked_at)"),
        ("UPDATE frame SET view_id = 'no key at all' WHERE number = 7", "frame, row 7"),
        ("UPDATE frame SET stem = x'ff' WHERE number = 7", "frame, row 7 (stem)"),
        ("UPDATE judgement SET blur_px = 'soft' WHERE rowid = 7", "judgement, row 7 (blur_px)"),
        ("UPDATE camera_reading SET settings = '{' WHERE rowid = 7", "camera_reading, row 7 (settings)"),
        ("UPDATE finding SET level = 'shout' WHERE rowid = 7", "finding"),
        ("UPDATE camera_reading SET frame_id = replace(frame_id, 'a', 'b') WHERE rowid = 7", "camera_reading, row 7"),
        ("DELETE FROM camera", "no such camera"),
    ],
)
def test_one_bad_row_is_named_and_costs_at_most_its_frame(path: Path, statement: str, named: str) -> None:
    change_unasked(path, statement)
    assert any(named in one.name_damage for one in damage_of(path))
    found = []
    with pytest.raises(LogError, match=r"is damaged in .*log rescue") as told, LogReader.looking(path) as reader:
        found = list(reader.records())
    assert named in str(told.value)
    if "camera" not in named:
        assert len(found) >= FRAMES - 1


def test_no_command_that_reads_a_damaged_row_ends_well_or_in_a_traceback(path: Path) -> None:
    change_unasked(path, "UPDATE frame SET asked_at = 'noon' WHERE number = 7")
    for command, (code, _, err) in answers(path).items():
        assert code == 1 and "Traceback" not in err, command
        if command != ("verify",):
            assert "is damaged in frame, row 7 (asked_at)" in err, command


def test_page_of_frames_that_is_lost_is_told_and_the_rest_is_read_and_rescued(path: Path, sound: Path) -> None:
    pages = leaf_pages(path, "frame")
    spoil_page(path, pages[len(pages) // 2])
    assert "frame" in {one.table for one in damage_of(path)}
    new = path.with_name("new.sqlite")
    rescued, _ = rescue(path, new)
    of_frames = next(one for one in rescued if one.table == "frame")
    assert of_frames.rows + len(of_frames.unread) == FRAMES
    assert 0 < len(of_frames.unread) < FRAMES
    assert any("frame: rows" in line and "can't be read" in line for line in of_frames.lines())
    whole, brought = rows_of(sound), rows_of(new)
    assert {name: rows for name, rows in whole.items() if name != "frame"} == {
        name: rows for name, rows in brought.items() if name != "frame"
    }
    assert set(brought["frame"]) < set(whole["frame"])


def test_rows_to_which_damage_gave_one_number_are_both_kept_though_the_table_can_not_be_read_through(
    path: Path, tmp_path: Path
) -> None:
    """The second row's number is made the first one's; a page before them is lost, so they are reached from behind."""
    pages = leaf_pages(path, "event")
    data = bytearray(path.read_bytes())
    cells = [pages[-1] + int.from_bytes(data[at : at + 2], "big") for at in (pages[-1] + 8, pages[-1] + 10)]
    for number in range(2):  # a cell: two varints, the payload's length and the row's number, whose last byte differs
        while data[cells[number]] & 0x80:
            cells[number] += 1
        cells[number] += 1
        while data[cells[number]] & 0x80:
            cells[number] += 1
    data[cells[1]] = data[cells[0]]
    path.write_bytes(data)
    spoil_page(path, pages[1])
    both = [row for row, count in Counter(numbers_in(path, "event", "DESC")).items() if count == 2]
    assert len(both) == 1
    new = tmp_path / "new.sqlite"
    rescued, _ = rescue(path, new)
    event = next(one for one in rescued if one.table == "event")
    assert [row.number for row in event.refused] == both


def numbers_in(path: Path, table: str, order: str) -> list[int]:
    """Row numbers from one end on, as far as they can be read."""
    found = []
    with closing(sqlite3.connect(path)) as connection, suppress(sqlite3.DatabaseError):
        for (number,) in connection.execute(f"SELECT rowid FROM {table} NOT INDEXED ORDER BY rowid {order}"):
            found.append(number)
    return found


def test_rescue_of_a_sound_log_is_the_log(sound: Path, tmp_path: Path) -> None:
    before = sound.read_bytes()
    new = tmp_path / "new.sqlite"
    rescued, damage = rescue(sound, new)
    assert (damage, [line for one in rescued for line in one.lines()]) == ((), [])
    assert rows_of(new) == rows_of(sound)
    assert sound.read_bytes() == before
    with LogReader.looking(sound) as one, LogReader.looking(new) as other:
        whole, brought = ([replace(row, previews="") for row in reader.records()] for reader in (one, other))
        assert whole == brought
    log = SqlLog.open(new)
    log.mark(frame_of(new), "kill")
    log.close()


def frame_of(path: Path) -> str:
    with closing(sqlite3.connect(path)) as connection:
        return str(connection.execute("SELECT frame_id FROM frame").fetchone()[0])


def test_rescue_replaces_nothing_and_leaves_nothing_when_there_is_nothing_to_rescue(
    tmp_path: Path, sound: Path
) -> None:
    taken, nothing = tmp_path / "taken", tmp_path / "nothing"
    taken.write_text("precious")
    with pytest.raises(LogError, match="is there already"):
        rescue(sound, taken)
    nothing.write_bytes(b"no database at all " * 500)
    with pytest.raises(LogError, match="isn't an SQLite file"):
        rescue(nothing, tmp_path / "new.sqlite")
    assert sorted(place.name for place in tmp_path.iterdir()) == ["nothing", "taken"]


def test_shoot_on_a_damaged_log_writes_nothing_to_it_and_keeps_one_copy(path: Path) -> None:
    spoil_page(path, leaf_pages(path, "event")[-1])
    before = path.read_bytes()
    for _ in range(2):
        with pytest.raises(LogError, match=r"is damaged in event .* Nothing was written to it") as refused:
            SqlLog.open(path)
    assert path.read_bytes() == before
    (copy,) = path.parent.glob("*.damaged*")
    assert copy.read_bytes() == before
    assert f"A copy of it is {copy}." in str(refused.value)


def test_verify_tells_damage_and_a_file_that_was_cut_or_grew(path: Path) -> None:
    change_unasked(path, "UPDATE note SET written_at = 'late' WHERE rowid = 3")
    told = [one.text for one in verify(path) if one.trouble is Trouble.DAMAGED]
    assert told == ["the log: note, row 3 (written_at)."]
    with path.open("ab") as file:
        file.write(bytes(8192))
    told = [one.text for one in verify(path) if one.trouble is Trouble.DAMAGED]
    assert any("bytes instead of" in text for text in told)


def test_flipped_bits_are_never_read_in_silence_and_rescue_brings_no_less_than_a_dump(
    sound: Path, tmp_path: Path
) -> None:
    """Some of the trials of tests/benchmarks/test_flipped_bits.py, on a small log."""
    told = answers(sound)
    trials = [trial(number, sound, told, tmp_path / "trial") for number in range(TRIALS)]
    assert [one for found in trials for one in (*found.tracebacks, *found.silent, *found.less_than_dump)] == []
    assert sum(found.seen for found in trials) >= TRIALS // 2


def test_rows_that_the_new_log_refuses_stand_beside_it_as_they_were(path: Path, tmp_path: Path) -> None:
    """A flipped bit may give a file on the card another's name; which of the two is true, no check can say."""
    other = "SELECT folder, name, bytes, modified_at_s FROM card_object WHERE rowid = 8"
    change_unasked(path, "DROP INDEX uq_card_object_identity")
    change_unasked(path, f"UPDATE card_object SET (folder, name, bytes, modified_at_s) = ({other}) WHERE rowid = 7")
    change_unasked(path, "UPDATE finding SET level = x'ff' WHERE rowid = 3")
    new = tmp_path / "new.sqlite"
    told = StillsetHome(tmp_path).here("log", "rescue", str(path), str(new))
    assert told.code == 1 and f"stand as they were in {path_of_refused(new)}." in told.out
    assert "card_object: row 8 was not brought over" in told.out
    lines = [json.loads(line) for line in path_of_refused(new).read_text("ascii").splitlines()]
    assert {(line["table"], line["row"]) for line in lines} == {("card_object", 8), ("finding", 3)}
    beside, whole = refused_rows(new), rows_of(new)
    for table, rows in rows_of(path).items():
        assert Counter(rows) == Counter(whole[table]) + Counter(beside.get(table, ())), table


def test_rescue_that_can_not_write_the_refused_rows_leaves_no_new_log(path: Path, tmp_path: Path) -> None:
    change_unasked(path, "UPDATE finding SET level = x'ff' WHERE rowid = 3")
    new = tmp_path / "new.sqlite"
    path_of_refused(new).write_text("precious")
    with pytest.raises(LogError, match="is there already"):
        rescue(path, new)
    assert not new.exists() and path_of_refused(new).read_text() == "precious"


def test_rows_that_an_earlier_rescue_left_are_found_before_a_row_is_read(path: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.sqlite"
    path_of_refused(new).write_text("precious")
    with pytest.raises(LogError, match="is there already; move it away"):
        rescue(path, new)  # nothing of this log would have been refused
    assert not new.exists() and path_of_refused(new).read_text() == "precious"


def test_rescue_by_its_command_says_what_is_not_whole(path: Path, tmp_path: Path) -> None:
    home = StillsetHome(tmp_path)
    new = tmp_path / "new.sqlite"
    for name in ("previews", "set-pictures"):
        path.with_name(f"{path.name}.{name}").mkdir()
    whole = home.here("log", "rescue", str(path), str(new))
    assert (whole.code, whole.err) == (0, "")
    for name in ("previews", "set-pictures"):
        assert f"{path}.{name} becomes the new log's under the name {new.name}.{name}.\n" in whole.out
        path.with_name(f"{path.name}.{name}").rmdir()
    assert f"\n{FRAMES} frames and " in whole.out and "all of them whole" in whole.out
    spoil_page(path, leaf_pages(path, "event")[-1])
    new.unlink()
    some = home.here("log", "rescue", str(path), str(new))
    assert (some.code, some.out.count("event: row")) == (1, 1)
    assert some.sentence().endswith(f"what is above is not whole. Keep {path}.")
