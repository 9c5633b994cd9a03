"""Vibration after a touch: its closed forms, and what it does to pictures."""

import math
from typing import Any

import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from mock_camera.table.shake import Touch, flash_smear, steady_smear
from mock_camera.table.world import World
from tests.support.still_life import green, shot


@pytest.mark.parametrize(
    ("frequency_hz", "damping_ratio", "left_after_2_s"),
    # damped oscillator, exp(-z w t); derived
    [(10, 0.02, 0.0810), (10, 0.05, 0.00187), (20, 0.02, 0.00656), (5, 0.03, 0.1518)],
)
def test_swing_dies_away_as_a_damped_oscillator(
    frequency_hz: float, damping_ratio: float, left_after_2_s: float
) -> None:
    touch = Touch(1.0, 100.0, frequency_hz, damping_ratio)
    assert touch.left_mm(3.0) / 0.1 == pytest.approx(left_after_2_s, rel=5e-3)
    times = np.linspace(3.0, 3.0 + 1 / frequency_hz, 2000)
    assert np.abs(touch.swing_mm(times)).max() <= touch.left_mm(3.0)


def test_successive_swings_fall_by_the_logarithmic_decrement() -> None:
    # 10 Hz, damping 0.02: decrement 0.12569
    touch = Touch(0.0, 100.0, 10.0, 0.02)
    times = np.linspace(0, 1, 200_001)
    swing = touch.swing_mm(times)
    peaks = swing[1:-1][(swing[1:-1] > swing[:-2]) & (swing[1:-1] > swing[2:])]
    assert np.log(peaks[:-1] / peaks[1:]) == pytest.approx(0.12569, abs=2e-4)


@pytest.mark.parametrize(("open_s", "smear_um"), [(1 / 125, 4.974), (1 / 20, 20.0)])
def test_longest_smear_is_that_of_a_sine_through_its_middle(open_s: float, smear_um: float) -> None:
    # 2 A sin(pi f t) for A = 10 um, 10 Hz; worst case, derived
    touch = Touch(0.0, 10.0, 10.0, 1e-4, direction_deg=0)
    smear = steady_smear([touch], 0.1 - open_s / 2, open_s, 0.001)
    assert smear.length_px == pytest.approx(smear_um, rel=0.03)


def test_flash_freezes_what_the_open_shutter_would_smear() -> None:
    # a 1 ms flash keeps 12.6 % of the smear of 1/125 s; here a pulse whose light is 98 % out after 1 ms
    touch = Touch(0.0, 10.0, 10.0, 1e-4, direction_deg=0)
    flash = flash_smear([touch], 0.0995, 0.0006, 0.001)
    steady = steady_smear([touch], 0.1 - 0.004, 0.008, 0.001)
    assert flash.length_px < 0.15 * steady.length_px


def test_picture_under_flash_lies_where_the_swing_was() -> None:
    world = World(pixels=(384, 256))
    before = green(world.expose(shot(), 1.0))
    world.do("touch", strength_um=400, frequency_hz=6, damping_ratio=0.02, direction_deg=30, now_s=9.96)
    picture = world.expose(shot(number=2), 10.0)
    swing = Touch(9.96, 400, 6, 0.02, 30).swing_mm(np.array([10.0033]))[0] / (24 / 384)
    told: Any = picture.truth["shake_shift_px"]
    right, down = told
    assert (right, down) == pytest.approx(
        (swing * math.cos(math.radians(30)), swing * math.sin(math.radians(30))), rel=0.02
    )
    inner = (slice(24, -24), slice(24, -24))
    found, _, _ = phase_cross_correlation(before[inner], green(picture)[inner], upsample_factor=50)
    assert (-found[1], -found[0]) == pytest.approx((right, down), abs=0.1)


def test_long_exposure_in_room_light_is_smeared_along_the_swing_only() -> None:
    world = World(pixels=(384, 256), piece="card")
    world.do("light", name="key", fires=False)
    world.do("ambient", lux=2000)
    still = green(world.expose(shot(exposure_s=0.25), 1.0))
    world.do("touch", strength_um=300, frequency_hz=8, damping_ratio=0.01, direction_deg=90, now_s=5.0)
    picture = world.expose(shot(exposure_s=0.25, number=2), 5.1)
    moved = green(picture)
    assert picture.truth["shake_px"] > 6
    down = np.abs(np.diff(moved, axis=0)).max() / np.abs(np.diff(still, axis=0)).max()
    across = np.abs(np.diff(moved, axis=1)).max() / np.abs(np.diff(still, axis=1)).max()
    # the squares' edges are 5 degrees off the axes, so a little of the smear shows across them too
    assert down < 0.6
    assert across > 0.7


def test_nothing_is_left_of_a_touch_after_a_long_wait() -> None:
    world = World(pixels=(192, 128))
    first = world.expose(shot(), 1.0)
    world.do("touch", strength_um=50, now_s=2.0)
    later = world.expose(shot(), 60.0)
    assert later.rgb.tobytes() == first.rgb.tobytes()
    assert later.truth["shake_px"] < 1e-6
