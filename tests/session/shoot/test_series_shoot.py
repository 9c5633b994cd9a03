"""A focus series over the scripted camera: each plane once, from one side, whatever comes between."""

from __future__ import annotations

from dataclasses import replace

import pytest

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fault
from session.frame.finding import CheckId, Finding, FocusJudgement, FocusVerdict, Level
from session.frame.ports import Judgement, Place
from session.frame.series_plane import Approach, MovedBy, SeriesToRun
from session.frame.shot_plane import newest_by_plane
from session.frame.states import FrameState
from session.shoot.acts import (
    Act,
    AddPlanes,
    AskRelease,
    CallOff,
    GoTo,
    NewSetup,
    PauseSeries,
    ReleasePlane,
    Revise,
    RunSeries,
    SwitchLiveView,
    Touched,
    TurnFocus,
    Undo,
)
from session.shoot.events import CameraWait, FocusMoved, Said, SeriesChanged, SeriesPhase, Waiting
from session.units.ids import new_id
from tests.support.scripted import Studio

CHARGED_S = 60.0
FRAMES = 4
PLAY_STEPS = 30
NO_FLASH = Finding(CheckId.FLASH, Level.STOP, "No flash: 3.0 EV darker.", -3.0, -1.0, "EV")


class Lens:
    """Where a drive with play brings the lens, steps; worked out here by itself."""

    def __init__(self) -> None:
        self.drive = self.lens = 0

    def move(self, steps: int) -> None:
        self.drive += steps
        self.lens = min(max(self.lens, self.drive - PLAY_STEPS), self.drive)


class SeriesStudio(Studio):
    """A studio whose camera drives its focus as it is asked to, through a lens with play."""

    def __init__(
        self, moved_by: MovedBy = MovedBy.DRIVE, approach: Approach = Approach.NEAR, play_steps: int | None = None
    ) -> None:
        super().__init__()
        self.lens = Lens()
        self.lens.move(1000)
        self.shot_at: list[int] = []
        self.series = SeriesToRun(new_id(), FRAMES, 0.88, 1.32, moved_by, approach, 50.0, play_steps, 100)
        self._answered = len(self.camera.requests)
        self.do(SwitchLiveView(True))

    def do_all(self, *acts: Act) -> None:
        for act in acts:
            self.do(act)

    def begin(self) -> None:
        self.near = self.lens.lens
        self.do(RunSeries(self.series, self.series.planes_mm, at_mm=0.0))
        self.drive()

    def go_on(self) -> None:
        self.do(RunSeries(self.series, self.series.planes_mm))
        self.drive()

    def drive(self) -> None:
        """The drive does all that it was asked for."""
        while self._answered < len(self.camera.requests):
            request = self.camera.requests[self._answered]
            self._answered += 1
            if isinstance(request, say.DriveFocus):
                self.lens.move(request.steps)
                self.deliver(say.FocusDriven(request.steps))

    def fire_plane(self) -> str:
        """Time passes until the camera is asked, and it fires."""
        self.wait(CHARGED_S)
        self.shot_at.append(self.lens.lens - self.near)
        return self.fire()

    def take(self, *findings: Finding, judged: bool = True) -> str:
        """The camera takes the frame that was asked for, and the drive goes on."""
        frame_id = self.fire_plane()
        self.file(frame_id)
        self.deliver(say.FrameComplete(frame_id))
        if judged:
            self.judge_now(frame_id, *findings)
        self.drive()
        return frame_id

    def judge_now(self, frame_id: str, *findings: Finding) -> None:
        self.deliver(Judgement(frame_id, findings, FocusJudgement(FocusVerdict.UNJUDGED)))
        self.drive()

    @property
    def phase(self) -> SeriesChanged:
        return self.said(SeriesChanged)[-1]

    @property
    def planes(self) -> list[float]:
        """The planes of all frames in the log, in order."""
        return [row["intent"].series.plane_mm for row in self.log.rows.values()]

    @property
    def good(self) -> list[float]:
        return [shot.plane.plane_mm for shot in newest_by_plane(self.log.shot_planes(self.series.series_id))]


def all_planes(studio: SeriesStudio) -> list[float]:
    return list(studio.series.planes_mm)


