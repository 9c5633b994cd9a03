"""The studio's archive with 100,000 frames: sending, fetching and searching, each beside what it is measured by.

Aims: sending takes at most twice as long as plain INSERTs of the same rows into the same tables; fetching four times as
many frames takes at most five times as long, and fetching again with nothing new a tenth; a word that stands nowhere is
looked for in the archive at most 0.5 s longer than in the log. `STILLSET_FRAMES` chooses another number of frames.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from statistics import median

import pytest
from sqlalchemy import insert, select, text

from storage.archive import archive_schema
from storage.archive.archive_database import open_to_write
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.database.log_database import open_for_reading
from storage.reading.log_reader import LogReader
from storage.reading.views import FrameFilter
from storage.schema.frame_models import CardObjectTable
from tests.support.postgres_server import Server, running_server

FRAMES = int(os.environ.get("STILLSET_FRAMES", "100000"))
SCRIPT = Path(__file__).with_name("make_a_million.py")
NOWHERE = "xylograph"


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    with running_server() as running:
        os.environ["PGPASSFILE"] = str(running.passwords)
        yield running


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Path]:
    """Logs of a quarter of the frames and of all."""
    folder = tmp_path_factory.mktemp("logs")
    made = {frames: folder / f"{frames}.sqlite" for frames in (FRAMES // 4, FRAMES)}
    for frames, path in made.items():
        subprocess.run([sys.executable, str(SCRIPT), str(path), str(frames)], check=True)
        with closing(sqlite3.connect(path)) as connection:
            connection.execute(ACTS)
            connection.commit()
    return made


ACTS = """INSERT INTO event (event_id, at, kind, text, frame_id, payload)
    SELECT lower(hex(randomblob(16))), asked_at, 'mark', 'marked', frame_id, json_object('old', NULL, 'new', mark)
    FROM frame WHERE mark IS NOT NULL"""


def seconds(step: Callable[[], object]) -> float:
    began = time.perf_counter()
    step()
    return time.perf_counter() - began


def plainly(log: Path, address: str) -> float:
    """Seconds of INSERTs of all rows of the log, table after table, 1,000 rows in a transaction, without triggers."""
    archive, local = open_to_write(address), open_for_reading(log)
    with archive.transaction() as there:
        archive_schema.make(there)
        for name in ("frame", "note", "overruling", "job"):
            there.execute(text(f"ALTER TABLE {name} DISABLE TRIGGER USER"))
    taken = 0.0
    for model in archive_schema.SHARED:
        table = model.metadata.tables[model.__tablename__]
        with local.transaction() as here:
            query = (
                select(table).where(CardObjectTable.frame_id.is_not(None))
                if model is CardObjectTable
                else select(table)
            )
            rows = [dict(row._mapping) for row in here.execute(query)]
        began = time.perf_counter()
        for start in range(0, len(rows), 1000):
            with archive.transaction() as there:
                there.execute(insert(table), rows[start : start + 1000])
        taken += time.perf_counter() - began
    archive.close()
    local.close()
    return taken


@pytest.mark.timeout(7200)
def test_sending_fetching_and_searching(
    logs: dict[int, Path], server: Server, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    few, many = sorted(logs)
    sent, plain, first, again = {}, {}, {}, {}
    for frames in (few, many):
        address = server.address(server.new_database())
        plain[frames] = plainly(logs[frames], server.address(server.new_database()))
        sent[frames] = seconds(lambda address=address, frames=frames: send(logs[frames], address))  # type: ignore[misc]
        empty = tmp_path / f"{frames}.sqlite"
        first[frames] = seconds(lambda address=address, empty=empty: fetch(empty, address))  # type: ignore[misc]
        again[frames] = seconds(lambda address=address, empty=empty: fetch(empty, address))  # type: ignore[misc]
    nothing_sent = seconds(lambda: send(logs[many], address))
    told = [
        f"{few} and {many} frames",
        f"sending {sent[few]:.1f} and {sent[many]:.1f} s, with nothing new {nothing_sent:.1f} s",
        f"plain INSERT {plain[few]:.1f} and {plain[many]:.1f} s: {sent[few] / plain[few]:.2f} and"
        f" {sent[many] / plain[many]:.2f} times as long",
        f"fetching {first[few]:.1f} and {first[many]:.1f} s: {first[many] / first[few]:.2f} times as long;"
        f" with nothing new {again[few]:.1f} and {again[many]:.1f} s",
    ]
    longer_s: list[float] = []
    for words in (NOWHERE, "glare edge"):
        for limit in (50, None):
            here, there = (looking_for(words, limit, log) for log in (logs[many], address))
            told.append(f"looking for {words!r}, {limit or 'all'}: log {here:.3f} s, archive {there:.3f} s")
            longer_s += [there - here] if words == NOWHERE else []
    with capsys.disabled():
        print("\n" + "\n".join(told))
    assert sent[many] <= 2 * plain[many]
    assert first[many] <= 5 * first[few]
    assert again[many] <= first[many] / 10
    assert max(longer_s) <= 0.5


def looking_for(words: str, limit: int | None, log: Path | str) -> float:
    """Seconds, the median of five."""
    reader = LogReader.open(log)
    wanted = FrameFilter(text=words)
    took = [seconds(lambda: list(reader.frames(wanted, newest_first=True, limit=limit))) for _ in range(5)]
    reader.close()
    return median(took)
