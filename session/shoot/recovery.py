"""Puts right what a crash, a pulled cable, a lost camera or a full disk left, as soon as that can be done.

`reconcile.plan` decides from the log, the disk and the card; this part only carries the steps out. It looks when a
camera is connected, and again while something may still turn up: a camera that lost its cable at the exposure may
write and announce its file after it is back, and a disk that was full may have room.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from session.frame.camera_messages import CardObject, Failed, Fault, Fetch, Fired, ListCard, SavedFile
from session.frame.card import base_name, copies, folder_order, of_another_card, without
from session.frame.card import releases as releases_on
from session.frame.ports import LogError, Origin
from session.frame.states import FrameState, Intent, Judging, LoggedFrame, ReleasedBy
from session.shoot import reconcile
from session.shoot.disk import clear_leftovers, files_of
from session.shoot.events import Said
from session.shoot.flight import Flight
from session.shoot.releasing import Releases
from session.shoot.state import ShootState

LATE_FILE_S = 15.0
"""How long after it was asked, besides twice the exposure, a body may take to announce its file, when nothing else is
chosen; the same patience as `cameras.camera_limits.CameraLimits.no_file_s`."""

AWAY = " while it was not connected"
AGAIN_S, AGAIN_AT_MOST_S = 5.0, 60.0
"""Between two tries of what the disk or the log refused; each waits twice as long as the one before. Chosen."""


class Recovery:
    """The work that is left to put right with the connected camera."""

    def __init__(self, state: ShootState, releases: Releases, late_file_s: float) -> None:
        """late_file_s   see LATE_FILE_S"""
        self._state = state
        self._late_file_s = late_file_s
        self._releases = releases
        self._again_at_s: float | None = None
        self._again_s = AGAIN_S
        self._let_alone: tuple[CardObject, ...] = ()
        self._undecided: frozenset[CardObject] = frozenset()
        self._during: dict[tuple[str, str], str] = {}
        self._appeared: set[tuple[str, str]] = set()  # base names that were announced, and wait for the card's list
        self._when = ""

    def on_connected(self, card: tuple[CardObject, ...] | None) -> None:
        """Compare log, disk and card after the camera has connected, and do what is safe.

        card   None where it takes long to read: it is read at once for a frame that waits for it, else when nobody
               wants anything of the camera
        """
        self._again_at_s, self._again_s, self._let_alone = None, AGAIN_S, ()
        self._state.card_asked = False
        self._when = AWAY
        if card is not None:
            self._put_right(card, AWAY)
            return
        try:
            if self._state.log.unsettled_frames(self._state.serial):
                self._ask_card()
            else:
                known = tuple(self._state.log.known_card_objects(self._state.serial))
                self._state.post(ListCard(self._oldest_folder(), when_idle=True, known=known))
        except LogError as error:
            self._state.writer.say_refused(f"What the last run left could not be looked at: {error}")
            self.try_again()

    def on_card(self, card: tuple[CardObject, ...]) -> None:
        """Take in the card's list, which was asked for."""
        if self._state.card_asked or self._when:
            self._state.card_asked = False
            self._put_right(card, self._when)

    def on_appeared(self, objects: tuple[CardObject, ...], during: str = "") -> None:
        """Take in files of a release on the camera, or late files. While a frame lacks files, the whole card decides.

        during   the frame that was being taken when they were announced
        """
        self._appeared.update(map(base_name, objects))
        try:
            new = without(objects, self._settled_objects())
            new = without(new, self._copies_among(new))
            if during:
                self._during |= {base_name(card_object): during for card_object in new}
            late = self._state.late_files
            may_be_ours = bool(during or late.waited_for or late.in_vain or self._undecided)
            may_be_ours = may_be_ours or self._have_siblings(new)
        except LogError as error:
            self._state.writer.say_refused(f"A frame released on the camera waits on its card: {error}")
            self.try_again()
            return
        if new and may_be_ours:
            self._ask_card()
        elif new and not self._releases.from_body(new):
            self.try_again()
        else:
            self._appeared.difference_update(map(base_name, objects))

    def _copies_among(self, new: tuple[CardObject, ...]) -> list[CardObject]:
        """The objects that a body with two cards wrote twice, noted with their frames."""
        held = self._state.log.holders(self._state.serial, _names(new)) if new else ()
        originals = [*self._releases.objects_under_way().items(), *((one.frame_id, one.saved_objects) for one in held)]
        found: list[CardObject] = []
        for frame_id, objects in originals:
            copied = copies(new, objects)
            if copied:
                self._state.write(self._state.log.frame_copied, frame_id, copied)
                found += copied
        return found

    def _have_siblings(self, new: tuple[CardObject, ...]) -> bool:
        log, serial = self._state.log, self._state.serial
        if log.holders(serial, _names(new)):
            return True
        expected = {base_name(missing) for frame in log.unsettled_frames(serial) for missing in frame.expected}
        return any(base_name(card_object) in expected for card_object in new)

    def wait_for_late(self, failed: Failed) -> None:
        """Hold releases while a file may still come from a camera that fired and made no file."""
        if failed.fired is Fired.NO or failed.fault is Fault.CARD_FULL:
            return
        log = self._state.log
        try:
            frames = {frame.frame_id: frame for frame in log.unsettled_frames(self._state.serial)}
            frame = frames.get(failed.frame_id)
            if frame is None or frame.saved or frame.expected:
                return
            key, before = frame.frame_id, self._state.late_files.waited_for
            now_s = self._state.clock.monotonic_s()  # where it had its time already, the card is read once more first
            until_s = self._late([frame], {key: log.origin(key)}).get(key, now_s)
            self._state.late_files.made_no_file.add(key)
            self._state.late_files.wait(key, until_s)
            self._say_what_is_waited_for([frame], before)
        except LogError as error:
            self._state.writer.say_refused(str(error))

    def on_card_refused(self) -> None:
        """The camera would not list its card."""
        self._state.card_asked = False
        self.try_again()

    def try_again(self) -> None:
        """Disk or log refused something that the card still has; look again before long."""
        if self._again_at_s is None:
            self._again_at_s = self._state.clock.monotonic_s() + self._again_s
            self._again_s = min(2 * self._again_s, AGAIN_AT_MOST_S)

    def tick(self) -> float | None:
        """Look again when a look is due; returns when to come back, s."""
        state = self._state
        due = [*state.late_files.due_s, *([] if self._again_at_s is None else [self._again_at_s])]
        if not due or state.description is None:
            return None
        now_s = state.clock.monotonic_s()
        if min(due) > now_s:
            return min(due)
        if self._again_at_s is not None and self._again_at_s <= now_s:
            self._again_at_s = None
            if state.writer.owed or not self._has_room():
                self.try_again()
                return self._again_at_s
        self._ask_card()
        return None

    def _ask_card(self) -> None:
        if not self._state.card_asked:
            self._state.card_asked = True
            self._state.post(ListCard(self._oldest_folder()))

    def _oldest_folder(self) -> str:
        """Name of the oldest folder on the card that anything is looked for in; "" for the newest. Raises LogError."""
        log, serial = self._state.log, self._state.serial
        newest = max((folder_order(known.folder) for known in log.known_card_objects(serial)), default="")
        own = [card for frame in log.unsettled_frames(serial) for card in (*frame.expected, *frame.saved_objects)]
        return min([newest, *(folder_order(card.folder) for card in own)]) if newest else ""

    def _without_another_card(
        self, steps: tuple[reconcile.Step, ...], others: tuple[CardObject, ...]
    ) -> tuple[reconcile.Step, ...]:
        """The steps but for releases on the camera that lay on another card, which are let alone. Raises LogError.

        others  the objects that may have lain on the card before it was put in
        """
        alone = {base_name(card_object) for card_object in others} - self._appeared
        self._appeared = set()
        left = [step for step in steps if isinstance(step, reconcile.BodyFrame) and not step.during]
        left = [step for step in left if base_name(step.objects[0]) in alone]
        if left:
            self._state.log.note_card(self._state.serial, [one for step in left for one in step.objects])
            text = (
                f"Another card is in the camera: {len(left)} releases on it are not fetched here, since they may "
                "have lain on it before."
            )
            self._state.emit(Said(text))
            self._state.record("card", text)
        return tuple(step for step in steps if step not in left)

    def _say_what_is_let_alone(self, left: tuple[CardObject, ...], other_log: str) -> None:
        if left and other_log:
            text = (
                f"The camera was used for the log {other_log} since. {len(releases_on(left))} releases on its card are"
            )
            text = f"{text} not fetched here: they are that log's, or were made on the camera."
            self._state.emit(Said(text))
            self._state.record("card", text)

    def _second_copies(
        self, frames: Iterable[LoggedFrame], origins: dict[str, Origin]
    ) -> dict[str, list[SavedFile]] | None:
        """frame_id → whole files in the second place; None when no second copies are asked for."""
        state = self._state
        places = {frame.frame_id: state.second_place(origins[frame.frame_id].place) for frame in frames}
        if state.second_place(state.place) is None:
            return None
        found = {}
        for frame in frames:
            second = places[frame.frame_id]
            if second is not None:
                clear_leftovers(second.folder, frame.intent.stem, state.disk)
                found[frame.frame_id] = files_of(second.folder, frame.intent.stem, state.disk)
        return found

    def _has_room(self) -> bool:
        state = self._state
        second = state.second_place(state.place)
        folders = [state.frame_folder(state.place), *([Path(second.folder)] if second else [])]
        room = [state.free_disk_bytes(folder) for folder in folders]
        return all(free is None or free >= state.frame_bytes for free in room)

    def _settled_objects(self) -> frozenset[CardObject]:
        """The objects on the card that are nobody's, saved, or on their way."""
        return self._state.log.known_card_objects(self._state.serial).union(
            *self._releases.objects_under_way().values()
        )

    def _put_right(self, card: tuple[CardObject, ...], when: str) -> None:
        """Everything is said in words and stands in the log.

        When the camera was used for another log since, what nobody here announced may be that log's frames, and is
        let alone.
        """
        state, releases, log, serial = self._state, self._releases, self._state.log, self._state.serial
        self._when = ""
        if state.writer.owed:  # what the log tells of frames isn't what they are
            self.try_again()
            return
        try:
            other_log = state.last_log.other(serial) if state.last_log else ""
            strange_card = log.is_new_camera(serial) or bool(other_log)
            known = self._settled_objects() - self._undecided
            unsettled = {
                frame.frame_id: frame for frame in log.unsettled_frames(serial) if not _under_way(releases, frame)
            }
            origins = {frame_id: log.origin(frame_id) for frame_id in unsettled}
            for frame in unsettled.values():  # nobody writes there: whoever has the camera's claim is its only process
                clear_leftovers(frame.intent.folder, frame.intent.stem, state.disk)
            on_disk = {
                frame.frame_id: files_of(frame.intent.folder, frame.intent.stem, state.disk)
                for frame in unsettled.values()
            }
            late = self._late(unsettled.values(), origins)
            copies = self._second_copies(unsettled.values(), origins)
            around = self._around(unsettled.values(), () if strange_card else without(card, known))
            steps = reconcile.plan(
                list(unsettled.values()), on_disk, card, known, strange_card, late, self._let_alone, around
            )
            steps = steps if copies is None else reconcile.with_copies(steps, copies)
            if strange_card:
                left = self._let_alone = without(card, known | _objects_of(steps))
                log.note_card(serial, left)
                self._say_what_is_let_alone(left, other_log)
            else:
                steps = self._without_another_card(steps, of_another_card(card, known))
            if state.last_log:
                state.last_log.take(serial)
        except LogError as error:
            state.writer.say_refused(f"What the last run left could not be looked at: {error}")
            self.try_again()
            return
        flights = {
            frame_id: _flight_of(frame, origins[frame_id], on_disk[frame_id]) for frame_id, frame in unsettled.items()
        }
        for step in steps:
            if not _carry_out(state, releases, step, flights, when):
                self.try_again()
        self._leave_open([step for step in steps if isinstance(step, reconcile.Undecided)])
        others = reconcile.BodyFrame | reconcile.JoinFrame | reconcile.Undecided | reconcile.Copied
        done = {step.frame_id for step in steps if not isinstance(step, others)}
        missing = {step.frame_id for step in steps if isinstance(step, reconcile.Missing)}
        waited_for = state.late_files.waited_for
        for key, frame in unsettled.items():
            if key in missing and state.late_files.may_give_up(key) and _lacks_all(frame, steps):
                state.late_files.give_up(key)
        state.late_files.wait_only({key: until_s for key, until_s in late.items() if key not in done})
        self._say_what_is_waited_for(unsettled.values(), waited_for)

    def _around(self, frames: Iterable[LoggedFrame], new: tuple[CardObject, ...]) -> reconcile.Around:
        log = self._state.log
        return reconcile.Around(
            held=log.holders(self._state.serial, _names(new)) if new else (),
            between={f.frame_id: log.neighbours(f.frame_id) for f in frames if not (f.saved or f.expected)},
            in_vain=self._state.late_files.in_vain,
            begun=self._state.late_files.made_no_file,
            during=dict(self._during),
        )

    def _leave_open(self, steps: list[reconcile.Undecided]) -> None:
        """Leave objects on the card whose frame nobody can tell, and hold the next release for a person's word."""
        state, before = self._state, self._undecided
        self._undecided = frozenset(card_object for step in steps for card_object in step.objects)
        for step in steps:
            if before.isdisjoint(step.objects):
                state.write(state.log.note_card, state.serial, step.objects)
                state.halt(step.text)
        if before and not self._undecided:
            state.halted = ""

    def _late(self, frames: Iterable[LoggedFrame], origins: dict[str, Origin]) -> dict[str, float]:
        """frame_id → time until which the camera may still write the frame, s, for frames asked for a moment ago.

        Only frames of this computer's own asking; one whose time of asking can't be right isn't waited for.
        """
        clock, late = self._state.clock, {}
        for frame in frames:
            patience_s = self._late_file_s + 2 * origins[frame.frame_id].revision.settings.exposure_s
            left_s = patience_s - (clock.now() - frame.intent.asked_at).total_seconds()
            if 0 < left_s <= patience_s and frame.intent.released_by is ReleasedBy.TOOL and not frame.sought:
                late[frame.frame_id] = clock.monotonic_s() + left_s
        return late

    def _say_what_is_waited_for(self, frames: Iterable[LoggedFrame], before: frozenset[str]) -> None:
        """Say of those of these frames that weren't waited for before that no frame is released meanwhile."""
        for frame in frames:
            if frame.frame_id in self._state.late_files.waited_for - before:
                text = f"Frame {frame.number} may be on its way to the card; it is waited for before the next release."
                self._state.emit(Said(text))


