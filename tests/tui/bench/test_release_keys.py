"""Releasing by keys: rules, remedies, overruling, waits, and ambient light, through the real controller."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.checks.light import ambient
from session.checks.light.ambient import MeasuredAmbient
from session.frame import camera_messages as say
from session.frame.finding import FocusVerdict
from session.frame.states import FrameState
from session.set.setup import Revision
from session.shoot.acts import Touched
from session.shoot.events import FrameMoved, RevisionChanged
from tests.support.bench_events import COMING, FOUND, judged, released
from tests.support.played_bench import CHARGED_S, played_bench
from tests.support.running_screen import SMALL, bench
from tests.support.scripted import Studio, reading
from tests.support.scripted_table import REVISION, FixedClock, ScriptedTable


def with_time(studio: Studio, exposure_s: float) -> Revision:
    """The set-up in force with another exposure time."""
    now = studio.shoot.shoot_state.revision
    return replace(now, settings=replace(now.settings, exposure_s=exposure_s))


async def test_space_releases_and_the_frame_goes_its_way_to_the_log() -> None:
    async with played_bench() as at:
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
    async with played_bench() as at:
        await at.press("t", "space")
        assert at.studio.camera.count(say.Release) == 0
        assert at.key_line.startswith("esc cancel")
        await at.press("escape")
        assert "Frame 1 did not fire: cancelled." in at.flat
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 0
        await at.press("t", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_a_frame_that_waits_when_the_camera_goes_did_not_fire() -> None:
    async with played_bench() as at:
        await at.press("t", "space")
        await at.camera(say.CameraGone(say.Fault.LOST, "The cable is out."))
        assert "Frame 1 did not fire. The cable is out." in at.flat
        assert at.studio.shoot.releases.held is None


async def test_too_short_a_time_is_refused_and_one_key_sets_the_camera_and_the_set_up() -> None:
    async with played_bench() as at:
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
        assert at.revision.settings.exposure_s == pytest.approx(1 / 200)
        at.studio.answer_settings()
        await at.tell()
        await at.wait(CHARGED_S)
        await at.press("space")
        assert at.studio.camera.count(say.Release) == 1


async def test_a_stop_is_overruled_with_a_reason_that_the_log_keeps() -> None:
    async with played_bench() as at:
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
        async with played_bench() as at:
            await at.camera(say.SettingsRead(reading(f_number=8.0), by_hand=True))
            assert at.large == "DIAL TURNED" and "≠" in at.text
            assert at.key_line.startswith("f back to f/11")
            await at.press(key)
            assert at.revision.settings.f_number == f_number
            back = [one.changes for one in at.studio.camera.requests if isinstance(one, say.ApplySettings)]
            assert ({"f_number": 11.0} in back) == (key == "f")


async def test_what_was_typed_twice_of_an_act_that_waits_is_said_once_and_asks_the_camera_once() -> None:
    async with played_bench() as at:
        at.studio.do(Touched())
        await at.press("space", "space")
        await at.wait(CHARGED_S)
        assert at.studio.camera.count(say.Release) == 1


async def test_an_overruling_half_typed_is_cancelled_by_escape() -> None:
    async with played_bench() as at:
        at.studio.revise(with_time(at.studio, 0.002))
        await at.taken({"exposure_s": 0.002})
        await at.press("o")
        await at.type("oh no")
        await at.press("escape", "space")  # a key of the bench again, not a letter
        assert at.releases == 0 and "did not fire" in at.flat


async def test_keys_answer_while_a_transfer_runs() -> None:
    async with played_bench() as at:
        await at.wait(CHARGED_S)
        await at.press("space")
        frame_id = at.studio.fire()
        await at.tell()
        assert at.large == "SAVING"
        await at.press("space", "t", "h")
        assert at.row(frame_id)["mark"] == "hero"
        assert at.releases == 1 and "The next release follows by itself." in at.flat
        assert at.key_line.startswith("esc cancel")
        at.studio.file(frame_id)
        await at.camera(say.FrameComplete(frame_id))
        await at.wait(CHARGED_S)
        assert at.releases == 2


async def test_ambient_is_measured_only_against_a_reference_and_once_somebody_says_that_the_lights_are_off() -> None:
    async with played_bench() as at:
        await at.frame()
        await at.wait(CHARGED_S)
        await at.press("r")
        assert "AMBIENT" not in at.text, "there is no reference to measure against"
        await at.press("c", "r")
        assert "AMBIENT" in at.text and "Switch off the flashes" in at.flat
        before = at.releases
        await at.press("escape")
        assert at.releases == before
        await at.press("r", "enter")
        asked = at.studio.camera.last(say.Release)
        assert at.releases == before + 1 and at.row(asked.frame_id)["intent"].ambient


async def test_what_is_wrong_with_a_frame_has_been_read_when_any_key_is_pressed(
    table: ScriptedTable, clock: FixedClock
) -> None:
    for key in ("d", "y", "1"):
        async with bench(table, clock, SMALL, FOUND, *released(1), *judged(1, FocusVerdict.MISSED, 9.0)) as at:
            assert at.large == "MISSED 9.0 px"
            await at.press(key)
            assert at.large == "READY", key


async def test_the_line_on_the_room_light_stays_when_it_makes_a_revision(
    table: ScriptedTable, clock: FixedClock
) -> None:
    checks = ambient.findings(MeasuredAmbient(-6.2))
    frame = [
        replace(event, facts=replace(event.facts, ambient=True)) if isinstance(event, FrameMoved) else event
        for event in COMING
    ]
    frame += judged(1, FocusVerdict.UNJUDGED, checks=checks)
    async with bench(table, clock, SMALL, FOUND, *frame) as at:
        await at.tell(RevisionChanged(replace(REVISION, revision=2, ambient_ev=-6.2), "r2", "f1"))
        assert at.large == "AMBIENT −6.2 EV"
        assert "The ambient light is 6.2 EV under the flash." in at.text
        await at.tell(RevisionChanged(replace(REVISION, revision=3), "r3"))
        assert at.large == "READY"
