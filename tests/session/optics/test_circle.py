"""A blur limit is a radius and a blur circle a diameter: the one place where the one becomes the other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.circle import (
    RADII,
    blur_circle_from_diagonal_mm,
    blur_circle_from_limit_mm,
    blur_limit_from_piece_px,
)
from session.units.quantities import RefusedNumberError

quick = settings(max_examples=30)


@quick
@given(limit_px=st.floats(0.1, 100), pitch_um=st.floats(1, 20))
def test_a_limit_covers_so_many_pixels_to_each_side(limit_px: float, pitch_um: float) -> None:
    circle_mm = blur_circle_from_limit_mm(limit_px, pitch_um)
    assert circle_mm * 1000 / pitch_um == pytest.approx(RADII * limit_px)


@quick
@given(radius_mm=st.floats(0.001, 1), ratio=st.floats(0.05, 5), pitch_um=st.floats(1, 20))
def test_a_radius_on_the_piece_is_the_same_blur_on_the_sensor(radius_mm: float, ratio: float, pitch_um: float) -> None:
    """The piece's blur circle, imaged at the ratio, is the circle of the limit in pixels."""
    limit_px = blur_limit_from_piece_px(radius_mm, ratio, pitch_um)
    assert limit_px * pitch_um / 1000 / ratio == pytest.approx(radius_mm)
    if 1e-3 <= limit_px <= 10_000:
        assert blur_circle_from_limit_mm(limit_px, pitch_um) == pytest.approx(RADII * radius_mm * ratio)


def test_the_custom_of_the_diagonal_gives_what_handbooks_print() -> None:
    """0.029 mm for 36 × 24 mm by 1/1500 and 0.025 mm by 1/1730: common practice, values from memory."""
    assert blur_circle_from_diagonal_mm(36, 24) == pytest.approx(0.029, abs=5e-4)
    assert blur_circle_from_diagonal_mm(36, 24, 1730) == pytest.approx(0.025, abs=5e-4)
    assert blur_circle_from_diagonal_mm(30, 40) == pytest.approx(50 / 1500), "3, 4, 5"


def test_both_ways_round_a_sensor_has_one_diagonal() -> None:
    assert blur_circle_from_diagonal_mm(24, 36) == blur_circle_from_diagonal_mm(36, 24)
    assert blur_circle_from_diagonal_mm(24, 24) == pytest.approx(24 * math.sqrt(2) / 1500)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: blur_circle_from_limit_mm(0, 4), "blur_radius_px is 0 px, but must be from 0.001 to 10000 px."),
        (lambda: blur_circle_from_limit_mm(2, 0.2), "pixel_pitch_um is 0.2 µm, but must be from 0.3 to 100 µm."),
        (
            lambda: blur_limit_from_piece_px(0.01, 0, 4),
            "magnification is 0, but must be above 0: a piece at infinity has no size.",
        ),
        (lambda: blur_circle_from_diagonal_mm(36, 24, 20), "parts is 20, but must be from 100 to"),
        (lambda: blur_circle_from_diagonal_mm(0.036, 24), "sensor_width_mm is 0.036 mm"),
    ],
)
def test_what_cant_be_meant_is_refused_in_words(call: object, said: str) -> None:
    with pytest.raises(RefusedNumberError) as refused:
        call()
    assert str(refused.value).replace(",", "").startswith(said.replace(",", "")), str(refused.value)
