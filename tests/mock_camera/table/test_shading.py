"""Light on the layers: by the sine of its elevation, with shadows of the right length, however the camera is turned.

A polished plate shows its lights by the law of reflection and their luminance, a matt card by what it receives.
"""

import math

import numpy as np
import pytest

from mock_camera.table.lights import SHAPER_SIZE_MM
from mock_camera.table.world import World
from tests.support.card_in_picture import sensor_light
from tests.support.still_life import (
    card_world,
    grey,
    linear,
    shot,
)

PIXELS = (480, 320)
STEEL = 0.60
WIDE_MM = 24.0  # the sensor, so at life size also the picture


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


def lit_piece(piece: str, **light: object) -> World:
    """A piece at life size under one light, no room."""
    made = World(pixels=PIXELS, piece=piece)
    made.do("ambient", lux=0)
    made.do("light", name="key", power_ev=0, **light)
    return made


def ground(made: World, f_number: float = 11.0) -> np.ndarray:
    """Light of the bare plate or card along the middle of the picture (width,), between two rows of squares."""
    light = sensor_light(made.expose(shot(1 / 8, f_number), 1000.0))
    return light[PIXELS[1] // 2 - 3 : PIXELS[1] // 2 + 3].mean(axis=0)


def across_mm() -> np.ndarray:
    return (np.arange(PIXELS[0]) + 0.5 - PIXELS[0] / 2) * WIDE_MM / PIXELS[0]


@pytest.mark.parametrize("distance_mm", [300.0, 900.0])
def test_polished_plate_is_as_bright_at_any_distance_and_a_matt_card_is_not(distance_mm: float) -> None:
    size_mm, guide = SHAPER_SIZE_MM["softbox"], 6.0
    lit = {
        piece: ground(
            lit_piece(piece, elevation_deg=90, distance_mm=distance_mm, guide_number_m=guide, shaper="softbox")
        )[PIXELS[0] // 2]
        for piece in ("mirror", "card")
    }
    # N_e = 22; far away a card gets 0.18 (guide/d/N_e)^2, and the disc's luminance is that light over its solid angle
    far_m = 1e3
    card_far = 0.18 * (guide / far_m / 22) ** 2
    solid = math.pi * (size_mm / 2000 / far_m) ** 2
    assert lit["mirror"] == pytest.approx(STEEL / 0.18 * card_far * math.pi / solid, rel=0.01)
    near_m = math.hypot(distance_mm, size_mm / 2) / 1000
    assert lit["card"] == pytest.approx(0.18 * (guide / near_m / 22) ** 2, rel=0.01)


def test_a_surface_straight_above_fills_as_much_of_the_plate_as_rays_from_the_pupil_meet_it() -> None:
    # 180 mm wide, 2000 mm above
    made = lit_piece("mirror", elevation_deg=90, distance_mm=2000, guide_number_m=0.6, shaper="reflector")
    made.do("arrangement", magnification=0.4)
    # at 0.4 the pupil is 350 mm away and 100/4 mm wide: a ray from p by way of x meets x + (x - p) 2000/350 there
    row, x = ground(made, 4.0), across_mm() / 0.4
    reach, pupil_mm = 2000 / 350, 100 / 4 / 2
    whole, none = (90 - pupil_mm * reach) / (1 + reach), (90 + pupil_mm * reach) / (1 + reach)
    lit = row / np.median(row[np.abs(x) < whole - 0.5])
    assert lit[np.abs(x) < whole - 0.5] == pytest.approx(1, abs=0.03)
    dark = lit[(np.abs(x) > none + 0.7) & (np.abs(x) < 29)]
    assert dark.max() < 0.02
    partly = lit[np.abs(np.abs(x) - (whole + none) / 2) < 0.3]
    assert 0.2 < partly.mean() < 0.8


def test_the_lens_itself_is_dark_in_the_plate_and_aslant_nothing_is_seen_of_a_light() -> None:
    made = lit_piece("mirror", elevation_deg=90, distance_mm=170, guide_number_m=6, shaper="umbrella")
    made.do("arrangement", rim_mm=30, rim_before_mm=170)
    row, x = ground(made), across_mm()
    # pupil 200 mm away and 100/11 mm wide: at 170 mm a ray is at x + (x - p) 170/200
    dark_mm, lit_mm = ((15 + side * 100 / 11 / 2 * 0.85) / 1.85 for side in (-1, 1))
    assert row[np.abs(x) < dark_mm - 0.5].max() < 0.01
    assert row[(np.abs(x) > lit_mm + 0.5) & (np.abs(x) < 11.5)].min() > 0.9 * row.max()
    aslant = lit_piece("mirror", elevation_deg=45, distance_mm=600, guide_number_m=6, shaper="diffuser")
    assert ground(aslant).max() < 0.02


def test_a_leaning_plate_sends_the_reflection_twice_as_far_round() -> None:
    # a light 20 degrees to the right is seen where the plate leans by 10 degrees to the right
    made = lit_piece("mirror", elevation_deg=70, azimuth_deg=270, distance_mm=800, guide_number_m=6, shaper="diffuser")
    square = ground(made)[PIXELS[0] // 2]
    made.do("lean", tilt_deg=10, raised_deg=180)
    made.do("charge")
    assert square < 0.1 < ground(made)[PIXELS[0] // 2]


def test_light_over_the_glass_loses_what_a_matt_and_a_polished_piece_lose() -> None:
    # 45 degrees, n 1.52, both faces: 9.75 and 17.64 % + 1.85 % thrown back; Fresnel's equations, worked out by hand
    across, along = 0.17640, 0.01854
    plain = lit_piece("card", elevation_deg=90, distance_mm=800, guide_number_m=40, shaper="tube")
    over = lit_piece("card", over_glass=True, distance_mm=800, guide_number_m=40, shaper="tube")
    middle = PIXELS[0] // 2
    assert ground(over)[middle] < 0.005  # no glass is there yet
    over.do("glass", thickness_mm=1)
    over.do("charge")
    share = ground(over)[middle] / ground(plain)[middle]
    assert share == pytest.approx((across + along) / 2 * (1 - (across + along) / 2), rel=0.03)
    mirror = lit_piece("mirror", elevation_deg=90, distance_mm=800, guide_number_m=6, shaper="softbox")
    glazed = lit_piece("mirror", over_glass=True, distance_mm=800, guide_number_m=6, shaper="softbox")
    glazed.do("glass", thickness_mm=1)
    kept = (across * (1 - across) + along * (1 - along)) / 2
    assert ground(glazed)[middle] / ground(mirror)[middle] == pytest.approx(kept, rel=0.02)
