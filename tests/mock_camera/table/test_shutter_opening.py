"""One opening of the shutter: who fires, and how the lights of flash and room add up."""

import math

import pytest

from mock_camera.table.world import World
from tests.support.still_life import card_world, grey, shot


def test_light_that_does_not_fire_leaves_only_the_room() -> None:
    world = World(pixels=(192, 128), piece="card")
    lit = grey(world.expose(shot(), 10))
    world.do("light", name="key", fires=False)
    picture = world.expose(shot(), 20)
    assert picture.truth["fired"] == {"key": False}
    assert picture.truth["flash_ev"] is None
    # the room lies six stops under the flash; both are in the first picture
    assert math.log2(grey(picture) / (lit - grey(picture))) == pytest.approx(-6, abs=0.15)


def test_flash_asked_at_once_does_not_fire_and_goes_on_charging() -> None:
    world = card_world(pixels=(192, 128))
    world.do("light", name="key", recycling_time_s=2.0, power_ev=-1)
    world.expose(shot(), 10)
    assert world.expose(shot(), 10.01).truth["fired"] == {"key": False}
    assert world.expose(shot(), 11.0).truth["flash_ev"] == pytest.approx(0, abs=1e-6)


def test_two_lights_add_up() -> None:
    # exposures add linearly: f/8 and f/5.6 together are +0.575 EV on the first (photometric additivity)
    world = card_world(pixels=(192, 128))
    alone = grey(world.expose(shot(), 10))
    world.do("light", name="fill", elevation_deg=90, shaper="tube", power_ev=-3)
    both = world.expose(shot(), 20)
    assert both.truth["fired"] == {"key": True, "fill": True}
    assert math.log2(grey(both) / alone) == pytest.approx(0.585, abs=0.02)


def test_slower_than_sync_the_room_grows_and_the_flash_does_not() -> None:
    world = card_world(pixels=(192, 128))
    world.do("ambient", ev=-6)
    short = world.expose(shot(exposure_s=1 / 200), 10)
    long = world.expose(shot(exposure_s=1 / 25), 20)
    assert long.truth["ambient_ev"] == pytest.approx(-3, abs=0.01)
    # 1 + 1/8 against 1 + 1/64
    assert grey(long) / grey(short) == pytest.approx((1 + 2**-3) / (1 + 2**-6), rel=0.01)
