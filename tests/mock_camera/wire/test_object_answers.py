"""Answers about what lies on the card: lists, files whole and in parts, thumbnails, deletion."""

from mock_camera.ptp.codes import (
    ALL_STORES,
    ROOT_HANDLE,
    STORAGE_ID,
    ObjectFormat,
    Operation,
    Response,
)
from tests.support.bare_responder import BareResponder, handles


def test_objects_are_listed_by_store_format_and_folder(desk: BareResponder) -> None:
    every = handles(desk.ask(Operation.GetObjectHandles, ALL_STORES))
    assert desk.picture.handle in every and desk.ask(Operation.GetNumObjects, ALL_STORES).parameters == (len(every),)
    assert handles(desk.ask(Operation.GetObjectHandles, STORAGE_ID, ObjectFormat.EXIF_JPEG)) == (desk.picture.handle,)
    at_root = handles(desk.ask(Operation.GetObjectHandles, ALL_STORES, 0, ROOT_HANDLE))
    assert desk.picture.handle not in at_root and len(at_root) == 1
    assert handles(desk.ask(Operation.GetObjectHandles, ALL_STORES, 0, desk.picture.parent)) == (desk.picture.handle,)


def test_a_file_comes_whole_or_in_parts(desk: BareResponder) -> None:
    whole = desk.ask(Operation.GetObject, desk.picture.handle).data
    assert whole == desk.picture.path.read_bytes()
    parts = b""
    while len(parts) < len(whole):
        reply = desk.ask(Operation.GetPartialObject, desk.picture.handle, len(parts), 5)
        assert reply.data is not None and reply.parameters == (len(reply.data),)
        parts += reply.data
    assert parts == whole
    assert desk.ask(Operation.GetPartialObject, desk.picture.handle, len(whole), 5).data == b""
    assert desk.ask(Operation.GetThumb, desk.picture.handle).data == b"small"


def test_a_file_that_is_cut_in_transfer_stays_cut_until_it_is_asked_for_again(desk: BareResponder) -> None:
    whole = desk.ask(Operation.GetObject, desk.picture.handle).data
    assert whole is not None
    desk.body.faults.add("truncated_file", share=0.5)
    first = desk.ask(Operation.GetPartialObject, desk.picture.handle, 0, 3).data
    rest = desk.ask(Operation.GetPartialObject, desk.picture.handle, 3, 100).data
    assert first is not None and rest is not None and len(first + rest) == round(len(whole) / 2)
    assert desk.ask(Operation.GetObject, desk.picture.handle).data == whole


def test_an_object_without_a_thumbnail_says_so(desk: BareResponder) -> None:
    bare = desk.body.card.save(2, ".JPG", b"\xff\xd8\xff\xd9")
    assert desk.ask(Operation.GetThumb, bare.handle).code is Response.NoThumbnailPresent


def test_deleting_takes_the_file_and_formatting_takes_them_all(desk: BareResponder) -> None:
    assert desk.ask(Operation.DeleteObject, desk.picture.handle).code is Response.OK
    assert not desk.picture.path.exists()
    desk.body.card.save(2, ".JPG", b"x")
    assert desk.ask(Operation.FormatStore, STORAGE_ID).code is Response.OK
    assert [item for item in desk.body.card if item.path.is_file()] == []


def test_without_a_card_no_store_is_listed(desk: BareResponder) -> None:
    desk.body.faults.add("no_card")
    assert handles(desk.ask(Operation.GetStorageIDs)) == ()
    assert handles(desk.ask(Operation.GetStorageIDs)) == (STORAGE_ID,)
