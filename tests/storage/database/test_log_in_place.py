"""The log's file while a shoot has it open: locked by every name of it, and kept when it goes from its place."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

import storage
from session.frame.ports import LogError, Place
from storage.reading.log_reader import LogReader
from storage.reading.verify import verify
from storage.writing.log import SqlLog
from tests.support.fresh_log import fresh_log
from tests.support.lesser_user import folder_of_lesser_user, lesser_user
from tests.support.log_samples import intent, revision, whole_frame

REPOSITORY = Path(storage.__file__).resolve().parents[1]

OPENS = "import pathlib, sys; from storage.writing.log import SqlLog; SqlLog.open(pathlib.Path(sys.argv[1])).close()"


def opened_elsewhere(path: Path) -> str:
    """What another process says that opens the log for writing; "" when it could."""
    command = [sys.executable, "-c", OPENS, str(path)]
    run = subprocess.run(command, cwd=REPOSITORY, capture_output=True, text=True, check=False)
    return run.stderr.strip().splitlines()[-1] if run.returncode else ""


def numbers(path: Path) -> list[int]:
    """Of the frames in the main file alone, straight from it."""
    with closing(sqlite3.connect(f"{path.as_uri()}?immutable=1", uri=True)) as connection:
        return [number for (number,) in connection.execute("SELECT number FROM frame ORDER BY number")]


@pytest.mark.parametrize("link", [Path.symlink_to, Path.hardlink_to])
def test_second_writer_by_another_name_of_the_log_is_refused(
    path: Path, log: SqlLog, place: Place, link: Callable[[Path, Path], None]
) -> None:
    other = path.parent / "elsewhere" / "other.sqlite"
    other.parent.mkdir()
    link(other, path)
    assert "Another stillset has this log open, by another name of it" in opened_elsewhere(other)
    assert "Another stillset has this log open (process" in opened_elsewhere(path)
    whole_frame(log, place, 1, log.save_revision(place, revision()))
    log.close()
    other.with_name("other.sqlite.lock").unlink()
    assert opened_elsewhere(other) == ""


def test_lock_on_the_log_goes_with_a_killed_writer(path: Path, log: SqlLog) -> None:
    log.close()
    program = OPENS.replace(".close()", "; print('open', flush=True); sys.stdin.read()").replace(
        "SqlLog.open", "x = SqlLog.open"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", program, str(path)], cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert child.stdout is not None and child.stdin is not None
    assert child.stdout.readline() == b"open\n"
    link = path.with_name("link.sqlite")
    link.symlink_to(path)
    with pytest.raises(LogError, match="by another name of it"):
        SqlLog.open(link)
    child.send_signal(signal.SIGKILL)
    child.communicate()
    SqlLog.open(link).close()


@pytest.mark.parametrize("ending", [".lock", ".verify"])
def test_file_of_ours_beside_the_log_that_is_a_link_is_refused_and_not_followed(
    path: Path, log: SqlLog, ending: str
) -> None:
    log.close()
    victim = path.parent / "victim"
    victim.write_text("precious")
    beside = path.with_name(path.name + ending)
    beside.unlink(missing_ok=True)
    for link in (Path.symlink_to, Path.hardlink_to):
        link(beside, victim)
        with pytest.raises(LogError, match=r"it is (a link|a second name of another file)"):
            use(path, ending)
        beside.unlink()
    beside.touch(mode=0o666)
    beside.chmod(0o666)
    with pytest.raises(LogError, match="other users may write to it"):
        use(path, ending)
    assert victim.read_text() == "precious"


def use(path: Path, ending: str) -> None:
    if ending == ".lock":
        SqlLog.open(path).close()
    else:
        list(verify(path))


def test_lock_of_another_user_is_refused() -> None:
    if os.geteuid():
        pytest.skip("only root may make files of another user")
    with folder_of_lesser_user() as folder:
        path = folder / "log.sqlite"
        with lesser_user():
            SqlLog.open(path).close()
        with pytest.raises(LogError, match=r"log\.sqlite\.lock: it belongs to another user"):
            SqlLog.open(path)


@pytest.mark.parametrize("opened", [SqlLog, LogReader])
def test_pipe_or_device_is_no_log(tmp_path: Path, opened: type[SqlLog] | type[LogReader]) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(LogError, match="is a pipe, not a log"):
        opened.open(tmp_path / "pipe")
    with pytest.raises(LogError, match="is a device, not a log"):
        opened.open(Path("/dev/null"))
    assert [place.name for place in tmp_path.iterdir()] == ["pipe"]


def move(path: Path) -> Path | None:
    return path.rename(path.with_name("moved.sqlite"))


def delete(path: Path) -> None:
    path.unlink()


def replace(path: Path) -> None:
    other = path.with_name("other.sqlite")
    fresh_log(other).close()
    other.replace(path)


def move_folder(path: Path) -> Path | None:
    return path.parent.rename(path.parent.with_name("moved")) / path.name


def delete_folder(path: Path) -> None:
    shutil.rmtree(path.parent)


WAYS: dict[Callable[[Path], Path | None], str] = {
    move: "was moved",
    delete: "was deleted",
    replace: "was replaced by another file",
    move_folder: "was moved",
    delete_folder: "was deleted",
}


@pytest.mark.parametrize("way", WAYS)
def test_no_frame_is_begun_in_a_log_that_went_from_its_place_and_all_it_held_is_kept(
    tmp_path: Path, way: Callable[[Path], Path | None]
) -> None:
    path = tmp_path / "logs" / "log.sqlite"
    path.parent.mkdir()
    log = fresh_log(path)
    place = log.open_place("Movement", "Bridge", "top")
    revision_id = log.save_revision(place, revision())
    whole_frame(log, place, 1, revision_id)
    under_way = intent(2, revision_id)
    log.begin_frame(under_way, place)
    now_at = way(path)
    with pytest.raises(LogError, match=WAYS[way]) as refused:
        log.begin_frame(intent(3, revision_id), place)
    log.mark(under_way.frame_id, "hero")  # what comes of the frame under way is still taken
    with pytest.raises(LogError, match=WAYS[way]) as ended:
        log.close()
    log.close()
    kept = [*tmp_path.rglob("log.sqlite.kept*")]
    if way is delete_folder:  # there is nothing beside it
        assert kept == [] and "could not be kept" in str(refused.value)
        return
    (copy,) = kept
    assert str(copy) in str(refused.value) and str(copy) in str(ended.value)
    if now_at is not None:
        assert f"It is at {now_at} now." in str(refused.value)
        assert numbers(now_at) == [1, 2]
    assert numbers(copy) == [1, 2]
    assert rows(copy, "SELECT mark FROM frame WHERE number = 2") == [("hero",)]
    again = SqlLog.open(copy)
    again.begin_frame(intent(3, revision_id), place)
    again.close()


def rows(path: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def test_log_that_came_back_to_its_place_goes_on(path: Path, log: SqlLog, place: Place) -> None:
    revision_id = log.save_revision(place, revision())
    moved = path.rename(path.with_name("moved.sqlite"))
    with pytest.raises(LogError, match="was moved"):
        log.begin_frame(intent(1, revision_id), place)
    moved.rename(path)
    log.begin_frame(intent(1, revision_id), place)
    log.close()
    assert numbers(path) == [1]


def test_a_reader_of_a_log_that_is_gone_says_so(path: Path, log: SqlLog, reader: LogReader) -> None:
    log.close()
    path.rename(path.with_name("moved.sqlite"))
    with pytest.raises(LogError, match="There is no log at"):
        LogReader.open(path)
