"""A screen whose keys are looked up in the table of keys, and nowhere else."""

from __future__ import annotations

from textual.events import Key as KeyPress
from textual.screen import Screen

from tui.keys import Facts, Where, find


class KeyedScreen(Screen[None]):
    """Turns a pressed key into the method `act_…` that the table names, here or in what holds the keys now."""

    SCOPED_CSS = False  # each rule names its screen
    AUTO_FOCUS = ""  # a hidden line to type in would take the keys

    @property
    def where(self) -> Where:
        """Which part of the table holds now."""
        raise NotImplementedError

    def facts(self) -> Facts:
        """What decides which keys make sense now."""
        return Facts()

    def holder(self) -> object:
        """The object whose methods the keys call first; the screen's own come second."""
        return self

    def on_key(self, event: KeyPress) -> None:
        """Keys that a line being typed in didn't want come here."""
        key = find(self.where, event.key, self.facts())
        if key is None:
            return
        event.stop()
        event.prevent_default()
        act = getattr(self.holder(), f"act_{key.act}", None) or getattr(self, f"act_{key.act}")
        act(event.key)
