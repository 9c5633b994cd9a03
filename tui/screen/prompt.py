"""A line to type in, for notes, reasons, names and numbers: enter keeps the text, escape cancels.

The screen hands every key to it from the moment it is opened (see `tui.screen.keyed`), so nothing depends on where the
focus is by then; the focus only shows the cursor.
"""

from __future__ import annotations

from collections.abc import Callable

from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Horizontal
from textual.events import Key as KeyPress
from textual.widgets import Input, Label

from tui.words.harmless import harmless, is_text, one_line, storable

Take = Callable[[str], None]
"""Takes what was typed; a ValueError's sentence is shown, and the line stays open."""

MOST_TYPED = 2000
"""Characters; a note of a page. Chosen."""

NOWHERE_TO_PASTE = "A paste goes only into an open line, such as a note's. Nothing was done."


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
        line.cursor_position = len(value)
        self.add_class("-open")
        line.focus()

    def close(self) -> None:
        """Take it back: nothing is kept."""
        if self.is_open:
            self.remove_class("-open")
            self.query_one(Input).value = ""
            self.screen.set_focus(None)
            self._when_closed()

    # --- what is typed ----------------------------------------------------------------------------

    async def take(self, key: KeyPress) -> None:
        """Take a key while the line is open: text, enter, or a key that moves or deletes as in any line of text."""
        if key.key == "enter":
            self._enter()
        elif key.character and is_text(key.character):
            self._insert(key.character)
        else:
            for binding in Input.BINDINGS:
                if isinstance(binding, Binding) and key.key in binding.key.split(","):
                    await self.app.run_action(binding.action, self.query_one(Input))

    def paste(self, text: str) -> None:
        """Several characters at once; a paste of several lines becomes one."""
        if self.is_open:
            self._insert(one_line(text))
        else:
            self._when_refused(NOWHERE_TO_PASTE)

    def _insert(self, text: str) -> None:
        """Insert text at the cursor, in place of the selection: the whole text, or none with the reason."""
        line = self.query_one(Input)
        room = MOST_TYPED - len(line.value) + len(line.selected_text)
        if len(text) > room:
            what = "The last key was" if len(text) == 1 else f"{len(text)} characters were"
            self._when_refused(f"{what} not taken: the line holds {MOST_TYPED}, and has room for {room}.")
        else:
            line.replace(text, *line.selection)

    def _enter(self) -> None:
        take = self._take
        try:
            take(storable(self.query_one(Input).value))
        except ValueError as error:
            text = f"{str(error)[:1].upper()}{str(error)[1:]}"
            self._when_refused(text if text.endswith((".", "?")) else f"{text}.")
            return
        if self._take is take:  # it didn't ask for something else at once
            self.close()
