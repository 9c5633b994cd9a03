"""An archive of an older stillset is brought up whole or not at all; a newer one is refused in words, untouched."""

from __future__ import annotations

import shutil
from dataclasses import replace
from datetime import timedelta
from itertools import product
from pathlib import Path

import pytest

from session.frame.ports import LogError
from session.frame.states import FrameEvent
from session.set.setup import SD_OF_PLACE
from storage.archive import archive_versions
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.archive.status import status
from storage.reading.log_reader import LogReader
from storage.schema.frame_models import plane_columns
from storage.writing.log import SqlLog
from tests.support.kept_schema import archive_of_today
from tests.support.log_samples import NOON, SetClock, intent, revision, saved_file
from tests.support.postgres_server import LOOKER, OWNER, Server
from tests.support.station_logs import FRAMES

SCHEMAS = Path(__file__).parent / "schemas"

SHAPE = """
SELECT 'column', table_name, column_name, data_type, is_nullable FROM information_schema.columns
    WHERE table_schema = 'public'
UNION ALL SELECT 'constraint', conrelid::regclass::text, conname, pg_get_constraintdef(oid), '' FROM pg_constraint
    WHERE connamespace = 'public'::regnamespace
UNION ALL SELECT 'index', tablename, indexname, indexdef, '' FROM pg_indexes WHERE schemaname = 'public'
UNION ALL SELECT 'view', viewname, '', definition, '' FROM pg_views WHERE schemaname = 'public'
UNION ALL SELECT 'trigger', tgrelid::regclass::text, tgname, pg_get_triggerdef(oid), '' FROM pg_trigger
    WHERE NOT tgisinternal
UNION ALL SELECT 'function', proname, '', prosrc, '' FROM pg_proc WHERE pronamespace = 'public'::regnamespace
ORDER BY 1, 2, 3, 4"""


def made_before(server: Server, database: str, version: str) -> None:
    """The archive as the stillset of that version left it, empty, owned by the station's role."""
    server.ask(f"SET ROLE {OWNER}; {(SCHEMAS / f'archive_of_{version}.sql').read_text()}", database)


def numbers(log: Path | str) -> dict[int, list[tuple[str, ...]]]:
    """Number of each frame → where the copies of its files are."""
    reader = LogReader.open(log)
    try:
        return {frame.number: [file.copies for file in frame.files] for frame in reader.records()}
    finally:
        reader.close()


def test_every_version_leads_to_the_newest() -> None:
    assert next(iter(archive_versions.STEPS)) == archive_versions.FIRST
    assert [to for to, _ in archive_versions.STEPS.values()] == [*[*archive_versions.STEPS][1:], archive_versions.HEAD]
    assert {path.stem.rpartition("_")[2] for path in SCHEMAS.iterdir()} == set(archive_versions.STEPS)


@pytest.fixture(scope="module")
def new_shape(server: Server, stations: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    """The tables of a new archive, as a station makes it that sends to an empty database."""
    log = Path(shutil.copy(stations / "one.sqlite", tmp_path_factory.mktemp("new")))
    fresh = server.new_database()
    with pytest.MonkeyPatch.context() as here:
        here.setenv("PGPASSFILE", str(server.passwords))
        send(log, server.address(fresh))
    return server.ask(SHAPE, fresh)


def test_the_sql_that_is_kept_of_today_makes_todays_tables(server: Server, database: str, new_shape: str) -> None:
    server.ask(f"SET ROLE {OWNER}; {archive_of_today()}", database)
    assert server.ask(SHAPE, database) == new_shape


@pytest.mark.parametrize("version", archive_versions.STEPS)
def test_an_older_archive_comes_to_the_same_tables_as_a_new_one(
    version: str, one: Path, server: Server, database: str, archive: str, new_shape: str
) -> None:
    made_before(server, database, version)
    told = send(one, archive).told
    assert told == [f"The archive was brought from schema {version} to {archive_versions.HEAD}."]
    assert server.ask(SHAPE, database) == new_shape
    assert len(numbers(archive)) == FRAMES
    assert send(one, archive).told == []


def test_copies_of_frames_that_were_sent_before_follow(
    one: Path, server: Server, database: str, archive: str, tmp_path: Path
) -> None:
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    place = log.open_place("Movement", "Bridge", "three-quarter")
    wish = intent(FRAMES + 1, log.save_revision(place, revision(7, 4)))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=wish.asked_at)
    log.frame_file(wish.frame_id, replace(saved_file(FRAMES + 1), copy_path="/second disk/a.JPG"))
    log.close()
    send(one, archive)
    patch = ", ".join(f"DROP COLUMN patch_{side}_fraction" for side in ("left", "top", "width", "height"))
    begun = ", ".join(f"DROP COLUMN {name}" for name in ("ambient", "solo", *plane_columns(None)))
    later = f"ALTER TABLE frame {begun}; ALTER TABLE finding DROP COLUMN details"
    added = ("working_distance_mm", "camera_height_mm", "view_down_deg", "view_around_deg", "gap_mm")
    measured = ", ".join(f"DROP COLUMN {name}" for name in added)
    sizes = "ALTER TABLE revision_passive DROP COLUMN width_mm, DROP COLUMN height_mm"
    sizes += ", DROP COLUMN turned_deg, DROP COLUMN turned_to"
    sizes += "; ALTER TABLE revision_light DROP COLUMN width_mm, DROP COLUMN height_mm"
    for table, column in product(("revision_light", "revision_passive"), SD_OF_PLACE.values()):
        sizes += f"; ALTER TABLE {table} DROP COLUMN {column}"
    server.ask(
        f"DROP TABLE file_copy, archive_order, archive_set_picture; {later}; {sizes};"
        f" ALTER TABLE revision {measured}, {patch}",
        database,
    )
    searched = (
        "DROP FUNCTION note_uses, note_words_of_frames, note_words_of_jobs CASCADE; DROP VIEW frame_words, use_words"
    )
    kept = "DROP TABLE searchable, revision_use, archive_told; ALTER TABLE archive_station DROP COLUMN clock_ahead_s"
    views = (SCHEMAS / "archive_of_0003.sql").read_text().partition("CREATE VIEW")
    server.ask(f"{searched}; {kept}; SET ROLE {OWNER}; {''.join(views[1:]).partition('INSERT')[0]}", database)
    server.ask("UPDATE archive_version SET version = '0003'", database)
    send(one, archive)
    assert numbers(archive) == numbers(one)
    assert numbers(archive)[FRAMES + 1] == [("/second disk/a.JPG",)]
    fetch(tmp_path / "empty.sqlite", archive)
    assert numbers(tmp_path / "empty.sqlite") == numbers(one)


