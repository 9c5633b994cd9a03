"""Live view by keys: on and off, the focus drive, a sweep; what the camera lacks has no key."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.live.decode import grey
from session.live.sweep import Range
from tests.support.bench_events import FOUND
from tests.support.live_at_bench import ON, SCENE, PlayedStream, Stream15
from tests.support.live_pictures import live_jpeg
from tests.support.made_pictures import jpeg_bytes
from tests.support.played_bench import CHARGED_S, played_bench
from tests.support.running_screen import LARGE, SMALL, bench
from tests.support.scripted import DESCRIPTION, Studio
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable
from tui.screen.picture_view import PictureView


async def test_live_view_the_drive_and_a_sweep_that_any_key_stops() -> None:
    async with played_bench() as at:
        await at.press("v")
        assert at.studio.camera.last(say.LiveView) == say.LiveView(True)
        await at.press("comma", "greater_than_sign")
        driven = [one.steps for one in at.studio.camera.requests if isinstance(one, say.DriveFocus)]
        assert driven == [-1, 10]
        await at.press("slash")
        assert at.studio.shoot.live.sweeping
        await at.press("space")
        assert not at.studio.shoot.live.sweeping
        assert at.studio.camera.count(say.Release) == 0, "the key did nothing else"


async def test_the_drive_is_offered_in_live_view_only_and_else_says_what_comes_first() -> None:
    async with played_bench(size=LARGE) as at:
        assert ", . focus" not in at.key_line
        for key in ("comma", "greater_than_sign", "slash"):
            await at.press(key)
            assert "The focus is driven in live view: [v] switches it on." in at.flat
        assert at.studio.camera.count(say.DriveFocus) == 0
        await at.press("v")
        assert ", . focus" in at.key_line and "driven in live view" not in at.flat
        await at.press("comma")
        assert at.studio.camera.last(say.DriveFocus) == say.DriveFocus(-1)


async def test_a_camera_without_live_view_or_focus_drive_gets_no_keys_for_them() -> None:
    plain = replace(DESCRIPTION, live_view=False, focus_drive=False)
    async with played_bench(Studio(description=plain), LARGE) as at:
        assert "live" not in at.key_line and "focus" not in at.key_line
        await at.press("v", "comma")
        assert at.studio.camera.count(say.LiveView) == at.studio.camera.count(say.DriveFocus) == 0


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


async def test_a_new_search_forgets_the_best_on_one_key_and_undo_brings_it_back() -> None:
    async with played_bench() as at:
        await at.press("v")
        live = PlayedStream(at)
        await live.show(*[0.5] * 4)
        (best,) = re.findall(r"best (\d+\.\d+)", at.text)
        await at.press("B")
        await live.show(*[4.0] * 4)
        assert float(re.findall(r"best (\d+\.\d+)", at.text)[0]) < float(best)
        await at.press("z")
        await live.show(*[4.0] * 2)
        assert f"best {best}" in at.text


async def test_a_sweep_goes_on_from_a_pause_since_it_looks_at_every_place() -> None:
    async with played_bench() as at:
        await at.press("v", "j")
        live = PlayedStream(at)
        await live.show(1.0)
        assert live.asked_for == 0
        await at.press("slash")
        assert live.asked_for == 1
        assert at.studio.shoot.live.sweeping


async def test_how_far_a_sweep_looks_is_chosen_on_one_key_and_shown() -> None:
    async with played_bench() as at:
        await at.press("v")
        assert "/ sweep 200 steps" in at.key_line and "R range" in at.key_line
        for span, step in ((600, 60), (60, 6), (200, 20)):
            await at.press("R")
            assert f"A sweep looks over {span} steps of the drive, {step} apart" in at.text
            assert f"/ sweep {span} steps" in at.key_line
        await at.press("R", "slash")
        await PlayedStream(at).show(*[1.0] * 4)
        assert at.studio.camera.last(say.DriveFocus).steps == -(300 + Range().run_up_steps), (
            "half of the range, and slack"
        )
        await at.press("escape", "v", "v")
        assert "/ sweep 600 steps" in at.key_line, "it stays chosen"


@pytest.mark.parametrize("key", ["space", "h", "escape", "Q"])
async def test_any_key_stops_a_sweep_and_does_nothing_else(key: str) -> None:
    async with played_bench() as at:
        await at.press("v", "slash")
        assert at.studio.shoot.live.sweeping
        assert "any key stops it" in at.text
        written = len(at.studio.log.rows)
        await at.press(key)
        assert not at.studio.shoot.live.sweeping
        assert at.releases == 0 and len(at.studio.log.rows) == written and at.app.is_running
        await at.press("space")
        await at.wait(CHARGED_S)
        assert at.releases == 0 and "until the focus drive stands" in at.flat
        await at.camera(say.FocusDriven(at.studio.camera.last(say.DriveFocus).steps))
        await at.wait(CHARGED_S)  # the drive has touched the camera
        assert at.releases == 1
