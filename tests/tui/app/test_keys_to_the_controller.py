"""Keys at the bench through the real controller: what the camera is asked, what the log has, what the screen says."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from unittest.mock import Mock

import pytest

from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.frame.ports import Standing, Undone
from session.frame.states import FrameState
from session.set.setup import Revision
from session.shoot.acts import Touched
from storage.reading.reading import LogReader
from storage.reading.views import KnownView
from tests.support.memory_log import PLACE
from tests.support.played_table import PlayedTable
from tests.support.running_screen import SMALL, Running, running
from tests.support.scripted import Studio, reading
from tui.app.app import StillsetApp

CHARGED_S = 60.0
"""Longer than any flash of the demo's kit charges, and than any hold-off."""


class AtTable(Running):
    """Keys in, and the scripted camera's answers."""

    studio: Studio

    async def camera(self, *messages: say.Message) -> None:
        for message in messages:
            self.studio.deliver(message)
        await self.tell()

    async def wait(self, seconds: float) -> None:
        self.studio.wait(seconds)
        await self.tell()

    async def frame(self, verdict: FocusVerdict = FocusVerdict.SHARP) -> str:
        """A frame by the space key, until the checks have spoken; its key in the log."""
        await self.wait(CHARGED_S)
        await self.press("space")
        frame_id = self.studio.fire()
        self.studio.file(frame_id)
        self.studio.deliver(say.FrameComplete(frame_id))
        self.studio.judged(frame_id, verdict)
        await self.tell()
        return frame_id


def with_time(studio: Studio, exposure_s: float) -> Revision:
    """The set-up in force with another exposure time."""
    now = studio.shoot.shoot_state.revision
    return replace(now, settings=replace(now.settings, exposure_s=exposure_s))


@asynccontextmanager
async def at_the_table(table: PlayedTable | None = None) -> AsyncIterator[AtTable]:
    table = table or PlayedTable()
    app = StillsetApp(table, clock=table.studio.clock, bell=False)
    async with running(app, SMALL, table) as running_now:
        at = AtTable(running_now.app, running_now.pilot, running_now.table)
        at.studio = table.studio
        yield at


async def test_space_releases_and_the_frame_goes_its_way_to_the_log() -> None:
    async with at_the_table() as at:
        assert at.large == "READY"
        await at.press("space")
        asked = at.studio.camera.last(say.Release)
        assert at.studio.state(asked.frame_id) is FrameState.RELEASING
        await at.camera(say.ShutterFired(asked.frame_id, 100.0))
        assert at.large == "SAVING"
        at.studio.file(asked.frame_id)
        await at.camera(say.FrameComplete(asked.frame_id))
        at.studio.judged(asked.frame_id)
        await at.tell()
        assert at.studio.state(asked.frame_id) is FrameState.LOGGED
        assert at.large == "SHARP"


