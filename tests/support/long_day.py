"""A shoot by the command line that many tests go on with, and stages at which they stop it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.support.kept_whole import assert_whole
from tests.support.mock_process import MockCamera
from tests.support.stillset_program import Ended, Running, StillsetHome, until


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
        self.mock.quick_wire()

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


@dataclass(frozen=True)
class Stage:
    """prepare: before the program is started; reached: waits until the program is there."""

    prepare: Callable[[LongDay], object]
    reached: Callable[[LongDay], object]


def stall(operation: str, after: int = 0) -> Stage:
    """The camera stops answering at its next such operation, or after so many of them."""
    return Stage(
        lambda day: day.mock.fault("stall", operation=operation, after=after), lambda day: day.mock.until_struck()
    )


STAGES = {
    "while it connects": stall("OpenSession"),
    "at the release": stall("InitiateCapture"),
    "in the JPEG": stall("GetObject"),
    "in the raw file": stall("GetObject", after=1),
    "on a slow wire": Stage(lambda day: day.mock.slow_raws(), lambda day: day.until_files(1)),
}
