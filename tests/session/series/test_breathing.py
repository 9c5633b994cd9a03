"""Size by focusing: as the mock camera's own lens has it, and the planes that it tells."""

import numpy as np
import pytest

from mock_camera.scene.optics import FocusedLens, focus_at
from session.optics.arrangement import bare
from session.series.breathing import size_at
from tests.support.series_truth import measured


@pytest.mark.parametrize("pupil", [0.7, 1.0, 1.6])
@pytest.mark.parametrize("moved_mm", [-1.5, 0.2, 2.0])
def test_the_rings_size_is_the_mock_cameras(moved_mm, pupil):
    lens = FocusedLens(0.8, 90.0, pupil)
    assert size_at(bare(90.0, 8.0, 0.8, pupil), moved_mm, by_rail=False) == pytest.approx(
        focus_at(lens, 8.0, moved_mm).scale, rel=1e-9
    )


@pytest.mark.parametrize("moved_mm", [-1.5, 2.0])
def test_a_rail_brings_the_piece_nearer_to_the_pupil(moved_mm):
    lens = FocusedLens(0.8, 90.0, 1.2)
    there_mm = lens.pupil_distance_mm - moved_mm
    assert size_at(bare(90.0, 8.0, 0.8, 1.2), moved_mm, by_rail=True) == pytest.approx(
        lens.pupil_distance_mm / there_mm
    )


def test_planes_are_where_the_pictures_say_though_the_plan_is_wrong(shot):
    _, found, _ = measured(shot, [0, 1, 2, 3])
    true_mm = np.array(shot.true_mm) - shot.true_mm[0]
    # a tenth of the depth of field would be 0.07 mm
    assert np.array(found.planes_mm) == pytest.approx(true_mm, abs=0.07)
