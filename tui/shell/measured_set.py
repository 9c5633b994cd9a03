"""The reference of a set that is built again, and what the log's pictures tell of the set: for command and screen."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Protocol

from session.checks.judge.all_checks import judge
from session.checks.judge.examined import Examined
from session.frame.ports import Assignment, Place
from session.match.match_steps import NOTHING_MEASURED, Measured
from session.match.set_measure import LitPictures, measure_set
from session.match.solo_picture import SoloPicture, read_solo_picture
from session.match.then_and_now import then_and_now
from session.set.lights_in_use import guide_numbers_m
from storage.files.frame_pictures import is_there
from storage.reading.shown_picture import shown_pictures

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence
    from datetime import datetime

    from session.frame.step_said import StepSaid
    from session.match.solo_series import SeriesFrame
    from session.set.kit import Kit
    from session.set.setup import Arrangement, Revision
    from session.set.things import Body
    from storage.reading.views import FrameFilter, FrameRecord, FrameRow, SetPicture, SetupRow


class FrameReader(Protocol):
    """The log as far as a reshoot is told by it. Each call may raise LogError."""

    def frames(self, wanted: FrameFilter = ...) -> Iterable[FrameRow]: ...

    def steps_said(self, place: Place, revision_id: str) -> Sequence[StepSaid]: ...

    def set_pictures(self, job: str, revision: Revision) -> Sequence[SetPicture]: ...

    def series_frames(self, place: Place, setup_number: int) -> Sequence[SeriesFrame]: ...

    def frame(self, frame_id: str) -> FrameRecord | None: ...

    def frame_numbered(self, job: str, number: int) -> FrameRecord | None: ...

    def setups(self, job: str) -> Sequence[SetupRow]: ...

    def records(self, wanted: FrameFilter = ...) -> Iterator[FrameRecord]: ...

    def series_outcomes(self) -> dict[str, str]: ...


@dataclass(frozen=True)
class SetPictures:
    """What a set that is built again is measured from; equal ones tell the same.

    then, now  the pictures of the reference and its solos, and of the set as it stands
    frame      the newest frame; a mark that it gets changes nothing of its picture
    record     the same frame with all that the log has of it
    solos      the frame of each light alone that counts as of now, by the light
    body_then  the body that shot the reference, `body_now` the newest frame; None where the kit doesn't know it
    lens_now   a substitute for the lens of then; None without one
    asked_mm   distances at which substitutes want lights, by their names
    """

    then: LitPictures
    now: LitPictures
    body_then: Body | None = None
    body_now: Body | None = None
    lens_now: Arrangement | None = None
    asked_mm: Mapping[str, float] = field(default_factory=dict)
    frame: SeriesFrame | None = field(default=None, compare=False)
    record: FrameRecord | None = field(default=None, compare=False)
    solos: Mapping[str, SeriesFrame] = field(default_factory=dict, compare=False)


def set_pictures(
    reader: FrameReader,
    kit: Kit,
    revision: Revision,
    reference: FrameRecord,
    place: Place,
    begun_at: datetime | None = None,
    upto: datetime | None = None,
) -> SetPictures | None:
    """The pictures of the set, as the log has them now; None where the reference isn't one of the set-up's frames.

    place     on the table: its frames are those of now; those of then are of the reference's own piece and view
    begun_at  as for `then_and_now`
    upto      frames asked for later don't count; None: all count
    Raises LogError.
    """
    own_place = Place("", "", "", reference.job, reference.piece, reference.view)
    there = _frames(reader, own_place, revision, upto)
    approved = there.get(reference.frame_id)
    if approved is None:
        return None
    same = _key(place) == _key(own_place)
    here = there if same else _frames(reader, place, revision, upto) | {approved.frame_id: approved}
    then, now = then_and_now(revision, approved, here.values(), begun_at)
    if not same:
        then, _ = then_and_now(revision, approved, there.values(), begun_at)
    newest = next((one for one in here.values() if one.path == now.together and now.together), None)
    seen = reader.frame(newest.frame_id) if newest else None
    solos = {one.solo: one for one in here.values() if one.path and now.solos.get(one.solo) == one.path}
    bodies = body_of(kit, reference), body_of(kit, seen)
    return SetPictures(then, now, *bodies, frame=newest, record=seen, solos=solos)


def measured_set(
    kit: Kit, revision: Revision, pictures: SetPictures, read: Callable[[str], SoloPicture] = read_solo_picture
) -> Measured:
    """What the newest frames tell against the reference and the solos of before; `read` as for `measure_set`.

    It opens pictures, which takes a second or more: not for the thread that paints.
    """
    then, now, body = pictures.then, pictures.now, pictures.body_then
    known = replace(
        NOTHING_MEASURED,
        body_then=body,
        body_now=pictures.body_now,
        lens_now=pictures.lens_now,
        asked_mm=pictures.asked_mm,
        frame=pictures.frame,
    )
    known = measure_set(revision, body.sensor_width_mm if body else None, then, now, known, read)
    if not (then.together and now.together):
        return known
    judged = judge(_assignment(kit, revision, body, then.together, now.together))
    return replace(known, examined=judged) if isinstance(judged, Examined) else known


def reference_of(reader: FrameReader, place: Place, setup_number: int) -> FrameRecord | None:
    """The set-up's reference for the piece on the table, else the one for another piece; None without any."""
    row = next((row for row in reader.setups(place.job) if row.number == setup_number), None)
    references = dict(row.references) if row else {}
    numbers = [number for piece, number in references.items() if piece.casefold() == place.piece.casefold()]
    number = next(iter([*numbers, *references.values()]), None)
    return reader.frame_numbered(place.job, number) if number is not None else None


def _key(place: Place) -> tuple[str, str, str]:
    return place.job.casefold(), place.piece.casefold(), place.view.casefold()


def _frames(reader: FrameReader, place: Place, revision: Revision, upto: datetime | None) -> dict[str, SeriesFrame]:
    """The set-up's frames of a piece and view by their keys, each with a picture that can be opened, or none."""
    found = reader.series_frames(place, revision.setup_number)
    return {one.frame_id: _with_picture(reader, one) for one in found if upto is None or one.asked_at <= upto}


def _with_picture(reader: FrameReader, frame: SeriesFrame) -> SeriesFrame:
    """The frame with the path of a file that is there (own file, second copy or stored preview), or with no path."""
    if frame.path and is_there(frame.path):
        return frame
    record = reader.frame(frame.frame_id)
    shown = next(shown_pictures(record), None) if record else None
    return replace(frame, path=shown.path if shown else None)


def body_of(kit: Kit, frame: FrameRecord | None) -> Body | None:
    """The body that shot a frame, as the kit has it; None without a frame, or where the kit has no body."""
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
