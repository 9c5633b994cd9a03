"""The controller alone: when it releases, what it refuses, what it waits for and says so, what is called off."""

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired, SavedFile
from session.frame.states import FrameState, NewFrame
from session.shoot.acts import AcceptReference, AskRelease, CallOff, MarkFrame, Touched
from session.shoot.events import (
    About,
    CameraBusy,
    CameraWait,
    CardBeingRead,
    FrameMoved,
    RevisionChanged,
    Said,
    SlowTransfer,
    Waiting,
)
from session.shoot.flight import Flight
from tests.support.memory_log import PLACE
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


def test_a_release_waits_for_a_folder_that_is_read_in_one_go_and_can_be_cancelled():
    studio = Studio()
    studio.deliver(say.ReadingCard(20, 5000, "file", 240.0))
    frame_id = studio.ask()
    assert studio.said(Waiting) == [Waiting(frame_id, 1, CameraWait.CARD, None)]
    studio.do(CallOff())
    assert studio.said(FrameMoved)[-1].state is FrameState.CALLED_OFF
    second = studio.ask()
    studio.deliver(say.ReadingCard(5000, 5000, "file", 0.0))
    assert studio.camera.last(say.Release).frame_id == second
    assert [event.left_s for event in studio.said(CardBeingRead)] == [240.0, 0.0]


def test_a_release_waits_from_the_moment_at_which_a_folder_is_begun():
    studio = Studio()
    studio.deliver(say.ReadingCard(0, 2))
    frame_id = studio.ask()
    assert not studio.camera.count(say.Release)
    assert studio.said(Waiting) == [Waiting(frame_id, 1, CameraWait.CARD, None)]
    studio.deliver(say.ReadingCard(900, 900, "file", 0.0))
    assert studio.camera.last(say.Release).frame_id == frame_id


def test_a_folder_that_was_being_read_when_the_camera_was_lost_holds_nothing_up():
    studio = Studio()
    studio.deliver(say.ReadingCard(20, 5000, "file", 240.0))
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.connect()
    frame_id = studio.ask()
    assert studio.camera.last(say.Release).frame_id == frame_id


def test_how_far_the_folder_is_is_told_of_the_frame_whose_file_waits_for_it():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.deliver(say.ReadingCard(0, 1, frame_id=frame_id))
    studio.deliver(say.ReadingCard(1200, 5000, "file", 190.0, frame_id))
    assert studio.said(CardBeingRead) == [
        CardBeingRead(0, 0, None, frame_id, 1, FrameState.RECEIVING),
        CardBeingRead(1200, 5000, 190.0, frame_id, 1, FrameState.RECEIVING),
    ]


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


def test_no_camera_is_said_once_and_taken_back_when_one_answers():
    studio = Studio(connected=False)
    studio.connect()
    assert not [event for event in studio.said(Said) if event.id == About.NO_CAMERA]
    studio = Studio(connected=False)
    studio.ask()
    assert studio.said(Said)[-1] == Said("Did not fire: there is no camera.", About.NO_CAMERA)
    studio.connect()
    studio.deliver(say.CameraGone(Fault.LOST, "Cable lost."))
    studio.connect()
    assert [event.text for event in studio.said(Said) if event.id == About.NO_CAMERA][1:] == [""]


def test_ambient_light_is_measured_only_beside_a_reference():
    studio = Studio()
    studio.do(AskRelease(ambient=True))
    assert "measured against the reference, and there is none" in studio.texts()
    assert studio.camera.count(say.Release) == 0
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    studio.do(AcceptReference(frame_id))
    studio.wait(10)
    studio.do(AskRelease(ambient=True))
    studio.wait(0)
    assert studio.camera.count(say.Release) == 2


def test_a_log_that_tells_no_number_refuses_the_frame_and_says_why():
    studio = Studio()
    studio.log.unreadable = True
    studio.ask()
    assert "Did not fire: The log can't be read." in studio.texts()
    assert studio.camera.count(say.Release) == 0