def test_each_plane_is_come_to_from_the_near_side_and_written_before_its_release() -> None:
    studio = SeriesStudio()
    studio.begin()
    asked = studio.wait(CHARGED_S) or studio.camera.last(say.Release).frame_id
    assert studio.log.rows[asked]["intent"].series == studio.series.plane(0.0)
    assert studio.state(asked) is FrameState.RELEASING
    for _ in range(FRAMES):
        studio.take()
    assert studio.phase.phase is SeriesPhase.DONE
    assert studio.planes == studio.good == all_planes(studio)
    assert studio.shot_at == [round(50 * mm) for mm in studio.series.planes_mm]
    assert [one.in_series for one in studio.judge.assignments] == [True] * FRAMES


@pytest.mark.parametrize("moves", [(-200,), (50, -10), (50, -20), (50, -30), (-200, 10), (50, -20, 5)])
@pytest.mark.parametrize("approach", Approach)
def test_the_drives_play_shifts_no_plane_against_the_others(approach: Approach, moves: tuple[int, ...]) -> None:
    studio = SeriesStudio(approach=approach, play_steps=PLAY_STEPS)
    away = studio.series.away
    for steps in moves:
        studio.do(TurnFocus(away * steps))
        studio.drive()
    studio.begin()
    studio.take(NO_FLASH)
    for _ in range(FRAMES - 1):
        studio.take()
    assert studio.phase.phase is SeriesPhase.RELEASING, "the first plane once more"
    studio.take()
    wanted = [round(50 * mm) for mm in (*studio.series.planes_mm, 0.0)]
    assert studio.shot_at == wanted and studio.phase.phase is SeriesPhase.DONE


LOST = say.CameraGone(Fault.LOST, "The cable was pulled.")


def finish(studio: SeriesStudio) -> None:
    """What the card brings is fetched, what the judge has is judged, and the rest is shot."""
    for _ in range(4 * FRAMES):
        studio.wait(CHARGED_S)
        if studio.shoot.shoot_state.card_asked:
            studio.deliver(say.CardListed(studio.card))
        for row in list(studio.log.rows.values()):
            frame_id = row["intent"].frame_id
            if row["state"] is FrameState.RECEIVING:
                studio.file(frame_id)
                studio.deliver(say.FrameComplete(frame_id))
            if row["state"] is FrameState.SAVED:
                studio.judge_now(frame_id)
        studio.drive()
        if studio.phase.phase is SeriesPhase.DONE:
            return
        if studio.shoot.releases.in_camera:
            studio.take()


@pytest.mark.parametrize("cut", range(FRAMES))
@pytest.mark.parametrize("moment", ["releasing", "transfer", "saved"])
def test_a_cable_pulled_at_any_frame_costs_no_good_frame(cut: int, moment: str) -> None:
    studio = SeriesStudio()
    studio.begin()
    for _ in range(cut):
        studio.take()
    frame_id = studio.fire_plane() if moment != "releasing" else ""
    studio.wait(CHARGED_S)
    if moment == "saved":
        studio.file(frame_id)
        studio.deliver(say.FrameComplete(frame_id))
    studio.deliver(LOST)
    assert studio.phase.phase in (SeriesPhase.PAUSED, SeriesPhase.JUDGING), "nothing is asked of a camera that is gone"
    if moment == "transfer":
        studio.card = (CardObject("/card/DCIM/100STILL", f"STIL{cut + 1:04d}.JPG", 1000),)
    studio.connect()
    studio.near = studio.lens.lens  # a lens may go home, so the person focuses anew
    studio.do(RunSeries(studio.series, studio.series.planes_mm, at_mm=0.0))
    studio.drive()
    finish(studio)
    assert studio.good == all_planes(studio)
    assert len(studio.planes) == FRAMES + (moment == "releasing"), "only what may not have fired is shot once more"


@pytest.mark.parametrize("cut", range(FRAMES))
def test_a_full_card_pauses_and_the_series_goes_on_with_the_same_plane(cut: int) -> None:
    studio = SeriesStudio()
    studio.begin()
    for _ in range(cut):
        studio.take()
    studio.shoot.shoot_state.free_card_bytes = 0
    studio.wait(CHARGED_S)
    if cut == 0:  # it was asked for while there was room
        assert studio.camera.count(say.Release) == 0
    assert studio.phase.phase is SeriesPhase.PAUSED and len(studio.log.rows) == cut
    studio.shoot.shoot_state.free_card_bytes = 10**12
    studio.go_on()
    for _ in range(FRAMES - cut):
        studio.take()
    assert studio.planes == all_planes(studio) and studio.phase.phase is SeriesPhase.DONE


