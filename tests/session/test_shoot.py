"""The controller alone, with a scripted camera and a clock that stands still."""

from dataclasses import replace

import pytest
from scripted import PLACE, Studio, reading

from session.cameras import protocol as say
from session.cameras.protocol import CardObject, Fault, Fired
from session.events import CameraLost, FrameMoved, RevisionChanged, Waiting
from session.finding import FocusJudgement, FocusVerdict
from session.frame import FrameState, ReleasedBy
from session.lens_in_use import APERTURE_TICK
from session.ports import Judgement
from session.recovery import LATE_FILE_S
from session.setup import PlacedLight


def state(studio: Studio, frame_id: str) -> FrameState:
    return studio.log.rows[frame_id]["state"]


def test_a_frame_goes_from_the_wish_to_the_log():
    studio = Studio()
    frame_id = studio.whole_frame()
    assert state(studio, frame_id) is FrameState.SAVED
    studio.judged(frame_id)
    assert state(studio, frame_id) is FrameState.LOGGED
    states = [event.state for event in studio.said(FrameMoved)]
    assert states == [FrameState.RELEASING, FrameState.RECEIVING, FrameState.SAVED, FrameState.LOGGED]


def test_the_log_knows_the_frame_before_the_camera_does():
    studio = Studio()
    seen = []
    posting = studio.camera.post
    studio.shoot.bench.post = lambda request: (
        seen.append((type(request), len(studio.log.rows))),
        posting(request),
    )
    studio.ask()
    assert (say.Release, 1) in seen


def test_the_log_keeps_the_camera_model_as_the_camera_tells_it():
    studio = Studio()
    described = studio.shoot.bench.description
    assert described is not None and described.model
    assert studio.log.models == {described.serial: described.model}


def test_a_log_that_refuses_the_intent_keeps_the_shutter_shut():
    studio = Studio()
    studio.log.refusing = True
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert "did not fire. The disk is full." in studio.texts()


def test_a_time_shorter_than_sync_is_refused_with_both_numbers_and_takes_no_number():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.shoot.revise(
        replace(studio.shoot.bench.revision, settings=replace(studio.shoot.bench.revision.settings, exposure_s=0.002))
    )
    studio.answer_settings(exposure_s=0.002)
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert not studio.log.rows
    assert "1/500 s is shorter than the 1/200 s sync time" in studio.texts()
    assert studio.log.events[-1][0] == "refused"


def test_the_remedy_for_sync_sets_the_camera_and_makes_a_revision():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    bench = studio.shoot.bench
    studio.shoot.revise(replace(bench.revision, settings=replace(bench.revision.settings, exposure_s=0.002)))
    sync = next(f for f in studio.shoot.findings() if f.id == "sync")
    studio.shoot.apply(sync)
    assert bench.revision.settings.exposure_s == 0.005
    assert studio.camera.last(say.ApplySettings).changes["exposure_s"] == 0.005


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
    studio.shoot.touched()
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert studio.said(Waiting)[-1].reason == "hold-off"
    studio.wait(1.9)
    assert studio.camera.count(say.Release) == 0
    studio.wait(0.11)
    assert studio.camera.count(say.Release) == 1


def test_another_touch_while_it_waits_starts_the_hold_off_anew():
    studio = Studio()
    studio.shoot.touched()
    studio.ask()
    studio.wait(1.5)
    studio.shoot.touched()
    studio.wait(1.0)
    assert studio.camera.count(say.Release) == 0
    studio.wait(1.01)
    assert studio.camera.count(say.Release) == 1


def test_the_flash_gets_its_charging_time_for_the_power_used():
    studio = Studio()  # 2 s at full power, the key stands at −2 EV: a quarter
    studio.judged(studio.whole_frame())
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "charge"
    studio.wait(0.45)
    assert studio.camera.count(say.Release) == 1
    studio.wait(0.06)
    assert studio.camera.count(say.Release) == 2


