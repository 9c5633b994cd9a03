"""An archive whose rows anybody may have written, by SQL: no trouble for the log, its disk, or who looks into it."""

from __future__ import annotations

import io
import json
import random
import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import psycopg
import pytest
from PIL import Image
from sqlalchemy import JSON, Boolean, DateTime, Float, Integer, LargeBinary, Text, Uuid

from session.frame.ports import KeptPeak, LogError, Standing
from session.frame.states import FrameEvent
from session.frame.step_said import StepWord
from session.optics.steps import MOST_FRAMES
from session.picture.stored_preview import MOST_BYTES, marked_as_preview
from storage.archive import archive_schema, strangers
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.files.paths import previews_folder
from storage.reading import log_reader
from storage.reading.json_lines import frame_object
from storage.reading.verify import verify
from storage.schema.frame_models import FrameTable, plane_columns
from storage.schema.models import EventTable
from storage.schema.prepared import table_of
from storage.writing.log import SqlLog
from tests.support.examples import examples
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import NOON, PLANE, SetClock, card_object, intent, revision, saved_file
from tests.support.postgres_server import OWNER, PASSWORDS, Server
from tests.support.station_logs import FRAMES

HOSTILE: dict[type, tuple[str, ...]] = {
    DateTime: ("'infinity'", "'-infinity'", "'0044-03-15 12:00 BC'", "'9999-12-31 23:59:59.999999Z'", "'294276-01-01'"),
    Float: ("'NaN'", "'Infinity'", "'-Infinity'", "1e308", "-1e308", "5e-324"),
    Integer: ("2147483647", "-2147483648", "0"),
    Text: (
        "''",
        "'../../../../etc/passwd'",
        "'/'",
        r"'\u0000\ud800'",
        "'[/bold]' || chr(27) || '[2J' || chr(8238)",
        "repeat('x', 200000)",
        "'; DROP TABLE frame; --'",
    ),
    JSON: (
        "'null'", "'[]'", "'{}'", "'7'", "'\"text\"'", "'{\"old\": 1, \"new\": {}}'", "'[1, null, {}]'",
        "('{\"new\": \"' || repeat('x', 2000000) || '\"}')::json", "(repeat('[', 5000) || repeat(']', 5000))::json",
    ),
    Boolean: ("true", "false"),
    LargeBinary: ("''", "'not a picture'", f"convert_to(repeat('x', {MOST_BYTES + 1}), 'UTF8')"),
}  # fmt: skip
"""Kind of column → values that the server takes."""


def values_for(column: object) -> tuple[str, ...]:
    kind = getattr(column.type, "impl", column.type)  # type: ignore[attr-defined]
    if isinstance(kind, Uuid):
        return ("'00000000-0000-0000-0000-000000000000'", "'ffffffff-ffff-ffff-ffff-ffffffffffff'")
    return next((values for of, values in HOSTILE.items() if isinstance(kind, of)), ())


SEED = 20261130


def look_at_all(log: Path) -> int:
    """Everything that is read of a log at start, in the ledger and by commands; how many frames there are."""
    reader = log_reader.LogReader.open(log)
    try:
        records = list(reader.records())
        json.dumps([frame_object(record) for record in records])
        assert all(row.purpose is not None for row in reader.frames())
        told: list[object] = [list(reader.notes()), list(reader.events()), reader.stats()]
        places = list(reader.places())
        for shot in (record.shot_plane for place in places for record in reader.focus_series(place)):
            assert shot is None or len(shot.plane.planes_mm) <= MOST_FRAMES
        revisions = {record.revision_id for record in records}
        said = [said for place in places for key in revisions for said in reader.steps_said(place, key)]
        told += [f"{one.at.astimezone():%d %b %H:%M}" for one in said]  # as it is shown, in the time of this place
        for job in reader.jobs():
            reader.setups(job.name)
    finally:
        reader.close()
    own = SqlLog.open(log, SetClock(NOON + timedelta(days=30)))
    try:
        assert own.unsettled_frames() == (), "frames of another station are not this one's to settle"
        for place in places:
            own.standing(place)
            own.next_setup_number(place)
            for setup in (1, 7, 8):
                own.reference(place, setup)
                own.expectation(place, setup)
                own.kept_peak(place, setup)
        for place in places:
            with suppress(LogError):  # what an act replaced may be among what was left out
                own.undo_last(place)
    finally:
        own.close()
    list(verify(log))
    return len(records) if told else 0


