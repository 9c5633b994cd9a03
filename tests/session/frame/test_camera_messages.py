"""Messages to and from the camera's process: each goes through its pipe whole, and small."""

from __future__ import annotations

import pickle
import tracemalloc

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import Fault, Fired, Reading, Setting

CARD = say.CardObject("/store_00010001/DCIM/100STILL", "STIL0001.JPG", 1000, 1.5)
FILE = say.SavedFile("/pictures/1.jpg", "jpeg", 1000, "0" * 64, CARD)
READING = Reading({"f_number": Setting("f_number", 11.0, "f/11", (8.0, 11.0))})
SECOND = say.SecondPlace("/disk/pictures", "/disk", 7)

REQUESTS = (
    say.Connect("usb:001,002", "0815"),
    say.ReadSettings(),
    say.ApplySettings({"iso": 200, "white_balance": "Flash"}),
    say.Release("f", "/pictures", "1", 2, SECOND, 1, CARD, 4711.5),
    say.Fetch("f", "/pictures", "1", (CARD,), SECOND),
    say.ListCard("100STILL", True, (CARD,)),
    say.LiveView(True),
    say.NextLiveFrame(),
    say.DriveFocus(-3),
)
ANSWERS = (
    say.SettingsRead(READING, {"iso": "ISO 200 was not taken."}, True),
    say.ShutterFired("f", 1.0),
    say.FileSaved("f", FILE),
    say.FrameComplete("f", 10**9, (CARD,)),
    say.BodyRelease((CARD,)),
    say.CardListed((CARD,)),
    say.LiveFrame(b"\xff\xd8\xff\xd9", 1.0),
    say.FocusDriven(-3),
    say.Failed("Release", Fault.BUSY, "The camera is busy.", "f", Fired.NO),
    say.CameraGone(Fault.LOST, "The cable is out."),
    say.FoundCamera("usb:001,002", "VC"),
)


@pytest.mark.parametrize("message", [*REQUESTS, *ANSWERS], ids=lambda message: type(message).__name__)
def test_a_message_comes_out_of_the_pipe_as_it_went_in(message: object) -> None:
    packed = pickle.dumps(message)
    assert pickle.loads(packed) == message
    assert len(packed) < 2000


def test_a_setting_that_the_camera_does_not_tell_has_no_value() -> None:
    assert (READING.value("f_number"), READING.value("iso")) == (11.0, None)


@pytest.mark.parametrize("message", [*REQUESTS, *ANSWERS], ids=lambda message: type(message).__name__)
def test_nobody_changes_a_message_on_its_way(message: object) -> None:
    for name in getattr(message, "__dataclass_fields__", {}):
        with pytest.raises(AttributeError):
            setattr(message, name, None)


def a_long_list() -> list[say.CardObject]:
    return [say.CardObject(CARD.folder, f"STIL{number:04d}.JPG", 9_000_000 + number, 1e9) for number in range(2000)]


def test_a_card_s_list_takes_no_more_room_once_it_was_sent() -> None:
    tracemalloc.start()
    try:
        pickle.dumps(a_long_list())  # CPython keeps the tuples that this needs for the next
        card = a_long_list()
        before, _ = tracemalloc.get_traced_memory()
        pickle.dumps(card)
        after, _ = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert after - before < 8 * len(card)
