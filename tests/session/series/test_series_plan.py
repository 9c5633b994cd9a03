"""The planes of a focus series: the planner's and the rules' own count, covering what was asked."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from session.optics.arrangement import bare
from session.optics.depth import depth_of_lens
from session.optics.sharpness import sharp_series
from session.optics.steps import EndlessSeriesError, planes_of_focus_mm
from session.series.series_plan import (
    SeriesLens,
    series_lens,
    series_of_count,
    series_over,
    time_needed_s,
)
from session.set.kit import Body, Kit, Plate
from session.set.setup import Arrangement, PassiveItem, Revision, Settings

LENS = SeriesLens(bare(100, 8.0, 1.0), 4.4, 2.0)
BODY = Body(
    name="b", sensor_width_mm=36, sensor_height_mm=24, pixels_across=8256, pixels_down=5504, sync_time_s=1 / 200
)


def test_a_series_is_the_planners_and_covers_the_relief():
    plan = series_over(6.0, LENS)
    circle_mm = 2 * 2.0 * 0.0044  # a diameter of two radii of 2 px of 4.4 µm
    shared = sharp_series(6.0, 16.0, 1.0, circle_mm)
    assert plan.sharp == shared
    assert plan.planes_mm == pytest.approx(planes_of_focus_mm(6.0, shared.depth_mm))
    assert plan.near_mm <= 0
    assert plan.far_mm >= 6.0


def test_the_step_stays_under_the_depth_of_geometry_by_a_quarter():
    plan = series_over(6.0, LENS)
    geometric = depth_of_lens(LENS.lens, 4 * 0.0044).depth_mm
    assert plan.step_mm == pytest.approx(0.75 * plan.sharp.depth_mm)
    assert plan.step_mm < 0.75 * geometric


@given(st.floats(0.01, 20))
@settings(max_examples=30)
def test_both_ends_of_the_depth_are_sharp(deep_mm):
    plan = series_over(deep_mm, LENS)
    assert plan.near_mm <= 1e-9
    assert plan.far_mm >= deep_mm - 1e-9
    assert np.all(np.diff(plan.planes_mm) > 0)


@pytest.mark.parametrize("frames", [1, 2, 7])
def test_a_count_reaches_as_far_as_a_depth_that_takes_as_many(frames):
    plan = series_of_count(frames, LENS)
    assert len(plan.planes_mm) == plan.sharp.steps.frames == frames
    assert plan.near_mm == pytest.approx(0.0)
    assert len(series_over(plan.far_mm * (1 - 1e-9), LENS).planes_mm) == frames
    assert len(series_over(plan.far_mm + 1e-6, LENS).planes_mm) == frames + 1


@pytest.mark.parametrize("frames", [0, -1, 10_001])
def test_no_count_beyond_what_anybody_would_take(frames):
    with pytest.raises(EndlessSeriesError, match="from 1 to 10000"):
        series_of_count(frames, LENS)


def test_diffraction_beyond_the_limit_is_told():
    plan = series_over(10.0, SeriesLens(bare(100, 22.0, 1.0), 4.4, 0.5))
    assert plan.sharp.by_diffraction
    assert len(plan.planes_mm) > 1


def test_lens_and_sensor_of_a_set_up():
    revision = Revision(settings=Settings(f_number=8.0), arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0)
    assert series_lens(revision, Kit(), BODY).sharp(6.0) == SeriesLens(bare(100, 8.0, 1.0), 36000 / 8256, 2.0).sharp(
        6.0
    )
    with pytest.raises(ValueError, match="how large its pixels are"):
        series_lens(revision, Kit(), None)
    with pytest.raises(ValueError, match="no f-number"):
        series_lens(Revision(settings=Settings(f_number=None)), Kit(), BODY)


def test_the_glass_counts_with_a_pixel_pitch_that_is_given_too():
    kit = Kit(plate=(Plate(name="slab", thickness_mm=10.0),))
    settings = Settings(f_number=8.0)
    bare_set = Revision(settings=settings, arrangement=Arrangement(magnification=1.0), blur_limit_px=2.0)
    behind = replace(bare_set, passive=(PassiveItem("plate", "slab"),))
    by_body, by_pitch = series_lens(behind, kit, BODY), series_lens(behind, kit, None, 36000 / 8256)
    assert by_pitch == by_body
    assert by_pitch.astigmatism_mm > 1
    assert series_lens(bare_set, kit, None, 4.4).astigmatism_mm == 0


def test_time_is_what_waits_longest_between_frames():
    # flash slower: 2 + 3·0.005 + 2·5 + 1; hands slower: 2 + 3·0.005 + 2·(1 + 20 + 2) + 1
    assert time_needed_s(3, 5.0, 2.0, 1.0, 1.0, 0.005) == pytest.approx(13.015)
    assert time_needed_s(3, 5.0, 2.0, 1.0, 20.0, 0.005) == pytest.approx(49.015)
    with pytest.raises(ValueError, match="recycling"):
        time_needed_s(3, -1.0, 2.0, 1.0, 1.0, 0.005)
