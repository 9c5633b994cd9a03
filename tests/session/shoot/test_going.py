"""The controller alone: each view goes on with its own set-up, what that sets is said, and a turned dial is left."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

from session.frame import camera_messages as say
from session.frame.ports import Place, Standing
from session.frame.states import FrameState
from session.set.setup import PlacedLight, Region, Revision, Settings
from session.shoot.acts import CallOff, GoTo, Touched
from session.shoot.events import PlaceChanged, RevisionChanged, Said
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio, reading

TOP = replace(PLACE, view_id="view-2", view="top")
OTHER_PIECE = replace(PLACE, piece_id="piece-2", view_id="view-3", piece="barrel 7")
CORNER = Region(0.1, 0.1, 0.2, 0.2)


def last_said(studio: Studio) -> str:
    return str(studio.said(Said)[-1].text)


def in_use(studio: Studio, frame_id: str) -> Revision:
    return studio.log.keys[studio.log.rows[frame_id]["intent"].revision_id]


def shot(studio: Studio, **camera: object) -> Revision:
    """A frame, and the revision that it was released by."""
    studio.answer_settings(**camera)
    studio.wait(60)
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    return in_use(studio, frame_id)


def at_f8(studio: Studio) -> None:
    """The view on the table gets another aperture, region, patch, depth and limit."""
    now = studio.shoot.shoot_state.revision
    changed = replace(now.settings, f_number=8.0)
    studio.revise(
        replace(now, settings=changed, region=CORNER, grey_patch=CORNER, depth_needed_mm=1.5, blur_limit_px=3.0)
    )


def test_a_new_view_begins_a_set_up_of_its_own_from_what_stands():
    studio = Studio()
    before = studio.shoot.shoot_state.revision
    studio.go_to(TOP)
    bench = studio.shoot.shoot_state
    assert bench.revision == replace(before, setup_number=2, revision=1) and bench.is_draft
    assert last_said(studio) == "barrel 6, top: set-up 02.1 (was 01.1)."
    assert studio.log.revisions == [before], "before its first frame it is in no revision"


def test_a_new_view_can_begin_from_the_cameras_settings():
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(f_number=5.6), by_hand=True))
    studio.go_to(TOP, from_camera=True)
    assert studio.shoot.shoot_state.revision == Revision(setup_number=2, settings=Settings(f_number=5.6))
    assert not studio.camera.count(say.ApplySettings), "the camera is left as it is"
    assert "drifted" not in {finding.id for finding in studio.shoot.findings()}


def test_a_set_up_that_begins_from_the_camera_leaves_nothing_to_the_hands():
    studio = Studio()
    studio.revise(replace(studio.shoot.shoot_state.revision, lights=(PlacedLight("key"),)))
    studio.go_to(TOP, from_camera=True)
    assert "by hand" not in last_said(studio)
    assert last_said(studio).endswith("begun with what the camera is set to; no lens or light is in it yet.")


def test_going_back_to_a_view_brings_back_the_set_up_it_was_shot_with():
    studio = Studio()
    first = shot(studio)
    studio.go_to(TOP)
    at_f8(studio)
    second = shot(studio, f_number=8.0)
    assert second.label == "02.1" and second.region == CORNER
    studio.go_to(PLACE)
    assert studio.shoot.shoot_state.revision == first
    assert studio.camera.last(say.ApplySettings).changes["f_number"] == 11.0
    assert last_said(studio) == (
        "barrel 6, three-quarter: set-up 01.1 (was 02.1); set on the camera: aperture f/8 → f/11."
    )
    assert shot(studio) == first
    studio.go_to(TOP)
    assert studio.shoot.shoot_state.revision == second
    assert shot(studio, f_number=8.0) == second
    assert studio.log.revisions == [first, second]


def test_a_new_piece_of_the_same_view_begins_from_that_views_set_up():
    studio = Studio()
    first = shot(studio)
    studio.go_to(TOP)
    at_f8(studio)
    shot(studio, f_number=8.0)
    studio.go_to(OTHER_PIECE)
    assert studio.shoot.shoot_state.revision == first
    assert last_said(studio).startswith("barrel 7, three-quarter: set-up 01.1 (was 02.1), as for barrel 6;")


def test_a_change_at_one_piece_leaves_the_other_ones_region_alone():
    studio = Studio()
    first = shot(studio)
    studio.go_to(OTHER_PIECE)
    studio.revise(replace(studio.shoot.shoot_state.revision, region=CORNER))
    assert shot(studio).label == "01.2"
    studio.go_to(PLACE)
    assert studio.shoot.shoot_state.revision == first


def test_a_draft_stays_with_its_view_until_a_frame_uses_it():
    studio = Studio()
    shot(studio)
    studio.revise(replace(studio.shoot.shoot_state.revision, region=CORNER))
    draft = studio.shoot.shoot_state.revision
    studio.go_to(TOP)
    studio.go_to(PLACE)
    assert studio.shoot.shoot_state.revision == draft and studio.shoot.shoot_state.is_draft
    assert shot(studio) == draft


def test_two_drafts_of_one_set_up_get_numbers_of_their_own_as_they_are_shot():
    studio = Studio()
    shot(studio)
    studio.revise(replace(studio.shoot.shoot_state.revision, region=CORNER))
    studio.go_to(OTHER_PIECE)
    studio.revise(replace(studio.shoot.shoot_state.revision, notes="the other piece"))
    assert shot(studio).label == "01.2"
    studio.go_to(PLACE)
    assert shot(studio).label == "01.3"
    assert [one.label for one in studio.log.revisions] == ["01.1", "01.2", "01.3"]


def test_a_dial_turned_on_purpose_is_left_when_another_view_comes():
    studio = Studio()
    shot(studio)
    studio.go_to(TOP)
    at_f8(studio)
    shot(studio, f_number=8.0)
    studio.deliver(say.SettingsRead(reading(f_number=5.6), by_hand=True))
    asked = studio.camera.count(say.ApplySettings)
    studio.go_to(PLACE)
    assert studio.camera.count(say.ApplySettings) == asked, "nothing is set on the camera"
    assert "the camera stays as it was turned" in last_said(studio)
    (drifted,) = [finding for finding in studio.shoot.findings() if finding.id == "drifted"]
    assert drifted.text == "Aperture is f/5.6, set-up 01.1 says f/11."


def test_what_hands_must_do_for_the_other_view_is_said():
    studio = Studio()
    shot(studio)
    studio.go_to(TOP)
    studio.revise(studio.shoot.shoot_state.revision.with_light(PlacedLight("rim", -2.0, 500, 180, 40)))
    studio.wait(60)
    studio.go_to(PLACE)
    assert last_said(studio).endswith("by hand: light rim.")
    assert studio.shoot.shoot_state.touched_s == studio.clock.now_s


def test_the_place_is_told_before_its_set_up_and_a_log_that_refuses_leaves_all_as_it_was():
    studio = Studio()
    studio.go_to(TOP)
    told = [type(event) for event in studio.events if isinstance(event, PlaceChanged | RevisionChanged)]
    assert told[-2:] == [PlaceChanged, RevisionChanged]
    studio.log.refusing = True
    before: tuple[Place, Standing] = studio.shoot.shoot_state.place, studio.shoot.shoot_state.standing
    studio.go_to(PLACE)
    assert (studio.shoot.shoot_state.place, studio.shoot.shoot_state.standing) == before
    assert last_said(studio) == "The disk is full."


def test_a_view_without_a_name_is_refused_in_a_sentence_that_fades_and_all_stays():
    studio = Studio()
    before = studio.shoot.shoot_state.place
    studio.do(GoTo("barrel 7", " "))
    assert studio.shoot.shoot_state.place == before
    said = studio.said(Said)[-1]
    assert (said.text, said.lasting) == ("A view needs a name.", False)


def test_room_is_counted_by_the_mean_of_the_frames_that_came_in_earlier_runs_too():
    studio = Studio(connected=False)
    for number, size in enumerate((4_000, 1_000, 7_000), 1):
        studio.log.rows[str(number)] = {
            "number": number,
            "state": FrameState.LOGGED,
            "files": [SimpleNamespace(bytes=size)],
            "place": PLACE,
        }
    studio.connect()
    assert studio.shoot.shoot_state.frame_bytes == 4_000
    frame_id = studio.whole_frame()
    assert studio.log.rows[frame_id]["files"][0].bytes == 1_000
    assert studio.shoot.shoot_state.frame_bytes == 3_250


# --- no revision without a frame --------------------------------------------------------------------


def test_changes_between_two_frames_are_one_revision():
    studio = Studio()
    shot(studio)
    for power_ev in (-1.0, -1.5, -2.5):
        studio.revise(studio.shoot.shoot_state.revision.with_light(PlacedLight("key", power_ev, 620, 45, 30, "tube")))
    assert shot(studio).label == "01.2"
    assert [one.label for one in studio.log.revisions] == ["01.1", "01.2"]


def test_a_refused_and_a_called_off_release_leave_no_revision():
    studio = Studio()
    shot(studio)
    studio.revise(replace(studio.shoot.shoot_state.revision, settings=Settings(exposure_s=0.002)))
    studio.answer_settings(exposure_s=0.002)
    studio.ask()
    assert "sync" in {finding.id for finding in studio.shoot.findings()}
    studio.revise(replace(studio.shoot.shoot_state.revision, settings=Settings(), hold_off_s=3.0))
    studio.answer_settings()
    studio.do(Touched())
    studio.ask()
    studio.do(CallOff())
    assert [one.label for one in studio.log.revisions] == ["01.1"]
    assert shot(studio).label == "01.2"


def test_a_change_put_back_before_a_frame_is_the_revision_it_came_from():
    studio = Studio()
    first = shot(studio)
    studio.revise(first.with_light(PlacedLight("key", -1.0, 620, 45, 30, "tube")))
    assert studio.shoot.shoot_state.is_draft
    studio.revise(first)
    assert studio.shoot.shoot_state.revision == first and not studio.shoot.shoot_state.is_draft
    assert shot(studio) == first


def test_a_log_that_refuses_the_frame_leaves_the_draft_a_draft():
    studio = Studio()
    shot(studio)
    studio.revise(replace(studio.shoot.shoot_state.revision, notes="nearer"))
    studio.wait(60)
    studio.log.refusing = True
    studio.ask()
    assert studio.shoot.shoot_state.is_draft and len(studio.log.revisions) == 1
    studio.log.refusing = False
    studio.wait(60)
    assert shot(studio).notes == "nearer"


def test_a_release_on_the_camera_takes_the_draft_too():
    studio = Studio()
    shot(studio)
    studio.revise(replace(studio.shoot.shoot_state.revision, notes="nearer"))
    studio.deliver(say.BodyRelease((say.CardObject("/card/DCIM/100STILL", "STIL0900.JPG", 1000),)))
    assert studio.log.revisions[-1].notes == "nearer" and not studio.shoot.shoot_state.is_draft
