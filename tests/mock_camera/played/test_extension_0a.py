"""A body of extension 0x0A: events are asked for, and what is released into memory is at one handle, once."""

import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.played.extension_0a import (
    ADDED_IN_MEMORY,
    COMPLETE_IN_MEMORY,
    END_LIVE_VIEW,
    EXPOSURE_TIME,
    FORMAT,
    GET_EVENTS,
    IN_MEMORY_AT,
    LIVE_VIEW_STATUS,
    RELEASE,
    START_LIVE_VIEW,
)
from mock_camera.ptp.codes import EventCode, Operation, Response
from tests.support.bare_responder import BareResponder

TO_CARD, TO_MEMORY = 0, 1


@pytest.fixture
def played(tmp_path: Path) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path, played="extension_0a")
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


def events(played: BareResponder) -> list[tuple[int, int]]:
    data = played.ask(GET_EVENTS).data
    assert data is not None
    return [struct.unpack_from("<HI", data, 2 + 6 * number) for number in range(struct.unpack_from("<H", data)[0])]


def test_a_release_to_the_card_is_told_when_the_host_asks_and_only_then(played: BareResponder) -> None:
    assert played.release(lambda: played.ask(RELEASE, 0xFFFFFFFF, TO_CARD)).code is Response.OK
    kinds = [code for code, _ in events(played)]
    assert kinds == [EventCode.ObjectAdded, EventCode.CaptureComplete]
    assert events(played) == []


def test_a_picture_in_memory_is_at_one_handle_until_it_is_fetched(played: BareResponder) -> None:
    played.release(lambda: played.ask(RELEASE, 0xFFFFFFFF, TO_MEMORY))
    told = events(played)
    assert told[0] == (ADDED_IN_MEMORY, IN_MEMORY_AT) and told[-1][0] == COMPLETE_IN_MEMORY
    picture = played.ask(Operation.GetObject, IN_MEMORY_AT).data
    assert picture is not None and picture.startswith(b"\xff\xd8")
    assert played.ask(Operation.GetObject, IN_MEMORY_AT).code is Response.InvalidObjectHandle


@pytest.mark.parametrize(("format_number", "suffixes"), [(2, [".JPG"]), (4, [".TIF"]), (7, [".JPG", ".TIF"])])
def test_the_formats_number_says_which_files_are_made(
    played: BareResponder, format_number: int, suffixes: list[str]
) -> None:
    assert played.extension is not None
    played.body.card.format()
    played.extension.properties.put(FORMAT, format_number)
    played.release(lambda: played.ask(RELEASE, 0xFFFFFFFF, TO_CARD))
    assert sorted(item.path.suffix for item in played.body.card if item.path.is_file()) == suffixes


def test_a_dial_turned_by_hand_is_among_the_events_and_is_the_bodys_time(played: BareResponder) -> None:
    assert played.extension is not None
    events(played)
    played.extension.properties.put(EXPOSURE_TIME, (1 << 16) | 60)
    assert played.body.setting("exposure_s") == pytest.approx(1 / 60)
    assert events(played) == [(EventCode.DevicePropChanged, EXPOSURE_TIME)]


def test_live_views_state_is_a_property(played: BareResponder) -> None:
    assert played.extension is not None
    for operation, state in ((START_LIVE_VIEW, 1), (END_LIVE_VIEW, 0)):
        assert played.ask(operation).code is Response.OK
        assert played.extension.properties.value(LIVE_VIEW_STATUS) == state
