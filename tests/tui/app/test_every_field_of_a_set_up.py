"""Each field of a set-up changed in turn: it must show wherever set-ups are shown, compared, written or read back."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from contextlib import closing
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from session.set.setup import Revision, differences, same_arrangement
from session.units.value_words import name_words, value_words
from storage.reading import csv_lines, json_lines
from storage.reading.reading import LogReader
from storage.writing.log import SqlLog
from tests.support.log_samples import revision, whole_frame
from tui.commands.setup_command import change_line, description, setup
from tui.screen.ledger_text import comparison

SAMPLE = revision(1, 1)
PYTHON = re.compile(r"\w+\(\w+=|[\[{]'|\bNone\b|\bTrue\b|\bFalse\b|\d\.\d{5}")
"""Signs of a value written as Python writes it: calls with names, lists, and numbers with too many places."""


def another(name: str, value: object) -> Any:
    """A value of the same kind that differs, and is one that the field may have."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return value + 1 if isinstance(value, int) else value * 0.75
    if isinstance(value, str):
        return {"bounce": "flag", "raw+jpeg": "jpeg"}.get(value, value + " two")
    assert isinstance(value, tuple), f"no other value is known for {name}"
    return (*value, "focus locked")


def changed(thing: Any, way: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """The dataclass once for each of its fields, and of those within, with that one changed; named by its way."""
    for one in fields(thing):
        here, value = (*way, one.name), getattr(thing, one.name)
        if is_dataclass(value):
            yield from ((name, replace(thing, **{one.name: part})) for name, part in changed(value, here))
        elif isinstance(value, tuple) and value and is_dataclass(value[0]):
            for name, part in changed(value[0], here):
                yield name, replace(thing, **{one.name: (part, *value[1:])})
        elif one.name not in ("setup_number", "revision"):
            yield " ".join(here), replace(thing, **{one.name: another(one.name, value)})


CHANGED = dict(changed(SAMPLE))


def test_every_field_is_walked() -> None:
    leaves = {name.split(" ")[0] for name in CHANGED}
    assert leaves == {one.name for one in fields(Revision)} - {"setup_number", "revision"}
    assert len(CHANGED) == 5 + 9 + 7 + 6 + 4 + 4 + 11


@pytest.mark.parametrize("way", CHANGED)
def test_a_changed_field_shows_in_words(way: str) -> None:
    other = CHANGED[way]
    found = differences(SAMPLE, other)
    assert found, "differences"
    assert not same_arrangement(SAMPLE, other)
    lines = [change_line(*change) for change in found]
    shown = [set(description(one)) for one in (SAMPLE, other)]
    assert shown[0] != shown[1], "setup show"
    for told in (*lines, *shown[0], *shown[1]):
        assert not PYTHON.search(told), told
    for (name, old, new), line in zip(found, lines, strict=True):
        assert value_words(name, old) != value_words(name, new), line
        assert line.startswith(name_words(name)), line


@pytest.mark.parametrize("way", CHANGED)
def test_a_changed_field_shows_in_the_shell_in_files_and_beside_another_frame(way: str, tmp_path: Path) -> None:
    path = tmp_path / "shoot.db"
    with closing(SqlLog.open(path)) as log:
        place = log.open_place("Rings", "ring 4", "front", "")
        keys = [log.save_revision(place, one) for one in (SAMPLE, replace(CHANGED[way], revision=2))]
        frames = [whole_frame(log, place, number, key) for number, key in enumerate(keys, 1)]
    with closing(LogReader.open(path)) as reader:
        records = [found for frame in frames if (found := reader.frame(frame))]
    one, other = records
    assert other.revision == replace(CHANGED[way], revision=2), "the log"
    assert json_lines.frame_object(one)["revision"] != json_lines.frame_object(other)["revision"] | {"revision": 1}
    rows = [row for row in csv.DictReader(io.StringIO(csv_lines.header() + "".join(map(csv_lines.line, records))))]
    differing = {name for name in rows[0] if rows[0][name] != rows[1][name]}
    assert {name for name in differing if name.startswith("setup_") or name == "lights"}, "CSV"
    for name, old, new in differences(SAMPLE, CHANGED[way]):
        beside = str(comparison(one, other, 300).plain)
        assert name_words(name).split(" ")[-1] in beside and value_words(name, old)[:80] in beside, beside
        assert value_words(name, new)[:80] in beside
    asked = CliRunner().invoke(setup, ["diff", "01.1", "01.2", "--log", str(path), "--json"])
    assert [json.loads(line)["name"] for line in asked.output.splitlines()] == [
        name for name, _, _ in differences(SAMPLE, CHANGED[way])
    ]
    shown = [CliRunner().invoke(setup, ["show", label, "--log", str(path), "--json"]) for label in ("01.1", "01.2")]
    first, second = (json.loads(one.output) for one in shown)
    assert {**first, "setup": "", "revision": 0} != {**second, "setup": "", "revision": 0}, "setup show --json"
