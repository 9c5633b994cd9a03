"""`SqlLog` implements `session.frame.ports.Log`: a call is one durable transaction, a refusal a LogError in words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy import Connection

from session.frame.camera_messages import CardObject, Reading, SavedFile
from session.frame.finding import Finding, FocusJudgement
from session.frame.ports import (
    Agreement,
    Clock,
    KeptPeak,
    Log,
    LogError,
    Origin,
    Place,
    Reference,
    RefusedEntry,
    RefusedForGoodError,
    Standing,
    SystemClock,
    Undone,
)
from session.frame.shot_plane import ShotPlane
from session.frame.states import ENDED, FrameEvent, FrameState, Intent, LoggedFrame
from session.frame.step_said import StepSaid, StepWord
from session.order.client_order import Order
from session.order.order_table import OrderFileError, read_order, require_table
from session.set.setup import Region, Revision
from session.units.refusals import UnreadableTextError
from storage.database.at_rest import AtRest, Rest, Standby
from storage.database.log_database import WritableDatabase, open_for_writing
from storage.files import aside
from storage.files.archive_address import is_archive
from storage.writing import (
    cards,
    event_rows,
    frames,
    judgements,
    kept_values,
    logged_frames,
    order_rows,
    people,
    places,
    series_rows,
    settling,
    setups,
    standing,
    steps_said,
    undo,
)
from storage.writing.kept_order import kept_order

T = TypeVar("T")


class SqlLog:
    """The log port over SQL, the only writer of a log file; may be called from any thread.

    Opening makes the file when it is new and migrates it when it is old. Raises LogError when it can't be
    opened, is of a newer stillset, or is open in another one.
    """

    def __init__(self, database: WritableDatabase, clock: Clock, path: Path) -> None:
        self._database = database
        self._path = path
        self._clock = clock
        self._rest: Rest | None = None

    @classmethod
    def open(cls, path: Path, clock: Clock | None = None) -> SqlLog:
        """Open the log, or make it. The last folder of its path is made when missing."""
        if is_archive(path):
            raise LogError("An archive is for looking only: write to a log of this station, and send that.")
        return cls(open_for_writing(path), clock or SystemClock(), path)

    def close(self) -> None:
        """Let the next writer in. May be called twice. Raises LogError when the log isn't at its path any more."""
        if self._rest is not None:
            self._rest.close()
        self._database.close()

    def keep_at_rest(self, standby: Standby | None, tell: Callable[[str], None]) -> None:
        """Keep the main file whole and the standby copy new from now on, in a thread of their own.

        tell  hears a sentence when the copy can't be made, and "" when it can again; from a thread of its own
        """
        self.rest_by(AtRest(self._path, standby, self._database.is_in_place, tell))

    def rest_by(self, rest: Rest) -> None:
        """Have `rest` asked whenever the log is at rest."""
        self._rest = rest
        rest.ask()

    def _at_rest(self) -> None:
        if self._rest is not None:
            self._rest.ask()

    def _do_and_rest(self, step: Callable[[Connection, datetime], T]) -> T:
        found = self._do(step)
        self._at_rest()
        return found

    def _do(self, step: Callable[[Connection, datetime], T]) -> T:
        with self._database.transaction() as connection:
            return step(connection, self._clock.now())

    # --- places and set-ups -----------------------------------------------------------------------

    def open_place(self, job: str, piece: str, view: str, client: str = "") -> Place:
        """The place of these names, made as far as it is new; names are matched without regard to case."""
        return self._do_and_rest(lambda c, at: places.open_place(c, job, piece, view, client, at))

    def keep_order(self, order: Order, read_from: str = "") -> order_rows.OrderKept:
        """Keep what is wanted of a job, from now on; `read_from` is the file's name. What was shot is never dropped."""
        return self._do_and_rest(lambda c, at: order_rows.keep_read_order(c, order, read_from, at))

    def keep_order_table(self, table: str, read_from: str) -> None:
        try:
            order = read_order(table.encode("utf-8", "replace"))
        except OrderFileError as error:
            raise RefusedForGoodError(f"The order can't be kept. {error.faults[0]}") from error
        self.keep_order(order, read_from)

    def add_views(self, job: str, piece: str, views: Iterable[str]) -> None:
        def add(connection: Connection, at: datetime) -> None:
            job_id, name = places.find_or_make_job(connection, job, "", at)
            kept = kept_order(connection, job_id)
            before = kept.order if kept else Order(name)
            wanted = before.with_views(piece, tuple(views))
            if wanted == before:
                return
            try:
                require_table(wanted)
            except UnreadableTextError as error:
                raise RefusedForGoodError(f"The order can't be kept: {error}") from error
            order_rows.keep_read_order(connection, wanted, "", at)

        self._do_and_rest(add)

    def next_setup_number(self, place: Place) -> int:
        return self._do(lambda c, _: standing.next_setup_number(c, place.job_id))

    def next_revision_number(self, place: Place, setup_number: int) -> int:
        return self._do(lambda c, _: setups.next_revision_number(c, place.job_id, setup_number))

    def save_revision(self, place: Place, revision: Revision) -> str:
        """Write a revision that no frame has used, for those who write set-ups beforehand; returns its key.

        Set-up and revision number must be new together.
        """
        return self._do_and_rest(lambda c, at: setups.save(c, place, revision, at))

    def standing(self, place: Place) -> Standing | None:
        return self._do(lambda c, _: standing.standing(c, place))

    def choose(self, place: Place, chosen: Standing) -> Standing:
        return self._do_and_rest(lambda c, at: standing.choose(c, place, chosen, at))

    def arrange(self, place: Place, before: Standing, wanted: Standing, act: str = "") -> Standing:
        return self._do_and_rest(lambda c, at: standing.arrange(c, place, before, wanted, act, at))

    # --- a frame, step by step --------------------------------------------------------------------

    def next_frame_number(self, place: Place) -> int:
        return self._do(lambda c, _: frames.next_number(c, place.job_id))

    def frame_sizes(self, place: Place) -> tuple[int, ...]:
        return self._do(lambda c, _: frames.sizes(c, place.job_id))

    def begin_frame(self, intent: Intent, place: Place, draft: Revision | None = None) -> None:
        self._database.must_be_in_place()
        self._do(lambda c, at: frames.begin(c, intent, place, at, draft))

    def move_frame(
        self,
        frame_id: str,
        event: FrameEvent,
        text: str = "",
        *,
        released_at: datetime | None = None,
        objects: Iterable[CardObject] = (),
    ) -> None:
        told = tuple(objects)
        state = self._do(lambda c, at: frames.move(c, frame_id, event, at, text, released_at=released_at, objects=told))
        if state in ENDED or state is FrameState.UNCERTAIN:
            self._at_rest()

    def frame_findings(self, frame_id: str, findings: Iterable[Finding]) -> None:
        said = tuple(findings)
        self._do(lambda c, at: judgements.add_findings(c, frame_id, said, at))

    def frame_reading(self, frame_id: str, reading: Reading) -> None:
        self._do(lambda c, at: judgements.add_reading(c, frame_id, reading, at))

    def frame_file(self, frame_id: str, file: SavedFile) -> None:
        self._do(lambda c, at: frames.add_file(c, frame_id, file, at))

    def frame_copied(self, frame_id: str, objects: Iterable[CardObject]) -> None:
        there = tuple(objects)
        self._do(lambda c, at: frames.note_copies(c, frame_id, there, at))

    def frame_judged(self, frame_id: str, findings: Iterable[Finding], focus: FocusJudgement) -> None:
        said = tuple(findings)
        self._do(lambda c, at: judgements.add_judgement(c, frame_id, said, focus, at))

    def frame_judged_anew(
        self,
        frame_id: str,
        findings: Iterable[Finding],
        focus: FocusJudgement,
        region: Region,
        grey_patch: Region | None,
        text: str,
    ) -> None:
        said = tuple(findings)
        self._do(lambda c, at: judgements.add_judgement_anew(c, frame_id, said, focus, (region, grey_patch), text, at))

    # --- after a crash ----------------------------------------------------------------------------

    def shot_planes(self, series_id: str) -> tuple[ShotPlane, ...]:
        return self._do(lambda c, _: series_rows.shot_planes(c, series_id))

    def unsettled_frames(self, camera_serial: str | None = None) -> tuple[LoggedFrame, ...]:
        return self._do(lambda c, _: logged_frames.unsettled_frames(c, camera_serial))

    def origin(self, frame_id: str) -> Origin:
        return self._do(lambda c, _: logged_frames.origin(c, frame_id))

    def known_card_objects(self, camera_serial: str) -> frozenset[CardObject]:
        return self._do(lambda c, _: cards.known_objects(c, camera_serial))

    def holders(self, camera_serial: str, names: Iterable[str]) -> tuple[LoggedFrame, ...]:
        wanted = tuple(names)
        return self._do(lambda c, _: logged_frames.holders(c, camera_serial, wanted))

    def neighbours(self, frame_id: str) -> tuple[CardObject | None, CardObject | None]:
        return self._do(lambda c, _: logged_frames.neighbours(c, frame_id))

    def is_new_camera(self, camera_serial: str) -> bool:
        return self._do(lambda c, _: cards.is_new(c, camera_serial))

    def note_card(self, camera_serial: str, objects: Iterable[CardObject]) -> None:
        there = tuple(objects)
        self._do_and_rest(lambda c, at: cards.note_card(c, camera_serial, there, at))

    def note_model(self, camera_serial: str, model: str) -> None:
        self._do(lambda c, at: cards.note_model(c, camera_serial, model, at))

    def still_open(self) -> tuple[settling.OpenFrame, ...]:
        """Frames that only a person can settle, with the files that may be theirs."""
        return self._do(lambda c, _: settling.still_open(c))

    def settle_not_fired(self, frame: settling.OpenFrame) -> str:
        """Write a person's word that the frame did not fire. Returns a sentence on the outcome. Raises LogError."""
        self._do_and_rest(lambda c, at: settling.not_fired(c, frame, at))
        return f"Frame {frame.number} did not fire."

    def settle_none(self, frame: settling.OpenFrame) -> str:
        """Write a person's word that none of the files is the frame's. Returns a sentence likewise. Raises LogError."""
        self._do_and_rest(lambda c, at: settling.none_of_these(c, frame, at))
        return f"Frame {frame.number} has no file; it is not looked for any more."

    def settle_file(self, frame: settling.OpenFrame, file: str) -> str:
        """Note a person's word that the file belongs to the frame; `file` is its name on the card or its path."""
        path = Path(file)
        if path.is_file():
            self._do_and_rest(lambda c, at: settling.on_the_disk(c, frame, path, at))
            return f"Frame {frame.number} has {path.name}; it is judged when its camera is connected."
        objects = self._do_and_rest(lambda c, at: settling.on_the_card(c, frame, file, at))
        names = ", ".join(one.name for one in objects)
        return f"Frame {frame.number} has {names} on the card; fetched when its camera is connected."

    # --- people -----------------------------------------------------------------------------------

    def reference(self, place: Place, setup_number: int) -> Reference | None:
        return self._do(lambda c, _: people.reference(c, place, setup_number))

    def expectation(self, place: Place, setup_number: int) -> Reference | None:
        return self._do(lambda c, _: people.expectation(c, place, setup_number))

    def agreement(self, place: Place) -> Agreement | None:
        return self._do(lambda c, _: order_rows.agreement(c, place))

    def set_reference(self, place: Place, setup_number: int, frame_id: str | None) -> None:
        self._do_and_rest(lambda c, at: people.set_reference(c, place, setup_number, frame_id, at))

    def keep_peak(self, place: Place, setup_number: int, peak: KeptPeak) -> None:
        self._do_and_rest(lambda c, at: kept_values.keep_peak(c, place, setup_number, peak, at))

    def kept_peak(self, place: Place, setup_number: int) -> KeptPeak | None:
        return self._do(lambda c, _: kept_values.newest_peak(c, place, setup_number))

    def keep_wish(self, place: Place, wish: Mapping[str, object]) -> None:
        self._do(lambda c, at: kept_values.keep_wish(c, place, wish, at))

    def say_of_step(self, place: Place, revision_id: str, step: str, word: StepWord | None, reason: str = "") -> None:
        self._do_and_rest(lambda c, at: steps_said.say(c, place, revision_id, step, word, reason, at))

    def steps_said(self, place: Place, revision_id: str) -> tuple[StepSaid, ...]:
        return self._do(lambda c, _: steps_said.in_force(c, place, revision_id))

    def mark(self, frame_id: str, mark: str | None) -> None:
        self._do_and_rest(lambda c, at: people.mark(c, frame_id, mark, at))

    def note(self, frame_id: str, text: str) -> None:
        self._do_and_rest(lambda c, at: people.note(c, frame_id, text, at))

    def change_note(self, note_id: str, text: str) -> None:
        """Rewrite a note, or strike it with an empty text."""
        self._do_and_rest(lambda c, at: people.change_note(c, note_id, text, at))

    def undo_last(self, place: Place) -> Undone | None:
        return self._do_and_rest(lambda c, at: undo.undo(c, place, at))

    def redo(self, place: Place) -> Undone | None:
        return self._do_and_rest(lambda c, at: undo.redo(c, place, at))

    def can_undo(self, place: Place) -> bool:
        return self._do(lambda c, at: undo.possible(c, place))

    def next_undo(self, place: Place) -> Undone | None:
        return self._do(lambda c, at: undo.looked_ahead(c, place, at, undo.undo))

    def next_redo(self, place: Place) -> Undone | None:
        return self._do(lambda c, at: undo.looked_ahead(c, place, at, undo.redo))

    def keep_aside(self, entry: RefusedEntry) -> str:
        return str(aside.keep(self._path, entry, self._clock.now()))

    def record(self, kind: str, text: str, frame_id: str | None = None) -> None:
        self._do(lambda c, at: event_rows.record(c, at, kind, text, frame_id))


if TYPE_CHECKING:
    ANSWERS: type[Log] = SqlLog
