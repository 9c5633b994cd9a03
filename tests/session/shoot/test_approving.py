"""The controller alone: a reference asked for before the frame is checked; what is told of undo and of no camera."""

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.finding import Finding, FocusJudgement, FocusVerdict, Level
from session.frame.ports import Judgement
from session.shoot.acts import AcceptReference, MarkFrame, TellAll, Undo
from session.shoot.events import ReferenceChanged, Said, UndoChanged
from tests.support.memory_log import PLACE
from tests.support.scripted import Studio


def decided(studio: Studio) -> list[ReferenceChanged]:
    return [event for event in studio.said(ReferenceChanged) if event.decided]


@pytest.mark.parametrize(
    ("steps", "said"), [(1, "is being released"), (2, "is still coming in"), (4, "is still being checked")]
)
def test_a_frame_on_its_way_becomes_the_reference_when_it_has_been_checked(steps, said):
    studio = Studio()
    frame_id = studio.ask()
    on_its_way = (
        studio.fire,
        lambda: studio.file(frame_id),
        lambda: studio.deliver(say.FrameComplete(frame_id)),
        lambda: studio.judged(frame_id),
    )
    for step in on_its_way[: steps - 1]:
        step()
    studio.do(AcceptReference(frame_id))
    assert studio.said(Said)[-1].text == f"Frame 1 {said}: it becomes the reference as soon as it has been checked."
    for step in on_its_way[steps - 1 :]:
        assert not decided(studio)
        step()
    assert decided(studio) == [ReferenceChanged(frame_id, 1, True)]


def test_asked_for_once_more_it_is_let_go():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.do(AcceptReference(frame_id))
    studio.do(AcceptReference(frame_id))
    assert studio.said(Said)[-1].text == "Frame 1 will not become the reference."
    studio.judged(frame_id)
    assert not decided(studio) and studio.shoot.reference() is None


def test_a_frame_that_the_checks_find_spoilt_does_not_become_the_reference_unseen():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.do(AcceptReference(frame_id))
    no_flash = Finding("flash", Level.CAUTION, "No flash: 4.1 EV darker than the reference.", -4.1, -0.5, "EV")
    studio.deliver(Judgement(frame_id, (no_flash,), FocusJudgement(FocusVerdict.UNJUDGED)))
    assert studio.said(Said)[-1].text == f"Frame 1 was not made the reference: {no_flash.text}"
    studio.do(AcceptReference(frame_id))
    assert decided(studio) == [ReferenceChanged(frame_id, 1, True)], "asked for again, with the verdict seen, it does"


def test_it_becomes_the_reference_of_what_was_on_the_table_when_it_was_asked_for():
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.do(AcceptReference(frame_id))
    elsewhere = replace(PLACE, piece_id="piece-2", piece="barrel 7")
    studio.go_to(elsewhere)
    studio.judged(frame_id)
    assert studio.shoot.reference() is None and not decided(studio)
    found = studio.log.reference(PLACE, 1)
    assert found is not None and found.frame_id == frame_id


def test_whether_there_is_something_to_undo_is_told_when_it_changes_and_to_who_has_not_heard():
    studio = Studio()
    told = len(studio.said(UndoChanged))
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    assert not studio.said(UndoChanged)[told:]
    studio.do(MarkFrame(frame_id, "hero"))
    studio.do(MarkFrame(frame_id, "kill"))
    studio.do(MarkFrame(frame_id, "kill"))
    assert studio.said(UndoChanged)[told:] == [UndoChanged(True)]
    studio.do(TellAll())
    studio.do(Undo(PLACE))
    assert studio.said(UndoChanged)[told:] == [UndoChanged(True), UndoChanged(True)], "frame 1 was the hero before"
    assert studio.log.rows[frame_id]["mark"] == "hero"
    studio.do(Undo(PLACE))
    assert studio.said(UndoChanged)[told:] == [UndoChanged(b) for b in (True, True, False)]


def test_that_there_was_no_camera_is_taken_back_when_it_answers():
    studio = Studio(connected=False)
    studio.ask()
    said = studio.said(Said)[-1]
    assert said.text.startswith("Did not fire: there is no camera.")
    studio.connect()
    assert Said("", said.id) in studio.said(Said)
    told = len(studio.said(Said))
    studio.connect()
    assert Said("", said.id) not in studio.said(Said)[told:], "once"
