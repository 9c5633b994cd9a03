"""Opening a log where something is in the way: one clear sentence each, and nothing touched."""

from __future__ import annotations

import hashlib
import os
import resource
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import storage
from session.frame.ports import LogError, Place
from storage import migrations
from storage.database.log_database import open_for_writing
from storage.files.writer_lock import lock_path
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.lesser_user import folder_of_lesser_user, lesser_user
from tests.support.log_samples import intent, revision, whole_frame

REPOSITORY = Path(storage.__file__).resolve().parents[1]


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.fixture
def their_folder() -> Iterator[Path]:
    with folder_of_lesser_user() as folder:
        yield folder


def test_new_log_is_made_with_its_last_folder(tmp_path: Path) -> None:
    path = tmp_path / "new" / "100% ours? #1.sqlite"
    SqlLog.open(path).close()
    assert sqlite3.connect(path).execute("SELECT count(*) FROM frame").fetchone() == (0,)


def test_log_survives_being_closed_and_opened(path: Path, log: SqlLog, place: Place) -> None:
    frame_id = whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.close()
    again = SqlLog.open(path)
    assert again.open_place("movement", "bridge", "three-quarter") == place
    again.close()
    reader = LogReader.open(path)
    assert [frame.frame_id for frame in reader.frames()] == [frame_id]
    reader.close()


def test_connection_is_as_durable_as_sqlite_gets(path: Path, log: SqlLog) -> None:
    log.close()
    database = open_for_writing(path)
    with database.transaction() as connection:
        asked = ("journal_mode", "synchronous", "foreign_keys", "application_id")
        told = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in asked]
    database.close()
    full = 2  # https://www.sqlite.org/pragma.html#pragma_synchronous
    assert told == ["wal", full, 1, migrations.APPLICATION_ID]


def test_folder_above_the_last_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(LogError, match=r"folder .* can't be made: No such file or directory"):
        SqlLog.open(tmp_path / "a" / "b" / "log.sqlite")
    assert not (tmp_path / "a").exists()


@pytest.mark.parametrize("opened", [SqlLog, LogReader])
def test_folder_is_no_log(tmp_path: Path, opened: type[SqlLog] | type[LogReader]) -> None:
    with pytest.raises(LogError, match="is a folder, not a log"):
        opened.open(tmp_path)


@pytest.mark.parametrize("opened", [SqlLog, LogReader])
def test_file_that_is_not_sqlite_is_told_and_left_alone(path: Path, opened: type[SqlLog] | type[LogReader]) -> None:
    path.write_bytes(b"not a database, but longer than a header of one hundred bytes " * 20)
    before = digest(path)
    with pytest.raises(LogError, match="isn't an SQLite file"):
        opened.open(path)
    assert digest(path) == before


@pytest.mark.parametrize("opened", [SqlLog, LogReader])
def test_another_programs_database_is_told_and_left_alone(path: Path, opened: type[SqlLog] | type[LogReader]) -> None:
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE somebody_elses (x)")
    connection.close()
    before = digest(path)
    with pytest.raises(LogError, match="another program's SQLite file"):
        opened.open(path)
    assert digest(path) == before


@pytest.mark.parametrize("opened", [SqlLog, LogReader])
def test_newer_log_is_told_and_left_alone(path: Path, log: SqlLog, opened: type[SqlLog] | type[LogReader]) -> None:
    log.close()
    connection = sqlite3.connect(path)
    connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.commit()
    connection.close()
    before = digest(path)
    with pytest.raises(LogError, match="written by a newer stillset"):
        opened.open(path)
    assert digest(path) == before


