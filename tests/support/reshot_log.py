"""A log in which a set-up was shot again on another day, with real pictures of the mock camera's table."""

from __future__ import annotations

import shutil
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
from PIL import Image

from session.frame.states import FrameEvent
from session.frame.step_said import StepWord
from session.picture.stored_preview import keep_preview
from session.set.setup import Arrangement, PlacedLight, Revision
from storage.files.paths import previews_folder
from tests.support.fresh_log import fresh_log
from tests.support.log_samples import NOON, SetClock, intent, saved_file
from tests.support.reshoot_table import reshoot_table

KEY = PlacedLight("key", -4.0, 450.0, 50.0, 40.0)
SET = Revision(7, 3, arrangement=Arrangement(focal_length_mm=100.0, magnification=0.5), lights=(KEY,))


def reshot_log(folder: Path, *, solo: bool = False) -> tuple[Path, list[str]]:
    """The log, and its pictures: frame 1, the reference, and frame 2 a day later, 0.8 mm and 0.7 EV off.

    solo  frames 3 and 4 are the same two as solos of the light, shot beside them
    """
    table = reshoot_table(folder, 3, (KEY,), size=(512, 342))
    shot = [table.shoot("key")]
    table.move(right_mm=-0.8)
    table.world.do("light", name="key", power_ev=-4.7)
    shot.append(table.shoot("key"))
    if solo:
        shot += [shutil.copy(picture, f"{picture}.solo.jpg") for picture in shot]
    path = folder / "day.sqlite"
    with closing(fresh_log(path, SetClock())) as log:
        place = log.open_place("Movement", "Bridge", "top")
        key = log.save_revision(place, SET)
        for number, picture in enumerate(shot, 1):
            at = NOON + timedelta(days=1 + (number - 1) % 2, minutes=number - 2 if number > 2 else 0)
            wish = intent(number, key, asked_at=at, solo="key" if number > 2 else "")
            log.begin_frame(wish, place)
            log.move_frame(wish.frame_id, FrameEvent.FIRED, released_at=at)
            log.frame_file(wish.frame_id, replace(saved_file(number), path=picture))
            log.move_frame(wish.frame_id, FrameEvent.ALL_SAVED)
            if number == 1:
                log.set_reference(place, 7, wish.frame_id)
        log.say_of_step(place, key, "lens", StepWord.SKIPPED, "a longer <lens> & tubes")
    return path, shot


def keep_only_preview(log: Path, frame_id: str, picture: str) -> None:
    """Leave of a frame's file nothing but its stored preview."""
    previews_folder(log).mkdir(exist_ok=True)
    with Image.open(picture) as original:
        keep_preview(previews_folder(log), frame_id, np.asarray(original), original.size)
    Path(picture).unlink()
