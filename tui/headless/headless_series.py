"""A focus series without a screen: planned and shown, shot by the controller that the bench uses, told in the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from session.frame.finding import stops
from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.frame.states import FrameState
from session.series.series_look import SeriesLook, SeriesLooker
from session.series.series_plan import (
    SeriesLens,
    SeriesPlan,
    least_time_s,
    series_lens,
    series_of_count,
    series_over,
    series_to_run,
)
from session.set.lens_in_use import drive_in_use
from session.set.setup import Revision
from session.shoot.acts import Act, AddPlanes, KeepSeriesOutcome, PauseSeries, ReleasePlane, RunSeries, TellRoom
from session.shoot.events import FrameMoved, RoomTold, SeriesChanged, SeriesPhase
from session.units.ids import new_id
from storage.reading.views import FrameRecord
from tui.headless.headless_shoot import FRAME_WITHIN_S, Headless
from tui.shell.options import Refused
from tui.shell.shot_series import look_at_series, other_set_words
from tui.shell.troubles import CommandFailed, Stopped
from tui.words.series_words import (
    drive_words,
    frames_text,
    gap_words,
    hand_words,
    moved_words,
    outcome_text,
    plan_words,
    planes_line,
    room_words,
    shot_series_words,
    shot_words,
)

MOST_ROUNDS = 3
"""So often planes that close gaps are shot: what they leave blurred then, more frames won't mend. Chosen."""

DRAWN_COLUMNS = 72

MOVED_WAYS = (
    "--as-it-stands shoots the frames from before again; F at the bench leads the set back by live view; --anew plans "
    "another series."
)


@dataclass(frozen=True)
class SeriesWish:
    """What is asked for by options; None: as the series that the view has, else as camera and set-up have it.

    needed_mm, frames  what must be sharp, or how many frames
    anew               plan another series although the view has one
    as_it_stands       where the set moved for good: shoot the frames from before that again
    """

    needed_mm: float | None = None
    frames: int | None = None
    moved_by: MovedBy | None = None
    approach: Approach | None = None
    steps_per_mm: float | None = None
    anew: bool = False
    as_it_stands: bool = False

    @property
    def plans(self) -> bool:
        """True if the options give a depth or a count of frames."""
        return self.needed_mm is not None or self.frames is not None


