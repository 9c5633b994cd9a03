"""What hands do at the camera, as libgphoto2 sees it and as the control port answers."""

import pytest

from mock_camera.wire.control import ControlError
from tests.support.camera_bench import CameraBench


def test_dial_turned_by_hand_is_seen_by_the_host(bench: CameraBench) -> None:
    camera = bench.start()
    host, hands = bench.host(camera), bench.hands(camera)
    assert host.call("get", "f-number") == "f/11"
    assert hands.do("turn_dial", setting="f_number", value=8) == {"f_number": 8.0}
    seen = host.call("events", 2.0, "5007")
    assert any("5007" in text for _, text in seen)
    assert host.call("get", "f-number") == "f/8"


def test_release_on_the_camera_is_announced_to_the_host(bench: CameraBench) -> None:
    camera = bench.start(file_format="raw+jpeg")
    host, hands = bench.host(camera), bench.hands(camera)
    hands.do("release")
    announced = host.files_of_release()
    assert [path[-12:] for path in announced] == ["STIL0001.TIF", "STIL0001.JPG"]
    assert hands.do("truth", object="STIL0001")["number"] == 1


def test_release_on_the_camera_without_a_host_is_found_on_the_card_later(bench: CameraBench) -> None:
    camera = bench.start()
    bench.hands(camera).do("release")
    camera.capture.wait_until_written()
    (listed,) = bench.host(camera).call("files")
    assert listed.endswith("STIL0001.JPG")


def test_camera_switched_off_drops_the_host_and_takes_it_again_when_on(bench: CameraBench) -> None:
    camera = bench.start()
    host, hands = bench.host(camera), bench.hands(camera)
    hands.do("switch_off")
    with pytest.raises(Exception, match="libgphoto2 returned"):
        host.call("again")
    hands.do("switch_on")
    host.call("again")
    assert host.call("get", "iso") == "100"


def test_formatting_empties_the_card_and_numbers_go_on(bench: CameraBench) -> None:
    camera = bench.start()
    host, hands = bench.host(camera), bench.hands(camera)
    host.call("trigger")
    host.files_of_release()
    assert hands.do("format_card") == {"removed": 2}  # the file and its folder
    host.call("again")
    assert host.call("files") == []
    host.call("trigger")
    assert host.files_of_release()[0].endswith("STIL0002.JPG")


def test_battery_runs_down_to_where_the_body_refuses(bench: CameraBench) -> None:
    camera = bench.start()
    host, hands = bench.host(camera), bench.hands(camera)
    hands.do("battery", percent=4)
    host.call("events", 2.0, "5001")
    assert host.call("get", "batterylevel") == "4%"
    host.call("trigger")
    assert len(host.files_of_release()) == 1
    hands.do("battery", percent=2)
    with pytest.raises(ControlError, match="didn't release"):
        hands.do("release")


@pytest.mark.parametrize(
    ("name", "values", "sentence"),
    [
        ("turn_dial", {"setting": "f_number", "value": 7.77}, "f_number can't be 7.77; it can be 2.8, "),
        ("turn_dial", {"setting": "speed", "value": 1}, "This camera has no setting 'speed'; it has "),
        ("turn_dial", {"setting": "battery_percent", "value": 50}, "No dial turns battery_percent"),
        ("turn_dial", {"value": 50}, "turn_dial doesn't take these values"),
        ("fault", {"name": "gremlin"}, "There is no fault 'gremlin'; there are cable_cut, "),
        ("fault", {"name": "busy", "colour": 1}, "Fault busy has no option 'colour'"),
        ("truth", {"object": "STIL9999"}, "No picture 'STIL9999' was taken"),
        ("juggle", {}, "Nobody can juggle here"),
    ],
)
def test_hands_are_answered_with_a_sentence(
    bench: CameraBench, name: str, values: dict[str, object], sentence: str
) -> None:
    hands = bench.hands(bench.start())
    with pytest.raises(ControlError, match=sentence.replace("(", r"\(")):
        hands.do(name, **values)


def test_state_tells_settings_card_and_scripted_faults(bench: CameraBench) -> None:
    hands = bench.hands(bench.start("busy:times=3,after=1"))
    hands.do("release")
    state = hands.do("state")
    assert state["settings"]["exposure_s"] == 0.005  # type: ignore[index]
    assert state["faults"] == [{"name": "busy", "times": 3, "after": 1, "operation": "InitiateCapture"}]
    assert state["releases"] == 1
    assert hands.do("clear_faults") == {}
    assert hands.do("state")["faults"] == []
