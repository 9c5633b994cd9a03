"""What must fit before the lens, and how long a support swings: geometry, and published decay times."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special

from session.optics.arrangement import bare
from session.optics.plate import clear_aperture_mm
from session.plan.room import CLAMP_ROOM_MM, beam_mm, light_room_mm, plate_place
from session.plan.waits import SHAKE_SHARE, safe_hold_off_s
from session.set.kit import Plate, Support
from session.set.setup import DEFAULT_HOLD_OFF_S

GLASS = Plate(name="glass", thickness_mm=2, refractive_index=1.5168, width_mm=150, height_mm=100)
LIFE_SIZE = bare(100, 1, 1)


def placed(plate: Plate = GLASS, framed=(36.0, 24.0), angle_deg: float = 45):
    return plate_place(plate, angle_deg, framed, 136, 2.4, LIFE_SIZE, 22)


def test_a_light_beside_the_lens_clears_its_rim_and_reaches_the_far_corner():
    # rim of 30 mm radius, corner 20 mm from the axis: a ray at 45° from that corner climbs 50 mm to the rim
    assert light_room_mm(60, 32, 24, 45) == pytest.approx(50)
    assert light_room_mm(60, 32, 24, 60) == pytest.approx(50 / math.tan(math.radians(60)))


@given(st.floats(5, 300), st.floats(1, 190), st.floats(8, 60))
def test_the_beam_is_that_of_similar_triangles(field_mm, distance_mm, effective):
    # entrance pupil of a 100 mm lens at life size: 200 mm before the piece, 1/a of that wide
    assert beam_mm(field_mm, distance_mm, LIFE_SIZE, effective) == pytest.approx(
        clear_aperture_mm(field_mm, 200 / effective, 200, distance_mm)
    )


def test_a_plate_of_two_millimetres_at_45_degrees_shifts_doubles_and_bends_as_published():
    # shift, double image and astigmatism of a 2 mm plate, n = 1.5168: 0.669, 1.490, 0.538 mm; loss 3.517 stops,
    # 3.622 for a mirror-like piece, 0.147 passing (Fresnel; a ray trace and a thin-film library agree)
    plate = placed()
    assert plate.shift_mm == pytest.approx(0.669, abs=5e-4)
    assert plate.double_image_mm == pytest.approx(1.490, abs=5e-4)
    assert abs(plate.astigmatism_mm) == pytest.approx(0.538, abs=5e-4)
    assert plate.loss_ev == pytest.approx(3.517, abs=5e-4)
    assert plate.mirror_loss_ev == pytest.approx(3.622, abs=5e-4)
    assert plate.passing_loss_ev == pytest.approx(0.147, abs=5e-4)


def test_the_light_aims_level_with_the_plate_at_45_degrees():
    plate = placed()
    assert plate.aim_sideways_mm == pytest.approx(plate.distance_mm)
    assert plate.aim_along_axis_mm == pytest.approx(plate.distance_mm)


def test_the_plate_stands_above_the_piece_with_room_for_its_clamps():
    plate = placed()
    assert (plate.length_mm, plate.width_mm) == (100, 150)  # the shorter side along the tilt is enough
    assert plate.length_needed_mm == pytest.approx(24 * math.sqrt(2) + plate.shift_mm)
    assert plate.room_mm == pytest.approx(100 / math.sqrt(2) + 2 * CLAMP_ROOM_MM)
    lower_edge_mm = plate.distance_mm - 50 / math.sqrt(2)
    assert lower_edge_mm == pytest.approx(2.4 + CLAMP_ROOM_MM)


def test_a_plate_is_turned_where_only_that_way_is_long_enough():
    assert placed(framed=(90.0, 90.0)).length_mm == 150
    assert placed(GLASS.model_copy(update={"width_mm": None})).size_known is False


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
