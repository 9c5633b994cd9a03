"""Events as they come from the controller's thread, and a wait for one of them; no screen needed."""

from __future__ import annotations

import threading
from collections.abc import Callable
from time import monotonic
from typing import TypeVar

from session.shoot.events import Event

EventT = TypeVar("EventT")


class Tape:
    """Keeps every event; `mark` and `wait` let a script say 'from here on, until'."""

    def __init__(self) -> None:
        self._events: list[Event] = []
        self._news = threading.Condition()

    def hear(self, event: Event) -> None:
        """Take an event, from any thread."""
        with self._news:
            self._events.append(event)
            self._news.notify_all()

    def mark(self) -> int:
        """The place on the tape where the next event will stand."""
        with self._news:
            return len(self._events)

    def since(self, mark: int) -> list[Event]:
        """All events from that place on."""
        with self._news:
            return self._events[mark:]

    def wait(
        self,
        kind: type[EventT],
        mark: int,
        timeout_s: float,
        wanted: Callable[[EventT], bool] = lambda event: True,
    ) -> EventT | None:
        """The first wanted event of this kind at or after `mark`; None after `timeout_s` seconds."""
        deadline_s = monotonic() + timeout_s
        place = mark
        with self._news:
            while True:
                for event in self._events[place:]:
                    if isinstance(event, kind) and wanted(event):
                        return event
                place = len(self._events)
                left_s = deadline_s - monotonic()
                if (left_s <= 0 or not self._news.wait(left_s)) and monotonic() >= deadline_s:
                    return None
