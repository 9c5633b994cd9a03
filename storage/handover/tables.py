"""The tables of a hand-over as text: frames, set-ups, findings and the order, each as CSV and as JSON Lines.

A line of JSON is what `table_schema` describes; a CSV says the same in cells, as `csv_lines` writes them. The name of a
number ends with the unit.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from session.order.client_order import OrderedPiece
from session.order.order_progress import Progress, ViewProgress
from session.order.order_table import order_csv
from session.set.setup import Revision
from storage.handover.table_schema import schema_text
from storage.reading import csv_lines, json_lines
from storage.reading.views import FrameRecord

SCHEMA = "tables.schema.json"
OF_PIECE = ("width_mm", "height_mm", "depth_mm", "surface")


def tables(
    records: Sequence[FrameRecord], progress: Progress | None, planes: Sequence[Mapping[str, Any]] = ()
) -> Iterator[tuple[str, str]]:
    """File's name and text of each table, and of the schema. planes: lines for the frames of focus series"""
    yield "frames.csv", csv_lines.header() + "".join(csv_lines.line(record) for record in records)
    yield "frames.jsonl", "".join(f"{json_lines.line(record)}\n" for record in records)
    set_ups = {record.setup: record for record in records}
    names = ("job", "setup", "lights", *csv_lines.set_up_cells(Revision()))
    yield "set-ups.csv", _csv(names, (_set_up_cells(label, record) for label, record in set_ups.items()))
    yield "set-ups.jsonl", _lines(_set_up(label, record) for label, record in set_ups.items())
    found = [_finding(record, number) for record in records for number in range(len(record.findings))]
    yield "findings.csv", _csv(FINDING, ([one[name] for name in FINDING] for one in found))
    yield "findings.jsonl", _lines(found)
    if planes:
        yield "planes.csv", planes_csv(planes)
        yield "planes.jsonl", _lines(map(dict, planes))
    if progress is not None:
        yield "order.csv", order_csv(progress.order)
        yield "order.jsonl", _lines(_view(progress, view) for view in progress.views)
    yield SCHEMA, schema_text()


PLANE = (
    "series_id", "job", "piece", "view", "setup", "position", "frame", "plane_mm", "step_mm", "depth_mm", "moved_by",
    "approach", "files",
)  # fmt: skip


def planes_csv(rows: Iterable[Mapping[str, Any]]) -> str:
    """The planes of focus series as a CSV, a line for each frame."""
    cells = (["; ".join(row[name]) if name == "files" else row[name] for name in PLANE] for row in rows)
    return _csv(PLANE, cells)


FINDING = ("job", "frame", "piece", "view", "id", "level", "value", "limit", "unit", "text", "kind")


def _set_up(label: str, record: FrameRecord) -> dict[str, Any]:
    return {"job": record.job, "setup": label, "revision": asdict(record.revision)}


def _set_up_cells(label: str, record: FrameRecord) -> list[csv_lines.Cell]:
    cells = csv_lines.set_up_cells(record.revision).values()
    return [record.job, label, csv_lines.lights_cell(record.revision), *cells]


def _finding(record: FrameRecord, number: int) -> dict[str, Any]:
    of = {"job": record.job, "frame": record.number, "piece": record.piece, "view": record.view}
    return {**of, **json_lines.finding_object(record.findings[number])}


def _view(progress: Progress, view: ViewProgress) -> dict[str, Any]:
    order, piece = progress.order, view.piece
    standard = order.standard_of(_with_standards(progress, piece), view.view)
    return {
        "job": order.job,
        "client": order.client,
        "due": order.due_on.isoformat() if order.due_on else None,
        "piece": piece.name,
        "article_number": piece.article_number,
        **{f"piece_{name}" if name.endswith("_mm") else name: getattr(piece, name) for name in OF_PIECE},
        "view": view.view,
        "standard": asdict(standard) if standard else None,
        "wanted": view.wanted,
        "done": view.is_done,
        "frames": [frame.number for frame in view.frames],
        "heroes": list(view.heroes),
    }


def _with_standards(progress: Progress, piece: OrderedPiece) -> OrderedPiece:
    """The piece as the order has it now; a piece whose views were all dropped stands as it is."""
    return next((one for one in progress.order.pieces if one.name == piece.name), piece)


def _lines(objects: Iterable[dict[str, Any]]) -> str:
    return "".join(f"{json.dumps(json_lines.finite(one), ensure_ascii=True, allow_nan=False)}\n" for one in objects)


def _csv(names: Iterable[str], rows: Iterable[Iterable[csv_lines.Cell]]) -> str:
    return csv_lines.row(names) + "".join(map(csv_lines.row, rows))
