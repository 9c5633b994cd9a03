"""The tables of a hand-over: each line is what the shipped JSON Schema says, judged by another library."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker

from session.order.client_order import Order, OrderedPiece
from session.set.client_standard import ShadowSide, Standard
from storage.handover.tables import SCHEMA, tables
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame

LINE_OF = {"frames": "frame", "set-ups": "set_up", "findings": "finding", "order": "ordered_view"}


@pytest.fixture
def found(log: SqlLog, reader: LogReader) -> dict[str, str]:
    piece = OrderedPiece("ring 1", "A-101", 21.0, None, None, "polished", ("front", "top"), (("front", "white"),))
    white = Standard("white", shadow_side=ShadowSide.LEFT, background_ev=2.0)
    log.keep_order(Order("Spring line", "Invented & Sons", pieces=(piece,), standards=(white,)))
    place = log.open_place("spring line", "ring 1", "front")
    for number in (1, 2):
        key = log.save_revision(place, replace(revision(number, 1), notes="=1+1, \u200bcold"))
        log.mark(whole_frame(log, place, number, key), "hero")
    return dict(tables(tuple(reader.records()), reader.progress("spring line")))


def lines(found: dict[str, str], name: str) -> list[dict[str, Any]]:
    return [json.loads(line) for line in found[f"{name}.jsonl"].splitlines()]


def validator(found: dict[str, str], name: str) -> Draft202012Validator:
    schema = json.loads(found[SCHEMA])
    return Draft202012Validator(schema["$defs"][LINE_OF[name]], format_checker=FormatChecker())


@pytest.mark.parametrize("name", LINE_OF)
def test_each_line_is_what_the_schema_says_and_nothing_else_passes(found: dict[str, str], name: str) -> None:
    Draft202012Validator.check_schema(json.loads(found[SCHEMA]))
    several, judge = lines(found, name), validator(found, name)
    assert several
    for line in several:
        assert list(judge.iter_errors(line)) == []
        assert not judge.is_valid({**line, "more": 1})
        for key in line:
            assert not judge.is_valid({other: value for other, value in line.items() if other != key}), key
            assert not judge.is_valid({**line, key: {"another": "kind"}}) or key == "camera", key


def test_a_set_up_tells_its_lights_as_its_frames_do(found: dict[str, str]) -> None:
    frames, set_ups = (list(csv.DictReader(io.StringIO(found[f"{name}.csv"]))) for name in ("frames", "set-ups"))
    assert [row["lights"] for row in set_ups] == [row["lights"] for row in frames]
    for light in revision().lights:
        assert light.name in set_ups[0]["lights"]


@pytest.mark.parametrize("name", LINE_OF)
def test_the_csv_has_a_row_for_each_line(found: dict[str, str], name: str) -> None:
    rows = list(csv.DictReader(io.StringIO(found[f"{name}.csv"])))
    assert len(rows) == len(lines(found, name))
    assert not [
        cell
        for row in rows
        for cell in row.values()
        if cell.startswith(("=", "+", "-", "@")) and not cell[1:2].isdigit()
    ]


def test_an_order_without_a_log_of_frames_has_tables_too(log: SqlLog, reader: LogReader, tmp_path: Path) -> None:
    log.keep_order(Order("Spring line", pieces=(OrderedPiece("ring 1", views=("front",)),)))
    told = dict(tables((), reader.progress("spring line")))
    (line,) = (json.loads(line) for line in told["order.jsonl"].splitlines())
    assert (line["done"], line["frames"], line["standard"]) == (False, [], None)
    assert told["frames.jsonl"] == told["findings.jsonl"] == told["set-ups.jsonl"] == ""
