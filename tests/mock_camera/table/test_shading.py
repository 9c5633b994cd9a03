"""Light on the layers: by the sine of its elevation, with shadows of the right length, however the camera is turned."""

import numpy as np
import pytest

from mock_camera.table.world import World
from tests.support.still_life import (
    card_world,
    grey,
    linear,
    shot,
)


def test_light_from_aside_falls_off_with_the_sine_of_its_elevation() -> None:
    world = card_world(pixels=(384, 256))
    first = grey(world.expose(shot(), 10))
    world.do("light", name="key", elevation_deg=30)
    assert grey(world.expose(shot(), 20)) / first == pytest.approx(0.5, rel=0.02)


def test_lights_stay_on_the_table_when_the_camera_turns() -> None:
    # a raking light from the left makes the left of the card brighter; seen from a camera that was turned
    # by a quarter clockwise, the table turns by a quarter anticlockwise: the left edge lies at the bottom
    world = card_world(pixels=(256, 256))
    world.do("light", name="key", azimuth_deg=90, elevation_deg=25, distance_mm=120, power_ev=-7)
    upright = linear(world.expose(shot(), 1))
    world.do("move_camera", turn_deg=90)
    turned = linear(world.expose(shot(), 10))
    assert upright[:, :64].mean() > 1.2 * upright[:, -64:].mean()
    assert turned[-64:].mean() > 1.2 * turned[:64].mean()
    assert np.rot90(upright).mean(axis=1) == pytest.approx(turned.mean(axis=1), rel=0.15)


def test_shadow_falls_away_from_the_light_by_height_over_tangent() -> None:
    # a screw head 0.8 mm above the bridge, light at 45 degrees: the shadow reaches 0.8 mm beyond its edge
    world = World(pixels=(768, 512))
    world.do("ambient", lux=0)
    world.do("light", name="key", azimuth_deg=90, elevation_deg=45, shaper="tube")
    lit = linear(world.expose(shot(), 1))
    world.do("light", name="key", azimuth_deg=270)
    other = linear(world.expose(shot(), 10))
    # from the edge of the screw at (-10.2, -3.2) mm of radius 1.05 to the right, in px of 1/32 mm
    row, edge = round(256 - 3.2 * 32), round(384 + (-10.2 + 1.05) * 32)
    ratio = (lit[row - 4 : row + 4, edge : edge + 48] / other[row - 4 : row + 4, edge : edge + 48]).mean(axis=0)
    dark, free = ratio[6:14].mean(), ratio[-10:].mean()
    reach = 6 + int(np.argmax(ratio[6:] > (dark + free) / 2))
    assert dark < 0.4 * free
    # shadows are made at a quarter of the resolution
    assert reach / 32 == pytest.approx(0.8, abs=4 / 32)