@pytest.mark.parametrize("cut", range(1, FRAMES))
def test_after_a_kill_it_asks_for_the_first_plane_and_shoots_only_what_lacks(cut: int) -> None:
    studio = SeriesStudio()
    studio.begin()
    for _ in range(cut):
        studio.take()
    anew = SeriesStudio()
    anew.series = studio.series
    anew.log.rows.update(studio.log.rows)
    anew.near = anew.lens.lens
    anew.go_on()
    assert anew.phase.phase is SeriesPhase.PAUSED and "Focus on the first plane, and mark it" in anew.phase.text
    anew.do(RunSeries(anew.series, anew.series.planes_mm, at_mm=0.0))
    anew.drive()
    for _ in range(FRAMES - cut):
        anew.take()
    assert anew.planes == all_planes(anew) and anew.shot_at == [round(50 * mm) for mm in anew.series.planes_mm[cut:]]


def test_a_frame_without_flash_is_shot_again_twice_at_most() -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take()
    studio.take(NO_FLASH)
    studio.take()
    late = studio.take(judged=False)
    assert studio.phase.phase is SeriesPhase.JUDGING
    studio.judge_now(late)
    studio.take(NO_FLASH)
    assert studio.phase.phase is SeriesPhase.PAUSED and "plane 2 of 4 failed 2 times" in studio.phase.text
    assert studio.planes == [0.0, 0.88, 1.76, pytest.approx(2.64), 0.88]


def test_escape_pauses_before_the_next_frame_and_it_goes_on() -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take()
    studio.do(PauseSeries())
    assert studio.phase.phase is SeriesPhase.PAUSED and studio.shoot.releases.held is None
    studio.wait(CHARGED_S)
    assert studio.camera.count(say.Release) == 1
    studio.do(Touched())
    studio.go_on()
    assert studio.shoot.releases.held, "it holds off"
    studio.do(CallOff())
    studio.shoot.tick()
    assert studio.phase.phase is SeriesPhase.PAUSED, "a release that is called off pauses too"
    studio.go_on()
    for _ in range(FRAMES - 1):
        studio.take()
    assert studio.planes == all_planes(studio)


def test_paused_while_the_last_plane_comes_in_it_neither_drives_nor_fires_by_itself() -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take(NO_FLASH)
    for _ in range(FRAMES - 2):
        studio.take()
    last = studio.fire_plane()
    studio.do(PauseSeries())
    moves = studio.camera.count(say.DriveFocus)
    studio.file(last)
    studio.deliver(say.FrameComplete(last))
    studio.judge_now(last, NO_FLASH)
    studio.wait(CHARGED_S)
    studio.drive()
    studio.wait(CHARGED_S)
    assert studio.phase.phase is SeriesPhase.PAUSED
    assert (studio.camera.count(say.Release), studio.camera.count(say.DriveFocus)) == (FRAMES, moves)


def test_planes_that_are_added_are_shot_though_they_have_a_frame() -> None:
    studio = SeriesStudio()
    studio.begin()
    for _ in range(FRAMES):
        studio.take()
    studio.do(AddPlanes((1.32, 0.88)))
    studio.drive()
    studio.take()
    studio.take()
    assert studio.planes[FRAMES:] == [0.88, 1.32] and studio.shot_at[FRAMES:] == [44, 66]
    assert studio.phase.phase is SeriesPhase.DONE


def test_the_end_stop_pauses_with_its_sentence_and_the_place_is_unknown() -> None:
    studio = SeriesStudio()
    studio.begin()
    frame_id = studio.fire_plane()
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    stop = say.Failed("DriveFocus", Fault.END_STOP, "The focus is at its end stop.")
    studio.deliver(stop)
    assert (studio.phase.phase, studio.phase.text) == (SeriesPhase.PAUSED, "The focus is at its end stop.")
    assert studio.phase.move_mm is None


