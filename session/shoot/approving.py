"""Approving a frame as the reference of the set-up in force, for the piece on the table.

A frame that is still being released, handed over or checked is kept in mind, and approved when it has been checked,
unless the checks found it spoilt.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace

from session.frame.finding import SPOILT, Finding, flaw_of
from session.frame.ports import Judgement, LogError, Place, Reference
from session.frame.states import FrameState, Judging
from session.shoot.changes import other_revision_text
from session.shoot.events import ReferenceChanged, Said
from session.shoot.flight import Flight
from session.shoot.releasing import Releases
from session.shoot.state import ShootState

UNDER_WAY = {
    FrameState.RELEASING: "is being released",
    FrameState.RECEIVING: "is still coming in",
    FrameState.SAVED: "is still being checked",
}
"""State of a frame that isn't at rest → what is said of it."""


@dataclass(frozen=True)
class _Wanted:
    """A frame whose approval waits, with the set-up and the piece that were on the table."""

    frame_id: str
    number: int
    place: Place
    setup_number: int
    flaw: Finding | None = None


class Approving:
    """The approval of a frame, which waits while the frame is being checked."""

    def __init__(self, state: ShootState, releases: Releases, approved: Callable[[], None]) -> None:
        """`approved` is called when the log has another reference by a person's decision."""
        self._state = state
        self._releases = releases
        self._approved = approved
        self._wanted: _Wanted | None = None
        self._said_of = ""

    def ask(self, frame_id: str | None) -> None:
        """Approve a frame now, or once it has been checked; None drops the reference.

        A frame that waits for its approval is let go when it is asked for once more.
        """
        state, before, self._wanted = self._state, self._wanted, None
        flight = self._releases.flight(frame_id) if frame_id else None
        if flight is None or not _is_under_way(flight):
            self._approve(frame_id, state.place, state.revision.setup_number)
        elif before and before.frame_id == frame_id:
            state.emit(Said(f"Frame {flight.number} will not become the reference."))
        else:
            self._wanted = _Wanted(flight.frame_id, flight.number, state.place, state.revision.setup_number)
            why = f"Frame {flight.number} {UNDER_WAY[flight.state]}"
            state.emit(Said(f"{why}: it becomes the reference as soon as it has been checked."))

    def on_judged(self, judgement: Judgement) -> None:
        """Approve the waiting frame, or keep it back, by the findings of the checks."""
        if self._wanted and judgement.frame_id == self._wanted.frame_id:
            self._wanted = replace(self._wanted, flaw=flaw_of(judgement.findings))

    def tick(self) -> None:
        """Approve the waiting frame as soon as nothing more comes from camera and judge."""
        wanted = self._wanted
        flight = self._releases.flight(wanted.frame_id) if wanted else None
        if wanted is None or (flight is not None and _is_under_way(flight)):
            return
        self._wanted = None
        if wanted.flaw is not None and wanted.flaw.id in SPOILT:
            self._state.emit(Said(f"Frame {wanted.number} was not made the reference: {wanted.flaw.text}"))
        else:
            self._approve(wanted.frame_id, wanted.place, wanted.setup_number)

    def say(self, *, decided: bool = False) -> None:
        """Emit the reference of the set-up and piece in force; `decided`: a person has just decided so."""
        state = self._state
        found = state.reference(state.place, state.revision.setup_number)
        state.emit(ReferenceChanged(found.frame_id if found else None, found.number if found else None, decided))
        if found is not None and state.building and self._said_of != found.frame_id:
            self._said_of = found.frame_id
            self._say_shot_by(found)

    def _say_shot_by(self, reference: Reference) -> None:
        """Say where the set that is built again differs from the one that its reference was shot by; once."""
        with suppress(LogError):  # the log's own troubles are said elsewhere
            shot = self._state.log.origin(reference.frame_id).revision
            text = other_revision_text(reference.number, shot, self._state.revision)
            if text:
                self._state.emit(Said(text))

    def _approve(self, frame_id: str | None, place: Place, setup_number: int) -> None:
        state = self._state
        try:
            state.log.set_reference(place, setup_number, frame_id)
        except LogError as error:
            state.writer.say_refused(str(error))
            return
        state.building = False
        self.say(decided=(place, setup_number) == (state.place, state.revision.setup_number))
        self._approved()


def _is_under_way(flight: Flight) -> bool:
    return flight.state in UNDER_WAY and flight.judging is not Judging.JUDGED
