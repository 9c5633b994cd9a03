"""What the bench shows after which events, without a terminal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.frame.camera_messages import Fired, SavedFile
from session.frame.finding import FocusVerdict, RuleId
from session.frame.frame_facts import FrameFacts
from session.frame.states import FrameState
from session.shoot.events import (
    About,
    CameraWait,
    Event,
    FileArrived,
    FrameJudged,
    LiveViewChanged,
    PlaceChanged,
    ReferenceChanged,
    RevisionChanged,
    RulesChanged,
    Said,
    SettingsChanged,
    Waiting,
)
from tests.support.bench_events import (
    COMING,
    FOUND,
    LOST,
    MISSING,
    NOT_FIRED,
    UNCERTAIN,
    focus,
    judged,
    model_after,
    moved,
    refused,
    released,
    saved_file,
)
from tests.support.scripted_table import DRIFTED, PLACE, READING, REVISION, SYNC
from tui.screen.panels import card_text
from tui.words.bench_frame import BenchFrame
from tui.words.keys import Where
from tui.words.model import FADES_S, BenchModel, Phase


@pytest.mark.parametrize(
    ("events", "phase"),
    [
        ([], Phase.NO_CAMERA),
        ([FOUND], Phase.READY),
        ([FOUND, LOST], Phase.NO_CAMERA),
        ([FOUND, RulesChanged((SYNC,))], Phase.STOPPED),
        ([FOUND, refused(1)], Phase.REFUSED),
        ([FOUND, RulesChanged((SYNC,)), refused(1)], Phase.REFUSED),
        ([FOUND, refused(1), RulesChanged((SYNC,))], Phase.REFUSED),
        ([FOUND, Waiting("f1", 1, RuleId.HOLD_OFF, 3.0)], Phase.HELD),
        ([FOUND, COMING[0]], Phase.RELEASING),
        ([FOUND, *COMING], Phase.SAVING),
        ([FOUND, *COMING, moved("f1", 1, FrameState.SAVED)], Phase.CHECKING),
        ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4)], Phase.JUDGED),
        ([FOUND, COMING[0], NOT_FIRED], Phase.NOT_FIRED),
        ([FOUND, COMING[0], UNCERTAIN], Phase.UNCERTAIN),
        ([FOUND, *COMING, MISSING], Phase.NOT_SAVED),
        ([FOUND, *COMING, MISSING, LOST], Phase.NO_CAMERA),
        ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4), RulesChanged((DRIFTED,))], Phase.STOPPED),
        ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4), *released(2)], Phase.SAVING),
        ([FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4), Waiting("f2", 2, RuleId.RECYCLING, 3.0)], Phase.HELD),
        ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.0), RevisionChanged(REVISION, "r")], Phase.READY),
        ([FOUND, *COMING, *judged(1, FocusVerdict.MISSED, 7.0), PlaceChanged(PLACE)], Phase.READY),
    ],
)
def test_the_large_line_is_about_what_matters_most(events: list[Event], phase: Phase) -> None:
    assert model_after(*events).phase() is phase


def test_the_verdict_on_the_jpeg_is_shown_while_the_raw_is_still_coming() -> None:
    model = model_after(FOUND, *COMING, FrameJudged("f1", 1, (), focus(FocusVerdict.MISSED, 7.0, 0.3)))
    assert model.phase() is Phase.JUDGED
    assert model.under_way


def test_a_frame_that_waits_is_counted_although_the_last_one_is_still_coming_in() -> None:
    assert model_after(FOUND, *COMING, Waiting("f2", 2, RuleId.HOLD_OFF, 3.0)).phase() is Phase.HELD


def test_a_release_asked_for_during_a_transfer_can_be_called_off() -> None:
    model = model_after(FOUND, *COMING)
    model.hear(Waiting("f2", 2, CameraWait.HANDING_OVER, None), 0.0)
    assert model.held and model.phase() is Phase.SAVING
    model.hear(moved("f2", 2, FrameState.CALLED_OFF, text="Frame 2 did not fire: cancelled."), 0.0)
    assert not model.held
    assert [frame.number for frame in model.released] == [1]


def test_a_release_that_waits_for_the_raw_of_a_frame_that_is_judged_already_is_what_the_large_line_is_about() -> None:
    judged_early = FrameJudged("f1", 1, (), focus(FocusVerdict.MISSED, 7.0, 0.3))
    assert (
        model_after(FOUND, *COMING, judged_early, Waiting("f2", 2, CameraWait.HANDING_OVER, None)).phase() is Phase.HELD
    )


def test_wishes_that_came_to_nothing_have_no_place_in_the_ledger() -> None:
    called_off = moved("other", 1, FrameState.CALLED_OFF, text="called off")
    assert model_after(FOUND, refused(1), called_off).released == []


def test_frames_stand_in_the_order_of_their_numbers_however_late_they_are_heard_of() -> None:
    late = moved("f2", 2, FrameState.RECEIVING, fired=Fired.YES)
    model = model_after(FOUND, *released(3), *judged(3, FocusVerdict.SHARP, 0.4), late)
    assert [frame.number for frame in model.released] == [2, 3]


def test_the_picture_is_the_jpeg_and_the_raw_only_where_there_is_none() -> None:
    raw, jpeg = saved_file("/p/1.raw", "raw"), saved_file("/p/1.jpg", "jpeg")
    model = model_after(FOUND, *released(1), FileArrived("f1", 1, raw))
    assert model.released[0].picture == raw
    model.hear(FileArrived("f1", 1, jpeg), 0.0)
    assert model.released[0].picture == jpeg


def test_the_card_has_less_room_by_what_came_from_it() -> None:
    model = model_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4))
    assert model.free_card_bytes == 10_000_000_000 - 4_000_000
    assert model.frame_bytes == 4_000_000


def count_of_frames_left(model: BenchModel, number: int, *files: SavedFile) -> int:
    """What the panel says once the frame has come with these files."""
    for event in (*released(number), *(FileArrived(f"f{number}", number, file) for file in files)):
        model.hear(event, 0.0)
    for state in (FrameState.SAVED, FrameState.LOGGED):
        model.hear(moved(f"f{number}", number, state), 0.0)
    return int(card_text(model).removeprefix("card ").removesuffix(" left"))


def test_the_count_of_frames_left_on_the_card_never_rises_as_frames_come() -> None:
    model = model_after(FOUND)
    sizes = (4_000_000, 8_000_000, 3_000_000, 5_000_000, 1_000_000, *[2_000_000] * 20)
    counts = [count_of_frames_left(model, n, saved_file(f"/p/{n}.jpg", size=size)) for n, size in enumerate(sizes, 1)]
    assert counts == sorted(counts, reverse=True)
    assert counts[1] == (10_000_000_000 - 12_000_000) // 8_000_000


def test_frames_left_are_counted_anew_when_the_format_has_changed() -> None:
    model = model_after(FOUND)
    both = [saved_file("/p/1.jpg"), saved_file("/p/1.raw", "raw", 46_000_000)]
    assert count_of_frames_left(model, 1, *both) == 9_950_000_000 // 50_000_000
    assert count_of_frames_left(model, 2, saved_file("/p/2.jpg")) == 9_946_000_000 // 4_000_000


def test_the_same_mark_twice_is_no_mark() -> None:
    model = model_after(FOUND, *COMING)
    assert model.set_mark("f1", "hero") == "hero"
    assert model.set_mark("f1", "select") == "select"
    assert model.set_mark("f1", "select") is None


def test_choosing_goes_to_earlier_frames_stops_at_the_first_and_comes_back_to_the_newest() -> None:
    model = model_after(FOUND, *released(1), *judged(1, FocusVerdict.SHARP), *released(2), *released(3))
    assert model.frame and model.frame.number == 3
    model.choose(-1)
    model.choose(-5)
    assert model.frame and model.frame.number == 1
    model.choose(+1)
    assert model.frame and model.frame.number == 2
    model.choose(+1)
    model.hear(moved("f4", 4, FrameState.RELEASING), 0.0)
    assert model.frame and model.frame.number == 4, "the newest is followed again"


def test_a_lasting_sentence_stays_until_its_end_is_told_and_a_passing_one_fades() -> None:
    model = model_after(Said("The log can't be written.", "log", True))
    model.hear(Said("The note is kept."), 5.0)
    assert not model.fade(5.0 + FADES_S - 0.1)
    assert model.fade(5.0 + FADES_S)
    assert (model.passing, list(model.lasting.values())) == ("", ["The log can't be written."])
    model.hear(Said("", "log", True), 6.0)
    assert model.lasting == {}


def test_settings_that_the_camera_refused_are_said_once_in_its_sentences() -> None:
    refused = (
        ("f_number", "The camera did not take aperture f/8; it stays at f/11."),
        ("iso", "This camera has no ISO 50; it has 100 to 3200."),
    )
    model = model_after(SettingsChanged(READING, refused))
    assert model.passing == f"{refused[0][1]} {refused[1][1]}"


def test_no_live_view_is_said_in_the_cameras_words() -> None:
    model = model_after(FOUND, LiveViewChanged(False, "This camera offers no live view."))
    assert (model.live.on, model.passing) == (False, "This camera offers no live view.")


def test_frames_read_from_the_log_join_those_heard_of_and_undo_nothing_that_is_under_way() -> None:
    model = model_after(FOUND, *COMING)
    from_log = BenchFrame(FrameFacts("f1", 1, FrameState.RELEASING), mark="hero", whole=False)
    earlier = BenchFrame(FrameFacts("f0", 0, FrameState.LOGGED), mark="kill", whole=False)
    model.read([from_log, earlier], model.moves)
    assert [(frame.number, frame.state) for frame in model.released] == [
        (0, FrameState.LOGGED),
        (1, FrameState.RECEIVING),
    ]


def test_a_frame_that_came_to_rest_while_the_log_was_read_stays_at_rest() -> None:
    model = model_after(FOUND, *COMING)
    before = model.moves
    model.hear(moved("f1", 1, FrameState.SAVED), 0.0)
    model.hear(moved("f1", 1, FrameState.LOGGED), 0.0)
    model.read([BenchFrame(FrameFacts("f1", 1, FrameState.RECEIVING), mark="hero", whole=False)], before)
    assert (model.frames["f1"].state, model.frames["f1"].mark) == (FrameState.LOGGED, "hero")
    assert model.in_camera is None, "leaving would wait for it for ever"


def test_a_file_that_arrived_while_the_log_was_read_stays_with_its_frame() -> None:
    model = model_after(FOUND, *COMING)
    (first,) = model.frames["f1"].files
    from_log, second = replace(model.frames["f1"]), saved_file("/p/1.raw", "raw")
    model.frames["f1"].whole = False
    model.hear(FileArrived("f1", 1, second), 0.0)
    model.complete(from_log)
    assert model.frames["f1"].files == (first, second)


def test_what_recovery_settled_is_taken_from_the_log() -> None:
    model = model_after(FOUND, COMING[0], UNCERTAIN)
    model.read(
        [BenchFrame(FrameFacts("f1", 1, FrameState.NOT_FIRED, text="It did not fire."), whole=False)], model.moves
    )
    assert model.frames["f1"].state is FrameState.NOT_FIRED
    assert model.frames["f1"].text == "It did not fire."


def test_the_reference_is_told_by_its_number() -> None:
    model = model_after(ReferenceChanged("f1", 1))
    assert (model.reference_id, model.reference_number) == ("f1", 1)


EVENTS = st.lists(
    st.sampled_from(
        [
            FOUND,
            LOST,
            refused(1),
            MISSING,
            UNCERTAIN,
            NOT_FIRED,
            *COMING,
            *judged(1, FocusVerdict.SOFT, 3.0, 0.1),
            *released(2),
            Waiting("f3", 3, RuleId.RECYCLING, 9.0),
            RulesChanged((SYNC,)),
            RulesChanged(()),
            PlaceChanged(PLACE),
            RevisionChanged(REVISION, "r"),
            Said("x", "log", True),
        ]
    ),
    max_size=30,
)


@given(EVENTS)
def test_any_order_of_events_leaves_a_state_that_can_be_shown(events: list[Event]) -> None:
    model = model_after(*events)
    assert model.phase() in Phase
    assert all(frame.state not in (FrameState.REFUSED, FrameState.CALLED_OFF) for frame in model.released)


def test_frame_found_whole_on_the_disk_is_read_from_the_log_with_its_files() -> None:
    """Recovery tells of its states only; the files, found on the disk, stand in the log."""
    model = model_after(FOUND, moved("f1", 1, FrameState.MISSING), *judged(1, FocusVerdict.SHARP, 0.4))
    assert not model.frames["f1"].whole
    read = BenchFrame(FrameFacts("f1", 1, FrameState.SAVED), files=(saved_file("/pictures/1.jpg"),))
    model.complete(read)
    assert model.frames["f1"].picture is not None
    assert model.frames["f1"].focus_verdict is FocusVerdict.SHARP, "judged since the log was read"


def test_frame_whose_files_were_heard_of_is_not_read_again() -> None:
    model = model_after(FOUND, *COMING, *judged(1, FocusVerdict.SHARP, 0.4))
    assert model.frames["f1"].whole


def test_a_refusal_goes_when_the_stop_that_it_tells_of_is_gone() -> None:
    stopped: list[Event] = [FOUND, RulesChanged((SYNC,)), refused(1)]
    assert model_after(*stopped, RulesChanged((SYNC, DRIFTED))).phase() is Phase.REFUSED, "it still stands in the way"
    assert model_after(*stopped, RulesChanged(())).phase() is Phase.READY


def test_live_view_first_is_said_until_live_view_is_on() -> None:
    said = Said("Live view comes first.", About.LIVE_FIRST)
    assert model_after(FOUND, said).passing == "Live view comes first."
    assert model_after(FOUND, said, LiveViewChanged(True)).passing == ""


def test_a_release_that_is_refused_by_a_sentence_is_asked_for_no_more() -> None:
    model = model_after(FOUND)
    model.release_asked()
    model.hear(Said("There is no camera."), 1.0)
    assert not model.asked


def test_what_a_key_did_meanwhile_is_still_told_when_the_next_frame_comes() -> None:
    model = model_after(FOUND, *released(1))
    model.release_asked()
    assert model.asked
    model.hear(Said("Frame 1 is marked alternate.", About.MEANWHILE), 1.0)
    for event in released(2):
        model.hear(event, 2.0)
    assert not model.asked and model.passing == "Frame 1 is marked alternate."
    model.hear(Said("Something else."), 3.0)
    for event in released(3):
        model.hear(event, 4.0)
    assert model.passing == ""


def test_a_sentence_that_was_read_goes_at_the_first_key_of_another_place() -> None:
    model = BenchModel()
    model.key_pressed(Where.BENCH)
    model.hear(Said("Undone: frame 5 marked hero."), 1.0)
    assert not model.key_pressed(Where.BENCH) and model.passing
    assert model.key_pressed(Where.SOLOS) and not model.passing
    model.hear(Said("Said by the key that led here."), 2.0)
    assert not model.key_pressed(Where.BENCH) and model.passing


def test_a_key_that_opens_a_screen_leaves_behind_what_stood_before_and_takes_along_what_it_says() -> None:
    model = BenchModel()
    model.key_pressed(Where.LEDGER)
    model.hear(Said("ring, front has several heroes: frames 2, 9.", "hero"), 1.0)
    model.key_pressed(Where.LEDGER)
    model.screen_opened()
    assert not model.passing
    model.hear(Said("There is no order."), 2.0)
    model.screen_opened()
    assert model.passing == "There is no order."