def test_by_hand_each_plane_waits_for_the_hand_and_says_how_far() -> None:
    studio = SeriesStudio(MovedBy.RAIL)
    studio.near = studio.lens.lens
    studio.do(RunSeries(studio.series, studio.series.planes_mm, at_mm=0.0))
    told = []
    for _ in range(FRAMES):
        told.append((studio.phase.phase, studio.phase.move_mm))
        studio.wait(CHARGED_S)
        assert studio.camera.count(say.Release) == len(told) - 1, "not before the hand says so"
        studio.do(ReleasePlane())
        studio.take()
    assert told == [(SeriesPhase.BY_HAND, 0.0), *[(SeriesPhase.BY_HAND, pytest.approx(0.88))] * (FRAMES - 1)]
    assert studio.planes == all_planes(studio) and studio.camera.count(say.DriveFocus) == 0


def wanted(studio: SeriesStudio) -> list[int]:
    return [round(50 * mm) for mm in studio.series.planes_mm]


def file_and_judge(studio: SeriesStudio, frame_id: str) -> None:
    """The frame comes to rest; the drive hasn't answered yet."""
    studio.file(frame_id)
    studio.deliver(say.FrameComplete(frame_id))
    studio.deliver(Judgement(frame_id, (), FocusJudgement(FocusVerdict.UNJUDGED)))


def test_a_pause_while_the_drive_moves_is_counted_from_where_the_move_ends() -> None:
    studio = SeriesStudio()
    studio.begin()
    file_and_judge(studio, studio.fire_plane())
    assert studio.phase.phase is SeriesPhase.MOVING
    studio.do_all(PauseSeries(), RunSeries(studio.series, studio.series.planes_mm))
    assert studio.phase.phase is SeriesPhase.MOVING and studio.camera.count(say.Release) == 1
    studio.drive()
    for _ in range(FRAMES - 1):
        studio.take()
    assert studio.shot_at == wanted(studio) and studio.planes == all_planes(studio)


@pytest.mark.parametrize(
    "act",
    [
        TurnFocus(30),
        AskRelease(),
        GoTo("another piece", "back"),
        Revise({"hold_off_s": 9.0}),
        NewSetup("another"),
        Undo(Place("j", "p", "v", "a job", "a piece", "a view")),
    ],
)
def test_nothing_that_would_make_the_planes_differ_is_done_before_a_pause(act: Act) -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take()
    before = (studio.shoot.shoot_state.place, studio.shoot.shoot_state.revision)
    studio.do(act)
    studio.drive()
    assert studio.said(Said)[-1].text == "A focus series is under way: pause it first."
    assert (studio.shoot.shoot_state.place, studio.shoot.shoot_state.revision) == before
    for _ in range(FRAMES - 1):
        studio.take()
    assert studio.shot_at == wanted(studio) and studio.planes == all_planes(studio)


def test_a_series_goes_on_in_its_own_view_only() -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take()
    studio.do_all(PauseSeries(), GoTo("another piece", "back"))
    studio.go_on()
    assert "is of another view" in studio.said(Said)[-1].text
    studio.wait(CHARGED_S)
    assert studio.camera.count(say.Release) == 1


def test_the_hold_off_counts_from_the_end_of_the_drives_move() -> None:
    studio = SeriesStudio()
    studio.begin()
    file_and_judge(studio, studio.fire_plane())
    studio.wait(CHARGED_S)  # a slow drive, and all is charged
    studio.drive()
    studio.shoot.tick()
    assert studio.camera.count(say.Release) == 1
    studio.wait(studio.shoot.shoot_state.revision.hold_off_s)
    assert studio.camera.count(say.Release) == 2


def test_nothing_is_released_while_the_drive_moves() -> None:
    studio = SeriesStudio()
    studio.do_all(TurnFocus(30), AskRelease())
    studio.wait(CHARGED_S)
    assert studio.said(Waiting)[-1].reason is CameraWait.DRIVE and studio.camera.count(say.Release) == 0
    studio.drive()
    studio.wait(CHARGED_S)
    assert studio.camera.count(say.Release) == 1


def test_by_hand_the_hold_off_counts_from_when_the_hand_says_so() -> None:
    studio = SeriesStudio(MovedBy.RAIL)
    studio.do_all(SwitchLiveView(False), RunSeries(studio.series, studio.series.planes_mm, at_mm=0.0))
    studio.wait(CHARGED_S)
    studio.do(ReleasePlane())
    studio.shoot.tick()
    assert studio.camera.count(say.Release) == 0
    studio.wait(studio.shoot.shoot_state.revision.hold_off_s)
    assert studio.camera.count(say.Release) == 1


