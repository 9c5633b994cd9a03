"""Each field of a set-up changed in turn: it must show wherever set-ups are shown, compared, written or read back."""

from __future__ import annotations

import csv
import io
import json
import re
from contextlib import closing
from dataclasses import fields, replace
from datetime import date
from html import escape
from pathlib import Path

import pytest
from click.testing import CliRunner

from session.set.setup import Revision, differences, same_arrangement
from session.units.value_words import name_words, value_words
from storage.reading import csv_lines, json_lines
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.changed_set_ups import CHANGED, SAMPLE
from tests.support.log_samples import whole_frame
from tui.commands.setup_command import description, setup
from tui.paper.card_page import CardFacts, card_html
from tui.screen.ledger_text import comparison
from tui.words.setup_words import change_line

PYTHON = re.compile(r"\w+\(\w+=|[\[{]'|\bNone\b|\bTrue\b|\bFalse\b|\d\.\d{5}")
"""Signs of a value written as Python writes it: calls with names, lists, and numbers with too many places."""


def test_every_field_is_walked() -> None:
    leaves = {name.split(" ")[0] for name in CHANGED}
    assert leaves == {one.name for one in fields(Revision)} - {"setup_number", "revision"}
    assert len(CHANGED) == 5 + 9 + 12 + 13 + 4 + 4 + 15


@pytest.mark.parametrize("way", CHANGED)
def test_a_changed_field_shows_in_words(way: str) -> None:
    other = CHANGED[way]
    found = differences(SAMPLE, other)
    assert found, "differences"
    assert not same_arrangement(SAMPLE, other)
    lines = [change_line(*change) for change in found]
    shown = [set(description(one)) for one in (SAMPLE, other)]
    assert shown[0] != shown[1], "setup show"
    cards = [card_html(CardFacts("Rings", "", one, None, "stillset", date(2026, 3, 12))) for one in (SAMPLE, other)]
    assert cards[0] != cards[1], "set card"
    for name, _, new in found:
        wanted = value_words(name, new) if " " not in name else ""
        assert wanted == "\u2014" or escape(wanted) in cards[1], f"set card: {name}"
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
