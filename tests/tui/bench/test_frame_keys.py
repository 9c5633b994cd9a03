"""Marks, notes, the reference, undo and redo by keys."""

from __future__ import annotations

from dataclasses import replace

import pytest
from textual.events import Key

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from tests.support.memory_log import PLACE
from tests.support.played_bench import PlayedBench, played_bench
from tests.support.running_screen import LARGE


async def test_marks_go_to_the_frame_shown_and_the_same_key_takes_them_back() -> None:
    async with played_bench() as at:
        first, second = await at.frame(), await at.frame(FocusVerdict.SOFT)
        marks = []
        for key in ("h", "h", "left", "k", "right", "s"):
            await at.press(key)
            marks.append((at.row(first).get("mark"), at.row(second).get("mark")))
        assert marks == [
            *[(None, "hero"), (None, None), (None, None)],
            *[("kill", None), ("kill", None), ("kill", "select")],
        ]
        assert "1 sharp kill | 2 soft select ◂" in at.text


async def test_a_mark_typed_while_a_release_was_asked_for_says_which_frame_it_went_to() -> None:
    async with played_bench() as at:
        first = await at.frame()
        await at.press("s")
        assert "is marked" not in at.flat
        at.app.model.release_asked()
        await at.press("a")
        assert at.row(first)["mark"] == "alternate" and "Frame 1 is marked alternate." in at.flat


async def test_a_note_takes_one_key_and_enter() -> None:
    async with played_bench() as at:
        frame_id = await at.frame()
        await at.press("n")
        await at.type("crown nearest the lens")
        await at.press("enter")
        assert at.row(frame_id)["notes"] == ["crown nearest the lens"]
        await at.press("n")
        await at.type("qQfo ")
        await at.press("escape")
        assert at.row(frame_id)["notes"] == ["crown nearest the lens"]


async def test_a_reference_is_dropped_only_when_that_was_named_before() -> None:
    async with played_bench() as at:
        await at.press("c")
        assert "No frame is here yet, so c did nothing." in at.flat
        frame_id = await at.frame()
        await at.press("c")
        assert list(at.studio.log.references.values()) == [frame_id]
        assert at.large == "REFERENCE"
        await at.press("c")
        assert "Frame 1 is the reference: again c drops it." in at.text
        assert list(at.studio.log.references.values()) == [frame_id]
        await at.press("c")
        assert not at.studio.log.references
        assert "has no reference for this piece now. [z] brings it back" in at.flat
        await at.press("z")
        assert list(at.studio.log.references.values()) == [frame_id]


async def test_a_key_pressed_many_times_in_one_burst_drops_no_reference() -> None:
    async with played_bench() as at:
        frame_id = await at.frame()
        await at.press("c")
        at.app.post_message(Key("c", "c"))
        at.app.post_message(Key("c", "c"))
        await at.settle()
        assert list(at.studio.log.references.values()) == [frame_id]
        assert "again c drops it" in at.text


async def test_a_frame_of_another_set_up_cant_become_the_reference() -> None:
    async with played_bench() as at:
        await at.frame()
        await at.press("u", "enter", "c")
        assert "Frame 1 is of set-up 01.1; the reference is for 02.1." in at.text
        assert not at.studio.log.references


async def test_a_frame_of_another_piece_cant_become_the_reference() -> None:
    async with played_bench() as at:
        await at.frame()
        at.studio.go_to(replace(PLACE, piece_id="piece-2", piece="sort tray 2"))
        await at.tell()
        assert "FRAME 1" not in at.text, "the picture of one piece never stands under the title of another"
        await at.press("left", "c")
        assert f"FRAME 1 · {PLACE.piece} · sharp" in at.text
        assert "Frame 1 is of another piece than the one on the table." in at.flat
        assert not at.studio.log.references


async def test_what_was_done_last_is_undone_and_redone_by_key_and_offered_only_then() -> None:
    async with played_bench(size=LARGE) as at:
        frame_id = await at.frame()
        assert "z undo" not in at.key_line
        await at.press("z")  # it still says so
        assert f"There is nothing to undo in {PLACE.job}." in at.text
        await at.press("h")
        assert "z undo" in at.key_line
        await at.press("z")
        assert at.row(frame_id)["mark"] is None
        assert "Undone: frame 1 marked hero." in at.flat
        assert "z undo" not in at.key_line
        await at.press("Z")
        assert at.row(frame_id)["mark"] == "hero"
        assert "Redone: frame 1 marked hero." in at.flat


async def with_another_time(at: PlayedBench) -> float:
    """Another exposure time is chosen by keys, and the camera takes it; returns the one of before, s."""
    before = at.revision.settings.exposure_s
    await at.press("e", "right", "enter")
    await at.taken({"exposure_s": at.revision.settings.exposure_s})
    assert at.revision.settings.exposure_s != before
    return before


async def test_an_undo_that_sets_the_camera_is_named_and_takes_a_second_key() -> None:
    async with played_bench() as at:
        before = await with_another_time(at)
        asked = at.studio.camera.count(say.ApplySettings)
        await at.press("z")
        assert "undo 1/160 s: again z" in at.text
        assert at.studio.camera.count(say.ApplySettings) == asked
        await at.press("z")
        assert at.revision.settings.exposure_s == before
        assert at.studio.camera.last(say.ApplySettings).changes["exposure_s"] == before


@pytest.mark.parametrize("other", ["Z", "d", "left", "M", "1"])
async def test_any_other_key_in_between_cancels_the_undo_that_was_named(other: str) -> None:
    async with played_bench() as at:
        before = await with_another_time(at)
        await at.press("z")
        assert "again z" in at.text
        await at.press(other)
        assert "again z" not in at.text
        await at.press("escape", "z")
        assert at.revision.settings.exposure_s != before, "it is named again first"
