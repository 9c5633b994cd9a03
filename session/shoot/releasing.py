"""Moves frames through their states: ask, rules, hold off, release, files, checks.

One frame may hold off while another is still arriving; several may be with the judge. Nothing here waits:
`tick` does what is due, messages of the camera and the judge come in through the `on_…` methods.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import PurePath

from session.frame import camera_messages as say
from session.frame.camera_messages import CardObject, Fired, SavedFile
from session.frame.finding import Finding, Level, Remedy, RemedyKind, RuleId, stops
from session.frame.ports import Assignment, Judgement, LogError
from session.frame.states import FrameEvent, FrameState, Intent, Judging, JudgingEvent, NewFrame, ReleasedBy
from session.rules import findings_before_release, ready_at_s
from session.set.setup import Revision
from session.shoot.acts import AskRelease
from session.shoot.disk import FreeStems
from session.shoot.events import (
    About,
    CameraBusy,
    CameraWait,
    CardBeingRead,
    FileArrived,
    FrameJudged,
    FrameMoved,
    RevisionChanged,
    Said,
    SlowTransfer,
    Waiting,
)
from session.shoot.flight import Flight, files_of_format
from session.shoot.state import ShootState
from session.units.ids import new_id

UNTIL_BACK = "when the camera is back"
UNTIL = {
    say.Fault.DISK_FULL: "when there is room",
    say.Fault.DISK: "when its folder takes files again",
    say.Fault.NOT_FOUND: "when it comes",
}
"""The time at which a file left on the card is fetched, by the fault that left the file there."""

WHOLE = (FrameState.SAVED, FrameState.LOGGED)


class Releases:
    """The frames under way: at most one held off, at most one in the camera's hands for us, any number judged."""

    def __init__(self, state: ShootState) -> None:
        self._state = state
        self._flights: dict[str, Flight] = {}
        self._camera_missed = False
        self._stems = FreeStems()

    # --- the person -------------------------------------------------------------------------------

    def ask(self, wanted: AskRelease) -> None:
        """A frame is wished for now. The rules decide; a stop not overruled refuses it with its findings.

        Settings that the camera is still being asked to take are waited for first: the rules would judge old ones.
        """
        state = self._state
        if self.held:
            state.emit(Said("A frame is already waiting to be released."))
            return
        if state.description is None:
            self._camera_missed = True
            state.emit(Said("Did not fire: there is no camera.", About.NO_CAMERA))
            return
        needs_reference = wanted.ambient and not wanted.in_series
        if needs_reference and state.reference(state.place, state.revision.setup_number) is None:
            state.emit(Said("Did not fire: the ambient light is measured against the reference, and there is none."))
            return
        asked_s = state.clock.monotonic_s()
        try:
            number = state.log.next_frame_number(state.place)
        except LogError as error:
            state.writer.say_refused(f"Did not fire: {error}")
            return
        frame = NewFrame(
            wanted.frame_id,
            number,
            state.revision_id,
            overrulings=dict(wanted.overrulings),
            ambient=wanted.ambient,
            solo=wanted.solo,
            series=wanted.series,
        )
        flight = Flight(frame, state.place, state.revision, asked_s=asked_s)
        if not state.settings_asked and self._refuse_by_rules(flight):
            return
        flight.move(FrameEvent.RULES_PASS)
        self._flights[flight.frame_id] = flight
        self.tick()

    def call_off(self) -> None:
        """The photographer doesn't want the waiting frame any more."""
        flight = self.held
        if flight is None:
            return
        flight.move(FrameEvent.CALL_OFF)
        self._state.record("called off", f"frame {flight.number} was cancelled before the release")
        self._end(flight, f"Frame {flight.number} did not fire: cancelled.")

    def on_camera(self) -> None:
        """Take back the message that no camera is connected, now that a camera has answered."""
        if self._camera_missed:
            self._camera_missed = False
            self._state.emit(Said("", About.NO_CAMERA))

    @property
    def in_camera(self) -> Flight | None:
        """The frame that the camera is releasing or handing over for us."""
        busy = (FrameState.RELEASING, FrameState.RECEIVING)
        return next((f for f in self._flights.values() if f.state in busy), None)

    @property
    def held(self) -> Flight | None:
        """The frame held back before its release."""
        return next((f for f in self._flights.values() if f.state is FrameState.HELD_OFF), None)

    @property
    def all_done(self) -> bool:
        """No frame waits, none is in the camera's hands or still expected from it, none is with the judge."""
        return not self._flights and not self._state.late_files.waited_for

    def flight(self, frame_id: str) -> Flight | None:
        """The frame under way with this key, None for a frame at rest."""
        return self._flights.get(frame_id)

    def objects_under_way(self) -> dict[str, tuple[CardObject, ...]]:
        """The objects on the card that are being fetched, by the frame's key."""
        coming = [f for f in self._flights.values() if f.state in (FrameState.RECEIVING, *WHOLE)]
        return {flight.frame_id: flight.objects for flight in coming if flight.objects}

    # --- time -------------------------------------------------------------------------------------

    def tick(self) -> float | None:
        """Release the held frame when the release is due, else say why it waits. Returns when to come back, s."""
        flight, until_s = self._due()
        if flight is None:
            return until_s
        somebody_looked = RuleId.FILES in flight.frame.overrulings  # of which the log keeps only those needed
        intent = self._try_to_begin(flight)
        if intent is None:
            return until_s
        state = self._state
        flight.move(FrameEvent.DUE)
        if somebody_looked:
            state.go_on()
        expected = flight.expected_files = files_of_format(state.reading.settings.get("file_format"))
        second = state.second_place(flight.place)
        newer = state.late_files.newer_files
        newest = next((card_object for card_object in newer if card_object), None)
        state.post(
            say.Release(flight.frame_id, intent.folder, intent.stem, expected, second, newer.count(None), newest)
        )
        state.write(state.log.frame_reading, flight.frame_id, state.reading)
        if flight.findings:
            state.write(state.log.frame_findings, flight.frame_id, flight.findings)
        self._say_moved(flight)
        return None

    def _due(self) -> tuple[Flight | None, float | None]:
        """The held frame, when the release is due now; else None, and when to come back, s."""
        flight = self.held
        if flight is None:
            return None, None
        busy = self._camera_is_busy()
        if busy is not None:
            self._wait(flight, busy, None)
            return None, None
        flight = self._flights[flight.frame_id] = self._as_things_are_now(flight)
        if self._refuse_by_rules(flight):
            return None, None
        now_s = self._state.clock.monotonic_s()
        heeded = tuple(finding for finding in flight.findings if finding.id not in flight.frame.overrulings)
        until_s, rule = ready_at_s(heeded, now_s)
        if rule is not None and until_s > now_s:
            self._wait(flight, rule, until_s)
            return None, until_s
        return flight, None

    def _camera_is_busy(self) -> CameraWait | None:
        """The reason to wait for the camera before the next release; None when the camera is free."""
        if self.in_camera is not None:
            return CameraWait.HANDING_OVER
        if self._state.settings_asked:
            return CameraWait.SETTINGS
        if self._state.drives_asked:
            return CameraWait.DRIVE
        if self._state.card_being_read:
            return CameraWait.CARD
        waits = self._state.late_files.waited_for or self._state.card_asked
        return CameraWait.LATE_FILE if waits else None

    def _wait(self, flight: Flight, reason: RuleId | CameraWait, until_s: float | None) -> None:
        """Say the reason why the frame waits, once for each wait."""
        if (until_s, reason) != (flight.waits_until_s, flight.waits_for):
            flight.waits_until_s, flight.waits_for = until_s, reason
            self._state.emit(Waiting(flight.frame_id, flight.number, reason, until_s))

    def _as_things_are_now(self, flight: Flight) -> Flight:
        state = self._state
        frame = replace(flight.frame, revision_id=state.revision_id)
        return replace(flight, frame=frame, place=state.place, revision=state.revision)

    def _refuse_by_rules(self, flight: Flight) -> bool:
        """Ask the rules about the present situation; a refusal is said, and written into the log."""
        state = self._state
        frame = flight.frame
        situation = replace(state.situation(), asked_s=flight.asked_s, ambient=frame.ambient, solo=frame.solo)
        flight.findings = (*findings_before_release(situation), *self._log_in_arrears(), *self._findings_of_halt())
        refusing = stops(flight.findings, flight.frame.overrulings)
        if not refusing:
            return False
        flight.move(FrameEvent.RULES_REFUSE)
        sentence = " ".join(f.text for f in refusing)
        text = f"Frame {flight.number} did not fire. {sentence}"
        state.record("refused", text)
        self._end(flight, text)
        return True

    def _log_in_arrears(self) -> tuple[Finding, ...]:
        owed = self._state.writer.owed
        if not owed:
            return ()
        remedy = Remedy(RemedyKind.BY_HAND, "mend what stops the log")
        text = f"The log could not be written; {owed} entries wait for it. {self._state.writer.trouble}"
        return (Finding(RuleId.LOG, Level.STOP, text, owed, 0, "entries", remedy),)

    def _findings_of_halt(self) -> tuple[Finding, ...]:
        if not self._state.halted:
            return ()
        remedy = Remedy(RemedyKind.BY_HAND, "look at the frames and their files, then release with a reason")
        return (Finding(RuleId.FILES, Level.STOP, self._state.halted, remedy=remedy),)

    def _try_to_begin(self, flight: Flight) -> Intent | None:
        """The frame's intent, written into the log; None when the log refuses, and a sentence says so."""
        try:
            return self._begin(flight)
        except LogError as error:
            flight.move(FrameEvent.LOG_REFUSED)
            self._end(flight, f"Frame {flight.number} did not fire. {error}")
            return None

    def _begin(self, flight: Flight) -> Intent:
        """Write the frame into the log before the camera hears of it. Raises LogError, and nothing has begun."""
        state = self._state
        draft = self._numbered_draft(flight) if state.is_draft else None
        number = state.log.next_frame_number(flight.place)  # while it waited, the body may have released one
        flight.frame = replace(flight.frame, number=number)
        reasons, folder = flight.frame.overrulings, str(state.frame_folder(flight.place))
        needed = {finding.id: reasons[finding.id] for finding in flight.findings if finding.id in reasons}
        intent = Intent(
            **vars(replace(flight.frame, overrulings=needed)),
            camera_serial=state.serial,
            folder=folder,
            stem=self._stems.free(folder, state.frame_stem(flight.place, number, flight.revision)),
            asked_at=state.clock.now(),
        )
        state.log.begin_frame(intent, flight.place, draft)
        flight.frame = intent
        if draft is not None:
            renumbered = draft != state.revision
            state.revision, state.revision_id = draft, intent.revision_id
            if renumbered:
                state.emit(RevisionChanged(draft, intent.revision_id))
        return intent

    def _numbered_draft(self, flight: Flight) -> Revision:
        """The draft in force under the number and the key of the revision that the frame makes.

        Another view of the set-up may have made a revision since the draft got its number.
        """
        state = self._state
        number = state.log.next_revision_number(flight.place, state.revision.setup_number)
        flight.revision = replace(state.revision, revision=number)
        flight.frame = replace(flight.frame, revision_id=new_id())
        return flight.revision

    # --- the camera -------------------------------------------------------------------------------

    def on_fired(self, message: say.ShutterFired) -> None:
        flight = self._flights.get(message.frame_id)
        if flight is None or flight.state is not FrameState.RELEASING:
            return
        if not flight.frame.ambient:
            self._state.flashes_fired(flight.frame.solo)
        self.move(flight, FrameEvent.FIRED, released_at=self._state.clock.now())
        self._say_moved(flight)

    def on_file(self, message: say.FileSaved) -> None:
        flight = self._flights.get(message.frame_id)
        if flight is None:
            return
        flight.files.append(message.file)
        self._stems.note_saved(message.file.path)
        flight.objects = tuple(obj for obj in flight.objects if obj != message.file.card)
        if flight.asked_s is not None and flight.state is FrameState.RECEIVING:
            self._state.late_files.later_frame_has(message.file.card)
        self._state.late_files.file_came(flight.frame_id)
        self._state.write(self._state.log.frame_file, flight.frame_id, message.file)
        self._state.emit(FileArrived(flight.frame_id, flight.number, message.file))
        self._to_judge(flight, complete=False)

    def on_coming(self, message: say.FileComing) -> None:
        flight = self._flights.get(message.frame_id)
        if flight is not None and flight.state is FrameState.RECEIVING:
            self._state.emit(
                SlowTransfer(flight.frame_id, flight.number, message.bytes, message.of_bytes, message.left_s)
            )

    def on_busy(self, message: say.BusyWriting) -> None:
        flight = self._flights.get(message.frame_id)
        if flight is not None and flight.state is FrameState.RECEIVING:
            self._state.emit(CameraBusy(flight.frame_id, flight.number, message.busy_s, message.at_most_s))

    def on_folder_read(self, message: say.ReadingCard) -> None:
        """The camera's process is held up by a folder of the card, for the sake of a frame's file or not."""
        flight = self._flights.get(message.frame_id)
        if flight is None:
            self._state.card_being_read = bool(message.left_s)
            self._state.emit(CardBeingRead(message.done, message.of, message.left_s))
        elif flight.state in (FrameState.RELEASING, FrameState.RECEIVING):
            read = (message.done, message.of) if message.left_s is not None else (0, 0)
            self._state.emit(CardBeingRead(*read, message.left_s, flight.frame_id, flight.number, flight.state))

    def on_complete(self, message: say.FrameComplete) -> None:
        flight = self._flights.get(message.frame_id)
        if flight is None:
            return
        state = self._state
        if message.free_bytes is not None:
            state.free_card_bytes = message.free_bytes
        if not flight.files:
            self._missing(flight, FrameEvent.LOST, (), "The camera gave no file for it.")
            return
        if message.copies:
            state.write(state.log.frame_copied, flight.frame_id, message.copies)
        self._see_count(flight)
        if flight.state is FrameState.RECEIVING and len(flight.files) < flight.expected_files:
            text = f"frame {flight.number}: the format's text promised {flight.expected_files} files, the camera made "
            state.record("files", f"{text}{len(flight.files)}", flight.frame_id)
        if flight.state in WHOLE:
            self._came_late(flight)
            return
        state.frame_sizes.append(sum(file.bytes for file in flight.files))
        self.move(flight, FrameEvent.ALL_SAVED)
        self.say_saved(flight)

    def _see_count(self, flight: Flight) -> None:
        """Hold the next release until a person has looked at a frame with more files than the format makes.

        A raw beside a JPEG in one folder is one frame's, whatever the format's text promised: libgphoto2 knows those
        of older bodies only.
        """
        state, names = self._state, flight.file_names
        one_of_each = len({PurePath(name).suffix for name in names}) == len(names)
        one_of_each = one_of_each and len({file.card.folder for file in flight.files}) == 1
        if not flight.expected_files or one_of_each or len(names) <= max(flight.expected_files, state.let_pass):
            return
        makes = f"the format makes {flight.expected_files}"
        more = ", ".join(names[flight.expected_files :])
        state.halt(
            f"Frame {flight.number} has {len(names)} files and {makes}: look whether {more} is of another frame."
        )
        state.too_many = len(names)

    def _came_late(self, flight: Flight, why_not: str = "") -> None:
        """A file that came late has joined a frame that was whole before, or could not."""
        flight.objects = ()
        text = why_not or f"Frame {flight.number}: a file of it came late, and is saved with it."
        self._state.emit(Said(text))
        self._state.record("card", text, flight.frame_id)
        self._forget_when_over(flight)

    def say_saved(self, flight: Flight) -> None:
        """Say that all files of the frame are safe, and have the last word of the checks."""
        self._say_moved(flight)
        self._to_judge(flight, complete=True)
        self._finish(flight)

    def on_failed(self, message: say.Failed) -> None:
        """A release or a fetch could not be done to its end."""
        flight = self._flights.get(message.frame_id)
        if flight is None:
            return
        if flight.state is FrameState.RELEASING and message.fired is Fired.NO:
            text = f"Frame {flight.number} did not fire. {message.text}"
            self.move(flight, FrameEvent.DID_NOT_FIRE, text)
            self._end(flight, text)
            return
        if flight.state in WHOLE:
            self._came_late(flight, f"Frame {flight.number}: a file of it that came late is not saved. {message.text}")
            return
        if flight.state is FrameState.RELEASING and message.fired is Fired.YES:
            self.move(flight, FrameEvent.FIRED)
        objects, until = message.missing or flight.objects, UNTIL.get(message.fault, UNTIL_BACK)
        self._missing(flight, FrameEvent.LOST, objects, message.text, until)

    def on_gone(self, message: say.CameraGone) -> None:
        """End the held frame; a frame in the camera's hands is uncertain or missing until the camera is back."""
        for flight in list(self._flights.values()):
            if flight.state is FrameState.HELD_OFF:
                flight.move(FrameEvent.CAMERA_GONE)
                self._end(flight, f"Frame {flight.number} did not fire. {message.text}")
            elif flight.state in (FrameState.RELEASING, FrameState.RECEIVING):
                self._missing(flight, FrameEvent.CAMERA_GONE, flight.objects, message.text)

    def _missing(
        self, flight: Flight, event: FrameEvent, objects: Iterable[CardObject], why: str, until: str = UNTIL_BACK
    ) -> None:
        """The frame fired, or may have, and not all is safe: say where the rest may be, and when it is looked for."""
        state = self._state
        flight.objects = tuple(objects)
        fired = flight.state is FrameState.RECEIVING
        word = "fired, not saved" if fired else "may have fired"
        there = "It is on the card and is fetched" if flight.objects else "It is looked for on the card"
        reason = f"{why[:1].lower()}{why[1:]}"
        text = f"Frame {flight.number} {word}: {reason} {there} {until}."
        self.move(flight, event, text, objects=flight.objects)
        if flight.objects:
            where = ", ".join(f"{obj.folder}/{obj.name}" for obj in flight.objects)
            state.record("left on the card", f"frame {flight.number}: {where}")
        self._end(flight, text)

    # --- frames that begin elsewhere --------------------------------------------------------------

    def adopt(self, flight: Flight) -> None:
        """Take up a frame that an earlier run, or a lost cable, left; what isn't on the disk is being fetched now."""
        before = self._flights.get(flight.frame_id)
        if before is not None:
            flight.judging = before.judging
        self._flights[flight.frame_id] = flight
        self._to_judge(flight, complete=False)

    def from_body(self, objects: tuple[CardObject, ...], when: str = "") -> bool:
        """Files of a release on the camera: give it a row, and fetch. `when` goes on "released on the camera".

        False when the log would not take it; the files stay on the card.
        """
        state = self._state
        frame = NewFrame(new_id(), 0, state.revision_id, released_by=ReleasedBy.BODY)
        flight = Flight(frame, state.place, state.revision, objects=objects)
        flight.move(FrameEvent.RELEASED_ON_CAMERA)
        try:
            intent = self._begin(flight)
        except LogError as error:
            state.writer.say_refused(f"A frame released on the camera waits on its card: {error}")
            return False
        reading = state.reading
        self.move(flight, FrameEvent.FIRED, released_at=state.clock.now())
        state.write(state.log.frame_reading, flight.frame_id, reading)
        state.flashes_fired()
        self.adopt(flight)
        state.post(say.Fetch(flight.frame_id, intent.folder, intent.stem, objects, state.second_place(flight.place)))
        self._say_moved(flight, f"Frame {flight.number} was released on the camera{when}; it is being fetched.")
        return True

    # --- the checks -------------------------------------------------------------------------------

    def on_judged(self, judgement: Judgement) -> Flight | None:
        """Keep a judgement; gives the judged frame, None for a frame that is at rest already."""
        flight = self._flights.get(judgement.frame_id)
        if flight is None:
            return None
        flight.move_judging(JudgingEvent.ANSWERED)
        state = self._state
        state.write(state.log.frame_judged, judgement.frame_id, judgement.findings, judgement.focus)
        state.emit(FrameJudged(flight.frame_id, flight.number, judgement.findings, judgement.focus))
        self._forget_when_over(flight)
        self._finish(flight)
        return flight

    def _to_judge(self, flight: Flight, *, complete: bool) -> None:
        file = flight.file_to_judge(complete=complete)
        if file is None or flight.judging is not Judging.NOT_YET:
            return
        assignment = _assignment(self._state, flight, file)  # all that can fail comes before the frame counts as sent
        flight.move_judging(JudgingEvent.SENT)
        self._state.judge().post(assignment)

    def _finish(self, flight: Flight) -> None:
        """Saved and judged, in whichever order: the frame is done."""
        if flight.state is not FrameState.SAVED or flight.judging is Judging.WITH_THE_JUDGE:
            return
        self.move(flight, FrameEvent.JUDGED)
        self._end(flight)

    # --- the door ---------------------------------------------------------------------------------

    def move(
        self,
        flight: Flight,
        event: FrameEvent,
        text: str = "",
        *,
        released_at: datetime | None = None,
        objects: tuple[CardObject, ...] = (),
    ) -> None:
        """Move a logged frame in memory and in the log; see `Log.move_frame`."""
        flight.move(event)
        log = self._state.log
        self._state.write(log.move_frame, flight.frame_id, event, text, released_at=released_at, objects=objects)

    def _end(self, flight: Flight, text: str = "") -> None:
        """Say that the frame is at rest; only its judgement may still be on its way."""
        self._say_moved(flight, text)
        self._forget_when_over(flight)

    def _forget_when_over(self, flight: Flight) -> None:
        if flight.is_over:
            self._flights.pop(flight.frame_id, None)

    def _say_moved(self, flight: Flight, text: str = "") -> None:
        self._state.emit(FrameMoved(flight.facts(text), flight.findings))


def post_to_judge(state: ShootState, flight: Flight, file: SavedFile) -> None:
    """Have a frame's file judged by the frame's own set-up, beside the present reference."""
    state.judge().post(_assignment(state, flight, file))


def _assignment(state: ShootState, flight: Flight, file: SavedFile) -> Assignment:
    here = flight.place, flight.revision.setup_number
    reference = state.reference(*here)
    expected = None if reference else state.expectation(*here)
    situation = replace(state.situation(), revision=flight.revision)
    agreement = state.agreement(flight.place)
    return flight.assignment(file, situation, reference, expected, agreement=agreement, building=state.building)
