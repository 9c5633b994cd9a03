"""What the pictures show, measured on their pixels, against lens formulas and photometry."""

import math
from typing import Any

import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from mock_camera.scene.grey_card import LATTICE_MM
from mock_camera.scene.grid import Crop, Grid, Placement, Pose
from mock_camera.scene.optics import FocusedLens, focus_at
from mock_camera.scene.pieces import PIECES, Piece
from mock_camera.scene.surface import Layer, Surface
from mock_camera.table.imaging import BLACK_LEVEL, FULL_WELL, READ_NOISE, SENSOR_BITS
from mock_camera.table.raster import Raster
from mock_camera.table.world import World
from tests.support.still_life import (
    binned,
    card_world,
    edge_profile,
    green,
    grey,
    linear,
    rise_px,
    shot,
    square_centres,
)

STILL = Placement()
DISC_RISE = 1.3743  # 10 to 90 % of an edge blurred by a disc of radius 1: F(x) = 1/2 + (x sqrt(1-x^2) + asin x)/pi


@pytest.mark.parametrize(("focus_mm", "f_number"), [(-2.0, 4.0), (2.5, 4.0), (3.0, 5.6)])
def test_edge_out_of_focus_is_as_wide_as_the_thin_lens_disc(focus_mm: float, f_number: float) -> None:
    world = card_world()
    world.do("light", name="key", power_ev=-5)
    world.do("turn_focus", mm=focus_mm)
    picture = world.expose(shot(f_number=f_number), 10)
    # thin lens f = 100 at 1:1, pupil at the lens: sensor and image distances by 1/f = 1/u + 1/v
    sensor = 1 / (1 / 100 - 1 / (200 + focus_mm))
    disc_mm = 100 / f_number * abs(sensor - 200) / 200
    expected_px = DISC_RISE * disc_mm / 2 / (24 / 768)
    assert rise_px(*edge_profile(green(picture), world)) == pytest.approx(expected_px, rel=0.05)
    assert picture.truth["blur_px"] == pytest.approx(disc_mm / 2 / (24 / 768), rel=1e-6)


def test_sharp_edge_shows_the_diffraction_of_the_working_aperture() -> None:
    world = card_world()
    world.do("light", name="key", power_ev=0, guide_number_m=60)
    picture = world.expose(shot(f_number=32), 10)
    across, profile = binned(*edge_profile(green(picture), world))
    line = np.diff(profile)
    pitch_mm, effective = 24 / 768, 64
    for cycles_per_mm in (3.0, 6.0, 9.0):
        nu = cycles_per_mm * pitch_mm
        spread = abs(np.sum(line * np.exp(-2j * np.pi * nu * across[1:]))) / abs(line.sum())
        s = cycles_per_mm * 0.55e-3 * effective
        lens = 2 / math.pi * (math.acos(s) - s * math.sqrt(1 - s * s))  # circular pupil, textbooks
        # times the pixel's own aperture; within 10 %: noise and the steps of the profile
        assert spread == pytest.approx(lens * np.sinc(nu), rel=0.1)


@pytest.mark.parametrize("magnification", [0.37, 0.8, 1.3])
def test_squares_of_the_card_lie_as_far_apart_as_the_magnification_says(magnification: float) -> None:
    world = card_world()
    world.do("arrangement", magnification=magnification)
    centres = square_centres(linear(world.expose(shot(f_number=22 / (1 + magnification)), 10)))
    # light squares stand diagonally: the nearest neighbour is sqrt(2) lattice steps away
    gaps = [np.sort(np.hypot(*(centres - c).T))[1] for c in centres]
    measured = float(np.median(gaps)) * (24 / 768) / (LATTICE_MM * math.sqrt(2))
    assert measured == pytest.approx(magnification, rel=0.005)


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


