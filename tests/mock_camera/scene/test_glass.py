"""The simulated sheet of glass against rays, Fresnel's equations as a library has them, and a pupil that is sampled."""

import math

import numpy as np
import pytest
from tmm import inc_tmm

from mock_camera.scene.glass import GlassSheet
from mock_camera.scene.optics import FocusedLens, focus_at, transfer, two_way_transfer
from tests.support.plate_trace import virtual_focus_mm


@pytest.mark.parametrize("tilt_deg", [20.0, 45.0, 60.0])
def test_light_that_passes_and_is_thrown_back_is_that_of_a_library_for_layers(tilt_deg: float) -> None:
    glass = GlassSheet(2.0, tilt_deg, 1.52)
    for polarisation, passed, thrown in zip("sp", glass.transmittance(), glass.reflectance(), strict=True):
        truth = inc_tmm(
            polarisation, [1, 1.52, 1], [math.inf, 2e6, math.inf], ["i", "i", "i"], math.radians(tilt_deg), 550
        )
        assert passed == pytest.approx(truth["T"], abs=1e-9)
        assert thrown == pytest.approx(truth["R"], abs=1e-9)


@pytest.mark.parametrize("tilt_deg", [0.0, 30.0, 45.0])
def test_a_point_seems_to_lie_where_skew_rays_through_the_sheet_come_from(tilt_deg: float) -> None:
    along, aside = (virtual_focus_mm(fan, tilt_deg, 1.52, 2.0) for fan in ("tangential", "sagittal"))
    across_mm, down_mm = GlassSheet(2.0, tilt_deg).apart_mm(1e-3)
    # nearer to the lens is later on the way of the light
    assert across_mm == pytest.approx((aside - along) / 2, abs=1e-5)
    assert down_mm == pytest.approx(-across_mm)
    assert GlassSheet(2.0, tilt_deg, leans="down").apart_mm(1e-3) == pytest.approx((down_mm, across_mm))


def test_two_planes_of_focus_make_a_spot_that_is_wide_in_one_of_them_and_high_in_the_other() -> None:
    lens = focus_at(FocusedLens(), 5.6, 0.0, GlassSheet(2.0))
    across_mm, down_mm = lens.spreads_mm(0.0)
    # at life size, f/11.2 at the sensor: 0.27 mm on either side, a cone 1/11.2 wide
    assert across_mm == pytest.approx(0.269 / 11.2, rel=0.01)
    assert down_mm == pytest.approx(-across_mm, rel=0.01)
    assert lens.blur_circle_mm(0.0) == max(abs(across_mm), abs(down_mm))
    assert focus_at(FocusedLens(), 5.6, 0.0).spreads_mm(0.0) == (0.0, 0.0)


def sampled(across: float, down: float, waves: tuple[float, float], cells: int) -> float:
    """The overlap of a sampled pupil with itself, moved by a frequency as a share of the cut-off."""
    place = (np.arange(-cells, cells) + 0.5) / cells
    x, y = np.meshgrid(place, place)
    one, other = ((x + side * across, y + side * down) for side in (1, -1))
    both = (np.hypot(*one) <= 1) & (np.hypot(*other) <= 1)
    late = waves[0] * (one[0] ** 2 - other[0] ** 2) + waves[1] * (one[1] ** 2 - other[1] ** 2)
    return float(np.cos(2 * np.pi * late)[both].sum() / (np.hypot(x, y) <= 1).sum())


@pytest.mark.parametrize("waves", [(0.0, 0.0), (1.3, -0.8), (2.0, 0.4)])
def test_contrast_through_two_planes_of_focus_is_the_overlap_of_a_sampled_pupil(waves: tuple[float, float]) -> None:
    wave_mm = 0.55e-3 * 11.2
    spreads_mm = (8 * wave_mm * waves[0], 8 * wave_mm * waves[1])
    shares = np.array([0.0, 0.1, 0.35, 0.6])
    found = two_way_transfer(shares / wave_mm, -shares / wave_mm, spreads_mm, 11.2)
    for column, across in enumerate(shares):
        for row, down in enumerate(-shares):
            assert found[row, column] == pytest.approx(sampled(across, down, waves, 120), abs=6e-3)


@pytest.mark.parametrize("blur_mm", [0.0, 0.03, 0.2])
def test_with_one_plane_of_focus_it_is_the_round_pupils(blur_mm: float) -> None:
    cycles = np.linspace(0, 100, 30)
    alike = two_way_transfer(cycles, np.zeros(1), (blur_mm, blur_mm), 11.2)[0]
    assert alike == pytest.approx(transfer(cycles, blur_mm, 11.2), abs=1e-5)
