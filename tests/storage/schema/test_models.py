"""Tables of jobs and set-ups: a revision that can't be is refused by the database itself."""

from __future__ import annotations

import sqlite3

import pytest


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("exposure_s", 0),
        ("exposure_s", -0.01),
        ("f_number", 0),
        ("iso", -1),
        ("focal_length_mm", 0),
        ("magnification", -0.1),
        ("hold_off_s", -1),
        ("blur_limit_px", 0),
        ("region_width_fraction", 0),
        ("region_left_fraction", 0.95),
        ("exposure_s", None),
        ("working_distance_mm", -50),
        ("camera_height_mm", 0),
    ],
)
def test_revision_that_cannot_be_is_refused(raw: sqlite3.Connection, column: str, value: float | None) -> None:
    names = [row[1] for row in raw.execute("PRAGMA table_info(revision)")]
    values = dict(zip(names, raw.execute("SELECT * FROM revision").fetchone(), strict=True))
    values |= {"revision_id": "0" * 32, "number": 9, column: value}
    marks = ", ".join("?" for _ in names)
    with pytest.raises(sqlite3.IntegrityError, match="constraint failed"):
        raw.execute(f"INSERT INTO revision VALUES ({marks})", [values[name] for name in names])