def test_layers_of_one_brightness_stay_one_brightness_at_any_focus() -> None:
    def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
        del seed
        layers = []
        for number, height_mm in enumerate((0.0, 2.0, 4.0)):
            crop = Crop(0, 0, grid.full_width, grid.full_height)
            if number:
                crop = Crop(60 * number, 40 * number, 120, 80)
            s = Surface(grid, pose, crop, height_mm)
            s.fill((0.18, 0.18, 0.18))
            layers.append(s.layer(np.ones_like(s.x), 0.4))
        return layers

    piece = Piece("level", (0, 0, 1, 1), 0.0, 4.0, draw)
    grid = Grid(width=288, height=192, pitch_mm=24 / 288, margin_x=16, margin_y=16)
    pose = Pose(FocusedLens(), STILL, STILL, 0.0)
    raster = Raster(grid, pose, piece, 1)
    for focus_mm in (0.0, 3.0, -4.0):
        luma = raster.picture(((None, 1.0),), focus_at(FocusedLens(), 2.8, focus_mm)).luma
        assert luma[16:-16, 16:-16] == pytest.approx(0.18, rel=2e-3)


@pytest.mark.parametrize("focus_mm", [-12.0, -5.0, 5.0, 12.0])
def test_no_seam_shows_where_a_layers_blur_ends(focus_mm: float) -> None:
    # far out of focus everything is smooth: second differences stay at the level of the noise
    world = World(pixels=(384, 256))
    world.do("light", name="key", power_ev=-6)
    world.do("turn_focus", to_mm=focus_mm)
    values = green(world.expose(shot(f_number=2.8, iso=100), 10)).mean(axis=1)
    bend = np.abs(np.diff(values, 2))
    assert bend.max() < 12 * np.median(bend) + 1e-3


def test_blurred_part_in_front_lets_half_the_background_through_at_its_edge() -> None:
    def draw(grid: Grid, pose: Pose, seed: int) -> list[Layer]:
        del seed
        base = Surface(grid, pose, Crop(0, 0, grid.full_width, grid.full_height), 0.0)
        base.fill((0.0, 0.0, 0.0))
        front = Surface(grid, pose, Crop(0, 0, grid.full_width // 2, grid.full_height), 3.0)
        front.fill((0.5, 0.5, 0.5))
        return [base.layer(np.ones_like(base.x), 0.4), front.layer(np.ones_like(front.x), 0.4)]

    grid = Grid(width=256, height=64, pitch_mm=24 / 256, margin_x=64, margin_y=16)
    pose = Pose(FocusedLens(), STILL, STILL, 0.0)
    raster = Raster(grid, pose, Piece("step", (0, 0, 1, 1), 0.0, 3.0, draw), 1)
    focus = focus_at(FocusedLens(), 2.8, 0.0)
    row = raster.picture(((None, 1.0),), focus).luma[48]
    edge = grid.full_width // 2
    radius_px = focus.blur_circle_mm(-3.0) / 2 / grid.pitch_mm
    assert (row[edge - 1] + row[edge]) / 2 == pytest.approx(0.25, abs=0.01)
    # a disc covers 0.5 - (x sqrt(1-x^2) + asin x) / pi of its area beyond x radii
    for x in (-0.6, -0.3, 0.4, 0.8):
        share = 0.5 - (x * math.sqrt(1 - x * x) + math.asin(x)) / math.pi
        got = np.interp(edge - 0.5 + x * radius_px, np.arange(len(row)), row)
        assert got == pytest.approx(0.5 * share, abs=0.015)


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


def test_light_from_aside_falls_off_with_the_sine_of_its_elevation() -> None:
    world = card_world(pixels=(384, 256))
    first = grey(world.expose(shot(), 10))
    world.do("light", name="key", elevation_deg=30)
    assert grey(world.expose(shot(), 20)) / first == pytest.approx(0.5, rel=0.02)


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


def test_the_far_side_of_a_leaning_card_is_as_blurred_as_its_distance_makes_it() -> None:
    world = card_world()
    world.do("light", name="key", power_ev=-6)
    world.do("lean", tilt_deg=15.0, raised_deg=0.0)
    raised = edge_profile(green(world.expose(shot(f_number=2.8), 10)), world, column=1)
    # the square's left edge, 5.25 mm from the middle, lies 5.25 sin 15° nearer: thin lens as above
    off_mm = 5.25 * math.sin(math.radians(15.0))
    disc_mm = 100 / 2.8 * off_mm / (200 - off_mm)
    assert rise_px(*raised) == pytest.approx(DISC_RISE * disc_mm / 2 / (24 / 768), rel=0.08)
