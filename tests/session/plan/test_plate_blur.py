"""Blur through a tilted plate as a plan promises it: rays traced through the glass, and a sampled pupil by FFT."""

import pytest

from session.optics.sharpness import sharp_series
from session.plan.kit_search import rank_plans
from session.plan.stops import Stop, tried_stops
from session.plan.wish import Wish
from session.set.kit import Plate, demo_kit
from tests.support.plate_trace import virtual_focus_mm
from tests.support.pupil_fft import blur

WAVELENGTH_MM = 0.55e-3
KIT = demo_kit()
GLASS = KIT.plate[0]
WISH = Wish(20, 14, 0.2, tilt_deg=0, blur_radius_on_piece_mm=0.012, plate=GLASS.name)


def traced_apart_mm(plate: Plate, angle_deg: float) -> float:
    """How far apart fans in and across the plane of the tilt are sharp, by skew rays through the glass."""
    along, across = (
        virtual_focus_mm(fan, angle_deg, plate.refractive_index, plate.thickness_mm)
        for fan in ("tangential", "sagittal")
    )
    return abs(along - across)


def sampled_mm(off_mm: float, apart_mm: float, effective_f_number: float, ratio: float) -> float:
    """Worse of both diameters of blur on the piece, a point off the middle of both foci by so much."""
    seen = effective_f_number / ratio
    unit_mm = WAVELENGTH_MM * seen
    one, other = ((off_mm + side * apart_mm / 2) / seen / unit_mm for side in (1, -1))
    return unit_mm * max(blur(one, other), blur(other, one))


@pytest.mark.parametrize("angle_deg", [30.0, 45.0, 55.0])
@pytest.mark.parametrize("thickness_mm", [1.0, 2.0, 3.0])
def test_blur_that_a_plan_promises_through_glass_is_that_of_rays_and_waves(thickness_mm, angle_deg):
    plate = GLASS.model_copy(update={"thickness_mm": thickness_mm})
    kit = KIT.model_copy(update={"plate": (plate,)})
    wish = Wish(20, 14, 1.0, blur_radius_on_piece_mm=0.03, plate=plate.name, plate_angle_deg=angle_deg)
    for plan in rank_plans(kit, wish).plans[:4]:
        stop = plan.stop
        truth_mm = sampled_mm(
            stop.slice_mm / 2, traced_apart_mm(plate, angle_deg), stop.effective_f_number, plan.mounting.magnification
        )
        assert stop.blur_circle_mm == pytest.approx(truth_mm, rel=0.01)


def life_size_at(f_number: float, wish: Wish = WISH) -> Stop:
    """A 100 mm lens at life size, through the glass."""
    plan = next(plan for plan in rank_plans(KIT, wish).plans if plan.build.label == "Longmere 100 close-up")
    stops = tried_stops(plan.mounting, wish, traced_apart_mm(GLASS, 45))
    return next(stop for stop in stops if stop.f_number == f_number)


def test_two_millimetres_at_45_degrees_double_the_blur_of_a_wide_opening():
    # f/5.6 at life size: 0.0126 mm without the glass, 0.024 through it in the middle and 0.0325 at the ends of 0.2 mm
    apart_mm = traced_apart_mm(GLASS, 45)
    assert sampled_mm(0.1, 0.0, 11.2, 1.0) == pytest.approx(0.0126, abs=5e-5)
    assert sampled_mm(0.0, apart_mm, 11.2, 1.0) == pytest.approx(0.0240, abs=5e-5)
    assert sampled_mm(0.1, apart_mm, 11.2, 1.0) == pytest.approx(0.0325, abs=5e-5)
    square = Wish(19.2, 12.8, 0.2, tilt_deg=0, blur_radius_on_piece_mm=0.02, plate=GLASS.name, body="Wendle 16")
    stop = life_size_at(5.6, square)
    assert stop.effective_f_number == pytest.approx(11.2)
    assert stop.blur_circle_mm == pytest.approx(0.0325, abs=5e-5)


def test_the_planner_stops_down_for_the_glass_or_says_that_it_is_too_thick():
    clear = next(plan for plan in rank_plans(KIT, Wish(20, 14, 0.2, tilt_deg=0, blur_radius_on_piece_mm=0.012)).plans)
    assert not clear.failing
    plans = rank_plans(KIT, WISH).plans
    through = next(plan for plan in plans if plan.build.label == clear.build.label)
    blurred = [one for one in through.criteria if one.name == "blur"]
    assert through.stop.f_number > clear.stop.f_number or blurred[0].short_ev


def test_where_the_glass_alone_blurs_more_than_is_allowed_no_plane_is_sharp():
    apart_mm = traced_apart_mm(GLASS, 45)
    assert sampled_mm(0.0, apart_mm, 11.2, 1.0) > 0.02
    series = sharp_series(0.2, 11.2, 1.0, 0.02, astigmatism_mm=apart_mm)
    assert series.by_plate and not series.by_diffraction
    assert not sharp_series(0.2, 11.2, 1.0, 0.02).by_plate
