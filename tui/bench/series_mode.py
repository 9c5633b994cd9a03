"""The focus series at the bench: planned before it fires, run plane by plane, checked while the piece lies there.

What the series has is read from the log, so it goes on where it was left, the next day too. Each frame is measured in
the background when it is at rest, while the next one is taken; when all planes are shot, the map tells what was never
sharp, and one key shoots what is missing.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import partial

from textual.content import Content

from session.frame.ports import LogError, Place
from session.frame.series_plane import Approach, MovedBy, SeriesPlane, SeriesToRun
from session.frame.shot_plane import ShotPlane, missing_planes, newest_by_plane, newest_outcome
from session.frame.states import ENDED
from session.series.live_way import LiveWay
from session.series.series_look import MovedSeries, SeriesLook, SeriesLooker
from session.set.setup import Region
from session.shoot.acts import (
    AddPlanes,
    KeepDrive,
    KeepSeriesOutcome,
    MeasureDrive,
    PauseSeries,
    ReleasePlane,
    RunSeries,
    SwitchLiveView,
    TellRoom,
)
from session.shoot.events import SERIES_UNDER_WAY, About, SeriesChanged, SeriesPhase
from session.units.numbers import steps_text
from session.units.typed import typed_number
from storage.reading.views import FrameRecord
from tui.bench.hand_way import HandWay
from tui.bench.mode import BenchPort, Draft
from tui.bench.release_keys import ask_overruling
from tui.bench.series_planning import SeriesPlanning
from tui.screen.background import Then
from tui.screen.panels import QUIET, heading
from tui.screen.side_view import draw, standing
from tui.screen.small_picture import SmallPicture
from tui.shell.shot_series import look_at_series, other_set_words
from tui.words.harmless import harmless
from tui.words.headline import Headline, Tone
from tui.words.keys import Where, cap_of, hint
from tui.words.model import Phase
from tui.words.series_words import (
    BACK_BY_LIVE,
    CANT_TELL_BACK,
    CANT_TELL_THE_WAY,
    LIVE_TELLS_THE_WAY,
    back_headline,
    drive_words,
    frames_text,
    headline,
    is_back,
    moved_headline,
    outcome_headline,
    outcome_text,
    plan_words,
    planes_line,
    room_words,
    shot_words,
)

AT_REST = frozenset({Phase.READY, Phase.JUDGED, Phase.REFERENCE, Phase.STOPPED})
"""Phases in which the large line may tell of the series; in all others it tells of a frame, or of the camera."""

FEWEST_DRAWN_ROWS = 5
AROUND_GAP = 0.08
"""Half of the frame around the middle of a gap, as a share of the picture. For the eye only; chosen."""

BEING_MEASURED = "The frames are being looked at: a moment."

_FRAMES = re.compile(r"(\d{1,5}) *(?:frames?|f)?")


class SeriesMode(Draft):
    """The plan of the view's next series, or what its newest one has come to."""

    where = Where.SERIES

    def __init__(self, bench: BenchPort, looker: SeriesLooker, like: SeriesPlane | None = None) -> None:
        """like  a plane of a series that is to be shot again as it was: with its count, its step and from its side"""
        super().__init__(bench)
        self._plan = SeriesPlanning(bench, like)
        self._hand = HandWay(bench)
        self._putting_back = self._settling = False  # the set moved: the way back is shown; planes are shot again
        self._looking = bench.app.reader is not None  # the log wasn't read yet
        self._shot_with: FrameRecord | None = None
        self._looker = looker
        self._look: SeriesLook | None = None
        self._picture: SmallPicture | None = None
        self._seen: tuple[set[tuple[str, str | None]], Place] | None = None
        self._told: set[str] = set()
        self._best: tuple[ShotPlane, ...] = ()  # as the log has them
        self._outcome = ("", "")  # the newest frame, and what the log says that the series came to with it
        self._left_out: set[str] = {like.series_id} if like else set()
        bench.post(TellRoom())

    @property
    def is_begun(self) -> bool:
        """Whether the series has frames."""
        return self._look is not None

    @property
    def lacks(self) -> bool:
        """Whether what is still to be shot of a series that has frames can be: not while the set lies elsewhere."""
        if self._look is None or (self._look.moved is not None and not self._is_back(self._look.moved)):
            return False
        return bool(self._look.todo_mm)

    @property
    def has_moved(self) -> bool:
        """Whether the set moved for good while the series was shot."""
        return self._look is not None and self._look.moved is not None

    def _series(self) -> SeriesToRun | None:
        """The series as it is run: a series that has frames, else the planned series."""
        return self._plan.to_run(self._look.plane) if self._look is not None else self._plan.series()

    # --- what is shown ----------------------------------------------------------------------------

    def headline(self) -> Headline | None:
        model = self._bench.model
        self._plan.drive.forget_typed_before_measured()
        told = model.series if model.series and self._is_here(model.series.series) else None
        if told is not None and told.phase is SeriesPhase.BY_HAND:
            return headline(told, self._way_of_the_hand(told))
        if told is not None and told.phase is SeriesPhase.MOVING:
            return headline(told)
        if model.phase() not in AT_REST or model.stops:
            return None
        return self._headline_at_rest(told)

    def _is_under_way(self, told: SeriesChanged | None) -> bool:
        return told is not None and told.phase in SERIES_UNDER_WAY

    def _moved_headline(self, moved: MovedSeries) -> Headline:
        if not self._putting_back:
            return moved_headline(moved)
        with suppress(ValueError):
            by_rail = moved.before[0].plane.moved_by is MovedBy.RAIL
            self._hand.follow(self._plan.lens().lens, self._plan.body(), by_rail=by_rail)
        if not self._bench.model.live.on:
            return back_headline(moved, BACK_BY_LIVE)
        if self._hand.found is None and self._hand.is_compared:
            return back_headline(moved, CANT_TELL_BACK)
        return back_headline(moved, self._hand.found)

    def _is_back(self, moved: MovedSeries) -> bool:
        """Whether the set was put back, by the live picture."""
        return self._putting_back and self._bench.model.live.on and is_back(moved, self._hand.found)

    def _way_of_the_hand(self, told: SeriesChanged) -> LiveWay | str:
        """The way since the last plane by the live picture, or the words on why it isn't told."""
        if not told.move_mm or not self._hand.is_begun:
            return "" if self._bench.model.live.on else LIVE_TELLS_THE_WAY
        with suppress(ValueError):
            by_rail = told.series.moved_by is MovedBy.RAIL
            self._hand.follow(self._plan.lens().lens, self._plan.body(), by_rail=by_rail)
        found = self._hand.found
        if found is None or not found.tells(told.move_mm):
            return CANT_TELL_THE_WAY
        return found

    def _headline_at_rest(self, told: SeriesChanged | None) -> Headline | None:
        """The large line while no frame has anything to say; `told`: the series shown, as the controller has it."""
        model = self._bench.model
        if model.sweeping:
            return Headline("MEASURING", model.lasting[About.SWEEP], Tone.BUSY)
        if self._look is not None and self._look.moved is not None and not self._is_under_way(told):
            return self._moved_headline(self._look.moved)
        all_shot = told is not None and told.phase is SeriesPhase.PAUSED and not told.left
        if told is not None and told.phase is not SeriesPhase.DONE and not all_shot:
            return headline(told)
        if self._look is not None:
            line = outcome_headline(self._look)
            covered = self._picture is not None and model.live.on
            shows = f" {hint(Where.SERIES, 'live', 'shows the preview')}." if covered else ""
            return replace(line, sentence=line.sentence + shows)
        if self._looking:
            return Headline("SERIES ?", "The log is being read.", Tone.BUSY)
        return self._plan_headline()

    def _plan_headline(self) -> Headline:
        series = self._series()
        if series is None:
            return Headline("SERIES", self._plan.plan()[1], Tone.CAUTION)
        if series.moved_by is MovedBy.DRIVE and not series.steps_per_mm:
            ways = (
                f"{hint(Where.SERIES, 'measure_drive', 'measures it')}, {hint(Where.SERIES, 'type_pace', 'types it')}"
            )
            text = f"How far a step of the drive goes isn't known: {ways}."
            return Headline(frames_text(series.frames).upper(), text, Tone.CAUTION)
        end = "near" if series.approach is Approach.NEAR else "far"
        text = f"Focus on the {end} end of what must be sharp, then {hint(Where.SERIES, 'go_on')}."
        if len(self._plan.drive.ends) == 2:
            text = f"Both ends are counted from where the drive was. {hint(Where.SERIES, 'go_on')}."
        return Headline(frames_text(series.frames).upper(), text, Tone.GO)

    def panel(self, width: int, height: int) -> list[Content]:
        self._look_soon()
        self._note_begun()
        series = self._series()
        if series is None:
            return [heading("SERIES"), Content(harmless(self._plan.plan()[1], 300))]
        look, told = self._look, self._bench.model.series
        best = look.best if look else ()
        next_mm = told.plane_mm if told and self._is_here(told.series) and told.phase in SERIES_UNDER_WAY else None
        shot = series.frames - len(missing_planes(series.planes_mm, look.shots if look else ()))
        lines = [heading("SERIES", f"{shot} of {frames_text(series.frames)}")]
        lines += [Content(line) for line in plan_words(series, self._where_from(series))]
        lines += [Content(line) for line in planes_line(series, best, next_mm, width)]
        lines += [Content(harmless(line, 300)) for line in self._words(series, look)]
        if not self.is_begun:
            lines += self._drawing(series, width, height - len(lines) - 2)
        return lines

    def _where_from(self, series: SeriesToRun) -> str:
        """Where the steps a mm come from: typed, measured just now, or of the kit; "" where that doesn't matter."""
        drive, measured = self._plan.drive, self._plan.drive.measured
        if series.moved_by is not MovedBy.DRIVE or self.is_begun or not series.steps_per_mm:
            return ""
        if drive.typed is not None or measured is None:
            return "typed"
        kept = measured is not self._bench.model.drive_measured
        return drive_words(measured, self._bench.app.clock.now().date(), kept=kept)

    def _words(self, series: SeriesToRun, look: SeriesLook | None) -> list[str]:
        """Time and room before it fires; then what is wrong with single frames, and what the series came to."""
        if look is None:
            least_s = self._plan.least_time_s(series)
            time = f"at least {least_s:.0f} s, and what transfer and moving take" if least_s is not None else ""
            ends = {"n": "near", "m": "far"}
            marks = "".join(f"{ends[end]} end marked. " for end in sorted(self._plan.drive.ends, reverse=True))
            return [line for line in (time, room_words(self._bench.model.room, series.frames), marks.strip()) if line]
        lines = [shot_words(shot, look.faults[shot.frame_id]) for shot in look.best if shot.frame_id in look.faults]
        lines += [f"{series.plane(mm).name}: to be shot" for mm in look.more_mm]
        return [*lines, outcome_text(look)] if look.found else lines

    def _drawing(self, series: SeriesToRun, width: int, height: int) -> list[Content]:
        """The set from the side, the depth of the series drawn as the piece, where there is room."""
        revision = self._bench.model.revision
        scene = standing(revision, self._bench.kit) if revision and height >= FEWEST_DRAWN_ROWS else None
        if scene is None:
            return []
        span_mm = (series.frames - 1) * series.step_mm + series.depth_mm
        beside = (f"{series.frames} planes", f"{span_mm:.1f} mm")
        view = draw(replace(scene, piece=(scene.piece[0], span_mm), beside=beside, lights=()), width, height)
        return [Content.styled(line, QUIET) for line in view.lines] if view.mm_a_column else []

    def picture(self) -> SmallPicture | None:
        """The preview of the whole, once it is; live view and single frames go before it while it is under way."""
        told = self._bench.model.series
        under_way = told is not None and told.phase in SERIES_UNDER_WAY
        return None if under_way or self._bench.model.live.on else self._picture

    def caption(self) -> str:
        return "PREVIEW of the series · not for delivery"

    def region(self) -> Region | None:
        """The place of the largest gap, framed on the preview."""
        if self._look is None or not self._look.gaps or self._picture is None:
            return None
        x, y = self._look.largest_gap.middle
        left, top = (min(max(at - AROUND_GAP, 0.0), 1 - 2 * AROUND_GAP) for at in (x, y))
        return Region(left, top, 2 * AROUND_GAP, 2 * AROUND_GAP)

    def _is_here(self, series: SeriesToRun) -> bool:
        """Whether the controller's series is the one shown."""
        here = self._look.plane.series_id if self._look else self._plan.series_id
        return series.series_id == here

    # --- what the log has -------------------------------------------------------------------------

    def _look_soon(self) -> None:
        """Have the series read and measured anew when a frame came to rest or was marked, or the view is another."""
        model, reader = self._bench.model, self._bench.app.reader
        frames = {(frame.frame_id, frame.mark) for frame in model.released if frame.state in ENDED}
        if reader is None or model.place is None or model.revision is None:
            return
        if self._seen == (frames, model.place):
            return
        place = model.place
        if self._seen is not None and self._seen[1] != place:
            self._put_aside()
            self._looking = True
        self._seen = (frames, place)
        self._bench.post(TellRoom())

        def work() -> Then:
            try:
                records = reader.focus_series(place)
                outcomes = reader.series_outcomes()
            except LogError as error:
                return partial(self._bench.say, str(error))
            return partial(self._take_records, place, records, outcomes)

        self._bench.app.in_background(work, "focus series", keys_wait=self._looking)

    def _take_records(self, place: Place, records: Sequence[FrameRecord], outcomes: Mapping[str, str]) -> None:
        """What the log has of the view's newest series stands at once; its pictures are measured in the background."""
        if place != self._bench.model.place:
            return
        self._looking = False
        shots = tuple(shot for shot in (record.shot_plane for record in records) if shot)
        if not shots or shots[0].plane.series_id in self._left_out:
            self._bench.repaint()
            return
        self._best = newest_by_plane(shots)
        if self._look is None or self._look.best != self._best:  # what was said, and the preview, is of other frames
            missing = missing_planes(shots[-1].plane.planes_mm, shots)
            self._look, self._picture = SeriesLook(shots, self._best, missing, is_measured=False), None
        if self._outcome[0] != shots[-1].frame_id:
            self._outcome = (shots[-1].frame_id, newest_outcome(shots, outcomes))
        self._shot_with = records[-1]
        self._bench.repaint()
        kit = self._bench.kit

        def work() -> Then:
            return partial(self._take, place, look_at_series(self._looker, records, kit))

        self._bench.app.in_background(work, "focus series frames")

    def _take(self, place: Place, look: SeriesLook) -> None:
        if look.plane.series_id in self._left_out or place != self._bench.model.place:
            return
        self._look = look
        self._picture = None
        if look.preview is not None and look.best == self._best:
            height, width = look.preview.shape[:2]
            self._picture = SmallPicture(look.preview, width, height)
        told = self._bench.model.series
        under_way = told is not None and self._is_under_way(told) and self._is_here(told.series)
        new = [shot for shot in look.best if shot.frame_id in look.faults and shot.frame_id not in self._told]
        if look.moved is not None and under_way and not self._settling:
            self._bench.post(PauseSeries())
        elif new and under_way and not self._settling:
            self._told.update(shot.frame_id for shot in new)
            self._bench.post(AddPlanes(tuple(shot.plane.plane_mm for shot in new)))
        outcome = (look.shots[-1].frame_id, outcome_text(look))
        if outcome[1] and outcome != self._outcome:
            self._outcome = outcome
            self._bench.post(KeepSeriesOutcome(look.shots[-1].frame_id, outcome[1]))
        self._bench.repaint()

    def _put_aside(self) -> None:
        """Another series is planned, or looked for."""
        self._look, self._picture, self._shot_with = None, None, None
        self._plan.forget()
        self._putting_back = self._settling = False

    # --- keys -------------------------------------------------------------------------------------

    def act_go_on(self, key: str) -> None:
        self._go_on(())

    def act_put_back(self, key: str) -> None:
        """Show by live view where the set lies against where it lay before it moved."""
        if self._look is not None and self._look.moved is not None:
            self._hand.begin_with(self._look.moved.last)
            self._putting_back = True
            if not self._bench.model.live.on:
                self._bench.post(SwitchLiveView(True))
            self._bench.repaint()

    def act_as_it_stands(self, key: str) -> None:
        """Shoot the planes from before the move again, so that all frames lie as the set stands now."""
        if self._look is not None and self._look.moved is not None:
            self._go_on(tuple(shot.plane.plane_mm for shot in self._look.moved.before))

    def _go_on(self, again_mm: tuple[float, ...]) -> None:
        """Begin, or go on with what is to be shot; `again_mm`: with these planes instead, mm."""
        series = self._series()
        if series is None or (series.moved_by is MovedBy.DRIVE and not series.steps_per_mm):
            self._bench.say("The series isn't planned yet; the line above says what is missing.")
            return
        look, why_not = self._look, self._why_not_on()
        try:
            at_mm = self._stands_at(series)
        except ValueError as error:
            why_not = str(error)
        if why_not:
            self._bench.say(why_not)
            return
        if look is None:
            self._bench.post(RunSeries(series, series.planes_mm, at_mm))
        elif again_mm:
            self._bench.post(RunSeries(series, (*look.missing_mm, *again_mm), at_mm))
            self._bench.post(AddPlanes(again_mm))
        else:
            self._bench.post(RunSeries(series, look.todo_mm, at_mm))
            self._bench.post(AddPlanes((*look.again_mm, *look.more_mm)))
        self._settling, self._putting_back = self.has_moved, False
        self._plan.drive.asked = dict(self._plan.drive.ends)
        self._bench.model.begin_act()
        self._bench.repaint()

    def _note_begun(self) -> None:
        """Marks count as gone by only once the controller has begun with them: it may have refused."""
        told, drive = self._bench.model.series, self._plan.drive
        if drive.asked is not None and told and self._is_here(told.series) and told.phase in SERIES_UNDER_WAY:
            drive.run_with, drive.asked = drive.asked, None

    def _why_not_on(self) -> str:
        """Why nothing is shot now, a sentence; "" when something is."""
        if self._looking:
            self._seen = None  # a log that refused is asked once more
            return "The log is being read: a moment."
        look, shot_with = self._look, self._shot_with
        if look is None or shot_with is None:
            return ""
        if not look.todo_mm:
            return "Nothing more is to be shot, as far as it can be told." if look.is_measured else BEING_MEASURED
        return self._why_other(shot_with)

    def _why_other(self, shot_with: FrameRecord) -> str:
        """The sentence that what is in force differs from what the series was shot with; "" when nothing does."""
        model, kit = self._bench.model, self._bench.kit
        if model.revision is None:
            return ""
        try:
            lens = self._plan.lens() if model.description is not None else None  # the controller says: no camera
            return other_set_words(shot_with, model.revision, lens, kit, cap_of(Where.SERIES, "anew"))
        except ValueError as error:
            return str(error)

    def _stands_at(self, series: SeriesToRun) -> float | None:
        """Where the focus stands, mm from the first plane: at the end, or as far from it as the drive went since.

        None when the controller knows, since it has begun, and no end was marked since.
        """
        told = self._bench.model.series
        is_known = self._look is not None or (told is not None and self._is_here(told.series))
        if is_known and self._plan.drive.ends == self._plan.drive.run_with:
            return None
        return self._plan.begins_at_mm(series) if self._look is None else self._plan.marked_mm(series)

    def act_release(self, key: str) -> None:
        self._release({})

    def _release(self, overrulings: Mapping[str, str]) -> None:
        told = self._bench.model.series
        if told is not None and told.phase is SeriesPhase.BY_HAND:
            self._hand.begin()
            self._bench.model.release_asked()
            self._bench.post(ReleasePlane(overrulings))
            self._bench.repaint()

    def act_overrule(self, key: str) -> None:
        ask_overruling(self._bench, self._release)

    def act_pause(self, key: str) -> None:
        self._bench.post(PauseSeries())
        self._bench.repaint()

    def act_end(self, key: str) -> None:
        moved_by = self._look.plane.moved_by if self._look else self._plan.moved_by
        if moved_by is not MovedBy.DRIVE:
            self._bench.say("By hand the ends aren't counted: type what must be sharp.")
            return
        self._plan.drive.mark(key)
        self._plan.like = None
        self._plan.needed_mm = None
        if all(self._plan.drive.steps_since(end) is not None for end in "nm"):
            self._plan.frames = None
        self._bench.repaint()

    def act_type_span(self, key: str) -> None:
        def take(text: str) -> None:
            self._plan.like = None
            typed = text.strip().casefold()
            match = _FRAMES.fullmatch(typed)
            if match and not typed.endswith("mm"):
                self._plan.frames, self._plan.needed_mm = int(match[1]), None
            else:
                self._plan.needed_mm, self._plan.frames = typed_number("depth_needed_mm", text), None
            self._bench.repaint()

        self._bench.ask("what must be sharp, like 1.4 mm, or how many frames, like 7", take)

    def act_type_pace(self, key: str) -> None:
        def take(text: str) -> None:
            self._plan.drive.typed = typed_number("steps_per_mm", text)
            self._bench.repaint()

        known = self._plan.drive.steps_per_mm
        self._bench.ask("steps of the drive for 1 mm of focus", take, steps_text(known) if known else "")

    def act_measure_drive(self, key: str) -> None:
        self._bench.model.begin_act()
        self._bench.post(MeasureDrive(self._bench.model.live.sweeps))
        self._bench.repaint()

    def act_keep_drive(self, key: str) -> None:
        self._bench.post(KeepDrive())

    def act_moved_by(self, key: str) -> None:
        self._plan.moved_otherwise()
        self._bench.repaint()

    def act_side(self, key: str) -> None:
        self._plan.approach = Approach.FAR if self._plan.approach is Approach.NEAR else Approach.NEAR
        self._bench.repaint()

    def act_anew(self, key: str) -> None:
        """Put the series shown aside and plan another."""
        if self._look is not None:
            self._left_out.add(self._look.plane.series_id)
        self._plan.like = None
        self._put_aside()
        self._bench.post(TellRoom())
        self._bench.repaint()

    def act_back(self, key: str) -> None:
        self._bench.post(PauseSeries())  # it may have begun just now
        self._bench.begin(None)
