"""The camera's own news, while nothing is asked of it: releases on the camera, dials turned by hand."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

from session.cameras.card_list import CardList
from session.cameras.known_objects import KnownObjects
from session.cameras.libgphoto import EventKind, Gphoto
from session.cameras.settings_panel import SettingsPanel
from session.cameras.taking import Say
from session.frame.camera_messages import BodyRelease, CardObject, SettingsRead

LOOK_MS = 1
MOST_AT_ONCE = 50
"""Events read in one look, so that a camera that never stops telling can't keep requests waiting."""
MOST_LOOKS = 20
"""Before a release: a thousand events; a camera that tells more than that tells without end."""
SHORTEST_REREAD_S = 0.2
"""Between readings while changes are told; some cameras tell of a change at every look."""
BY_ITSELF = frozenset({"battery_percent"})
"""Settings that change without a hand."""


class Watch:
    """Looks and listens between requests. Files seen here were released on the camera."""

    def __init__(self, camera: Gphoto, panel: SettingsPanel, known: KnownObjects, cards: CardList, say: Say) -> None:
        self._camera = camera
        self._panel = panel
        self._known = known
        self._cards = cards
        self._say = say
        self._released: list[CardObject] = []
        self._last_file_at = 0.0
        self._complete = False
        self._told_of_change = False
        self._read_at = self._connected_at = monotonic()

    def look_until_quiet(self) -> None:
        """Take in all that the camera has told before a release; later news is of a new frame."""
        for _ in range(MOST_LOOKS):
            if not self.look():
                break
        self.tell_released()

    def look(self) -> bool:
        """Take in what the camera has told since; whether there may be more. Raises CameraError when it is lost."""
        more = True
        for _ in range(MOST_AT_ONCE):
            event = self._camera.next_event(LOOK_MS)
            if event is None:
                more = False
                break
            match event.kind:
                case EventKind.FILE_ADDED:
                    self._take_file(self._camera.info(event.folder, event.name))
                case EventKind.CAPTURE_COMPLETE:
                    self._complete = bool(self._released)
                case EventKind.CHANGED:
                    self._told_of_change = True
                case EventKind.EVENTS_LOST:
                    self._look_on_card()
                    return False
        if self._complete or monotonic() - self._last_file_at > self._camera.limits.settle_s:
            self.tell_released()
        return more

    def tell_released(self) -> None:
        """Say `BodyRelease` for what has appeared, if anything has."""
        if self._released:
            self._say(BodyRelease(tuple(self._released)))
        self._released = []
        self._complete = False

    def reread(self, interrupted: Callable[[], bool]) -> None:
        """Read the settings if it is time to, and say `SettingsRead` if one is another than before."""
        waited_s = monotonic() - self._read_at
        if waited_s < (SHORTEST_REREAD_S if self._told_of_change else self._camera.limits.reread_s):
            return
        before = self._panel.reading.settings
        reading = self._panel.read(interrupted)
        if reading is None:
            return
        self._told_of_change = False
        self._read_at = monotonic()
        names = before.keys() | reading.settings.keys()
        changed = {name for name in names if before.get(name) != reading.settings.get(name)}
        if changed:
            self._say(SettingsRead(reading, by_hand=bool(changed - BY_ITSELF)))

    def _take_file(self, card: CardObject) -> None:
        if self._known.take_new(card):
            self._released.append(card)
            self._last_file_at = monotonic()
            self._complete = False

    def _look_on_card(self) -> None:
        if monotonic() - self._connected_at < self._camera.limits.reread_s:
            return
        self._connected_at = monotonic()
        was_read = self._cards.is_read
        self._camera.reopen()
        self._cards.forget()
        for card in self._cards.read():
            if was_read:
                self._take_file(card)
            else:  # it may have been there before
                self._known.take_listed(card)