def test_until_a_push_an_older_archive_is_not_read_and_not_changed(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    made_before(server, database, archive_versions.FIRST)
    before = server.ask(SHAPE, database)
    for look in (lambda: LogReader.open(archive), lambda: status(one, archive), lambda: fetch(tmp_path / "n", archive)):
        with pytest.raises(
            LogError, match=r"older stillset \(schema 0003.*next `archive send` with this one brings it up"
        ):
            look()
    assert server.ask(SHAPE, database) == before
    assert not (tmp_path / "n").exists()


def test_a_newer_archive_is_refused_whole_and_not_touched(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive)
    server.ask("UPDATE archive_version SET version = '99'", database)
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    log.open_place("Another", "piece", "top")
    log.close()
    rows = server.ask("SELECT count(*) FROM job", database)
    for act in (
        lambda: send(one, archive),
        lambda: fetch(tmp_path / "n", archive),
        lambda: status(one, archive),
        lambda: LogReader.open(archive),
    ):
        with pytest.raises(LogError, match=r"made by a newer stillset \(schema 99, this one knows .*use the newer one"):
            act()
    assert server.ask("SELECT count(*) FROM job", database) == rows
    assert not (tmp_path / "n").exists()


def test_a_station_that_was_pushing_when_the_archive_was_brought_up_stops_at_the_next_batch(
    one: Path, server: Server, database: str, archive: str
) -> None:
    send(one, archive)
    trap = "CREATE FUNCTION newer() RETURNS trigger AS $$ BEGIN UPDATE archive_version SET version = '99';"
    server.ask(f"{trap} RETURN NULL; END $$ LANGUAGE plpgsql", database)
    server.ask("CREATE TRIGGER newer AFTER INSERT ON job EXECUTE FUNCTION newer()", database)
    server.ask(f"GRANT ALL ON ALL TABLES IN SCHEMA public TO {OWNER}", database)
    log = SqlLog.open(one, SetClock(NOON + timedelta(days=2)))
    log.open_place("Another", "piece", "top")
    log.close()
    with pytest.raises(LogError, match="newer stillset"):
        send(one, archive)
    assert server.ask("SELECT count(*) FROM job WHERE name = 'Another'", database) == "1"
    assert server.ask("SELECT count(*) FROM piece WHERE name = 'piece'", database) == "0"


def test_a_step_that_breaks_changes_nothing(
    one: Path, server: Server, database: str, archive: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    made_before(server, database, archive_versions.FIRST)
    before = server.ask(SHAPE, database)
    good = archive_versions.STEPS[archive_versions.FIRST][1]
    for place in range(len(good) + 1):
        broken = (*good[:place], "INSERT INTO no_such_table VALUES (1)", *good[place:])
        monkeypatch.setattr(archive_versions, "STEPS", {archive_versions.FIRST: (archive_versions.HEAD, broken)})
        with pytest.raises(LogError):
            send(one, archive)
        assert server.ask(SHAPE, database) == before
        assert server.ask("SELECT version FROM archive_version", database) == archive_versions.FIRST


def test_who_may_look_before_may_look_after(one: Path, server: Server, database: str, archive: str) -> None:
    made_before(server, database, archive_versions.FIRST)
    server.ask(f"GRANT SELECT ON ALL TABLES IN SCHEMA public TO {LOOKER}", database)
    send(one, archive)
    assert len(numbers(server.address(database, LOOKER))) == FRAMES


def test_a_role_that_may_write_rows_but_not_make_tables_is_told_who_must(
    one: Path, server: Server, database: str, archive: str
) -> None:
    made_before(server, database, archive_versions.FIRST)
    server.ask(f"GRANT ALL ON ALL TABLES IN SCHEMA public TO {LOOKER}", database)
    before = server.ask(SHAPE, database)
    with pytest.raises(LogError, match="may not change its tables: whoever made it sends first"):
        send(one, server.address(database, LOOKER))
    assert server.ask(SHAPE, database) == before
    send(one, archive)
    assert len(numbers(archive)) == FRAMES
