"""The map of a series against the heights of the simulated table, whole and with a frame left out."""

import tracemalloc
from dataclasses import replace

import numpy as np
import pytest

from session.series.breathing import Planes
from session.series.coverage_map import (
    COVERED,
    GAP,
    UNKNOWN,
    Coverage,
    Stretch,
    _beyond,
    coverage,
    gaps,
)
from session.series.depth_fit import CELL_BLOCKS, KINDS, MOST_CELLS_ACROSS
from tests.support.focus_series import LIMIT_PX
from tests.support.series_truth import by_cells, measured, true_map


def placed(planes_mm, scales=None):
    return Planes(tuple(planes_mm), tuple(scales or [1.0] * len(planes_mm)), (0.02,) * (len(planes_mm) - 1))


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
    there = coverage(frames, placed(found.planes_mm, sizes), shot.lens)
    back = coverage(frames[::-1], placed(found.planes_mm[::-1], sizes[::-1]), shot.lens)
    assert np.array_equal(there.state, back.state)
    assert there.depth_mm == pytest.approx(back.depth_mm, abs=1e-3, nan_ok=True)


def test_places_without_detail_are_never_covered(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    bare = [replace(frame, detail=frame.noise.copy()) for frame in frames]
    nothing = coverage(bare, placed(found.planes_mm), shot.lens)
    assert (nothing.state == UNKNOWN).all()
    assert nothing.covered_share == 0
    assert gaps(nothing, shot.plan.step_mm) == ()


def test_what_is_burnt_cant_be_told(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    burnt = [replace(frame, burnt=np.ones_like(frame.burnt)) for frame in frames]
    assert (coverage(burnt, placed(found.planes_mm), shot.lens).state == UNKNOWN).all()


def test_one_frame_or_frames_of_two_sizes_make_no_series(shot):
    frames, _, _ = measured(shot, [0, 1])
    with pytest.raises(ValueError, match="1 frame makes no series"):
        coverage(frames[:1], placed([0.0]), shot.lens)
    with pytest.raises(ValueError, match="differ in size"):
        coverage([frames[0], replace(frames[1], detail=frames[1].detail[:, 1:])], placed([0.0, 1.0]), shot.lens)


TIMES = 6
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
        coverage(wide, placed(planes), shot.lens)
        _, most_bytes = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most_bytes < len(KINDS) * depths * cells * 4


def _tiled(blocks):
    return np.tile(blocks, (TIMES, TIMES) if blocks.ndim == 2 else (1, TIMES, TIMES))


def map_of(planes_mm, stretches):
    cells = np.full((4, 4), COVERED, np.uint8)
    return Coverage(planes_mm, np.zeros((4, 4), np.float32), cells, 1.0, 48.0, stretches)


def test_gaps_are_told_with_the_planes_that_mend_them():
    # planes at 0, 1 and 4 mm, 1 mm apart: two are missing between the last two; beyond the last the next is asked for
    found = map_of((0.0, 1.0, 4.0), (Stretch(1, 2.4, 2.6, 0.1, (0.5, 0.25)), Stretch(2, 6.1, 6.3, 0.1, (0.5, 0.5))))
    between, beyond = gaps(found, 1.0)
    assert (between.after, between.frames, between.share) == (1, 2, 0.1)
    assert between.planes_mm == pytest.approx((2.0, 3.0))
    assert beyond.after == 2
    assert beyond.planes_mm == (5.0,)
    assert between.middle == (0.5, 0.25)
    assert found.covered_share == pytest.approx(0.8)


def test_gaps_that_are_small_alone_are_told_when_together_they_arent():
    small = [Stretch(after, 0.0, 0.1, share, (0.5, 0.5)) for after, share in enumerate((0.001, 0.004, 0.003))]
    assert [gap.after for gap in gaps(map_of((0.0, 1.0, 2.0, 3.0), tuple(small)), 1.0)] == [1]
    assert gaps(map_of((0.0, 1.0, 2.0, 3.0), tuple(small[:1])), 1.0) == ()


@pytest.mark.parametrize(("sd_mm", "told"), [(0.01, 0), (0.1, 1)])
def test_planes_that_may_be_too_far_apart_leave_a_gap(shot, sd_mm, told):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    depth_mm = found.frame_depth_mm
    apart_mm = np.array([0.8, 0.96, 0.8]) * depth_mm
    planes = Planes(tuple(np.concatenate([[0.0], np.cumsum(apart_mm)])), (1.0,) * 4, (0.01, sd_mm, 0.01))
    between = [one for one in coverage(frames, planes, shot.lens).stretches if one.after in (0, 1, 2)]
    assert len(between) == told


def test_what_lies_beyond_an_end_is_told_by_cells_beside_each_other_and_the_surer_the_more():
    # planes at 0 and 0.75 mm with 1 mm of depth: from 1.13 mm on a cell counts as blurred
    planes, where, sd = np.array([0.0, 0.75]), np.full((10, 10), 0.4, np.float32), np.full((10, 10), 0.1, np.float32)
    where[2, 2] = where[7, 3] = 2.5
    assert _beyond(where, sd, planes, 1.0) == ()
    where[8:, 6:] = 1.2
    (end,) = _beyond(where, sd, planes, 1.0)
    assert end.after == 1
    assert 0.04 <= end.share <= 0.08
    assert end.middle == pytest.approx((0.8, 0.9), abs=0.05)
    sd[8:, 6:8] = 1.0
    (end,) = _beyond(where, sd, planes, 1.0)
    assert end.share < 0.06
    where[8:, 6:] = 1.05
    assert _beyond(where, sd, planes, 1.0) == ()
