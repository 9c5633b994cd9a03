"""Puts right what a crash, a pulled cable or a lost camera left, as soon as the camera is there again.

`reconcile.plan` decides from the log, the disk and the card; this part only carries the steps out.
"""

from __future__ import annotations

from functools import partial

from session import reconcile
from session.bench import Bench
from session.cameras.protocol import CardObject, Fetch, Fired, SavedFile
from session.disk import clear_leftovers, files_of
from session.events import Said
from session.flight import Flight
from session.frame import FrameState, Intent, Unsettled
from session.ports import LogError, Origin
from session.releasing import Releases


def recover(bench: Bench, releases: Releases, card: tuple[CardObject, ...]) -> None:
    """Compare log, disk and card, and do what is safe; everything is said in words and stands in the log."""
    log, serial = bench.log, bench.serial
    try:
        new_camera = log.is_new_camera(serial)
        known = log.known_card_objects(serial)
        unsettled = {frame.frame_id: frame for frame in log.unsettled(serial) if not _under_way(releases, frame)}
        origins = {frame_id: log.origin(frame_id) for frame_id in unsettled}
        for frame in unsettled.values():  # nobody writes there: whoever has the camera's claim is its only process
            clear_leftovers(frame.folder, frame.stem)
        on_disk = {frame.frame_id: files_of(frame.folder, frame.stem) for frame in unsettled.values()}
        steps = reconcile.plan(list(unsettled.values()), on_disk, card, known, new_camera)
        if new_camera:
            log.note_card(serial, card)
    except LogError as error:
        bench.emit(Said(f"What the last run left could not be looked at: {error}", "log", True))
        return
    flights = {
        frame_id: _taken_up(frame, origins[frame_id], on_disk[frame_id]) for frame_id, frame in unsettled.items()
    }
    for step in steps:
        _carry_out(bench, releases, step, flights)


def _under_way(releases: Releases, frame: Unsettled) -> bool:
    """Saved already, and with the judge: nothing to put right."""
    flight = releases.flight(frame.frame_id)
    return flight is not None and flight.state not in (FrameState.MISSING, FrameState.UNCERTAIN)


def _carry_out(bench: Bench, releases: Releases, step: reconcile.Step, flights: dict[str, Flight]) -> None:
    log = bench.log
    match step:
        case reconcile.AdoptFile(frame_id, file):
            bench.write(partial(log.frame_file, frame_id, file))
            bench.emit(Said(f"Frame {flights[frame_id].number}: a file of it was found on the disk and taken up."))
        case reconcile.FetchObjects(frame_id, objects):
            flight = flights[frame_id]
            flight.objects = tuple(objects)
            bench.write(partial(log.move_frame, frame_id, FrameState.RECEIVING, fired=Fired.YES))
            releases.adopt(flight)
            intent = flight.intent
            assert intent is not None
            bench.post(Fetch(frame_id, intent.folder, intent.stem, flight.objects))
            bench.emit(Said(f"Frame {flight.number} is on the card; it is being fetched."))
        case reconcile.Complete(frame_id):
            bench.emit(Said(f"Frame {flights[frame_id].number} is whole."))
            releases.adopt(flights[frame_id])
            releases.saved(flights[frame_id])
        case reconcile.NotFired(frame_id, text):
            bench.write(partial(log.move_frame, frame_id, FrameState.NOT_FIRED, fired=Fired.NO, text=text))
            bench.emit(Said(text))
        case reconcile.Missing(frame_id, text):
            bench.write(partial(log.move_frame, frame_id, FrameState.MISSING, text=text))
            bench.emit(Said(text))
        case reconcile.BodyFrame(objects):
            releases.from_body(objects, " while it was not connected")


def _taken_up(frame: Unsettled, origin: Origin, files: list[SavedFile]) -> Flight:
    """A flight for a frame of an earlier run: what of it is on the disk, judged by its own set-up."""
    intent = Intent(
        frame.frame_id,
        frame.number,
        origin.revision_id,
        frame.camera_serial,
        frame.folder,
        frame.stem,
        frame.asked_at,
        frame.released_by,
    )
    return Flight(
        frame.frame_id,
        origin.place,
        origin.revision,
        origin.revision_id,
        frame.released_by,
        frame.number,
        state=FrameState.RECEIVING,
        fired=Fired.YES,
        intent=intent,
        files=list(files),
        judged=origin.judged,
    )
