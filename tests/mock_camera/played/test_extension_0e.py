"""A body of extension 0x0E: a button that is a property, microseconds, and new pictures found by listing them."""

import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.played.extension_0e import BATTERY_STATE, BUTTON, CHANGES, FULL_PRESS, exposure_s
from mock_camera.ptp.codes import ALL_STORES, Operation, Response
from tests.support.bare_responder import BareResponder, handles


@pytest.fixture
def played(tmp_path: Path) -> Iterator[BareResponder]:
    desk = BareResponder(tmp_path, played="extension_0e")
    desk.ask(Operation.OpenSession, 1)
    yield desk
    desk.close()


@pytest.mark.parametrize(
    ("number", "seconds_s"),
    [(5000, 0.005), (1_000_000, 1.0), (60_000_000, 60.0), (64_000_030, 120.0), (64_000_180, 3840.0)],
)
def test_times_are_microseconds_and_above_a_minute_doublings(number: int, seconds_s: float) -> None:
    assert exposure_s(number) == pytest.approx(seconds_s)


def test_bulb_has_no_time() -> None:
    assert exposure_s(0xFFFFFFFF) is None


def test_only_a_full_press_of_the_button_releases(played: BareResponder) -> None:
    assert played.release().code is Response.OK
    assert handles(played.ask(Operation.GetObjectHandles, ALL_STORES)) == ()
    played.ask(Operation.SetDevicePropValue, BUTTON, data=struct.pack("<H", FULL_PRESS))
    played.release()
    assert len(handles(played.ask(Operation.GetObjectHandles, ALL_STORES))) == 1


def test_the_host_lists_what_was_released_since_it_came_not_what_lay_there_before(played: BareResponder) -> None:
    played.ask(Operation.SetDevicePropValue, BUTTON, data=struct.pack("<H", FULL_PRESS))
    played.release()
    (made,) = handles(played.ask(Operation.GetObjectHandles, ALL_STORES))
    assert made != played.picture.handle
    played.ask(Operation.DeleteObject, made)
    assert handles(played.ask(Operation.GetObjectHandles, ALL_STORES)) == ()


def test_a_change_by_hand_is_told_once_beside_the_battery(played: BareResponder) -> None:
    def told() -> list[int]:
        data = played.ask(Operation.GetDevicePropValue, CHANGES).data
        assert data is not None
        return [struct.unpack_from("<H", data, 2 + 6 * at)[0] for at in range(struct.unpack_from("<H", data)[0])]

    assert played.extension is not None
    told()
    played.extension.properties.put(0x5007, 800)
    assert (told(), told()) == ([BATTERY_STATE, 0x5007], [BATTERY_STATE])