class HeadlessSeries:
    """The series of the view on the table, from its plan to what it came to."""

    def __init__(
        self,
        run: Headless,
        wish: SeriesWish,
        say: Callable[[str], None],
        agreed: Callable[[str], bool],
        hand: Callable[[str], bool],
        today: date,
    ) -> None:
        """agreed  asks a question, True for yes;  hand  says what a hand is to do, True once it has, False: nobody is
        there"""
        self._run, self._wish, self._say, self._agreed, self._hand = run, wish, say, agreed, hand
        self._today = today
        self._looker = SeriesLooker()
        self._faults_told: set[str] = set()
        self._logged = 0
        self._settling = False  # the set moved: the frames from before are shot again
        self.series_id = ""

    def shoot(self) -> SeriesLook:
        """Shoot what the series lacks, and say what it came to.

        Raises Refused, Stopped where a rule refuses a frame, CommandFailed where the series is paused.
        """
        self._run.connect()
        look = self._look(self.records())
        if look is not None and (self._wish.anew or not self._is_same(look)):
            if look.todo_mm and not self._wish.anew:
                raise Refused(
                    f"The view's {shot_series_words(look.shots)} isn't whole, and these options plan another: "
                    "leave them out to go on with it, or add --anew."
                )
            look = None
        if look is not None and not look.todo_mm:
            self._say("The view's series is shot already; --anew plans another.")
            return self._tell_outcome(look)
        self._begin(look)
        look = self._to_the_end()
        for _ in range(MOST_ROUNDS):
            for gap in look.gaps:
                self._say(gap_words(gap, look))
            if not look.more_mm or not self._agreed(f"Shoot {frames_text(len(look.more_mm))} more?"):
                break
            self._post(AddPlanes(look.more_mm))
            look = self._to_the_end()
        return self._tell_outcome(look)

    def _post(self, *acts: Act) -> None:
        """Have the controller do these, and wait until it has done them."""
        for act in acts:
            self._run.open_shoot.post(act)
        self._run.ask(lambda shoot: None)

    # --- the plan ---------------------------------------------------------------------------------

    def _begin(self, look: SeriesLook | None) -> None:
        """Show what is to be shot, ask, and begin; `look`: of a series that is gone on with.

        Raises Refused where no series can be planned or gone on with, CommandFailed when nobody agrees.
        """
        revision = self._revision()
        try:
            lens = self._lens(revision)
            plane, end_mm = self._new_series(lens, revision) if look is None else (look.plane, 0.0)
            other = self._other_set(lens, revision) if look is not None else ""
        except ValueError as error:
            raise Refused(f"No series can be planned: {str(error).rstrip('.')}.") from None
        if other:
            raise Refused(other)
        again_mm = self._moved_again_mm(look)
        by_drive = plane.moved_by is MovedBy.DRIVE
        if by_drive and not plane.steps_per_mm:
            raise Refused(
                f"How far a step of the drive goes isn't known for {revision.label}: say it by --steps-per-mm."
            )
        drive = drive_in_use(revision.arrangement, self._run.open_shoot.kit) if by_drive else None
        reach_mm = lens.lens.focal_length_mm / lens.lens.magnification if by_drive else None
        series = series_to_run(plane, reach_mm, drive.whole_play_steps if drive is not None else None)
        todo_mm = () if look is None else (*look.missing_mm, *again_mm) if again_mm else look.todo_mm
        count = series.frames if look is None else len(todo_mm)
        from_kit = drive is not None and self._wish.steps_per_mm is None and look is None
        self._show(
            series, look, count, revision, drive_words(drive, self._today, kept=True) if drive and from_kit else ""
        )
        if words := _stands_words(series, look):
            self._say(words)
        if not self._agreed(f"Shoot {frames_text(count)}?"):
            raise CommandFailed(f"None of {frames_text(count)} was shot; --yes shoots without asking.")
        self.series_id = series.series_id
        mark = self._run.tape.mark()
        if look is None:
            self._post(RunSeries(series, series.planes_mm, end_mm))
        else:
            more = AddPlanes(again_mm or (*look.again_mm, *look.more_mm))
            self._settling = bool(again_mm)
            self._post(RunSeries(series, look.missing_mm, 0.0 if by_drive else None), more)
        if self._phase() is None:
            raise CommandFailed(" ".join(self._run.sentences(mark)))

    def _other_set(self, lens: SeriesLens, revision: Revision) -> str:
        shot_with = self.records()[-1]
        return other_set_words(shot_with, revision, lens, self._run.open_shoot.kit, "--anew")

    def _new_series(self, lens: SeriesLens, revision: Revision) -> tuple[SeriesPlane, float]:
        """The first plane of a new series, and the end that it begins at, mm from that plane. Raises ValueError."""
        wish, plan = self._wish, self._plan(lens, revision)
        drives = self._run.ask(lambda shoot: (told := shoot.shoot_state.description) and told.focus_drive)
        moved_by = wish.moved_by or (MovedBy.DRIVE if drives else MovedBy.RAIL)
        drive = drive_in_use(revision.arrangement, self._run.open_shoot.kit)
        known = wish.steps_per_mm or (drive.steps_per_mm if drive is not None else None)
        pace = known if moved_by is MovedBy.DRIVE else None
        plane = plan.first_plane(new_id(), moved_by, wish.approach or Approach.NEAR, pace)
        return plane, 0.0 if wish.frames is not None else plan.end_mm(plane.approach)

    def _plan(self, lens: SeriesLens, revision: Revision) -> SeriesPlan:
        """What the options ask for, else the set-up's depth. Raises ValueError."""
        if self._wish.frames is not None:
            return series_of_count(self._wish.frames, lens)
        needed_mm = self._wish.needed_mm or revision.depth_needed_mm
        if needed_mm is None:
            raise Refused(f"Set-up {revision.label} has no depth needed: say --depth-needed-mm, or --frames.")
        return series_over(needed_mm, lens)

    def _moved_again_mm(self, look: SeriesLook | None) -> tuple[float, ...]:
        """Planes, mm, that are shot again since the set moved for good; none where it didn't. Raises Refused."""
        if look is None or look.moved is None:
            return ()
        if not self._wish.as_it_stands:
            raise Refused(f"{moved_words(look.moved)} {MOVED_WAYS}")
        return tuple(shot.plane.plane_mm for shot in look.moved.before)

    def _is_same(self, look: SeriesLook) -> bool:
        """Whether the options ask for the series that the view has, so that one command goes on with its own series."""
        revision, plane, wish = self._revision(), look.plane, self._wish
        same_way = (
            wish.moved_by in (None, plane.moved_by)
            and wish.approach in (None, plane.approach)
            and wish.steps_per_mm in (None, plane.steps_per_mm)
        )
        if not (same_way and wish.plans):
            return same_way
        try:
            plan = self._plan(self._lens(revision), revision)
        except ValueError as error:
            raise Refused(f"No series can be planned: {str(error).rstrip('.')}.") from None
        planned = plan.first_plane("", plane.moved_by, plane.approach, plane.steps_per_mm)
        return planned.frames == plane.frames and abs(planned.step_mm - plane.step_mm) < 1e-6 * plane.step_mm

    def _show(
        self, series: SeriesToRun, look: SeriesLook | None, count: int, revision: Revision, where_from: str
    ) -> None:
        """Say the plan, the time `count` frames take and the room there is; `where_from`: of the steps a mm."""
        for line in plan_words(series, where_from):
            self._say(line)
        for line in planes_line(series, look.best if look else (), None, DRAWN_COLUMNS):
            self._say(f"  {line}")
        least_s = least_time_s(count, revision, self._run.open_shoot.kit)
        if least_s is not None:
            self._say(f"at least {least_s:.0f} s, and what transfer and moving take")
        mark = self._run.tape.mark()
        self._run.open_shoot.post(TellRoom())
        room = self._run.wait(RoomTold, mark, FRAME_WITHIN_S)
        if words := room_words(room, count):
            self._say(words)

    # --- on its way -------------------------------------------------------------------------------

    def _to_the_end(self) -> SeriesLook:
        """Go along until every plane is shot that was asked for. Raises as `shoot`."""
        while True:
            mark, told = self._run.tape.mark(), self._phase()
            self._run.tell()
            if told is None or told.phase is SeriesPhase.PAUSED:
                raise self._why_paused(told)
            faulty = self._newly_faulty()
            if faulty:
                self._post(AddPlanes(faulty))
            elif told.phase is SeriesPhase.DONE:
                look = self._look(self.records())
                assert look is not None  # a series that is shot has frames
                return look
            elif told.phase is SeriesPhase.BY_HAND:
                self._by_hand(told)
            elif self._run.wait(object, mark, FRAME_WITHIN_S) is None:
                self._post(PauseSeries())
                raise CommandFailed(f"Nothing came of the series within {FRAME_WITHIN_S:g} s; look at the camera.")

    def _by_hand(self, told: SeriesChanged) -> None:
        """Say what a hand is to do, and release once it has; pause where nobody is there."""
        assert told.plane_mm is not None
        large, sentence = hand_words(told.series, told.move_mm, told.series.plane(told.plane_mm).name)
        self._post(ReleasePlane() if self._hand(f"{large} — {sentence}") else PauseSeries())

    def _why_paused(self, told: SeriesChanged | None) -> CommandFailed | Stopped:
        """The reason why it is paused, once what was under way is saved."""
        self._run.all_done()
        self._run.tell()
        moved = (event for event in self._run.tape.since(0) if isinstance(event, FrameMoved))
        last = max(moved, key=lambda event: event.number, default=None)
        refused = last is not None and last.state is FrameState.REFUSED
        kind = Stopped if refused and last is not None and stops(last.findings) else CommandFailed
        why = (told.text if told else "") or (last.text if refused and last is not None else "")
        to_go = f"Paused, {frames_text(told.left if told else 0)} to go; `stillset series run` goes on with them."
        return kind(f"{why} {to_go}".strip())

    def _phase(self) -> SeriesChanged | None:
        """The controller's newest word on this series; None before the first."""
        told = (one for one in reversed(self._run.tape.since(0)) if isinstance(one, SeriesChanged))
        return next((one for one in told if one.series.series_id == self.series_id), None)

    # --- what the frames come to ------------------------------------------------------------------

    def records(self) -> Sequence[FrameRecord]:
        """The frames of this series; before it has begun, of the view's newest one."""
        records = self._run.open_shoot.reader.focus_series(self._run.open_shoot.place)
        of = [one for one in records if one.series and one.series.series_id == self.series_id]
        return of if self.series_id else records

    def _look(self, records: Sequence[FrameRecord]) -> SeriesLook | None:
        return look_at_series(self._looker, records, self._run.open_shoot.kit) if records else None

    def _newly_faulty(self) -> tuple[float, ...]:
        """Planes, mm, whose frame turns out to differ from those beside, each frame told once.

        The pictures are measured as soon as the checks have spoken on a frame, while the next one is taken.
        """
        logged = sum(isinstance(one, FrameMoved) and one.state is FrameState.LOGGED for one in self._run.tape.since(0))
        if logged == self._logged:
            return ()
        self._logged = logged
        look = self._look(self.records())
        if look is None:
            return ()
        if self._settling and look.todo_mm:  # frames of before and after the move lie beside each other till then
            return ()
        self._settling = False
        if look.moved is not None:
            self._post(PauseSeries())
            raise CommandFailed(f"Paused. {moved_words(look.moved)} {MOVED_WAYS}")
        new = [shot for shot in look.best if shot.frame_id in look.faults and shot.frame_id not in self._faults_told]
        self._faults_told.update(shot.frame_id for shot in new)
        for shot in new:
            self._say(f"{shot_words(shot, look.faults[shot.frame_id])}: it is shot again.")
        return tuple(shot.plane.plane_mm for shot in new)

    def _tell_outcome(self, look: SeriesLook) -> SeriesLook:
        """Keep in the log what the series came to, and say it."""
        text = outcome_text(look)
        if text:
            self._post(KeepSeriesOutcome(look.shots[-1].frame_id, text))
            self._say(text)
        elif look.trouble:
            self._say(f"The series can't be told: {look.trouble}.")
        for shot in look.best:
            if shot.frame_id in look.faults:
                self._say(f"{shot_words(shot, look.faults[shot.frame_id])}.")
        return look

    # --- the table --------------------------------------------------------------------------------

    def _revision(self) -> Revision:
        return self._run.open_shoot.ask(lambda shoot: shoot.shoot_state.revision)

    def _lens(self, revision: Revision) -> SeriesLens:
        """Lens and sensor of the set-up in force. Raises ValueError."""
        told, kit = self._run.open_shoot.ask(lambda shoot: shoot.shoot_state.description), self._run.open_shoot.kit
        body = kit.body_for(revision.body, told.serial if told else "", told.model if told else "")
        return series_lens(revision, kit, body)


def _stands_words(series: SeriesToRun, look: SeriesLook | None) -> str:
    """Where the focus must stand before it begins; "" where a hand goes on from wherever the focus is."""
    end = "near" if series.approach is Approach.NEAR else "far"
    if look is None:
        return f"The focus must stand on the {end} end of what must be sharp."
    return f"The focus must stand on the first plane, at the {end} end." if series.moved_by is MovedBy.DRIVE else ""
