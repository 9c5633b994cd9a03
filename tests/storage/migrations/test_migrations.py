"""Bringing an older log up to date: in one transaction, after a copy was made; a broken migration changes nothing."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from alembic.config import Config
from alembic.script import ScriptDirectory

from session.frame.finding import FlawKind
from session.frame.ports import LogError, Place
from session.set.setup import SD_OF_PLACE, Revision
from storage import migrations
from storage.database.log_database import open_for_writing
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.writing.log import SqlLog
from tests.support.kept_schema import log_of_today
from tests.support.log_samples import revision, whole_frame

OLD_LOGS = sorted((Path(__file__).parent / "logs").glob("log-of-*.sqlite"))
"""One written by each earlier schema, with places, a set-up, frames, a mark, a note, a reference, an overruling."""

ENV = """
from alembic import context
context.configure(connection=context.config.attributes["connection"])
context.run_migrations()
"""

VERSION = """
from alembic import op
revision, down_revision, branch_labels, depends_on = {revision!r}, {down!r}, None, None

def upgrade():
    op.execute("CREATE TABLE made_by_{revision} (x INTEGER)")
    op.execute("INSERT INTO made_by_{revision} VALUES (1)")
    {then}
"""


def scripts(folder: Path, *, broken: str = "") -> str:
    """Three migrations of an invented schema; the one named `broken` fails half-way."""
    (folder / "versions").mkdir(parents=True)
    (folder / "env.py").write_text(ENV)
    down = None
    for name in ("one", "two", "three"):
        then = 'op.execute("INSERT INTO no_such_table VALUES (1)")' if name == broken else "pass"
        (folder / "versions" / f"{name}.py").write_text(VERSION.format(revision=name, down=down, then=then))
        down = name
    return str(folder)


def tables(path: Path) -> set[str]:
    connection = sqlite3.connect(path)
    names = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE name LIKE 'made_by_%'")}
    connection.close()
    return names


def test_versions_named_in_code_are_the_migrations_there_are() -> None:
    config = Config()
    config.set_main_option("script_location", "storage:migrations")
    walked = [script.revision for script in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(walked)) == migrations.VERSIONS


def test_all_that_lack_are_run_in_order(path: Path, tmp_path: Path) -> None:
    log = open_for_writing(path)
    with log.transaction() as connection:
        connection.exec_driver_sql("DELETE FROM alembic_version")
    with log.transaction() as connection:
        migrations.bring_up(connection, scripts(tmp_path / "good"))
        assert connection.exec_driver_sql("SELECT version_num FROM alembic_version").all() == [("three",)]
    log.close()
    assert tables(path) == {"made_by_one", "made_by_two", "made_by_three"}


@pytest.mark.parametrize("broken", ["one", "two", "three"])
def test_broken_migration_changes_nothing(path: Path, tmp_path: Path, broken: str) -> None:
    log = open_for_writing(path)
    with log.transaction() as connection:
        connection.exec_driver_sql("DELETE FROM alembic_version")
    with pytest.raises(LogError, match="no_such_table"), log.transaction() as connection:
        migrations.bring_up(connection, scripts(tmp_path / "bad", broken=broken))
    with log.transaction() as connection:
        assert connection.exec_driver_sql("SELECT version_num FROM alembic_version").all() == []
    log.close()
    assert tables(path) == set()


def test_copy_before_migrating_is_the_whole_log(log: SqlLog, place: Place, path: Path) -> None:
    whole_frame(log, place, 1, log.save_revision(place, revision()))
    copy = migrations.keep_copy(path, "0001")
    assert copy.name == "log.sqlite.of-version-0001"
    of_copy, of_log = (list(sqlite3.connect(file).iterdump()) for file in (copy, path))
    assert of_copy == of_log
    assert any('INSERT INTO "frame"' in line for line in of_copy)


def test_copy_never_replaces_an_older_one(log: SqlLog, path: Path) -> None:
    first = migrations.keep_copy(path, "0001")
    before = first.read_bytes()
    log.open_place("Movement", "Bridge", "top")
    second = migrations.keep_copy(path, "0001")
    assert second.name == "log.sqlite.of-version-0001-2"
    assert first.read_bytes() == before != second.read_bytes()


def test_copy_that_cannot_be_made_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    """The copy's name is longer than a file's may be, 255 bytes."""
    path = tmp_path / f"{'l' * 243}.sq"
    SqlLog.open(path).close()
    before = sorted(tmp_path.iterdir())
    with pytest.raises(LogError, match="no copy of it could be made"):
        migrations.keep_copy(path, "0001")
    assert sorted(tmp_path.iterdir()) == before


def test_copy_follows_no_link(log: SqlLog, path: Path) -> None:
    log.close()
    elsewhere = path.parent / "elsewhere"
    (path.parent / f"{path.name}.of-version-0001").symlink_to(elsewhere)
    assert migrations.keep_copy(path, "0001").name == f"{path.name}.of-version-0001-2"
    assert not elsewhere.exists()


def dump(path: Path) -> list[str]:
    connection = sqlite3.connect(path)
    try:
        return list(connection.iterdump())
    finally:
        connection.close()


NO_SD: dict[str, Any] = dict.fromkeys(SD_OF_PLACE.values())

SINCE: dict[str, dict[str, object]] = {
    "0004": {"grey_patch": None},
    "0006": {"arrangement": replace(revision().arrangement, gap_mm=0.0)},
    "0008": {
        "passive": tuple(
            replace(item, width_mm=None, height_mm=None, turned_deg=None, turned_to="", **NO_SD)
            for item in revision().passive
        ),
        "working_distance_mm": None,
        "camera_height_mm": None,
        "view_down_deg": None,
        "view_around_deg": None,
    },
    "0009": {
        "lights": tuple(replace(light, width_mm=None, height_mm=None, **NO_SD) for light in revision().lights),
        "passive": tuple(replace(item, turned_deg=None, turned_to="", **NO_SD) for item in revision().passive),
    },
    "0012": {
        "lights": tuple(replace(light, **NO_SD) for light in revision().lights),
        "passive": tuple(replace(item, **NO_SD) for item in revision().passive),
    },
}
"""Schema version → the fields of a revision that came with it, and what they are in a log of before."""


def as_logged_by(version: str) -> Revision:
    """The sample's revision, as a log of that schema version can hold it."""
    later = [fields for since, fields in reversed(SINCE.items()) if since > version]
    changed: dict[str, Any] = {name: value for fields in later for name, value in fields.items()}
    return replace(revision(), **changed)


