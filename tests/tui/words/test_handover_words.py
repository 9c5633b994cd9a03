"""A hand-over in words: what leaves, what is wrong with it, and why it stopped."""

from __future__ import annotations

import errno
import os
from dataclasses import replace
from pathlib import Path

import pytest

from session.order.client_order import DeliveredFormat, Delivery, Order
from storage.handover.handover_plan import HandoverPlan
from storage.handover.series_files import HandoverSeries
from tui.words.handover_words import (
    caution_lines,
    no_folder_text,
    no_job_text,
    not_whole_text,
    plan_head,
    plan_lines,
    whole_text,
)

PLAN = HandoverPlan(
    Order("rings\x1b[2J", delivery=Delivery(2400, 3000, file_format=DeliveredFormat.TIFF)),
    progress=None,
    records=(),
    frames=(),
    delivers=True,
    missing=("ring 1, top has no hero.",),
    cautions=("ring 1, top has no hero.",),
    faults=("No frame of rings is marked hero.",),
)


def test_a_plan_says_how_much_leaves_and_what_goes_along() -> None:
    assert "\x1b" not in plan_head(PLAN) and plan_head(PLAN).endswith(": 0 frames, originals 0 kB.")
    delivered, documents = plan_lines(PLAN)
    assert delivered == "delivered as tiff, sRGB: 2400 × 3000 px, tiff"
    assert documents.startswith("contact sheet, set cards; tables of frames, set-ups, findings; hashes")


def test_why_nothing_may_be_written_comes_first() -> None:
    assert caution_lines(PLAN) == ["! No frame of rings is marked hero.", "! ring 1, top has no hero."]


@pytest.mark.parametrize(("job", "told"), [("", "no job in this log yet"), ("ring", "no job 'ring' in this log")])
def test_a_job_that_is_not_there_is_named(job: str, told: str) -> None:
    assert told in no_job_text(job)


def test_a_full_disk_says_that_what_is_there_is_right_and_how_it_goes_on(tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    told = not_whole_text(tmp_path, "out", OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), "the same command")
    assert told == "out is not whole yet: No space left on device. What is there is right; the same command goes on."


def test_where_nothing_is_there_nothing_goes_on(tmp_path: Path) -> None:
    told = not_whole_text(tmp_path / "out", "out", PermissionError(errno.EACCES, "Permission denied"), "the same")
    assert told == "Nothing could be written to out: Permission denied. Name another folder."


def test_why_a_folder_can_not_be_looked_at_comes_before_its_long_path() -> None:
    error = PermissionError(errno.EACCES, "Permission denied", "/disk/of/another")
    assert no_folder_text(error, None) == "Permission denied: /disk/of/another."
    assert no_folder_text(error, Path("/" + "a" * 300)).startswith("Permission denied: /aaa")
    assert no_folder_text(OSError("its disk is gone"), None) == "its disk is gone."


def test_a_series_and_its_table_are_among_what_would_be_written() -> None:
    series = HandoverSeries("A-101_ring_1", (), (), "", b"a preview")
    (line, _, documents) = plan_lines(replace(PLAN, series=(series,)))
    assert line == "series/A-101_ring_1: 0 planes in 0 files, with their table, and the preview of the whole"
    assert "findings, planes; hashes" in documents
    assert whole_text("out", 1, 1) == "out: 1 frame handed over, 1 file."