def test_a_dial_turned_while_it_waits_refuses_the_frame():
    studio = Studio()
    studio.shoot.touched()
    studio.ask()
    studio.deliver(say.SettingsRead(reading(f_number=8.0), by_hand=True))
    studio.wait(5)
    assert studio.camera.count(say.Release) == 0
    assert "Aperture is f/8, set-up 01.1 says f/11." in studio.texts()


def test_a_frame_that_waits_can_be_called_off():
    studio = Studio()
    studio.shoot.touched()
    studio.ask()
    studio.shoot.call_off()
    studio.wait(5)
    assert studio.camera.count(say.Release) == 0
    assert not studio.log.rows


def test_the_next_frame_may_be_asked_for_before_the_checks_are_done():
    studio = Studio()
    first = studio.whole_frame()
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 2
    studio.judged(first)
    assert state(studio, first) is FrameState.LOGGED


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


def test_the_jpeg_is_judged_while_the_raw_is_still_coming():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "jpeg")
    assert [a.kind for a in studio.judge.assignments] == ["jpeg"]
    studio.judged(frame_id)
    assert state(studio, frame_id) is FrameState.RECEIVING
    studio.file(frame_id, "raw")
    studio.deliver(say.FrameComplete(frame_id))
    assert state(studio, frame_id) is FrameState.LOGGED
    assert len(studio.judge.assignments) == 1


def test_a_raw_alone_is_judged_when_it_is_whole():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "raw")
    assert not studio.judge.assignments
    studio.deliver(say.FrameComplete(frame_id))
    assert [a.kind for a in studio.judge.assignments] == ["raw"]


def test_cable_lost_after_exposure_keeps_frame_on_card_and_it_is_fetched_when_back():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    held = CardObject("/card/DCIM/100STILL", "STIL0001.JPG", 1000)
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.YES, (held,), connected=False))
    assert state(studio, frame_id) is FrameState.MISSING
    assert "/card/DCIM/100STILL/STIL0001.JPG" in studio.log.rows[frame_id]["text"]
    assert studio.said(CameraLost)
    studio.wait(1.1)
    assert isinstance(studio.camera.requests[-1], say.Connect)
    studio.card = (held,)
    studio.connect()
    assert studio.camera.last(say.Fetch).objects == (held,)
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.judged(frame_id)
    assert state(studio, frame_id) is FrameState.LOGGED


def test_camera_gone_during_the_release_leaves_a_frame_that_may_have_fired():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.CameraGone(Fault.NO_ANSWER, "The camera gave no answer for 10 s."))
    assert state(studio, frame_id) is FrameState.UNCERTAIN
    assert "may have fired" in studio.log.rows[frame_id]["text"]
    studio.connect()
    assert state(studio, frame_id) is FrameState.UNCERTAIN, "its files may still come"
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed(()))
    assert state(studio, frame_id) is FrameState.NOT_FIRED


def test_a_refused_release_did_not_fire():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.Failed("Release", Fault.BUSY, "The camera is busy.", frame_id, Fired.NO))
    assert state(studio, frame_id) is FrameState.NOT_FIRED
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 2


def test_a_release_on_the_body_gets_a_row_and_is_fetched():
    studio = Studio()
    held = CardObject("/card/DCIM/100STILL", "STIL0009.JPG", 1000)
    studio.deliver(say.BodyRelease((held,)))
    frame_id, row = next(iter(studio.log.rows.items()))
    assert row["intent"].released_by is ReleasedBy.BODY
    assert studio.camera.last(say.Fetch) == say.Fetch(frame_id, "/pictures", "0001", (held,))


def test_what_was_on_the_card_before_is_nobodys_frame():
    old = CardObject("/card/DCIM/100STILL", "STIL0001.JPG", 1000)
    studio = Studio(card=(old,))
    assert not studio.log.rows
    assert old in studio.log.known_card_objects("S-1")


def test_log_writes_that_fail_after_the_shutter_are_made_good_in_order():
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.log.refusing = True
    studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.judged(frame_id)
    assert state(studio, frame_id) is FrameState.RELEASING
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 1, "no release while the log owes"
    studio.log.refusing = False
    studio.wait(1.1)
    assert state(studio, frame_id) is FrameState.LOGGED
    assert len(studio.log.rows[frame_id]["files"]) == 1


