"""The controller: what a person may ask for, and what the camera and the judge answer.

Everything runs in one thread, one call at a time (see `runner`): a person's act, a message, a tick of the
clock. Each call changes the state, writes the log, posts requests and emits events, and returns at once.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import fields, replace

from session.frame import camera_messages as say
from session.frame.camera_messages import CameraMaker
from session.frame.finding import CheckId, Finding, RemedyKind, RuleId
from session.frame.ports import JudgeMaker, Judgement, LogError, Reference
from session.frame.shot_plane import SERIES_OUTCOME
from session.plan.planned_revision import as_revision
from session.plan.ranked_plan import Plan
from session.rules import findings_before_release
from session.rules.camera_rules import drifted_settings
from session.rules.room_rules import frames_that_fit
from session.set.ambient_kept import with_ambient
from session.set.setup import Settings
from session.shoot import acts
from session.shoot.acts import Act
from session.shoot.approving import Approving
from session.shoot.arranging import Arranging
from session.shoot.corrected_lens import CorrectedLens
from session.shoot.drive_measuring import DriveMeasuring
from session.shoot.events import (
    About,
    CameraFound,
    CameraLost,
    DoneSoFar,
    FocusMoved,
    PlaceChanged,
    RevisionChanged,
    RoomTold,
    RulesChanged,
    Said,
    SettingsChanged,
)
from session.shoot.going import Going
from session.shoot.judging_anew import JudgingAnew
from session.shoot.live_stream import LIVE_MINUTES, LiveStream
from session.shoot.recovery import LATE_FILE_S, Recovery
from session.shoot.releasing import Releases
from session.shoot.series_shoot import SeriesShoot
from session.shoot.state import Opened, Outside, ShootState
from session.shoot.supports import Supports
from session.shoot.undoing import Undoing
from session.shoot.writer import Writer

RECONNECT_S = 1.0
"""Between two looks for the camera: soon enough for a hand that has just plugged it in. Chosen."""

SETTING_NAMES = tuple(field.name for field in fields(Settings))


NOT_IN_A_SERIES = (
    *(acts.AskRelease, acts.TurnFocus, acts.SweepFocus, acts.GoTo, acts.NewSetup, acts.TakePlan, acts.Revise),
    *(acts.PlaceLight, acts.StrikeLight, acts.PlaceItem, acts.StrikeItem, acts.ApplyRemedy, acts.TakeCameraSettings),
    *(acts.KeepGreyCard, acts.Undo, acts.Redo, acts.MeasureDrive),
)
"""What would make the planes of a focus series under way differ: another view, set-up or place of the focus."""

PAUSE_FIRST = "A focus series is under way: pause it first."


class Shoot:
    """The controller of a shoot: a photographer, a table, a camera."""

    def __init__(
        self,
        opened: Opened,
        outside: Outside,
        *,
        make_camera: CameraMaker,
        make_judge: JudgeMaker,
        deliver: Callable[[say.Message | Judgement], None],
        address: str = "",
        late_file_s: float = LATE_FILE_S,
        live_minutes: float = LIVE_MINUTES,
    ) -> None:
        """
        deliver       brings a message from any thread back to `receive` in the controller's own thread
        address       where the camera is, "" for the only one on USB
        late_file_s   see LATE_FILE_S
        live_minutes  see LIVE_MINUTES
        """
        self._address = address
        self._camera = make_camera(deliver)
        self._judge = make_judge(deliver)
        self._emit = outside.emit
        self._connect_at_s: float | None = outside.clock.monotonic_s()
        self._lost_text = ""
        self._first_connection = True
        self._rules_said: tuple[Finding, ...] = ()
        standing = opened.standing
        self.shoot_state = ShootState(
            **vars(outside),
            place=opened.place,
            revision=standing.revision,
            revision_id=standing.revision_id,
            kit=opened.kit,
            writer=Writer(outside.emit, outside.log.keep_aside),
            post=self._camera.post,
            judge=lambda: self._judge,
            from_camera=standing.from_camera if not standing.revision_id else (),
            building=opened.building,
        )
        self.releases = Releases(self.shoot_state)
        self.drives = DriveMeasuring(self.shoot_state)
        self.live = LiveStream(self.shoot_state, self.drives.on_swept, live_minutes)
        self.series = SeriesShoot(self.shoot_state, self.releases, self.live)
        self._arranging = Arranging(self.shoot_state, self._after_arranging)
        self.supports = Supports(self.shoot_state, self.live.instruments)
        self.corrected_lens = CorrectedLens(self.shoot_state, self._arranging)
        self.recovery = Recovery(self.shoot_state, self.releases, late_file_s)
        self._anew = JudgingAnew(self.shoot_state, self.releases)
        self._undoing = Undoing(
            self.shoot_state, self._arranging, self.live, self.say_reference, self.corrected_lens.on_turned
        )
        self._going = Going(self.shoot_state, self._arranging, self.say_reference)
        self._approving = Approving(self.shoot_state, self.releases, self._undoing.look)

    # --- what a person asks for -------------------------------------------------------------------

    def do(self, act: Act) -> None:  # noqa: PLR0912, PLR0915 — one case for each kind of act
        """Do an act of a person; events tell the outcome."""
        state = self.shoot_state
        if self.series.is_under_way and isinstance(act, NOT_IN_A_SERIES):
            self._emit(Said(PAUSE_FIRST))
            return
        match act:
            case acts.AskRelease():
                self.live.stop_sweep()
                self.releases.ask(act)
            case acts.RunSeries(series, planes_mm, at_mm):
                self.live.stop_sweep()
                self.series.run(series, planes_mm, at_mm)
            case acts.TellRoom():
                self._emit(RoomTold(*frames_that_fit(state.situation())))
            case acts.KeepSeriesOutcome(frame_id, text):
                state.record(SERIES_OUTCOME, text, frame_id)
            case acts.AddPlanes(planes_mm):
                self.series.add(planes_mm)
            case acts.ReleasePlane(overrulings):
                self.series.release(overrulings)
            case acts.PauseSeries():
                self.series.pause()
            case acts.CallOff():
                self.releases.call_off()
            case acts.Touched():
                state.touch()
            case acts.JudgeAnew(frame_id, number, file):
                self._anew.ask(frame_id, number, file)
            case acts.MarkFrame(frame_id, mark):
                state.write(state.log.mark, frame_id, mark)
                self._undoing.look()
            case acts.AddNote(frame_id, text):
                state.write(state.log.note, frame_id, text)
                self._undoing.look()
            case acts.AcceptReference(frame_id):
                self._approving.ask(frame_id)
            case acts.ApplyRemedy(finding):
                self._apply(finding)
            case acts.RestoreSettings():
                self._arranging.restore_settings()
            case acts.TakeCameraSettings():
                self._arranging.take(tuple(state.revision.settings.by_name()))
            case acts.Revise(changes, word):
                self._arranging.revise(replace(state.revision, **changes), act=word)  # type: ignore[arg-type]
            case acts.PlaceLight(light, word):
                self._arranging.revise(state.revision.with_light(light), act=word)
            case acts.StrikeLight(name, word):
                self._arranging.revise(state.revision.without_light(name), act=word)
            case acts.PlaceItem(item, word):
                self._arranging.revise(state.revision.with_item(item), act=word)
            case acts.StrikeItem(name, word):
                self._arranging.revise(state.revision.without_item(name), act=word)
            case acts.NewSetup(notes):
                self._arranging.new_setup(replace(state.revision, notes=notes))
            case acts.TakePlan(plan, new_setup):
                self._take_plan(plan, new_setup=new_setup)
            case acts.KeepOrder(table, read_from):
                state.write(state.log.keep_order_table, table, read_from)
            case acts.AddViews(job, piece, views):
                state.write(state.log.add_views, job, piece, views)
            case acts.SayOfStep(revision_id, step, said, reason):
                state.write(state.log.say_of_step, state.place, revision_id, step, said, reason)
                self._undoing.look()
            case acts.KeepWish(wish):
                state.write(state.log.keep_wish, state.place, wish)
            case acts.GoTo(piece, view, from_camera, job):
                self._going.go_to(piece, view, job, from_camera=from_camera)
            case acts.Undo(place, agreed):
                self._undoing.undo(place, agreed)
            case acts.Redo(place, agreed):
                self._undoing.redo(place, agreed)
            case acts.SwitchLiveView(on):
                self.live.switch(on)
            case acts.LivePictureUsed():
                self.live.picture_used()
            case acts.TurnFocus(steps):
                self.live.drive_focus(steps)
            case acts.SweepFocus(where):
                self.live.sweep_focus(where)
            case acts.StopSweep():
                self.live.stop_sweep()
            case acts.ForgetBest():
                self._undoing.forget_best()
            case acts.MeasureSupport():
                self.supports.measure()
            case acts.KeepSupport():
                self.supports.keep()
            case acts.MeasureDrive(where):
                self.live.measure_drive(where)
            case acts.KeepDrive():
                self.drives.keep()
            case acts.KeepGreyCard():
                self.corrected_lens.keep()
            case acts.TellAll():
                self._tell_all()
            case acts.TellWhenDone(name):
                self._emit(DoneSoFar(name))
            case acts.Announce(text, key, lasting):
                self._emit(Said(text, key, lasting))
            case _:
                raise NotImplementedError(f"no case for {act!r}")

    def _apply(self, finding: Finding) -> None:
        remedy = finding.remedy
        if remedy is None or remedy.kind in (RemedyKind.WAIT, RemedyKind.BY_HAND):
            self._emit(Said(f"That is for the hands: {remedy.text if remedy else finding.text}"))
            return
        revision = self.shoot_state.revision
        if remedy.kind is RemedyKind.CONFIRM:
            self._arranging.revise(replace(revision, confirmed=(*revision.confirmed, finding.id)))
            return
        mine = {name: value for name, value in remedy.settings.items() if name in SETTING_NAMES}
        settings = replace(revision.settings, **mine)  # type: ignore[arg-type]
        if settings != revision.settings and finding.id != RuleId.WHITE_BALANCE:
            self._arranging.revise(replace(revision, settings=settings))
        self._arranging.set_camera(remedy.settings)  # type: ignore[arg-type]

    def _tell_all(self) -> None:
        state = self.shoot_state
        self._emit(PlaceChanged(state.place))
        self._emit(RevisionChanged(state.revision, state.revision_id))
        if state.description is not None:
            self._emit(CameraFound(state.description, state.reading, state.free_card_bytes))
        self._emit(RulesChanged(self._lasting_findings()))
        self.say_reference()
        self._undoing.look(anew=True)

    # --- what holds now ---------------------------------------------------------------------------

    def findings(self) -> tuple[Finding, ...]:
        """The findings of all rules now."""
        return findings_before_release(self.shoot_state.situation())

    def reference(self) -> Reference | None:
        """The approved frame of the set-up for the piece on the table."""
        return self.shoot_state.reference(self.shoot_state.place, self.shoot_state.revision.setup_number)

    def say_reference(self) -> None:
        """Emit the reference of the set-up and piece in force."""
        self._approving.say()

    # --- the end ----------------------------------------------------------------------------------

    def let_go(self, *, at_once: bool = False) -> None:
        """Release nothing new, and let the camera end its work and send its last messages.

        at_once   a transfer under way is left on the card, which the log then says
        """
        self.releases.call_off()
        self.shoot_state.description = None
        self._connect_at_s = None
        self._camera.close(at_once=at_once)

    def close(self) -> None:
        """End the judge, and try the entries owed to the log once more. Called after the camera's last messages."""
        self._judge.close()
        self.shoot_state.writer.settle(self.shoot_state.clock.monotonic_s())

    # --- time -------------------------------------------------------------------------------------

    def tick(self) -> float | None:
        """Do what is due; returns the time in s at which to call again, None when nothing is planned."""
        now_s = self.shoot_state.clock.monotonic_s()
        if self._connect_at_s is not None and now_s >= self._connect_at_s:
            self._connect_at_s = None
            self.shoot_state.post(say.Connect(self._address))
        owed_s = self.shoot_state.writer.next_try_s()
        if owed_s is not None and now_s >= owed_s:
            self.shoot_state.writer.settle(now_s)
        self._approving.tick()
        due = [self.live.tick(), self._connect_at_s, self.shoot_state.writer.next_try_s(), self.recovery.tick()]
        self._say_rules()
        release_s = self.releases.tick()
        if self.series.tick():
            release_s = self.releases.tick()
        return min((time_s for time_s in (*due, release_s) if time_s is not None), default=None)

    def _take_plan(self, plan: Plan, *, new_setup: bool) -> None:
        """Put the plan in force, and say which lights stand in the set that the plan doesn't use."""
        before = self.shoot_state.revision
        planned = as_revision(plan, before)
        take = self._arranging.new_setup if new_setup else self._arranging.revise
        take(planned)
        left_out = [light.name for light in before.lights if planned.light(light.name) is None]
        if left_out:
            self._emit(Said(f"The plan does without {' and '.join(left_out)}: switch off or take away."))

    def _say_rules(self) -> None:
        lasting = self._lasting_findings()
        if lasting != self._rules_said:
            self._rules_said = lasting
            self._emit(RulesChanged(lasting))

    def _after_arranging(self) -> None:
        """Another arrangement is in force."""
        self.live.peaks.say()
        self.corrected_lens.on_arranged()
        self._undoing.look()

    def _lasting_findings(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings() if not (f.remedy and f.remedy.kind is RemedyKind.WAIT))

    # --- what the camera and the judge answer -----------------------------------------------------

    def receive(self, message: say.Message | Judgement) -> None:  # noqa: PLR0912 — one line for each kind of message
        """Take one message."""
        match message:
            case Judgement():
                self._on_judged(message)
            case say.Connected():
                self._on_connected(message)
            case say.SettingsRead():
                self._on_settings(message)
            case say.ShutterFired():
                self.releases.on_fired(message)
            case say.FileSaved():
                self.releases.on_file(message)
            case say.FileComing():
                self.releases.on_coming(message)
            case say.FrameComplete():
                self.releases.on_complete(message)
            case say.BusyWriting():
                self.releases.on_busy(message)
            case say.BodyRelease(objects, during):
                self.recovery.on_appeared(objects, during)
            case say.LiveFrame():
                self.live.on_frame(message)
                self.series.on_live()
            case say.FocusDriven(steps):
                self.shoot_state.drive_answered()
                self.series.on_driven(steps)
                self.live.on_driven(steps)
            case say.CardListed(objects, free_bytes):
                self.shoot_state.free_card_bytes = free_bytes
                self.recovery.on_card(objects)
            case say.ReadingCard() if message.left_s is not None or message.frame_id:
                self.releases.on_folder_read(message)
            case say.ReadingCard(done, of, what):
                self.shoot_state.card_being_read |= what == "folder"
                self._emit(Said(f"The camera's card is being read: {what} {done + 1} of {of}.", About.CARD))
            case say.CameraNote(text):
                self.shoot_state.record("camera", text)
                self._emit(Said(text))
            case say.Failed():
                self._on_failed(message)
            case say.CameraGone(fault, text):
                self.releases.on_gone(message)
                self._camera_lost(fault, text)

    def _on_judged(self, judgement: Judgement) -> None:
        if self._anew.on_judged(judgement):
            return
        self._approving.on_judged(judgement)
        flight = self.releases.on_judged(judgement)
        if judgement.focus.blur_px is not None and not any(found.id == CheckId.DRIFT for found in judgement.findings):
            self.shoot_state.building = False  # it lies as the reference
        if flight is not None:
            self.corrected_lens.on_judged(flight, judgement)
        if flight is None or judgement.ambient_ev is None:
            return
        wanted = with_ambient(self.shoot_state.revision, flight.revision, judgement.ambient_ev)
        if wanted is None:
            self._emit(Said("The set-up was changed meanwhile; measure the ambient light again."))
        else:
            self._arranging.revise(wanted, flight.frame_id)

    def _on_connected(self, message: say.Connected) -> None:
        state = self.shoot_state
        state.description, state.reading = message.description, message.reading
        state.free_card_bytes = message.free_bytes
        self._connect_at_s = None
        self._lost_text = ""
        self._emit(CameraFound(message.description, message.reading, message.free_bytes))
        self.releases.on_camera()
        state.write(state.log.note_model, message.description.serial, message.description.model)
        state.record("camera", f"connected at {message.description.address}")
        if state.from_camera:
            self._arranging.begin_draft()
        if self._first_connection:
            self._first_connection = False
            self._remember_sizes()
            if drifted_settings(state.situation()):
                self._arranging.restore_settings()
        self.recovery.on_connected(message.card)
        self.say_reference()
        self.live.on_connected()

    def _remember_sizes(self) -> None:
        """Note the sizes of the job's last frames, for the count of frames that card and disk still hold."""
        with suppress(LogError):  # then a guess stands until the next frame
            self.shoot_state.frame_sizes[:0] = self.shoot_state.log.frame_sizes(self.shoot_state.place)

    def _on_settings(self, message: say.SettingsRead) -> None:
        self.shoot_state.reading = message.reading
        if message.by_hand:
            self.shoot_state.touch()
            self.shoot_state.record("by hand", "something was turned on the camera")
        else:
            self.shoot_state.settings_answered()
        refused = tuple(sorted(message.refused.items()))
        self._emit(SettingsChanged(message.reading, refused, message.by_hand))

    def _on_failed(self, message: say.Failed) -> None:
        if message.frame_id:
            self.releases.on_failed(message)
        if message.request == say.Release.__name__ and message.connected and not message.missing:
            self.recovery.wait_for_late(message)
        if message.fault in (say.Fault.DISK, say.Fault.DISK_FULL):
            self.recovery.try_again()
        if message.request == say.ListCard.__name__:
            self.recovery.on_card_refused()
        if message.request == say.ApplySettings.__name__:
            self.shoot_state.settings_answered()
        if message.request == say.DriveFocus.__name__:
            self.shoot_state.drive_answered()
            self._emit(FocusMoved(None))
        self.live.on_failed(message)
        self.series.on_failed(message)
        if not message.frame_id and message.request not in (say.Connect.__name__, say.LiveView.__name__):
            self._emit(Said(message.text))
        if not message.connected:
            self._camera_lost(message.fault, message.text)

    def _camera_lost(self, fault: say.Fault, text: str) -> None:
        state = self.shoot_state
        was_there = state.description is not None
        state.description = None
        state.settings_asked = state.drives_asked = 0
        state.card_being_read = False
        self._connect_at_s = state.clock.monotonic_s() + RECONNECT_S
        self.live.on_lost()
        self.series.on_lost(text)
        if was_there:
            state.record("camera", f"lost: {text}")
            self._emit(FocusMoved(None))  # a lens goes home when its camera is switched off
        if text != self._lost_text:
            self._lost_text = text
            self._emit(CameraLost(fault, text))
