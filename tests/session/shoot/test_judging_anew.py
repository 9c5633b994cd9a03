"""The controller alone: what the judge is given: which file, once, by whose set-up, reference and lights."""

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault, Fired
from session.frame.finding import FocusVerdict
from session.frame.states import FrameState
from session.set.setup import PlacedLight, Region
from session.shoot.acts import AcceptReference, JudgeAnew, NewSetup, Revise
from session.shoot.events import FrameJudged
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio


def test_the_jpeg_is_judged_while_the_raw_is_still_coming():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "jpeg")
    assert [a.kind for a in studio.judge.assignments] == ["jpeg"]
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.RECEIVING
    studio.file(frame_id, "raw")
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.state(frame_id) is FrameState.LOGGED
    assert len(studio.judge.assignments) == 1


def test_a_raw_alone_is_judged_when_it_is_whole():
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id, "raw")
    assert not studio.judge.assignments
    studio.deliver(say.FrameComplete(frame_id))
    assert [a.kind for a in studio.judge.assignments] == ["raw"]


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
    assert studio.state(frame_id) is FrameState.SAVED
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED
    assert len(studio.judge.assignments) == 1


def test_a_frame_fetched_later_is_judged_by_its_own_set_up_and_piece():
    studio = Studio(connected=False)
    studio.connect(file_format="jpeg")
    bench = studio.shoot.shoot_state
    own = bench.revision
    good = studio.whole_frame()
    studio.judged(good)
    studio.do(AcceptReference(good))
    studio.wait(5)
    studio.ask()
    frame_id = studio.fire()
    held = CardObject("/card/DCIM/100STILL", "STIL0002.JPG", 1000)
    studio.deliver(say.Failed("Release", Fault.LOST, "Cable lost.", frame_id, Fired.YES, (held,), connected=False))
    studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    studio.revise(own.with_light(PlacedLight("key", -1.0, 620, 45, 30, "tube")))
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
    studio.do(AcceptReference(good))
    studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    studio.wait(5)
    first = studio.whole_frame()
    assignment = studio.judge.assignments[-1]
    assert (assignment.frame_id, assignment.reference_path) == (first, None)
    assert assignment.expected_path == studio.log.rows[good]["files"][0].path
    studio.judged(first)
    studio.do(AcceptReference(first))
    studio.wait(5)
    studio.whole_frame()
    assignment = studio.judge.assignments[-1]
    assert assignment.reference_path == studio.log.rows[first]["files"][0].path
    assert assignment.expected_path is None


@pytest.mark.parametrize("piece", ["the same", "another"])
def test_a_log_that_can_not_tell_the_reference_is_said_and_the_frame_is_judged_without(piece):
    studio = Studio()
    good = studio.whole_frame()
    studio.judged(good)
    studio.do(AcceptReference(good))
    if piece == "another":
        studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    studio.wait(5)
    studio.ask()
    frame_id = studio.fire()
    studio.log.unreadable = True
    studio.file(frame_id)
    assert frame_id != good
    assignment = studio.judge.assignments[-1]
    assert (assignment.frame_id, assignment.reference_path, assignment.expected_path) == (frame_id, None, None)
    assert studio.texts().count("The log can't be read.") == 1, "though it was asked twice"


def test_the_judge_learns_the_guide_numbers_of_the_set_as_shaped():
    studio = Studio()
    studio.whole_frame()
    assert set(studio.judge.assignments[-1].guide_numbers_m) == {"key"}


def test_the_judge_learns_from_which_exposure_time_on_the_shutter_is_wholly_open():
    studio = Studio()
    studio.whole_frame()
    assert studio.judge.assignments[-1].wholly_open_s == 1 / 200, "the sync time; travel and delay come to 3.3 ms"


def test_the_judge_is_told_why_there_is_no_reference():
    """Two different reasons: none in the set-up, none for this piece."""
    studio = Studio()
    first = studio.whole_frame()
    studio.judged(first)
    assert studio.judge.assignments[-1].why_alone == "set-up 01 has no reference yet; look at it enlarged"
    studio.do(AcceptReference(first))
    studio.wait(5)
    studio.judged(studio.whole_frame())
    assert studio.judge.assignments[-1].why_alone == ""
    studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    studio.wait(5)
    studio.judged(studio.whole_frame())
    told = studio.judge.assignments[-1].why_alone
    assert told == "barrel 7 is new in set-up 01 and has no reference yet; look at it enlarged"


HERE = Region(0.1, 0.1, 0.3, 0.3)


def anew(studio: Studio, frame_id: str) -> None:
    """The region was moved, and the screen asks for the frame that it shows."""
    row = studio.log.rows[frame_id]
    studio.do(JudgeAnew(frame_id, row["number"], row["files"][0]))


def test_a_frame_is_judged_anew_with_the_region_as_it_was_moved_and_the_first_judgement_stays():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id, FocusVerdict.SHARP)
    own = studio.judge.assignments[-1].revision
    studio.revise(replace(studio.shoot.shoot_state.revision, region=HERE, hold_off_s=9.0))
    anew(studio, frame_id)
    assert studio.judge.assignments[-1].revision == replace(own, region=HERE), "all else is as it was released"
    studio.judged(frame_id, FocusVerdict.MISSED)
    row = studio.log.rows[frame_id]
    assert row["judged"][1].verdict is FocusVerdict.SHARP
    ((focus, region, patch),) = row["judged anew"]
    assert (focus.verdict, region, patch) == (FocusVerdict.MISSED, HERE, None)
    assert studio.log.events[-1] == (
        "judged anew",
        "frame 1 judged anew with the region 30 % × 30 % at 10 %, 10 %: missed",
    )
    told = studio.said(FrameJudged)
    assert [(event.focus.verdict, event.anew) for event in told] == [
        (FocusVerdict.SHARP, False),
        (FocusVerdict.MISSED, True),
    ]
    assert studio.state(frame_id) is FrameState.LOGGED


def test_a_frame_asked_for_anew_before_its_first_judgement_gets_both_in_order():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.revise(replace(studio.shoot.shoot_state.revision, region=HERE))
    anew(studio, frame_id)
    studio.judged(frame_id, FocusVerdict.SHARP)
    assert studio.state(frame_id) is FrameState.LOGGED
    studio.judged(frame_id, FocusVerdict.SOFT)
    row = studio.log.rows[frame_id]
    assert row["judged"][1].verdict is FocusVerdict.SHARP
    assert [focus.verdict for focus, _, _ in row["judged anew"]] == [FocusVerdict.SOFT]


def test_a_frame_of_another_piece_or_set_up_keeps_its_judgement():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    studio.go_to(replace(PLACE, piece_id="piece-2", piece="barrel 7"))
    anew(studio, frame_id)
    studio.go_to(PLACE)
    studio.do(NewSetup("another"))
    studio.do(Revise({"region": HERE}))
    anew(studio, frame_id)
    assert len(studio.judge.assignments) == 1


def test_a_frame_that_the_log_does_not_know_is_said():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    file = studio.log.rows[frame_id]["files"][0]
    studio.log.unreadable = True
    studio.do(JudgeAnew(frame_id, 1, file))
    assert "The log can't be read." in studio.texts()
    assert len(studio.judge.assignments) == 1
