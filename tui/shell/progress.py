"""How far a command is and how long it still takes: one line that is rewritten, where standard error is a terminal."""

from __future__ import annotations

import sys
from collections.abc import Callable
from time import monotonic
from types import TracebackType

import click

from session.units.numbers import left_text

SHOWN_EVERY_S = 0.1
TOLD_AFTER_S = 1.0
"""Before that nothing is said of the time left: a first step is no measure. Chosen, like the other."""


class ProgressLine:
    """Says nothing where standard error goes elsewhere; gone at the end of its `with`."""

    def __init__(self, clock_s: Callable[[], float] = monotonic) -> None:
        self._clock_s = clock_s
        self._began_s = clock_s()
        self._shown_s = self._began_s - SHOWN_EVERY_S
        self._is_shown = False
        self._says = sys.stderr.isatty()

    def __enter__(self) -> ProgressLine:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.clear()

    def tell(self, words: str, done: int = 0, of: int = 0) -> None:
        """`words` say how far it is; the time left is reckoned by `done` steps or bytes `of` all, where told."""
        now_s = self._clock_s()
        if not self._says or now_s - self._shown_s < SHOWN_EVERY_S:
            return
        self._shown_s, self._is_shown = now_s, True
        took_s = now_s - self._began_s
        known = 0 < done < of and took_s >= TOLD_AFTER_S
        left = f", {left_text(took_s / done * (of - done))} left" if known else ""
        click.echo(f"\r\x1b[K{words}{left} ", err=True, nl=False)

    def clear(self) -> None:
        """Something else is about to be printed."""
        if self._is_shown:
            click.echo("\r\x1b[K", err=True, nl=False)
            self._is_shown = False