@pytest.fixture
def full(one: Path) -> Path:
    """A station's log with something in every column."""
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    place = log.open_place("movement", "bridge", "three-quarter", "another client")
    log.keep_peak(place, 7, KeptPeak(4.25, revision().region, 1024, NOON))
    log.keep_wish(place, {"depth_mm": 1.0})
    standing = Standing(revision(7, 3), "")
    log.arrange(place, standing, Standing(replace(revision(7, 4), hold_off_s=9.0), ""))
    wish = replace(intent(FRAMES + 1, log.save_revision(place, revision(7, 4))), series=PLANE)
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=wish.asked_at)
    log.say_of_step(place, wish.revision_id, "light key", StepWord.SKIPPED, "no grid")
    log.frame_file(wish.frame_id, replace(saved_file(FRAMES + 1), copy_path="/second disk/a.JPG"))
    log.move_frame(wish.frame_id, FrameEvent.LOST, "on the card", objects=[card_object(99)])
    log.close()
    picture = one.with_name("of the reference.JPG")
    Image.new("RGB", (30, 20)).save(picture, "JPEG")
    with closing(sqlite3.connect(one)) as connection, connection:
        of_reference = "frame_id IN (SELECT frame_id FROM reference)"
        connection.execute(f"UPDATE frame_file SET path = ? WHERE {of_reference}", (str(picture),))
    return one


def cases() -> Iterator[tuple[str, str, str]]:
    """Table, column and value: NULL, and all that the column's type takes."""
    for table in archive_schema.ArchiveTable.metadata.sorted_tables:
        if table.name not in ("archive_version", "searchable", "revision_use", "archive_told", "archive_progress"):
            for column in table.columns:
                yield from ((table.name, column.name, value) for value in ("NULL", *values_for(column)))


def without_constraints(connection: psycopg.Connection[tuple[str]]) -> None:
    """As whoever owns the archive may have left it."""
    for kind in ("c", "f", "u", "p"):
        query = "SELECT format('ALTER TABLE %s DROP CONSTRAINT %I', conrelid::regclass, conname) FROM pg_constraint"
        for (drop,) in connection.execute(
            f"{query} WHERE contype = '{kind}' AND conname ~ '^(ck|fk|uq|pk)_'"
        ).fetchall():
            connection.execute(drop)
    query = "SELECT format('ALTER TABLE %I ALTER %I DROP NOT NULL', table_name, column_name) FROM information_schema"
    for (drop,) in connection.execute(
        f"{query}.columns WHERE is_nullable = 'NO' AND table_schema = 'public' AND is_identity = 'NO'"
    ).fetchall():
        if "use_words" not in drop:
            connection.execute(drop)
    for trigger in ("frame_insert", "note_insert", "note_update", "note_delete", "overruling_insert", "job_update"):
        connection.execute(f"DROP TRIGGER tr_{trigger}_words ON {trigger.partition('_')[0]}")


SHARE = 60
"""One case in so many is tried in each run of the suite; `STILLSET_EXAMPLES=60` tries all."""