def test_damaged_log_is_told(path: Path, log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    for number in range(1, 40):
        log.begin_frame(intent(number, revision_id), place)
    log.close()
    data = bytearray(path.read_bytes())
    page = 4096
    data[page:] = b"\xa5" * (len(data) - page)
    path.write_bytes(data)
    with pytest.raises(LogError, match="is damaged"):
        SqlLog.open(path)


def test_second_writer_is_refused_by_name_and_the_reader_is_not(path: Path, log: SqlLog, place: Place) -> None:
    with pytest.raises(LogError, match=rf"Another stillset has this log open \(process {os.getpid()}\)"):
        SqlLog.open(path)
    reader = LogReader.open(path)
    whole_frame(log, place, 1, log.save_revision(place, revision()))
    assert [frame.number for frame in reader.frames()] == [1]
    reader.close()


def test_writer_in_another_process_is_refused_until_it_is_killed(path: Path) -> None:
    program = (
        "import pathlib, sys; from storage.writing.log import SqlLog\n"
        "log = SqlLog.open(pathlib.Path(sys.argv[1]))\n"
        "place = log.open_place('Movement', 'Bridge', 'top')\n"
        "print('open', flush=True); sys.stdin.read()"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", program, str(path)],
        cwd=REPOSITORY,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None and child.stdin is not None
    assert child.stdout.readline() == "open\n"
    with pytest.raises(LogError, match=rf"process {child.pid}\)"):
        SqlLog.open(path)
    child.send_signal(signal.SIGKILL)
    child.wait()
    child.stdin.close()
    child.stdout.close()
    log = SqlLog.open(path)
    log.close()
    reader = LogReader.open(path)
    assert [place.view for place in reader.places()] == ["top"]
    reader.close()


def test_refused_opening_holds_no_lock(path: Path) -> None:
    path.write_bytes(b"not a database, but longer than a header of one hundred bytes " * 20)
    with pytest.raises(LogError):
        SqlLog.open(path)
    path.unlink()
    SqlLog.open(path).close()


def test_nothing_there_is_told_to_a_reader_and_nothing_is_made(path: Path) -> None:
    with pytest.raises(LogError, match="There is no log at"):
        LogReader.open(path)
    assert not path.exists()
    path.touch()
    with pytest.raises(LogError, match="the file is empty"):
        LogReader.open(path)
    assert path.stat().st_size == 0


def test_read_only_file_can_be_read_and_is_refused_for_writing_in_words(their_folder: Path) -> None:
    path = their_folder / "log.sqlite"
    with lesser_user():
        log = SqlLog.open(path)
        log.open_place("Movement", "Bridge", "top")
        log.close()
        path.chmod(0o444)
        with pytest.raises(LogError, match="read-only"):
            SqlLog.open(path)
        reader = LogReader.open(path)
        assert [job.name for job in reader.jobs()] == ["Movement"]
        reader.close()


def test_read_only_folder_can_be_read_and_is_refused_for_writing_in_words(their_folder: Path) -> None:
    path = their_folder / "log.sqlite"
    with lesser_user():
        log = SqlLog.open(path)
        log.open_place("Movement", "Bridge", "top")
        log.close()
        lock_path(path).unlink()
        their_folder.chmod(0o555)
        with pytest.raises(LogError, match=r"can't be written: Permission denied"):
            SqlLog.open(path)
        reader = LogReader.open(path)
        assert [job.name for job in reader.jobs()] == ["Movement"]
        reader.close()
        assert sorted(p.name for p in their_folder.iterdir()) == ["log.sqlite"]


def test_read_only_folder_is_read_while_another_writes(their_folder: Path) -> None:
    path = their_folder / "log.sqlite"
    with lesser_user():
        log = SqlLog.open(path)
    place = log.open_place("Movement", "Bridge", "top")
    with lesser_user():
        their_folder.chmod(0o555)
        reader = LogReader.open(path)
        assert [job.name for job in reader.jobs()] == ["Movement"]
    log.open_place("Type", "Tray", "top")
    with lesser_user():
        assert sorted(job.name for job in reader.jobs()) == ["Movement", "Type"]
        reader.close()
    log.mark(whole_frame(log, place, 1, log.save_revision(place, revision())), "hero")
    log.close()


def test_log_left_by_a_crash_in_a_read_only_folder_is_not_read_by_halves(their_folder: Path, path: Path) -> None:
    log = SqlLog.open(path)
    log.open_place("Movement", "Bridge", "top")
    left = their_folder / "log.sqlite"
    for ending in ("", "-wal"):
        Path(f"{left}{ending}").write_bytes(Path(f"{path}{ending}").read_bytes())
    log.close()
    their_folder.chmod(0o555)
    with lesser_user(), pytest.raises(LogError, match="was not closed"):
        LogReader.open(left)


def test_folder_without_permission_is_told_to_a_reader(their_folder: Path) -> None:
    path = their_folder / "log.sqlite"
    SqlLog.open(path).close()
    path.chmod(0o000)
    with lesser_user(), pytest.raises(LogError, match="no permission"):
        LogReader.open(path)


def test_reader_cannot_write_even_by_mistake(path: Path, log: SqlLog) -> None:
    from storage.database.log_database import open_for_reading

    database = open_for_reading(path)
    with pytest.raises(LogError, match="read-only"), database.transaction() as connection:
        connection.exec_driver_sql("UPDATE job SET client = 'x'")
    database.close()


def test_full_disk_is_told_and_the_log_takes_the_frame_once_there_is_room(
    log: SqlLog, reader: LogReader, place: Place
) -> None:
    """The limit on a file's size stands for a full disk: the system refuses to let the file grow."""
    revision_id = log.save_revision(place, revision())
    wish = intent(1, revision_id)
    old = resource.getrlimit(resource.RLIMIT_FSIZE)
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, old[1]))
    try:
        with pytest.raises(LogError, match=r"can't be (written|reached)"):
            log.begin_frame(wish, place)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old)
        signal.signal(signal.SIGXFSZ, handler)
    assert list(reader.frames()) == []
    log.begin_frame(wish, place)
    assert [frame.number for frame in reader.frames()] == [1]


