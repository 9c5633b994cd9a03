"""Which frames of a job were shot again, months after their reference or step by step, each with what to measure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

from session.frame.ports import Place
from session.match.reshoot_steps import Reshoot
from session.match.then_and_now import STRUCK
from session.set.kit import Kit
from session.set.setup import Revision
from session.units.names import name_key
from storage.reading.views import FrameRecord
from tui.shell.match_look import ReshootLogged, read_reshoot
from tui.shell.measured_set import FrameReader, reference_of


@dataclass(frozen=True)
class Reshot:
    """A view that was shot again, before anything is measured.

    reshoot  what was built again for it
    """

    client: str
    place: Place
    reshoot: Reshoot
    logged: ReshootLogged
    kit: Kit

    @property
    def frame(self) -> FrameRecord | None:
        """The frame that is compared with the reference; None before any frame was shot again."""
        return self.logged.pictures.record if self.logged.pictures else None


class ReshotReader(FrameReader, Protocol):
    """The log as far as frames that were shot again are found in it. Each call may raise LogError."""

    def places(self, job: str = "") -> Sequence[Place]: ...

    def revisions(self, job: str, setup_number: int) -> Sequence[Revision]: ...

    def revision(self, job: str, label: str) -> tuple[Revision, str] | None: ...


def reshot_views(reader: ReshotReader, kit: Kit, records: Iterable[FrameRecord]) -> Iterator[Reshot]:
    """The frames that were shot again, of those given, in their order.

    A frame was shot again where words were said on the steps of its set-up, or the set was struck since the reference.
    A single plane of a series is no second picture of a reference that was sharp in one frame. Raises LogError.
    """
    for record in records:
        place = place_named(reader, record.job, record.piece, record.view)
        number = record.revision.setup_number
        reference = reference_of(reader, place, number) if place else None
        if place is None or reference is None or record.asked_at <= reference.asked_at:
            continue
        if record.series is not None and reference.series is None:
            continue
        built = _reshoot_of(reader, place, number)
        if built is None and record.asked_at - reference.asked_at <= STRUCK:
            continue
        reshoot = built or Reshoot(reference.revision, reference.revision_id)
        logged = read_reshoot(reader, place, reshoot, kit, record.asked_at)
        if logged.pictures and logged.pictures.record and logged.pictures.record.frame_id == record.frame_id:
            yield Reshot(record.client, place, reshoot, logged, kit)


def place_named(reader: ReshotReader, job: str, piece: str, view: str) -> Place | None:
    """The job's view of these names, whatever their case; None for a view that the log lacks. Raises LogError."""
    wanted = name_key(piece), name_key(view)
    return next((one for one in reader.places(job) if (name_key(one.piece), name_key(one.view)) == wanted), None)


def _reshoot_of(reader: ReshotReader, place: Place, setup_number: int) -> Reshoot | None:
    """The set-up's newest revision on whose steps something was said for the piece."""
    for revision in reversed(reader.revisions(place.job, setup_number)):
        found = reader.revision(place.job, revision.label)
        if found and found[1] and _said_here(reader, place, found[1]):
            return Reshoot(*found)
    return None


def _said_here(reader: ReshotReader, place: Place, revision_id: str) -> bool:
    return any(not one.elsewhere for one in reader.steps_said(place, revision_id))
