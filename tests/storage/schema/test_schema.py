"""The tables themselves: constraints bite, triggers bite, and the migrations make what the models say."""

from __future__ import annotations

import re
import sqlite3
from enum import StrEnum
from pathlib import Path

import pytest
from sqlalchemy import create_engine

from session.frame.camera_messages import Fired
from session.frame.finding import FocusVerdict, Level, RemedyKind, Verdict
from session.frame.series_plane import Approach, MovedBy
from session.frame.states import FrameState, ReleasedBy
from storage.schema import order_models, search_models, station_models
from storage.schema.models import Base

ALL_MODELS = (order_models, search_models, station_models)
"""Imported, so that the metadata knows their tables too."""


def statements(connection: sqlite3.Connection) -> dict[str, list[str]]:
    """Table or index → what stands in its brackets, by commas, sorted, without blanks that mean nothing."""
    rows = connection.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type IN ('table', 'index') AND sql IS NOT NULL"
        " AND name <> 'alembic_version' AND name NOT LIKE 'search_index%'"
    )
    return {name: sorted(re.split(r",(?![^()]*\)) ?", _in_brackets(" ".join(sql.split())))) for name, sql in rows}


def _in_brackets(sql: str) -> str:
    """A table's columns and constraints, without what a column that was added later changes at the end; else all."""
    inside = sql[sql.index("(") + 1 : sql.rindex(")")].strip()
    return inside if sql.startswith("CREATE TABLE") else sql


def test_migrations_make_what_the_models_say(raw: sqlite3.Connection, tmp_path: Path) -> None:
    engine = create_engine(f"sqlite:///{tmp_path / 'models.sqlite'}")
    Base.metadata.create_all(engine)
    engine.dispose()
    by_models = sqlite3.connect(tmp_path / "models.sqlite")
    try:
        assert {k: " ".join(v) for k, v in statements(raw).items()} == {
            k: " ".join(v) for k, v in statements(by_models).items()
        }
    finally:
        by_models.close()


def test_every_constraint_has_a_name_and_every_quantity_its_unit() -> None:
    prefixes = {"PrimaryKeyConstraint": "pk_", "ForeignKeyConstraint": "fk_", "UniqueConstraint": "uq_"}
    for table in Base.metadata.tables.values():
        assert table.name == table.name.lower()
        for constraint in table.constraints:
            prefix = prefixes.get(type(constraint).__name__, "ck_")
            assert str(constraint.name).startswith(f"{prefix}{table.name}"), (table.name, constraint.name)
        for index in table.indexes:
            assert str(index.name).startswith((f"ix_{table.name}", f"uq_{table.name}"))
    pure_numbers = {
        "f_number",
        "iso",
        "magnification",
        "pupil_magnification",
        "dioptres",
        "converter",
        "scale",
        "value",
        "limit_value",
        "ppi",
        "crop_ratio",
    }
    units = ("_s", "_mm", "_px", "_ev", "_deg", "_fraction", "_percent", "_de2000")
    for table in Base.metadata.tables.values():
        for column in table.columns:
            if type(column.type).__name__ == "Float" and column.name not in pure_numbers:
                assert column.name.endswith(units), f"{table.name}.{column.name}"


@pytest.mark.parametrize(
    ("constraint", "words"),
    [
        ("ck_frame_state_known", FrameState),
        ("ck_frame_fired_known", Fired),
        ("ck_frame_released_by_known", ReleasedBy),
        ("ck_frame_focus_verdict_known", FocusVerdict),
        ("ck_frame_verdict_known", Verdict),
        ("ck_judgement_verdict_known", FocusVerdict),
        ("ck_finding_level_known", Level),
        ("ck_finding_remedy_kind_known", RemedyKind),
        ("ck_frame_moved_by_known", MovedBy),
        ("ck_frame_approach_known", Approach),
    ],
)
def test_log_knows_every_word_of_the_shoot(raw: sqlite3.Connection, constraint: str, words: type[StrEnum]) -> None:
    sql = " ".join(row[0] for row in raw.execute("SELECT sql FROM sqlite_schema WHERE type = 'table'"))
    listed = re.search(rf"{constraint} CHECK \(\w+ IN \(([^)]*)\)", sql)
    assert listed is not None
    assert set(re.findall(r"'([^']*)'", listed[1])) == set(words)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE revision_light SET position = 9",
        "UPDATE revision SET exposure_s = 1",
        "DELETE FROM revision",
        "UPDATE revision_light SET power_ev = 0",
        "DELETE FROM revision_light",
        "UPDATE revision_passive SET name = 'x'",
        "DELETE FROM revision_passive",
        "UPDATE event SET text = 'x'",
        "DELETE FROM event",
        "UPDATE finding SET value = 0",
        "DELETE FROM finding",
        "UPDATE judgement SET blur_px = 0",
        "DELETE FROM judgement",
        "UPDATE overruling SET reason = 'x'",
        "DELETE FROM overruling",
        "UPDATE camera_reading SET iso = 6400",
        "DELETE FROM camera_reading",
        "UPDATE frame SET number = 2",
        "UPDATE frame SET ambient = 1",
        "UPDATE frame SET plane_mm = 0",
        "UPDATE frame SET asked_at = '2000-01-01'",
        "UPDATE frame SET state = 'missing'",
        "DELETE FROM frame",
        "UPDATE frame_file SET sha256 = printf('%064d', 0)",
        "UPDATE frame_file SET bytes = 1",
        "DELETE FROM frame_file",
        "INSERT INTO revision_light (revision_id, position, name, power_ev, shaper, note)"
        " SELECT revision_id, 2, 'rim', 0, '', '' FROM revision",
        "INSERT INTO revision_passive (revision_id, position, kind, name, note)"
        " SELECT revision_id, 1, 'flag', 'x', '' FROM revision",
    ],
)
def test_what_is_written_once_is_never_changed(raw: sqlite3.Connection, change: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match=r"never|may change|moves no more"):
        raw.execute(change)


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE frame SET mark = 'nice'",
        "UPDATE note SET text = ''",
        "UPDATE job SET name_key = ''",
        "UPDATE card_object SET disposition = 'lost'",
        "UPDATE card_object SET frame_id = NULL WHERE disposition = 'saved'",
        "INSERT INTO setup VALUES ('s', 'no such job', 1, '2026-01-01')",
        "UPDATE setup SET number = 0",
        "DELETE FROM job",
        "DELETE FROM setup",
        "INSERT INTO job SELECT 'another', name, name_key, '', created_at FROM job",
        "INSERT INTO frame (frame_id, job_id, number, view_id, revision_id, camera_id, folder, stem, asked_at,"
        " released_by, state, state_text, fired) SELECT 'f', job_id, number, view_id, revision_id, camera_id, folder,"
        " stem, asked_at, released_by, 'asked', '', 'no' FROM frame",
    ],
)
def test_constraints_of_the_schema_bite(raw: sqlite3.Connection, change: str) -> None:
    with pytest.raises(sqlite3.IntegrityError, match="constraint failed"):
        raw.execute(change)


def test_nothing_in_the_file_points_nowhere(raw: sqlite3.Connection) -> None:
    assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
