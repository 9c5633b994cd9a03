"""The controller's live view: frames to the instruments, the focus drive, and a sweep step by step."""

from __future__ import annotations

from collections.abc import Callable

from session.frame import camera_messages as say
from session.live.decode import LOST_S, Stream
from session.live.drive_sweep import DriveSwept, drive_sweep
from session.live.instruments import Instruments, LiveReading
from session.live.sweep import Range, sweep
from session.live.sweep_run import SweepRun
from session.rules.stillness_rules import still_limit_px
from session.set.setup import Confirmation
from session.shoot.events import About, FocusMoved, LivePicture, LiveViewChanged, Said, StreamChanged
from session.shoot.peaks import Peaks
from session.shoot.state import ShootState

LIVE_MINUTES = 10.0
"""Live view ends when nobody has focused for so long, when nothing else is chosen: it costs battery and warms the
camera. Chosen."""
RETRY_S = 2.0
"""Between two tries to begin live view again that the camera has ended by itself. Chosen."""


class LiveStream:
    """Live view of the camera of this shoot; on or off as a person wants it, also over a lost cable."""

    def __init__(
        self, state: ShootState, on_swept: Callable[[DriveSwept], str], live_minutes: float = LIVE_MINUTES
    ) -> None:
        """
        on_swept       takes a drive that was looked at from both sides, and returns the sentence on it
        live_minutes   see LIVE_MINUTES; 0: never
        """
        self._on_swept = on_swept
        self._live_minutes = live_minutes
        self._ends_at_s: float | None = None
        self._state = state
        self._awaited_since_s: float | None = None
        self._retry_at_s: float | None = None
        self._stream = StreamChanged(Stream.NONE)
        self._sweep: SweepRun | None = None
        self._sweep_next: SweepRun | None = None  # begins with the next live picture
        self._swept_text = ""
        self.instruments = Instruments()
        self.peaks = Peaks(state)
        self.on = False

    # --- the person -------------------------------------------------------------------------------

    def switch(self, on: bool) -> None:
        """Switch live view on or off."""
        description = self._state.description
        if on and description is not None and not description.live_view:
            self._state.emit(LiveViewChanged(False, say.NO_LIVE_VIEW))
            return
        self.on = on
        self._somebody_focuses() if on else self._stop_counting()
        self._state.post(say.LiveView(on))
        self._state.emit(LiveViewChanged(on))
        self._begin() if on else self._end()
        self.peaks.say()

    def picture_used(self) -> None:
        """The screen has shown the last picture; the next may come."""
        if self.on:
            self._state.post(say.NextLiveFrame())
            self._awaited_since_s = self._state.clock.monotonic_s()

    def drive_focus(self, steps: int) -> None:
        """Move the focus by the camera's own drive; the hold-off starts anew, and a sweep ends."""
        refusal = self.why_not_driven()
        if refusal:
            self._state.emit(Said(refusal))
            return
        self.stop_sweep()
        self.drive(steps)

    def sweep_focus(self, where: Range) -> None:
        """Find the peak by the camera's own drive, and drive back to it; a sentence at the end says the place."""
        refusal = self.why_not_driven() or ("" if self.on else "Switch live view on first.")
        if refusal:
            self._state.emit(Said(refusal))
            return
        self.stop_sweep()
        self._sweep = SweepRun(sweep(where))
        self.drive(self._sweep.begin(self._state.clock.monotonic_s()))
        self._swept_text = ""
        self._say_progress("Looking for the peak; any key stops it.")

    def measure_drive(self, where: Range) -> None:
        """Look at the drive from both sides, in live view, which is switched on where it is off; see `drive_sweep`."""
        refusal = self.why_not_driven()
        if not refusal and not self.on:
            self.switch(True)
            refusal = "" if self.on else say.NO_LIVE_VIEW
        if refusal:
            self._state.emit(Said(refusal))
            return
        self.stop_sweep()
        self._sweep_next = SweepRun(drive_sweep(where), "Measuring the drive")
        self._swept_text = ""
        self._say_progress("Measuring the drive; any key stops it.")

    def _begin_sweep(self) -> None:
        self._sweep, self._sweep_next = self._sweep_next, None
        if self._sweep is not None:
            self.drive(self._sweep.begin(self._state.clock.monotonic_s()))

    def stop_sweep(self) -> None:
        """Drive no further; the focus stays where it is."""
        if self._sweep_next is not None:
            self._sweep_next = None
            self._state.emit(Said("", About.SWEEP, True))
        if self._sweep is not None:
            self._sweep.stop(self._state.clock.monotonic_s())
            self._say_outcome()

    def forget_best(self) -> bool:
        """A new search for the best focus begins; False when none was seen yet."""
        return self.instruments.forget_best()

    def restore_best(self) -> bool:
        """The best focus forgotten last is known again; False when it is of no use any more."""
        return self.instruments.restore_best()

    @property
    def sweeping(self) -> bool:
        """Whether the focus is being driven by a sweep now."""
        return self._sweep is not None or self._sweep_next is not None

    def _somebody_focuses(self) -> None:
        """Let live view go on for its whole time from now."""
        if self._live_minutes:
            self._ends_at_s = self._state.clock.monotonic_s() + 60 * self._live_minutes

    def _stop_counting(self) -> None:
        self._ends_at_s = None

    def _end_when_nobody_focuses(self, now_s: float) -> None:
        if self.on and self._ends_at_s is not None and now_s >= self._ends_at_s:
            self.switch(False)
            why = "it costs battery and warms the camera"
            self._state.emit(Said(f"Live view ended: nobody focused for {self._live_minutes:g} minutes; {why}."))

    def why_not_driven(self) -> str:
        """Why the focus can't be driven, a sentence; "" when it can."""
        state = self._state
        if state.description is not None and not state.description.focus_drive:
            return say.NO_FOCUS_DRIVE
        if Confirmation.FOCUS_LOCKED in state.revision.confirmed:
            return f"The focus is locked for set-up {state.revision.label}; set it free first."
        return ""

    # --- the camera -------------------------------------------------------------------------------

    def on_connected(self) -> None:
        """The camera is back: live view goes on where it was on."""
        if self.on:
            self._state.post(say.LiveView(True))
            self._state.emit(LiveViewChanged(True))
            self._begin()

    def on_lost(self) -> None:
        """The camera went."""
        self.stop_sweep()
        self._end()

    def on_frame(self, frame: say.LiveFrame) -> None:
        """A live frame came."""
        state, revision = self._state, self._state.revision
        body = state.body
        self._awaited_since_s = None
        reading = self.instruments.see(
            frame.jpeg,
            frame.at_s,
            revision.region,
            pixels_across=body.pixels_across if body else None,
            limit_px=still_limit_px(revision),
        )
        state.moves = reading.moves
        state.emit(LivePicture(frame.jpeg, reading))
        self.peaks.see(reading)
        if self.on and reading.moves is not None and reading.moves.still_since_s is None:
            self._somebody_focuses()
        self._say_stream(reading)
        if reading.resized:
            state.emit(Said("The live picture has another size now; measuring begins anew."))
        if self._sweep_next is not None:
            self._begin_sweep()
        elif self._sweep is not None:
            contrast = reading.focus.contrast if reading.focus is not None else None
            codes = reading.picture.codes if reading.picture is not None else None
            self.drive(self._sweep.after_frame(contrast, state.clock.monotonic_s(), codes))
            self._say_outcome()
        if self._sweep is not None and (text := self._sweep.progress_text()):
            self._say_progress(f"{self._sweep.looks_for}: {text}; any key stops it.")

    def on_driven(self, steps: int) -> None:
        """Take the next step: the drive has stopped at the place asked for."""
        self._state.emit(FocusMoved(steps))
        self._go_on(end_stop=False)

    def on_failed(self, message: say.Failed) -> None:
        """Live view or the focus drive could not be had."""
        if message.request == say.LiveView.__name__ and message.fault is say.Fault.NOT_OFFERED:
            self.on = False
            self._state.emit(LiveViewChanged(False, message.text))
            self._end()
        elif message.request == say.LiveView.__name__:
            self._ended_by_itself(message)
        elif message.request == say.DriveFocus.__name__ and self._sweep is not None:
            if message.fault is say.Fault.END_STOP:
                self._go_on(end_stop=True)
            else:
                self.stop_sweep()

    def _ended_by_itself(self, message: say.Failed) -> None:
        self.stop_sweep()
        self._end()
        if self.on and message.connected:
            self._retry_at_s = self._state.clock.monotonic_s() + RETRY_S
            self._tell(StreamChanged(Stream.ENDED, why=message.text))

    def tick(self) -> float | None:
        """Tell that the stream stands still while a picture is due, and begin a stream again that the camera ended.

        Returns the time of the next begin, s, None without a plan.
        """
        now_s = self._state.clock.monotonic_s()
        self._end_when_nobody_focuses(now_s)
        if self._retry_at_s is not None and now_s >= self._retry_at_s:
            self._retry_at_s = None
            self._state.post(say.LiveView(True))
            self._begin()
        if self._awaited_since_s is not None and now_s - self._awaited_since_s > LOST_S:
            self._state.moves = None
            self._say_stream(self.instruments.without_frame(now_s))
        due = [time_s for time_s in (self._retry_at_s, self._ends_at_s) if time_s is not None]
        return min(due, default=None)

    def _go_on(self, *, end_stop: bool) -> None:
        if self._sweep is not None:
            self.drive(self._sweep.after_drive(self._state.clock.monotonic_s(), end_stop=end_stop))
            self._say_outcome()

    def _say_progress(self, text: str) -> None:
        if text != self._swept_text:
            self._swept_text = text
            self._state.emit(Said(text, About.SWEEP, True))

    def drive(self, steps: int) -> None:
        """Ask for a move of the focus, unless it is one of no step; live view goes on for its whole time from now."""
        if steps:
            self._somebody_focuses()
            self._state.drive_focus(steps)

    def _say_outcome(self) -> None:
        if self._sweep is not None and self._sweep.outcome is not None:
            outcome, self._sweep = self._sweep.outcome, None
            if outcome.reached and outcome.peak is not None:
                self.peaks.keep(outcome.peak.contrast)
            self._state.emit(Said("", About.SWEEP, True))
            text = self._on_swept(outcome) if isinstance(outcome, DriveSwept) else outcome.text
            self._state.emit(Said(text))
            self._state.record("focus sweep", f"set-up {self._state.revision.label}: {text}")

    def _begin(self) -> None:
        now_s = self._state.clock.monotonic_s()
        self.instruments.begin(now_s)
        self._awaited_since_s = now_s

    def _end(self) -> None:
        self._awaited_since_s = self._retry_at_s = None
        self._state.moves = None
        self._tell(StreamChanged(Stream.NONE))

    def _say_stream(self, reading: LiveReading) -> None:
        """The rate is told of a slow stream only, which may become slower."""
        slow = reading.stream is Stream.SLOW
        self._tell(StreamChanged(reading.stream, round(reading.rate_per_s, 1) if slow else 0.0))

    def _tell(self, stream: StreamChanged) -> None:
        if stream != self._stream:
            self._stream = stream
            self._state.emit(stream)
