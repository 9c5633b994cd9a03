"""The map of a series against the heights of the simulated table, whole and with a frame left out."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest

from session.series.coverage_map import (
    CELL_BLOCKS,
    COVERED,
    GAP,
    MOST_CELLS_ACROSS,
    SPECTRUM_POWERS,
    UNKNOWN,
    Coverage,
    coverage,
    gaps,
)
from tests.support.focus_series import LIMIT_PX
from tests.support.series_truth import by_cells, measured, true_map


def test_a_whole_series_covers_and_tells_the_depths(shot):
    _, found, missing = measured(shot, [0, 1, 2, 3])
    assert missing == ()
    assert found.covered_share > 0.98
    assert found.unknown_share < 0.3
    true = true_map(shot, 2)
    depth = np.median(by_cells(true.depth_mm, found), axis=2) - shot.true_mm[0]
    told = found.state != UNKNOWN
    assert (np.abs(found.depth_mm - depth)[told] < shot.plan.step_mm / 2).mean() > 0.97
    away_mm = np.abs(found.depth_mm[..., None] - np.array(found.planes_mm)).min(axis=2)
    assert away_mm[found.state == COVERED].max() < 1.3 * found.frame_depth_mm / 2


def test_a_frame_left_out_is_a_gap_between_its_neighbours_and_one_more_mends_it(shot):
    _, found, missing = measured(shot, [0, 1, 3])
    planes = np.array(shot.true_mm)[[0, 1, 3]]
    true = true_map(shot, 1)
    off_mm = np.abs(true.depth_mm[None] - planes[:, None, None]).min(axis=0)
    blurred = np.median(by_cells(shot.table.total_blur_px(off_mm), found), axis=2) > LIMIT_PX
    assert blurred[found.state == GAP].mean() > 0.85
    assert not blurred[found.state == COVERED].any()
    between = max(missing, key=lambda gap: gap.share)
    assert (between.after, between.frames) == (1, 1)


def test_an_end_left_out_is_a_gap_beyond(shot):
    _, _, missing = measured(shot, [0, 1, 2])
    (beyond,) = missing
    assert beyond.after == 2
    assert beyond.near_mm > shot.true_mm[2] - shot.true_mm[0]


def test_the_same_frames_far_first_give_the_same_map(shot):
    frames, found, _ = measured(shot, [0, 1, 2])
    sizes = [shot.table.scale_at(shot.true_mm[number]) / shot.table.scale_at(shot.true_mm[1]) for number in range(3)]
    there = coverage(frames, found.planes_mm, sizes, shot.lens)
    back = coverage(frames[::-1], found.planes_mm[::-1], sizes[::-1], shot.lens)
    assert np.array_equal(there.state, back.state)
    assert there.depth_mm == pytest.approx(back.depth_mm, abs=1e-3, nan_ok=True)


def test_places_without_detail_are_never_covered(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    bare = [replace(frame, detail=frame.noise.copy()) for frame in frames]
    nothing = coverage(bare, found.planes_mm, [1.0] * 4, shot.lens)
    assert (nothing.state == UNKNOWN).all()
    assert nothing.covered_share == 0
    assert gaps(nothing, shot.plan.step_mm) == ()


def test_what_is_burnt_cant_be_told(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    burnt = [replace(frame, burnt=np.ones_like(frame.burnt)) for frame in frames]
    assert (coverage(burnt, found.planes_mm, [1.0] * 4, shot.lens).state == UNKNOWN).all()


def test_one_frame_or_frames_of_two_sizes_make_no_series(shot):
    frames, _, _ = measured(shot, [0, 1])
    with pytest.raises(ValueError, match="1 frame makes no series"):
        coverage(frames[:1], [0.0], [1.0], shot.lens)
    with pytest.raises(ValueError, match="differ in size"):
        coverage([frames[0], replace(frames[1], detail=frames[1].detail[:, 1:])], [0.0, 1.0], [1.0, 1.0], shot.lens)


TIMES = 9
"""The small picture laid beside itself so often makes a map as large as any."""


def test_a_map_takes_no_more_room_than_a_few_cells_depths_at_a_time(shot):
    """Depths for all cells at once would take as much for each power of detail, and as much again to count with."""
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    _, rows, columns = frames[0].detail.shape
    assert TIMES * columns // CELL_BLOCKS <= MOST_CELLS_ACROSS
    wide = [
        replace(frame, **{name: _tiled(getattr(frame, name)) for name in ("detail", "noise", "burnt")})
        for frame in frames
    ]
    planes = [0.5 * number for number in range(4)]
    depths = 8 * (1.5 / found.frame_depth_mm + 4)
    cells = (TIMES * rows // CELL_BLOCKS) * (TIMES * columns // CELL_BLOCKS)
    tracemalloc.start()
    try:
        coverage(wide, planes, [1.0] * 4, shot.lens)
        _, most_bytes = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most_bytes < len(SPECTRUM_POWERS) * depths * cells * 4


def _tiled(blocks):
    return np.tile(blocks, (TIMES, TIMES) if blocks.ndim == 2 else (1, TIMES, TIMES))


def test_gaps_are_counted_in_frames_of_the_step():
    # planes at 0, 1 and 4 mm, 1 mm apart: two are missing between the last two; cells at 6.2 mm lie 1.7 mm beyond
    # what the last frame has sharp, which takes two
    depth = np.full((10, 10), 0.5, np.float32)
    depth[2], depth[3] = 2.5, 6.2
    state = np.where(np.isin(depth, np.array([2.5, 6.2], np.float32)), GAP, COVERED).astype(np.uint8)
    found = Coverage((0.0, 1.0, 4.0), depth, state, 1.0, 48.0)
    between, beyond = gaps(found, 1.0)
    assert (between.after, between.frames, between.share) == (1, 2, pytest.approx(0.1))
    assert (beyond.after, beyond.frames) == (2, 2)
    assert between.middle == pytest.approx((0.5, 0.25))