def test_the_release_comes_at_the_very_moment_that_the_hold_off_ends():
    studio = Studio()
    studio.do(Touched())
    studio.ask()
    due_s = studio.said(Waiting)[-1].until_s
    studio.clock.now_s = due_s
    studio.shoot.tick()
    assert studio.camera.count(say.Release) == 1


def test_an_arrangement_that_no_revision_has_becomes_one_with_the_frame_and_others_stay():
    studio = Studio()
    studio.revise(replace(studio.shoot.shoot_state.revision, notes="flag nearer"))
    told = len(studio.said(RevisionChanged))
    studio.wait(10)
    studio.ask()
    first = studio.camera.last(say.Release).frame_id
    assert studio.log.rows[first]["intent"].revision_id
    assert [kept.notes for kept in studio.log.revisions] == ["", "flag nearer"]
    assert len(studio.said(RevisionChanged)) == told, "under the number that it had on the screen"
    studio.fire()
    studio.file(first)
    studio.deliver(say.FrameComplete(first))
    studio.judged(first)
    studio.wait(10)
    studio.ask()
    assert len(studio.log.revisions) == 2, "the next frame of it makes none"


def test_a_number_that_another_view_took_meanwhile_is_told():
    studio = Studio()
    now = studio.shoot.shoot_state.revision
    studio.revise(replace(now, notes="flag nearer"))
    draft = studio.shoot.shoot_state.revision
    studio.log.save_revision(PLACE, replace(draft, notes="of the other view"))
    told = len(studio.said(RevisionChanged))
    studio.wait(10)
    studio.ask()
    (changed,) = studio.said(RevisionChanged)[told:]
    assert changed.revision.revision == draft.revision + 1
    assert changed.revision_id == studio.shoot.shoot_state.revision_id != ""


def test_word_of_the_shutter_after_the_frame_came_in_changes_nothing():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.deliver(say.ShutterFired(frame_id, 1.0))
    assert studio.state(frame_id) is FrameState.RECEIVING
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.deliver(say.ShutterFired(frame_id, 1.0))
    assert studio.state(frame_id) is FrameState.SAVED


def body_release(studio: Studio, *endings: str) -> tuple[str, tuple[CardObject, ...]]:
    """A release on the camera with files of these endings: the frame's key, and the files on the card."""
    objects = tuple(CardObject("/card/DCIM/100STILL", f"BODY0001.{ending}", 1000) for ending in endings)
    studio.deliver(say.BodyRelease(objects))
    return studio.camera.last(say.Fetch).frame_id, objects


def test_of_a_release_on_the_camera_those_files_are_under_way_that_have_not_come():
    studio = Studio()
    frame_id, (raw, jpeg) = body_release(studio, "DNG", "JPG")
    under_way = studio.shoot.releases.objects_under_way
    assert under_way() == {frame_id: (raw, jpeg)}
    studio.deliver(say.FileSaved(frame_id, SavedFile("/pictures/0001.DNG", "raw", 1000, "ab" * 32, raw)))
    assert under_way() == {frame_id: (jpeg,)}
    assert not studio.judge.assignments, "a raw waits for its JPEG"
    studio.deliver(say.FileSaved(frame_id, SavedFile("/pictures/0001.JPG", "jpeg", 1000, "ab" * 32, jpeg)))
    assert under_way() == {}
    assert [given.path for given in studio.judge.assignments] == ["/pictures/0001.JPG"]


def test_a_raw_that_comes_alone_is_judged_when_nothing_else_will_come_and_once():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "raw")
    assert not studio.judge.assignments
    studio.deliver(say.FrameComplete(frame_id))
    assert [given.path for given in studio.judge.assignments] == ["/pictures/0001.DNG"]
    studio.file(frame_id, "second")
    assert len(studio.judge.assignments) == 1


def test_a_judgement_that_comes_before_the_raw_is_kept_and_the_frame_goes_on_coming_in():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.RECEIVING
    studio.file(frame_id, "raw")
    assert len(studio.judge.assignments) == 1
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.state(frame_id) is FrameState.LOGGED


