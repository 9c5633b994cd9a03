"""Tables of an order: what a standard or a size can't be is refused by the database itself."""

from __future__ import annotations

import sqlite3

import pytest

IMPOSSIBLE = [
    ("framing_tolerance_percent", 0),
    ("background_tolerance_ev", -0.1),
    ("exposure_tolerance_ev", 0),
    ("colour_tolerance_de2000", 0),
    ("size_tolerance_percent", 0),
    ("margin_percent", -1),
]


@pytest.mark.parametrize(("column", "value"), IMPOSSIBLE)
def test_a_standard_that_nothing_can_meet_is_refused(raw: sqlite3.Connection, column: str, value: float) -> None:
    into = f"INSERT INTO client_standard (standard_id, job_id, name, name_key, {column})"
    with pytest.raises(sqlite3.IntegrityError, match="constraint failed"):
        raw.execute(f"{into} SELECT 's', job_id, 'x', 'x', {value} FROM job")
    assert raw.execute(f"{into} SELECT 's', job_id, 'x', 'x', 5 FROM job").rowcount == 1


def test_two_standards_of_one_name_in_a_job_are_refused(raw: sqlite3.Connection) -> None:
    into = "INSERT INTO client_standard (standard_id, job_id, name, name_key)"
    raw.execute(f"{into} SELECT 's', job_id, 'White', 'white' FROM job")
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        raw.execute(f"{into} SELECT 't', job_id, 'WHITE', 'white' FROM job")


def test_an_order_is_of_a_job_that_is_there(raw: sqlite3.Connection) -> None:
    columns = [row for row in raw.execute("PRAGMA foreign_key_list(job_order)")]
    assert {(row[2], row[3]) for row in columns} == {("job", "job_id")}
