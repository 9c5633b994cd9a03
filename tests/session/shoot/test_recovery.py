"""Files that a camera announces only after it is back, and what a full disk refused: whose they are, and when."""

from __future__ import annotations

from dataclasses import replace

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault
from session.frame.states import FrameState, ReleasedBy
from session.shoot.events import Said
from session.shoot.last_log import LastLog
from session.shoot.recovery import AGAIN_S, LATE_FILE_S
from tests.support.scripted import Studio, reading

CHARGED_S = 60.0
"""Longer than any flash of the demo's kit charges."""

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


OLD = tuple(CardObject("/card/DCIM/100STILL", f"STIL{number:04d}.JPG", 2000 + number) for number in range(400, 700))
"""On a card of another day, or of another body."""


def with_a_frame() -> Studio:
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    return studio


def test_pictures_on_another_card_that_was_put_in_are_no_releases_on_the_camera() -> None:
    studio = with_a_frame()
    for _ in range(2):
        studio.deliver(say.CameraGone(Fault.LOST, "The card is changed."))
        studio.card = OLD
        studio.connect()
        assert len(studio.log.rows) == 1
    told = [said.text for said in studio.said(Said) if "Another card" in said.text]
    assert told == [
        "Another card is in the camera: 300 releases on it are not fetched here, since they may have lain on it before."
    ]
    studio.deliver(say.BodyRelease((replace(OLD[-1], name="STIL0700.JPG"),)))
    assert len(studio.log.rows) == 2


def test_releases_on_the_camera_after_its_card_was_emptied_are_taken_in() -> None:
    studio = with_a_frame()
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.card = (replace(JPEG, name="STIL0002.JPG"), replace(JPEG, name="STIL0003.JPG"))
    studio.connect()
    assert len(studio.log.rows) == 3


def test_a_release_that_was_announced_is_taken_in_though_others_lay_on_the_card() -> None:
    studio = with_a_frame()
    new = replace(OLD[-1], name="STIL0900.JPG")
    studio.log.refusing = True
    studio.deliver(say.BodyRelease((new,)))
    studio.log.refusing = False
    studio.wait(AGAIN_S + 1)
    studio.deliver(say.CardListed((*OLD, new)))
    assert len(studio.log.rows) == 2


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
    studio.shoot.shoot_state.last_log = OtherLog()
    studio.connect()
    assert studio.state(frame_id) is FrameState.UNCERTAIN
    assert "Frame 1 may have fired: the camera was used elsewhere since" in studio.log.rows[frame_id]["text"]
    assert "used for the log /elsewhere/shoot.db since. 1 releases on its card are not fetched here" in studio.texts()
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.connect()
    assert (len(studio.log.rows), studio.camera.count(say.Fetch)) == (1, 0)
    assert studio.state(frame_id) is FrameState.UNCERTAIN, "nothing is concluded from a card that others used"


def made_no_file(studio: Studio, frame_id: str) -> None:
    text = "The shutter went, and the camera made no file."
    studio.deliver(say.Failed("Release", Fault.NOT_FOUND, text, frame_id, say.Fired.YES))


def test_after_a_release_that_made_no_file_none_follows_until_it_has_come_or_its_time_is_over() -> None:
    for comes in (True, False):
        studio = Studio()
        studio.ask()
        frame_id = studio.fire()
        made_no_file(studio, frame_id)
        studio.ask()
        assert studio.camera.count(say.Release) == 1
        assert "Frame 1 may be on its way to the card" in studio.texts()
        if comes:
            studio.deliver(say.BodyRelease((JPEG, RAW)))
            studio.deliver(say.CardListed((JPEG, RAW)))
            assert studio.camera.last(say.Fetch).frame_id == frame_id
            studio.file(frame_id)
            studio.deliver(say.FrameComplete(frame_id))
            studio.wait(CHARGED_S)
        else:
            studio.wait(LATE_FILE_S + 1)
            assert studio.camera.count(say.Release) == 1, "the card is read once more first"
            studio.deliver(say.CardListed(()))
        assert studio.camera.count(say.Release) == 2
        assert all(row["intent"].released_by is ReleasedBy.TOOL for row in studio.log.rows.values())


