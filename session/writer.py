"""Writes to the log that can't fail silently: what the log would not take is kept, in order, and tried again.

While anything is owed no release is allowed, and a lasting sentence stands on the screen. If the program dies
first, the rows begun before each release and the files on disk are enough to put the log right at the next start.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from session.events import Event, Said
from session.ports import LogError

RETRY_S = 1.0
"""Between two tries. Chosen so that a person who makes room on the disk sees it taken at once."""


class Writer:
    """Runs log writes at once, or keeps them and runs them later in the same order."""

    def __init__(self, emit: Callable[[Event], None]) -> None:
        self._emit = emit
        self._owed: deque[Callable[[], None]] = deque()
        self._retry_at_s = 0.0
        self._said = ""

    @property
    def owed(self) -> int:
        """How many writes the log still owes."""
        return len(self._owed)

    def write(self, write: Callable[[], None], now_s: float) -> None:
        """Do it now, or after all that is owed before it."""
        self._owed.append(write)
        if len(self._owed) == 1 or now_s >= self._retry_at_s:
            self.settle(now_s)

    def settle(self, now_s: float) -> None:
        """Try all that is owed, oldest first; stop at the first that is refused again."""
        was_owing, wrote = self._retry_at_s > 0, False
        while self._owed:
            try:
                self._owed[0]()
            except LogError as error:
                self._retry_at_s = now_s + RETRY_S
                self.refused(f"{error} Frames are safe on disk and card; it tries again.")
                return
            self._owed.popleft()
            wrote = True
        self._retry_at_s = 0.0
        if self._said and wrote:
            self._said = ""
            self._emit(Said("", "log", True))
        if was_owing:
            self._emit(Said("The log takes everything again; nothing was lost."))

    def refused(self, text: str) -> None:
        """A lasting sentence on what the log would not do, said once; it stands until the log takes something."""
        if text != self._said:
            self._said = text
            self._emit(Said(text, "log", True))

    def next_try_s(self) -> float | None:
        """When to call `settle` again; None when nothing is owed."""
        return self._retry_at_s if self._owed else None
