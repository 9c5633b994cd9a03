"""The ambient light measured with the lights off, and a light that does not fire named, by the command line.

What the mock camera was told to have on its table is what stillset must find, through libgphoto2, files and log.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from storage.reading.log_reader import LogReader
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import StillsetHome

KIT = """
invented = true
[[body]]
name = "Wendle 16"
sensor_width_mm = 24.0
sensor_height_mm = 16.0
pixels_across = 768
pixels_down = 512
sync_time_s = 0.005
[[light]]
name = "key"
guide_number_m = 45.2548
recycling_time_s = 1.6
shaper_losses_ev = { "tube" = 1.0 }
[[light]]
name = "fill"
guide_number_m = 32.0
recycling_time_s = 1.6
[[shaper]]
name = "tube"
kind = "tube"
"""
"""Charging as the mock camera's lights charge, for frames that follow at once. As shaped the key's guide number is 32,
which both lights of the mock camera have: 45.25 · 2^(−1/2)."""

KEY = "key,power_ev=-2,distance_mm=600,azimuth_deg=45,elevation_deg=45,shaper=tube"
FILL = "fill,power_ev=-3,distance_mm=600,azimuth_deg=300,elevation_deg=40"


@pytest.fixture
def home(tmp_path: Path) -> StillsetHome:
    (tmp_path / "kit.toml").write_text(KIT)
    return StillsetHome(tmp_path)


@pytest.fixture(params=["card"])
def mock(request: pytest.FixtureRequest) -> Iterator[MockCamera]:
    """A camera over this piece, with the key light as the kit's.

    The card is laid so that one of its squares, which lie 4 mm apart, is in the middle, where the region is: between
    them it is flat, and no focus can be judged.
    """
    with MockCamera("--pixels", "768x512", "--piece", request.param) as started:
        if request.param == "card":
            started.hands("shift_piece", right_mm=2.0, down_mm=2.0)
        yield started


def options(mock: MockCamera, home: StillsetHome, *lights: str) -> list[str]:
    words = ["--headless", "--camera", mock.address, "--kit", str(home.folder / "kit.toml"), "--hold-off-s", "0"]
    return words + [word for light in lights for word in ("--light", light)]


@pytest.mark.parametrize(("room_ev", "settled"), [(-6.0, True), (-3.0, False)])
def test_ambient_is_measured_kept_with_the_set_up_and_settles_its_rule(
    home: StillsetHome, mock: MockCamera, room_ev: float, settled: bool
) -> None:
    mock.hands("ambient", ev=room_ev)
    first = home.run("shoot", *options(mock, home, KEY))
    assert (first.code, first.err) == (0, "")
    mock.hands("light", name="key", on=False)
    measured = home.run("shoot", *options(mock, home), "--ambient")
    assert (measured.code, measured.err) == (0, "")
    assert "EV under the flash" in measured.out
    mock.hands("light", name="key", on=True)
    third = home.run("shoot", *options(mock, home))
    assert (third.code, third.err) == (0, "")

    before, room, after = home.frames()
    assert [frame["ambient"] for frame in (before, room, after)] == [False, True, False]
    (light,) = [finding for finding in room["findings"] if finding["id"] == "ambient light"]
    assert light["value"] == pytest.approx(room_ev, abs=0.2)
    assert (room["focus"]["verdict"], room["focus"]["reason"]) == ("unjudged", "released with the lights off")
    assert after["focus"]["verdict"] == "sharp", "the reference is still the first frame"

    rules = {finding["id"]: finding for finding in before["findings"]}
    assert (rules["ambient"]["level"], rules["ambient"]["value"]) == ("note", None)
    said = [finding for finding in after["findings"] if finding["id"] == "ambient"]
    assert [(finding["level"], finding["value"]) for finding in said] == (
        [] if settled else [("caution", pytest.approx(-room_ev, abs=0.2))]
    )
    with closing(LogReader.open(home.log)) as reader:
        kept = reader.revisions(before["job"], 1)
        assert [revision.ambient_ev for revision in kept] == [None, pytest.approx(room_ev, abs=0.2)]
        (counted,) = reader.stats().setups
        assert (counted.frames, counted.sharp, counted.ambient) == (3, 1, 1)
        assert {light.light: light.pops for light in reader.stats().lights} == {"key": 2}


def test_lights_left_on_leave_the_room_light_unmeasured_and_the_set_up_as_it_was(
    home: StillsetHome, mock: MockCamera
) -> None:
    assert home.run("shoot", *options(mock, home, KEY)).code == 0
    ended = home.run("shoot", *options(mock, home), "--ambient")
    assert ended.code == 1
    assert "a light seems to have fired" in ended.sentence()
    with closing(LogReader.open(home.log)) as reader:
        assert len(reader.revisions(home.frames()[0]["job"], 1)) == 1


def test_without_a_reference_nothing_is_released_for_the_ambient(home: StillsetHome, mock: MockCamera) -> None:
    ended = home.run("shoot", *options(mock, home, KEY), "--ambient")
    assert ended.code == 1
    assert "measured against the reference, and there is none" in ended.sentence()
    assert home.frames() == []


@pytest.mark.parametrize("mock", ["bridge"], indirect=True)
@pytest.mark.parametrize("gone", ["key", "fill"])
def test_the_light_of_two_that_does_not_fire_is_named(home: StillsetHome, mock: MockCamera, gone: str) -> None:
    mock.hands(
        "light", name="key", power_ev=-2, distance_mm=600, azimuth_deg=45, elevation_deg=45, recycling_time_s=0.01
    )
    mock.hands(
        "light", name="fill", power_ev=-3, distance_mm=600, azimuth_deg=300, elevation_deg=40, recycling_time_s=0.01
    )
    assert home.run("shoot", *options(mock, home, KEY, FILL)).code == 0
    mock.hands("light", name=gone, fires=False)
    ended = home.run("shoot", *options(mock, home))
    assert ended.code == 0
    dark = home.frames()[1]
    named = [finding["text"] for finding in dark["findings"] if finding["id"] == "light"]
    other = {"key": "fill", "fill": "key"}[gone]
    assert all(not text.startswith(other) for text in named)
    if gone == "key":
        assert named and named[0].startswith("key seems not to have fired (45° left · 45° up): ")
        assert "flash" not in {finding["id"] for finding in dark["findings"]}
    assert dark["verdict"] == ("light" if named else "flash")


def test_a_flawed_first_frame_is_no_reference_and_the_first_clean_one_is(home: StillsetHome, mock: MockCamera) -> None:
    """The light doesn't fire for the first frame, and the room is dark."""
    mock.hands("ambient", lux=0)
    mock.hands("light", name="key", fires=False)
    black = home.run("shoot", *options(mock, home, KEY))
    assert "Frame 1: no flash. It isn't the reference; the first clean one will be." in black.out
    mock.hands("light", name="key", fires=True)
    ended = home.run("shoot", *options(mock, home), "--frames", "2")
    assert "Frame 2 is the set-up's reference from now on." in ended.out
    first, clean, compared = home.frames()
    assert [frame["verdict"] for frame in (first, clean, compared)] == ["flash", "clean", "clean"]
    assert [finding["id"] for finding in first["findings"] if finding["level"] == "caution"] == ["flash"]
    assert compared["focus"]["verdict"] == "sharp"
