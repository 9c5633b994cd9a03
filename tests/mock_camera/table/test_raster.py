"""The optical picture: each layer blurred by its own distance, against the thin lens, diffraction and geometry."""

import math

import numpy as np
import pytest

from mock_camera.scene.grid import Crop, Grid, Placement, Pose
from mock_camera.scene.optics import FocusedLens, focus_at
from mock_camera.scene.pieces import Piece
from mock_camera.scene.surface import Layer, Surface
from mock_camera.table.raster import Raster
from mock_camera.table.world import World
from tests.support.still_life import (
    binned,
    card_world,
    edge_profile,
    green,
    rise_px,
    shot,
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


def test_the_far_side_of_a_leaning_card_is_as_blurred_as_its_distance_makes_it() -> None:
    world = card_world()
    world.do("light", name="key", power_ev=-6)
    world.do("lean", tilt_deg=15.0, raised_deg=0.0)
    raised = edge_profile(green(world.expose(shot(f_number=2.8), 10)), world, column=1)
    # the square's left edge, 5.25 mm from the middle, lies 5.25 sin 15° nearer: thin lens as above
    off_mm = 5.25 * math.sin(math.radians(15.0))
    disc_mm = 100 / 2.8 * off_mm / (200 - off_mm)
    assert rise_px(*raised) == pytest.approx(DISC_RISE * disc_mm / 2 / (24 / 768), rel=0.08)
