"""Flash heads and ambient light: against guide numbers, charging at a steady rate, and the integral of the flicker."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from mock_camera.table.lights import METER_CONSTANT, SHAPER_SIZE_MM, AmbientLight, Charge, FlashHead, pulse_share

quick = settings(max_examples=40)


@quick
@given(st.floats(5, 80), st.floats(1.5, 10))
def test_far_away_a_head_exposes_by_its_guide_number(guide: float, distance_m: float) -> None:
    """A right exposure of reflectance 1 needs 250·N²/S lux seconds at N = GN / d (ISO 1230, ISO 2720)."""
    head = FlashHead("key", distance_mm=1000 * distance_m, guide_number_m=guide)
    f_number = guide / distance_m
    assert head.lux_seconds(1.0) == pytest.approx(METER_CONSTANT * f_number**2 / 100, rel=0.001)


def test_a_large_source_close_by_gives_less_than_the_inverse_square() -> None:
    small, large = (FlashHead("key", distance_mm=300, shaper=shaper) for shaper in ("tube", "umbrella"))
    assert large.lux_seconds(1.0) / small.lux_seconds(1.0) == pytest.approx(
        (0.09 + 0.0125**2) / (0.09 + 0.4**2), rel=1e-6
    )


@quick
@given(st.floats(-180, 180), st.floats(0, 90))
def test_a_direction_is_a_unit_vector_that_rises_with_the_elevation(azimuth: float, elevation: float) -> None:
    x, y, z = FlashHead("key", azimuth_deg=azimuth, elevation_deg=elevation).direction
    assert math.hypot(x, y, z) == pytest.approx(1)
    assert z == pytest.approx(math.sin(math.radians(elevation)))


@pytest.mark.parametrize(
    ("azimuth", "where"),
    [(0, (0, 1)), (90, (-1, 0)), (180, (0, -1)), (270, (1, 0))],
    ids=["the photographer's side", "left", "behind", "right"],
)
def test_azimuth_runs_clockwise_from_the_photographer(azimuth: float, where: tuple[float, float]) -> None:
    x, y, _ = FlashHead("key", azimuth_deg=azimuth, elevation_deg=0).direction
    assert (x, y) == pytest.approx(where, abs=1e-9)


@quick
@given(st.floats(0, 1), st.floats(0, 10), st.floats(-5, 0))
def test_a_capacitor_fills_at_a_steady_rate_up_to_the_power_that_is_set(
    held: float, waited_s: float, power_ev: float
) -> None:
    head = FlashHead("key", power_ev=power_ev, recycling_time_s=2.0)
    share = Charge(held, 100.0).share_at(100.0 + waited_s, head)
    assert share == pytest.approx(min(held + waited_s / 2.0, 2.0**power_ev))
    assert Charge(held, 100.0).share_at(50.0, head) <= held, "a clock that goes back charges nothing"


@pytest.mark.parametrize(("at", "share"), [(-1.0, 0.0), (0.0, 0.0), (1.0, 0.9), (2.0, 0.99), (50.0, 1.0)])
def test_by_t01_a_flash_has_given_nine_tenths(at: float, share: float) -> None:
    head = FlashHead("key", duration_t01_s=0.001)
    assert pulse_share(head, np.array([at * 0.001]))[0] == pytest.approx(share)


@quick
@given(st.floats(0, 1), st.floats(0.001, 0.1), st.floats(0, 1))
def test_flicker_gathers_the_integral_of_its_swing(depth: float, length_s: float, start_s: float) -> None:
    room = AmbientLight(100.0, 100.0, depth)
    times = start_s + (np.arange(20_000) + 0.5) / 20_000 * length_s
    summed = (100.0 * (1 + depth * np.cos(2 * np.pi * 100 * times))).mean() * length_s
    assert room.lux_seconds(np.array([start_s]), length_s)[0] == pytest.approx(summed, rel=1e-3)


def test_a_dark_room_swings_by_nothing() -> None:
    assert AmbientLight(0.0, flicker_depth=0.5).swing(0.0, 0.001) == 1.0
    assert AmbientLight(50.0).swing(0.3, 0.001) == pytest.approx(1.0)


@pytest.mark.parametrize("shaper", sorted(SHAPER_SIZE_MM))
def test_every_shaper_has_a_size_and_white_light_is_white(shaper: str) -> None:
    head = FlashHead("key", shaper=shaper)
    assert head.source_size_mm > 0 and head.tint == (1.0, 1.0, 1.0) and head.geometry[3] == shaper
