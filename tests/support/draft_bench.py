"""The bench as a mode that is tried alone sees it: frames and phase are set by hand, work is done at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from session.set.kit import Kit
from session.shoot.acts import Act
from tui.words.model import Phase


@dataclass
class DraftModel:
    """As much of the model as modes look at."""

    released: list[Any]
    now: Phase = Phase.READY

    def phase(self) -> Phase:
        return self.now


class DraftBench:
    """Implements as much of `BenchPort` as modes of the light mix use."""

    def __init__(self, released: list[Any], reference: str | None = None) -> None:
        self.model = DraftModel(released)
        self.kit = Kit()
        self.posted: list[Act] = []
        self.said: list[str] = []
        self.begun: list[object] = []
        self.app = self
        self._reference = reference

    def in_background(self, work: Callable[[], Callable[[], None]], about: str) -> None:
        work()()

    def post(self, act: Act) -> None:
        self.posted.append(act)

    def reference_path(self) -> str | None:
        return self._reference

    def say(self, sentence: str, about: str = "") -> None:
        self.said.append(sentence)

    def begin(self, mode: object) -> None:
        self.begun.append(mode)

    def repaint(self) -> None:
        """Paint nothing: the test asks the mode itself."""
