"""Orders in the archive: sent with their jobs, fetched, and the one that was read last is in force everywhere."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from session.order.client_order import Order
from session.order.order_table import MOST_BYTES
from storage.archive.fetch import fetch
from storage.archive.send import send
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import NOON, SetClock
from tests.support.order_samples import AGREED
from tests.support.postgres_server import OWNER, Server

WANTED = replace(AGREED, job="Movement")


def keep(log: Path, order: Order, days: int) -> None:
    with closing(SqlLog.open(log, SetClock(NOON + timedelta(days=days)))) as writer:
        writer.keep_order(order)


def order_of(log: Path) -> Order | None:
    with closing(LogReader.open(log)) as reader:
        progress = reader.progress("movement")
        return progress.order if progress else None


def test_the_order_read_last_is_in_force_at_every_station(one: Path, tmp_path: Path, archive: str) -> None:
    other = tmp_path / "other.sqlite"
    keep(one, WANTED, days=2)
    assert send(one, archive).new["order"] == 1
    assert send(one, archive).new["order"] == 0
    fetch(other, archive)
    assert order_of(other) == order_of(one) == WANTED
    later = replace(WANTED, pieces=WANTED.pieces[:1], standards=WANTED.standards, credit="Another photographer")
    keep(other, later, days=3)
    send(other, archive)
    fetch(one, archive)
    assert order_of(one) == order_of(other) != WANTED
    keep(one, WANTED, days=1)  # by a clock that is behind: it was read after the other had come, so it wins
    fetch(one, archive)
    assert order_of(one) == WANTED
    assert send(one, archive).new["order"] == 1
    fetch(other, archive)
    assert order_of(other) == WANTED


def test_what_is_no_order_is_left_out_and_said(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    keep(one, WANTED, days=2)
    send(one, archive)
    worse = "'piece,view' || chr(10) || '=1+1,top'"
    server.ask(f"SET ROLE {OWNER}; UPDATE archive_order SET order_table = {worse}", database)
    told = fetch(tmp_path / "other.sqlite", archive).told
    assert any("The order of Movement was left out: Row 2, column piece: " in sentence for sentence in told), told
    assert order_of(tmp_path / "other.sqlite") is None


def test_an_order_that_is_too_long_is_left_out_and_said(
    one: Path, tmp_path: Path, server: Server, database: str, archive: str
) -> None:
    keep(one, WANTED, days=2)
    send(one, archive)
    server.ask(f"SET ROLE {OWNER}; UPDATE archive_order SET order_table = repeat('a', {MOST_BYTES + 2})", database)
    told = fetch(tmp_path / "other.sqlite", archive).told
    assert any("The order of Movement was left out: The file has more than 32 MB" in sentence for sentence in told), (
        told
    )
