"""What the pictures show, measured on their pixels, against lens formulas and photometry."""

import math
from typing import Any

import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from mock_camera.scene.grid import Placement, Pose
from mock_camera.scene.optics import FocusedLens
from mock_camera.scene.pieces import PIECES
from mock_camera.table.imaging import BLACK_LEVEL, FULL_WELL, READ_NOISE, SENSOR_BITS
from mock_camera.table.world import World
from tests.support.still_life import (
    card_world,
    green,
    grey,
    linear,
    shot,
    square_centres,
)

STILL = Placement()


def test_turning_the_focus_ring_changes_the_pictures_scale() -> None:
    # 10 mm farther at 1:1, f = 100: image scale 190.909 / 200 (thin lens, subject and lens still)
    world = card_world()
    near = square_centres(linear(world.expose(shot(f_number=22), 10)))
    world.do("turn_focus", mm=10)
    picture = world.expose(shot(f_number=22), 20)
    far = square_centres(linear(picture))
    middle = (np.array([768, 512]) - 1) / 2
    first = near[np.argmin(np.hypot(*(near - middle).T))] - middle
    second = far[np.argmin(np.hypot(*(far - middle - first * 190.909 / 200).T))] - middle
    assert np.hypot(*second) / np.hypot(*first) == pytest.approx(190.909 / 200, rel=0.005)
    assert picture.truth["magnification"] == pytest.approx(190.909 / 200, rel=1e-5)


def test_higher_parts_are_drawn_larger_by_central_projection() -> None:
    pose = Pose(FocusedLens(), STILL, STILL, 0.0)
    # entrance pupil 200 mm from the plane at 1:1: 2 mm higher is 198 mm away
    assert pose.magnification(2.0) == pytest.approx(200 / 198, rel=1e-9)


def test_guide_number_gives_a_grey_card_its_eighteen_percent() -> None:
    # GN 36, 1/16 power, 0.5 m, m = 0.5, P = 1, ISO 100: f/12 as marked (ISO 1230 guide number, close-up factor)
    world = card_world()
    world.do("arrangement", magnification=0.5)
    world.do("light", name="key", guide_number_m=36, power_ev=-4, distance_mm=500)
    picture = world.expose(shot(f_number=12.0), 10)
    assert math.log2(grey(picture) / 0.18) == pytest.approx(0, abs=0.03)
    assert picture.truth["exposure_ev"] == pytest.approx(0, abs=0.01)


def test_ambient_exposes_a_grey_card_as_an_incident_meter_says() -> None:
    # E = 2.5 * 2^EV lux at ISO 100 (ISO 2720, C = 250): 2560 lx is EV 10, N_e 16 at 1/4 s
    world = card_world()
    world.do("arrangement", magnification=0.5)
    world.do("light", name="key", fires=False)
    world.do("ambient", lux=2560)
    picture = world.expose(shot(exposure_s=0.25, f_number=16 / 1.5), 10)
    assert math.log2(grey(picture) / 0.18) == pytest.approx(0, abs=0.03)


def test_a_stop_is_a_stop_by_aperture_iso_and_power() -> None:
    world = card_world()
    world.do("light", name="key", power_ev=-2, guide_number_m=26)
    base = grey(world.expose(shot(), 10))
    by_aperture = grey(world.expose(shot(f_number=11 * math.sqrt(2)), 20))
    by_iso = grey(world.expose(shot(iso=200), 30))
    world.do("light", name="key", power_ev=-3)
    by_power = grey(world.expose(shot(), 40))
    for got, stops in ((by_aperture, -1), (by_iso, 1), (by_power, -1)):
        assert math.log2(got / base) == pytest.approx(stops, abs=0.02)


@pytest.mark.parametrize(
    ("shaper", "from_mm", "to_mm", "stops"),
    [
        # photometric distance law: 0.5 m to 0.7 m -0.971 EV
        ("tube", 500, 700, -0.971),
        # Lambertian disc of 60 cm, form factor: 1.0 to 0.5 m +1.681 EV, 0.5 to 0.25 m +1.157 EV
        ("softbox", 1000, 500, 1.681),
        ("softbox", 500, 250, 1.157),
    ],
)
def test_distance_changes_the_light_by_the_law_for_its_source(
    shaper: str, from_mm: float, to_mm: float, stops: float
) -> None:
    world = card_world(pixels=(384, 256))
    world.do("light", name="key", power_ev=-4, distance_mm=from_mm, shaper=shaper)
    first = grey(world.expose(shot(), 10))
    world.do("light", name="key", distance_mm=to_mm)
    second = grey(world.expose(shot(), 20))
    assert math.log2(second / first) == pytest.approx(stops, abs=0.03)


def test_noise_is_photon_noise_and_read_noise() -> None:
    world = card_world()
    for iso, f_number in ((100, 11.0), (1600, 44.0)):
        mosaic = world.expose(shot(iso=iso, f_number=f_number), 10 * iso).mosaic
        patch = mosaic[248:264, 376:392].astype(np.float64)
        electrons = (patch - BLACK_LEVEL) / ((1 << SENSOR_BITS) - 1 - BLACK_LEVEL) * FULL_WELL * 100 / iso
        assert electrons.var() == pytest.approx(electrons.mean() + READ_NOISE**2, rel=0.3)


