"""A shoot by the command line that many tests go on with, and stages at which they stop it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from tests.support.kept_whole import assert_whole
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import Ended, Running, StillsetHome, until

SLOW_BYTES_PER_S = 200_000
"""The raw file of 384 x 256 pixels, some 290 kB, takes over a second."""


class LongDay:
    """One log, one simulated camera, one card for many tests: each goes on where the last one ended."""

    def __init__(self, folder: Path, mock: MockCamera, card: Path) -> None:
        self.home = StillsetHome(folder)
        self.mock = mock
        self.card = card
        self._old: set[Path] = set()

    def shoot(self, frames: int = 1) -> Ended:
        """To the end."""
        with self.start(frames) as program:
            return program.ended()

    def start(self, frames: int = 1, *more: str) -> Running:
        """Begin to shoot."""
        self._old = set(self.home.files())
        options = ("--frames", str(frames), "--camera", self.mock.address, *more)
        return self.home.start("shoot", "--headless", *options)

    def until_files(self, count: int) -> None:
        """Wait until so many files of the shoot that was begun last have their names, which half files have not."""
        until(
            lambda: len([p for p in self.home.files() if p.suffix != ".part" and p not in self._old]) >= count, "none"
        )

    def as_at_start(self) -> None:
        """No mishap to come, and a quick wire."""
        self.mock.hands("clear_faults")
        self.mock.hands("wire", bytes_per_s=0)

    def frames(self) -> list[dict[str, Any]]:
        """All frames of the log, once it is seen that nothing is lost."""
        return assert_whole(self.home, self.card)


@contextmanager
def long_day(folder: Path, *options: str) -> Iterator[LongDay]:
    """With a first good frame, so that the camera's card is known to the log. `options`: the simulated camera's."""
    card = folder / "card"
    with MockCamera("--card-folder", str(card), "--pixels", "384x256", "--format", "raw+jpeg", *options) as mock:
        home = folder / "home"
        home.mkdir()
        day = LongDay(home, mock, card)
        assert day.shoot().code == 0
        yield day


def on_a_slow_wire(day: LongDay) -> None:
    """Until the JPEG is there; the raw file takes a while yet."""
    day.mock.hands("wire", bytes_per_s=SLOW_BYTES_PER_S)
    day.until_files(1)


def where_it_stalls(day: LongDay) -> None:
    """Until the camera has stopped answering."""
    day.mock.until_struck()


Stage = tuple[dict[str, Any] | None, Callable[[LongDay], object]]
STAGES: dict[str, Stage] = {
    "while it connects": ({"name": "stall", "operation": "OpenSession"}, where_it_stalls),
    "at the release": ({"name": "stall", "operation": "InitiateCapture"}, where_it_stalls),
    "in the JPEG": ({"name": "stall", "operation": "GetObject"}, where_it_stalls),
    "in the raw file": ({"name": "stall", "operation": "GetObject", "after": 1}, where_it_stalls),
    "on a slow wire": (None, on_a_slow_wire),
}
"""Mishap to script before the program is started, and how to wait until it is there."""
