"""What the program of today leaves, kept before its tables change: a small log, and the SQL of the archive's tables.

    .venv/bin/python -m tests.support.kept_schema     run it before the first line of a new column is written

Later programs must open the log and bring the archive up. `tests/storage/migrations/test_migrations.py` says what the
log holds, `tests/storage/archive/test_archive_versions.py` reads the SQL.
"""

from __future__ import annotations

import sys
from pathlib import Path

from sqlalchemy import create_mock_engine
from sqlalchemy.sql.compiler import DDLCompiler

from session.frame.states import FrameEvent
from storage import migrations
from storage.archive import archive_versions, search_tables
from storage.archive.archive_schema import ArchiveTable
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock, intent, revision, whole_frame

STORAGE = Path(__file__).parents[1] / "storage"


def log_of_today(path: Path) -> None:
    """Write a log with places, a set-up, three frames, a mark, a note, a reference and an overruling."""
    log = SqlLog.open(path, SetClock())
    bridge = log.open_place("Movement", "Bridge", "three-quarter", "an invented client")
    key = log.save_revision(bridge, revision())
    first = whole_frame(log, bridge, 1, key, overrulings={"sync": "the dark band is wanted"})
    log.note(first, "colder, and ÜBER the screw")
    log.mark(first, "hero")
    log.set_reference(bridge, 7, first)
    wheel = log.open_place("Movement", "Wheel \\ top", "top")
    whole_frame(log, wheel, 2, key, asked_at=NOON)
    cut = intent(3, key)
    log.begin_frame(cut, bridge)
    log.move_frame(cut.frame_id, FrameEvent.FIRED)
    log.move_frame(cut.frame_id, FrameEvent.LOST, text="Frame 3 fired, is not saved.")
    log.close()


def archive_of_today() -> str:
    """The statements that make the archive's tables, views and triggers, and its version."""
    said: list[str] = []

    def keep(statement: DDLCompiler, *_: object) -> None:
        said.append(str(statement.compile(dialect=engine.dialect)).strip())  # type: ignore[attr-defined]

    engine = create_mock_engine("postgresql+psycopg://", keep)
    ArchiveTable.metadata.create_all(engine, checkfirst=False)
    said += [statement.strip() for statement in (*search_tables.VIEWS, *search_tables.TRIGGERS)]
    said.append(f"INSERT INTO {archive_versions.TABLE} VALUES ('{archive_versions.HEAD}')")
    return ";\n\n".join(said) + ";\n"


def main() -> None:
    """Write both where they aren't kept yet."""
    log = STORAGE / f"migrations/logs/log-of-{migrations.HEAD}.sqlite"
    archive = STORAGE / f"archive/schemas/archive_of_{archive_versions.HEAD}.sql"
    if not log.exists():
        log_of_today(log)
        log.with_name(f"{log.name}.lock").unlink()
    if not archive.exists():
        archive.write_text(archive_of_today(), encoding="utf-8")
    sys.stdout.write(f"kept: {log.name}, {archive.name}\n")


if __name__ == "__main__":
    main()
