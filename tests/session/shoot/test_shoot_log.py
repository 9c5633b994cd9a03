"""The controller alone: what the log is told in the course of a shoot, and what is done when it refuses."""

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject
from session.frame.states import FrameState
from session.shoot.acts import MarkFrame, Touched
from session.shoot.events import FrameMoved
from tests.support.scripted import Studio


def test_a_frame_goes_from_the_wish_to_the_log():
    studio = Studio()
    frame_id = studio.whole_frame()
    assert studio.state(frame_id) is FrameState.SAVED
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED
    states = [event.state for event in studio.said(FrameMoved)]
    assert states == [FrameState.RELEASING, FrameState.RECEIVING, FrameState.SAVED, FrameState.LOGGED]


def test_the_log_knows_the_frame_before_the_camera_does():
    studio = Studio()
    seen: list[tuple[type, int]] = []
    posting = studio.camera.post

    def post(request: say.Request) -> None:
        seen.append((type(request), len(studio.log.rows)))
        posting(request)

    studio.shoot.shoot_state.post = post
    studio.ask()
    assert (say.Release, 1) in seen


def test_the_log_keeps_the_camera_model_as_the_camera_tells_it():
    studio = Studio()
    described = studio.shoot.shoot_state.description
    assert described is not None and described.model
    assert studio.log.models == {described.serial: described.model}


def test_a_log_that_refuses_the_intent_keeps_the_shutter_shut():
    studio = Studio()
    studio.log.refusing = True
    studio.ask()
    assert studio.camera.count(say.Release) == 0
    assert "did not fire. The disk is full." in studio.texts()


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
    assert studio.state(frame_id) is FrameState.RELEASING
    studio.wait(5)
    studio.ask()
    assert studio.camera.count(say.Release) == 1, "no release while the log owes"
    studio.log.refusing = False
    studio.wait(1.1)
    assert studio.state(frame_id) is FrameState.LOGGED
    assert len(studio.log.rows[frame_id]["files"]) == 1


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
    studio.do(Touched())
    studio.do(MarkFrame(studio.camera.last(say.Release).frame_id, "kill"))
    assert studio.texts().count("The disk is full.") == 2


def test_an_entry_that_the_log_never_takes_stops_no_release_and_is_kept_aside():
    studio = Studio()
    studio.log.never = ("frame_judged",)
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED
    assert [(entry.call, entry.values[0]) for entry in studio.log.aside] == [("frame_judged", frame_id)]
    assert "refused a frame's judgement for good" in studio.texts()
    studio.log.never = ()
    studio.wait(10)
    studio.ask()
    assert studio.camera.count(say.Release) == 2


def test_at_the_end_the_waiting_frame_is_called_off_and_what_the_camera_still_says_is_logged():
    studio = Studio()
    studio.ask()
    under_way = studio.fire()
    studio.do(Touched())
    studio.ask()
    studio.shoot.let_go()
    assert studio.camera.closed
    assert studio.said(FrameMoved)[-1].state is FrameState.CALLED_OFF
    studio.file(under_way)
    studio.deliver(say.FrameComplete(under_way))
    studio.shoot.close()
    assert studio.state(under_way) is FrameState.SAVED
    assert len(studio.log.rows[under_way]["files"]) == 1
    studio.ask()
    assert studio.camera.count(say.Release) == 1
