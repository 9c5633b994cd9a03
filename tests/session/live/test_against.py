"""Against the reference and following hands: photographs moved, turned and scaled by scipy, in px, mm and words."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from session.live.against import Against, Correction, Scales, as_live, blend, correction, difference, scales_for
from session.live.decode import Codes, LiveGrey, grey
from session.live.live_follower import Follower
from session.picture.displacement import Motion
from session.set.setup import Arrangement, Region
from tests.support.made_pictures import blurred, coded, jpeg_bytes, photograph, relit

WIDTH, HEIGHT = 510, 340
MIDDLE = Region(0.4, 0.4, 0.2, 0.2)
SCALES = Scales(mm_per_live_px=0.02, sensor_px_per_px=6.0, front_focus_mm=100.0)
WIDE = photograph("coffee.png", (WIDTH + 120, HEIGHT + 80))


def posed(right_px: float = 0.0, down_px: float = 0.0, turn_deg: float = 0.0, scale: float = 1.0) -> np.ndarray:
    """The scene with its content moved, turned clockwise and scaled about the middle; light, (height, width)."""
    angle = np.deg2rad(turn_deg)
    # (row, column) of the content that is seen at (row, column): the motion undone
    back = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]]) / scale
    centre = (np.array(WIDE.shape) - 1) / 2
    shown = ndimage.affine_transform(
        WIDE, back, offset=centre - back @ np.add(centre, (down_px, right_px)), order=3, mode="nearest"
    )
    return np.asarray(shown[40:-40, 60:-60])


def live(light: np.ndarray, seed: int = 0) -> LiveGrey:
    return grey(jpeg_bytes(coded(light, noise_codes=1.5, seed=seed), quality=85))


def reference() -> Codes:
    return coded(posed(), noise_codes=1.0, seed=7)


def far_off(found: Motion, right_px: float, down_px: float, turn_deg: float, scale: float) -> float:
    """Most that any corner lies off, px."""
    corners = np.array([[0.0, 0.0], [WIDTH, 0.0], [0.0, HEIGHT], [WIDTH, HEIGHT]])
    middle = np.array([WIDTH / 2, HEIGHT / 2])
    true = Motion(right_px, down_px, turn_deg, scale)
    return float(np.abs(found.move(corners, middle) - true.move(corners, middle)).max())


FOLLOWER = Follower(live(posed()))


@settings(max_examples=20)
@given(st.floats(-6, 6), st.floats(-6, 6), st.floats(-1, 1), st.floats(0.985, 1.015), st.integers(0, 999))
def test_small_moves_of_hands_are_followed_to_a_fraction_of_a_pixel(
    right_px: float, down_px: float, turn_deg: float, scale: float, seed: int
) -> None:
    found = FOLLOWER.motion(live(posed(right_px, down_px, turn_deg, scale), seed), Motion())
    assert found is not None
    assert far_off(found, right_px, down_px, turn_deg, scale) < 0.5


def test_following_frame_by_frame_goes_as_far_as_hands_do() -> None:
    found = Motion()
    for part in np.linspace(0, 1, 12)[1:]:
        now = FOLLOWER.motion(live(posed(30 * part, -20 * part, 6 * part, 1 + 0.05 * part)), found)
        assert now is not None
        found = now
    assert far_off(found, 30, -20, 6, 1.05) < 1.2  # of some 50 px at the corners


def test_another_picture_is_not_followed_and_shapes_must_agree() -> None:
    other = live(photograph("camera.png", (WIDTH, HEIGHT)))
    assert FOLLOWER.motion(other, Motion()) is None
    with pytest.raises(ValueError, match="shapes differ"):
        FOLLOWER.motion(grey(jpeg_bytes(np.full((240, 320), 90, np.uint8))), Motion())


def test_piece_relit_softer_and_moved_is_matched_then_followed() -> None:
    """As flash and stopped down against modelling lamp and full aperture: another gradient of light, a soft picture."""
    against = Against(reference(), MIDDLE, SCALES)
    soft = blurred(relit(posed(8, -5, 1.5), ev=-0.3, across_ev=0.8), 1.2)
    matched = against.match(live(soft))
    assert matched is not None
    assert (matched.right_px / 6, matched.down_px / 6) == pytest.approx((8, -5), abs=0.5)
    assert matched.piece_turn_deg == pytest.approx(-1.5, abs=0.1)
    nearer = against.follow(live(blurred(relit(posed(2, -1, 0.4), ev=-0.3, across_ev=0.8), 1.2), seed=3))
    assert nearer is not None
    assert (nearer.right_px / 6, nearer.down_px / 6) == pytest.approx((2, -1), abs=0.5)
    there = against.follow(live(blurred(relit(posed(), ev=-0.3, across_ev=0.8), 1.2), seed=4))
    assert there is not None
    assert there.matches
    assert there.text == "Lies as the reference."


def test_picture_with_nothing_in_common_is_not_matched_and_not_followed() -> None:
    against = Against(reference(), MIDDLE, SCALES)
    other = live(photograph("camera.png", (WIDTH, HEIGHT)))
    assert against.match(other) is None
    assert against.follow(other) is None


def told(right_px: float = 0.0, down_px: float = 0.0, turn_deg: float = 0.0, scale: float = 1.0) -> Correction:
    return correction(Motion(right_px, down_px, turn_deg, scale), (HEIGHT, WIDTH), MIDDLE, SCALES)


@pytest.mark.parametrize(
    ("motion", "words"),
    [
        # content too far left: the camera goes left after it, 20 px · 0.02 mm
        ((-20, 0, -1.2, 1), "Camera 0.4 mm to the left, piece 1.2° clockwise."),
        ((20, 0, 0, 1), "Camera 0.4 mm to the right."),
        ((10, 15, 0, 1), "Camera 0.2 mm to the right, 0.3 mm down."),
        ((0, -15, 0.6, 1), "Camera 0.3 mm up, piece 0.6° anticlockwise."),
        ((0, 0, 0, 1.02), "Camera 2.0 mm back and focus again."),
        ((0.6, 0.6, 0.05, 1.001), "Lies as the reference."),
    ],
)
def test_words_say_who_goes_where(motion: tuple[float, float, float, float], words: str) -> None:
    assert told(*motion).text == words


def test_distance_follows_newtons_equation() -> None:
    """x = f/m from the front focal point: at 100 mm a picture 2 % too large was taken 100 − 100/1.02 mm too near."""
    assert told(scale=1.02).camera_back_mm == pytest.approx(100 - 100 / 1.02)
    assert told(scale=0.98).camera_back_mm == pytest.approx(100 - 100 / 0.98)


def test_turn_about_the_picture_moves_a_region_at_its_edge() -> None:
    edge = Region(0.9, 0.4, 0.1, 0.2)
    found = correction(Motion(turn_deg=2.0), (HEIGHT, WIDTH), edge, SCALES)
    assert found.down_px / 6 == pytest.approx(0.45 * WIDTH * np.sin(np.deg2rad(2)), rel=1e-6)


def test_without_a_scale_px_are_told() -> None:
    unknown = Scales(None, 6.0, None)
    found = correction(Motion(-20, 0, 0, 0.97), (HEIGHT, WIDTH), MIDDLE, unknown)
    assert found.camera_right_mm is None
    assert found.text == "Camera 120 px to the left, nearer and focus again."


def test_scales_are_those_of_sensor_and_ratio() -> None:
    found = scales_for(Arrangement(focal_length_mm=100, magnification=0.5), 36.0, 6000, 1024)
    assert found.mm_per_live_px == pytest.approx(36 / 1024 / 0.5)
    assert found.sensor_px_per_px == pytest.approx(6000 / 1024)
    assert found.front_focus_mm == pytest.approx(200)
    assert scales_for(Arrangement(), None, None, 1024).mm_per_live_px is None


def test_reference_is_cut_like_the_live_picture() -> None:
    tall = np.tile(np.arange(0, 200, dtype=np.uint8)[:, None], (1, 240))
    cut = as_live(tall, (60, 120))
    assert cut.shape == (60, 120)
    assert float(cut[0].mean()) == pytest.approx(40.5, abs=0.6)
    assert float(cut[-1].mean()) == pytest.approx(158.5, abs=0.6)


def test_blend_and_difference_show_both_pictures() -> None:
    one, other = np.full((40, 60), 80, np.uint8), np.full((40, 60), 120, np.uint8)
    assert blend(one, other, 0.25)[0, 0] == pytest.approx(110, abs=1)
    assert (difference(one, other) == 128).all()  # brightness alone is no difference
    other[10:20, 10:20] = 200
    shown = difference(one, other)
    assert shown[15, 15] > 150
    assert shown[30, 40] < 128
    with pytest.raises(ValueError, match="shapes differ"):
        difference(one, other[1:])
