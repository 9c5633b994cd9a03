"""How long a support swings, against published decay times; and what a set-up tells of it."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import optimize, special

from session.plan.waits import SHAKE_SHARE, safe_hold_off_of, safe_hold_off_s
from session.set.kit import Support
from session.set.setup import DEFAULT_HOLD_OFF_S, Arrangement, PlacedLight, Revision, Settings
from tests.support.plan_kits import BODY, FULL_KIT, LIGHTS


@pytest.mark.parametrize(
    ("support", "wait_s"),
    [
        # published: 10 Hz, ζ = 0.02 takes 3.665 s to a hundredth; 20 Hz 1.832 s; 5 Hz, ζ = 0.03 4.886 s
        (Support(name="a", frequency_hz=10, damping_ratio=0.02), 3.665),
        (Support(name="a", frequency_hz=20, damping_ratio=0.02), 1.832),
        (Support(name="a", frequency_hz=5, damping_ratio=0.03), 4.886),
        (Support(name="a", frequency_hz=20, damping_ratio=0.02, hold_off_s=3), 3),  # never less than the person's own
        (Support(name="a", hold_off_s=5), 5),
        (Support(name="a", frequency_hz=10), DEFAULT_HOLD_OFF_S),
        (None, DEFAULT_HOLD_OFF_S),
    ],
)
def test_the_wait_comes_from_the_stands_own_figures(support, wait_s):
    assert safe_hold_off_s(support) == pytest.approx(wait_s, abs=1e-3)


def test_smear_takes_a_share_of_its_own_where_defocus_fills_the_blur_limit():
    # transfers of a disc of two radii and of a line multiply: 2·J1(x)/x and sin(x)/x, Goodman, value from memory
    def half_contrast(line: float) -> float:
        def contrast(cycles: float) -> float:
            disc = 2 * special.j1(2 * math.pi * cycles) / (2 * math.pi * cycles)
            return float(disc * np.sinc(line * cycles) - 0.5)

        return float(optimize.brentq(contrast, 0.01, 0.6))

    assert half_contrast(SHAKE_SHARE) > 0.965 * half_contrast(0.0)
    assert half_contrast(1.0) < 0.93 * half_contrast(0.0)  # the whole limit once more would show


def test_a_measured_swing_waits_until_the_smear_is_what_may_be_seen():
    support = Support(name="a", frequency_hz=10, damping_ratio=0.02, touch_amplitude_um=100)
    wait_s = safe_hold_off_s(support, 1.0, 4.3, 0.001, 1.0)
    # published: 10 µm at 10 Hz smear 0.628 µm in 1 ms, so 100 µm 6.28 µm, 1.461 px; e-folds in 0.7958 s
    assert wait_s == pytest.approx(0.7958 * math.log(6.28 / (SHAKE_SHARE * 4.3)), rel=2e-3)
    assert safe_hold_off_s(support, 1.0, 4.3, 0.001, 10.0) == 0
    assert safe_hold_off_s(support, 1.0, 4.3) == pytest.approx(3.665, abs=1e-3)  # not enough told: to a hundredth


SWINGING = Support(name="a", frequency_hz=10, damping_ratio=0.02, touch_amplitude_um=100)
KIT = FULL_KIT.model_copy(update={"support": (SWINGING,)})
FLASH = LIGHTS[0]  # t0.1 of 1/1000 s


def set_up(*lights: str, exposure_s: float = 0.1, magnification: float = 1.0) -> Revision:
    return Revision(
        settings=Settings(exposure_s=exposure_s),
        arrangement=Arrangement(magnification=magnification),
        lights=tuple(PlacedLight(name) for name in lights),
        blur_limit_px=1.0,
    )


def test_flash_alone_counts_for_as_long_as_it_burns_and_one_unknown_light_for_the_shutters_time():
    by_flash, by_shutter = (safe_hold_off_s(SWINGING, 1.0, 6.0, light_s, 1.0) for light_s in (0.001, 0.1))
    assert by_flash < by_shutter
    assert safe_hold_off_of(set_up(FLASH.name), KIT, BODY) == pytest.approx(by_flash)
    assert safe_hold_off_of(set_up(FLASH.name, "lamp of nobody"), KIT, BODY) == pytest.approx(by_shutter)
    assert safe_hold_off_of(set_up(), KIT, BODY) == pytest.approx(by_shutter)  # daylight


def test_the_smear_is_counted_in_pixels_of_the_body_as_they_are():
    """The swing must die away until its smear is so many pixels: a pixel 5.14 µm wide, not 5, waits ln(1.027) times the
    decay time 1/(ζ·2π·f) less."""
    body = BODY.model_copy(update={"pixels_across": 7008})
    kit = KIT.model_copy(update={"light": ()})
    pitch_um = 36_000 / 7008
    waits = [safe_hold_off_of(set_up(), kit, body), safe_hold_off_s(SWINGING, 1.0, 5.0, 0.1, 1.0)]
    decay_s = 1 / (SWINGING.damping_ratio * 2 * math.pi * SWINGING.frequency_hz)
    assert waits[1] - waits[0] == pytest.approx(decay_s * math.log(pitch_um / 5.0), rel=0.01)


def test_the_longest_of_several_flashes_counts():
    slow = FLASH.model_copy(update={"name": "slow", "duration_t01_s": 0.02})
    kit = KIT.model_copy(update={"light": (FLASH, slow)})
    both = safe_hold_off_of(set_up(FLASH.name, "slow"), kit, BODY)
    assert both == safe_hold_off_of(set_up("slow"), kit, BODY) > safe_hold_off_of(set_up(FLASH.name), kit, BODY)


def test_without_a_body_or_a_ratio_it_waits_for_a_hundredth_of_the_swing():
    hundredth_s = safe_hold_off_s(SWINGING)
    assert safe_hold_off_of(set_up(FLASH.name), KIT, None) == hundredth_s
    assert safe_hold_off_of(set_up(FLASH.name, magnification=0.0), KIT, BODY) == hundredth_s


@settings(max_examples=25)
@given(st.floats(0.5, 100), st.floats(0.001, 0.5), st.floats(0.1, 2000), st.floats(0.1, 5), st.floats(1e-4, 2))
def test_a_wider_swing_never_waits_less_and_the_persons_own_time_is_the_least(hz, damping, swing, ratio, light_s):
    def wait_s(amplitude_um: float, own_s: float | None = None) -> float:
        support = Support(
            name="a", frequency_hz=hz, damping_ratio=damping, touch_amplitude_um=amplitude_um, hold_off_s=own_s
        )
        return safe_hold_off_s(support, ratio, 4.0, light_s, 1.0)

    assert wait_s(swing) <= wait_s(2 * swing)
    assert wait_s(swing, 7.0) == max(7.0, wait_s(swing))


def test_twice_the_swing_takes_the_time_of_one_halving_longer():
    waits = [
        safe_hold_off_s(SWINGING.model_copy(update={"touch_amplitude_um": um}), 1.0, 4.3, 0.02, 1.0) for um in (50, 100)
    ]
    assert waits[1] - waits[0] == pytest.approx(math.log(2) / (0.02 * 2 * math.pi * 10))
