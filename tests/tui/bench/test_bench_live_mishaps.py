"""What goes wrong with live view at the bench: no such thing, no picture, a hand before it, a pulled cable."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame.camera_messages import Fault
from session.live.decode import Stream, grey
from session.shoot.events import CameraLost, StreamChanged
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, SCENE, PlayedStream, Stream15
from tests.support.live_pictures import live_jpeg, with_hand
from tests.support.made_pictures import jpeg_bytes
from tests.support.played_bench import played_bench
from tests.support.running_screen import SMALL, bench
from tests.support.scripted import DESCRIPTION, Studio
from tests.support.scripted_table import FixedClock, ScriptedTable
from tui.screen.picture_view import PictureView
from tui.words.live_words import STREAM_TEXTS


async def test_no_live_view_and_no_drive_are_said_and_all_else_works() -> None:
    plain = replace(DESCRIPTION, live_view=False, focus_drive=False)
    async with played_bench(Studio(description=plain)) as at:
        await at.press("v")
        assert "This camera offers no live view; everything else works." in at.text
        await at.press("R")
        assert "This camera offers no focus drive; turn the ring by hand." in at.text
        await at.press("space")
        assert at.releases == 1


@pytest.mark.parametrize(
    ("state", "large"),
    [
        (Stream.LOST, "NO PICTURE"),
        (Stream.FROZEN, "FROZEN"),
        (Stream.BLACK, "BLACK"),
        (Stream.BROKEN, "DAMAGED"),
    ],
)
async def test_an_unwell_stream_is_said_large_with_its_sentence_and_is_over_by_itself(
    table: ScriptedTable, clock: FixedClock, state: Stream, large: str
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        await at.tell(StreamChanged(state))
        assert at.large == large
        assert STREAM_TEXTS[state] in " ".join(at.text.split())
        await at.tell(StreamChanged(Stream.GOOD))
        await live.show(1.0)
        assert at.large.startswith("FOCUS ")


async def test_a_hand_in_the_picture_is_said_and_takes_no_number(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 8)
        covered = with_hand(grey(live_jpeg(SCENE)).codes, 0.5)
        await live.send(jpeg_bytes(covered))
        assert at.large == "COVERED"
        assert "the best so far is kept" in " ".join(at.text.split())


async def test_a_damaged_frame_leaves_the_last_picture_and_the_next_is_asked_for() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(1.0)
        view = at.app.screen.query_one(PictureView)
        before = view.picture
        await live.send(b"\xff\xd8 half a frame")
        assert view.picture is before
        assert live.asked_for == 2


async def test_after_a_pulled_cable_live_view_stands_as_it_was(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        live = Stream15(at, clock)
        await live.show(*[1.0] * 4)
        await at.press("plus")
        await at.tell(CameraLost(Fault.LOST, "The cable was pulled."))
        assert at.large == "NO CAMERA" and "LIVE VIEW" not in at.text
        await at.tell(FOUND, ON)
        await live.show(*[1.0] * 4)
        assert at.large.startswith("FOCUS ")
        assert "LIVE VIEW · region" in at.text, "enlarged as it was"


async def test_a_picture_of_another_size_is_measured_anew_and_shown() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(*[1.0] * 4)
        codes = grey(live_jpeg(SCENE)).codes
        for _ in range(4):  # the same again and again, which says no more than once
            await live.send(jpeg_bytes(codes[::2, ::2]))
            assert at.large.startswith("FOCUS ")
        view = at.app.screen.query_one(PictureView)
        assert view.picture is not None and view.picture.full_width_px == 256
        assert live.asked_for == 8
