"""The planner's questions about a lens: their numbers against closed forms, and which are None without an input."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.plan.lens_answers import Answer, depth_answer, lens_answer, shake_answer, steps_answer

RATIO = st.floats(0.05, 5)


def number(answer: Answer, name: str) -> float:
    value = answer[name]
    assert isinstance(value, float | int)
    return float(value)


@settings(max_examples=25)
@given(st.floats(1.4, 22), RATIO)
def test_light_lost_close_up_is_that_of_one_plus_the_ratio(f_number: float, ratio: float) -> None:
    answer = depth_answer(100, f_number, ratio, 0.03)
    assert number(answer, "effective_f_number") == pytest.approx(f_number * (1 + ratio))
    assert number(answer, "exposure_increase_ev") == pytest.approx(2 * math.log2(1 + ratio))


@settings(max_examples=25)
@given(st.floats(2.8, 16), st.floats(0.2, 2), st.floats(0.005, 0.05))
def test_depth_is_that_of_the_close_up_formula(f_number: float, ratio: float, circle: float) -> None:
    answer = depth_answer(100, f_number, ratio, circle)
    # 2·N·c·(m + 1)/m², close up, where the circle is small beside the pupil's image
    assert number(answer, "depth_mm") == pytest.approx(2 * f_number * circle * (ratio + 1) / ratio**2, rel=0.02)
    assert number(answer, "near_mm") + number(answer, "far_mm") == pytest.approx(number(answer, "depth_mm"))
    assert number(answer, "depth_with_diffraction_mm") >= 0


def test_the_airy_disc_is_two_point_four_wavelengths_times_the_f_number() -> None:
    answer = depth_answer(100, 8, 1.0, 0.03, wavelength_um=0.55)
    assert number(answer, "airy_diameter_um") == pytest.approx(2.44 * 0.55 * 16, rel=2e-3)
    assert number(answer, "airy_diameter_on_piece_um") == pytest.approx(number(answer, "airy_diameter_um"))
    halved = depth_answer(100, 8, 0.5, 0.03, wavelength_um=0.55)
    assert number(halved, "airy_diameter_on_piece_um") == pytest.approx(2 * number(halved, "airy_diameter_um"))


def test_far_away_all_is_sharp_to_infinity() -> None:
    assert number(depth_answer(28, 16, 0.001, 0.03), "far_mm") == math.inf


def test_the_best_stop_is_only_told_for_a_depth_that_is_needed() -> None:
    asked, unasked = (depth_answer(100, 8, 1.0, 0.03, depth_needed_mm=depth) for depth in (2.0, None))
    assert (unasked["best_f_number"], unasked["best_blur_mm"]) == (None, None)
    assert number(asked, "best_f_number") > 0
    assert {name: asked[name] for name in asked if not name.startswith("best")} == {
        name: unasked[name] for name in unasked if not name.startswith("best")
    }


@settings(max_examples=25)
@given(st.floats(0.2, 20), st.floats(0.2, 3), st.floats(2, 22))
def test_the_best_stop_is_the_pieces_whatever_stop_is_set(depth_mm: float, ratio: float, f_number: float) -> None:
    one, other = (depth_answer(100, stop, ratio, 0.03, depth_needed_mm=depth_mm) for stop in (8, f_number))
    for name in ("best_f_number", "best_blur_mm", "most_depth_f_number", "most_depth_mm"):
        assert number(other, name) == pytest.approx(number(one, name))


def test_a_second_lens_reversed_before_it_sets_the_ratio_by_the_focal_lengths() -> None:
    stacked = depth_answer(200, 5.6, 0.5, 0.03, front_focal_length_mm=50, front_f_number=1.8)
    alone = depth_answer(200, 5.6, 0.5, 0.03)
    assert stacked["airy_diameter_on_piece_um"] == pytest.approx(number(stacked, "airy_diameter_um") / 4)
    assert number(stacked, "depth_mm") < number(alone, "depth_mm") / 10
    without_its_stop = depth_answer(200, 5.6, 0.5, 0.03, front_focal_length_mm=50)
    assert without_its_stop == alone


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"focal_length_mm": 0.0}, r"focal_length_mm is 0 mm"),
        ({"f_number": 0.1}, r"f_number is 0\.1"),
        ({"magnification": -1.0}, r"magnification is -1"),
        ({"blur_circle_mm": 0.0}, r"blur_circle_mm is 0 mm"),
        ({"wavelength_um": math.nan}, r"wavelength_um is not a number"),
        ({"depth_needed_mm": -2.0}, r"is -2 mm, but must be from"),
    ],
)
def test_depth_refuses_what_cannot_be_meant(change: dict[str, float], said: str) -> None:
    given_ = {"focal_length_mm": 100.0, "f_number": 8.0, "magnification": 1.0, "blur_circle_mm": 0.03, **change}
    with pytest.raises(ValueError, match=said):
        depth_answer(**given_)  # type: ignore[arg-type]


@settings(max_examples=25)
@given(st.floats(1.2, 8), st.floats(0.2, 1.0), st.floats(0.3, 3))
def test_a_lens_that_measures_as_counted_keeps_its_pupil(widest: float, ratio: float, pupil: float) -> None:
    answer = lens_answer(widest, 1.0, ratio, pupil, 0.0)
    assert number(answer, "pupil_magnification") == pytest.approx(pupil)
    assert number(answer, "effective_f_number") == pytest.approx(widest * (1 + ratio / pupil))
    assert number(answer, "closest_effective_f_number") == pytest.approx(widest * (1 + 1 / pupil))


@settings(max_examples=25)
@given(st.floats(-0.5, 0.9))
def test_a_brighter_frame_is_a_brighter_lens_by_as_many_stops(brighter_ev: float) -> None:
    counted, shown = (number(lens_answer(2.8, 1, 1, 1, ev), "effective_f_number") for ev in (0.0, brighter_ev))
    assert 2 * math.log2(counted / shown) == pytest.approx(brighter_ev)


@settings(max_examples=25)
@given(st.floats(0, 50), st.floats(0.05, 5), st.floats(0, 0.8))
def test_the_planes_of_a_series_lie_evenly_and_cover_the_piece(relief: float, depth: float, overlap: float) -> None:
    assume(relief / depth < 200)
    answer = steps_answer(relief, depth, overlap)
    planes = answer["planes_mm"]
    assert isinstance(planes, list)
    assert len(planes) == answer["frames"]
    assert planes[0] - depth / 2 <= 1e-9
    assert planes[-1] + depth / 2 >= relief - 1e-9
    gaps = [far - near for near, far in pairwise(planes)]
    assert all(gap == pytest.approx(number(answer, "step_mm")) for gap in gaps)
    assert (answer["ring_frames"], answer["ring_scale"], answer["ring_still_scale"]) == (None, None, None)


def test_by_the_ring_the_pictures_of_a_series_change_in_size() -> None:
    answer = steps_answer(10, 1.0, 0.25, 100, 8, 0.5, 0.03)
    assert number(answer, "ring_frames") > 1
    assert 0 < number(answer, "ring_scale") < 1  # focused farther away, all is smaller
    flat = steps_answer(0, 1.0, 0.25, 100, 8, 0.5, 0.03)
    assert (flat["ring_frames"], flat["ring_scale"], flat["ring_still_scale"]) == (1, 1.0, 1.0)
    assert steps_answer(10, 1.0, 0.25, 100, 8, 0.5)["ring_frames"] is None  # one of the four wasn't given


@settings(max_examples=25)
@given(st.floats(0.5, 100), st.floats(0.001, 0.3), st.floats(0, 20))
def test_what_is_left_of_a_swing_is_an_exponential(hz: float, damping: float, delay_s: float) -> None:
    answer = shake_answer(hz, damping, delay_s, amplitude_um=40)
    assert number(answer, "share_left") == pytest.approx(math.exp(-2 * math.pi * hz * damping * delay_s))
    assert number(answer, "amplitude_left_um") == pytest.approx(40 * number(answer, "share_left"))
    after = shake_answer(hz, damping, number(answer, "delay_for_one_percent_s"))
    assert number(after, "share_left") == pytest.approx(0.01)


GIVEN = {"amplitude_um": 40.0, "exposure_s": 0.002, "magnification": 1.0, "pixel_pitch_um": 4.0, "blur_px": 0.5}
TOLD_WITH = ("amplitude_left_um", "smear_um", None, "smear_px", "hold_off_s")


@pytest.mark.parametrize("count", range(6))
def test_shake_tells_only_what_its_inputs_allow(count: int) -> None:
    answer = shake_answer(12, 0.03, 0.5, **dict(list(GIVEN.items())[:count]))
    told = {name for name in TOLD_WITH[:count] if name is not None}
    assert {name for name in TOLD_WITH if name is not None and answer[name] is not None} == told


def test_after_the_hold_off_the_smear_is_just_what_was_allowed() -> None:
    wait_s = number(shake_answer(12, 0.03, 0.0, **GIVEN), "hold_off_s")
    assert wait_s > 0
    assert number(shake_answer(12, 0.03, wait_s, **GIVEN), "smear_px") == pytest.approx(0.5)
