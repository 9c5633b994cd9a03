"""A focus series whose pictures were shot before, released once more over the real controller on a scripted camera."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from session.frame.camera_messages import CameraDescription
from session.set.kit import Kit, demo_kit
from session.set.setup import Arrangement, PlacedLight, Revision, Settings
from tests.support.focus_series import FOCAL_LENGTH_MM, LIMIT_PX
from tests.support.scripted import DESCRIPTION, Studio
from tests.support.scripted_table import READING
from tests.support.series_truth import ShotSeries
from tests.support.written_log import WrittenLog, written_log

BY_HAND = CameraDescription("ptpip:127.0.0.1:15740", "scripted", "S-1", live_view=True, focus_drive=False)


@dataclass
class PlayedSeries:
    """The pictures, a log without frames, a kit without a measured drive, and what the camera is."""

    shot: ShotSeries
    written: WrittenLog
    kit: Kit
    description: CameraDescription = DESCRIPTION

    @property
    def studio(self) -> Studio:
        """A shoot on that log, its camera connected."""
        table = self.shot.table
        studio = Studio(self.kit, written=self.written, description=self.description, connected=False)
        studio.connect(f_number=table.f_number)
        return studio


@contextmanager
def played_series(shot: ShotSeries, folder: Path) -> Iterator[PlayedSeries]:
    """The series with a new log in the folder."""
    table = shot.table
    (body, *_) = demo_kit().body
    revision = Revision(
        settings=Settings(1 / 200, table.f_number, 100),
        arrangement=Arrangement("", FOCAL_LENGTH_MM, table.magnification),
        lights=(PlacedLight("key", -2.0),),
        body=body.name,
        blur_limit_px=LIMIT_PX,
    )
    log = written_log(folder / "log.db", revision, READING, ())
    body = body.model_copy(update={"sensor_width_mm": table.pitch_mm * 768, "pixels_across": 768})
    yield PlayedSeries(shot, log, demo_kit().model_copy(update={"body": (body,), "drive": ()}))
    log.close()
