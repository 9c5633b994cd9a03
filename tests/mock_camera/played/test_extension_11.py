"""A body of extension 0x11: presses of controls, values set by steps, and pictures that wait in memory."""

import struct
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest

from mock_camera.played.extension_11 import (
    ALL_PROPERTIES,
    CARD,
    CONTROL,
    FULL_PRESS,
    HALF_PRESS,
    IN_MEMORY_AT,
    ISO,
    LIVE_AT,
    SET_VALUE,
    TARGET,
    TIMES,
    WAITING,
    word_of,
)
from mock_camera.played.played_properties import fraction
from mock_camera.ptp.codes import Operation, Response
from tests.support.bare_responder import BareResponder

DOWN, UP = struct.pack("<H", 2), struct.pack("<H", 1)


@pytest.fixture(params=["extension_11", "extension_11_stepped"])
def played(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path, played=request.param)
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


@pytest.mark.parametrize("time", [Fraction(1, 200), Fraction(1, 60), Fraction(2, 5), Fraction(1), Fraction(30)])
def test_a_time_on_the_wire_is_a_fraction_of_its_value(time: Fraction) -> None:
    assert fraction(word_of(time)) == pytest.approx(float(time))


def test_a_step_up_makes_the_exposure_shorter() -> None:
    seconds_s = [fraction(word) for word in TIMES]
    assert None not in seconds_s
    assert seconds_s == sorted(seconds_s, key=lambda each: each or 0.0, reverse=True)


def test_pictures_wait_in_memory_one_after_the_other_and_are_counted(played: BareResponder) -> None:
    assert played.extension is not None
    for _ in range(2):
        assert played.release(lambda: played.ask(CONTROL, FULL_PRESS, data=DOWN)).code is Response.OK
    for left in (1, 0):
        picture = played.ask(Operation.GetObject, IN_MEMORY_AT).data
        assert picture is not None and picture.startswith(b"\xff\xd8")
        played.ask(ALL_PROPERTIES)
        assert played.extension.properties.value(WAITING) == (0x8000 + left if left else 0)
    assert played.ask(Operation.GetObject, IN_MEMORY_AT).code is Response.InvalidObjectHandle


def test_half_a_press_and_letting_go_release_nothing(played: BareResponder) -> None:
    assert played.release(lambda: played.ask(CONTROL, HALF_PRESS, data=DOWN)).code is Response.OK
    assert played.release(lambda: played.ask(CONTROL, FULL_PRESS, data=UP)).code is Response.OK
    assert played.ask(Operation.GetObject, IN_MEMORY_AT).code is Response.InvalidObjectHandle


def test_where_only_the_card_is_asked_for_nothing_waits(played: BareResponder) -> None:
    assert played.ask(SET_VALUE, TARGET, data=struct.pack("<H", CARD)).code is Response.OK
    played.release(lambda: played.ask(CONTROL, FULL_PRESS, data=DOWN))
    assert played.extension is not None and played.extension.in_memory == []


@pytest.mark.parametrize(("steps", "iso"), [(1, 200), (9, 800)])
def test_a_value_is_walked_along_what_is_offered_and_stops_at_its_end(
    played: BareResponder, steps: int, iso: int
) -> None:
    assert played.ask(CONTROL, ISO, data=struct.pack("<b", steps)).code is Response.OK
    assert played.body.setting("iso") == iso


def test_live_view_begins_with_the_first_picture_that_is_asked_for(played: BareResponder) -> None:
    assert not played.body.live_view
    picture = played.ask(Operation.GetObject, LIVE_AT).data
    assert picture is not None and picture[8:10] == b"\xff\xd8" and played.body.live_view
