"""Flash, charge and the two curtains, measured in the pictures."""

import math

import numpy as np
import pytest

from mock_camera.table.lights import AmbientLight, FlashHead, pulse_share
from mock_camera.table.world import World
from tests.support.still_life import card_world, grey, linear, shot


def band_world(trigger_delay_s: float) -> World:
    world = card_world(pixels=(384, 256))
    world.do("light", name="key", duration_t01_s=0.00005, power_ev=-2)
    world.do("body", curtain_travel_s=0.003, trigger_delay_s=trigger_delay_s)
    return world


@pytest.mark.parametrize(
    ("exposure_s", "trigger_delay_s", "share"),
    # two-curtain model, travel 3.0 ms, instantaneous flash: clip((T + delay - t) / T, 0, 1); derived
    [
        (1 / 200, 0.0, 0.0),
        (1 / 250, 0.0005, 0.0),
        (1 / 320, 0.0005, 0.1250),
        (1 / 400, 0.0, 0.1667),
        (1 / 500, 0.0, 0.3333),
        (1 / 500, 0.0005, 0.5000),
        (1 / 640, 0.0005, 0.6458),
        (1 / 1000, 0.0005, 0.8333),
        (1 / 2000, 0.0005, 1.0),
    ],
)
def test_dark_share_is_that_of_the_two_curtain_model(exposure_s: float, trigger_delay_s: float, share: float) -> None:
    world = band_world(trigger_delay_s)
    clean = linear(world.expose(shot(), 10)).mean(axis=1)
    picture = world.expose(shot(exposure_s=exposure_s), 20)
    rows = linear(picture).mean(axis=1) / clean
    assert float((rows < 0.5).mean()) == pytest.approx(share, abs=0.02)
    assert picture.truth["dark_share"] == pytest.approx(share, abs=5e-5)


def test_dark_band_lies_along_the_bottom_of_the_upright_picture() -> None:
    rows = linear(band_world(0.0).expose(shot(exposure_s=1 / 500), 10)).mean(axis=1)
    assert rows[:150].mean() > 20 * abs(rows[-60:].mean())


def test_flash_that_burns_long_is_cut_to_a_gradient_at_the_first_covered_edge() -> None:
    # t = 4 ms, travel 3 ms, delay 0.2 ms, t0.1 = 2 ms: 0.3981 lost at that edge, -0.732 EV; derived
    world = card_world(pixels=(384, 256))
    world.do("light", name="key", duration_t01_s=0.002)
    world.do("body", curtain_travel_s=0.003, trigger_delay_s=0.0002)
    whole = linear(world.expose(shot(exposure_s=1 / 30), 10)).mean(axis=1)
    cut = linear(world.expose(shot(exposure_s=0.004), 20)).mean(axis=1) / whole
    assert math.log2(cut[-4:].mean()) == pytest.approx(-0.732, abs=0.03)
    assert math.log2(cut[:4].mean()) == pytest.approx(0, abs=0.06)
    assert np.all(np.diff(cut.reshape(-1, 16).mean(axis=1)) < 0.005)


def test_sync_time_of_the_default_body_gives_a_clean_frame_and_a_500th_does_not() -> None:
    world = World(pixels=(192, 128), piece="card")
    whole = linear(world.expose(shot(exposure_s=1 / 60), 10)).mean(axis=1)
    at_sync = linear(world.expose(shot(exposure_s=1 / 200), 20)).mean(axis=1) / whole
    beyond = world.expose(shot(exposure_s=1 / 500), 30)
    assert abs(math.log2(at_sync.min())) < 0.1
    assert beyond.truth["dark_share"] == pytest.approx((3.3 - 2) / 3)


def test_pulse_gives_half_at_t05_and_nine_tenths_at_t01() -> None:
    # exponential tail: t0.1 / t0.5 = 3.32193; 50 % given at t0.5, 90 % at t0.1, 99 % at 2 t0.1; derived
    light = FlashHead("key", duration_t01_s=0.002)
    times = np.array([0.002 / 3.32193, 0.002, 0.004, -0.001])
    assert pulse_share(light, times) == pytest.approx([0.5, 0.9, 0.99, 0.0], abs=1e-4)


@pytest.mark.parametrize(("wait_s", "flash_ev"), [(0.25, -2.0), (0.5, -1.0), (1.0, 0.0), (5.0, 0.0)])
def test_flash_fired_too_early_gives_what_has_been_charged(wait_s: float, flash_ev: float) -> None:
    # constant-power charger, 2.0 s for full: half power needs 1.0 s; common practice, measured on no unit
    world = card_world(pixels=(192, 128))
    world.do("light", name="key", recycling_time_s=2.0, power_ev=-1, guide_number_m=16)
    first = grey(world.expose(shot(), 10))
    picture = world.expose(shot(), 10 + wait_s)
    assert picture.truth["flash_ev"] == pytest.approx(flash_ev, abs=1e-6)
    assert math.log2(grey(picture) / first) == pytest.approx(flash_ev, abs=0.05)


def test_turning_the_power_up_has_to_be_charged_first() -> None:
    world = card_world(pixels=(192, 128))
    world.do("light", name="key", recycling_time_s=2.0, power_ev=-2)
    world.do("light", name="key", power_ev=0, now_s=10)
    # a quarter is there, half a second brings another quarter: half of full
    assert world.expose(shot(), 10.5).truth["flash_ev"] == pytest.approx(-1, abs=0.01)


def test_light_put_up_anew_comes_charged() -> None:
    world = card_world(pixels=(192, 128))
    world.do("light", name="fill", power_ev=0, recycling_time_s=30)
    assert world.expose(shot(), 1).truth["light_ev"] == {"key": 0.0, "fill": 0.0}


def test_flicker_of_the_room_is_its_integral_over_the_open_time() -> None:
    room = AmbientLight(1000.0, flicker_hz=100.0, flicker_depth=0.5)
    for start, length in ((0.0, 0.002), (0.0037, 0.013), (0.002, 0.01)):
        times = start + length * (np.arange(20_000) + 0.5) / 20_000
        slow = float(np.mean(1000 * (1 + 0.5 * np.cos(2 * math.pi * 100 * times)))) * length
        assert room.lux_seconds(np.array([start]), length)[0] == pytest.approx(slow, rel=1e-6)
    # over whole periods nothing is left of it
    assert room.swing(0.0021, 0.01) == pytest.approx(1, abs=1e-9)


def test_flicker_shows_as_bands_when_the_curtains_are_slow() -> None:
    world = card_world(pixels=(192, 128))
    world.do("light", name="key", fires=False)
    world.do("body", curtain_travel_s=0.04)
    world.do("ambient", lux=100_000, flicker_hz=100, flicker_depth=0.6)
    rows = linear(world.expose(shot(exposure_s=1 / 1000), 10)).mean(axis=1)
    steady = world.do("ambient", flicker_depth=0) and linear(world.expose(shot(exposure_s=1 / 1000), 10))
    swing = rows / np.asarray(steady).mean(axis=1) - 1
    # four periods of the lamp pass while the curtains cross the frame
    spectrum = np.abs(np.fft.rfft(swing))
    assert int(np.argmax(spectrum[1:]) + 1) == 4
    assert swing.max() == pytest.approx(0.6, abs=0.08)
