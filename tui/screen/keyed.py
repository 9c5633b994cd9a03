"""Keys and pastes are handled in the order of their arrival, however fast they come.

The app looks up a key when the key before has done its work, on the screen that is up by then: a line being typed in
gets every key, whatever has the focus; otherwise keys are looked up in the table of keys, and nowhere else.
A key pressed while a screen is being made, or while a list is being read, waits until that is done.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from textual.app import App
from textual.events import Event, Paste
from textual.events import Key as KeyPress
from textual.screen import Screen
from textual.worker import Worker

from tui.screen.prompt import Prompt
from tui.words.keys import Facts, Where, find

END_KEYS = ("ctrl+c", "ctrl+q")
"""End the program in any state; they wait for nothing."""


class KeyedApp(App[None]):
    """Hands keys and pastes to its `KeyedScreen`, in their order."""

    class KeysDue(Event, bubble=False):
        """A screen has come up, or a list that keys wait for: what was typed meanwhile is taken now."""

    def __init__(self) -> None:
        super().__init__()
        self._typed: deque[KeyPress | Paste] = deque()
        self.keys_wait_for: Worker[None] | None = None

    async def on_event(self, event: Event) -> None:
        """Hand over what was typed, as far as there is somebody to take it; always in the app's own queue."""
        ends = isinstance(event, KeyPress) and event.key in END_KEYS
        if isinstance(event, KeyPress | Paste) and not ends and not event.is_forwarded:
            self._typed.append(event)
        elif not isinstance(event, self.KeysDue):
            await super().on_event(event)
            return
        while self._typed and self._may_take:
            typed, screen = self._typed.popleft(), self.screen
            assert isinstance(screen, KeyedScreen)
            if not self.before(typed, screen) and not await screen.take(typed):
                await super().on_event(typed)

    def before(self, event: KeyPress | Paste, screen: KeyedScreen) -> bool:
        """A key or paste is about to be handed to this screen; True when that is not to be done."""
        return False

    @property
    def _may_take(self) -> bool:
        worker, screen = self.keys_wait_for, self.screen
        waits = worker is not None and not worker.is_cancelled
        return not waits and isinstance(screen, KeyedScreen) and screen.is_ready


class KeyedScreen(Screen[None]):
    """Turns a pressed key into the method `act_…` that the table names, of one of its holders."""

    SCOPED_CSS = False  # each rule names its screen
    AUTO_FOCUS = ""  # a hidden line to type in would show a cursor

    def __init__(self) -> None:
        super().__init__()
        self.is_ready = False

    def on_mount(self) -> None:
        """Note that the screen is complete: Textual calls this after the screen's own `on_mount`."""
        self.is_ready = True
        self.app.post_message(KeyedApp.KeysDue())

    @property
    def is_open(self) -> bool:
        """Whether the screen's widgets exist: not before the screen is composed, nor after it was left."""
        return self.is_mounted and bool(self.query("#keys"))

    @property
    def where(self) -> Where:
        """The part of the table of keys that holds now."""
        raise NotImplementedError

    def facts(self) -> Facts:
        """The facts that decide which keys make sense now."""
        return Facts()

    def key_words(self) -> dict[str, str]:
        """Act → a word for the key line that is better now than the table's."""
        return {}

    def holders(self) -> Sequence[object]:
        """The objects whose methods the keys call; the first that has the method is called."""
        return (self,)

    async def take(self, event: KeyPress | Paste) -> bool:
        """Carry out the key or the paste; False when it has no meaning on this screen now."""
        prompt = next(iter(self.query(Prompt)), None)
        if isinstance(event, Paste):
            if prompt is not None:
                prompt.paste(event.text)
            return True
        key = find(self.where, event.key, self.facts())
        if key is not None:
            name = f"act_{key.act}"
            getattr(next(holder for holder in self.holders() if hasattr(holder, name)), name)(event.key)
            return True
        if prompt is not None and prompt.is_open:
            await prompt.take(event)
            return True
        return False
