"""What a frame costs in the log: `SqlLog` against bare sqlite3 that writes the same rows in the same transactions.

Both work on copies of one log, in turn, a few frames each, with the same settings (WAL, synchronous=FULL); the bare
side replays the INSERTs and UPDATEs that ours made, already worked out, and commits where ours did. It has none of the
triggers that guard our rows and keep the index of words and the uses of set-ups.

    pytest tests/benchmarks/test_log_cost.py -s
"""

from __future__ import annotations

import shutil
import sqlite3
import statistics
from pathlib import Path
from time import perf_counter
from typing import Any

from sqlalchemy import Engine, event

from storage.database.log_database import WRITER_PRAGMAS
from storage.writing.log import SqlLog
from tests.support.log_samples import SetClock, revision, whole_frame

ROUNDS = 30
FRAMES_A_ROUND = 5
MOST = 2.0
"""What the log may cost; the acceptance of the archive says the same of a million frames."""

Transaction = list[tuple[str, Any]]


def recorded(engine: Engine) -> list[Transaction]:
    """Fills with what the engine writes, transaction by transaction."""
    transactions: list[Transaction] = []

    @event.listens_for(engine, "before_cursor_execute")
    def _keep(connection: object, cursor: object, statement: str, parameters: Any, context: object, many: bool) -> None:
        if statement.startswith("BEGIN"):
            transactions.append([])
        elif statement.startswith(("INSERT", "UPDATE")):
            transactions[-1] += [(statement, p) for p in (parameters if many else [parameters])]

    return transactions


def replay(connection: sqlite3.Connection, transactions: list[Transaction]) -> float:
    """Seconds that bare sqlite3 takes for the same; a transaction that only reads is left out."""
    began = perf_counter()
    for transaction in transactions:
        if transaction:
            connection.execute("BEGIN IMMEDIATE")
            for statement, parameters in transaction:
                connection.execute(statement, parameters)
            connection.execute("COMMIT")
    return perf_counter() - began


def test_frame_in_the_log_costs_at_most_twice_the_bare_rows(tmp_path: Path) -> None:
    first, ours, theirs = (tmp_path / f"{name}.sqlite" for name in ("first", "ours", "bare"))
    log = SqlLog.open(first, SetClock())
    place = log.open_place("Movement", "Bridge", "top")
    revision_id = log.save_revision(place, revision())
    whole_frame(log, place, 1, revision_id)
    log.close()
    for copy in (ours, theirs):
        shutil.copy(first, copy)

    def shoot(log: SqlLog, round_: int) -> None:
        for number in range(FRAMES_A_ROUND):
            whole_frame(log, place, 2 + round_ * FRAMES_A_ROUND + number, revision_id)

    log = SqlLog.open(first, SetClock())
    with log._database.transaction() as connection:
        transactions, rounds = recorded(connection.engine), []
    for round_ in range(ROUNDS):
        shoot(log, round_)
        rounds.append(transactions[:])
        transactions.clear()
    log.close()

    log = SqlLog.open(ours, SetClock())
    bare = sqlite3.connect(theirs, isolation_level=None)
    for pragma in WRITER_PRAGMAS:
        bare.execute(f"PRAGMA {pragma}")
    for (trigger,) in bare.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
        bare.execute(f"DROP TRIGGER {trigger}")
    ours_s, bare_s = [], []
    for round_ in range(ROUNDS):
        began = perf_counter()
        shoot(log, round_)
        ours_s.append(perf_counter() - began)
        bare_s.append(replay(bare, rounds[round_]))
    log.close()
    bare.close()
    frames = 1 + ROUNDS * FRAMES_A_ROUND
    counts = [sqlite3.connect(file).execute("SELECT count(*) FROM frame_file").fetchone() for file in (ours, theirs)]
    assert counts == [(frames,), (frames,)]
    writes, rows = (sum(map(size, rounds[0])) / FRAMES_A_ROUND for size in (bool, len))
    ratio = statistics.median(ours_s) / statistics.median(bare_s)
    each_ms = statistics.median(bare_s) / FRAMES_A_ROUND * 1000
    print(f"\n{writes:.0f} transactions and {rows:.0f} statements a frame, {ours.stat().st_size / frames:.0f} bytes")
    print(f"log / bare sqlite3 = {ratio:.2f} (bare: {each_ms:.1f} ms a frame)")
    assert ratio <= MOST
