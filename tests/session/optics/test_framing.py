"""What the picture takes in: field and ratio undo each other, a piece fits with room around it, pixels are counted."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.framing import (
    FULL_FRAME_DIAGONAL_MM,
    clearance_mm,
    field_mm,
    magnification_for_field,
    magnification_for_piece,
    pixel_footprint_um,
    pixel_pitch_um,
    pixels_on_piece,
    positive_magnification,
    reversed_working_distance_mm,
)
from session.units.quantities import RefusedNumberError

quick = settings(max_examples=30)

sides = st.floats(2, 60)
ratios = st.floats(0.05, 5)
pieces = st.floats(60 / 50, 300)  # by the largest side they come to 50:1, the largest ratio that can be meant


@quick
@given(side=sides, m=ratios)
def test_field_and_ratio_undo_each_other(side: float, m: float) -> None:
    assert magnification_for_field(side, field_mm(side, m)) == pytest.approx(m)


@quick
@given(w=sides, h=sides, pw=pieces, ph=pieces, fill=st.floats(0.1, 1))
def test_a_piece_fits_both_ways_and_fills_its_share_one_way(
    w: float, h: float, pw: float, ph: float, fill: float
) -> None:
    m = magnification_for_piece(w, h, pw, ph, fill)
    shares = pw / field_mm(w, m), ph / field_mm(h, m)
    assert max(shares) == pytest.approx(fill), "larger would be cut off"
    assert min(shares) <= fill * (1 + 1e-9)


@quick
@given(width=st.floats(4, 60), pixels=st.integers(1000, 12_000), m=ratios)
def test_pixels_across_the_field_are_those_of_the_sensor(width: float, pixels: int, m: float) -> None:
    pitch_um = pixel_pitch_um(width, pixels)
    across_mm = field_mm(width, m)
    assert pixels_on_piece(across_mm, m, pitch_um) == pytest.approx(pixels)
    assert pixels * pixel_footprint_um(pitch_um, m) / 1000 == pytest.approx(across_mm)


@pytest.mark.parametrize(
    ("in_front_mm", "left_mm"),
    [(0.0, 40.0), (12.5, 27.5), (40.0, 0.0), (41.0, -1.0)],
    ids=["flat", "relief", "touching", "would touch"],
)
def test_room_before_the_lens_is_what_the_piece_leaves_of_it(in_front_mm: float, left_mm: float) -> None:
    assert clearance_mm(40.0, in_front_mm) == left_mm


@quick
@given(f=st.floats(20, 100), flange=st.floats(10, 50), m=st.floats(0.5, 20))
def test_a_reversed_lens_never_comes_nearer_than_its_flange_distance(f: float, flange: float, m: float) -> None:
    at_mm = reversed_working_distance_mm(f, flange, m)
    assert at_mm > flange
    assert at_mm - flange == pytest.approx(f / m), "Newton: f/m beyond the focal point"


def test_the_full_frame_diagonal_is_what_crop_factors_are_counted_against() -> None:
    assert pytest.approx(43.2666, abs=1e-4) == FULL_FRAME_DIAGONAL_MM


@pytest.mark.parametrize(
    "call", [lambda: field_mm(36, 0), lambda: pixel_footprint_um(4, 0), lambda: positive_magnification(0)]
)
def test_at_infinity_nothing_has_a_size(call: object) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        call()
    assert str(refused.value) == "magnification is 0, but must be above 0: a piece at infinity has no size."


@pytest.mark.parametrize("fill", [0.0, 1.01, -0.5])
def test_a_piece_cant_take_nothing_or_more_than_the_picture(fill: float) -> None:
    with pytest.raises(RefusedNumberError, match=r"^fill is"):
        magnification_for_piece(36, 24, 10, 10, fill)
