"""The depth of field by how blur grows over a series, with frames of another lens than is reckoned with."""

import numpy as np
import pytest

from session.optics.arrangement import bare
from session.series.breathing import Planes
from session.series.depth_fit import energy_left
from session.series.depth_measured import DEPTH_DOUBT, depth_measured
from session.series.plane_frame import SCALES, PlaneFrame
from session.series.series_plan import ONE_FRAME_MM, SeriesLens

LENS = SeriesLens(bare(100, 4.0, 1.0), 4.4, 2.0)
DEPTH_MM = LENS.sharp(ONE_FRAME_MM).depth_mm
PLANES_MM = 0.75 * DEPTH_MM * np.arange(6)
FLAT = np.full((100, 150), 0.2, np.float32)


def frames_by(lens, depth_mm):
    """Frames of blocks at depths, (rows, columns), with detail as photographs have it, as a lens shows them."""
    noise = np.full((SCALES, *depth_mm.shape), 1e-4, np.float32)
    burnt, px = np.zeros(depth_mm.shape, np.float32), (8 * depth_mm.shape[1], 8 * depth_mm.shape[0])
    return [
        PlaneFrame(
            np.stack([energy_left(lens, 2.0, scale, 2.0, np.abs(depth_mm - plane)) for scale in range(SCALES)]) + noise,
            noise, burnt, FLAT, None, 2.0, px,
        )
        for plane in PLANES_MM
    ]  # fmt: skip


def leaning(rows=24, columns=40):
    return np.tile(np.linspace(0.2, 3.5, columns) * DEPTH_MM, (rows, 1))


def measured(lens, depth_mm, count=6):
    placed = Planes(tuple(PLANES_MM[:count]), (1.0,) * count, (0.01,) * (count - 1))
    return depth_measured(frames_by(lens, depth_mm)[:count], placed, LENS)


def test_a_lens_as_reckoned_with_agrees():
    found = measured(LENS, leaning())
    assert found.measured_mm == pytest.approx(DEPTH_MM, rel=DEPTH_DOUBT)
    assert found.planned_mm == DEPTH_MM
    assert not found.differs


def test_another_pupil_shows_in_the_depth_and_tells_the_effective_f_number():
    pupil = 0.7
    true = SeriesLens(bare(100, 4.0, 1.0, pupil), 4.4, 2.0)
    found = measured(true, leaning())
    assert found.differs
    # N (1 + m/P), the true lens's
    assert found.measured_mm == pytest.approx(true.sharp(ONE_FRAME_MM).depth_mm, rel=0.05)
    assert found.effective_f_number == pytest.approx(4 * (1 + 1 / pupil), rel=0.03)


def test_places_at_the_edges_of_steps_and_short_series_tell_nothing():
    steps = np.where(np.indices((24, 40)).sum(axis=0) // 2 % 2, 0.5, 3.0) * DEPTH_MM
    assert measured(LENS, steps) is None
    assert measured(LENS, leaning(), 4) is None
    assert measured(LENS, leaning(8, 8)) is None
