"""Focus series against worked values and step-by-step recursion. Sources: SOURCES.md."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics import aperture, steps
from tests.support.paraxial_trace import TwoLenses, travel


@pytest.mark.parametrize(("one", "overlap", "step"), [(1.32, 0.2, 1.056), (3.96, 0.25, 2.97)], ids=["B1a", "B1b"])
def test_step_is_the_depth_less_the_overlap(one: float, overlap: float, step: float) -> None:
    # B1. Common practice, no source; computed.
    assert steps.focus_steps(10, one, overlap).step_mm == pytest.approx(step, rel=1e-12)


@pytest.mark.parametrize(
    ("relief", "one", "overlap", "frames"),
    [
        (10, 1.32, 0.2, 10),
        (10, 1.32, 0, 8),
        (5, 0.36, 0.3, 20),
        (20, 3.96, 0.25, 7),
        (1.32, 1.32, 0.25, 1),
        (1.33, 1.32, 0.25, 2),
    ],
    ids=["B2a", "B2b", "B2c", "B2d", "B2e", "B2f"],
)
def test_frames_that_cover_a_relief(relief: float, one: float, overlap: float, frames: int) -> None:
    # B2. Covering argument, counted out here: put the frames down one by one until the far end is reached.
    covered, count = one, 1
    while covered < relief - 1e-9:
        covered += one * (1 - overlap)
        count += 1
    assert count == frames
    assert steps.focus_steps(relief, one, overlap).frames == frames


@pytest.mark.parametrize(
    ("relief", "one", "overlap", "span"), [(10, 1.32, 0.2, 10.824), (20, 3.96, 0.25, 21.78)], ids=["B3a", "B3b"]
)
def test_span_of_a_series(relief: float, one: float, overlap: float, span: float) -> None:
    # B3. Covering argument.
    assert steps.focus_steps(relief, one, overlap).span_mm == pytest.approx(span, rel=1e-12)


def test_b3_round_off_costs_no_frame() -> None:
    # B3. The quotient is 3.0000000000000004 in floats and still means four frames.
    one, overlap = 0.36, 0.3
    relief = one + 3 * 0.252
    assert (relief - one) / 0.252 > 3
    assert steps.focus_steps(relief, one, overlap).frames == 4


def test_b5_ring_step_at_the_sensor() -> None:
    # B5. [2] Smith, eqs 9.7 and 9.8; at m = 1 the step on the piece is as long.
    assert steps.ring_step_mm(22, 0.03, 0.2) == pytest.approx(1.056, rel=1e-12)


def test_b6_size_changes_over_a_ring_series() -> None:
    # B6. Exact, where the small-step rule says 10 mm of ring travel.
    far = steps.refocus(100, 1, 10)
    assert far.magnification == pytest.approx(100 / 110, abs=1e-6)
    assert 100 * (1 - far.scale) == pytest.approx(9.1, abs=0.05)
    assert far.ring_shift_mm == pytest.approx(200 - 190.909, abs=1e-3)
    assert far.ring_shift_mm == pytest.approx(9.091, abs=5e-4)
    # what stays where it is shrinks with the image distance only, 190.909/200: the ratio is that of the new plane
    assert far.still_scale == pytest.approx(190.909 / 200, abs=5e-6)


@settings(max_examples=60)
@given(
    first=st.floats(30, 120),
    second=st.floats(30, 120),
    gap=st.floats(5, 25),
    stop=st.floats(0.1, 0.9),
    m=st.floats(0.1, 4),
    farther=st.floats(0, 50),
)
def test_thing_that_stays_shrinks_as_chief_rays_say(
    first: float, second: float, gap: float, stop: float, m: float, farther: float
) -> None:
    # Derived; the ray from a point beside the axis through the middle of the stop, to both places of the sensor.
    system = TwoLenses(first, second, gap, stop * gap)
    f, pupil = system.focal_length_mm, system.pupil_magnification
    before, behind = system.distances_mm(m)
    assume(before > 25)
    moved = steps.refocus(f, m, farther, pupil)
    to_stop = system.before_stop @ travel(before)
    ray = [1.0, -to_stop[0, 0] / to_stop[0, 1]]
    through = system.matrix @ travel(before) @ ray
    size, new_size = (through[0] + distance * through[1] for distance in (behind, behind - moved.ring_shift_mm))
    assert moved.still_scale == pytest.approx(new_size / size, rel=1e-9)
    assert system.distances_mm(moved.magnification)[0] == pytest.approx(before + farther, rel=1e-9)


def test_b7_ring_series_agrees_with_a_recursion_in_image_distances() -> None:
    # B7. The same series stepped here in v by the lens equation and the classical far limit.
    f, n, c, overlap = 100.0, 11.0, 0.03, 0.2
    image, count = 200.0, 0
    while True:
        count += 1
        subject = 1 / (1 / f - 1 / image)
        far = subject * f * f / (f * f - n * c * (subject - f))
        if far >= 210:
            break
        image -= 2 * n * (image / f) * c * (1 - overlap)
    series = steps.ring_series(f, n, 1, c, 10, overlap)
    assert len(series) == count == 10
    last = series[-1]
    assert last.subject_distance_mm == pytest.approx(subject, rel=1e-12)
    assert last.far_limit_mm == pytest.approx(far, rel=1e-12)
    assert last.subject_distance_mm == pytest.approx(210.261, abs=5.1e-4)
    assert last.far_limit_mm == pytest.approx(211.028, abs=5.1e-4)
    assert last.magnification == pytest.approx(0.90694, abs=5.1e-6)


def test_b8_diffraction_limited_step() -> None:
    # B8. Quarter-wave depth in place of the geometric one.
    one = aperture.quarter_wave_depth_mm(22, 1)
    assert steps.focus_steps(10, one, 0).step_mm == pytest.approx(1.065, abs=5e-4)