@pytest.mark.parametrize("own_release", [True, False])
def test_a_file_of_our_own_release_is_known_as_later_than_those_given_up(own_release):
    studio = Studio()
    late = studio.shoot.shoot_state.late_files
    if own_release:
        studio.ask()
        frame_id = studio.fire()
        late.wait("lost", 0.0)
        late.give_up("lost")
        saved = studio.file(frame_id)
        assert late.newer_files == (saved.card,)
        studio.deliver(say.FrameComplete(frame_id))
        late.give_up("lost")
        studio.file(frame_id, "raw")
        assert late.newer_files == (None,), "what comes late itself says nothing of the order"
    else:
        frame_id, (jpeg,) = body_release(studio, "JPG")
        late.wait("lost", 0.0)
        late.give_up("lost")
        studio.deliver(say.FileSaved(frame_id, SavedFile("/pictures/0001.JPG", "jpeg", 1000, "ab" * 32, jpeg)))
        assert late.newer_files == (None,)


@pytest.mark.parametrize("said", [SlowTransfer, CameraBusy])
def test_a_frame_that_is_held_has_no_progress(said):
    studio = Studio()
    studio.do(Touched())
    frame_id = studio.ask()
    studio.deliver(say.FileComing(frame_id, 10, 100, 3.0))
    studio.deliver(say.BusyWriting(frame_id, 2.0, 30.0))
    assert not studio.said(said)


def test_room_on_the_card_is_taken_from_the_camera_that_tells_it():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id, free_bytes=777))
    assert studio.shoot.shoot_state.free_card_bytes == 777
    studio.wait(10)
    second = studio.whole_frame()
    assert studio.state(second) is FrameState.SAVED
    assert studio.shoot.shoot_state.free_card_bytes == 777


@pytest.mark.parametrize(
    ("promised", "kinds", "told"),
    [("raw+jpeg", ("jpeg",), 1), ("raw+jpeg", ("raw", "jpeg"), 0), ("jpeg", ("raw", "jpeg"), 0), ("odd", ("jpeg",), 0)],
)
def test_what_the_format_promised_is_put_on_record_once_when_less_came(promised, kinds, told):
    studio = Studio(connected=False)
    studio.connect(file_format=promised)
    studio.ask()
    frame_id = studio.fire()
    for kind in kinds:
        studio.file(frame_id, kind)
    studio.deliver(say.FrameComplete(frame_id))
    studio.deliver(say.FrameComplete(frame_id))
    assert sum("promised" in text for _, text, *_ in studio.log.events) == told


@pytest.mark.parametrize(
    ("kinds", "let_pass", "halts"),
    [
        (("jpeg",), 0, False),
        (("jpeg", "second"), 0, True),
        (("jpeg", "second"), 2, False),
        (("jpeg", "second"), 3, False),
    ],
)
def test_more_files_than_the_format_makes_halt_until_somebody_has_looked(kinds, let_pass, halts):
    studio = Studio(connected=False)
    studio.connect(file_format="jpeg")
    studio.shoot.shoot_state.let_pass = let_pass
    studio.ask()
    frame_id = studio.fire()
    for kind in kinds:
        studio.file(frame_id, kind)
    studio.deliver(say.FrameComplete(frame_id))
    assert bool(studio.shoot.shoot_state.halted) is halts


def test_a_raw_in_another_folder_than_the_jpeg_is_another_frames_perhaps():
    studio = Studio(connected=False)
    studio.connect(file_format="jpeg")
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id)
    card = CardObject("/card/DCIM/101STILL", "STIL0001.DNG", 1000)
    studio.deliver(say.FileSaved(frame_id, SavedFile("/pictures/0001.DNG", "raw", 1000, "ab" * 32, card)))
    studio.deliver(say.FrameComplete(frame_id))
    assert "look whether 0001.DNG is of another frame" in studio.shoot.shoot_state.halted


