"""Parts of the screens as lines of text: what is cut where the room is short."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from session.frame.finding import CheckId, Finding, FlawKind, FocusVerdict, Level
from tests.support.bench_events import COMING, FOUND, judged, model_after, released
from tui.screen import panels


@pytest.mark.parametrize("width", [39, 40, 60])
def test_a_line_of_the_newest_frames_keeps_set_up_and_mark_and_cuts_the_words_first(width: int) -> None:
    moved = Finding(CheckId.DRIFT, Level.CAUTION, "All of the picture moved.", kind=FlawKind.CAMERA_MOVED)
    model = model_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4, checks=(moved,)), *released(2))
    model.frames["f1"].setup, model.frames["f1"].mark = "01.2", "hero"
    lines = [line.plain for line in panels.ledger_list(model, width, 8)]
    assert all(len(line) <= width for line in lines)
    (line,) = (line for line in lines if "01.2" in line)
    assert line.endswith("hero") and "● sharp, camera" in line


@pytest.mark.parametrize(
    ("names", "columns", "told"),
    [
        ((), 10, ""),
        (("ring 4", "front"), 14, "ring 4 · front"),
        (("Ring Ökonomie", "front"), 18, "Ring Ökon… · front"),
        (("ring 4", "three-quarter from the left"), 18, "ring 4 · three-qu…"),
        (("指輪の四番目", "正面"), 14, "指輪の… · 正面"),
        (("a", "b", "c"), 2, "a…"),
    ],
)
def test_of_each_name_something_is_told_where_not_all_have_room(
    names: tuple[str, ...], columns: int, told: str
) -> None:
    assert panels.names_within(names, columns) == told and cell_len(told) <= columns