def _names(objects: Iterable[CardObject]) -> set[str]:
    return {base_name(card_object)[1] for card_object in objects}


def _lacks_all(frame: LoggedFrame, steps: Iterable[reconcile.Step]) -> bool:
    """True when the frame has no file at all, neither before nor by these steps."""
    adopted = {step.frame_id for step in steps if isinstance(step, reconcile.AdoptFile)}
    return not (frame.saved or frame.expected) and frame.frame_id not in adopted


def _objects_of(steps: Iterable[reconcile.Step]) -> frozenset[CardObject]:
    """The objects on the card that the steps give to frames."""
    fetched = [obj for step in steps if isinstance(step, reconcile.FetchObjects) for obj in step.objects]
    return frozenset([*fetched, *(step.file.card for step in steps if isinstance(step, reconcile.AdoptFile))])


def _under_way(releases: Releases, frame: LoggedFrame) -> bool:
    """Being fetched, or saved already and with the judge: nothing to put right."""
    flight = releases.flight(frame.frame_id)
    return flight is not None and flight.state not in (FrameState.MISSING, FrameState.UNCERTAIN)


def _carry_out(
    state: ShootState, releases: Releases, step: reconcile.Step, flights: dict[str, Flight], when: str
) -> bool:
    """Carry out a step; False when the log refused the step, which is then to be tried again."""
    match step:
        case reconcile.AdoptFile(frame_id, file):
            state.write(state.log.frame_file, frame_id, file)
            state.emit(Said(f"Frame {flights[frame_id].number}: a file of it was found on the disk and taken up."))
        case reconcile.FetchObjects(frame_id, objects):
            flight = _move_flight(releases, step, flights[frame_id])
            flight.objects = tuple(objects)
            releases.adopt(flight)
            intent = flight.frame
            assert isinstance(intent, Intent)
            state.post(Fetch(frame_id, intent.folder, intent.stem, flight.objects, state.second_place(flight.place)))
            state.emit(Said(f"Frame {flight.number} is on the card; it is being fetched."))
        case reconcile.Complete(frame_id):
            flight = _move_flight(releases, step, flights[frame_id])
            state.emit(Said(f"Frame {flight.number} is whole."))
            releases.adopt(flight)
            releases.say_saved(flight)
        case reconcile.NotFired(frame_id, text) | reconcile.Missing(frame_id, text) | reconcile.Unsure(frame_id, text):
            _move_flight(releases, step, flights[frame_id], text)
            state.emit(Said(text))
        case reconcile.Copied(frame_id, objects):
            state.write(state.log.frame_copied, frame_id, objects)
        case reconcile.JoinFrame(held, objects):
            _fetch_late(state, releases, held, objects)
        case reconcile.BodyFrame(objects, during):
            if during:
                name = objects[0].name
                state.halt(f"{name} came while another frame was taken; look which of the two pictures is which.")
            return releases.from_body(objects, when)
    return True


