"""A piece of the screen that shows what a function makes for its size; and the large line."""

from __future__ import annotations

from collections.abc import Callable

from textual.content import Content
from textual.widget import Widget

from tui.screen.letters import block_text
from tui.words.harmless import harmless
from tui.words.headline import Tone

Make = Callable[[int, int], Content]
"""(width, height) in cells → what to show."""


class Panel(Widget):
    """Shows `make(width, height)`, made anew after each `show` and each change of size, and painted when it differs."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._make: Make = lambda width, height: Content("")
        self._made = Content("")

    @property
    def content(self) -> Content:
        """The text that the panel shows now."""
        return self._make(self.size.width, self.size.height)

    def show(self, make: Make) -> None:
        self._make = make
        made = make(self.size.width, self.size.height)
        if not made.is_same(self._made):
            self._made = made
            self.refresh()

    def render(self) -> Content:
        self._made = self._make(self.size.width, self.size.height)
        return self._made


class LargeLine(Widget):
    """The large line in block letters as high as the widget: three rows or six."""

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.text = ""
        self._tone = Tone.BUSY

    def say(self, text: str, tone: Tone) -> None:
        """Show a line; an unchanged line isn't painted again."""
        if (text, tone) != (self.text, self._tone):
            self.remove_class(f"-{self._tone}")
            self.add_class(f"-{tone}")
            self.text, self._tone = text, tone
            self.refresh()

    def render(self) -> Content:
        return Content("\n".join(block_text(harmless(self.text), self.size.width, self.size.height)))