def test_a_late_file_joins_its_frame_or_is_said_not_to_be_saved():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.file(frame_id, "raw")
    studio.deliver(say.FrameComplete(frame_id))
    assert "Frame 1: a file of it came late, and is saved with it." in studio.texts()
    studio.deliver(say.Failed("Fetch", Fault.LOST, "Cable lost.", frame_id, Fired.NO))
    assert "Frame 1: a file of it that came late is not saved. Cable lost." in studio.texts()
    assert studio.state(frame_id) is FrameState.SAVED


@pytest.mark.parametrize(
    ("after", "fired", "state", "said"),
    [
        ("asked", Fired.YES, FrameState.MISSING, "Frame 1 fired, not saved: cable lost."),
        ("fired", Fired.NO, FrameState.MISSING, "Frame 1 fired, not saved: cable lost."),
        ("asked", Fired.NO, FrameState.NOT_FIRED, "Frame 1 did not fire. Cable lost."),
        ("asked", Fired.UNKNOWN, FrameState.UNCERTAIN, "Frame 1 may have fired: cable lost."),
    ],
)
def test_what_failed_is_told_by_what_the_shutter_did(after, fired, state, said):
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    if after == "fired":
        studio.fire()
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, fired))
    assert studio.state(frame_id) is state
    assert said in studio.texts()


def test_light_of_another_piece_is_expected_only_while_this_one_has_no_reference():
    studio = Studio()
    first = studio.whole_frame()
    studio.judged(first)
    studio.do(AcceptReference(first))
    studio.go_to(replace(PLACE, piece_id="piece-2", view_id="view-2", piece="barrel 7"))
    studio.answer_settings()
    studio.wait(10)
    if studio.shoot.shoot_state.revision.setup_number != 1:
        studio.log.references["piece-1", studio.shoot.shoot_state.revision.setup_number] = first
    second = studio.whole_frame()
    assert studio.judge.assignments[-1].expected_path == "/pictures/0001.JPG"
    studio.judged(second)
    studio.do(AcceptReference(second))
    studio.wait(10)
    studio.whole_frame()
    assert studio.judge.assignments[-1].expected_path is None
    assert studio.judge.assignments[-1].reference_path == "/pictures/0002.JPG"


def test_a_log_in_arrears_tells_how_many_entries_it_owes_of_none():
    studio = Studio()
    first = studio.whole_frame()
    studio.judged(first)
    studio.wait(10)
    studio.log.refusing = True
    studio.do(MarkFrame(first, "hero"))
    studio.shoot.shoot_state.record("touched", "by hand")
    studio.ask()
    found = next(one for one in studio.said(FrameMoved)[-1].findings if one.id == "log")
    assert (found.value, found.limit, found.unit) == (2, 0, "entries")


def test_a_frame_taken_up_with_its_raw_alone_is_not_judged_by_it_while_a_jpeg_is_fetched():
    studio = Studio()
    state = studio.shoot.shoot_state
    raw = SavedFile("/pictures/0007.DNG", "raw", 1000, "ab" * 32, CardObject("/card", "STIL0007.DNG", 1000))
    jpeg = CardObject("/card", "STIL0007.JPG", 1000)
    frame = NewFrame("left", 7, state.revision_id)
    flight = Flight(frame, state.place, state.revision, FrameState.RECEIVING, files=[raw], objects=(jpeg,))
    studio.shoot.releases.adopt(flight)
    assert not studio.judge.assignments
    assert studio.shoot.releases.objects_under_way() == {"left": (jpeg,)}


def test_a_frame_whose_reference_could_not_be_looked_up_is_judged_with_the_next_try(monkeypatch):
    """Whatever is raised on the way, the frame doesn't count as sent to the judge before it was."""
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()

    def fail(*_):
        raise PermissionError("the reference's folder")

    with monkeypatch.context() as broken:
        broken.setattr(studio.log, "reference", fail)
        with pytest.raises(PermissionError):
            studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED
    assert [assignment.frame_id for assignment in studio.judge.assignments] == [frame_id]