def _move_flight(releases: Releases, step: reconcile.Step, flight: Flight, text: str = "") -> Flight:
    """Move the flight by the step's events, in the log too; gives the flight."""
    for event in reconcile.moves(step, flight.state):
        releases.move(flight, event, text)
    return flight


def _fetch_late(state: ShootState, releases: Releases, held: LoggedFrame, objects: tuple[CardObject, ...]) -> None:
    """Fetch late files for a frame with other files. The frame's state stays; failures are tried again."""
    flight = releases.flight(held.frame_id)
    if flight is None:
        flight = replace(_flight_of(held, state.log.origin(held.frame_id), []), judging=Judging.JUDGED)
        releases.adopt(flight)
    flight.objects = (*flight.objects, *objects)
    folder, stem = held.intent.folder, held.intent.stem
    state.post(Fetch(held.frame_id, folder, stem, objects, state.second_place(flight.place)))


def _flight_of(frame: LoggedFrame, origin: Origin, files: list[SavedFile]) -> Flight:
    """A flight for a frame of the log, in the state that the log has: judged by the frame's own set-up."""
    return Flight(
        frame.intent,
        origin.place,
        origin.revision,
        state=frame.state,
        files=list(files),
        judging=Judging.JUDGED if origin.judged else Judging.NOT_YET,
        saved_before=frame.saved,
        expected_files=frame.expected_files,
    )
