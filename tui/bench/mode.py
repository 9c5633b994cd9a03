"""The interface of the bench's objects to their screen, and the mode that holds the keys for a moment.

A mode changes a light, the region, the settings or the place by keys: it holds a draft, shows the draft in the side
panel, and gives it to the controller when it is kept. Escape always puts things back as they were when the mode began.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from textual.content import Content

from session.set.kit import Kit
from session.set.setup import Region
from session.shoot.acts import Act
from tui.screen.app_port import AppPort
from tui.screen.prompt import Take
from tui.screen.small_picture import SmallPicture
from tui.words.headline import Headline
from tui.words.keys import Where
from tui.words.model import BenchModel


class BenchPort(Protocol):
    """The interface between the objects that keys call and the screen of the bench, which implements it."""

    @property
    def app(self) -> AppPort:
        """The program, as far as screens know it."""

    @property
    def model(self) -> BenchModel:
        """The model that the screens show."""

    @property
    def mode(self) -> Mode | None:
        """The mode that holds the keys; None while the bench itself does."""

    @property
    def kit(self) -> Kit:
        """The photographer's kit."""

    @property
    def post(self) -> Callable[[Act], None]:
        """Hands an act to the controller."""

    def ask(self, label: str, take: Take, value: str = "") -> None:
        """Have a line typed."""

    def say(self, sentence: str, about: str = "") -> None:
        """Show a passing sentence; from any thread."""

    def begin(self, mode: Mode | None) -> None:
        """Let this mode hold the keys; None: none does."""

    def reference_path(self) -> str | None:
        """Where the picture lies that the set is compared with; None without one. From any thread; raises LogError."""

    def later(self, delay_s: float, act: Callable[[], None]) -> Callable[[], None]:
        """Call `act` after `delay_s` seconds; the function given back calls it off."""

    def repaint(self) -> None:
        """Show model and draft as they are now."""


class Mode(Protocol):
    """A holder of the keys for a moment."""

    where: Where

    def panel(self, width: int, height: int) -> list[Content]:
        """The lines in the side panel meanwhile."""

    def headline(self) -> Headline | None:
        """The large line and its sentence, None for the model's own."""

    def picture(self) -> SmallPicture | None:
        """The picture to show instead of the frame's, None for the frame's."""

    def caption(self) -> str:
        """The line over that picture."""

    def region(self) -> Region | None:
        """The region to show in the picture, None for the set-up's own."""

    def drag(self, region: Region) -> None:
        """The mouse was drawn over this part of the picture."""

    def let_go(self) -> None:
        """The program ends: what was set takes force; a draft that waits for enter doesn't."""


class Draft:
    """The common part of modes whose draft is nothing until it is kept."""

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench

    def headline(self) -> Headline | None:
        return None

    def picture(self) -> SmallPicture | None:
        return None

    def caption(self) -> str:
        return ""

    def region(self) -> Region | None:
        return None

    def drag(self, region: Region) -> None:
        """Do nothing: the mode shows no region to draw."""

    def let_go(self) -> None:
        """Nothing was kept, so nothing is lost."""

    def act_cancel(self, key: str) -> None:
        self._bench.begin(None)
