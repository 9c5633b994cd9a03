"""The camera's moves from shifts that are worked out here by central projection, on a picture made for it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from session.match.camera_framing import Distances, Framing, Light, alike_in_shape, at_size_of, lay

WIDTH, HEIGHT, FIELD_MM = 480, 320, 48.0
PUPIL_MM, FOCUS_MM = 300.0, 200.0
FAR = Distances(PUPIL_MM, FOCUS_MM)
MM = FIELD_MM / WIDTH


def scene(x_mm: Light, y_mm: Light) -> Light:
    """Light of a piece with detail everywhere, at places in mm from the middle; of many waves, always the same."""
    chance, total = np.random.default_rng(4), np.zeros_like(x_mm)
    for _ in range(40):
        across, down = chance.normal(0, 5, 2)
        total += np.sin(across * x_mm + down * y_mm + chance.uniform(0, 2 * math.pi))
    light: Light = (0.2 * np.exp2(total / 6)).astype(np.float32)
    return light


def picture(
    right_mm: float = 0, down_mm: float = 0, nearer: float = 1, roll_deg: float = 0, pan_deg: float = 0
) -> Light:
    """Seen by a camera moved right and down, rolled clockwise, turned right by `pan_deg`; `nearer` times as large."""
    x, y = np.meshgrid(np.arange(WIDTH) + 0.5 - WIDTH / 2, np.arange(HEIGHT) + 0.5 - HEIGHT / 2)
    x, y = x * MM, y * MM
    pan, roll = math.radians(pan_deg), math.radians(roll_deg)
    # a ray through (x, y, u), turned about the upright axis, meets the piece's plane at z = u
    across, depth = x * math.cos(pan) + PUPIL_MM * math.sin(pan), PUPIL_MM * math.cos(pan) - x * math.sin(pan)
    x, y = across * PUPIL_MM / depth, y * PUPIL_MM / depth
    x, y = x / nearer, y / nearer
    x, y = x * math.cos(roll) - y * math.sin(roll), x * math.sin(roll) + y * math.cos(roll)
    return scene(x + right_mm, y + down_mm)


REFERENCE = picture()


def framing(frame: Light) -> Framing:
    found = lay(REFERENCE, frame, FIELD_MM, FAR)
    assert found is not None
    return found.framing


def test_the_same_picture_is_where_it_was() -> None:
    found = framing(REFERENCE)
    assert found.features_px < 0.05
    assert (found.right_mm, found.down_mm, found.farther_mm) == pytest.approx((0, 0, 0), abs=0.02)


def test_the_moves_bring_the_camera_back() -> None:
    found = framing(picture(right_mm=-0.9, down_mm=0.6, nearer=1.02, roll_deg=-1.2))
    moves = (found.right_mm, found.down_mm, found.turn_deg, found.farther_mm)
    assert moves == pytest.approx((0.9, -0.6, 1.2, FOCUS_MM * 0.02 / 1.02), rel=0.04, abs=0.02)


def test_a_turn_to_the_side_shows_in_the_perspective_and_shifts_the_picture() -> None:
    beside_mm = PUPIL_MM * math.tan(math.radians(1.5))
    assert framing(picture(pan_deg=-1.5)).right_mm == pytest.approx(beside_mm, rel=0.03)
    found = framing(picture(pan_deg=-1.5, right_mm=beside_mm))  # the piece back in its place
    assert found.pan_deg == pytest.approx(1.5, abs=3 * found.pan_sd_deg + 0.1)
    assert found.right_mm == pytest.approx(0, abs=0.1)


def test_the_shift_that_is_told_leaves_the_least_that_a_turned_camera_can_show() -> None:
    """Features lie off by tan(3°) / u · (x² − ⟨x²⟩, x·y) then."""
    strength = math.tan(math.radians(3.0)) / PUPIL_MM
    beside_mm = PUPIL_MM * math.tan(math.radians(3.0))
    middle = framing(picture(pan_deg=-3.0, right_mm=beside_mm))
    assert middle.right_mm == pytest.approx(strength * FIELD_MM**2 / 12, rel=0.15)
    whole = framing(picture(pan_deg=-3.0, right_mm=beside_mm + middle.right_mm))
    assert whole.features_px < middle.features_px
    assert whole.right_mm == pytest.approx(0, abs=0.005)
    x, y = np.meshgrid(np.linspace(-24, 24, 97), np.linspace(-16, 16, 65))
    left_px = strength * np.hypot(x * x - FIELD_MM**2 / 12, x * y).mean() / FIELD_MM * 1024
    assert whole.effects_px.pan == pytest.approx(left_px, rel=0.2)  # by places that reach the edges


def test_features_are_counted_in_pixels_of_a_picture_of_1024() -> None:
    assert framing(picture(right_mm=-0.9)).features_px == pytest.approx(0.9 / FIELD_MM * 1024, rel=0.02)


@pytest.mark.parametrize("nearer", [0.78, 1.25])
def test_a_frame_much_larger_or_smaller_is_found_too(nearer: float) -> None:
    found = framing(picture(nearer=nearer, roll_deg=2.0))
    assert found.farther_mm == pytest.approx(FOCUS_MM * (nearer - 1) / nearer, rel=0.05)


def test_a_pattern_that_stays_with_the_sensor_is_not_taken_for_the_piece() -> None:
    """A piece on a quarter of the picture, 8 % smaller; around it grain that is the same in both."""
    x, y = np.meshgrid(np.arange(WIDTH) + 0.5 - WIDTH / 2, np.arange(HEIGHT) + 0.5 - HEIGHT / 2)
    grain = (0.05 * np.exp2(0.4 * np.random.default_rng(7).normal(size=(HEIGHT, WIDTH)))).astype(np.float32)
    then, now = (
        np.where(np.hypot(x, y) < 110 * nearer, picture(nearer=nearer) * np.float32(2), grain) for nearer in (1, 0.92)
    )
    found = lay(then, now, FIELD_MM, FAR)
    assert found is None or found.framing.features_px > 10


def test_pictures_of_something_else_or_of_another_shape_tell_nothing() -> None:
    other = picture(right_mm=500.0)
    assert lay(REFERENCE, other, FIELD_MM, FAR) is None
    assert lay(REFERENCE, REFERENCE[:, :400], FIELD_MM, FAR) is None


def test_a_finer_picture_is_brought_to_the_size_of_the_reference() -> None:
    finer = np.repeat(np.repeat(REFERENCE, 2, axis=0), 2, axis=1)
    assert at_size_of(finer, REFERENCE.shape) == pytest.approx(REFERENCE, abs=1e-6)
    assert alike_in_shape((400, 600), (1000, 1500)) and not alike_in_shape((400, 600), (450, 600))