def ask_again(studio: Studio, **overrulings: str) -> str:
    """Once the flash is charged."""
    studio.wait(CHARGED_S)
    return studio.ask(**overrulings)


def waited_for_in_vain() -> tuple[Studio, str]:
    studio = Studio()
    studio.whole_frame()
    ask_again(studio)
    frame_id = studio.fire()
    made_no_file(studio, frame_id)
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed(()))
    return studio, frame_id


def numbered(number: int, ending: str = "JPG") -> CardObject:
    return CardObject("/card/DCIM/100STILL", f"STIL{number:04d}.{ending}", 1000)


def test_file_that_comes_when_nobody_waits_for_it_any_more_still_joins_its_frame() -> None:
    studio, frame_id = waited_for_in_vain()
    late = numbered(2)
    studio.deliver(say.BodyRelease((late,)))
    studio.deliver(say.CardListed((numbered(1), late)))
    fetch = studio.camera.last(say.Fetch)
    assert (fetch.frame_id, fetch.objects, len(studio.log.rows)) == (frame_id, (late,), 2)


def test_next_release_is_told_that_a_frame_lacks_its_file_and_the_ones_after_from_which_number_on_theirs_are() -> None:
    studio, frame_id = waited_for_in_vain()
    third = ask_again(studio)
    studio.fire()
    assert (studio.camera.last(say.Release).open_before, studio.camera.last(say.Release).newest) == (1, None)
    studio.file(third)
    studio.deliver(say.FrameComplete(third))
    ask_again(studio)
    assert (studio.camera.last(say.Release).open_before, studio.camera.last(say.Release).newest) == (0, numbered(3))
    studio.deliver(say.BodyRelease((numbered(2),), studio.fire()))
    studio.deliver(say.CardListed((numbered(1), numbered(2), numbered(3))))
    assert studio.camera.last(say.Fetch).frame_id == frame_id


def test_file_that_two_frames_may_have_made_is_given_to_neither_and_stops_the_shoot_until_a_reason_is_given() -> None:
    studio, _ = waited_for_in_vain()
    ask_again(studio)
    made_no_file(studio, studio.fire())
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed((numbered(1),)))
    studio.deliver(say.BodyRelease((numbered(2),)))
    studio.deliver(say.CardListed((numbered(1), numbered(2))))
    assert studio.camera.count(say.Fetch) == 0
    assert "STIL0002.JPG came late, and may be of frame 2 or 3" in studio.texts()
    releases = studio.camera.count(say.Release)
    ask_again(studio)
    assert studio.camera.count(say.Release) == releases
    ask_again(studio, files="the third")
    assert studio.camera.count(say.Release) == releases + 1


def test_as_many_late_files_as_frames_that_lack_theirs_settle_themselves() -> None:
    studio, second = waited_for_in_vain()
    ask_again(studio)
    third = studio.fire()
    made_no_file(studio, third)
    studio.wait(LATE_FILE_S + 1)
    studio.deliver(say.CardListed((numbered(1),)))
    for there in ((numbered(2),), (numbered(2), numbered(3))):
        studio.deliver(say.BodyRelease(there[-1:]))
        studio.deliver(say.CardListed((numbered(1), *there)))
    fetched = [request for request in studio.camera.requests if isinstance(request, say.Fetch)]
    assert [(one.frame_id, one.objects) for one in fetched] == [(second, (numbered(2),)), (third, (numbered(3),))]
    assert not studio.shoot.shoot_state.halted


def test_raw_that_comes_when_its_frame_is_long_logged_is_saved_with_it() -> None:
    studio = Studio()
    frame_id = studio.whole_frame()
    studio.judged(frame_id)
    assert studio.state(frame_id) is FrameState.LOGGED
    raw = numbered(1, "DNG")
    studio.deliver(say.BodyRelease((raw,)))
    studio.deliver(say.CardListed((numbered(1), raw)))
    assert studio.camera.last(say.Fetch) == say.Fetch(frame_id, "/pictures", "0001", (raw,))
    studio.file(frame_id, "raw")
    studio.deliver(say.FrameComplete(frame_id))
    assert len(studio.log.rows) == 1
    assert [file.kind for file in studio.log.rows[frame_id]["files"]] == ["jpeg", "raw"]
    assert (studio.state(frame_id), studio.shoot.releases.all_done) == (FrameState.LOGGED, True)


