"""Size by focusing: as the mock camera's own lens has it, and the planes that it tells."""

from itertools import pairwise

import numpy as np
import pytest

from mock_camera.scene.optics import FocusedLens, focus_at
from session.optics.arrangement import bare
from session.picture.displacement import Motion
from session.series.breathing import BY_DRIVE, ON_RAIL, StepMeasured, place_planes, size_at
from tests.support.series_truth import measured

LENS = bare(100.0, 8.0, 1.0)


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


def steps_by_rail(ways_mm, planned_mm, wrong_by=1.0):
    """Steps as a picture tells them that makes every way `wrong_by` as long."""
    return [
        StepMeasured(planned, Motion(scale=size_at(LENS, way * wrong_by, by_rail=True)), 1e-4, 0.01)
        for way, planned in zip(ways_mm, planned_mm, strict=True)
    ]


def test_what_all_pictures_have_alike_wrong_doesnt_add_up():
    # a sixth too short each, 0.7 mm over seven steps; the rail was read at each plane
    placed = place_planes(steps_by_rail([0.6] * 7, [0.6] * 7, 5 / 6), LENS, ON_RAIL)
    assert placed.at_mm == pytest.approx(0.6 * np.arange(8), abs=0.15)


def test_a_hand_that_left_the_rail_elsewhere_shows_in_the_pictures():
    true_mm = np.array([0.0, 0.6, 1.3, 1.7, 2.4])
    placed = place_planes(steps_by_rail(np.diff(true_mm), [0.6] * 4), LENS, ON_RAIL, first_mm=5.0)
    assert np.array(placed.at_mm) - 5.0 == pytest.approx(true_mm, abs=0.05)
    assert placed.scales[2] == 1.0
    assert placed.scales[4] / placed.scales[0] == pytest.approx(size_at(LENS, 2.4, by_rail=True), rel=3e-4)


def test_planes_are_as_far_apart_as_told_within_what_is_told_of_the_certainty():
    chance = np.random.default_rng(11)
    off = []
    for _ in range(100):
        true_mm = np.arange(7) * 0.9 * (1 + 0.005 * chance.normal()) + 0.1 * chance.normal(size=7)
        common = 1 / (1 - 0.15 * chance.normal())
        steps = [
            StepMeasured(0.9, Motion(scale=size_at(LENS, way * common, by_rail=True) + 2e-4 * chance.normal()), 2e-4, 0)
            for way in np.diff(true_mm)
        ]
        placed = place_planes(steps, LENS, ON_RAIL)
        off.append((np.diff(placed.at_mm) - np.diff(true_mm)) / placed.apart_sd_mm)
    assert np.sqrt(np.mean(np.square(off))) == pytest.approx(1.0, abs=0.15)


def test_a_frame_that_is_missing_makes_a_step_of_two():
    placed = place_planes(steps_by_rail([0.6, 1.2, 0.6], [0.6] * 3), LENS, ON_RAIL)
    assert placed.at_mm == pytest.approx([0.0, 0.6, 1.8, 2.4], abs=0.05)


def test_two_hands_width_beside_the_plan_are_no_missing_frame():
    # 0.39 mm short and then 0.37 mm long of a step of 0.8 mm, as on a rail (seed 3001): nothing else is out of place
    true_mm = np.array([0.02, 0.9, 1.69, 2.57, 2.98, 4.15, 4.92])
    placed = place_planes(steps_by_rail(np.diff(true_mm), [0.8] * 6), LENS, ON_RAIL)
    assert np.diff(placed.at_mm) == pytest.approx(np.diff(true_mm), abs=0.03)


def test_without_registration_the_plan_holds():
    unknown = StepMeasured.unknown(0.6)
    assert place_planes([unknown, unknown], LENS, BY_DRIVE).at_mm == pytest.approx([0.0, 0.6, 1.2])


def test_a_drive_whose_step_is_another_is_off_alike_everywhere():
    # all ways 4 % longer than planned, told without fault: the planes stay even, and are believed to be longer a little
    sizes = [size_at(LENS, 0.624 * k, by_rail=False) for k in range(7)]
    steps = [StepMeasured(0.6, Motion(scale=after / before), 1e-4, 0) for before, after in pairwise(sizes)]
    ways = np.diff(place_planes(steps, LENS, BY_DRIVE).at_mm)
    assert np.ptp(ways) < 0.01
    assert ways.mean() == pytest.approx(0.6, abs=0.01)


def test_planes_are_where_the_pictures_say_though_the_plan_is_wrong(shot):
    _, found, _ = measured(shot, [0, 1, 2, 3])
    true_mm = np.array(shot.true_mm) - shot.true_mm[0]
    # a tenth of the depth of field would be 0.07 mm
    assert np.array(found.planes_mm) == pytest.approx(true_mm, abs=0.07)
