"""What hands do to the camera by name: every command, its answer, and a sentence for what can't be done."""

import inspect
from collections.abc import Iterator
from pathlib import Path

import pytest

from mock_camera.body.camera_body import BodyOptions
from mock_camera.body.capture import Capture
from mock_camera.body.viewfinder import Viewfinder
from mock_camera.ptp.codes import EventCode
from mock_camera.wire import commands
from mock_camera.wire.commands import COMMANDS, Answer, Hands
from tests.support.bare_body import Ears, bare_body
from tests.support.tiny_table import ENCODERS


class NoWire:
    """The cable's socket as far as hands know it."""

    plugged_in, bytes_per_s = True, 0.0

    def plug(self, on: bool) -> None:
        self.plugged_in = on

    def is_connected(self) -> bool:
        return False


@pytest.fixture
def hands(tmp_path: Path) -> Iterator[Hands]:
    body = bare_body(tmp_path, BodyOptions(pixels=(192, 128)))
    capture, finder = Capture(body, ENCODERS), Viewfinder(body)
    yield Hands(body, capture, finder, NoWire())  # type: ignore[arg-type]
    capture.close()
    finder.close()


def do(hands: Hands, name: str, /, **values: object) -> Answer:
    return hands.do(name, values)


def test_every_command_stands_in_the_modules_own_list() -> None:
    text = inspect.getdoc(commands) or ""
    for name in COMMANDS:
        assert name in text, name


@pytest.mark.parametrize(
    ("name", "values", "said"),
    [
        ("turn_dial", {"setting": "drive", "value": 1}, "This camera has no setting 'drive'"),
        ("turn_dial", {"setting": "battery_percent", "value": 50}, "No dial turns battery_percent."),
        ("turn_dial", {"setting": "f_number", "value": 12}, "f_number can't be 12"),
        ("turn_dial", {}, "turn_dial doesn't take these values: turn_dial() missing"),
        ("release", {"hard": True}, "release doesn't take these values"),
        ("truth", {"object": "STIL0009"}, "No picture 'STIL0009' was taken since this camera was started."),
        ("fault", {"name": "fire"}, "There is no fault 'fire'"),
        (
            "set_property",
            {"code": 0x5007, "value": 1},
            "This camera plays no body, so that property 0x5007",
        ),
        ("juggle", {}, "Nobody can juggle here."),
    ],
)
def test_what_cant_be_done_is_said(hands: Hands, name: str, values: Answer, said: str) -> None:
    with pytest.raises(ValueError) as refused:
        do(hands, name, **values)
    assert str(refused.value).startswith(said)


def test_a_dial_is_turned_to_what_is_offered_nearest(hands: Hands) -> None:
    assert do(hands, "turn_dial", setting="f_number", value=8) == {"f_number": 8.0}
    assert do(hands, "battery", percent=150) == {"percent": 100.0}


def test_a_button_pressed_on_the_camera_makes_a_picture_with_its_truth(hands: Hands) -> None:
    assert do(hands, "release") == {"releases": 1}
    assert hands.capture._exposure is not None
    hands.capture._exposure.join()
    assert hands.capture.wait_until_written()
    assert do(hands, "truth", object="STIL0001")["number"] == 1
    told = do(hands, "state")
    assert told["releases"] == 1 and told["made_by"] == {"STIL0001.JPG": 1}
    assert not told["shutter_open"] and told["table"] == {"focus_steps": 0}
    assert isinstance(told["card"], dict) and told["card"]["files"] == ["DCIM/100STILL/STIL0001.JPG"]


def test_a_body_that_wont_release_says_which_answer_it_gives(hands: Hands) -> None:
    do(hands, "battery", percent=1)
    with pytest.raises(ValueError, match=r"The body didn't release: GeneralError\."):
        do(hands, "release")


def test_faults_are_scripted_told_and_cleared(hands: Hands) -> None:
    assert do(hands, "fault", name="busy", times=3) == {}
    assert do(hands, "state")["faults"]
    do(hands, "clear_faults")
    assert not do(hands, "state")["faults"]


def test_a_card_that_is_formatted_tells_of_every_object_that_is_gone(hands: Hands) -> None:
    hands.body.card.save(1, ".JPG", b"x")
    removed = do(hands, "format_card")["removed"]
    assert isinstance(hands.body.cable, Ears)
    gone = [event for event in hands.body.cable.events if event[0] == EventCode.ObjectRemoved]
    assert removed == len(gone) >= 1


def test_the_cable_is_pulled_plugged_and_slowed(hands: Hands) -> None:
    do(hands, "switch_off")
    assert do(hands, "state")["switched_on"] is False
    do(hands, "switch_on")
    do(hands, "wire", bytes_per_s=1000)
    assert do(hands, "state")["switched_on"] is True and hands.wire.bytes_per_s == 1000


def test_time_passes_for_a_clock_that_stands_still(hands: Hands) -> None:
    assert do(hands, "pass_time", seconds=12.5) == {"now_s": 12.5}
