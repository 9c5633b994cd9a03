"""Writes a log of a million invented frames: ten years of one table, 2,000 jobs of 500 frames.

Rows are made by rule and put in by the tables' own INSERTs with all triggers at work; only durability is left out.

    python tests/benchmarks/make_a_million.py LOG [FRAMES]
"""

from __future__ import annotations

import hashlib
import json
import random
import sqlite3
import sys
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from storage.writing.log import SqlLog

FRAMES_A_JOB, PIECES_A_JOB, REVISIONS_A_JOB = 500, 10, 20
PIECES = ["bridge", "balance wheel", "crown", "dial", "ring", "bezel", "hallmark", "sort of 12 point", "clasp", "lens"]
SHAPERS = ["tube", "snoot", "softbox", "grid", "diffuser", ""]
WORDS = [
    "colder", "warmer", "dust", "scratch", "hallmark", "edge", "glare", "again", "turned", "left", "right", "clean",
    "brushed", "polished", "client",
]  # fmt: skip
MARKS = ["hero", "select", "alternate", "kill"]
START = datetime(2016, 1, 4, 8, tzinfo=UTC)
SEED = 20261124


def key(*parts: object) -> str:
    """A key that is the same at every run."""
    return hashlib.md5(repr(parts).encode(), usedforsecurity=False).hexdigest()


def at(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%d %H:%M:%S.%f")


def make(path: Path, frames: int = 1_000_000) -> None:
    """Make the log; a file that is there is replaced."""
    path.unlink(missing_ok=True)
    SqlLog.open(path).close()
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=OFF", "cache_size=-400000"):
        connection.execute(f"PRAGMA {pragma}")
    chance = random.Random(SEED)
    connection.execute("BEGIN")
    connection.execute(
        f"INSERT INTO camera VALUES ('{key('camera')}', 'INVENTED-1', 'invented', ?, ?)", (at(START),) * 2
    )
    jobs = -(-frames // FRAMES_A_JOB)
    for number in range(jobs):
        began = START + timedelta(days=3650) * number / jobs
        _job(connection, chance, number, began, min(FRAMES_A_JOB, frames - number * FRAMES_A_JOB))
    connection.execute("COMMIT")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.execute("ANALYZE")
    connection.close()


def _put(connection: sqlite3.Connection, table: str, rows: Sequence[tuple[object, ...]]) -> None:
    """Into the table's first columns; those that later versions added keep what they hold by default."""
    if rows:
        columns = [column[1] for column in connection.execute(f'PRAGMA table_info("{table}")')][: len(rows[0])]
        marks = ", ".join("?" * len(columns))
        connection.executemany(f'INSERT INTO "{table}" ({", ".join(columns)}) VALUES ({marks})', rows)


def _job(connection: sqlite3.Connection, chance: random.Random, number: int, began: datetime, frames: int) -> None:
    job, made, name = key("job", number), at(began), f"order {number:04d}"
    _put(connection, "job", [(job, name, name, f"invented client {number % 150}", made)])
    pieces = [(key("piece", number, n), job, f"{PIECES[n]} {number}", f"{PIECES[n]} {number}", made) for n in range(10)]
    _put(connection, "piece", pieces)
    views = [key("view", number, n) for n in range(PIECES_A_JOB)]
    _put(connection, "view", [(view, piece[0], "top", "top", made) for view, piece in zip(views, pieces, strict=True)])
    setup = key("setup", number)
    _put(connection, "setup", [(setup, job, 1, made)])
    revisions = [key("revision", number, n) for n in range(REVISIONS_A_JOB)]
    for n, revision in enumerate(revisions):
        ratio = round(chance.uniform(0.1, 2.0), 2)
        row = (revision, setup, n + 1, views[n % PIECES_A_JOB], made, 1 / 160, 11.0, 64, "Flash", "raw+jpeg",
               "invented 105 mm", 105.0, ratio, 1.0, 0, 0.0, 0.0, 1.0, 0.4, 0.4, 0.2, 0.2, "body", "", "", 2.0, 2.0,
               None, "letters", "", None, "[]", chance.choice(WORDS), 2, 0)  # fmt: skip
        _put(connection, "revision", [row])
        lights = [
            (revision, 0, "key", -chance.randrange(7) / 1.0, 600.0, 45.0, 30.0, chance.choice(SHAPERS), ""),
            (revision, 1, chance.choice(["fill", "rim", "card light"]), -3.0, 400.0, 120.0, 20.0, "", ""),
        ]
        _put(connection, "revision_light", lights)
    rows: dict[str, list[tuple[object, ...]]] = {t: [] for t in TABLES}
    for n in range(frames):
        _frame(rows, chance, (number, n), job, views, revisions, began + timedelta(seconds=50 * n))
    for table in TABLES:
        _put(connection, table, rows[table])


TABLES = ("frame", "card_object", "frame_file", "camera_reading", "judgement", "finding", "note", "overruling")
SETTINGS = json.dumps({n: {"value": v, "shown": str(v)} for n, v in {"exposure_s": 0.00625, "iso": 64}.items()})


def _frame(
    rows: dict[str, list[tuple[object, ...]]],
    chance: random.Random,
    which: tuple[int, int],
    job: str,
    views: list[str],
    revisions: list[str],
    asked: datetime,
) -> None:
    number, n = which
    frame, card, then = key("frame", *which), key("card", *which), at(asked)
    step = n * REVISIONS_A_JOB // FRAMES_A_JOB
    verdict = chance.choices(["sharp", "soft", "missed", "unjudged"], [80, 10, 8, 2])[0]
    mark = chance.choice(MARKS) if chance.random() < 0.15 else None
    flaw = "flawed" if chance.random() < 0.05 else "clean"
    by = "body" if chance.random() < 0.01 else "tool"
    rows["frame"].append((frame, job, n + 1, views[step % PIECES_A_JOB], revisions[step], key("camera"), "/pictures",
                          f"{n + 1:04d}-top-01.{step + 1}", then, by, then, then, None, "logged", "", "yes", verdict,
                          flaw, mark))  # fmt: skip
    name = f"STIL{n + 1:04d}.JPG"
    rows["card_object"].append((card, key("camera"), f"/store/{number}", name, 9_000_000, None, "saved", frame, then))
    path = f"/pictures/order_{number:04d}/{n + 1:04d}-top-01.{step + 1}.JPG"
    digest = key("sha", *which) * 2
    rows["frame_file"].append((frame, 0, "jpeg", path, 9_000_000, digest, then, card))
    rows["camera_reading"].append((frame, 0, then, 0.00625, 11.0, 64, SETTINGS))
    rows["judgement"].append((frame, 0, then, verdict, 1.2, 0.3, 0.1, 0.5, 0.5, 0.5, ""))
    if verdict in ("soft", "missed"):
        text = "Sharpest 0.3 mm behind the region."
        rows["finding"].append((frame, 0, 0, then, "focus", "caution", text, 4.2, 2.0, "px", None, "", "{}", 0.0))
    if chance.random() < 0.05:
        words = " ".join(chance.choices(WORDS, k=4)) + (f" serial {number * 1000 + n}" if n % 7 == 0 else "")
        rows["note"].append((key("note", *which), frame, words, then))
    if chance.random() < 0.01:
        rows["overruling"].append((frame, "sync", f"{chance.choice(WORDS)} band wanted", then))


if __name__ == "__main__":
    make(Path(sys.argv[1]), *(int(number) for number in sys.argv[2:]))
