"""What the log and the frames tell of a reshoot: read and measured in the background, as one value for the screen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from session.frame.camera_messages import Reading
from session.frame.ports import Place
from session.match.match_steps import NOTHING_MEASURED, Measured, match_steps
from session.match.reshoot_steps import Reshoot, ReshootStep, reshoot_steps
from session.set.kit import Kit
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameFilter, FrameRecord
from tui.screen.shoot_port import Reader
from tui.shell.measured_set import SetPictures, measured_set, reference_of, set_pictures


@dataclass(frozen=True)
class MatchLook:
    """The steps as they stand now.

    measured   what the frames told of them
    pictures   what that was measured from; None where nothing was
    reference  the frame that the set is compared with; None without one
    shown      the file that the reference is shown by, its own or its stored preview; None without a picture
    """

    steps: tuple[ReshootStep, ...] = ()
    measured: Measured = NOTHING_MEASURED
    pictures: SetPictures | None = None
    reference: FrameRecord | None = None
    shown: ShownPicture | None = None


def look(
    reader: Reader,
    place: Place,
    reshoot: Reshoot,
    kit: Kit,
    reading: Reading | None,
    now: datetime,
    known: MatchLook | None = None,
    measures: bool = True,
) -> MatchLook:
    """Read words, frames and reference, and measure, which takes a second or more.

    reading   the camera's settings, None without a camera
    known     what was found before: the same pictures aren't measured twice
    measures  False: only what was said is read
    Raises LogError.
    """
    said = reader.steps_said(place, reshoot.revision_id)
    reference = reference_of(reader, place, reshoot.revision.setup_number)
    first = min((one.at for one in said), default=None)
    since = FrameFilter(job=place.job, since=first)
    worked_at = [row.asked_at for row in reader.frames(since)] if first else []
    revision, measured, pictures = reshoot.revision, NOTHING_MEASURED, None
    if measures and reference is not None:
        pictures = set_pictures(reader, kit, revision, reference, place, reshoot.begun_at)
    if pictures is not None:
        same = known is not None and known.pictures == pictures
        measured = known.measured if known is not None and same else measured_set(kit, revision, pictures)
    measured = replace(measured, reading=reading)
    steps = reshoot_steps(revision, match_steps(revision, measured), said, worked_at, now)
    return MatchLook(steps, measured, pictures, reference, shown_picture(reference) if reference else None)
