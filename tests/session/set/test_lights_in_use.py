"""What power a light can be set to, by the kit."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from session.set.kit import Kit, Light, demo_kit
from session.set.lights_in_use import (
    UnsetPowerError,
    flash_exposure_ev,
    from_view_deg,
    least_power_ev,
    require_power,
    stepped_power_ev,
)
from session.set.setup import Arrangement, PlacedLight, Revision, Settings

KIT = demo_kit()
NAMES = [light.name for light in KIT.light]


@given(st.sampled_from([*NAMES, "borrowed"]), st.floats(-12, 0), st.integers(-60, 60))
def test_every_power_that_steps_lead_to_can_be_set(name: str, power_ev: float, steps: int) -> None:
    stepped_ev = stepped_power_ev(PlacedLight(name, power_ev), steps, KIT)
    assert least_power_ev(KIT, name) <= stepped_ev <= 0
    require_power(PlacedLight(name, stepped_ev), KIT)


@pytest.mark.parametrize("name", NAMES)
def test_power_under_the_kits_least_is_refused_and_the_least_isnt(name: str) -> None:
    least_ev = least_power_ev(KIT, name)
    require_power(PlacedLight(name, least_ev), KIT)
    with pytest.raises(UnsetPowerError, match="by the kit it goes down to"):
        require_power(PlacedLight(name, least_ev - 0.1), KIT)


def way(azimuth_deg: float, elevation_deg: float) -> np.ndarray:
    """The way from the piece, (3,): towards the camera's side, to the left, up; turned about two axes in turn."""
    a, e = math.radians(azimuth_deg), math.radians(elevation_deg)
    up = np.array([[math.cos(e), 0, -math.sin(e)], [0, 1, 0], [math.sin(e), 0, math.cos(e)]])
    round_ = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    return round_ @ up @ np.array([1.0, 0.0, 0.0])


@given(st.floats(-360, 360), st.floats(-90, 90), st.floats(-90, 90))
def test_the_angle_between_light_and_camera_is_that_of_their_ways(side: float, height: float, down: float) -> None:
    found = from_view_deg(PlacedLight("key", 0.0, 600.0, side, height), down)
    assert found is not None
    light, camera = way(side, height), way(0, down)
    truth = math.degrees(math.atan2(float(np.linalg.norm(np.cross(light, camera))), float(light @ camera)))
    assert found == pytest.approx(truth, abs=1e-5)


@pytest.mark.parametrize(
    ("side", "height", "down", "aside_deg"),
    [
        (0.0, 30.0, 90.0, 60.0),  # straight above: 90° less the height
        (0.0, 30.0, 0.0, 30.0),  # level, the light over the camera
        (180.0, 30.0, 0.0, 150.0),  # level, the light from behind
        (90.0, 0.0, 45.0, 90.0),
        (None, 20.0, 90.0, 70.0),  # straight above a side tells nothing
        (None, 90.0, 10.0, 80.0),
        (None, 20.0, 80.0, None),
        (0.0, None, 90.0, None),
        (0.0, 20.0, None, None),
    ],
)
def test_the_angle_between_light_and_camera(side, height, down, aside_deg) -> None:
    found = from_view_deg(PlacedLight("key", 0.0, 600.0, side, height), down)
    assert found == (None if aside_deg is None else pytest.approx(aside_deg))


@pytest.mark.parametrize(("down", "loss_ev"), [(90.0, 1.0), (0.0, -math.log2(math.cos(math.radians(30)))), (30.0, 0.0)])
def test_a_card_that_faces_the_camera_has_light_by_where_the_camera_looks(down: float, loss_ev: float) -> None:
    """A light 30° up on the camera's side: 60°, 30° and 0° off the card's normal. Cosine law."""
    kit = Kit(light=(Light(name="key", guide_number_m=32.0, source_size_mm=0.0),))
    arrangement, light = (
        Arrangement(focal_length_mm=100.0, magnification=1.0),
        PlacedLight("key", 0.0, 600.0, 0.0, 30.0),
    )
    made = Revision(settings=Settings(1 / 200, 11.0, 100), arrangement=arrangement, lights=(light,))
    facing_ev = 2 * math.log2(32 / 0.6 / (11 * (1 + 1)))
    assert flash_exposure_ev(made, kit) is None
    assert flash_exposure_ev(replace(made, view_down_deg=down), kit) == pytest.approx(facing_ev - loss_ev)