def test_a_log_of_each_earlier_schema_is_kept() -> None:
    assert [log.stem.removeprefix("log-of-") for log in OLD_LOGS] == list(migrations.VERSIONS[:-1])


@pytest.mark.parametrize("old", OLD_LOGS, ids=lambda log: log.stem)
def test_log_of_an_earlier_schema_opens_after_a_copy_was_made(old: Path, path: Path) -> None:
    shutil.copy(old, path)
    with pytest.raises(LogError, match="of an older stillset"):
        LogReader.open(path)
    SqlLog.open(path).close()
    (copy,) = path.parent.glob("*.of-version-*")
    assert copy.name == f"log.sqlite.of-version-{old.stem.removeprefix('log-of-')}"
    assert dump(copy) == dump(old)
    reader = LogReader.open(path)
    first = reader.frame_numbered("movement", 1)
    assert first is not None
    assert (first.mark, first.references, first.focus is None) == ("hero", (7,), False)
    assert [note.text for note in first.notes] == ["colder, and \u00dcBER the screw"]
    assert dict(first.overrulings) == {"sync": "the dark band is wanted"}
    assert first.revision == as_logged_by(old.stem.removeprefix("log-of-"))
    assert [(frame.number, frame.piece, frame.state.value) for frame in reader.frames()] == [
        (1, "Bridge", "logged"),
        (2, "Wheel \\ top", "logged"),
        (3, "Bridge", "missing"),
    ]
    reader.close()


def test_the_log_that_is_kept_of_today_holds_what_those_of_earlier_schemas_do(path: Path) -> None:
    log_of_today(path)
    reader = LogReader.open(path)
    first = reader.frame_numbered("movement", 1)
    assert first is not None
    assert (first.mark, first.references, dict(first.overrulings)) == (
        "hero",
        (7,),
        {"sync": "the dark band is wanted"},
    )
    assert [note.text for note in first.notes] == ["colder, and \u00dcBER the screw"]
    assert first.revision == revision()
    assert [(frame.number, frame.piece, frame.state.value) for frame in reader.frames()] == [
        (1, "Bridge", "logged"),
        (2, "Wheel \\ top", "logged"),
        (3, "Bridge", "missing"),
    ]
    reader.close()


