"""A whole shoot by the command line: libgphoto2, camera, files, checks and log, each in its own process.

Twice: on the simulated camera, and on libgphoto2's own virtual USB camera (a folder of JPEGs), which nobody here wrote.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.support.kept_whole import assert_whole
from tests.support.mock_process import MockCamera
from tests.support.slow_kit import slow_kit
from tests.support.stillset_program import StillsetHome, sha256


@pytest.fixture
def home(tmp_path: Path) -> StillsetHome:
    return StillsetHome(tmp_path)


@pytest.fixture(scope="module")
def card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("card")


@pytest.fixture(scope="module")
def shared_mock(card: Path) -> Iterator[MockCamera]:
    with MockCamera("--card-folder", str(card), "--pixels", "384x256") as mock:
        yield mock


@pytest.fixture
def mock(shared_mock: MockCamera) -> MockCamera:
    shared_mock.reset()
    shared_mock.hands("turn_dial", setting="file_format", value="raw+jpeg")
    return shared_mock


def test_twenty_frames_of_the_virtual_usb_camera_are_saved_byte_for_byte_and_logged(home: StillsetHome) -> None:
    served = home.folder / "virtual"
    served.mkdir()
    for number in range(3):
        pixels = np.random.default_rng(number).integers(0, 256, (60, 90, 3), dtype=np.uint8)
        Image.fromarray(pixels).save(served / f"picture{number}.jpg")
    ended = home.run("shoot", "--headless", "--frames", "20", VCAMERADIR=str(served))
    assert (ended.code, ended.err) == (0, "")
    assert "20 of 20 frames saved" in ended.out
    frames = home.frames()
    assert [frame["number"] for frame in frames] == list(range(1, 21))
    assert {frame["state"] for frame in frames} == {"logged"}
    files = [file for frame in frames for file in frame["files"]]
    assert [file["path"] for file in files] == [str(path) for path in home.files()]
    assert len(files) == 20
    originals = {sha256(path) for path in served.iterdir()}
    for file in files:
        assert sha256(Path(file["path"])) == file["sha256"]
        assert file["sha256"] in originals


def test_twenty_frames_of_raw_and_jpeg_are_forty_files_as_on_the_card(
    home: StillsetHome, mock: MockCamera, card: Path
) -> None:
    ended = home.run("shoot", "--headless", "--frames", "20", "--camera", mock.address)
    assert (ended.code, ended.err) == (0, "")
    assert "live view" not in ended.out
    frames = assert_whole(home, card)
    assert [(frame["number"], frame["state"], frame["released_by"]) for frame in frames] == [
        (number, "logged", "tool") for number in range(1, 21)
    ]
    assert [sorted(file["kind"] for file in frame["files"]) for frame in frames] == [["jpeg", "raw"]] * 20
    assert Counter(path.suffix for path in home.files()) == {".JPG": 20, ".TIF": 20}
    assert frames[0]["camera"]["exposure_s"] == pytest.approx(1 / 200)
    assert frames[0]["camera"]["f_number"] == 11


def test_a_focus_series_is_shot_by_the_cameras_own_drive(home: StillsetHome, mock: MockCamera) -> None:
    lens = ("--lens", "Longmere 100 close-up", "--magnification", "1", "--f-number", "4", "--light", "key")
    plan = ("--frames", "2", "--steps-per-mm", "50", "--hold-off-s", "0", "--yes", "--json")
    ended = home.run("series", "run", "--camera", mock.address, *lens, *plan)
    assert ended.code in (0, 4), "a drive that doesn't move, or a refused frame, ends with another"
    (told,) = ended.json_lines()
    assert [plane["frame"] for plane in told["planes"]] == [1, 2]
    assert "Plane 2 of 2 is being shot." in ended.err


def test_a_frame_released_on_the_camera_while_another_waits_is_logged_as_such(
    home: StillsetHome, mock: MockCamera, card: Path
) -> None:
    options = ("--headless", "--frames", "2", "--camera", mock.address, "--light", "key", "--hold-off-s", "0")
    with home.start("shoot", *options, "--kit", str(slow_kit(home.folder))) as program:
        program.until("Frame 2 waits")
        mock.hands("release")
        program.until("Frame 2 was released on the camera; it is being fetched.")
        program.until("Frame 2: ")
        program.interrupt()
        assert program.ended().code == 1
    frames = assert_whole(home, card)
    assert [(frame["number"], frame["released_by"], frame["state"]) for frame in frames] == [
        (1, "tool", "logged"),
        (2, "body", "logged"),
    ]


def test_a_time_shorter_than_the_flash_sync_is_stopped_with_both_numbers_and_nothing_fires(
    home: StillsetHome, mock: MockCamera
) -> None:
    before = mock.hands("state")["releases"]
    ended = home.run("shoot", "--headless", "--camera", mock.address, "--exposure-s", "1/500", "--light", "key")
    assert ended.code == 3
    assert "1/500 s is shorter than the 1/200 s sync time" in ended.sentence()
    assert mock.hands("state")["releases"] == before
    assert home.frames() == []
    assert "1/500 s is shorter than the 1/200 s sync time" in home.run("log", "events", "--kind", "refused").out


def test_an_overruled_sync_fires_shows_the_dark_band_and_keeps_the_reason(
    home: StillsetHome, mock: MockCamera, card: Path
) -> None:
    """The share: the body's curtains take 3 ms for the picture and the trigger 0.3 ms (the demo's kit and the mock)."""
    options = ("--headless", "--camera", mock.address, "--exposure-s", "1/500", "--light", "key")
    ended = home.run("shoot", *options, "--overrule", "sync", "--reason", "to see the band")
    assert (ended.code, ended.err) == (0, "")
    (frame,) = assert_whole(home, card)
    assert frame["overrulings"] == [{"id": "sync", "reason": "to see the band"}]
    by_id = {finding["id"]: finding for finding in frame["findings"]}
    assert (by_id["sync"]["value"], by_id["sync"]["limit"]) == (pytest.approx(1 / 500), pytest.approx(1 / 200))
    expected_share = 1 - (1 / 500 - 0.0003) / 0.003
    assert by_id["band"]["value"] == pytest.approx(expected_share, abs=0.02)
    assert by_id["band"]["unit"] == "share of the frame"
    assert "% of the frame" in by_id["band"]["text"]


def test_overruling_a_rule_that_there_is_not_is_wrong_use_and_names_those_there_are(home: StillsetHome) -> None:
    ended = home.run("shoot", "--headless", "--overrule", "synch", "--overrule", "sync", "--reason", "to see the band")
    assert ended.code == 2
    said = ended.sentence()
    assert "no rule 'synch' to overrule; there are drifted, sync, " in said
    assert not home.log.exists()


def test_overruling_without_a_reason_is_wrong_use(home: StillsetHome) -> None:
    ended = home.run("shoot", "--headless", "--overrule", "sync")
    assert ended.code == 2
    assert "takes a reason" in ended.sentence()
    assert not home.log.exists()


def test_json_gives_one_object_a_frame_on_standard_output_and_words_on_standard_error(
    home: StillsetHome, mock: MockCamera
) -> None:
    ended = home.run("shoot", "--headless", "--frames", "2", "--json", "--camera", mock.address)
    assert ended.code == 0
    assert ended.json_lines() == home.frames() == home.run("log", "frames", "--json").json_lines()
    assert "2 of 2 frames saved" in ended.err
