"""Frames as CSV: read back by Python's own reader and by the two steps that the module names, whatever was typed."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.frame.ports import Place
from session.frame.states import FrameEvent
from storage.reading import csv_lines
from storage.reading.log_reader import LogReader
from storage.writing.log import SqlLog
from tests.support.examples import examples
from tests.support.hostile_texts import NASTY, mixtures
from tests.support.in_process import stillset
from tests.support.log_samples import MISSED, PLANE, READING, intent, revision, saved_file, whole_frame

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a cell must not begin with. Source: OWASP, "CSV Injection", the full-width forms included."""

ATTACKS = (
    *("=1+1", "+1", "-2+3+cmd|' /C calc'!A0", "@SUM(1)", "\t=1", "\r=1", " =1", "'=1", "''", '"=1', 'a";=1', "a,=1"),
    *("a;=1", "a; -1", "x|@1", "＝1", "a\n=1", "\\n=1", "\\", "\\\\u001b", "\x1b[2J", "\u202e=1", "\udcff", "𠮷"),
)


def text_of(cell: str) -> str:
    """The way back, as the module's docstring tells it, by other means than the module's own."""
    without = re.sub("(^|[,;|\"])'", lambda found: found[1], cell)
    named = {"\\": "\\", "n": "\n", "r": "\r", "t": "\t"}

    def resolved(found: re.Match[str]) -> str:
        return chr(int(found[1][1:], 16)) if found[1][0] in "uU" else named[found[1]]

    return re.sub(r"\\(u[0-9a-f]{4}|U[0-9a-f]{8}|.)", resolved, without)


def assert_harmless(cell: str) -> None:
    """However the line is cut into cells, none begins a formula; nothing in it is obeyed by a terminal."""
    assert not [sign for sign in cell if unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Zl", "Zp")]
    for part in re.split('[,;|"]', cell):
        assert not part.lstrip(" ").startswith(FORMULA_SIGNS), cell


@pytest.mark.parametrize("text", ATTACKS)
def test_no_cell_is_a_formula_and_each_comes_back(text: str) -> None:
    written = csv_lines.cell(text)
    assert_harmless(written)
    assert text_of(written) == text


def test_plain_words_stay_as_they_are() -> None:
    for text in ("barrel 6 of 24", "Zoë & Töchter", "45° left · 30° up", "f/11, 1/200 s", "don't", "−2 EV", "/1.JPG"):
        assert csv_lines.cell(text) == text


@settings(max_examples=examples(100), database=None)
@given(st.text(st.characters(exclude_categories=[])) | st.text("='\\;,|\"+-@ n\n", max_size=12))
def test_any_text_comes_back(text: str) -> None:
    written = csv_lines.cell(text)
    assert_harmless(written)
    assert text_of(written) == text


def test_hostile_mixtures_come_back() -> None:
    for text in mixtures(2000, seed=6):
        written = csv_lines.cell(text)
        assert_harmless(written)
        assert text_of(written) == text


def rows(printed: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(printed, newline="")))


def test_a_frame_is_a_row_with_names_and_units(log: SqlLog, reader: LogReader, place: Place) -> None:
    wish = intent(7, log.save_revision(place, revision()), overrulings={"sync": "=on purpose"})
    log.begin_frame(wish, place)
    log.frame_reading(wish.frame_id, READING)
    log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=wish.asked_at)
    file = replace(saved_file(7), copy_path="/second disk/0007.JPG")
    log.frame_file(wish.frame_id, file)
    log.frame_judged(wish.frame_id, [], MISSED)
    log.note(wish.frame_id, "first\nline")
    log.note(wish.frame_id, "@second")
    (frame,) = reader.records()
    printed = csv_lines.header() + csv_lines.line(frame)
    assert printed.count("\r\n") == 2 and "\n" not in printed.replace("\r\n", "")
    (row,) = rows(printed)
    assert (row["number"], row["setup"], row["state"]) == ("7", "07.3", "receiving")
    assert (float(row["exposure_s"]), float(row["f_number"]), int(row["iso"])) == (1 / 200, 11, 100)
    assert (row["focus_verdict"], float(row["blur_px"]), float(row["defocus_mm"])) == ("missed", 4.2, 0.31)
    key = "key 1/4 (−2 EV) 620 mm ±6 mm 45° left ±1.2° · 30° up ±0.8° tube cable to the left 90 × 80 mm"
    assert row["lights"] == f"{key}; fill 1/16 (−4 EV)"
    assert row["asked_at"] == "2026-05-04T12:00:00+00:00"
    assert text_of(row["overrulings"]) == "sync: =on purpose"
    assert row["notes"] == "first\\nline;' @second"
    assert (row["files"], row["copies"], row["sha256"]) == (file.path, "/second disk/0007.JPG", file.sha256)
    assert list(row) == list(csv_lines.COLUMNS)


def test_the_command_prints_what_the_log_holds_however_hostile(tmp_path: Path) -> None:
    path = tmp_path / "log.sqlite"
    log = SqlLog.open(path)
    texts = [text for text in (*NASTY, *ATTACKS) if text.strip()]
    for number, text in enumerate(texts, 1):
        place = log.open_place("Movement", text, "top", text)
        key = log.save_revision(place, replace(revision(number, 1), notes=text))
        log.note(whole_frame(log, place, number, key), text)
    log.close()
    printed = stillset("log", "--log", str(path), "frames", "--csv")
    assert not [sign for sign in set(printed) - {"\r", "\n"} if unicodedata.category(sign) in ("Cc", "Cf", "Cs")]
    found = rows(printed)
    assert [row["number"] for row in found] == [str(number) for number in range(1, len(texts) + 1)]
    assert [text_of(row["notes"]) for row in found] == texts


def test_a_plane_of_a_focus_series_stands_in_cells_of_its_own(log: SqlLog, place: Place, reader: LogReader) -> None:
    key = log.save_revision(place, revision())
    whole_frame(log, place, 1, key)
    whole_frame(log, place, 2, key, series=PLANE)
    first, second = reader.records()
    assert (first.series, second.series, second.purpose) == (None, PLANE, "plane 3 of 7")
    (cells,) = csv.DictReader(io.StringIO(csv_lines.header() + csv_lines.line(second)))
    told = [
        cells[name] for name in ("series_id", "plane_mm", "series_frames", "series_step_mm", "moved_by", "approach")
    ]
    assert told == [PLANE.series_id, "1.76", "7", "0.88", "drive", "near"]
    (alone,) = csv.DictReader(io.StringIO(csv_lines.header() + csv_lines.line(first)))
    assert alone["series_id"] == alone["plane_mm"] == ""