def test_a_moved_light_is_a_new_revision_and_a_touch():
    studio = Studio()
    bench = studio.shoot.bench
    studio.shoot.revise(bench.revision.with_light(PlacedLight("key", -1.0, 620, 45, 30, "tube")))
    assert bench.revision.label == "01.2"
    assert studio.said(RevisionChanged)[-1].revision.lights[0].power_ev == -1.0
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "hold-off"


def test_a_change_that_changes_nothing_makes_no_revision():
    studio = Studio()
    assert studio.shoot.revise(studio.shoot.bench.revision) is False
    assert studio.shoot.bench.revision.label == "01.1"


def test_a_tick_for_an_aperture_by_hand_goes_with_the_aperture_it_was_given_for():
    studio = Studio()
    bench = studio.shoot.bench
    studio.shoot.revise(replace(bench.revision, ticked=(APERTURE_TICK, "stabiliser")))
    studio.shoot.revise(replace(bench.revision, notes="the same aperture"))
    assert bench.revision.ticked == (APERTURE_TICK, "stabiliser")
    studio.shoot.revise(replace(bench.revision, settings=replace(bench.revision.settings, f_number=16.0)))
    assert bench.revision.ticked == ("stabiliser",)


def test_the_cameras_own_settings_can_become_the_next_revision():
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(f_number=8.0), by_hand=True))
    studio.shoot.take_camera_settings()
    assert studio.shoot.bench.revision.settings.f_number == 8.0
    assert not [f for f in studio.shoot.findings() if f.id == "drifted"]


@pytest.mark.parametrize("fault", list(Fault))
def test_without_a_camera_nothing_is_released_and_it_says_so(fault):
    studio = Studio()
    studio.deliver(say.CameraGone(fault, "It is gone."))
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert "there is no camera" in studio.texts()


def test_a_second_wish_while_one_waits_makes_no_second_frame():
    studio = Studio()
    studio.shoot.touched()
    studio.ask()
    studio.ask()
    studio.wait(5)
    studio.wait(5)
    assert studio.camera.count(say.Release) == 1


def test_messages_of_unknown_frames_are_taken_without_harm():
    studio = Studio()
    studio.deliver(say.ShutterFired("nobody", 1.0))
    studio.deliver(say.FrameComplete("nobody"))
    studio.deliver(say.Failed("Release", Fault.BUSY, "busy", "nobody"))
    assert not studio.log.rows


def test_the_set_up_that_was_opened_is_put_on_the_camera_at_the_first_connection_only():
    studio = Studio(connected=False)
    studio.connect(f_number=8.0)
    assert studio.camera.last(say.ApplySettings).changes["f_number"] == 11.0
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    studio.connect(f_number=8.0)
    assert studio.camera.count(say.ApplySettings) == 1
    assert "drifted" in {f.id for f in studio.shoot.findings()}


def test_a_release_asked_for_while_the_camera_takes_settings_is_judged_by_the_new_ones():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    frame_id = studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert not studio.said(FrameMoved)
    studio.answer_settings(exposure_s=0.005)
    assert studio.camera.last(say.Release).frame_id == frame_id


def test_a_release_asked_for_during_a_transfer_is_said_to_wait_once_and_follows_by_itself():
    studio = Studio()
    studio.ask()
    first = studio.fire()
    second = studio.ask()
    studio.wait(0.5)
    studio.file(first)
    assert studio.said(Waiting) == [Waiting(second, 2, "camera", None)]
    assert studio.camera.count(say.Release) == 1
    studio.deliver(say.FrameComplete(first))
    studio.wait(10)
    assert studio.camera.last(say.Release).frame_id == second


def test_a_release_that_waits_for_settings_says_so():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    frame_id = studio.ask()
    assert studio.said(Waiting) == [Waiting(frame_id, 1, "settings", None)]


def test_a_release_that_waits_for_a_late_file_says_so():
    studio = Studio()
    studio.shoot.bench.late = frozenset({"lost-frame"})
    frame_id = studio.ask()
    assert studio.said(Waiting) == [Waiting(frame_id, 1, "late file", None)]


