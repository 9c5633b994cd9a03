"""The controller alone: when it releases, what it refuses, what it waits for and says so, what is called off."""

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired
from session.frame.states import FrameState
from session.shoot.acts import AcceptReference, CallOff, Touched
from session.shoot.events import CameraBusy, CameraWait, FrameMoved, SlowTransfer, Waiting
from tests.support.scripted import Studio, reading


def test_a_time_shorter_than_sync_is_refused_with_both_numbers_and_takes_no_number():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.revise(
        replace(
            studio.shoot.shoot_state.revision,
            settings=replace(studio.shoot.shoot_state.revision.settings, exposure_s=0.002),
        )
    )
    studio.answer_settings(exposure_s=0.002)
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert not studio.log.rows
    assert "1/500 s is shorter than the 1/200 s sync time" in studio.texts()
    assert studio.log.events[-1][0] == "refused"


def test_an_overruled_stop_fires_and_the_reason_is_in_the_log():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.answer_settings(exposure_s=0.002)
    studio.ask(sync="to see the band", drifted="to see the band")
    frame_id = studio.fire()
    assert studio.log.rows[frame_id]["intent"].overrulings == {
        "sync": "to see the band",
        "drifted": "to see the band",
    }
    assert {f.id for f in studio.log.rows[frame_id]["findings"]} >= {"sync"}


def test_after_a_touch_the_release_holds_off_and_fires_by_itself():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert studio.said(Waiting)[-1].reason == "hold-off"
    studio.wait(1.9)
    assert studio.camera.count(say.Release) == 0
    studio.wait(0.11)
    assert studio.camera.count(say.Release) == 1


def test_another_touch_while_it_waits_starts_the_hold_off_anew():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    studio.wait(1.5)
    studio.do(Touched())
    studio.wait(1.0)
    assert studio.camera.count(say.Release) == 0
    studio.wait(1.01)
    assert studio.camera.count(say.Release) == 1


def test_the_flash_gets_its_charging_time_for_the_power_used():
    studio = Studio()  # 2 s at full power, the key stands at −2 EV: a quarter
    studio.judged(studio.whole_frame())
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "recycling"
    studio.wait(0.45)
    assert studio.camera.count(say.Release) == 1
    studio.wait(0.06)
    assert studio.camera.count(say.Release) == 2


def test_a_dial_turned_while_it_waits_refuses_the_frame():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    studio.deliver(say.SettingsRead(reading(f_number=8.0), by_hand=True))
    studio.wait(5)
    assert studio.camera.count(say.Release) == 0
    assert "Aperture is f/8, set-up 01.1 says f/11." in studio.texts()


def test_a_frame_that_waits_can_be_called_off():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    studio.do(CallOff())
    studio.wait(5)
    assert studio.camera.count(say.Release) == 0
    assert not studio.log.rows


def test_a_second_wish_while_one_waits_makes_no_second_frame():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    studio.ask()
    studio.wait(5)
    studio.wait(5)
    assert studio.camera.count(say.Release) == 1


def test_the_next_frame_may_be_asked_for_before_the_checks_are_done():
    studio = Studio()
    first = studio.whole_frame()
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 2
    studio.judged(first)
    assert studio.state(first) is FrameState.LOGGED


def test_a_frame_asked_for_while_the_last_one_arrives_waits_for_it():
    studio = Studio()
    studio.ask()
    first = studio.fire()
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 1
    studio.file(first)
    studio.deliver(say.FrameComplete(first))
    assert studio.camera.count(say.Release) == 2


def test_a_release_asked_for_during_a_transfer_is_said_to_wait_once_and_follows_by_itself():
    studio = Studio()
    studio.ask()
    first = studio.fire()
    second = studio.ask()
    studio.wait(0.5)
    studio.file(first)
    assert studio.said(Waiting) == [Waiting(second, 2, CameraWait.HANDING_OVER, None)]
    assert studio.camera.count(say.Release) == 1
    studio.deliver(say.FrameComplete(first))
    studio.wait(10)
    assert studio.camera.last(say.Release).frame_id == second