def test_nothing_is_planned_by_a_log_that_is_behind() -> None:
    """The camera is back while the log still owes that it went: by the log alone the frame would not have fired."""
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.log.refusing = True
    studio.deliver(say.CameraGone(Fault.LOST, "The cable is out."))
    studio.clock.now_s += 3 * LATE_FILE_S
    studio.connect()
    assert studio.state(frame_id) is FrameState.RECEIVING
    studio.log.refusing = False
    studio.wait(AGAIN_S)
    assert studio.state(frame_id) is FrameState.MISSING
    assert studio.camera.requests[-1] == say.ListCard()
    studio.deliver(say.CardListed((JPEG,)))
    assert studio.camera.last(say.Fetch).frame_id == frame_id


def second_card(card_object: CardObject) -> CardObject:
    return replace(card_object, folder="/second/DCIM/100STILL", modified_at=1000.0)


def test_copy_that_a_second_card_announces_later_is_noted_with_its_frame_without_a_look_at_the_card() -> None:
    studio = Studio()
    frame_id = studio.whole_frame()
    row = studio.log.rows[frame_id]
    row["files"][0] = replace(row["files"][0], card=replace(numbered(1), modified_at=1000.0))
    before = len(studio.camera.requests)
    studio.deliver(say.BodyRelease((second_card(numbered(1)),)))
    assert row["copied"] == [second_card(numbered(1))]
    assert (len(studio.camera.requests), len(studio.log.rows), studio.shoot.shoot_state.halted) == (before, 1, "")


def test_copy_of_what_is_still_being_fetched_is_no_second_frame() -> None:
    studio = Studio()
    file = replace(numbered(1), modified_at=1000.0)
    studio.deliver(say.BodyRelease((file,)))
    studio.deliver(say.BodyRelease((second_card(file),)))
    (row,) = studio.log.rows.values()
    assert (row["copied"], studio.camera.count(say.Fetch)) == ([second_card(file)], 1)


def test_copies_that_the_camera_did_not_fetch_are_noted_with_the_frame() -> None:
    studio = Studio()
    studio.ask()
    frame_id = studio.fire()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id, copies=(second_card(numbered(1)),)))
    assert studio.log.rows[frame_id]["copied"] == [second_card(numbered(1))]


def test_a_raw_beside_a_jpeg_is_believed_whatever_the_formats_text_promised() -> None:
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(file_format="jpeg")))
    for _ in range(2):
        frame_id = ask_again(studio)
        studio.fire()
        for kind in ("jpeg", "raw"):
            studio.file(frame_id, kind)
        studio.deliver(say.FrameComplete(frame_id))
        studio.judged(frame_id)
        assert studio.state(frame_id) is FrameState.LOGGED


def test_more_files_than_the_format_makes_stop_the_shoot_until_a_person_has_looked_and_then_no_more() -> None:
    studio = Studio()
    studio.deliver(say.SettingsRead(reading(file_format="jpeg")))

    def frame_with_two(**overrulings: str) -> None:
        releases = studio.camera.count(say.Release)
        frame_id = ask_again(studio, **overrulings)
        assert studio.camera.count(say.Release) == releases + 1, studio.texts()
        studio.fire()
        for kind in ("jpeg", "second"):
            studio.file(frame_id, kind)
        studio.deliver(say.FrameComplete(frame_id))
        studio.judged(frame_id)
        assert studio.state(frame_id) is FrameState.LOGGED

    frame_with_two()
    assert "Frame 1 has 2 files and the format makes 1: look whether 0001-2.JPG is of another frame." in studio.texts()
    ask_again(studio)
    assert studio.camera.count(say.Release) == 1
    frame_with_two(files="raw and JPEG, whatever its name is")
    frame_with_two()
