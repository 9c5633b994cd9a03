"""A focus series under way: to the next plane by the drive or by hand, a release, and on when the frame is saved.

What the log has of the series alone says which planes are good, so a series that was interrupted, in this run or an
earlier one, goes on with those that lack a good frame. Each frame goes through the same door as any other release, so
hold-off, charge, stillness and room are waited for, or refuse it.

A drive has play: turned round, it runs some steps before anything moves. So each plane is come to from the same side;
a plane that lies behind is passed by more than the play and come to again. Steps count from the first plane as it is
come to from that side: after a move of more than the play, count and lens agree again, however large the play is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from session.frame import camera_messages as say
from session.frame.drive_runs import DriveRuns
from session.frame.ports import LogError, Place
from session.frame.series_plane import Approach, MovedBy, SeriesToRun
from session.frame.shot_plane import ShotPlane, missing_planes, same_plane
from session.frame.states import FrameState
from session.shoot.acts import AskRelease
from session.shoot.events import SERIES_UNDER_WAY, Said, SeriesChanged, SeriesPhase
from session.shoot.live_stream import LiveStream
from session.shoot.releasing import Releases
from session.shoot.state import ShootState

MOST_TRIES = 2
"""A plane that fails so often in one go waits for a person: the third try would fail too. Chosen."""

LIVE_WAIT_S = 20.0
"""A camera that hasn't shown a live picture so long after it was asked won't. Chosen."""

NO_CAMERA = "There is no camera."
NOT_LIVE = f"No live picture came for {LIVE_WAIT_S:.0f} s, and the focus is driven in live view only."
OTHER_VIEW = "This series is of another view: go back to that view, or plan a new series."
STILL_DRIVEN = "The focus is still being driven: begin when it stands."
TOO_COARSE = "In whole steps of the drive these planes fall together, leave gaps or lie out of reach: look at its pace."
NOT_KNOWN = "Nobody knows where the drive stands. Focus on the first plane, and mark it as the end."


class SeriesShoot:
    """At most one series; while `series` is None, nothing was begun in this run."""

    def __init__(self, state: ShootState, releases: Releases, live: LiveStream) -> None:
        self._state, self._releases, self._live = state, releases, live
        self.series: SeriesToRun | None = None
        self.phase = SeriesPhase.DONE
        self._todo: list[float] = []
        self._again: set[float] = set()  # planes to be shot although they have a good frame
        self._tries: dict[float, int] = {}
        self._at_mm: float | None = None  # where the focus stands, as far as anybody knows
        self._at_steps: int | None = None
        self._runs = DriveRuns()  # of the drive, as far as anybody knows
        self._from_mark = False  # it hasn't turned round since the place was told
        self._moves: list[int] = []
        self._moving = False  # the camera was asked for a move to the next plane
        self._live_by_s: float | None = None  # a live picture is waited for until then
        self._asked = ""
        self._asked_mm = 0.0
        self._place: Place | None = None
        self._said: SeriesChanged | None = None

    # --- the person -------------------------------------------------------------------------------

    def run(self, series: SeriesToRun, planes_mm: tuple[float, ...], at_mm: float | None) -> None:
        """See `acts.RunSeries`; places in mm. A series that is under way goes on as planned."""
        if self.is_under_way:
            return
        is_new = self.series is None or self.series.series_id != series.series_id
        if refusal := self._why_not_run(series, at_mm, is_new=is_new):
            self._state.emit(Said(refusal))
            return
        if is_new:
            self._at_mm = self._at_steps = None
            self._asked, self._place = "", self._state.place
        self.series, self._tries, self._again = series, {}, set()
        if at_mm is not None:
            self._at_mm = at_mm
            # the lens stands there; the count is behind by what the drive still lacks of having taken up its play
            play_steps = series.play_steps or 0
            taken_up = play_steps if series.away > 0 else 0
            behind = self._runs.lag(play_steps, series.away) - taken_up
            self._at_steps = series.steps_to(at_mm) + behind
            self._from_mark = True
        self._todo = sorted(planes_mm, key=lambda mm: series.away * mm)
        self._next()

    def _why_not_run(self, series: SeriesToRun, at_mm: float | None, *, is_new: bool) -> str:
        if not is_new and self._place != self._state.place:
            return OTHER_VIEW
        if series.moved_by is not MovedBy.DRIVE:
            return ""
        if series.is_too_coarse:
            return TOO_COARSE
        if at_mm is not None and self._state.drives_asked:
            return STILL_DRIVEN
        if at_mm is not None and self._runs.last * series.away < 0 and series.play_steps is None:
            here, there = ("near", "far") if series.approach is Approach.NEAR else ("far", "near")
            return (
                f"The drive came to this plane from the {there} side, and nobody measured its play: measure the drive, "
                f"or drive past it, come to it from the {here} side, and begin again."
            )
        return ""

    def add(self, planes_mm: tuple[float, ...]) -> None:
        """See `acts.AddPlanes`; places in mm."""
        series = self.series
        if series is None:
            return
        known = [series.plane(mm) for mm in self._todo]
        new = [mm for mm in planes_mm if not any(same_plane(plane, mm) for plane in known)]
        spent = [mm for mm in planes_mm if self._tries_of(mm) >= MOST_TRIES]
        self._again.update(planes_mm)
        self._todo += sorted(new, key=lambda mm: series.away * mm)
        if spent:
            self._stop(f"{_failed_text(series, spent)} If something moved for good, plan a new series.")
        elif self.phase in (SeriesPhase.DONE, SeriesPhase.JUDGING):
            self._next()

    def release(self, overrulings: Mapping[str, str]) -> None:
        """See `acts.ReleasePlane`; also goes on after a pause at a plane that is reached."""
        if self.series is None or not self._todo or self._asked or self.phase is not SeriesPhase.BY_HAND:
            return
        self._at_mm = self._todo[0]
        self._state.touch()  # the hand was on the rail or the ring until now
        self._ask(overrulings)

    def pause(self, text: str = "") -> None:
        """Begin no further frame; a release that waits is called off. `text`: the reason, unless a person asked."""
        if self.is_under_way:
            self._stop(text)

    def _stop(self, text: str) -> None:
        held = self._releases.held
        if held is not None and held.frame_id == self._asked:
            self._releases.call_off()
        self._moves, self._moving, self._live_by_s = [], False, None
        self._tell(SeriesPhase.PAUSED, text)

    @property
    def is_under_way(self) -> bool:
        """Whether it goes on by itself, or waits for a hand."""
        return self.series is not None and self.phase in SERIES_UNDER_WAY

    # --- the next plane ---------------------------------------------------------------------------

    def _next(self) -> None:
        """Go to the next plane that lacks a good frame; at the end see what the checks made of them."""
        series = self.series
        assert series is not None
        shots = self._shots()
        if shots is None:
            return
        self._todo = [mm for mm in self._todo if mm in self._again or missing_planes((mm,), shots)]
        if self._files_may_come(shots):
            self._tell(SeriesPhase.RELEASING)
        elif not self._todo:
            self._end_of_round(series, shots)
        elif series.moved_by is not MovedBy.DRIVE:
            if self._at_mm is None and shots:
                self._at_mm = shots[-1].plane.plane_mm
            self._tell(SeriesPhase.BY_HAND)
        else:
            self._go_by_drive(series)

    def _files_may_come(self, shots: tuple[ShotPlane, ...]) -> bool:
        """Whether files of the series' frames are on their way or looked for, so that none is shot again in vain."""
        state, coming = self._state, (FrameState.RELEASING, FrameState.RECEIVING)
        flights = [self._releases.flight(shot.frame_id) for shot in shots]
        return state.card_asked or bool(state.late_files.waited_for) or any(f and f.state in coming for f in flights)

    def _end_of_round(self, series: SeriesToRun, shots: tuple[ShotPlane, ...]) -> None:
        """The planes that turned out spoilt are shot again, each MOST_TRIES times at most."""
        if any(self._releases.flight(shot.frame_id) for shot in shots):
            self._tell(SeriesPhase.JUDGING)
            return
        tried = tuple(self._tries)
        failed = missing_planes(tried, shots)
        again = [mm for mm in failed if self._tries[mm] < MOST_TRIES]
        if again:
            self._todo = sorted(again, key=lambda mm: series.away * mm)
            self._next()
        elif failed:
            self._todo = list(failed)
            self._tell(SeriesPhase.PAUSED, _failed_text(series, failed))
        else:
            self._tell(SeriesPhase.DONE)

    def _go_by_drive(self, series: SeriesToRun) -> None:
        refusal = NO_CAMERA if self._state.description is None else self._live.why_not_driven()
        if not refusal and self._at_steps is None:
            refusal = NOT_KNOWN
        if refusal:
            self._tell(SeriesPhase.PAUSED, refusal)
            return
        if self._state.drives_asked:  # it is counted from where that ends
            self._tell(SeriesPhase.MOVING)
            return
        assert self._at_steps is not None
        way = series.steps_to(self._todo[0]) - self._at_steps
        ahead = way * series.away
        taken_up = self._from_mark or abs(self._runs.last) >= series.run_up_steps
        if self._runs.last * series.away > 0 and taken_up and ahead >= 0:
            self._moves = [way] if way else []
        elif ahead > series.run_up_steps:
            self._moves = [way]
        else:
            self._moves = [way - series.away * series.run_up_steps, series.away * series.run_up_steps]
        self._moves = [steps for steps in self._moves if steps]
        self._drive()

    def _drive(self) -> None:
        """Ask for the next move; at the plane, release."""
        if not self._moves:
            self._at_mm = self._todo[0]
            self._ask({})
            return
        if not self._live.on:
            self._live_by_s = self._state.clock.monotonic_s() + LIVE_WAIT_S
            self._live.switch(True)
            if not self._live.on:
                self._stop(say.NO_LIVE_VIEW)
                return
        self._tell(SeriesPhase.MOVING)
        if self._live_by_s is None:
            self._moving = True
            self._live.drive(self._moves.pop(0))

    def _ask(self, overrulings: Mapping[str, str]) -> None:
        """Ask for the release of the next plane, through the door of every release."""
        series = self.series
        assert series is not None
        plane_mm = self._todo[0]
        wanted = AskRelease(overrulings, series=series.plane(plane_mm))
        self._tell(SeriesPhase.RELEASING)
        self._asked, self._asked_mm = wanted.frame_id, plane_mm
        self._releases.ask(wanted)
        self.tick()

    # --- what comes of it -------------------------------------------------------------------------

    def tick(self) -> bool:
        """Go on when the frame that was asked for is saved, or pause when it isn't; called after each message.

        True when another release was asked for.
        """
        before = self._asked
        if self._live_by_s is not None and self._state.clock.monotonic_s() >= self._live_by_s:
            self._stop(NOT_LIVE)
        elif self._asked:
            flight = self._releases.flight(self._asked)
            under_way = (FrameState.ASKED, FrameState.HELD_OFF, FrameState.RELEASING, FrameState.RECEIVING)
            if flight is None or flight.state not in under_way:
                self._after_frame()
        elif self.phase in (SeriesPhase.JUDGING, SeriesPhase.RELEASING):
            self._next()
        return self._asked not in ("", before)

    def _after_frame(self) -> None:
        shots = self._shots()
        if shots is None:
            return
        frame_id, self._asked = self._asked, ""
        shot = next((one for one in shots if one.frame_id == frame_id), None)
        why = self._said.text if self._said and self.phase is SeriesPhase.PAUSED else ""
        if shot is None:  # refused or called off: whoever did that has said why
            self._tell(SeriesPhase.PAUSED, why)
            return
        asked = shot.plane
        self._tries[self._asked_mm] = self._tries.get(self._asked_mm, 0) + 1
        if shot.state not in (FrameState.SAVED, FrameState.LOGGED):
            self._tell(SeriesPhase.PAUSED, why)
            return
        self._again = {mm for mm in self._again if not same_plane(asked, mm)}
        self._todo = [mm for mm in self._todo if not same_plane(asked, mm)]
        if self.phase is SeriesPhase.PAUSED:
            self._tell(SeriesPhase.PAUSED, why)
        else:
            self._next()

    def on_driven(self, steps: int) -> None:
        """The drive has moved by these steps, for the series or for somebody else."""
        if steps and self._runs.last * steps <= 0:
            self._from_mark = False
        self._runs = self._runs.and_then(steps)
        if self._at_steps is not None:
            self._at_steps += steps
        if self._state.drives_asked or self.phase is not SeriesPhase.MOVING:
            return
        if self._moving:
            self._moving = False
            self._drive()
        else:  # a move of before the pause, or of somebody else, has ended
            self._next()

    def on_live(self) -> None:
        """A live picture came: now the drive obeys."""
        if self._live_by_s is not None and self.phase is SeriesPhase.MOVING:
            self._live_by_s = None
            self._drive()

    def on_failed(self, message: say.Failed) -> None:
        """The drive could not move, for the series or for somebody else: where the focus stands now isn't known."""
        no_drive = message.request == say.DriveFocus.__name__
        if no_drive:
            self._forget_place()
        if no_drive or (message.request == say.LiveView.__name__ and self._live_by_s is not None):
            self.pause(message.text)

    def on_lost(self, text: str) -> None:
        """The camera went; a frame in its hands is settled when it is back. Switched off, its lens goes home."""
        self._forget_place()
        self.pause(text)

    def _forget_place(self) -> None:
        """Nobody knows any more where the drive stands; a place that a hand went to stays."""
        self._at_steps, self._runs, self._from_mark = None, DriveRuns(), False
        if self.series is not None and self.series.moved_by is MovedBy.DRIVE:
            self._at_mm = None

    def _tries_of(self, plane_mm: float) -> int:
        assert self.series is not None
        plane = self.series.plane(plane_mm)
        return sum(tries for mm, tries in self._tries.items() if same_plane(plane, mm))

    def _shots(self) -> tuple[ShotPlane, ...] | None:
        """What the log has of the series; None when it can't be read, and the series is paused."""
        assert self.series is not None
        try:
            return self._state.log.shot_planes(self.series.series_id)
        except LogError as error:
            self.pause(str(error))
            return None

    def _tell(self, phase: SeriesPhase, text: str = "") -> None:
        assert self.series is not None
        self.phase = phase
        plane_mm = self._todo[0] if self._todo else None
        move_mm = plane_mm - self._at_mm if plane_mm is not None and self._at_mm is not None else None
        now = SeriesChanged(self.series, phase, plane_mm, move_mm, len(self._todo), text)
        if now != self._said:
            self._said = now
            self._state.emit(now)


def _failed_text(series: SeriesToRun, failed: Sequence[float]) -> str:
    names = " and ".join(series.plane(mm).name for mm in failed)
    return f"The frames of {names} failed {MOST_TRIES} times: look at them first."
