"""Puts right what a crash, a pulled cable or a lost camera left, as soon as the camera is there again.

`reconcile.plan` decides from the log, the disk and the card; this part only carries the steps out.
"""

from __future__ import annotations

from functools import partial

from session import reconcile
from session.bench import Bench
from session.cameras.protocol import CardObject, Fetch, Fired
from session.disk import files_of
from session.events import Said
from session.flight import Flight
from session.frame import FrameState, Intent, Unsettled
from session.ports import LogError
from session.releasing import Releases


def recover(bench: Bench, releases: Releases, card: tuple[CardObject, ...]) -> None:
    """Compare log, disk and card, and do what is safe; everything is said in words and stands in the log."""
    log, serial = bench.log, bench.serial
    try:
        new_camera = log.is_new_camera(serial)
        known = log.known_card_objects(serial)
        unsettled = {frame.frame_id: frame for frame in log.unsettled(serial) if not _under_way(releases, frame)}
        on_disk = {frame.frame_id: files_of(frame.folder, frame.stem) for frame in unsettled.values()}
        steps = reconcile.plan(list(unsettled.values()), on_disk, card, known, new_camera)
        if new_camera:
            log.note_card(serial, card)
    except LogError as error:
        bench.emit(Said(f"What the last run left could not be looked at: {error}", "log", True))
        return
    for step in steps:
        _carry_out(bench, releases, step, unsettled)


def _under_way(releases: Releases, frame: Unsettled) -> bool:
    """Saved already, and with the judge: nothing to put right."""
    flight = releases.flight(frame.frame_id)
    return flight is not None and flight.state not in (FrameState.MISSING, FrameState.UNCERTAIN)


def _carry_out(bench: Bench, releases: Releases, step: reconcile.Step, unsettled: dict[str, Unsettled]) -> None:
    log = bench.log
    match step:
        case reconcile.AdoptFile(frame_id, file):
            bench.write(partial(log.frame_file, frame_id, file))
            bench.emit(Said(f"Frame {unsettled[frame_id].number}: a file of it was found on the disk and taken up."))
        case reconcile.FetchObjects(frame_id, objects):
            flight = _taken_up(bench, unsettled[frame_id], objects)
            releases.adopt(flight)
            bench.write(partial(log.move_frame, frame_id, FrameState.RECEIVING, fired=Fired.YES))
            intent = flight.intent
            assert intent is not None
            bench.post(Fetch(frame_id, intent.folder, intent.stem, tuple(objects)))
            bench.emit(Said(f"Frame {flight.number} is on the card; it is being fetched."))
        case reconcile.Complete(frame_id):
            bench.write(partial(log.frame_saved, frame_id))
            bench.write(partial(log.move_frame, frame_id, FrameState.LOGGED, fired=Fired.YES))
            bench.emit(Said(f"Frame {unsettled[frame_id].number} is whole."))
        case reconcile.NotFired(frame_id, text):
            bench.write(partial(log.move_frame, frame_id, FrameState.NOT_FIRED, fired=Fired.NO, text=text))
            bench.emit(Said(text))
        case reconcile.Missing(frame_id, text):
            bench.write(partial(log.move_frame, frame_id, FrameState.MISSING, text=text))
            bench.emit(Said(text))
        case reconcile.BodyFrame(objects):
            releases.from_body(objects, "Released on the camera while it was not connected; it is being fetched.")


def _taken_up(bench: Bench, frame: Unsettled, objects: tuple[CardObject, ...]) -> Flight:
    """A flight for a frame of an earlier run; it is judged against today's revision of the set-up."""
    return Flight(
        frame.frame_id,
        bench.place,
        bench.revision,
        bench.revision_id,
        frame.released_by,
        frame.number,
        state=FrameState.RECEIVING,
        fired=Fired.YES,
        intent=Intent(
            frame.frame_id,
            frame.number,
            bench.revision_id,
            frame.camera_serial,
            frame.folder,
            frame.stem,
            frame.asked_at,
            frame.released_by,
        ),
        objects=tuple(objects),
    )