def test_a_release_asked_for_while_the_camera_takes_settings_is_judged_by_the_new_ones():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    frame_id = studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert not studio.said(FrameMoved)
    studio.answer_settings(exposure_s=0.005)
    assert studio.camera.last(say.Release).frame_id == frame_id


def test_a_release_that_waits_for_settings_says_so():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    frame_id = studio.ask()
    assert studio.said(Waiting) == [Waiting(frame_id, 1, CameraWait.SETTINGS, None)]


def test_a_release_asked_for_while_the_camera_refuses_settings_is_refused():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.ask()
    studio.deliver(say.Failed("ApplySettings", Fault.REFUSED, "It was not taken."))
    assert studio.camera.count(say.Release) == 0
    assert studio.said(FrameMoved)[-1].state is FrameState.REFUSED


def test_a_release_that_waits_for_a_late_file_says_so():
    studio = Studio()
    studio.shoot.shoot_state.late_files.wait("lost-frame", 60.0)
    frame_id = studio.ask()
    assert studio.said(Waiting) == [Waiting(frame_id, 1, CameraWait.LATE_FILE, None)]


def test_a_release_that_gave_no_file_is_missing_and_looked_for_on_the_card():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.state(frame_id) is FrameState.MISSING
    assert "fired, not saved: the camera gave no file for it. It is looked for on the card" in studio.texts()


def test_a_release_of_which_nobody_knows_whether_it_fired_is_uncertain():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.UNKNOWN, connected=False))
    assert studio.state(frame_id) is FrameState.UNCERTAIN
    assert "may have fired" in studio.texts()


def test_a_frame_takes_as_much_room_as_all_its_files():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "raw")
    studio.file(frame_id, "jpeg")
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.shoot.shoot_state.frame_sizes[-1] == 2_000
    assert studio.shoot.shoot_state.frame_bytes == 2_000


def test_a_frame_is_judged_against_the_reference_and_the_reference_by_itself():
    studio = Studio()
    first = studio.whole_frame()
    studio.judged(first)
    assert studio.judge.assignments[-1].reference_path is None
    studio.do(AcceptReference(first))
    studio.wait(10)
    second = studio.whole_frame()
    given = studio.judge.assignments[-1]
    assert given.frame_id == second
    assert given.reference_path == "/pictures/0001.JPG"
    assert given.path == "/pictures/0002.JPG"


@pytest.mark.parametrize(
    ("message", "said"),
    [
        (lambda frame_id: say.FileComing(frame_id, 10, 100, 3.0), SlowTransfer),
        (lambda frame_id: say.BusyWriting(frame_id, 2.0, 30.0), CameraBusy),
    ],
    ids=["slow transfer", "busy writing"],
)
def test_progress_is_told_of_the_frame_that_comes_in_and_of_no_other(message, said):
    studio = Studio()
    studio.ask()
    released = studio.camera.last(say.Release).frame_id
    studio.deliver(message(released))
    studio.deliver(message("nobody's"))
    assert not studio.said(said)
    frame_id = studio.fire()
    studio.deliver(message(frame_id))
    assert [event.frame_id for event in studio.said(said)] == [frame_id]
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.deliver(message(frame_id))
    assert len(studio.said(said)) == 1


@pytest.mark.parametrize(("kinds", "told"), [(("jpeg",), True), (("raw", "jpeg"), False)])
def test_fewer_files_than_the_format_promised_are_put_on_record(kinds, told):
    studio = Studio(connected=False)
    studio.connect(file_format="raw+jpeg")
    studio.ask()
    frame_id = studio.fire()
    for kind in kinds:
        studio.file(frame_id, kind)
    studio.deliver(say.FrameComplete(frame_id))
    promised = [text for _, text, *_ in studio.log.events if "promised 2 files, the camera made 1" in text]
    assert bool(promised) is told


def test_a_frame_that_waits_when_the_camera_goes_did_not_fire():
    studio = Studio()
    studio.do(Touched())
    frame_id = studio.ask()
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    assert studio.said(FrameMoved)[-1].frame_id == frame_id
    assert "did not fire. Cable lost." in studio.texts()
    assert studio.shoot.releases.held is None
    assert studio.camera.count(say.Release) == 0