async def test_a_touch_makes_the_release_wait_and_escape_calls_it_off() -> None:
    async with at_the_table() as at:
        await at.press("t", "space")
        assert at.studio.camera.count(say.Release) == 0
        assert at.key_line.startswith("esc cancel")
        await at.press("escape")
        assert "Frame 1 did not fire: cancelled." in " ".join(at.text.split())
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 0
        await at.press("t", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_a_frame_that_waits_when_the_camera_goes_did_not_fire() -> None:
    async with at_the_table() as at:
        await at.press("t", "space")
        await at.camera(say.CameraGone(say.Fault.LOST, "The cable is out."))
        assert "Frame 1 did not fire. The cable is out." in " ".join(at.text.split())
        assert at.studio.shoot.releases.held is None


async def test_too_short_a_time_is_refused_and_one_key_sets_the_camera_and_the_set_up() -> None:
    async with at_the_table() as at:
        await at.camera(say.SettingsRead(reading(exposure_s=0.002), by_hand=True))
        at.studio.revise(with_time(at.studio, 0.002))
        at.studio.answer_settings(exposure_s=0.002)
        await at.tell()
        assert at.large == "NO SYNC"
        assert at.key_line.startswith("f set 1/200 s")
        await at.press("space")
        assert at.studio.camera.count(say.Release) == 0
        before = at.studio.camera.count(say.ApplySettings)
        await at.press("f")
        assert at.studio.camera.count(say.ApplySettings) > before
        assert at.studio.shoot.shoot_state.revision.settings.exposure_s == pytest.approx(1 / 200)
        at.studio.answer_settings()
        await at.tell()
        await at.wait(CHARGED_S)
        await at.press("space")
        assert at.studio.camera.count(say.Release) == 1


async def test_a_stop_is_overruled_with_a_reason_that_the_log_keeps() -> None:
    async with at_the_table() as at:
        at.studio.revise(with_time(at.studio, 0.002))
        at.studio.answer_settings(exposure_s=0.002)
        await at.tell()
        await at.press("o", "enter")
        assert "Overruling takes a reason" in at.text and at.studio.camera.count(say.Release) == 0
        await at.type("the band is wanted")
        await at.press("enter")
        asked = at.studio.camera.last(say.Release)
        overruled = at.studio.log.rows[asked.frame_id]["intent"].overrulings
        assert overruled["sync"] == "the band is wanted"


async def test_a_turned_dial_goes_back_by_one_key_or_is_kept_by_another() -> None:
    for key, f_number in (("f", 11.0), ("w", 8.0)):
        async with at_the_table() as at:
            await at.camera(say.SettingsRead(reading(f_number=8.0), by_hand=True))
            assert at.large == "DIAL TURNED" and "≠" in at.text
            assert at.key_line.startswith("f back to f/11")
            await at.press(key)
            assert at.studio.shoot.shoot_state.revision.settings.f_number == f_number
            back = [one.changes for one in at.studio.camera.requests if isinstance(one, say.ApplySettings)]
            assert ({"f_number": 11.0} in back) == (key == "f")


async def test_a_light_set_by_keys_is_in_force_before_the_release_that_follows() -> None:
    async with at_the_table() as at:
        await at.press("1", "plus", "space")
        light = at.studio.shoot.shoot_state.revision.light("key")
        assert light is not None and light.power_ev == pytest.approx(-5 / 3, abs=1e-4)
        await at.wait(CHARGED_S)
        asked = at.studio.camera.last(say.Release)
        made = at.studio.log.keys[at.studio.log.rows[asked.frame_id]["intent"].revision_id]
        assert made.light("key") == light


async def test_a_light_that_is_struck_is_gone_and_escape_brings_back_what_stood() -> None:
    async with at_the_table() as at:
        before = at.studio.shoot.shoot_state.revision
        await at.press("1", "plus", "escape")
        assert at.studio.shoot.shoot_state.revision.lights == before.lights
        await at.press("1", "delete", "enter")
        assert at.studio.shoot.shoot_state.revision.lights == ()


async def test_marks_notes_and_the_reference_stand_in_the_log() -> None:
    async with at_the_table() as at:
        frame_id = await at.frame()
        await at.press("h")
        assert at.studio.log.rows[frame_id]["mark"] == "hero"
        await at.press("h")
        assert at.studio.log.rows[frame_id]["mark"] is None
        await at.press("n")
        await at.type("crown up")
        await at.press("enter")
        assert at.studio.log.rows[frame_id]["notes"] == ["crown up"]
        await at.press("c")
        assert list(at.studio.log.references.values()) == [frame_id]
        assert at.large == "REFERENCE"


async def test_a_moved_region_is_in_force_and_the_frame_on_show_is_judged_by_it() -> None:
    async with at_the_table() as at:
        await at.frame()
        judged = len(at.studio.judge.assignments)
        before = at.studio.shoot.shoot_state.revision.region
        await at.press("g", "right", "enter")
        assert at.studio.shoot.shoot_state.revision.region.left == pytest.approx(before.left + 0.02)
        assert [one.revision.region for one in at.studio.judge.assignments[judged:]] == [
            at.studio.shoot.shoot_state.revision.region
        ]


async def test_live_view_the_drive_and_a_sweep_that_any_key_stops() -> None:
    async with at_the_table() as at:
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


async def test_ambient_is_measured_by_a_frame_that_is_marked_as_such() -> None:
    async with at_the_table() as at:
        await at.frame()
        await at.press("c")
        await at.wait(CHARGED_S)
        await at.press("r", "enter")
        asked = at.studio.camera.last(say.Release)
        assert at.studio.log.rows[asked.frame_id]["intent"].ambient


async def test_another_set_up_is_begun_with_its_notes() -> None:
    async with at_the_table() as at:
        await at.press("u")
        await at.type("from above")
        await at.press("enter")
        revision = at.studio.shoot.shoot_state.revision
        assert (revision.setup_number, revision.notes) == (2, "from above")


async def test_what_was_typed_twice_of_an_act_that_waits_is_said_once_and_asks_the_camera_once() -> None:
    async with at_the_table() as at:
        at.studio.do(Touched())
        await at.press("space", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_the_last_act_is_undone_by_one_key_and_the_camera_is_set_only_by_the_second_press() -> None:
    async with at_the_table() as at:
        frame_id = await at.frame()
        await at.press("h")
        at.studio.log.turns.append(Undone("undone: frame 1 marked hero", frame_id, act_id="a"))
        await at.press("z")
        assert "Undone: frame 1 marked hero." in at.text
        before = at.studio.shoot.shoot_state.revision
        slower = Standing(replace(before, settings=replace(before.settings, exposure_s=1 / 125)))
        at.studio.log.turns.append(Undone("undone: 1/125 s → 1/200 s", None, slower, PLACE.view_id, "b"))
        asked = at.studio.camera.count(say.ApplySettings)
        await at.press("z")
        assert "again z" in at.text and at.studio.camera.count(say.ApplySettings) == asked
        await at.press("z")
        assert at.studio.shoot.shoot_state.revision.settings.exposure_s == pytest.approx(1 / 125)
        assert at.studio.camera.last(say.ApplySettings).changes["exposure_s"] == pytest.approx(1 / 125)


async def test_another_view_gets_a_set_up_of_its_own_from_the_present_one_or_from_the_camera() -> None:
    for key, lights in (("y", 1), ("n", 0)):
        table = PlayedTable()
        table.reader = Mock(spec=LogReader)
        table.reader.progress.return_value = None
        table.reader.known_views.return_value = (KnownView(PLACE.piece, "edge", False),)
        table.reader.frames.return_value = ()
        async with at_the_table(table) as at:
            await at.frame()
            await at.press("p", "enter")
            assert "NEW VIEW" in at.text
            await at.press(key)
            bench = at.studio.shoot.shoot_state
            assert (bench.place.view, bench.revision.setup_number, len(bench.revision.lights)) == ("edge", 2, lights)
            assert f"{PLACE.piece}, edge: set-up 02.1" in " ".join(at.text.split())
