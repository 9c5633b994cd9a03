"""Focus series: every point of the relief lies in some frame, and one frame fewer would leave a gap."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from session.optics.steps import (
    MOST_FRAMES,
    EndlessSeriesError,
    focus_steps,
    planes_of_focus_mm,
    refocus,
    ring_series,
    ring_step_mm,
)
from session.units.quantities import RefusedNumberError
from session.units.refusals import ImpossibleNumbersError

overlaps = st.floats(0, 0.9)
quick = settings(max_examples=60)


@quick
@given(relief=st.floats(0, 20), depth=st.floats(0.05, 5), overlap=overlaps)
def test_the_planes_cover_the_relief_with_the_overlap_and_one_frame_fewer_does_not(
    relief: float, depth: float, overlap: float
) -> None:
    series, planes = focus_steps(relief, depth, overlap), planes_of_focus_mm(relief, depth, overlap)
    assert len(planes) == series.frames
    assert planes[0] - depth / 2 <= 1e-6 and planes[-1] + depth / 2 >= relief - 1e-6, "both ends are sharp"
    for nearer, farther in pairwise(planes):
        assert farther - nearer == pytest.approx(depth * (1 - overlap)), "and no gap between"
    assert planes[0] + planes[-1] == pytest.approx(relief), "the surplus is shared by both ends"
    assert series.span_mm >= relief - 1e-6
    if series.frames > 1:
        fewer = depth + (series.frames - 2) * depth * (1 - overlap)
        assert fewer < relief + 1e-6


@pytest.mark.parametrize(
    ("relief", "depth", "overlap", "frames"),
    [(1.0, 1.0, 0.25, 1), (1.0 + 1e-6, 1.0, 0.25, 2), (1.75, 1.0, 0.25, 2), (1.7500001, 1.0, 0.25, 3), (0, 0.1, 0, 1)],
    ids=["just one", "just more than one", "just two", "just more than two", "flat"],
)
def test_a_frame_more_is_asked_for_just_where_the_last_does_not_reach(
    relief: float, depth: float, overlap: float, frames: int
) -> None:
    assert focus_steps(relief, depth, overlap).frames == frames


def test_rounding_of_floats_costs_no_frame() -> None:
    """0.36 and four steps of 0.252: the quotient comes out as 3.0000000000000004."""
    assert focus_steps(0.36 + 3 * 0.252, 0.36, 0.3).frames == 4


def test_a_single_frame_has_no_step_and_spans_its_depth() -> None:
    one = focus_steps(0.5, 2.0)
    assert (one.frames, one.step_mm, one.span_mm) == (1, 0.0, 2.0)


def test_an_absurdly_long_series_is_a_slip_and_refused_with_its_length() -> None:
    depth = 0.5
    longest = focus_steps(depth + (MOST_FRAMES - 1) * depth / 2, depth, 0.5)
    assert longest.frames == MOST_FRAMES
    with pytest.raises(EndlessSeriesError) as refused:
        focus_steps(5000, 0.01, 0.25)
    assert str(refused.value).startswith("relief_mm is 5000 mm, but at a depth of 0.01 mm that takes 666667 frames")
    assert str(refused.value).endswith(f"at most {MOST_FRAMES} make a series.")


@quick
@given(f=st.floats(40, 150), n=st.floats(4, 16), m=st.floats(0.3, 2), behind=st.floats(0.5, 10))
def test_a_ring_series_leaves_no_gap_and_its_steps_grow_on_the_piece(
    f: float, n: float, m: float, behind: float
) -> None:
    planes = ring_series(f, n, m, 0.02, behind)
    assume(len(planes) < 200)
    first, last = planes[0], planes[-1]
    assert first.magnification == pytest.approx(m)
    assert last.far_limit_mm >= first.subject_distance_mm + behind - 1e-6
    for nearer, farther in pairwise(planes):
        assert farther.near_limit_mm < nearer.far_limit_mm, "they overlap"
        assert farther.magnification < nearer.magnification
    steps = [b.subject_distance_mm - a.subject_distance_mm for a, b in pairwise(planes)]
    assert all(later >= earlier for earlier, later in pairwise(steps))


def test_a_ring_series_that_never_arrives_is_refused_with_the_opening() -> None:
    with pytest.raises((ImpossibleNumbersError, EndlessSeriesError)) as refused:
        ring_series(50, 1.4, 5.0, 0.001, 5000)
    assert "behind_mm is 5000 mm" in str(refused.value) and "f/1.4" in str(refused.value)


@quick
@given(n=st.floats(1, 60), c=st.floats(0.002, 0.1), overlap=overlaps)
def test_the_step_at_the_sensor_is_both_cones_of_the_circle_without_the_overlap(
    n: float, c: float, overlap: float
) -> None:
    """A cone of 1/N reaches the diameter c at N·c on either side of focus."""
    assert ring_step_mm(n, c, overlap) == pytest.approx(2 * (n * c) * (1 - overlap))


@quick
@given(f=st.floats(20, 200), m=st.floats(0.05, 3), farther=st.floats(0.01, 50), p=st.floats(0.5, 2))
def test_refocusing_agrees_with_the_lens_equation_at_both_planes(f: float, m: float, farther: float, p: float) -> None:
    turned = refocus(f, m, farther, p)
    before_mm, after_mm = (1 / (1 / f - 1 / u) for u in (f * (1 + 1 / m), f * (1 + 1 / m) + farther))
    assert turned.ring_shift_mm == pytest.approx(before_mm - after_mm, rel=1e-6, abs=1e-9)
    assert turned.magnification == pytest.approx(after_mm / (f * (1 + 1 / m) + farther), rel=1e-6)
    assert turned.scale <= turned.still_scale <= 1, "what has not moved shrinks less than the plane's own scale"
    assert math.isclose(refocus(f, m, 0, p).scale, 1)


def test_nothing_is_refocused_at_infinity() -> None:
    with pytest.raises(RefusedNumberError, match="a piece at infinity has no size"):
        refocus(50, 0, 10)
