"""The controller alone: what makes a new revision of the set-up, ambient included; what goes on the camera."""

from dataclasses import replace

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault
from session.frame.finding import FocusJudgement, FocusVerdict
from session.frame.ports import Judgement
from session.set.setup import Confirmation, PlacedLight
from session.shoot.acts import AcceptReference, ApplyRemedy, AskRelease, CallOff, TakeCameraSettings, Touched
from session.shoot.events import FrameMoved, RevisionChanged, Waiting
from tests.support.scripted import Studio, reading


def test_the_remedy_for_sync_sets_the_camera_and_makes_a_revision():
    studio = Studio(connected=False)
    studio.connect(exposure_s=0.002)
    bench = studio.shoot.shoot_state
    studio.revise(replace(bench.revision, settings=replace(bench.revision.settings, exposure_s=0.002)))
    sync = next(f for f in studio.shoot.findings() if f.id == "sync")
    studio.do(ApplyRemedy(sync))
    assert bench.revision.settings.exposure_s == 0.005
    assert studio.camera.last(say.ApplySettings).changes["exposure_s"] == 0.005


def test_a_moved_light_is_a_draft_of_the_next_revision_and_a_touch():
    studio = Studio()
    bench = studio.shoot.shoot_state
    studio.revise(bench.revision.with_light(PlacedLight("key", -1.0, 620, 45, 30, "tube")))
    assert bench.revision.label == "01.2"
    assert bench.is_draft and len(studio.log.revisions) == 1
    assert studio.said(RevisionChanged)[-1].revision.lights[0].power_ev == -1.0
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "hold-off"


def test_a_change_that_changes_nothing_makes_no_revision():
    studio = Studio()
    studio.revise(studio.shoot.shoot_state.revision)
    assert not studio.said(RevisionChanged)
    assert studio.shoot.shoot_state.revision.label == "01.1"


def test_a_confirmation_for_an_aperture_by_hand_goes_with_the_aperture_it_was_given_for():
    studio = Studio()
    bench = studio.shoot.shoot_state
    studio.revise(replace(bench.revision, confirmed=(Confirmation.APERTURE_BY_HAND, "stabiliser")))
    studio.revise(replace(bench.revision, notes="the same aperture"))
    assert bench.revision.confirmed == (Confirmation.APERTURE_BY_HAND, "stabiliser")
    studio.revise(replace(bench.revision, settings=replace(bench.revision.settings, f_number=16.0)))
    assert bench.revision.confirmed == ("stabiliser",)


def test_the_cameras_own_settings_can_become_the_next_revision():
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(f_number=8.0), by_hand=True))
    studio.do(TakeCameraSettings())
    assert studio.shoot.shoot_state.revision.settings.f_number == 8.0
    assert not [f for f in studio.shoot.findings() if f.id == "drifted"]


def test_the_set_up_that_was_opened_is_put_on_the_camera_at_the_first_connection_only():
    studio = Studio(connected=False)
    studio.connect(f_number=8.0)
    assert studio.camera.last(say.ApplySettings).changes["f_number"] == 11.0
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    studio.connect(f_number=8.0)
    assert studio.camera.count(say.ApplySettings) == 1
    assert "drifted" in {f.id for f in studio.shoot.findings()}


# --- the ambient light -------------------------------------------------------------------------------


def with_reference() -> Studio:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    studio.do(AcceptReference(frame_id))
    return studio


def ambient_frame(studio: Studio) -> str:
    """Lights off, released, one JPEG, complete; not judged yet."""
    studio.do(AskRelease(ambient=True))
    studio.shoot.tick()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    return frame_id


def ambient_judgement(frame_id: str, ambient_ev: float | None) -> Judgement:
    return Judgement(frame_id, (), FocusJudgement(FocusVerdict.UNJUDGED), ambient_ev)


def test_an_ambient_frame_is_told_as_such_to_log_judge_and_listeners_and_no_flash_pops():
    studio = with_reference()
    pops = dict(studio.shoot.shoot_state.pops)
    frame_id = ambient_frame(studio)
    assert studio.log.rows[frame_id]["intent"].ambient
    assert studio.judge.assignments[-1].ambient
    assert all(moved.ambient == (moved.frame_id == frame_id) for moved in studio.said(FrameMoved))
    assert studio.shoot.shoot_state.pops == pops


def test_a_series_needs_no_reference_and_each_frame_says_which_light_alone_fires():
    studio = Studio()
    studio.do(AskRelease(ambient=True, in_series=True))
    ambient = studio.fire()
    studio.file(ambient)
    studio.deliver(say.FrameComplete(ambient))
    studio.judged(ambient)
    studio.do(AskRelease(solo="key", in_series=True))
    solo = studio.fire()
    studio.file(solo)
    assert (studio.log.rows[ambient]["intent"].measures, studio.log.rows[solo]["intent"].measures) == (
        "ambient",
        "solo key",
    )
    assert studio.judge.assignments[-1].solo == "key"
    assert {moved.solo for moved in studio.said(FrameMoved)} == {"", "key"}


def test_an_ambient_frame_waits_for_no_flash_but_holds_off_after_a_touch():
    studio = with_reference()
    studio.ask()
    assert studio.said(Waiting)[-1].reason == "recycling"
    studio.do(CallOff())
    studio.do(Touched())
    studio.do(AskRelease(ambient=True))
    assert studio.said(Waiting)[-1].reason == "hold-off"
    studio.wait(2.1)
    assert studio.camera.count(say.Release) == 2


def test_what_an_ambient_frame_measures_belongs_to_the_set_up_and_settles_the_rule():
    studio = with_reference()
    assert "ambient" in {finding.id for finding in studio.shoot.findings()}
    frame_id = ambient_frame(studio)
    studio.deliver(ambient_judgement(frame_id, -6.3))
    assert studio.shoot.shoot_state.revision.ambient_ev == -6.3
    changed = studio.said(RevisionChanged)[-1]
    assert (changed.revision.label, changed.frame_id) == ("01.2", frame_id)
    assert len(studio.log.revisions) == 1, "a revision is made by the next frame"
    studio.wait(60)
    studio.whole_frame()
    assert studio.log.revisions[-1].ambient_ev == -6.3
    assert "ambient" not in {finding.id for finding in studio.shoot.findings()}


def test_an_ambient_frame_that_measures_nothing_changes_no_set_up():
    studio = with_reference()
    studio.deliver(ambient_judgement(ambient_frame(studio), None))
    assert len(studio.log.revisions) == 1


def test_ambient_measured_under_other_lights_than_now_is_to_be_measured_again():
    studio = with_reference()
    frame_id = ambient_frame(studio)
    studio.revise(studio.shoot.shoot_state.revision.with_light(PlacedLight("rim", -2.0, 500, 180, 40)))
    studio.deliver(ambient_judgement(frame_id, -6.3))
    assert studio.shoot.shoot_state.revision.ambient_ev is None
    assert "measure the ambient light again" in studio.texts()


def test_without_a_reference_no_frame_is_released_for_the_ambient():
    studio = Studio()
    studio.do(AskRelease(ambient=True))
    assert studio.camera.count(say.Release) == 0
    assert "Did not fire: the ambient light is measured against the reference" in studio.texts()
