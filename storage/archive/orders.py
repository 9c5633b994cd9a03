"""Orders on their way to the archive and back: of each job the one that was read last is in force, at every station.

An order travels as the text of its table. The fetching station reads the text as it reads any file: a text that is no
order is left out, with a sentence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from sqlalchemy import Connection, delete, func, insert, select

from session.frame.ports import LogError
from session.order.order_table import MOST_BYTES, OrderFileError, order_csv, read_order
from storage.archive import strangers
from storage.archive.archive_schema import ArchiveOrder
from storage.schema.models import JobTable
from storage.schema.order_models import JobOrderTable
from storage.schema.prepared import table_of
from storage.writing import order_rows
from storage.writing.kept_order import kept_order

READ_FROM = "archive"


def send_orders(here: Connection, there: Connection) -> int:
    """Put every order that was read later than the archive's into the archive; returns how many."""
    ours = {row.job_id: row.read_at for row in here.execute(select(JobOrderTable.job_id, JobOrderTable.read_at))}
    query = select(ArchiveOrder.job_id, ArchiveOrder.read_at).where(ArchiveOrder.job_id.in_(list(ours)))
    theirs = {row.job_id: row.read_at for row in there.execute(query)} if ours else {}
    newer = [job_id for job_id, at in ours.items() if job_id not in theirs or at > theirs[job_id]]
    jobs = set(there.scalars(select(JobTable.job_id).where(JobTable.job_id.in_(newer)))) if newer else set()
    rows = []
    for job_id in newer:
        kept = kept_order(here, job_id)
        if kept is not None and job_id in jobs:
            rows.append({"job_id": job_id, "read_at": ours[job_id], "order_table": order_csv(kept.order)})
    if rows:
        there.execute(delete(ArchiveOrder).where(ArchiveOrder.job_id.in_([row["job_id"] for row in rows])))
        there.execute(insert(ArchiveOrder), rows)
    return len(rows)


def fetch_orders(there: Connection, here: Connection, job_ids: Iterable[str]) -> list[str]:
    """Bring every order of these jobs that was read later than this log's into force; tells what was left out."""
    table = table_of(ArchiveOrder)
    known = [column for column in strangers.asked_for(table) if column.name != "order_table"]
    beginning = func.left(table.c.order_table, MOST_BYTES + 1).label("order_table")
    query = select(*known, beginning).where(table.c.job_id.in_(list(job_ids)))
    ours = {row.job_id: row.read_at for row in here.execute(select(JobOrderTable.job_id, JobOrderTable.read_at))}
    names = {row.job_id: row.name for row in here.execute(select(JobTable.job_id, JobTable.name))}
    told = []
    for row in there.execute(query):
        before = ours.get(row.job_id)
        if row.read_at is None or row.job_id not in names or (before is not None and row.read_at <= before):
            continue
        name = names[row.job_id]
        try:
            order = replace(read_order(row.order_table.encode("utf-8", "replace"), ""), job=name)
            with here.begin_nested():
                order_rows.keep_order(here, order, READ_FROM, row.read_at)
        except (OrderFileError, LogError) as error:
            told.append(f"The order of {name} was left out: {str(error).splitlines()[0]}")
    return told
