"""Live pictures on their way: each is shown, and only then is the next one asked for."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

from session.frame import camera_messages as say
from session.shoot.acts import LivePictureUsed
from session.shoot.events import ReferenceChanged, RevisionChanged
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, SCENE, PlayedStream, Stream15
from tests.support.live_pictures import live_jpeg
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, bench
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.screen.picture_view import PictureView


async def test_live_view_shows_each_frame_and_asks_for_the_next_only_then(picture: str) -> None:
    jpeg = Path(picture).read_bytes()
    async with played_bench() as at:
        used = 0
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(True)
        for data in (jpeg, b"damaged"):
            assert at.studio.camera.count(say.NextLiveFrame) == used
            await at.camera(say.LiveFrame(data, at.studio.clock.now_s))
            assert "LIVE VIEW" in at.text
            used += 1
        assert at.studio.camera.count(say.NextLiveFrame) == used
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(False)


async def test_live_frames_wait_while_the_ledger_is_shown(picture: str) -> None:
    async with played_bench() as at:
        await at.press("v", "l")
        await at.camera(say.LiveFrame(Path(picture).read_bytes(), at.studio.clock.now_s))
        assert at.studio.camera.count(say.NextLiveFrame) == 0
        await at.press("l")
        assert at.studio.camera.count(say.NextLiveFrame) == 1


async def test_the_next_frame_is_asked_of_the_camera_once_for_each_that_was_shown() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(*[1.0] * 5)
        assert live.asked_for == 5


async def test_a_paused_picture_asks_for_nothing_and_goes_on_where_it_was() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(1.0)
        await at.press("j")
        assert at.large == "PAUSED" and "LIVE VIEW · paused" in at.text
        await live.show(1.0)  # the one that was on its way
        assert live.asked_for == 1
        await at.press("j")
        assert live.asked_for == 2
        assert "paused" not in at.text


def shot_into(path: Path) -> SimpleNamespace:
    """A frame of the log with one JPEG, without a preview."""
    jpeg = SimpleNamespace(kind="jpeg", path=str(path), copies=(), here=True)
    return SimpleNamespace(frame_id="f0", picture=str(path), files=(jpeg,), previews="")


async def test_the_reference_is_blended_in_or_taken_away_and_what_to_correct_is_told(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    """24 mm of sensor, 512 live px, 1:2: a live px is 24 / 512 / 0.5 = 0.094 mm on the piece, 4 px are 0.38 mm."""
    path = tmp_path / "reference.jpg"
    path.write_bytes(live_jpeg(SCENE))
    record = shot_into(path)
    table.reader = SimpleNamespace(frame=lambda frame_id: record, frames=lambda *a, **k: [])
    async with bench(table, clock, LARGE, FOUND, ON, RevisionChanged(REVISION, "r")) as at:
        live = Stream15(at, clock)
        await live.show(0.0, right_px=4.0)
        await at.press("b")
        assert "REFERENCE" not in at.text, "there is none yet"
        await at.tell(ReferenceChanged("f0", 1))
        await at.press("b")
        await live.show(*[0.0] * 2, right_px=4.0)
        words = " ".join(at.text.split())
        assert "LIVE VIEW · reference blended" in words
        assert "Camera 0.4 mm to the right." in words
        assert isinstance(at.app.screen, BenchScreen)
        told = at.app.screen.picture_place.correction or ""
        assert re.search(r"Lies 1[12]\.\d px \(0\.4 mm\) right", told), "3 sensor px a live px"
        view = at.app.screen.query_one(PictureView)
        await at.press("b")
        await live.show(*[0.0] * 2, right_px=0.0)
        assert "LIVE VIEW · difference shown" in at.text
        assert "Lies as the reference." in at.text
        assert abs(float(view.picture.pixels.mean()) - 128) < 3, "nothing but noise is left"
        await at.press("b")
        await live.show(0.0)
        assert "REFERENCE" not in at.text and "reference" not in at.text.split("LIVE VIEW")[1].split("\n")[0]


async def test_a_reference_whose_file_is_gone_is_said_and_live_view_goes_on(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    gone = shot_into(tmp_path / "gone.jpg")
    table.reader = SimpleNamespace(frame=lambda frame_id: gone, frames=lambda *a, **k: [])
    async with bench(table, clock, LARGE, FOUND, ON, RevisionChanged(REVISION, "r"), ReferenceChanged("f0", 1)) as at:
        live = Stream15(at, clock)
        await live.show(0.0)
        await at.press("b")
        await live.show(0.0)
        assert "The reference: " in at.text
        assert len(at.asked(LivePictureUsed)) == 2