@pytest.mark.parametrize("pages_left", range(4))
def test_log_without_room_says_so_and_nothing_is_half_written(path: Path, pages_left: int) -> None:
    """SQLite's own limit of pages gives the very error of a full disk, SQLITE_FULL, at any page we like."""
    database = open_for_writing(path)
    with database.transaction() as connection:
        connection.exec_driver_sql("CREATE TABLE filler (x)")
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + pages_left}")
    with pytest.raises(LogError, match=r"its disk, .*, is full"), database.transaction() as connection:
        for _ in range(8):
            connection.exec_driver_sql("INSERT INTO filler VALUES (zeroblob(3000))")
    with database.transaction() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM filler").scalar() == 0
    database.close()


def test_crash_in_the_middle_of_a_transaction_leaves_nothing_of_it(path: Path) -> None:
    program = (
        "import os, pathlib, signal, sys; from storage.database.log_database import open_for_writing\n"
        "from storage.writing import places; from session.frame.ports import SystemClock\n"
        "database = open_for_writing(pathlib.Path(sys.argv[1]))\n"
        "with database.transaction() as c:\n"
        "    places.open_place(c, 'whole', 'a', 'b', '', SystemClock().now())\n"
        "with database.transaction() as c:\n"
        "    places.open_place(c, 'half', 'a', 'b', '', SystemClock().now())\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    child = subprocess.run([sys.executable, "-c", program, str(path)], cwd=REPOSITORY, check=False)
    assert child.returncode == -signal.SIGKILL
    log = SqlLog.open(path)
    log.close()
    reader = LogReader.open(path)
    assert [job.name for job in reader.jobs()] == ["whole"]
    assert [event.text for event in reader.events()] == ["whole, a, b"]
    reader.close()


def test_looking_for_help_loads_no_database() -> None:
    program = "import storage, sys; sys.exit('sqlalchemy' in sys.modules or 'alembic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", program], cwd=REPOSITORY, check=False).returncode == 0


def test_log_that_is_up_to_date_opens_without_alembic(path: Path, log: SqlLog) -> None:
    log.close()
    program = (
        "import pathlib, sys; from storage.writing.log import SqlLog\n"
        "SqlLog.open(pathlib.Path(sys.argv[1])).close(); sys.exit('alembic' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", program, str(path)], cwd=REPOSITORY, check=False)
    assert run.returncode == 0