@pytest.mark.timeout(7200)
def test_no_value_of_any_column_gets_further_than_a_sentence(
    full: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    assert send(full, archive, previews=True).new["preview"] == 1
    fetch(tmp_path / "before.sqlite", archive)
    frames = look_at_all(tmp_path / "before.sqlite")
    every = list(cases())
    wanted = random.Random(SEED).sample(every, min(len(every), len(every) * examples(1) // SHARE))
    taken = whole = 0
    address = f"host=127.0.0.1 port={server.port} dbname={database} user={OWNER} password={PASSWORDS[OWNER]}"
    with psycopg.connect(address, autocommit=True) as connection:
        without_constraints(connection)
        for table, column, value in wanted:
            connection.execute(f'CREATE TABLE kept AS SELECT * FROM "{table}"')
            one_row = f'ctid = (SELECT min(ctid) FROM "{table}")'
            try:
                connection.execute(f'UPDATE "{table}" SET "{column}" = {value} WHERE {one_row}')
                taken += 1
                log = fresh_log(tmp_path / f"{taken}.sqlite", SetClock())
                log.close()
                with suppress(LogError):
                    fetch(tmp_path / f"{taken}.sqlite", archive, previews=True)
                whole += look_at_all(tmp_path / f"{taken}.sqlite") == frames
            except psycopg.Error:  # the server's own type refuses the value
                continue
            except Exception as error:
                raise AssertionError(f"{table}.{column} = {value[:60]}: {error!r}") from error
            finally:
                connection.execute(f'DELETE FROM "{table}"')
                connection.execute(f'INSERT INTO "{table}" SELECT * FROM kept')
                connection.execute("DROP TABLE kept")
    assert taken > len(wanted) // 2 and whole > taken // 3
    assert {path.suffix for path in tmp_path.glob("*.previews/*")} == {".jpg"}


def test_paths_of_fetched_frames_lead_nowhere_outside_the_logs_folder(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive)
    outside, inside = tmp_path / "outside", tmp_path / "log"
    for folder in (outside, inside, inside / "pictures"):
        folder.mkdir()
    for folder in (outside, inside / "pictures"):
        (folder / "STRANGER.JPG").write_bytes(b"\xff\xd8\xff\xe0 a picture")
    (inside / "link").symlink_to(outside)
    paths = [
        outside / "a.JPG",
        inside / "link" / "a.JPG",
        inside / ".." / "outside" / "a.JPG",
        inside / "pictures/a.JPG",
    ]
    for number, path in enumerate(paths, 1):
        of_frame = f"frame_id IN (SELECT frame_id FROM frame WHERE number = {number})"
        server.ask(f"UPDATE frame_file SET path = '{path}' WHERE {of_frame}", database)
    for place in (outside, inside / "pictures"):
        (place / "a.JPG").write_bytes(b"not what was saved")
    fetch(inside / "two.sqlite", archive)
    found = [(trouble.number, trouble.path) for trouble in verify(inside / "two.sqlite")]
    assert found == [(4, str(paths[3]))], "the one that lies in the log's folder is looked at, and no folder is walked"
    reader = log_reader.LogReader.open(inside / "two.sqlite")
    shown = {record.number: record.picture for record in reader.records()}
    assert [shown[number] for number in range(1, 5)] == [None, None, None, str(paths[3])]
    assert [record.files[0].path for record in reader.records()][:4] == [str(path) for path in paths]
    reader.close()


def test_picture_of_a_reference_is_opened_only_in_the_logs_folder(one: Path, tmp_path: Path, archive: str) -> None:
    send(one, archive)
    fetch(tmp_path / "two.sqlite", archive)
    for path, known in ((one, True), (tmp_path / "two.sqlite", False)):
        log = SqlLog.open(path, SetClock(NOON + timedelta(days=5)))
        place = log.open_place("Movement", "Bridge", "three-quarter")
        assert (log.reference(place, 7) is not None) == known
        log.close()


def test_previews_overwrite_nothing(one: Path, tmp_path: Path, server: Server, database: str, archive: str) -> None:
    send(one, archive)
    (frame_id,) = {reference for reference in server.ask("SELECT frame_id FROM reference", database).split()}
    with io.BytesIO() as small:
        Image.new("RGB", (30, 20)).save(small, "JPEG")
        jpeg = small.getvalue()
    server.ask(f"INSERT INTO archive_preview VALUES ('{frame_id}', '\\x{jpeg.hex()}')", database)
    folder, elsewhere = tmp_path / "two.sqlite.previews", tmp_path / "mine.txt"
    folder.mkdir(mode=0o700)
    elsewhere.write_text("mine")
    mine = folder / f"{frame_id}.jpg"
    for make in (lambda: mine.write_text("mine"), lambda: mine.symlink_to(elsewhere)):
        mine.unlink(missing_ok=True)
        make()
        assert fetch(tmp_path / "two.sqlite", archive, previews=True).previews == 0
        assert mine.read_text() == "mine"
    mine.unlink()
    assert fetch(tmp_path / "two.sqlite", archive, previews=True).previews == 1
    assert mine.read_bytes() == marked_as_preview(jpeg, frame_id, (30, 20))


def test_far_future_act_of_a_stranger_moves_no_time_of_ours(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive)
    server.ask("UPDATE event SET at = '9999-12-31 23:59:59.999999Z' WHERE kind = 'mark'", database)
    told = fetch(tmp_path / "two.sqlite", archive).told
    assert len(told) == FRAMES // 3 and all("event" in line and "its at can't be meant" in line for line in told)
    log = SqlLog.open(tmp_path / "two.sqlite", SetClock(NOON + timedelta(days=5)))
    frame_id = server.ask("SELECT frame_id FROM frame WHERE number = 1", database)
    log.mark(frame_id, "hero")
    log.close()
    with closing(sqlite3.connect(tmp_path / "two.sqlite")) as connection:
        assert connection.execute("SELECT max(at) FROM event").fetchone()[0] < "2027"


def test_a_time_of_a_stranger_that_has_no_local_time_leaves_out_its_row(
    full: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(full, archive)
    new = """regexp_replace(payload::text, '"at": *"[^"]*"', '"at": "9999-12-31T23:59:59+00:00"')::json"""
    server.ask(f"UPDATE event SET payload = {new} WHERE kind = 'step'", database)
    (told,) = fetch(tmp_path / "two.sqlite", archive).told
    assert "what it says of a step can't be meant" in told
    assert look_at_all(tmp_path / "two.sqlite") == FRAMES + 1


KEY = "0190c1f0-0000-7000-8000-000000000001"


@pytest.mark.parametrize(
    ("at", "meant"),
    [
        (NOON, True),
        (NOON - timedelta(days=300), True),
        (NOON + timedelta(hours=23), True),
        (NOON + timedelta(hours=25), False),
        (NOON.replace(year=9999), False),
        (NOON.replace(year=1989), False),
        (NOON.replace(year=1), False),
        (NOON.replace(tzinfo=None), False),
    ],
)
def test_a_time_in_a_payload_is_none_after_its_event_nor_before_digital_cameras(at: datetime, meant: bool) -> None:
    keys = {name: KEY for name in ("job_id", "piece_id", "setup_id", "revision_id")}
    said = {"word": "skipped", "reason": "no grid", "at": at.isoformat()}
    now = said | {"at": NOON.isoformat()}
    peak = {"region": [0.1, 0.1, 0.2, 0.2], "contrast": 4.25, "live_width_px": 1024, "seen_at": at.isoformat()}
    for kind, payload in (
        ("step", {"step": "light key", "old": None, "new": said}),
        ("step", {"step": "light key", "old": said, "new": now}),
        ("focus peak", peak),
    ):
        row = {"event_id": KEY, "at": NOON, "kind": kind, "text": "", "frame_id": None, "payload": keys | payload}
        assert (strangers.fault(table_of(EventTable), row) == "") == meant


def test_no_archive_has_previews_of_frames_of_our_own(
    full: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    """Else whoever may write to the archive chooses what is shown here in place of a lost picture."""
    send(full, archive, previews=True)
    assert fetch(full, archive, previews=True).previews == 0 and not previews_folder(full).exists()
    assert fetch(tmp_path / "two.sqlite", archive, previews=True).previews == 1


@pytest.mark.parametrize("value", ["(repeat('[', 5000) || repeat(']', 5000))::json", "repeat('9', 5000)::json", "'7'"])
def test_json_that_python_cant_hold_leaves_out_the_row_alone(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str, value: str
) -> None:
    send(one, archive)
    server.ask(f"UPDATE camera_reading SET settings = {value} WHERE ctid = '(0,1)'", database)
    server.ask(f"UPDATE event SET payload = {value} WHERE kind = 'mark'", database)
    told = fetch(tmp_path / "two.sqlite", archive).told
    assert sorted(line.split()[7] for line in told) == ["camera_reading", *["event"] * (FRAMES // 3)]
    assert look_at_all(tmp_path / "two.sqlite") == FRAMES
    assert not any(send(tmp_path / "two.sqlite", archive).told)


@pytest.mark.parametrize("told", [{"plane_mm": 1e308}, {"series_step_mm": 5e-324}, {"series_frames": 2**31 - 1}])
def test_a_plane_that_no_series_has_is_told_as_a_fault(told: dict[str, float]) -> None:
    frame = table_of(FrameTable)
    row: dict[str, object] = {column.name: None if column.nullable else 1 for column in frame.columns}
    row |= plane_columns(PLANE)
    assert strangers.fault(frame, row) == ""
    assert strangers.fault(frame, row | told) == "its plane in a focus series can't be meant"
