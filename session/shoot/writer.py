"""Writes to the log that can't fail silently: what the log would not take is kept, in order, and tried again.

While anything is owed no release is allowed, and a lasting sentence stands on the screen. If the program dies
first, the rows begun before each release and the files on disk are enough to put the log right at the next start.
An entry that the log will never take is put into a file beside it, with its error, and the shoot goes on.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from functools import partial

from session.frame.ports import LogError, RefusedEntry, RefusedForGoodError
from session.shoot.events import About, Event, Said

RETRY_S = 1.0
"""Seconds between two tries. Chosen so that a person who makes room on the disk sees the log go on at once."""

ENTRY_WORDS = {
    "frame_findings": "what the rules said of a frame",
    "frame_reading": "the camera's settings at a release",
    "frame_file": "a frame's file",
    "frame_judged": "a frame's judgement",
    "frame_judged_anew": "a frame's judgement",
    "mark": "a mark",
    "say_of_step": "a word on a step",
    "note": "a note",
    "keep_peak": "the best focus of a set-up",
    "note_model": "the camera's model",
    "record": "an event",
}
"""Call of the log port → what it writes, for people; all others write a frame's state."""


class Writer:
    """Runs log writes at once, or keeps the writes and runs them later in the same order."""

    def __init__(self, emit: Callable[[Event], None], keep_aside: Callable[[RefusedEntry], str]) -> None:
        """`keep_aside` keeps an entry outside the log, durable, and returns where; it raises LogError."""
        self._emit = emit
        self._keep_aside = keep_aside
        self._owed: deque[partial[None]] = deque()
        self._retry_at_s = 0.0
        self._said = ""

    @property
    def owed(self) -> int:
        """How many writes the log still owes."""
        return len(self._owed)

    @property
    def trouble(self) -> str:
        """Why the log takes nothing, in words; "" while nothing is owed."""
        return self._said if self._owed else ""

    def write(self, write: partial[None], now_s: float) -> None:
        """Write an entry now, at `now_s` seconds, or after all entries owed before."""
        self._owed.append(write)
        if len(self._owed) == 1 or now_s >= self._retry_at_s:
            self.settle(now_s)

    def settle(self, now_s: float) -> None:
        """Try all entries owed at `now_s` seconds, oldest first; stop at the first that is refused for now.

        An error that isn't the log's is our own mistake: the entry is kept aside, and the error raised.
        """
        was_owing, wrote = self._retry_at_s > 0, False
        while self._owed:
            try:
                self._owed[0]()
            except RefusedForGoodError as error:
                self._set_aside(self._owed.popleft(), str(error))
                continue
            except LogError as error:
                self._retry_at_s = now_s + RETRY_S
                self.say_refused(f"{error} Frames are safe on disk and card; it tries again.")
                return
            except Exception as error:
                self._set_aside(self._owed.popleft(), f"{type(error).__name__}: {error}")
                raise
            self._owed.popleft()
            wrote = True
        self._retry_at_s = 0.0
        if self._said and wrote:
            self._said = ""
            self._emit(Said("", About.LOG, True))
        if was_owing and wrote:
            self._emit(Said("The log takes everything again; nothing was lost."))

    def say_refused(self, text: str) -> None:
        """A lasting sentence on what the log would not do, said once; it stands until the log takes something."""
        if text != self._said:
            self._said = text
            self._emit(Said(text, About.LOG, True))

    def next_try_s(self) -> float | None:
        """When to call `settle` again, s; None when nothing is owed."""
        return self._retry_at_s if self._owed else None

    def _set_aside(self, write: partial[None], error: str) -> None:
        call = getattr(write.func, "__name__", str(write.func))
        entry = RefusedEntry(call, (*write.args, *write.keywords.values()), error)
        try:
            where = f"It is kept in {self._keep_aside(entry)}"
        except LogError as trouble:
            where = f"It could not be kept elsewhere either ({trouble})"
        what = ENTRY_WORDS.get(call, "a frame's state")
        self._emit(Said(f"The log refused {what} for good: {error} {where}. Files are safe; go on.", call, True))
