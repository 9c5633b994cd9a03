"""The live picture at the bench: paused, enlarged, with lines over it, against the reference; real keys and frames."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from session.live.decode import grey
from session.shoot.acts import LivePictureUsed
from session.shoot.events import ReferenceChanged, RevisionChanged
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, SCENE, PlayedStream, Stream15
from tests.support.live_pictures import live_jpeg
from tests.support.made_pictures import jpeg_bytes
from tests.support.played_bench import played_bench
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.bench.bench_screen import BenchScreen
from tui.screen.picture_view import PictureView


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


async def test_the_region_is_enlarged_step_by_step_and_back_to_the_whole(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(1.0)
        view = at.app.screen.query_one(PictureView)
        widths = [view.picture.full_width_px]
        for key in ("plus", "plus", "minus", "minus"):
            await at.press(key)
            widths.append(view.picture.full_width_px)
        whole, region, middle, region_again, whole_again = widths
        assert whole == whole_again == 512
        assert region == region_again == pytest.approx(2 * middle, abs=2)
        assert 512 * REVISION.region.width <= region < 512


async def test_an_enlarged_picture_shows_what_lies_in_the_region(table: ScriptedTable, clock: FixedClock) -> None:
    """A white square in the region's middle fills the picture at the highest enlargement and is small in the whole."""
    codes = grey(live_jpeg(SCENE)).codes.copy()
    codes[:] = 30
    codes[150:190, 236:276] = 250
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).send(jpeg_bytes(codes))
        view = at.app.screen.query_one(PictureView)
        white = [float((view.picture.pixels > 128).mean())]
        for _ in range(4):
            await at.press("plus")
            white.append(float((view.picture.pixels > 128).mean()))
        assert white[0] < 0.02 and white[-1] > 0.9 and white == sorted(white)


async def test_lines_over_the_picture_change_on_one_key(table: ScriptedTable, clock: FixedClock) -> None:
    async with bench(table, clock, SMALL, FOUND, ON) as at:
        await Stream15(at, clock).show(1.0)
        seen = []
        for _ in range(6):
            seen.append(("┌" in at.text, "┼" in at.text))
            await at.press("number_sign")
        region, thirds, square, upright, wide, none = seen
        assert region == square == upright == wide == (True, False)
        assert thirds == (False, True) and none == (False, False)
        assert "┌" in at.text, "and from the beginning again"


async def test_keys_of_live_view_are_shown_while_it_is_on_and_only_then(
    table: ScriptedTable, clock: FixedClock
) -> None:
    async with bench(table, clock, LARGE, FOUND) as at:
        assert "enlarge" not in at.key_line
        await at.tell(ON)
        for words in ("+ − enlarge", "# lines", "j pause", "B new best", "/ sweep", ", . focus"):
            assert words in at.key_line
        assert "k reference" not in at.key_line, "there is none"


# --- against the reference --------------------------------------------------------------------------


async def test_the_reference_is_blended_in_or_taken_away_and_what_to_correct_is_told(
    table: ScriptedTable, clock: FixedClock, tmp_path: Path
) -> None:
    """24 mm of sensor, 512 live px, 1:2: a live px is 24 / 512 / 0.5 = 0.094 mm on the piece, 4 px are 0.38 mm."""
    path = tmp_path / "reference.jpg"
    path.write_bytes(live_jpeg(SCENE))
    table.reader = SimpleNamespace(frame=lambda frame_id: SimpleNamespace(picture=str(path)), frames=lambda *a, **k: [])
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
    gone = SimpleNamespace(picture=str(tmp_path / "gone.jpg"))
    table.reader = SimpleNamespace(frame=lambda frame_id: gone, frames=lambda *a, **k: [])
    async with bench(table, clock, LARGE, FOUND, ON, RevisionChanged(REVISION, "r"), ReferenceChanged("f0", 1)) as at:
        live = Stream15(at, clock)
        await live.show(0.0)
        await at.press("b")
        await live.show(0.0)
        assert "The reference: " in at.text
        assert len(at.asked(LivePictureUsed)) == 2
