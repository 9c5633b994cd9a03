"""The controller: what a person may ask for, and what the camera and the judge answer.

Everything runs in one thread, one call at a time (see `runner`): a person's act, a message, a tick of the
clock. Each call changes the state, writes the log, posts requests and emits events, and returns at once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import fields, replace
from pathlib import Path

from session.cameras.saving import Disk, SystemDisk
from session.frame import camera as say
from session.frame.camera import CameraMaker, SecondPlace, Value
from session.frame.finding import CheckId, Finding, RemedyKind, RuleId
from session.frame.ports import Clock, JudgeMaker, Judgement, Log, LogError, Place, Reference
from session.live.sweep import Range
from session.rules import CONFIRMED_BY, findings_before_release
from session.rules.exposing import drifted_settings
from session.set.ambient import with_ambient
from session.set.kit import Kit
from session.set.setup import Revision, Settings
from session.shoot.approving import Approving
from session.shoot.arranging import Arranging
from session.shoot.events import (
    CameraFound,
    CameraLost,
    Event,
    RulesChanged,
    Said,
    SettingsChanged,
)
from session.shoot.going import Going
from session.shoot.judging_anew import JudgingAnew
from session.shoot.last_log import LastLog
from session.shoot.live_stream import LiveView
from session.shoot.recovery import LATE_FILE_S, Recovery
from session.shoot.releasing import Releases
from session.shoot.state import Bench, SupportKeeper
from session.shoot.supports import Supports
from session.shoot.undoing import Undoing
from session.shoot.writer import Writer

RECONNECT_S = 1.0
"""Between two looks for the camera: soon enough for a hand that has just plugged it in. Chosen."""

SETTING_NAMES = tuple(field.name for field in fields(Settings))


class Shoot:
    """One photographer at one table with one camera."""

    def __init__(
        self,
        *,
        place: Place,
        revision: Revision,
        revision_id: str,
        kit: Kit,
        log: Log,
        clock: Clock,
        make_camera: CameraMaker,
        make_judge: JudgeMaker,
        emit: Callable[[Event], None],
        deliver: Callable[[say.Message | Judgement], None],
        frame_folder: Callable[[Place], Path],
        frame_stem: Callable[[Place, int, Revision], str],
        free_disk_bytes: Callable[[Path], int | None],
        address: str = "",
        last_log: LastLog | None = None,
        second_place: Callable[[Place], SecondPlace | None] = lambda place: None,
        disk: Disk | None = None,
        keep_support: SupportKeeper | None = None,
        late_file_s: float = LATE_FILE_S,
        from_camera: tuple[str, ...] = (),
        building: bool = False,
    ) -> None:
        """`deliver` brings a message from any thread back to `receive` in the controller's own thread.

        revision_id   "" for a draft: it goes into the log as a revision with its first frame
        building      an old set-up is being built again; see `Bench.building`
        from_camera   settings that a draft takes as the camera has them when it is first connected; all others
                      are put on the camera then, since this set-up is what the photographer opened
        """
        self._address = address
        self._camera = make_camera(deliver)
        self._judge = make_judge(deliver)
        self._emit = emit
        self._connect_at_s: float | None = clock.monotonic_s()
        self._lost_text = ""
        self._first_connection = True
        self._rules_said: tuple[Finding, ...] = ()
        self.bench = Bench(
            place=place,
            revision=revision,
            revision_id=revision_id,
            kit=kit,
            log=log,
            clock=clock,
            writer=Writer(emit, log.keep_aside),
            emit=emit,
            post=self._camera.post,
            judge=lambda: self._judge,
            frame_folder=frame_folder,
            frame_stem=frame_stem,
            free_disk_bytes=free_disk_bytes,
            last_log=last_log,
            second_place=second_place,
            disk=disk or SystemDisk(),
            keep_support=keep_support,
            from_camera=from_camera if not revision_id else (),
            building=building,
        )
        self.releases = Releases(self.bench)
        self.live = LiveView(self.bench)
        self._arranging = Arranging(self.bench, self._arranged)
        self.supports = Supports(self.bench, self.live.instruments, self.revise)
        self.recovery = Recovery(self.bench, self.releases, late_file_s)
        self._anew = JudgingAnew(self.bench, self.releases)
        self._undoing = Undoing(self.bench, self._arranging, self.live, self.say_reference)
        self._going = Going(self.bench, self._arranging, self.say_reference)
        self._approving = Approving(self.bench, self.releases, self._undoing.look)

    # --- what a person may ask for ----------------------------------------------------------------

    def ask_release(self, overrulings: Mapping[str, str] | None = None) -> str:
        """Release as soon as rules and waits allow. `overrulings`: rule id → reason, logged with the frame.

        Returns the key under which events tell of the frame; "" when none was begun, and a sentence says why.
        """
        self.live.stop_sweep()
        return self.releases.ask(overrulings or {})

    def measure_ambient(self) -> str:
        """Release with the lights off, to measure the ambient light for the set-up; returns as `ask_release` does."""
        self.live.stop_sweep()
        return self.releases.ask({}, ambient=True)

    def call_off(self) -> None:
        """Don't release the frame that is waiting."""
        self.releases.call_off()

    def touched(self) -> None:
        """A hand was on camera, focus, light or table; the hold-off starts anew."""
        self.bench.touch()

    def findings(self) -> tuple[Finding, ...]:
        """What the rules say now, for the screen."""
        return findings_before_release(self.bench.situation())

    def apply(self, finding: Finding) -> None:
        """Apply a finding's remedy: set the camera, or keep the photographer's word with the set-up."""
        remedy = finding.remedy
        if remedy is None or remedy.kind in (RemedyKind.WAIT, RemedyKind.BY_HAND):
            self._emit(Said(f"That is for the hands: {remedy.text if remedy else finding.text}"))
            return
        revision = self.bench.revision
        if remedy.kind is RemedyKind.CONFIRM:
            self.revise(replace(revision, confirmed=(*revision.confirmed, CONFIRMED_BY[finding.id])))
            return
        mine = {name: value for name, value in remedy.settings.items() if name in SETTING_NAMES}
        settings = replace(revision.settings, **mine)  # type: ignore[arg-type]
        if settings != revision.settings and finding.id != RuleId.WHITE_BALANCE:
            self.revise(replace(revision, settings=settings))
        self.set_camera(remedy.settings)  # type: ignore[arg-type]

    def set_camera(self, changes: Mapping[str, Value]) -> None:
        """Put these settings on the camera; the set-up stays as it is."""
        self._arranging.set_camera(changes)

    def restore_settings(self) -> None:
        """Put the set-up's settings on the camera, as far as it offers them and they differ."""
        self._arranging.restore_settings()

    def take_camera_settings(self) -> None:
        """Make what the camera says now part of the set-up."""
        self._arranging.take(tuple(self.bench.revision.settings.asked()))

    def revise(self, wanted: Revision, act: str = "") -> bool:
        """Bring a changed arrangement into force and onto the camera; the next frame makes it a revision.

        act   changes of the same word are taken back as one; those that come to nothing are none
        """
        return self._arranging.revise(wanted, act=act)

    def new_setup(self, wanted: Revision) -> bool:
        """Start another set-up of this job, revision 1, from the given arrangement."""
        return self._arranging.new_setup(wanted)

    def go_to(self, place: Place, *, from_camera: bool = False) -> None:
        """Another piece or view is on the table: its own set-up comes into force, and one line says so.

        from_camera  a new view begins from the camera's settings, not from the present arrangement
        """
        self._going.go_to(place, from_camera=from_camera)

    def accept_reference(self, frame_id: str | None) -> None:
        """Approve a frame as the set-up's reference for this piece; None drops it.

        One that isn't checked yet is approved when it has been, or let go when it is asked for once more.
        """
        self._approving.ask(frame_id)

    def reference(self) -> Reference | None:
        """The approved frame of the set-up for the piece on the table."""
        return self.bench.reference(self.bench.place, self.bench.revision.setup_number)

    def say_reference(self) -> None:
        """Emit which frame is the reference here."""
        self._approving.say()

    def say_undo(self) -> None:
        """Emit whether there is an act to undo."""
        self._undoing.look(anew=True)

    def mark(self, frame_id: str, mark: str | None) -> None:
        """hero, select, alternate, kill or None."""
        self.bench.write(self.bench.log.mark, frame_id, mark)
        self._undoing.look()

    def note(self, frame_id: str, text: str) -> None:
        """Add a note to a frame."""
        self.bench.write(self.bench.log.note, frame_id, text)
        self._undoing.look()

    def judge_anew(self, frame_id: str, number: int, file: say.SavedFile) -> None:
        """Judge a frame once more by this file of it, after the set-up's region or grey patch was moved."""
        self._anew.ask(frame_id, number, file)

    def keep_wish(self, wish: Mapping[str, object]) -> None:
        """Keep what is wished of the view on the table."""
        self.bench.write(self.bench.log.keep_wish, self.bench.place, wish)

    def undo(self, place: Place, asked: str = "") -> None:
        """Undo what a person did last in this job: mark, note, reference, change of a set-up, a best focus forgotten.

        asked   the key of the act that `TurnAsked` named: only with it is an act undone that sets the camera
        """
        self._undoing.undo(place, asked)

    def redo(self, place: Place, asked: str = "") -> None:
        """Redo what was undone last in this job; `asked` as in `undo`."""
        self._undoing.redo(place, asked)

    def live_view(self, on: bool) -> None:
        """Switch live view on or off."""
        self.live.switch(on)

    def live_picture_used(self) -> None:
        """The screen has shown the last live picture; the next may come."""
        self.live.picture_used()

    def drive_focus(self, steps: int) -> None:
        """Move the focus by the camera's own drive; the hold-off starts anew."""
        self.live.drive_focus(steps)

    def sweep_focus(self, where: Range) -> None:
        """Find the best focus in the region by the camera's own drive, and come back to it."""
        self.live.sweep_focus(where)

    def stop_sweep(self) -> None:
        """A key was pressed during a sweep."""
        self.live.stop_sweep()

    def forget_best(self) -> None:
        """Begin a new search for the best focus by hand."""
        self._undoing.forget_best()

    def let_go(self, *, at_once: bool = False) -> None:
        """Nothing new is released, the camera ends what it has begun, and its last words are on their way.

        at_once   a transfer under way is left on the card, which the log then says
        """
        self.releases.call_off()
        self.bench.description = None
        self._connect_at_s = None
        self._camera.close(at_once=at_once)

    def close(self) -> None:
        """End the judge; what is owed to the log is tried once more. After `let_go` and what came of it."""
        self._judge.close()
        self.bench.writer.settle(self.bench.clock.monotonic_s())

    # --- time -------------------------------------------------------------------------------------

    def tick(self) -> float | None:
        """Do what is due; returns the time in s at which to call again, None when nothing is planned."""
        now_s = self.bench.clock.monotonic_s()
        if self._connect_at_s is not None and now_s >= self._connect_at_s:
            self._connect_at_s = None
            self.bench.post(say.Connect(self._address))
        owed_s = self.bench.writer.next_try_s()
        if owed_s is not None and now_s >= owed_s:
            self.bench.writer.settle(now_s)
        self._approving.tick()
        due = [self.live.tick(), self._connect_at_s, self.bench.writer.next_try_s(), self.recovery.tick()]
        self._say_rules()
        return min((time_s for time_s in (*due, self.releases.tick()) if time_s is not None), default=None)

    def _say_rules(self) -> None:
        lasting = tuple(f for f in self.findings() if not (f.remedy and f.remedy.kind is RemedyKind.WAIT))
        if lasting != self._rules_said:
            self._rules_said = lasting
            self._emit(RulesChanged(lasting))

    def _arranged(self) -> None:
        """Another arrangement is in force."""
        self.live.peaks.say()
        self._undoing.look()

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
            case say.FocusDriven(steps):
                self.live.on_driven(steps)
            case say.CardListed(objects, free_bytes):
                self.bench.free_card_bytes = free_bytes
                self.recovery.on_card(objects)
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
            self.bench.building = False  # it lies as the reference
        if flight is None or judgement.ambient_ev is None:
            return
        wanted = with_ambient(self.bench.revision, flight.revision, judgement.ambient_ev)
        if wanted is None:
            self._emit(Said("The set-up was changed meanwhile; measure the ambient light again."))
        else:
            self._arranging.revise(wanted, flight.frame_id)

    def _on_connected(self, message: say.Connected) -> None:
        bench = self.bench
        bench.description, bench.reading = message.description, message.reading
        bench.free_card_bytes = message.free_bytes
        self._connect_at_s = None
        self._lost_text = ""
        self._emit(CameraFound(message.description, message.reading, message.free_bytes))
        self.releases.on_camera()
        bench.write(bench.log.note_model, message.description.serial, message.description.model)
        bench.record("camera", f"connected at {message.description.address}")
        if bench.from_camera:
            self._arranging.begin_draft()
        if self._first_connection:
            self._first_connection = False
            self._remember_sizes()
            if drifted_settings(bench.situation()):
                self.restore_settings()
        self.recovery.on_connected(message.card)
        self.say_reference()
        self.live.on_connected()

    def _remember_sizes(self) -> None:
        """What the job's last frames took, for the count of those that card and disk still hold."""
        with suppress(LogError):  # then a guess stands until the next frame
            self.bench.frame_sizes[:0] = self.bench.log.frame_sizes(self.bench.place)

    def _on_settings(self, message: say.SettingsRead) -> None:
        self.bench.reading = message.reading
        if message.by_hand:
            self.bench.touch()
            self.bench.record("by hand", "something was turned on the camera")
        else:
            self.bench.settings_answered()
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
            self.bench.settings_answered()
        self.live.on_failed(message)
        if not message.frame_id and message.request not in (say.Connect.__name__, say.LiveView.__name__):
            self._emit(Said(message.text))
        if not message.connected:
            self._camera_lost(message.fault, message.text)

    def _camera_lost(self, fault: say.Fault, text: str) -> None:
        bench = self.bench
        was_there = bench.description is not None
        bench.description = None
        bench.settings_asked = 0
        self._connect_at_s = bench.clock.monotonic_s() + RECONNECT_S
        self.live.on_lost()
        if was_there:
            bench.record("camera", f"lost: {text}")
        if text != self._lost_text:
            self._lost_text = text
            self._emit(CameraLost(fault, text))
