"""The settings of a connected camera: read, set one by one and read back, put where files are wanted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from time import sleep

from session.cameras.libgphoto import ASK_AGAIN_S, Gphoto
from session.cameras.result_codes import CameraError
from session.cameras.widgets import (
    AUTOMATIC_ISO,
    MAINS,
    SETTINGS,
    NotOfferedError,
    Widget,
    batteries,
    choice,
    mapping,
    setting,
)
from session.frame.camera_messages import Reading, Setting, Value
from session.units.value_words import name_words, same_value, value_words

SET_TRIES = 5
"""libgphoto2 doesn't tell a camera that is busy for a moment, writing a picture, from one that refuses."""
BATTERY = "battery_percent"
TARGET, MEMORY = "capture_target", "memory"
ON = frozenset({"on", "1"})


class SettingsPanel:
    """The settings that this camera takes, found once when the camera is connected."""

    def __init__(self, camera: Gphoto, widgets: Mapping[str, Widget]) -> None:
        self._camera = camera
        self.names = mapping(widgets)
        self._mains = MAINS if MAINS in widgets else ""
        self._batteries = [name for name in SETTINGS[BATTERY].widgets if name in widgets]
        self._automatic_iso = [name for name in AUTOMATIC_ISO if name in widgets]
        self._card_was_told = self.card_has_files = False
        settings = {name: setting(name, widgets[widget]) for name, widget in self.names.items()}
        if self._batteries:
            settings[BATTERY] = batteries([widgets[name] for name in self._batteries])
        self.reading = Reading(settings, no_card=self._no_card(settings))

    def read(self, interrupted: Callable[[], bool] = lambda: False) -> Reading | None:
        """All settings as the camera has them now; None when interrupted in between, for something urgent."""
        settings: dict[str, Setting] = {}
        for name in self.names:
            if interrupted():
                return None
            try:
                settings[name] = self._read(name)
            except CameraError as error:  # some can't be read while live view is on, or a lens is off
                if not error.connected:
                    raise
        self.reading = Reading(settings, no_card=self._no_card(settings))
        return self.reading

    def _no_card(self, settings: Mapping[str, Setting]) -> bool:
        """Whether no card is in, by the camera's word, unless files came from a card that it never told of.

        A body whose pictures go to its memory needs no card, where no setting says otherwise. A body that keeps
        pictures in memory and on the card needs no card either: the files are fetched from the memory.
        """
        is_told = self._camera.has_card()
        self._card_was_told |= is_told
        doubtful = self.card_has_files and not self._card_was_told
        is_set = TARGET in settings and settings[TARGET].value is not None
        in_memory = self._camera.keeps_both or (self._camera.target == MEMORY and not is_set)
        return not (is_told or doubtful or in_memory)

    def apply(self, changes: Mapping[str, Value]) -> dict[str, str]:
        """Set these; name → a sentence on the setting, for each that the camera did not take."""
        refused = {}
        for name, wanted in changes.items():
            try:
                self._set(name, wanted)
            except NotOfferedError as error:
                refused[name] = str(error)
            except CameraError as error:
                if not error.connected:
                    raise
                refused[name] = f"The camera did not take {_setting_words(name, wanted)}. {error.text}"
        return refused

    def _read(self, name: str) -> Setting:
        if name == BATTERY:
            if self._mains and self._is_on(self._mains):
                return Setting(name, None, "mains", read_only=True)
            return batteries([self._camera.widget(battery) for battery in self._batteries])
        widget = self._camera.widget(self.names[name])
        automatic = name == "iso" and any(self._is_on(switch) for switch in self._automatic_iso)
        return setting(name, widget, automatic)

    def _is_on(self, switch: str) -> bool:
        return self._camera.widget(switch).text.casefold() in ON

    def _set(self, name: str, wanted: Value) -> None:
        if name not in self.names:
            raise NotOfferedError(f"This camera lets {name_words(name)} be neither read nor set from here.")
        widget = self._camera.widget(self.names[name])
        text = choice(name, wanted, widget)
        if name == "iso" and wanted:
            for switch in self._automatic_iso:
                if self._is_on(switch):
                    self._camera.set(switch, "Off")
        if text != widget.text:
            self._try_set(widget.name, text)
        kept = self._read(name)
        if not same_value(name, kept.value, wanted):
            raise NotOfferedError(f"The camera did not take {_setting_words(name, wanted)}; it stays at {kept.shown}.")

    def _try_set(self, widget: str, text: str) -> None:
        """A refusal shows when it is read back."""
        for _ in range(SET_TRIES):
            try:
                return self._camera.set(widget, text)
            except CameraError as error:
                if not error.connected:
                    raise
            sleep(ASK_AGAIN_S)
        return None


def _setting_words(name: str, wanted: Value) -> str:
    """`aperture f/8`"""
    return f"{name_words(name)} {value_words(name, wanted)}"
