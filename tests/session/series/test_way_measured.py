"""What a step of the drive is worth, by size, by blur, by both; and its play."""

import numpy as np
import pytest
from PIL import Image

from session.optics.arrangement import bare
from session.series.breathing import size_at
from session.series.depth_fit import energy_left
from session.series.plane_frame import SCALES, PlaneFrame, live_plane_frame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens
from session.series.way_measured import Way, WayMeasured, backlash, measure_way, way_by_size

LENS = SeriesLens(bare(100, 2.8, 1.0), 8.0, 1.0)
DEPTH_MM = LENS.sharp(ONE_FRAME_MM).depth_mm
STEP_MM = 0.0021
PLACES = [round(number * 0.7 * DEPTH_MM / STEP_MM) for number in range(6)]
PATTERN = np.random.default_rng(3).integers(30, 220, (40, 56)).astype(np.uint8)


WIDE = SeriesLens(bare(100, 2.8, 1.0), 30.0, 1.0)


def of_size(size):
    picture = Image.fromarray(PATTERN).resize((560, 400), Image.Resampling.BICUBIC)
    place = (1 / size, 0.0, 280 * (1 - 1 / size), 0.0, 1 / size, 200 * (1 - 1 / size))
    return live_plane_frame(np.asarray(picture.transform((560, 400), Image.Transform.AFFINE, place, 3)), 560)


def of_blur(plane_mm):
    """A frame of cells at many depths, with detail as photographs have it."""
    depth_mm = np.linspace(0.5, 3.0, 16 * 16).reshape(16, 16) * DEPTH_MM
    detail = [energy_left(LENS, 1.0, scale, 2.0, np.abs(depth_mm - plane_mm)) for scale in range(SCALES)]
    noise = np.full((SCALES, 16, 16), 1e-4, np.float32)
    flat = np.full((100, 150), 0.2, np.float32)
    return PlaneFrame(np.stack(detail) + noise, noise, np.zeros((16, 16), np.float32), flat, None, 1.0, (128, 128))


def test_a_step_is_worth_what_the_size_says():
    places, step_mm = list(range(0, 540, 60)), 0.0067
    frames = [of_size(size_at(WIDE.lens, step_mm * (place - 240), by_rail=False)) for place in places]
    found = way_by_size(places, frames, WIDE, by_rail=False)
    assert found.mm_per_place == pytest.approx(step_mm, rel=0.03)
    assert found.sd_share >= 0.04


def test_where_size_tells_nothing_blur_is_taken():
    found = measure_way(PLACES, [of_blur(STEP_MM * place) for place in PLACES], LENS, by_rail=False)
    assert found.by_size is None
    assert found.way == found.by_blur
    assert found.way.mm_per_place == pytest.approx(STEP_MM, rel=0.1)
    assert not found.contradicted


def test_a_lens_that_is_no_simple_one_shows_in_the_difference():
    assert not WayMeasured(Way(0.01, 0.001), Way(0.01, 0.0004), Way(0.013, 0.002)).contradicted
    assert WayMeasured(Way(0.01, 0.001), Way(0.01, 0.0004), Way(0.02, 0.003)).contradicted


def test_play_is_the_way_between_the_tops_out_and_back():
    found = backlash(112.0, 0.3, 82.0, 0.4)
    assert found.steps == 30
    assert found.sd_steps == pytest.approx(0.5)


@pytest.mark.parametrize(("places", "words"), [([0, 1, 2], "five places"), ([0, 1, 2, 2, 3], "must rise")])
def test_what_is_no_sweep_is_refused(places, words):
    with pytest.raises(ValueError, match=words):
        measure_way(places, [of_blur(0.0)] * len(places), LENS, by_rail=False)