@pytest.mark.parametrize("old", OLD_LOGS, ids=lambda log: log.stem)
@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("\u00fcber", [1]),
        ("band wanted", [1]),
        ("wheel", [2]),
        ("invented client", [1, 2, 3]),
        ("tube", [1, 2, 3]),
        ("white card", [1, 2, 3]),
        ("second look", [1, 2, 3]),
        ("three-quarter", [1, 3]),
    ],
)
def test_what_an_earlier_schema_wrote_is_found(old: Path, path: Path, text: str, numbers: list[int]) -> None:
    shutil.copy(old, path)
    SqlLog.open(path).close()
    reader = LogReader.open(path)
    assert [frame.number for frame in reader.frames(FrameFilter(text=text))] == numbers
    assert {f.number for f in reader.frames(FrameFilter(text=text), newest_first=True, limit=9)} == set(numbers)
    assert [job.frame_count for job in reader.jobs()] == [3]
    reader.close()


def test_views_ordered_before_there_were_standards_stay_ordered(path: Path) -> None:
    shutil.copy(next(log for log in OLD_LOGS if log.stem.endswith("0007")), path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("INSERT INTO ordered_view SELECT view_id, 0, 1 FROM view WHERE name = 'top'")
        connection.commit()
        before = connection.execute("SELECT view_id, position, wanted, NULL FROM ordered_view").fetchall()
    SqlLog.open(path).close()
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT * FROM ordered_view").fetchall() == before != []
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []


@pytest.mark.parametrize("old", [log for log in OLD_LOGS if log.stem < "log-of-0008"], ids=lambda log: log.stem)
def test_old_log_that_stands_in_the_way_of_its_migration_is_left_as_it_was(old: Path, path: Path) -> None:
    shutil.copy(old, path)
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE client_standard (x INTEGER)")  # met in version 0008
    connection.commit()
    connection.close()
    before = dump(path)
    with pytest.raises(LogError, match=r'table "?client_standard"? already exists'):
        SqlLog.open(path)
    assert dump(path) == before


def test_newer_log_is_refused_in_words_and_left_as_it_was(path: Path) -> None:
    SqlLog.open(path).close()
    connection = sqlite3.connect(path)
    connection.execute("UPDATE alembic_version SET version_num = '0999'")
    connection.commit()
    connection.close()
    before = dump(path)
    for opening in (SqlLog.open, LogReader.open):
        with pytest.raises(LogError, match=r"written by a newer stillset \(schema 0999.*use the newer one"):
            opening(path)
    assert dump(path) == before and not list(path.parent.glob("*.of-version-*"))


WORDED = {
    "All of the picture moved: 12 px right. Camera, support or table was bumped.": ("drift", FlawKind.CAMERA_MOVED),
    "The piece moved: 12 px right. Its surroundings stand.": ("drift", FlawKind.PIECE_MOVED),
    "Camera or piece moved: 12 px. Nothing around the piece tells which.": ("drift", FlawKind.CAMERA_OR_PIECE_MOVED),
    "The picture is 1.0 % smaller: the distance changed.": ("drift", FlawKind.SIZE_CHANGED),
    "A part of the picture moved: 12 px.": ("drift", FlawKind.PART_MOVED),
    "Move the camera 0.8 mm right.": ("drift", FlawKind.MOVE_CAMERA),
    "A light is missing or weak: which one can't be told.": ("flash", FlawKind.ONE_OF_SEVERAL),
    "A hot spot of 2.1 EV, 50 % from the left.": ("evenness", FlawKind.HOT_SPOT),
    "The centre is 0.7 EV darker against its surround.": ("evenness", FlawKind.CENTRE),
    "No flash: 3.0 EV darker than the reference.": ("flash", None),
}
"""How stillsets before version 5 worded a finding whose kind the log then didn't say."""


def test_kinds_of_flaws_are_known_of_findings_that_only_had_a_sentence(path: Path) -> None:
    shutil.copy(next(log for log in OLD_LOGS if log.stem.endswith("0004")), path)
    connection = sqlite3.connect(path)
    of_checks = "SELECT frame_id, judgement_position, found_at FROM finding WHERE judgement_position NOT NULL"
    frame_id, *rest = connection.execute(of_checks).fetchone()
    for number, (text, (name, _)) in enumerate(WORDED.items(), 100):
        row = (frame_id, number, rest[0], rest[1], name, "caution", text, 1.0, 0.5, "px", None, "", "{}", 0.0)
        connection.execute(f"INSERT INTO finding VALUES ({', '.join('?' * len(row))})", row)
    connection.commit()
    connection.close()
    SqlLog.open(path).close()
    reader = LogReader.open(path)
    told = {finding.text: finding.kind for frame in reader.records() for finding in frame.findings}
    reader.close()
    assert {text: told[text] for text in WORDED} == {text: kind for text, (_, kind) in WORDED.items()}
    with sqlite3.connect(path) as connection, pytest.raises(sqlite3.IntegrityError, match="never changed"):
        connection.execute("UPDATE finding SET text = ''")
    connection.close()
