"""Setting and reading back, on a row of widgets that behaves as told: for bodies that no simulated camera is like."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

import pytest

from session.cameras.libgphoto import Gphoto
from session.cameras.live_and_drive import _settings_for
from session.cameras.result_codes import CameraError
from session.cameras.settings_panel import SettingsPanel
from session.cameras.widgets import Widget
from session.frame.camera_messages import Fault

ISO = Widget("iso", "400", ("100", "200", "400"))
SWITCH = Widget("isoauto", "On", ("On", "Off"))
APERTURE = Widget("aperture", "8", ("5.6", "8", "11"))


class Widgets:
    """What `SettingsPanel` uses of a camera."""

    def __init__(self, *widgets: Widget, unreadable: str = "") -> None:
        self.by_name = {widget.name: widget for widget in widgets}
        self.unreadable = unreadable
        self.card_told, self.keeps_both, self.target = True, False, ""

    def widget(self, name: str) -> Widget:
        if name == self.unreadable:
            raise CameraError(Fault.REFUSED, "Not now.", code=-2)
        return self.by_name[name]

    def has_card(self) -> bool:
        return self.card_told

    def set(self, name: str, text: str) -> None:
        self.by_name[name] = replace(self.by_name[name], text=text)


def panel(camera: Widgets) -> SettingsPanel:
    return SettingsPanel(cast("Gphoto", camera), camera.by_name)


def test_an_iso_speed_that_a_switch_makes_automatic_is_read_as_automatic() -> None:
    reading = panel(Widgets(ISO, SWITCH)).read()
    assert reading is not None
    assert reading.value("iso") == 0


def test_setting_an_iso_speed_turns_the_automatic_off_first() -> None:
    camera = Widgets(ISO, SWITCH)
    assert panel(camera).apply({"iso": 200}) == {}
    assert (camera.by_name["isoauto"].text, camera.by_name["iso"].text) == ("Off", "200")


def test_a_setting_that_cannot_be_read_now_is_left_out_and_refused() -> None:
    camera = Widgets(ISO, APERTURE, unreadable="aperture")
    reading = panel(camera).read()
    assert reading is not None
    assert set(reading.settings) == {"iso"}
    refused = {"f_number": "The camera did not take aperture f/11. Not now."}
    assert panel(camera).apply({"f_number": 11.0, "iso": 100}) == refused


def test_reading_stops_for_something_urgent() -> None:
    assert panel(Widgets(ISO, APERTURE)).read(lambda: True) is None


@pytest.mark.parametrize(
    ("steps", "drive", "texts"),
    [
        (12, Widget("manualfocusdrive", "0", span=(-32767.0, 32767.0, 1.0)), ["12"]),
        (-40_000, Widget("manualfocusdrive", "0", span=(-32767.0, 32767.0, 1.0)), ["-32767", "-7233"]),
        (0, Widget("manualfocusdrive", "0", span=(-32767.0, 32767.0, 1.0)), []),
        (3, Widget("manualfocusdrive", "None", ("Near 1", "Near 3", "None", "Far 1", "Far 3")), ["Far 1"] * 3),
        (-2, Widget("manualfocusdrive", "None", ("Near 1", "Near 3", "None", "Far 1", "Far 3")), ["Near 1"] * 2),
    ],
)
def test_focus_steps_are_driven_as_the_camera_has_them(steps: int, drive: Widget, texts: list[str]) -> None:
    assert _settings_for(steps, drive) == texts


def no_card(camera: Widgets, read: SettingsPanel) -> list[bool]:
    """What is read of the card while the camera tells of none, and of one."""
    told = []
    for camera.card_told in (False, True, False):
        reading = read.read()
        assert reading is not None
        told.append(reading.no_card)
    return told


def test_a_missing_card_is_believed_unless_files_came_from_a_card_that_was_never_told_of() -> None:
    camera = Widgets(ISO, SWITCH)
    camera.card_told = False
    of_camera = panel(camera)
    assert of_camera.reading.no_card
    of_camera.card_has_files = True
    assert no_card(camera, of_camera) == [False, False, True]
    camera.keeps_both = True
    assert no_card(camera, of_camera) == [False, False, False]


@pytest.mark.parametrize(
    ("texts", "target", "told"),
    [
        ((), "memory", False),
        (("host",), "memory", False),  # offered, and none of its words is a place that is known
        ((), "", True),
        (("Memory card",), "memory", True),  # turned on the body since
    ],
)
def test_a_body_that_has_only_memory_lacks_no_card(texts: tuple[str, ...], target: str, told: bool) -> None:
    camera = Widgets(ISO, *(Widget("capturetarget", text, (text,)) for text in texts))
    camera.card_told, camera.target = False, target
    of_camera = panel(camera)
    assert of_camera.reading.no_card is told
    reading = of_camera.read()
    assert reading is not None and reading.no_card is told
