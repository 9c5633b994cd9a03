"""Random set-ups, always the same for a number.

Drawn from wide ranges and drawn anew only where a picture couldn't tell: where the squares of the card would be clipped
or lost in noise, where blur is under 2.5 px or reaches from one side of a square to the other, where half the
depth goes to infinity, or where the simulated camera takes no such pupil. None is drawn anew for what was measured.
"""

from __future__ import annotations

import math

import numpy as np

from mock_camera.scene.grey_card import SQUARE_MM
from mock_camera.table.lights import SHAPER_SIZE_MM
from session.optics.aperture import combined_blur_mm
from session.optics.diffraction import GREEN_UM
from tests.support.simulated_bench import Head, SetUp
from tests.support.traced_lenses import KINDS, SENSOR_WIDTH_MM, Chance, Put, even

SEED = 3
LEAST_BLUR_PX, MOST_BLUR_PX = 2.5, 14.0
LEAST_WAVES = 0.5  # of defocus at the edge of the pupil: from there on diffraction adds under 2 % to the disc
FINE_SHARE = 0.05  # of a square, where diffraction counts: less than 1 % of its light falls beyond the square
MOST_PIXELS = 260_000
THIRDS_ISO = tuple(round(100 * 2 ** (third / 3)) for third in range(-2, 10))


def set_up(number: int, *, small_opening: bool = False) -> SetUp:
    """The set-up of that number, always the same; each kind of arrangement in turn.

    small_opening  one that diffraction limits, with 0.2 to 0.3 waves of defocus at the ends of the depth
    """
    chance = np.random.default_rng([SEED, number, int(small_opening)])
    kind = list(KINDS)[number % len(KINDS)]
    waves = chance.uniform(0.2, 0.3) if small_opening else None
    while True:
        put = KINDS[kind](chance, even(chance, 16, 45) if small_opening else even(chance, 2.8, 22))
        width = 2 * round(even(chance, 640, 1600 if small_opening else 1280) / 2)
        found = _optics(chance, put, width, waves)
        if found:
            break
    height, blur_circle_mm = found
    iso, lights, under = _lit(chance, put)
    travel_s, delay_s = chance.uniform(0.002, 0.007), chance.uniform(0, 0.0015)
    return SetUp(
        kind=kind,
        put=put,
        pixels=(width, height),
        blur_circle_mm=blur_circle_mm,
        iso=iso,
        lights=lights,
        ambient_stops_under=under,
        curtain_travel_s=travel_s,
        trigger_delay_s=delay_s,
        duration_t01_s=even(chance, 2e-5, 2e-3),
        short_s=chance.uniform(0.1, 1.1) * (travel_s + delay_s),
    )


def _optics(chance: Chance, put: Put, width: int, waves: float | None) -> tuple[int, float] | None:
    """Height of the picture and the blur circle to ask for; None where a picture couldn't tell.

    waves  of defocus at the ends of the depth, where diffraction counts; None where it doesn't
    """
    lens, m = put.planned, put.planned.magnification
    pitch_mm = SENSOR_WIDTH_MM / width
    square_px = SQUARE_MM * m / pitch_mm
    height = 2 * math.ceil(max(160.0, 0.9 * square_px) / 2)
    if not 0.15 < m < 3.8 or not 0.2 < put.traced.pupil_magnification < 5 or width * height > MOST_PIXELS:
        return None
    wave_mm = GREEN_UM / 1000 * lens.effective_f_number
    least_mm, most_mm = LEAST_BLUR_PX * pitch_mm, min(MOST_BLUR_PX * pitch_mm, 0.55 * SQUARE_MM * m)
    if waves:
        blur_mm = combined_blur_mm(8 * wave_mm * waves, lens.effective_f_number)
        return (height, blur_mm) if least_mm < blur_mm < FINE_SHARE * SQUARE_MM * m else None
    least_mm = max(least_mm, 8 * LEAST_WAVES * wave_mm)
    most_mm = min(most_mm, 0.4 * m**2 / lens.effective_f_number * lens.entrance_pupil_distance_mm)
    return (height, even(chance, least_mm, most_mm)) if least_mm < most_mm else None


def _lit(chance: Chance, put: Put) -> tuple[int, tuple[Head, ...], float]:
    """ISO, one to three flashes and how far the room lies under them: 2.5 stops under to half a stop over."""
    while True:
        lights = tuple(
            Head(
                guide_number_m=even(chance, 8, 80),
                power_ev=-int(chance.integers(0, 22)) / 3,
                distance_mm=even(chance, 250, 1500),
                elevation_deg=chance.uniform(35, 90),
                # before or behind the piece, so that a row of the card is evenly lit
                azimuth_deg=float(chance.choice([0.0, 180.0])),
                shaper=str(chance.choice(list(SHAPER_SIZE_MM))),
            )
            for _ in range(int(chance.integers(1, 4)))
        )
        iso, under = int(chance.choice(THIRDS_ISO)), chance.uniform(1, 7)
        if any(math.degrees(math.atan2(one.source_size_mm / 2, one.distance_mm)) > one.elevation_deg for one in lights):
            continue  # part of the source would stand behind the card's surface
        tried = SetUp("", put, (0, 0), 0.0, iso, lights, under, 0, 0, 0, 0)
        if tried.flash_ev > -2.5 and tried.whole_ev < 0.5:
            return iso, lights, under
