"""The merged preview is as sharp everywhere as the frame that is sharpest there."""

from dataclasses import replace

import numpy as np
import pytest

from session.series.coverage_map import UNKNOWN, Coverage
from session.series.merged_preview import depths_everywhere, label, merged_preview
from tests.support.series_truth import measured


def fine_contrast(picture):
    grey = picture[..., 1].astype(np.float32)
    return np.diff(grey, 2, axis=1)[:, 40:-40].std(axis=1).reshape(8, -1).mean(axis=1)  # by eighths of the height


def test_it_is_sharp_from_end_to_end(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    sizes = [shot.table.scale_at(true) / shot.table.scale_at(shot.true_mm[2]) for true in shot.true_mm]
    merged = merged_preview(frames, sizes, found)
    assert merged.picture.shape == frames[0].colours.shape
    single = np.array([fine_contrast(frame.colours) for frame in frames])
    assert (fine_contrast(merged.picture) > 0.85 * single.max(axis=0)).all()
    assert fine_contrast(merged.picture).mean() > 1.1 * single.mean(axis=1).max()
    # no tear: light stays that of the frames
    assert np.abs(merged.picture.mean(axis=(0, 1)) - frames[2].colours.mean(axis=(0, 1))).max() < 2


def test_one_frame_over_all_is_that_frame(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    flat = Coverage(
        found.planes_mm,
        np.full_like(found.depth_mm, found.planes_mm[2]),
        found.state,
        found.frame_depth_mm,
        found.cell_px,
    )
    merged = merged_preview(frames, [1.0] * 4, flat)
    off = np.abs(merged.picture.astype(int) - frames[2].colours.astype(int))
    assert off.max() <= 1
    assert not merged.halo.any()


def test_unknown_places_take_the_depth_around_them():
    depth = np.full((3, 5), np.nan, np.float32)
    depth[:, 0], depth[:, 4] = 1.0, 3.0
    found = Coverage((0.0,), depth, np.full((3, 5), UNKNOWN, np.uint8), 1.0, 48.0)
    filled = depths_everywhere(found)
    assert filled[1] == pytest.approx([1, 1, 2, 3, 3])
    nothing = depths_everywhere(Coverage((0.0, 5.0), depth * np.nan, found.state, 1.0, 48.0))
    assert (nothing == 5.0).all()


def test_it_says_that_it_is_a_preview_and_outlines_what_was_never_sharp(shot):
    frames, found, _ = measured(shot, [0, 1, 3])
    merged = merged_preview(frames, [1.0] * 3, found)
    sheet = np.asarray(label(merged, "PREVIEW"))
    height = merged.picture.shape[0]
    assert sheet.shape[0] > height
    assert (sheet[height:] > 200).any()
    row, column = (int(place[0]) for place in np.nonzero(merged.never_sharp))
    assert (sheet[int(row * merged.cell_px) + 1, int((column + 0.5) * merged.cell_px)] == 235).all()


def test_a_cell_that_none_around_agrees_with_is_a_slip_of_the_map_and_an_edge_is_none(shot):
    frames, found, _ = measured(shot, [0, 1, 2, 3])
    depth = np.full_like(found.depth_mm, found.planes_mm[1])
    depth[:, depth.shape[1] // 2 :] = found.planes_mm[3]
    halves = replace(found, depth_mm=depth)
    slips = depth.copy()
    slips[3, 5] = slips[0, 0] = slips[6, -1] = found.planes_mm[0] - 1
    both = [merged_preview(frames, [1.0] * 4, one) for one in (halves, replace(found, depth_mm=slips))]
    assert np.array_equal(both[0].picture, both[1].picture)
    assert both[0].halo.any() and np.array_equal(both[0].halo, both[1].halo)