def test_paused_before_its_first_frame_it_knows_where_the_drive_went_meanwhile() -> None:
    studio = SeriesStudio()
    studio.near = studio.lens.lens
    studio.do(TurnFocus(-300))
    studio.drive()
    studio.do(TurnFocus(300))
    studio.drive()
    studio.near = studio.lens.lens
    studio.do_all(RunSeries(studio.series, studio.series.planes_mm, at_mm=0.0), PauseSeries())
    studio.drive()
    studio.do(RunSeries(studio.series, studio.series.planes_mm))
    studio.drive()
    for _ in range(FRAMES):
        studio.take()
    assert studio.shot_at == wanted(studio)


@pytest.mark.parametrize(
    "message",
    [say.Failed("DriveFocus", Fault.END_STOP, "The focus is at its end stop."), LOST],
)
def test_where_the_drive_stands_is_unknown_after_a_move_that_failed_and_a_camera_that_went(
    message: say.Message,
) -> None:
    studio = SeriesStudio()
    studio.begin()
    studio.take()
    studio.do_all(PauseSeries(), TurnFocus(-500))
    studio.deliver(message)
    studio.connect()
    asked = studio.camera.count(say.DriveFocus)
    studio.do(RunSeries(studio.series, studio.series.planes_mm))
    assert "Nobody knows where the drive stands" in studio.phase.text
    assert studio.camera.count(say.DriveFocus) == asked
    assert studio.said(FocusMoved)[-1].steps is None


@pytest.mark.parametrize("approach", Approach)
def test_a_place_come_to_through_a_play_that_nobody_measured_begins_no_series(approach: Approach) -> None:
    studio = SeriesStudio(approach=approach)
    away = studio.series.away
    studio.do(TurnFocus(-away * 200))
    studio.drive()
    studio.begin()
    assert "its play: measure the drive" in studio.said(Said)[-1].text
    studio.do(TurnFocus(-away * 100))
    studio.drive()
    studio.do(TurnFocus(away * 100))
    studio.drive()
    studio.begin()
    for _ in range(FRAMES):
        studio.take()
    assert studio.shot_at == wanted(studio)


def test_a_drive_that_was_measured_as_without_play_begins_from_either_side() -> None:
    studio = SeriesStudio(play_steps=0)
    studio.do(TurnFocus(-200))
    studio.drive()
    studio.begin()
    assert studio.phase.phase is SeriesPhase.MOVING or studio.shoot.releases.held, studio.said(Said)
    assert not any("nobody measured its play" in said.text for said in studio.said(Said))


def test_planes_that_fall_together_in_whole_steps_are_not_shot() -> None:
    studio = SeriesStudio()
    studio.series = replace(studio.series, steps_per_mm=0.5)
    studio.begin()
    assert "these planes fall together" in studio.said(Said)[-1].text and studio.camera.count(say.DriveFocus) == 0


def test_without_live_view_a_series_by_the_drive_pauses_and_says_why() -> None:
    studio = SeriesStudio()
    studio.do(SwitchLiveView(False))
    state = studio.shoot.shoot_state
    assert state.description is not None
    state.description = replace(state.description, live_view=False)
    studio.begin()
    assert (studio.phase.phase, studio.phase.text) == (SeriesPhase.PAUSED, say.NO_LIVE_VIEW)
    state.description = replace(state.description, live_view=True)
    studio.go_on()
    assert studio.phase.phase is SeriesPhase.MOVING
    studio.wait(20.0)  # no picture comes
    assert studio.phase.phase is SeriesPhase.PAUSED and "No live picture came" in studio.phase.text


def test_a_frame_that_goes_on_to_differ_is_shot_again_once_and_waits_for_a_person() -> None:
    studio = SeriesStudio()
    studio.begin()
    for _ in range(FRAMES):
        studio.take()
    studio.do(AddPlanes((0.88,)))
    studio.drive()
    studio.take()
    studio.do(AddPlanes((0.88,)))
    assert studio.phase.phase is SeriesPhase.PAUSED and "plane 2 of 4 failed 2 times" in studio.phase.text
    studio.wait(CHARGED_S)
    assert studio.camera.count(say.Release) == FRAMES + 1
