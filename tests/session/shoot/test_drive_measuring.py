"""A drive measured at the bench: what the pictures tell, and its way into the kit."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from session.frame import camera_messages as say
from session.live.decode import Codes
from session.live.drive_sweep import DriveSwept
from session.live.peak import Peak
from session.live.sweep import Range
from session.optics.arrangement import bare
from session.series.breathing import size_at
from session.set.kit import LensDrive, demo_kit, read_kit
from session.set.kit_file import keep_drive
from session.set.setup import Arrangement, Confirmation
from session.shoot.acts import KeepDrive, MeasureDrive, StopSweep, SwitchLiveView, TurnFocus
from session.shoot.drive_measuring import NOTHING_TOLD
from session.shoot.events import DriveMeasured, KitChanged, Said
from tests.support.live_pictures import live_jpeg, scene
from tests.support.scripted import Studio

STEP_MM, PLAY_STEPS = 0.02, 31.2
LENS = bare(100, 2.8, 1.0)
PATTERN = np.random.default_rng(3).integers(30, 220, (27, 40)).astype(np.uint8)
PLACES = tuple(range(-240, 241, 30))
WIDE, HIGH = 400, 270


def of_size(size: float) -> Codes:
    picture = Image.fromarray(PATTERN).resize((WIDE, HIGH), Image.Resampling.BICUBIC)
    place = (1 / size, 0.0, WIDE / 2 * (1 - 1 / size), 0.0, 1 / size, HIGH / 2 * (1 - 1 / size))
    return np.asarray(picture.transform((WIDE, HIGH), Image.Transform.AFFINE, place, 3))


def swept() -> DriveSwept:
    pictures = tuple(of_size(size_at(LENS, STEP_MM * place, by_rail=False)) for place in PLACES)
    out, back = Peak(12.0, 0.2, 8.0), Peak(12.0 - PLAY_STEPS, 0.2, 8.0)
    return DriveSwept(True, "", out, 8.0, PLACES, pictures, out, back, 100)


@pytest.fixture
def studio(tmp_path: Path) -> Studio:
    path = tmp_path / "kit.toml"
    path.write_text('# mine\n[[lens]]\nname = "close 100"\nfocal_length_mm = 100\n')
    (body, *_) = demo_kit().body
    studio = Studio(read_kit(path).model_copy(update={"body": (body,)}))
    studio.shoot.shoot_state.keep_drive = lambda found: keep_drive(path, found)
    studio.revise(replace(studio.shoot.shoot_state.revision, arrangement=Arrangement("close 100", 100.0, 1.0)))
    return studio


def said(studio: Studio) -> list[str]:
    return [event.text for event in studio.said(Said)]


def test_the_pictures_sizes_tell_steps_a_mm_which_are_kept_with_lens_ratio_and_day(
    studio: Studio, tmp_path: Path
) -> None:
    text = studio.shoot.drives.on_swept(swept())
    found = studio.said(DriveMeasured)[-1].drive
    assert found is not None
    assert found.steps_per_mm == pytest.approx(1 / STEP_MM, rel=0.05) and found.play_steps == 31
    assert text.startswith("Measured at 1:1: ") and "steps a mm ± " in text and "play 31 steps" in text
    studio.do(KeepDrive())
    assert "Kept with the kit: the drive of close 100 at 1:1: " in said(studio)[-1]
    assert studio.said(DriveMeasured)[-1].drive is None
    (kept,) = read_kit(tmp_path / "kit.toml").drive
    assert kept.lens == "close 100" and kept.magnification == 1.0
    assert kept.measured_on == date(2031, 5, 6) and kept.steps_per_mm == pytest.approx(found.steps_per_mm, rel=0.01)
    assert studio.said(KitChanged)[-1].kit.drive == (kept,)
    assert (tmp_path / "kit.toml").read_text().startswith("# mine\n")
    studio.do(KeepDrive())
    assert said(studio)[-1] == "No drive was measured."


def test_what_tells_nothing_is_said_and_nothing_is_kept(studio: Studio) -> None:
    flat = replace(swept(), pictures=(np.full((HIGH, WIDE), 90, np.uint8),) * len(PLACES))
    assert studio.shoot.drives.on_swept(flat) == NOTHING_TOLD
    assert studio.shoot.drives.found is None


def test_the_demos_kit_and_a_lens_without_name_are_told(studio: Studio) -> None:
    drive = LensDrive(name="lens at 1:1", lens="", magnification=1.0, steps_per_mm=50.0)
    studio.shoot.drives.found = drive
    studio.do(KeepDrive())
    assert "choose the lens first" in said(studio)[-1]
    studio.shoot.drives.found = drive.model_copy(update={"lens": "close 100"})
    studio.shoot.shoot_state.keep_drive = None
    studio.do(KeepDrive())
    assert "start with --kit" in said(studio)[-1] and studio.shoot.drives.found is not None


def test_it_waits_for_a_live_picture_and_a_key_stops_it(studio: Studio) -> None:
    studio.do(MeasureDrive(Range()))
    assert studio.camera.count(say.LiveView) == 1 and studio.camera.count(say.DriveFocus) == 0
    studio.deliver(say.LiveFrame(live_jpeg(scene(), seed=1), studio.clock.now_s))
    assert studio.camera.count(say.DriveFocus) == 1 and studio.shoot.live.sweeping
    studio.do(StopSweep())
    assert not studio.shoot.live.sweeping and "Stopped" in said(studio)[-1]
    studio.do(SwitchLiveView(False))
    studio.do(MeasureDrive(Range()))
    studio.do(TurnFocus(5))
    studio.deliver(say.LiveFrame(live_jpeg(scene(), seed=2), studio.clock.now_s))
    assert not studio.shoot.live.sweeping, "a key before the first picture calls it off"


def test_a_focus_that_is_locked_is_told(studio: Studio) -> None:
    studio.revise(replace(studio.shoot.shoot_state.revision, confirmed=(Confirmation.FOCUS_LOCKED,)))
    studio.do(MeasureDrive(Range()))
    assert "is locked" in said(studio)[-1] and studio.camera.count(say.DriveFocus) == 0
