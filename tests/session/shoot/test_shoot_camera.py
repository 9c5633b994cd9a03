"""The controller alone: a camera that is lost and comes back, refuses, or is released by its own button."""

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired
from session.frame.states import FrameState, ReleasedBy
from session.shoot.acts import Touched
from session.shoot.events import CameraLost
from session.shoot.recovery import LATE_FILE_S
from tests.support.scripted import Studio


def test_cable_lost_after_exposure_keeps_frame_on_card_and_it_is_fetched_when_back():
    studio = Studio(connected=False)
    studio.connect(file_format="jpeg")
    studio.ask()
    frame_id = studio.fire()
    held = CardObject("/card/DCIM/100STILL", "STIL0001.JPG", 1000)
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.YES, (held,), connected=False))
    assert studio.state(frame_id) is FrameState.MISSING
    calm = "Frame 1 fired, not saved: cable lost. It is on the card and is fetched when the camera is back."
    assert studio.log.rows[frame_id]["text"] == calm
    assert ("left on the card", "frame 1: /card/DCIM/100STILL/STIL0001.JPG") in studio.log.events
    assert studio.said(CameraLost)
    studio.wait(1.1)
    assert isinstance(studio.camera.requests[-1], say.Connect)
    studio.card = (held,)
    studio.connect()
    assert studio.camera.last(say.Fetch).objects == (held,)
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED


def test_camera_gone_during_the_release_leaves_a_frame_that_may_have_fired():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.CameraGone(Fault.NO_ANSWER, "The camera gave no answer for 10 s."))
    assert studio.state(frame_id) is FrameState.UNCERTAIN
    assert "may have fired" in studio.log.rows[frame_id]["text"]
    studio.connect()
    assert studio.state(frame_id) is FrameState.UNCERTAIN, "its files may still come"
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed(()))
    assert studio.state(frame_id) is FrameState.NOT_FIRED


def test_a_refused_release_did_not_fire():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.Failed("Release", Fault.BUSY, "The camera is busy.", frame_id, Fired.NO))
    assert studio.state(frame_id) is FrameState.NOT_FIRED
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 2


@pytest.mark.parametrize("fault", list(Fault))
def test_without_a_camera_nothing_is_released_and_it_says_so(fault):
    studio = Studio()
    studio.deliver(say.CameraGone(fault, "It is gone."))
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert "there is no camera" in studio.texts()


def test_a_camera_lost_over_its_settings_leaves_no_release_waiting_for_them():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.deliver(say.Failed("ApplySettings", Fault.LOST, "Cable lost.", connected=False))
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    studio.connect()
    studio.ask()
    assert studio.camera.count(say.Release) == 1


def test_messages_of_unknown_frames_are_taken_without_harm():
    studio = Studio()
    studio.deliver(say.ShutterFired("nobody", 1.0))
    studio.deliver(say.FrameComplete("nobody"))
    studio.deliver(say.Failed("Release", Fault.BUSY, "busy", "nobody"))
    assert not studio.log.rows


def test_a_release_on_the_camera_gets_a_row_and_is_fetched():
    studio = Studio()
    held = CardObject("/card/DCIM/100STILL", "STIL0009.JPG", 1000)
    studio.deliver(say.BodyRelease((held,)))
    frame_id, row = next(iter(studio.log.rows.items()))
    assert row["intent"].released_by is ReleasedBy.BODY
    assert studio.camera.last(say.Fetch) == say.Fetch(frame_id, "/pictures", "0001", (held,))


def test_a_frame_released_on_the_camera_while_another_waits_takes_the_number_and_both_are_kept():
    studio = Studio()
    studio.do(Touched())
    waiting = studio.ask()
    studio.deliver(say.BodyRelease((CardObject("/card/DCIM/100STILL", "STIL0009.JPG", 1000),)))
    body = studio.camera.last(say.Fetch).frame_id
    studio.file(body)
    studio.deliver(say.FrameComplete(body))
    studio.wait(5)
    assert studio.camera.last(say.Release).frame_id == waiting
    assert {frame_id: row["number"] for frame_id, row in studio.log.rows.items()} == {body: 1, waiting: 2}
