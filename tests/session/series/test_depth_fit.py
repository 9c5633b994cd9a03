"""The depth of a cell from its detail in each frame, which the lens's own curve makes."""

import numpy as np
import pytest

from session.optics.arrangement import bare
from session.optics.diffraction import GREEN_UM, transfer_defocused
from session.picture.linear_light import block_means
from session.series.depth_fit import KINDS, energies_left, energy_left, likely_depths, weights_of
from session.series.plane_frame import SCALES, _second_differences
from session.series.series_plan import ONE_FRAME_MM, SeriesLens

LENS = SeriesLens(bare(100, 8.0, 1.0), 4.4, 2.0)
DEPTH_MM = LENS.sharp(ONE_FRAME_MM).depth_mm
PLANES = 0.75 * DEPTH_MM * np.arange(4)
GRID = np.arange(PLANES[0] - DEPTH_MM, PLANES[-1] + DEPTH_MM, DEPTH_MM / 8)


def detail_at(depth_mm, amount=1.0):
    """(planes, scales, 1, 1) of a place with detail as photographs have it."""
    off = np.abs(depth_mm - PLANES)
    return amount * np.stack([energy_left(LENS, 2.0, scale, 2.0, off) for scale in range(SCALES)], 1)[..., None, None]


def likely(excess, noise=1e-4):
    off = np.abs(GRID[:, None] - PLANES[None])
    passed = energies_left(LENS, 2.0, off)
    excess = np.asarray(excess, np.float32)
    weights = [weights_of(excess[:, k], np.full_like(excess[:, k], noise), 0) for k in range(SCALES)]
    return likely_depths(passed, excess, weights)[:, 0, 0]


@pytest.mark.parametrize("between", [0.0, 0.3, 0.5, 1.0, 1.6, 2.5, 3.0])
def test_a_place_lies_where_its_detail_says(between):
    depth_mm = between * (PLANES[1] - PLANES[0])
    found = likely(detail_at(depth_mm))
    assert found.sum() == pytest.approx(1.0, abs=1e-4)
    assert GRID @ found == pytest.approx(depth_mm, abs=DEPTH_MM / 8)


def test_how_much_detail_a_place_has_drops_out():
    here = 1.3 * PLANES[1]
    assert likely(detail_at(here)) == pytest.approx(likely(detail_at(here, 7.0), 7e-4), abs=1e-4)


def test_a_place_without_detail_lies_anywhere():
    found = likely(np.zeros((4, SCALES, 1, 1)))
    assert found == pytest.approx(np.full(len(GRID), 1 / len(GRID)), rel=1e-3)


def test_a_single_fine_wave_loses_what_wave_optics_takes_from_it():
    # nearly all of the finest scale's energy lies at 0.3 to 0.5 cycles per pixel when power rises with frequency
    away_mm = DEPTH_MM / 2
    waves = away_mm / LENS.lens.effective_f_number / (8 * GREEN_UM / 1000 * LENS.lens.effective_f_number)
    relative = np.array([0.3, 0.5]) / (4.4e-3 * 2) * GREEN_UM / 1000 * LENS.lens.effective_f_number
    most, least = np.sort((transfer_defocused(relative, waves) / transfer_defocused(relative, 0.0)) ** 2)[::-1]
    found = float(energy_left(LENS, 2.0, 0, KINDS[0][0], np.array([away_mm]))[0])
    assert least < found < most


def test_coarse_detail_bears_more_blur():
    left = [float(energy_left(LENS, 2.0, scale, 2.0, np.array([DEPTH_MM]))[0]) for scale in range(SCALES)]
    assert left == sorted(left)
    assert float(energy_left(LENS, 2.0, 0, 2.0, np.array([0.0]))[0]) == 1.0


@pytest.mark.parametrize("depths", [0.5, 1.0])
def test_blur_takes_from_each_scale_of_a_random_picture_what_the_curve_says(depths):
    # the picture is made and blurred by Fourier transform, its detail measured as a frame's is
    chance, side_px, away_mm = np.random.default_rng(4), 512, depths * DEPTH_MM
    across, down = np.meshgrid(np.fft.rfftfreq(side_px), np.fft.fftfreq(side_px))
    cycles = np.hypot(across, down)
    unit_mm = GREEN_UM / 1000 * LENS.lens.effective_f_number
    relative = np.minimum(cycles / 4.4e-3 * unit_mm, 1.0)
    falling = np.where(cycles > 0, 1 / np.maximum(cycles, 1e-9), 0) * np.sinc(across) * np.sinc(down)
    waves = np.fft.rfft2(chance.normal(size=(side_px, side_px))) * falling
    sharp, blurred = (
        np.fft.irfft2(waves * transfer_defocused(relative, defocus)).astype(np.float32)
        for defocus in (0.0, away_mm / LENS.lens.effective_f_number / (8 * unit_mm))
    )
    for scale in range(SCALES):
        room = np.empty((2, *sharp.shape), np.float32)
        left = _second_differences(blurred, *room).mean() / _second_differences(sharp, *room).mean()
        told = float(energy_left(LENS, 1.0, scale, 2.0, np.array([away_mm]))[0])
        assert told == pytest.approx(left, rel=0.05, abs=0.01), scale
        sharp, blurred = (block_means(picture, 2, 2) for picture in (sharp, blurred))
