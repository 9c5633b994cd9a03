"""Files that a camera announces only after it is back, and what a full disk refused: whose they are, and when."""

from __future__ import annotations

from scripted import Studio

from session.cameras import protocol as say
from session.cameras.last_log import LastLog
from session.cameras.protocol import CardObject, Fault
from session.events import Said
from session.frame import FrameState, ReleasedBy
from session.recovery import AGAIN_S, LATE_FILE_S

JPEG, RAW = (CardObject("/card/DCIM/100STILL", f"STIL0001.{ending}", 1000) for ending in ("JPG", "DNG"))


def cut_at_the_release(*, fired: bool = False) -> tuple[Studio, str]:
    """The cable is cut as the shutter goes, and is back before the camera has written the picture."""
    studio = Studio()
    studio.ask()
    frame_id = studio.fire() if fired else str(studio.camera.last(say.Release).frame_id)
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.connect()
    return studio, frame_id


def test_frame_whose_file_is_announced_after_the_reconnect_gets_it() -> None:
    for fired in (False, True):
        studio, frame_id = cut_at_the_release(fired=fired)
        studio.deliver(say.BodyRelease((JPEG, RAW)))
        assert studio.camera.requests[-1] == say.ListCard()
        studio.deliver(say.CardListed((JPEG, RAW)))
        fetch = studio.camera.last(say.Fetch)
        assert (fetch.frame_id, fetch.objects) == (frame_id, (JPEG, RAW))
        studio.deliver(say.FrameComplete(frame_id))
        assert len(studio.log.rows) == 1


def test_frame_of_which_nothing_comes_did_not_fire_once_the_camera_had_its_time() -> None:
    studio, frame_id = cut_at_the_release()
    assert studio.state(frame_id) is FrameState.UNCERTAIN
    assert not studio.shoot.releases.all_done
    studio.wait(LATE_FILE_S + 1)
    assert studio.camera.requests[-1] == say.ListCard()
    studio.deliver(say.CardListed(()))
    assert studio.state(frame_id) is FrameState.NOT_FIRED
    assert studio.shoot.releases.all_done


def test_no_frame_is_released_while_an_earlier_one_may_still_come() -> None:
    """The camera's files carry no name of the release that they belong to."""
    studio, frame_id = cut_at_the_release()
    studio.ask()
    assert studio.camera.count(say.Release) == 1
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed((JPEG,)))
    assert studio.camera.last(say.Fetch).frame_id == frame_id
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.camera.count(say.Release) == 2


def test_release_on_the_camera_is_one_when_no_frame_of_ours_is_late() -> None:
    studio = Studio()
    studio.deliver(say.BodyRelease((JPEG,)))
    (only,) = studio.log.rows.values()
    assert only["intent"].released_by is ReleasedBy.BODY
    studio.deliver(say.BodyRelease((JPEG,)))  # told again while it is being fetched
    assert len(studio.log.rows) == 1


def test_frame_asked_long_ago_or_by_a_wrong_clock_is_not_waited_for() -> None:
    for jump_s in (-3600.0, 3600.0):
        studio = Studio()
        studio.ask()
        frame_id = studio.camera.last(say.Release).frame_id
        studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
        studio.clock.now_s += jump_s
        studio.connect()
        assert studio.state(frame_id) is FrameState.NOT_FIRED


def test_frame_that_the_disk_refused_is_fetched_as_soon_as_there_is_room() -> None:
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    full = "The disk is full: /pictures takes no more files."
    studio.free_disk_bytes = 0
    studio.deliver(say.Failed("Release", Fault.DISK_FULL, full, frame_id, say.Fired.YES, (JPEG,)))
    assert studio.state(frame_id) is FrameState.MISSING and full[1:] in studio.log.rows[frame_id]["text"]
    assert studio.log.rows[frame_id]["text"].endswith("It is on the card and is fetched when there is room.")
    studio.wait(AGAIN_S + 1)
    assert not studio.camera.count(say.ListCard)
    studio.free_disk_bytes = 10**12
    studio.wait(4 * AGAIN_S)
    studio.deliver(say.CardListed((JPEG,)))
    assert studio.camera.last(say.Fetch) == say.Fetch(frame_id, "/pictures", "0001", (JPEG,))
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    assert studio.state(frame_id) is FrameState.SAVED


def test_card_that_could_not_be_listed_is_asked_again() -> None:
    studio, _ = cut_at_the_release()
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.Failed("ListCard", Fault.BUSY, "The camera is busy."))
    studio.wait(AGAIN_S + 1)
    assert studio.camera.count(say.ListCard) == 2


def test_release_on_the_camera_that_the_log_refuses_waits_on_the_card_until_the_log_takes_it() -> None:
    studio = Studio()
    studio.log.refusing = True
    studio.deliver(say.BodyRelease((JPEG,)))
    assert any("waits on its card" in said.text for said in studio.said(Said))
    studio.log.refusing = False
    studio.wait(AGAIN_S + 1)
    studio.deliver(say.CardListed((JPEG,)))
    (only,) = studio.log.rows.values()
    assert only["intent"].released_by is ReleasedBy.BODY


class OtherLog(LastLog):
    """The camera was used for another log, until this one takes it over."""

    def __init__(self) -> None:
        self.path = "/elsewhere/shoot.db"

    def other(self, serial: str) -> str:
        return self.path

    def take(self, serial: str) -> None:
        self.path = ""


def test_files_made_while_the_camera_was_used_for_another_log_are_let_alone() -> None:
    """Neither taken for frames of the body, nor for a frame of ours of which nothing is known; which stays open."""
    studio = Studio()
    studio.ask()
    frame_id = studio.camera.last(say.Release).frame_id
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.clock.now_s += 3600
    studio.card = (JPEG, RAW)
    studio.shoot.bench.last_log = OtherLog()
    studio.connect()
    assert studio.state(frame_id) is FrameState.UNCERTAIN
    assert "Frame 1 may have fired: the camera was used elsewhere since" in studio.log.rows[frame_id]["text"]
    assert "used for the log /elsewhere/shoot.db since. 1 releases on its card are not fetched here" in studio.texts()
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.connect()
    assert (len(studio.log.rows), studio.camera.count(say.Fetch)) == (1, 0)
    assert studio.state(frame_id) is FrameState.UNCERTAIN, "nothing is concluded from a card that others used"
