"""What the log's pictures tell of a set that is built again: for the command and the screen alike."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from session.checks.judge.all_checks import judge
from session.checks.judge.examined import Examined
from session.frame.ports import Assignment, Place
from session.match.match_steps import NOTHING_MEASURED, Measured
from session.match.set_measure import measure_set
from session.match.then_and_now import then_and_now
from session.set.lights_in_use import guide_numbers_m
from storage.reading.shown_picture import shown_pictures

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from session.match.solo_series import SeriesFrame
    from session.set.kit import Kit
    from session.set.setup import Revision
    from session.set.things import Body
    from storage.reading.views import FrameRecord


class FrameReader(Protocol):
    """The log as far as its frames are measured by it. Each call may raise LogError."""

    def series_frames(self, place: Place, setup_number: int) -> Sequence[SeriesFrame]: ...

    def frame(self, frame_id: str) -> FrameRecord | None: ...


def measured_set(
    reader: FrameReader,
    kit: Kit,
    revision: Revision,
    reference: FrameRecord,
    known: Measured = NOTHING_MEASURED,
    begun_at: datetime | None = None,
) -> Measured:
    """What is known, with what the newest frames tell against the reference and the solos of before.

    begun_at  as for `then_and_now`
    It opens pictures, which takes a second or more: not for the thread that paints.
    """
    place = Place("", "", "", reference.job, reference.piece, reference.view)
    found = reader.series_frames(place, revision.setup_number)
    frames = {one.frame_id: _with_picture(reader, one) for one in found}
    approved = frames.get(reference.frame_id)
    if approved is None:
        return known
    then, now = then_and_now(revision, approved, frames.values(), begun_at)
    newest = next((one for one in frames.values() if one.path == now.together and now.together), None)
    seen = reader.frame(newest.frame_id) if newest else None
    bodies = [_body(kit, one) for one in (reference, seen)]
    known = replace(known, body_then=bodies[0], body_now=bodies[1], frame=newest)
    width_mm = bodies[0].sensor_width_mm if bodies[0] else None
    known = measure_set(revision, width_mm, then, now, known)
    if not (then.together and now.together):
        return known
    judged = judge(_assignment(kit, revision, bodies[0], then.together, now.together))
    return replace(known, examined=judged) if isinstance(judged, Examined) else known


def _with_picture(reader: FrameReader, frame: SeriesFrame) -> SeriesFrame:
    """The frame with a path that is there: its own, a second copy's, or its stored preview's; else with none."""
    if frame.path and Path(frame.path).is_file():
        return frame
    record = reader.frame(frame.frame_id)
    shown = next(shown_pictures(record), None) if record else None
    return replace(frame, path=shown.path if shown else None)


def _body(kit: Kit, frame: FrameRecord | None) -> Body | None:
    if frame is None:
        return None
    return kit.body_for(frame.revision.body, frame.camera_serial, frame.camera_model)


def _assignment(kit: Kit, revision: Revision, body: Body | None, reference: str, frame: str) -> Assignment:
    return Assignment(
        frame_id="",
        path=frame,
        kind="",
        revision=revision,
        asked={},
        flash_used=bool(revision.lights),
        reference_path=reference,
        sensor_width_mm=body.sensor_width_mm if body else None,
        pixels_across=body.pixels_across if body else None,
        guide_numbers_m=guide_numbers_m(revision, kit),
        building=True,
    )
