"""Amount of flash light against published formulas, surface integrals and addition. Sources: SOURCES.md."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import dblquad, quad

from session.lighting import flash, mix, source
from session.optics import closeup


def disc_by_integral(radius: float, distance: float) -> float:
    """View factor of a Lambertian disc summed over its rings: cos²θ/(πr²) dA."""
    value, _ = quad(lambda a: 2 * a * distance**2 / (a * a + distance**2) ** 2, 0, radius, epsabs=0, epsrel=1e-12)
    return float(value)


def test_f1_guide_number_is_f_number_times_distance() -> None:
    # F1. ISO 1230:1992; [12] published formula.
    assert flash.f_number(36, 750) == pytest.approx(48, rel=1e-12)
    assert flash.guide_number_m(48, 750) == pytest.approx(36, rel=1e-12)


@pytest.mark.parametrize(
    ("iso", "expected"), [(50, 25.456), (64, 28.8), (200, 50.912), (400, 72), (800, 101.82)], ids=lambda v: f"F2-{v}"
)
def test_guide_number_grows_with_the_root_of_iso(iso: float, expected: float) -> None:
    # F2. [12].
    assert flash.guide_number_at_m(36, iso=iso) == pytest.approx(expected, abs=5.1e-3)


@pytest.mark.parametrize(
    ("denominator", "expected"),
    [(2, 25.456), (4, 18), (8, 12.728), (16, 9), (32, 6.364), (64, 4.5), (128, 3.182), (256, 2.25)],
    ids=lambda v: f"F4-{v}",
)
def test_guide_number_falls_with_the_root_of_power(denominator: int, expected: float) -> None:
    # F4. Energy is proportional to light.
    got = flash.guide_number_at_m(36, power_ev=-math.log2(denominator))
    assert got == pytest.approx(expected, abs=5.1e-4)


def test_f5_close_up_loss_comes_off_the_marked_f_number() -> None:
    # F5. F1 times the exposure increase.
    quiet = {"guide_number_m": 36, "distance_mm": 500, "power_ev": -4, "magnification": 0.5}
    assert flash.f_number(**quiet) == pytest.approx(12.0, rel=1e-12)
    assert flash.f_number(**quiet, iso=200) == pytest.approx(16.97, abs=5e-3)
    near = flash.f_number(36, 750, magnification=1)
    assert near == pytest.approx(24, rel=1e-12)
    assert closeup.effective_f_number(near, 1) * 0.75 == pytest.approx(36, rel=1e-12)


@pytest.mark.parametrize(
    ("near", "far", "change"),
    [(1000, 2000, -2), (1000, 1500, -1.170), (500, 700, -0.971), (1000, 1414, -1.000)],
    ids=["F6a", "F6b", "F6c", "F6d"],
)
def test_inverse_square_in_stops(near: float, far: float, change: float) -> None:
    # F6. [13] CIE International Lighting Vocabulary, photometric distance law.
    assert source.distance_change_ev(near, far) == pytest.approx(change, abs=5.1e-4)


@settings(max_examples=50)
@given(size=st.floats(10, 2000), times=st.floats(5, 40))
def test_f7_inverse_square_holds_within_one_percent_from_five_times_the_source(size: float, times: float) -> None:
    # F7. [14] IES definition with the five-times note.
    distance = size * times
    assert 1 - 2 ** source.inverse_square_error_ev(size, distance) <= 0.01


@pytest.mark.parametrize(
    ("distance", "error"),
    [(3000, -0.0144), (1500, -0.0566), (1000, -0.1243), (500, -0.4436), (250, -1.2869)],
    ids=lambda v: f"F8-{v}",
)
def test_disc_source_gives_less_than_the_inverse_square(distance: float, error: float) -> None:
    # F8. View factor of a Lambertian disc, R = 0.3 m.
    assert source.inverse_square_error_ev(600, distance) == pytest.approx(error, abs=5.1e-5)
    far_form = 300**2 / distance**2
    assert 2**error == pytest.approx(disc_by_integral(300, distance) / far_form, rel=1e-4)


@settings(max_examples=50)
@given(size=st.floats(20, 2000), distance=st.floats(50, 5000))
def test_f8_disc_view_factor_agrees_with_a_surface_integral(size: float, distance: float) -> None:
    assert source.disc_view_factor(size, distance) == pytest.approx(disc_by_integral(size / 2, distance), rel=1e-9)


@pytest.mark.parametrize(("angle", "size", "distance"), [(30, 25, 600), (45, 600, 600), (60, 300, 800)])
def test_light_from_aside_loses_by_the_cosine_whatever_the_size_of_its_source(
    angle: float, size: float, distance: float
) -> None:
    # Cosine law, value from memory: 60° costs one stop. The integral is cosθ_source·cosθ_piece/(πr²) over the disc.
    tilt = math.radians(angle)

    def seen(turn: float, a: float) -> float:
        towards = distance * math.cos(tilt) + a * math.cos(turn) * math.sin(tilt)
        return a * distance * towards / (math.pi * (a * a + distance**2) ** 2)

    integral, _ = dblquad(seen, 0, size / 2, 0, 2 * math.pi, epsabs=0, epsrel=1e-10)
    facing = source.disc_view_factor(size, distance)
    assert source.incidence_loss_ev(angle) == pytest.approx(-math.log2(integral / facing), rel=1e-8)
    assert source.incidence_loss_ev(60) == pytest.approx(1, rel=1e-12)


@pytest.mark.parametrize(("wide", "high", "distance"), [(300, 400, 400), (1200, 200, 300), (600, 600, 2000)])
def test_rectangle_view_factor_agrees_with_a_surface_integral(wide: float, high: float, distance: float) -> None:
    # The closed form is from memory; the integral is cos²θ/(πr²) over a quarter of the rectangle, four times.
    integral, _ = dblquad(
        lambda y, x: distance**2 / (math.pi * (x * x + y * y + distance**2) ** 2),
        0,
        wide / 2,
        0,
        high / 2,
        epsabs=0,
        epsrel=1e-9,
    )
    assert source.rectangle_view_factor(wide, high, distance) == pytest.approx(4 * integral, rel=1e-8)


@pytest.mark.parametrize(("far", "near", "change"), [(1000, 500, 1.681), (500, 250, 1.157)], ids=["F9a", "F9b"])
def test_softbox_moved_closer_gains_less_than_two_stops(far: float, near: float, change: float) -> None:
    # F9. Surface integral over the 60 cm disc.
    assert source.distance_change_ev(far, near, 600) == pytest.approx(change, abs=5.1e-4)
    integral = math.log2(disc_by_integral(300, near) / disc_by_integral(300, far))
    assert source.distance_change_ev(far, near, 600) == pytest.approx(integral, rel=1e-9)
    moved = 2 * math.log2(flash.f_number(36, near, source_size_mm=600) / flash.f_number(36, far, source_size_mm=600))
    assert moved == pytest.approx(integral, rel=1e-9)


def test_f10_many_lights_add() -> None:
    # F10.
    assert mix.combined_ev([0, -1, -2]) == pytest.approx(0.807, abs=5.1e-4)
    for count, gain in {2: 1, 3: 1.585, 4: 2, 8: 3}.items():
        assert mix.combined_ev([0.0] * count) == pytest.approx(gain, abs=5.1e-4)
    assert mix.lighting_ratio(1.0, 0.0) == pytest.approx(3, rel=1e-12)


@pytest.mark.parametrize(("wide", "high", "far"), [(300, 400, 400), (20, 600, 100), (600, 20, 50)])
def test_f12_reflector_fill_by_a_card(wide: float, high: float, far: float) -> None:
    # F12 is for a disc of equal area, 0.17345 at 30 x 40 cm, 0.4 m: 1.4 % more than the card itself, and 46 % off for
    # a strip. The card is summed over small squares by the cosine law.
    x, y = ((np.arange(800) + 0.5) / 800 * side - side / 2 for side in (wide, high))
    away2 = x[:, None] ** 2 + y[None, :] ** 2 + far**2
    summed = float((far**2 / (math.pi * away2**2)).sum()) * wide * high / 800**2
    assert mix.reflector_fill(0.9, wide, high, far) == pytest.approx(0.9 * summed, rel=1e-4)


def test_f12_lighting_ratio_of_the_disc() -> None:
    # F12.
    assert mix.lighting_ratio(0.0, -2.527) == pytest.approx(6.765, abs=5.1e-3)


@pytest.mark.parametrize(
    ("under", "gain"),
    [(1, 0.585), (2, 0.322), (3, 0.170), (4, 0.0875), (5, 0.0444), (6, 0.0224), (7, 0.0112), (8, 0.0056)],
    ids=lambda v: f"F13-{v}",
)
def test_ambient_light_under_flash(under: float, gain: float) -> None:
    # F13. F10.
    assert mix.ambient_gain_ev(under) == pytest.approx(gain, abs=5.1e-4 if gain > 0.1 else 5.1e-5)
    assert mix.ambient_gain_ev(under) == pytest.approx(mix.combined_ev([0, -under]), rel=1e-12)


def test_f16_charging_time() -> None:
    # F16. Constant-power charger, common practice, no source.
    for power_ev, expected in {-1: 1.0, -2: 0.5, -3: 0.25, -4: 0.125}.items():
        assert flash.recycling_time_s(2.0, power_ev) == pytest.approx(expected, rel=1e-12)