def test_a_release_asked_for_while_the_camera_refuses_settings_is_refused():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.ask()
    studio.deliver(say.Failed("ApplySettings", Fault.REFUSED, "It was not taken."))
    assert studio.camera.count(say.Release) == 0
    assert studio.said(FrameMoved)[-1].state is FrameState.REFUSED


def test_a_camera_lost_over_its_settings_leaves_no_release_waiting_for_them():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    studio.deliver(say.Failed("ApplySettings", Fault.LOST, "Cable lost.", connected=False))
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    studio.connect()
    studio.ask()
    assert studio.camera.count(say.Release) == 1


def test_a_frame_released_on_the_body_while_another_waits_takes_the_number_and_both_are_kept():
    studio = Studio()
    studio.shoot.touched()
    waiting = studio.ask()
    studio.deliver(say.BodyRelease((CardObject("/card/DCIM/100STILL", "STIL0009.JPG", 1000),)))
    body = studio.camera.last(say.Fetch).frame_id
    studio.file(body)
    studio.deliver(say.FrameComplete(body))
    studio.wait(5)
    assert studio.camera.last(say.Release).frame_id == waiting
    assert {frame_id: row["number"] for frame_id, row in studio.log.rows.items()} == {body: 1, waiting: 2}


def test_at_the_end_the_waiting_frame_is_called_off_and_what_the_camera_still_says_is_logged():
    studio = Studio()
    studio.ask()
    under_way = studio.fire()
    studio.shoot.touched()
    studio.ask()
    studio.shoot.let_go()
    assert studio.camera.closed
    assert studio.said(FrameMoved)[-1].state is FrameState.CALLED_OFF
    studio.file(under_way)
    studio.deliver(say.FrameComplete(under_way))
    studio.shoot.close()
    assert state(studio, under_way) is FrameState.SAVED
    assert len(studio.log.rows[under_way]["files"]) == 1
    studio.ask()
    assert studio.camera.count(say.Release) == 1


def test_a_frame_fetched_later_is_judged_by_its_own_set_up_and_piece():
    studio = Studio()
    bench = studio.shoot.bench
    own = bench.revision
    good = studio.whole_frame()
    studio.judged(good)
    studio.shoot.accept_reference(good)
    studio.wait(5)
    studio.ask()
    frame_id = studio.fire()
    held = CardObject("/card/DCIM/100STILL", "STIL0002.JPG", 1000)
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.YES, (held,), connected=False))
    studio.shoot.go_to(replace(PLACE, piece_id="piece-2", piece="bridge 7"))
    studio.shoot.revise(own.with_light(PlacedLight("key", -1.0, 620, 45, 30, "tube")))
    studio.card = (held,)
    studio.connect()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    assignment = studio.judge.assignments[-1]
    assert (assignment.frame_id, assignment.revision) == (frame_id, own)
    assert assignment.reference_path == studio.log.rows[good]["files"][0].path
    assert bench.revision != own


def test_a_new_piece_is_judged_by_the_light_of_the_piece_before_until_it_has_a_reference():
    studio = Studio()
    good = studio.whole_frame()
    studio.judged(good)
    studio.shoot.accept_reference(good)
    studio.shoot.go_to(replace(PLACE, piece_id="piece-2", piece="bridge 7"))
    studio.wait(5)
    first = studio.whole_frame()
    assignment = studio.judge.assignments[-1]
    assert (assignment.frame_id, assignment.reference_path) == (first, None)
    assert assignment.expected_path == studio.log.rows[good]["files"][0].path
    studio.judged(first)
    studio.shoot.accept_reference(first)
    studio.wait(5)
    studio.whole_frame()
    assignment = studio.judge.assignments[-1]
    assert assignment.reference_path == studio.log.rows[first]["files"][0].path
    assert assignment.expected_path is None


