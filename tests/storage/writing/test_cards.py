"""Whose each object on a card is."""

from __future__ import annotations

from session.frame.camera_messages import CardObject
from session.frame.ports import Place
from session.frame.states import FrameEvent
from storage.writing.log import SqlLog
from tests.support.log_samples import SERIAL, card_object, intent, revision, saved_file, whole_frame

OLD = (card_object(1), card_object(1, "DNG", 9000), card_object(2, modified_at=1_700_000_000.5))


def test_camera_is_new_until_its_card_was_noted(log: SqlLog) -> None:
    assert log.is_new_camera(SERIAL)
    log.note_card(SERIAL, [])
    assert not log.is_new_camera(SERIAL)
    assert log.is_new_camera("INVENTED-0002")


def test_objects_found_before_are_known_of_this_camera_only(log: SqlLog) -> None:
    log.note_card(SERIAL, OLD)
    assert log.known_card_objects(SERIAL) == frozenset(OLD)
    assert log.known_card_objects("INVENTED-0002") == frozenset()


def test_card_noted_again_adds_what_is_new(log: SqlLog) -> None:
    log.note_card(SERIAL, OLD)
    log.note_card(SERIAL, [*OLD, card_object(3)])
    assert log.known_card_objects(SERIAL) == frozenset([*OLD, card_object(3)])


def test_same_name_of_another_size_time_or_folder_is_another_object(log: SqlLog) -> None:
    likes = [
        CardObject("/a", "STIL0001.JPG", 10, None),
        CardObject("/a", "STIL0001.JPG", 11, None),
        CardObject("/a", "STIL0001.JPG", 10, 1.0),
        CardObject("/b", "STIL0001.JPG", 10, None),
    ]
    log.note_card(SERIAL, likes)
    assert log.known_card_objects(SERIAL) == frozenset(likes)


def test_saved_file_settles_its_object_and_a_missing_one_is_not_settled(log: SqlLog, place: Place) -> None:
    wish = intent(5, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    log.move_frame(wish.frame_id, FrameEvent.LOST, "cable lost", objects=[card_object(5), card_object(5, "DNG", 9000)])
    assert log.known_card_objects(SERIAL) == frozenset()
    log.frame_file(wish.frame_id, saved_file(5))
    assert log.known_card_objects(SERIAL) == frozenset([card_object(5)])
    assert [left.expected for left in log.unsettled_frames()] == [(card_object(5, "DNG", 9000),)]


def test_object_that_is_a_frames_stays_so_when_the_card_is_noted(log: SqlLog, place: Place) -> None:
    wish = intent(5, log.save_revision(place, revision()))
    log.begin_frame(wish, place)
    log.move_frame(wish.frame_id, FrameEvent.FIRED)
    log.move_frame(wish.frame_id, FrameEvent.LOST, "cable lost", objects=[card_object(5)])
    log.note_card(SERIAL, [card_object(5)])
    assert log.known_card_objects(SERIAL) == frozenset()


def test_two_frames_whose_card_files_are_alike_lose_nothing(log: SqlLog, place: Place) -> None:
    """File numbers begin again after 9999, and some cameras tell no time."""
    revision_id = log.save_revision(place, revision())
    whole_frame(log, place, 1, revision_id)
    wish = intent(2, revision_id)
    log.begin_frame(wish, place)
    again = saved_file(1)
    log.frame_file(wish.frame_id, type(again)("/pictures/0002.JPG", "jpeg", 1000, "f" * 64, again.card))
    (left,) = log.unsettled_frames()
    assert left.saved == ("0002.JPG",)


def test_card_name_that_is_no_text_comes_back_exactly(log: SqlLog) -> None:
    odd = CardObject("/store\udc80", "a\\u0000\0\\\udcff.JPG", 1, None)
    log.note_card(SERIAL, [odd])
    assert log.known_card_objects(SERIAL) == frozenset([odd])
