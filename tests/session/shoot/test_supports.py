"""The support is measured in live view, kept with the kit, and its safe hold-off goes to the set-up when asked."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from session.frame import camera_messages as say
from session.optics.ring_down import RingDown
from session.set.kit import read_kit
from session.set.kit_file import keep_support
from session.shoot.acts import Revise, SwitchLiveView
from session.shoot.events import KitChanged, RevisionChanged, Said, StandMeasured
from tests.support.live_pictures import live_jpeg, scene
from tests.support.scripted import Studio

LIGHT = scene()
FOUND = RingDown(6.0, 0.01, 0.03, 0.0005, 8.0)
KIT = """# my kit (invented)
[[body]]
name = "Wendle 16"
sensor_width_mm = 24.0
sensor_height_mm = 16.0
pixels_across = 6000
pixels_down = 4000
sync_time_s = 0.005

[[support]]
name = "column"   # the old one
hold_off_s = 2.0
"""


def studio_with_kit(tmp_path: Path) -> Studio:
    path = tmp_path / "kit.toml"
    path.write_text(KIT)
    studio = Studio(read_kit(path))
    studio.shoot.shoot_state.keep_support = lambda name, found: keep_support(path, name, found)
    return studio


def said(studio: Studio) -> str:
    return [event.text for event in studio.events if isinstance(event, Said)][-1]


def test_touch_seen_in_live_view_gives_frequency_and_damping() -> None:
    studio, chance = Studio(), np.random.default_rng(5)
    studio.do(SwitchLiveView(True))
    began_s = studio.clock.now_s + 0.5
    for n in range(70):
        studio.clock.now_s += float(chance.uniform(0.8, 1.2)) / 15
        since_s = max(studio.clock.now_s - began_s, 0)
        right_px = 1.3 * math.exp(-0.03 * 2 * math.pi * 6 * since_s) * math.sin(2 * math.pi * 6 * since_s)
        studio.deliver(say.LiveFrame(live_jpeg(LIGHT, right_px=right_px, seed=n), studio.clock.now_s))
    found = studio.shoot.supports.measure()
    assert found is not None
    assert found.frequency_hz == pytest.approx(6, rel=0.05)
    assert found.damping_ratio == pytest.approx(0.03, rel=0.2)
    assert "The support swings at 6.0 Hz" in said(studio)
    assert studio.events[-1] == StandMeasured(found)


def test_nothing_seen_is_said() -> None:
    studio = Studio()
    assert studio.shoot.supports.measure() is None
    assert "touch the camera" in said(studio)
    assert not studio.shoot.supports.keep()
    assert "No support was measured" in said(studio)


def test_measured_stand_goes_into_the_kit_file_and_is_in_force(tmp_path: Path) -> None:
    studio = studio_with_kit(tmp_path)
    studio.shoot.supports.found = FOUND
    assert studio.shoot.supports.keep()
    support = read_kit(tmp_path / "kit.toml").support_for("column")
    assert support is not None
    assert (support.frequency_hz, support.damping_ratio, support.hold_off_s) == (6.0, 0.03, 2.0)
    assert studio.shoot.shoot_state.kit.support_for("") == support
    assert KitChanged(studio.shoot.shoot_state.kit) in studio.events
    assert studio.log.events[-1] == ("support", "support column: 6 Hz, damping 3 %")


def test_safe_hold_off_is_told_and_taken_when_it_is_asked_for(tmp_path: Path) -> None:
    """To a hundredth: ln 100 / (0.03 · 2π · 6 Hz) = 4.07 s."""
    studio = studio_with_kit(tmp_path)
    studio.shoot.supports.found = FOUND
    studio.shoot.supports.keep()
    assert said(studio).endswith("Its safe hold-off is 4.1 s; the set-up waits 2.0 s.")
    assert studio.shoot.shoot_state.revision.hold_off_s == 2.0
    studio.do(Revise({"hold_off_s": studio.shoot.supports.safe_hold_off_s()}))
    assert studio.shoot.shoot_state.revision.hold_off_s == pytest.approx(4.1)
    changed = [event for event in studio.events if isinstance(event, RevisionChanged)]
    assert changed[-1].revision.label == "01.2"


def test_demo_kit_isnt_written_to() -> None:
    studio = Studio()
    studio.shoot.supports.found = FOUND
    assert not studio.shoot.supports.keep()
    assert "--kit" in said(studio)


def test_kit_file_that_is_gone_is_said_and_the_measurement_stays(tmp_path: Path) -> None:
    studio = studio_with_kit(tmp_path)
    (tmp_path / "kit.toml").unlink()
    studio.shoot.supports.found = FOUND
    assert not studio.shoot.supports.keep()
    assert "no such file" in said(studio)
    assert studio.shoot.supports.found == FOUND


def test_set_ups_own_stand_is_the_one_that_is_measured(tmp_path: Path) -> None:
    studio = studio_with_kit(tmp_path)
    path = tmp_path / "kit.toml"
    path.write_text(KIT + '\n[[support]]\nname = "tripod"\n')
    studio.revise(replace(studio.shoot.shoot_state.revision, support="tripod"))
    studio.shoot.supports.found = FOUND
    studio.shoot.supports.keep()
    kit = read_kit(path)
    assert [support.frequency_hz for support in kit.support] == [None, 6.0]
