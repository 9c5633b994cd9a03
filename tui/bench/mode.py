"""What the bench does for a moment: a light, the region, the settings, the place are changed by keys.

A mode holds a draft, shows it in the side panel, and gives it to the controller when it is kept. Escape always
puts things back as they were when the mode began.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from textual.content import Content

from session.set.kit import Kit
from session.set.setup import Region
from session.shoot.acts import Act
from tui.screen.prompt import Take
from tui.words.keys import Where
from tui.words.model import BenchModel


class Desk(Protocol):
    """The bench, as far as a mode needs it."""

    @property
    def model(self) -> BenchModel:
        """What the screens show."""

    @property
    def kit(self) -> Kit:
        """What the photographer owns."""

    def post(self, act: Act) -> None:
        """Hand an act to the controller."""

    def ask(self, label: str, take: Take, value: str = "") -> None:
        """Have a line typed."""

    def say(self, sentence: str) -> None:
        """Show a passing sentence; from any thread."""

    def begin(self, mode: Mode | None) -> None:
        """Let this mode hold the keys; None: none does."""

    def later(self, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        """Call `act` after `delay_s` seconds; the function given back calls it off."""

    def repaint(self) -> None:
        """Show the draft as it is now."""


class Mode(Protocol):
    """What holds the keys for a moment."""

    where: Where

    def panel(self, width: int, height: int) -> list[Content]:
        """What stands in the side panel meanwhile."""

    def region(self) -> Region | None:
        """The region to show in the picture, None for the set-up's own."""

    def drag(self, region: Region) -> None:
        """The mouse was drawn over this part of the picture."""

    def let_go(self) -> None:
        """The program ends: what was set takes force; a draft that waits for enter doesn't."""
