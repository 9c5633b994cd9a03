"""The real controller on a scripted camera, as the table that stands behind the screens."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from session.match.reshoot_steps import Reshoot
from session.shoot.acts import Act
from session.shoot.events import Event
from tests.support.scripted import Studio


class PlayedTable:
    """Implements `tui.screen.shoot_port.Table`: acts go to the controller at once, and its events to the screens.

    studio   what the camera and the judge say is said there; `tell` brings what came of it to the screens
    """

    def __init__(self, studio: Studio | None = None) -> None:
        self.studio = studio or Studio()
        self.place, self.kit = self.studio.shoot.shoot_state.place, self.studio.shoot.shoot_state.kit
        self.reader: Any = None
        self.reshoot: Reshoot | None = None
        self._told = 0
        self._listeners: list[Callable[[Event], None]] = []

    def post(self, act: Act) -> None:
        self.studio.do(act)
        self.studio.shoot.tick()
        self.tell()

    def listen(self, listener: Callable[[Event], None]) -> None:
        self._told = len(self.studio.events)
        self._listeners.append(listener)

    def tell(self) -> None:
        """Let the screens hear what the controller has emitted since."""
        news, self._told = self.studio.events[self._told :], len(self.studio.events)
        for event in news:
            for listener in self._listeners:
                listener(event)
