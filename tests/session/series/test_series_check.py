"""Faults of single frames of a series: light, a bump, another picture."""

from dataclasses import replace

import numpy as np
import pytest

from session.picture.displacement import Motion
from session.series.breathing import StepMeasured, size_at
from session.series.series_check import SeriesRun, light_faults, moved_faults, order_faults
from tests.support.series_truth import measured


def test_frames_added_one_by_one_give_the_map_of_all(shot):
    run = SeriesRun(shot.lens, shot.plan.step_mm, by_rail=False, for_preview=True)
    for path in shot.paths:
        run.add(str(path))
    _, found, _ = measured(shot, [0, 1, 2, 3])
    assert np.array_equal(run.coverage().state, found.state)
    assert run.faults() == ()
    colours = run.frames[0].colours
    assert colours is not None and run.preview(found).picture.shape == colours.shape


def test_a_frame_more_comes_to_lie_at_its_place_and_one_shot_again_in_the_others(shot):
    run = SeriesRun(shot.lens, shot.plan.step_mm, by_rail=False, for_preview=False)
    step_mm = shot.plan.step_mm
    assert [run.add(str(shot.paths[number])) for number in (0, 1)] == [0, 1]
    assert run.add(str(shot.paths[3]), at_mm=3 * step_mm) == 2
    assert run.add(str(shot.paths[0]), at_mm=2 * step_mm) == 2  # a slip
    run.again(2, str(shot.paths[2]))
    assert run.planned_mm == pytest.approx([0, step_mm, 2 * step_mm, 3 * step_mm])
    _, found, _ = measured(shot, [0, 1, 2, 3])
    assert np.array_equal(run.coverage().state, found.state)
    assert run.planes().at_mm == pytest.approx(found.planes_mm)


def test_a_frame_of_another_size_is_refused(shot, tmp_path):
    from PIL import Image

    run = SeriesRun(shot.lens, shot.plan.step_mm, by_rail=False, for_preview=False)
    run.add(str(shot.paths[0]))
    Image.open(shot.paths[1]).resize((600, 400)).save(tmp_path / "small.jpg")
    with pytest.raises(ValueError, match=r"^measures 600 × 400 px, and the frames before it 768 × 512 px"):
        run.add(str(tmp_path / "small.jpg"))
    assert len(run.frames) == 1


def test_colours_are_kept_for_a_preview_alone(shot):
    run = SeriesRun(shot.lens, shot.plan.step_mm, by_rail=False, for_preview=False)
    for path in shot.paths[:2]:
        run.add(str(path))
    assert [frame.colours for frame in run.frames] == [None, None]
    with pytest.raises(ValueError, match="2 of 2 frames were read without colours"):
        run.preview(run.coverage())


@pytest.mark.parametrize(
    ("factor", "words"),
    [(2**-0.4, "is 0.4 EV darker"), (2**0.3, "is 0.3 EV brighter"), (2**-4.0, "shows no flash: −4 EV")],
)
def test_the_frame_whose_light_differs_is_named(shot, factor, words):
    frames, _, _ = measured(shot, [0, 1, 2, 3])
    frames[1] = replace(frames[1], small=frames[1].small * np.float32(factor))
    (fault,) = light_faults(frames)
    assert fault.frame == 1
    assert fault.text.startswith(words)


def test_blur_alone_changes_no_light(shot):
    (frame, *_), _, _ = measured(shot, [0, 1])
    lines = np.tile(np.array([0.1, 0.1, 0.1, 0.7], np.float32), (100, 25))
    blurred = np.full_like(lines, lines.mean())
    assert light_faults([replace(frame, small=small) for small in (lines, lines, lines, blurred)]) == []


def step(right_px, down_px=0.0, sd_px=0.01):
    return StepMeasured(0.5, Motion(right_px, down_px, 0.0, 0.998), 1e-4, sd_px)


def test_a_bump_is_named_and_a_rail_out_of_line_is_none():
    steps = [step(0.30), step(0.31), step(0.40), step(0.29)]
    # from 0.297 as the others change evenly, 0.103 small px are 2.1 px of a picture 20 times as large
    (fault,) = moved_faults(steps, 20.0)
    assert fault.frame == 3
    assert fault.text.startswith("lies 2.1 px beside")
    assert moved_faults([step(0.30), step(0.31), step(0.32), step(0.29)], 20.0) == []


def test_a_bump_is_named_though_shifts_change_from_step_to_step():
    # as registered on a leaning tray of type, small px; 0.25 px are half a pixel of the sensor
    drifting = [step(0.0, 0.015, 0.018), step(0.015, -0.04, 0.019), step(0.025, -0.065, 0.024)]
    assert moved_faults([*drifting, step(0.025, -0.125, 0.032)], 2.0) == []
    (fault,) = moved_faults([*drifting, step(-0.04, 0.11, 0.032)], 2.0)
    assert fault.frame == 4
    bumped = [*drifting, step(0.03, 0.15), step(0.05, -0.18), step(0.06, -0.2)]
    assert [fault.frame for fault in moved_faults(bumped, 2.0)] == [4]


def test_a_hand_that_goes_farther_shifts_the_picture_of_a_rail_out_of_line_the_more():
    # steps as a hand left them, 13 to 37 tenths of a per mille of size; all shift alike for the way they went
    ways = [25e-4, 13e-4, 24e-4, 16e-4, 37e-4, 3e-4, 29e-4]
    steps = [StepMeasured(0.5, Motion(80 * way, -100 * way, 0.0, 1 + way), 1e-4, 0.02) for way in ways]
    assert moved_faults(steps, 2.0) == []
    bumped = Motion(80 * ways[4] + 0.25, -100 * ways[4], 0.0, 1 + ways[4])
    (fault,) = moved_faults([*steps[:4], replace(steps[4], motion=bumped), *steps[5:]], 2.0)
    assert fault.frame == 5


def test_a_shift_within_its_own_error_is_none():
    assert moved_faults([step(0.3), step(0.3), step(0.4, sd_px=0.05), step(0.3)], 20.0) == []


def test_what_cant_be_laid_on_the_one_before_is_named():
    (fault,) = moved_faults([step(0.0), replace(step(0.0), motion=None)], 1.0)
    assert fault.frame == 2
    assert "something else" in fault.text


def test_a_frame_taken_twice_and_frames_out_of_order_are_named(shot):
    lens = shot.lens.lens
    ways_mm = [0.5, 0.5, 0.0, 0.5, -0.6, 0.5]
    steps = [StepMeasured(0.5, Motion(scale=size_at(lens, way, by_rail=True)), 1e-4, 0.01) for way in ways_mm]
    twice, order = order_faults(steps, lens, by_rail=True)
    assert (twice.frame, order.frame) == (3, 5)
    assert "taken twice" in twice.text
    assert "out of order" in order.text


def test_frames_of_a_series_in_another_order_are_told(shot):
    def told(numbers):
        run = SeriesRun(shot.lens, shot.plan.step_mm, by_rail=False, for_preview=False)
        for number in numbers:
            run.add(str(shot.paths[number]))
        return [fault.text for fault in run.faults()]

    assert told([0, 1, 2, 3]) == []
    assert any("out of order" in text for text in told([0, 2, 1, 3]))
    assert any("taken twice" in text for text in told([0, 1, 1, 2]))
