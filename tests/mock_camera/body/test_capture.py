"""A release: refused with its reason, exposed once, its files whole on the card before anybody hears of them."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from mock_camera.body.camera_body import BodyOptions, CameraBody
from mock_camera.body.capture import Capture, with_comment
from mock_camera.ptp.codes import EventCode, Response
from tests.support.bare_body import Ears, bare_body
from tests.support.tiny_table import ENCODERS, TinyTable

Made = tuple[CameraBody, Capture, Ears]


@pytest.fixture
def made(tmp_path: Path) -> Iterator[Callable[..., Made]]:
    """A body with a shutter."""
    captures: list[Capture] = []

    def make(**options: object) -> Made:
        body = bare_body(tmp_path, BodyOptions(pixels=(192, 128), **options))  # type: ignore[arg-type]
        captures.append(Capture(body, ENCODERS))
        assert isinstance(body.cable, Ears)
        return body, captures[-1], body.cable

    yield make
    for capture in captures:
        capture.close()


def released(capture: Capture, transaction: int = 7) -> None:
    assert capture.release(transaction) is Response.OK
    assert capture._exposure is not None
    capture._exposure.join()
    assert capture.wait_until_written()


def settled(capture: Capture) -> None:
    """Also what is announced after the last file is on its way."""
    capture.close()


def files(body: CameraBody) -> list[str]:
    return [item.path.name for item in body.card if item.path.is_file()]


def test_a_release_gives_a_file_then_its_event_then_the_end(made: Callable[..., Made]) -> None:
    body, capture, ears = made()
    released(capture)
    settled(capture)
    assert files(body) == ["STIL0001.JPG"]
    assert [code for code, *_ in ears.events if code != EventCode.DevicePropChanged] == [
        EventCode.ObjectAdded,
        EventCode.CaptureComplete,
    ]
    added = next(event for event in ears.events if event[0] == EventCode.ObjectAdded)
    item = body.card.find(added[1])
    assert item is not None and item.path.name == "STIL0001.JPG"
    assert added[-1] == 7, "the transaction that asked for it"


@pytest.mark.parametrize(
    ("file_format", "jpeg_first", "order"),
    [
        ("jpeg", False, ["STIL0001.JPG"]),
        ("raw", False, ["STIL0001.TIF"]),
        ("raw+jpeg", False, ["STIL0001.TIF", "STIL0001.JPG"]),
        ("raw+jpeg", True, ["STIL0001.JPG", "STIL0001.TIF"]),
    ],
)
def test_the_format_says_which_files_and_in_which_order(
    made: Callable[..., Made], file_format: str, jpeg_first: bool, order: list[str]
) -> None:
    body, capture, _ = made(file_format=file_format, jpeg_first=jpeg_first)
    released(capture)
    assert files(body) == order
    assert capture.made_by == dict.fromkeys(order, 1)


def test_numbers_run_on_and_the_truth_is_kept_by_name(made: Callable[..., Made]) -> None:
    body, capture, _ = made()
    for _ in range(3):
        released(capture)
    assert files(body) == ["STIL0001.JPG", "STIL0002.JPG", "STIL0003.JPG"]
    assert set(capture.truths) == {"STIL0001", "STIL0002", "STIL0003"} and capture.releases == 3
    assert isinstance(body.source, TinyTable)
    assert [shot.number for shot in body.source.shots] == [1, 2, 3]
    assert float(body.setting("battery_percent")) == pytest.approx(80 - 0.15)


def test_a_second_release_waits_while_the_shutter_is_open(made: Callable[..., Made]) -> None:
    body, capture, _ = made()
    with body.table_lock:  # the picture can't be formed
        assert capture.release() is Response.OK and capture.is_open()
        assert capture.release() is Response.DeviceBusy
    assert capture._exposure is not None
    capture._exposure.join()
    assert not capture.is_open() and capture.wait_until_written() and capture.releases == 1


def test_a_battery_that_is_nearly_empty_keeps_the_shutter_shut(made: Callable[..., Made]) -> None:
    body, capture, ears = made()
    body.faults.add("battery_low", percent=2)
    assert capture.release() is Response.GeneralError
    assert body.setting("battery_percent") == 2 and capture.releases == 0
    assert files(body) == [] and EventCode.CaptureComplete not in [event[0] for event in ears.events]


def test_a_card_without_room_keeps_the_shutter_shut(made: Callable[..., Made]) -> None:
    body, capture, _ = made()
    body.faults.add("card_full", when="release")
    assert capture.release() is Response.StoreFull and capture.releases == 0
    assert capture.release() is Response.OK


def test_a_card_that_fills_while_it_is_written_is_told_after_the_shutter_has_gone(made: Callable[..., Made]) -> None:
    body, capture, ears = made()
    body.faults.add("card_full", when="writing")
    released(capture)
    settled(capture)
    codes = [event[0] for event in ears.events if event[0] != EventCode.DevicePropChanged]
    assert codes == [EventCode.StoreFull, EventCode.CaptureComplete] and files(body) == []


@pytest.mark.parametrize(
    ("fault", "options", "names", "announced"),
    [
        ("no_file", {}, [], 0),
        ("not_announced", {"kind": "all"}, ["STIL0001.TIF", "STIL0001.JPG"], 0),
        ("not_announced", {"kind": "raw"}, ["STIL0001.TIF", "STIL0001.JPG"], 1),
        ("announced_twice", {}, ["STIL0001.TIF", "STIL0001.JPG"], 4),
        ("renamed", {}, ["STIL0001.TIF", "STIL0002.JPG"], 2),
        ("second_card", {"holds": "copy"}, ["STIL0001.TIF", "STIL0001.TIF", "STIL0001.JPG", "STIL0001.JPG"], 4),
    ],
)
def test_what_goes_wrong_on_request(
    made: Callable[..., Made], fault: str, options: dict[str, Any], names: list[str], announced: int
) -> None:
    body, capture, ears = made(file_format="raw+jpeg")
    body.faults.add(fault, **options)
    released(capture)
    settled(capture)
    assert files(body) == names
    assert sum(event[0] == EventCode.ObjectAdded for event in ears.events) == announced


@pytest.mark.parametrize(("fault", "size"), [("empty_file", 0), ("truncated_file", 0.5)])
def test_a_file_that_is_broken_on_the_card_has_that_size_there(
    made: Callable[..., Made], fault: str, size: float
) -> None:
    body, capture, _ = made()
    released(capture)
    whole = next(item.info.size_bytes for item in body.card if item.path.is_file())
    body.faults.add(fault, where="card")
    released(capture)
    broken = [item.info.size_bytes for item in body.card if item.path.is_file()][-1]
    assert broken == pytest.approx(size * whole, rel=0.05)


def test_room_is_counted_in_frames_of_the_format(made: Callable[..., Made]) -> None:
    _, jpeg, _ = made(file_format="jpeg")
    frames = jpeg.room_frames()
    _, both, _ = made(file_format="raw+jpeg")
    assert both.room_frames() == pytest.approx(frames / 4.5, rel=0.01)


def test_a_comment_makes_another_file_of_the_same_picture() -> None:
    jpeg = b"\xff\xd8\xff\xe0rest"
    other = with_comment(jpeg)
    assert other[:2] == jpeg[:2] and other.endswith(jpeg[2:]) and len(other) > len(jpeg)
    assert other[2:4] == b"\xff\xfe" and int.from_bytes(other[4:6], "big") == len(other) - len(jpeg) - 2
