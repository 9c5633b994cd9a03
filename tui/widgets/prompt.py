"""One line to type in, for notes, reasons, names and numbers: enter keeps it, escape takes it back."""

from __future__ import annotations

from collections.abc import Callable

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import Input, Label

from tui.harmless import harmless, storable

Take = Callable[[str], None]
"""Takes what was typed; a ValueError's sentence is shown, and the line stays open."""

MOST_TYPED = 2000
"""Characters; a note of a page. Chosen."""


class Prompt(Horizontal):
    """Hidden until something is asked."""

    DEFAULT_CSS = """
    Prompt { height: 1; display: none; }
    Prompt.-open { display: block; }
    Prompt Label { width: auto; max-width: 60%; color: $primary; text-style: bold; margin-right: 1; }
    Prompt Input { width: 1fr; }
    """

    def __init__(self, *, refuse: Callable[[str], None], closed: Callable[[], None]) -> None:
        """`refuse` shows why something typed can't be taken; `closed` hears that the line is gone."""
        super().__init__()
        self._when_refused, self._when_closed = refuse, closed
        self._take: Take = lambda text: None

    def compose(self) -> ComposeResult:
        yield Label("", markup=False)
        yield Input(compact=True, max_length=MOST_TYPED, select_on_focus=False)

    @property
    def is_open(self) -> bool:
        return self.has_class("-open")

    def ask(self, label: str, take: Take, value: str = "") -> None:
        """Open the line; `take` gets what was typed when enter is pressed."""
        self._take = take
        self.query_one(Label).update(harmless(label, 60))
        line = self.query_one(Input)
        line.value = value
        self.add_class("-open")
        line.focus()

    def close(self) -> None:
        """Take it back: nothing is kept."""
        if self.is_open:
            self.remove_class("-open")
            self.query_one(Input).value = ""
            self.screen.set_focus(None)
            self._when_closed()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        event.stop()
        take = self._take
        try:
            take(storable(event.value))
        except ValueError as error:
            self._when_refused(f"{str(error)[:1].upper()}{str(error)[1:]}.")
            return
        if self._take is take:  # it didn't ask for something else at once
            self.close()