def test_a_frame_that_is_with_the_judge_when_the_cable_goes_is_judged_once():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "jpeg")
    raw = CardObject("/card/DCIM/100STILL", "STIL0001.DNG", 1000)
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.YES, (raw,), connected=False))
    studio.card = (raw,)
    studio.connect()
    studio.file(frame_id, "raw")
    studio.deliver(say.FrameComplete(frame_id))
    assert state(studio, frame_id) is FrameState.SAVED
    studio.judged(frame_id)
    assert state(studio, frame_id) is FrameState.LOGGED
    assert len(studio.judge.assignments) == 1


def test_a_log_that_goes_on_refusing_is_told_once():
    studio = Studio()
    studio.ask()
    studio.log.refusing = True
    studio.fire()
    for _ in range(5):
        studio.wait(1.1)
    assert studio.texts().count("The disk is full.") == 1
    studio.log.refusing = False
    studio.wait(1.1)
    studio.log.refusing = True
    studio.shoot.touched()
    studio.shoot.mark(studio.camera.last(say.Release).frame_id, "kill")
    assert studio.texts().count("The disk is full.") == 2


# --- the room's light -------------------------------------------------------------------------------


def with_reference() -> Studio:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    studio.shoot.accept_reference(frame_id)
    return studio


def ambient_frame(studio: Studio) -> str:
    """Lights off, released, one JPEG, complete; not judged yet."""
    studio.shoot.measure_ambient()
    studio.shoot.tick()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    return frame_id


def room_light(frame_id: str, ambient_ev: float | None) -> Judgement:
    return Judgement(frame_id, (), FocusJudgement(FocusVerdict.UNJUDGED), ambient_ev)


def test_an_ambient_frame_is_told_as_such_to_log_judge_and_listeners_and_no_flash_pops():
    studio = with_reference()
    pops = dict(studio.shoot.bench.pops)
    frame_id = ambient_frame(studio)
    assert studio.log.rows[frame_id]["intent"].ambient
    assert studio.judge.assignments[-1].ambient
    assert all(moved.ambient == (moved.frame_id == frame_id) for moved in studio.said(FrameMoved))
    assert studio.shoot.bench.pops == pops


def test_an_ambient_frame_waits_for_no_flash_but_holds_off_after_a_touch():
    studio = with_reference()
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "charge"
    studio.shoot.call_off()
    studio.shoot.touched()
    studio.shoot.measure_ambient()
    assert studio.said(Waiting)[-1].reason == "hold-off"
    studio.wait(2.1)
    assert studio.camera.count(say.Release) == 2


def test_what_an_ambient_frame_measures_becomes_a_revision_and_settles_the_rule():
    studio = with_reference()
    assert "ambient" in {finding.id for finding in studio.shoot.findings()}
    frame_id = ambient_frame(studio)
    studio.deliver(room_light(frame_id, -6.3))
    assert studio.shoot.bench.revision.ambient_ev == -6.3
    changed = studio.said(RevisionChanged)[-1]
    assert (changed.revision.label, changed.frame_id) == ("01.2", frame_id)
    assert studio.log.revisions[-1].ambient_ev == -6.3
    assert "ambient" not in {finding.id for finding in studio.shoot.findings()}


def test_an_ambient_frame_that_measures_nothing_changes_no_set_up():
    studio = with_reference()
    studio.deliver(room_light(ambient_frame(studio), None))
    assert len(studio.log.revisions) == 1


def test_room_light_measured_under_other_lights_than_now_is_to_be_measured_again():
    studio = with_reference()
    frame_id = ambient_frame(studio)
    studio.shoot.revise(studio.shoot.bench.revision.with_light(PlacedLight("rim", -2.0, 500, 180, 40)))
    studio.deliver(room_light(frame_id, -6.3))
    assert studio.shoot.bench.revision.ambient_ev is None
    assert "measure the room's light again" in studio.texts()


def test_without_a_reference_no_frame_is_released_for_the_room_light():
    studio = Studio()
    assert studio.shoot.measure_ambient() == ""
    assert studio.camera.count(say.Release) == 0
    assert "Did not fire: the room's light is measured against the reference" in studio.texts()


def test_the_judge_learns_the_guide_numbers_of_the_set_as_shaped():
    studio = Studio()
    studio.whole_frame()
    assert set(studio.judge.assignments[-1].guide_numbers_m) == {"key"}
