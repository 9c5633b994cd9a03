"""A sweep's answers from the camera: which frames count, when one gives up, what it tells of its progress."""

import math
from collections.abc import Iterator

import pytest

from session.live.sweep import Answer, DriveBy, Driven, LookAt, Part, Seen, SweepOutcome, SweepStopped
from session.live.sweep_run import PATIENCE_S, SweepRun

DONE = SweepOutcome(reached=True, text="There.")
BROKEN_OFF = SweepOutcome(reached=False, text="Stopped.")


class Plan:
    """A plan of the test's own: asks for its acts one by one, and keeps what it was answered."""

    def __init__(self, *acts: DriveBy | LookAt) -> None:
        self.answers: list[Answer] = []
        self._acts = acts

    def part(self) -> Part[SweepOutcome]:
        for act in self._acts:
            answer = yield act
            self.answers.append(answer)
            if isinstance(answer, SweepStopped):
                return BROKEN_OFF
        return DONE


LOOK = LookAt(frames=3, settle=2, left=4)


def looking(look: LookAt = LOOK, *then: DriveBy | LookAt) -> tuple[SweepRun, Plan]:
    plan = Plan(DriveBy(-100), look, *then)
    run = SweepRun(plan.part())
    assert run.begin(0.0) == -100
    assert run.after_drive(1.0) == 0
    return run, plan


def seen(answers: list[Answer]) -> Iterator[float | None]:
    return (answer.contrast for answer in answers if isinstance(answer, Seen))


def test_frames_before_the_drive_has_stopped_count_for_nothing() -> None:
    plan = Plan(DriveBy(5), LOOK)
    run = SweepRun(plan.part())
    run.begin(0.0)
    assert [run.after_frame(3.0, at / 10) for at in range(20)] == [0] * 20
    assert plan.answers == []


def test_the_first_frames_after_a_drive_are_left_out_and_the_mean_is_that_of_logarithms() -> None:
    run, plan = looking(LOOK, DriveBy(20))
    steps = [run.after_frame(contrast, 1.1) for contrast in (900.0, 900.0, 2.0, 4.0, 8.0)]
    assert steps == [0, 0, 0, 0, 20]
    assert list(seen(plan.answers)) == [pytest.approx(math.exp((math.log(2) + math.log(4) + math.log(8)) / 3))]


def test_a_frame_that_cannot_be_judged_still_lets_the_motors_shake_die_away() -> None:
    run, plan = looking(LOOK, DriveBy(20))
    for contrast in (None, None, 5.0, None, 5.0):
        assert run.after_frame(contrast, 1.1) == 0
    assert run.after_frame(5.0, 1.1) == 20
    assert list(seen(plan.answers)) == [pytest.approx(5.0)]


@pytest.mark.parametrize(("late_s", "given_up"), [(PATIENCE_S, False), (PATIENCE_S + 0.01, True)])
def test_a_place_of_which_nothing_can_be_seen_is_given_up_after_a_while(late_s: float, given_up: bool) -> None:
    run, plan = looking(LOOK, DriveBy(-7))
    assert run.after_frame(None, 1.0 + late_s) == (-7 if given_up else 0)
    assert list(seen(plan.answers)) == ([None] if given_up else [])


def test_each_place_has_patience_of_its_own_and_no_frames_of_the_one_before() -> None:
    two = LookAt(frames=2, settle=0)
    run, plan = looking(two, DriveBy(3), two, DriveBy(4), two)
    assert [run.after_frame(2.0, 1.1), run.after_frame(2.0, 1.2)] == [0, 3]
    assert run.after_drive(100.0) == 0
    assert run.after_frame(9.0, 100.0 + PATIENCE_S) == 0  # the drive took long, not the look
    assert run.after_frame(None, 100.1 + PATIENCE_S) == 4  # one frame isn't enough, and no other came
    assert run.after_drive(200.0) == 0
    assert [run.after_frame(5.0, 200.1), run.after_frame(5.0, 200.2)] == [0, 0]
    assert list(seen(plan.answers)) == [pytest.approx(2.0), None, pytest.approx(5.0)]


def test_an_end_stop_is_passed_on() -> None:
    plan = Plan(DriveBy(-100), DriveBy(30), LOOK)
    run = SweepRun(plan.part())
    run.begin(0.0)
    assert run.after_drive(1.0, end_stop=True) == 30
    assert run.after_drive(2.0) == 0
    assert plan.answers == [Driven(end_stop=True), Driven()]


def test_the_drives_end_during_a_look_is_no_answer() -> None:
    run, plan = looking()
    assert run.after_drive(1.5) == 0
    assert plan.answers == [Driven()]


def test_stopped_during_a_drive_or_a_look_it_drives_no_further() -> None:
    for begun in (True, False):
        plan = Plan(DriveBy(-100), LOOK, DriveBy(20))
        run = SweepRun(plan.part())
        run.begin(0.0)
        if begun:
            run.after_drive(1.0)
        run.stop(1.5)
        assert run.outcome is BROKEN_OFF
        assert [run.after_frame(2.0, 2.0) for _ in range(9)] == [0] * 9
        answered = len(plan.answers)
        run.stop(3.0)  # the key pressed again, or the camera gone as well
        assert len(plan.answers) == answered


def test_at_its_end_it_has_the_plans_outcome_and_asks_for_nothing() -> None:
    run, _ = looking(LookAt(frames=1, settle=0))
    assert run.after_frame(2.0, 1.1) == 0
    assert run.outcome is DONE
    assert run.progress_text() == ""


def test_progress_counts_the_places_seen_and_the_time_they_took() -> None:
    once = LookAt(frames=1, settle=0, left=9)
    run, _ = looking(once, DriveBy(3), LookAt(frames=1, settle=0, left=8))
    assert run.progress_text() == ""  # nothing is known of the time yet
    run.after_frame(2.0, 4.0)
    assert run.progress_text() == ""  # it drives
    run.after_drive(5.0)
    assert run.progress_text() == "place 2 of about 10, about 45 s"  # 5 s for the first, 9 to go