def test_same_seed_and_commands_give_the_same_bytes() -> None:
    def taken(seed: int, number: int) -> bytes:
        world = World(seed=seed, pixels=(192, 128))
        world.do("turn_focus", mm=0.4)
        world.do("touch", now_s=5)
        return world.expose(shot(number=number), 5.1).rgb.tobytes()

    first = taken(7, 3)
    assert first == taken(7, 3)
    assert first != taken(7, 4)
    assert first != taken(8, 3)


@pytest.mark.parametrize("name", ["bridge", "type"])
def test_default_set_up_gives_a_well_exposed_picture_with_detail_in_the_region(name: str) -> None:
    world = World(pixels=(768, 512), piece=name)
    picture = world.expose(shot(), 10)
    values = linear(picture)
    told: Any = picture.truth["region"]
    x, y, w, h = told
    region = values[y : y + h, x : x + w]
    assert abs(math.log2(values.mean() / 0.18)) < 1
    assert (picture.rgb == 255).mean() < 0.002
    assert region.std() > 0.15 * region.mean()
    assert np.abs(np.diff(region, axis=1)).mean() > np.abs(np.diff(values[-40:], axis=1)).mean()


@pytest.mark.parametrize("name", ["bridge", "type"])
def test_height_map_reaches_the_relief_and_the_region_has_its_height(name: str) -> None:
    world = World(pixels=(768, 512), piece=name)
    heights = world.height_map()
    assert heights.max() - heights.min() == pytest.approx(PIECES[name].relief_mm)
    assert PIECES[name].relief_mm == pytest.approx(2.4)
    told: Any = world.state()["region"]
    x, y, w, h = told
    in_region = np.abs(heights[y : y + h, x : x + w] - PIECES[name].region_height_mm) < 1e-6
    assert in_region.mean() > 0.1


def test_what_leans_lies_before_and_behind_the_regions_plane_and_a_camera_moved_back_leaves_all_farther() -> None:
    world = World(pixels=(768, 512), piece="label")
    world.do("arrangement", magnification=1.0)
    world.do("lean", tilt_deg=8, raised_deg=0)
    away = world.away_map()
    # the right side is raised: 12 mm out, seen shortened to 12·cos 8°, it is nearer by 12·tan 8° = 1.69 mm (less 1 %,
    # since it is drawn larger)
    assert away[256, -1] == pytest.approx(-12 * math.tan(math.radians(8)), rel=0.015)
    assert away[256, 0] == pytest.approx(12 * math.tan(math.radians(8)), rel=0.015)
    assert abs(away[256, 384]) < 0.01
    world.do("move_camera", away_mm=0.5)
    assert world.away_map()[256, 384] == pytest.approx(0.5, abs=0.01)


def test_moved_piece_moves_and_turns_in_the_picture_as_told() -> None:
    world = World(pixels=(384, 256))
    before = green(world.expose(shot(), 10))
    world.do("shift_piece", right_mm=0.40, down_mm=-0.25)
    picture = world.expose(shot(number=2), 20)
    after = green(picture)
    told: Any = picture.truth["shift_px"]
    right, down = told
    assert (right, down) == pytest.approx((0.40 * 16, -0.25 * 16), abs=0.01)
    inner = (slice(40, -40), slice(40, -40))
    found, _, _ = phase_cross_correlation(before[inner], after[inner], upsample_factor=50)
    # the lower plate moves a little less: it is farther from the lens
    assert (-found[1], -found[0]) == pytest.approx((right, down), abs=0.15)


def test_a_leaning_card_is_drawn_in_perspective_and_blurred_by_its_distance() -> None:
    world = card_world()
    level = square_centres(green(world.expose(shot(), 10)))
    world.do("lean", tilt_deg=6.0, raised_deg=30.0)
    leaning = square_centres(green(world.expose(shot(), 110)))
    # another route: points turned in space about an axis in the card (Rodrigues), seen through a pinhole 200 mm away
    pitch_mm, pupil_mm, angle, up = 24 / 768, 200.0, math.radians(6.0), math.radians(30.0)
    axis = np.array([math.sin(up), -math.cos(up), 0.0])
    middle = np.array([767 / 2, 511 / 2])
    expected = []
    for x, y in (level - middle) * pitch_mm:
        flat = np.array([x, y, 0.0])
        turned = flat * math.cos(angle) + np.cross(axis, flat) * math.sin(angle)
        turned += axis * (axis @ flat) * (1 - math.cos(angle))
        expected.append(turned[:2] * pupil_mm / (pupil_mm - turned[2]) / pitch_mm + middle)
    for place in leaning:
        assert min(math.dist(place, there) for there in expected) < 0.1
    assert len(leaning) >= len(level) - 2
    assert np.abs(np.array(sorted(map(tuple, expected))) - level).max() > 2
