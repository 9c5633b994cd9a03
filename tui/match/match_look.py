"""What the log and the frames tell of a reshoot: read and measured in the background, as one value for the screen."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

from session.frame.camera_messages import Reading
from session.frame.ports import Place
from session.match.match_steps import NOTHING_MEASURED, Measured, match_steps
from session.match.reshoot_steps import CHECKS_KEY, Reshoot, ReshootStep, reshoot_steps
from session.set.kit import Kit
from storage.reading.shown_picture import ShownPicture, shown_picture
from storage.reading.views import FrameFilter, FrameRecord
from tui.screen.shoot_port import Reader
from tui.shell.measured_set import measured_set


@dataclass(frozen=True)
class MatchLook:
    """The steps as they stand now.

    measured   what the frames told of them
    reference  the frame that the set is compared with; None without one
    shown      the file that the reference is shown by, its own or its stored preview; None without a picture
    """

    steps: tuple[ReshootStep, ...] = ()
    measured: Measured = NOTHING_MEASURED
    reference: FrameRecord | None = None
    shown: ShownPicture | None = None


def look(
    reader: Reader,
    place: Place,
    reshoot: Reshoot,
    kit: Kit,
    reading: Reading | None,
    now: datetime,
    known: Measured | None = None,
) -> MatchLook:
    """Read words, frames and reference, and measure, which takes a second or more.

    reading   the camera's settings, None without a camera
    known     what the frames were found to tell; None: they are measured
    Raises LogError.
    """
    said = reader.steps_said(place, reshoot.revision_id)
    reference = reference_of(reader, place, reshoot.revision.setup_number)
    checked = next((one.at for one in said if one.step == CHECKS_KEY), None)
    since = FrameFilter(job=place.job, since=checked)
    worked_at = [row.asked_at for row in reader.frames(since)] if checked else []
    measured = replace(known or NOTHING_MEASURED, reading=reading)
    if known is None and reference is not None:
        measured = measured_set(reader, kit, reshoot.revision, reference, measured, reshoot.begun_at)
    steps = reshoot_steps(reshoot.revision, match_steps(reshoot.revision, measured), said, worked_at, now)
    return MatchLook(steps, measured, reference, shown_picture(reference) if reference else None)


def reference_of(reader: Reader, place: Place, setup_number: int) -> FrameRecord | None:
    """The set-up's reference for the piece on the table, else the one for another piece; None without any."""
    row = next((row for row in reader.setups(place.job) if row.number == setup_number), None)
    references = dict(row.references) if row else {}
    numbers = [number for piece, number in references.items() if piece.casefold() == place.piece.casefold()]
    number = next(iter([*numbers, *references.values()]), None)
    return reader.frame_numbered(place.job, number) if number is not None else None
