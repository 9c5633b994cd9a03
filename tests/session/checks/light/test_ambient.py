"""The ambient light in frames of the mock camera with its light switched off; the true ratio is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from session.checks.judge.all_checks import judge
from session.checks.light.ambient import findings, measure, noise_floor
from session.checks.material.checked_picture import gather
from session.frame.finding import FocusVerdict, Level
from tests.support.made_pictures import coded, jpeg_bytes, photograph
from tests.support.mock_set import mock_set


@pytest.mark.parametrize("ambient_ev", [-1.0, -3.0, -5.0, -6.0, -8.0])
def test_ambient_on_a_level_card_is_what_was_set(tmp_path: Path, ambient_ev: float) -> None:
    made = mock_set(tmp_path, 331, "card")
    made.world.do("ambient", ev=ambient_ev)
    reference = made.frame()
    assert made.truth["ambient_ev"] == pytest.approx(ambient_ev, abs=0.05)
    made.light(on=False)
    room = measure(made.frame(), reference)
    assert not room.at_least
    assert room.ev == pytest.approx(ambient_ev, abs=0.15)


@pytest.mark.parametrize("piece", ["bridge", "type"])
@pytest.mark.parametrize("ambient_ev", [-1.0, -4.0, -6.0])
def test_ambient_on_metal_is_what_the_sensor_values_say(tmp_path: Path, piece: str, ambient_ev: float) -> None:
    """Metal mirrors more of the room than of a flash from the side. By the sensor's green values, black level 512."""
    made = mock_set(tmp_path, 331, piece)
    made.world.do("ambient", ev=ambient_ev)
    reference = made.frame()
    lit = made.mosaic[0::2, 1::2].astype(float) - 512
    made.light(on=False)
    room = measure(made.frame(), reference)
    dark = made.mosaic[0::2, 1::2].astype(float) - 512
    # compared over the same tones as the check does: linear 0.007 to 0.83, in patches of 8
    patches = [v[:512, :768].reshape(64, 8, 96, 8).mean((1, 3)) / (2**14 - 1 - 512) for v in (lit, dark)]
    shown = (patches[0] > 0.007) & (patches[0] < 0.83)
    expected = np.log2(patches[1][shown].sum() / (patches[0] - patches[1])[shown].sum())
    assert room.ev == pytest.approx(expected, abs=0.2)


@pytest.mark.parametrize("iso", [100, 1600])
def test_dark_room_is_given_as_a_bound_that_holds(tmp_path: Path, iso: int) -> None:
    made = mock_set(tmp_path, 332)
    made.world.do("ambient", ev=-14.0)
    if iso == 1600:
        made.light(power_ev=-6.0)
        made.world.do("ambient", ev=-14.0)
    reference = made.frame(iso=iso)
    made.light(on=False)
    room = measure(made.frame(iso=iso), reference)
    assert room.at_least
    assert room.ev is not None
    assert -14.0 <= room.ev < -5.0
    assert "at least" in findings(room)[0].text


def test_longer_exposure_time_than_the_references_is_allowed_for(tmp_path: Path) -> None:
    """At 1/50 s the same room lies two stops nearer to the flash than at 1/200 s."""
    made = mock_set(tmp_path, 333, "card")
    made.world.do("ambient", ev=-5.0)
    reference = made.frame()
    made.light(on=False)
    room = measure(gather(str(made.path(exposure_s=1 / 50))), reference)
    assert room.ev == pytest.approx(-3.0, abs=0.2)


def test_lights_that_were_left_on_are_noticed(tmp_path: Path) -> None:
    made = mock_set(tmp_path, 334)
    reference = made.frame()
    room = measure(made.frame(), reference)
    assert room.ev is None
    assert "a light seems to have fired" in findings(room)[0].text


def test_noise_floor_of_black_is_the_mean_of_rectified_noise(tmp_path: Path) -> None:
    """Black with noise of 6 codes, which JPEG files cut off below: their mean light is what noise makes of black."""
    black = np.zeros((600, 900))
    (tmp_path / "black.jpg").write_bytes(jpeg_bytes(coded(black, noise_codes=6.0), quality=98, subsampling=0))
    frame = gather(str(tmp_path / "black.jpg"))
    assert noise_floor(frame) == pytest.approx(float(frame.light.mean()), rel=0.35)
    (tmp_path / "lit.jpg").write_bytes(jpeg_bytes(coded(photograph("coffee.png", (900, 600)))))
    room = measure(frame, gather(str(tmp_path / "lit.jpg")))
    assert room.at_least


def test_ambient_frame_is_judged_by_its_light_alone(tmp_path: Path) -> None:
    made = mock_set(tmp_path, 335, "card")
    reference = made.path()
    made.light(on=False)
    found = judge(made.assignment(made.path(), reference, ambient=True))
    assert [(finding.id, finding.level) for finding in found.findings] == [("ambient light", Level.NOTE)]
    assert found.focus.verdict is FocusVerdict.UNJUDGED
    assert found.ambient_ev == pytest.approx(-6.0, abs=0.2)
    without = judge(made.assignment(made.path(), None, ambient=True))
    assert without.ambient_ev is None
    assert "no reference" in without.findings[0].text
