"""Camera time: what the body stamps files with and what its shutter, buffer and flash run on.

A running clock follows real time, faster by a factor if wished. A stepped clock stands still and
moves only at a release or when told, so that two runs with the same commands give the same bytes,
dates and flash charges included.
"""

import threading
import time
from datetime import datetime, timedelta
from typing import Protocol


class CameraClock(Protocol):
    """Seconds since the start (`now_s`), the date-time the camera shows, and waiting in camera seconds."""

    def now_s(self) -> float:
        """Camera time, s."""

    def date_time(self) -> datetime: ...

    def set_date_time(self, moment: datetime) -> None: ...

    def wait(self, seconds_s: float) -> None:
        """Let the shutter or the buffer take `seconds_s` seconds."""

    def advance(self, seconds_s: float) -> None:
        """Let `seconds_s` seconds pass for everything on the table."""

    def note_release(self) -> None:
        """A frame is about to be exposed."""


class RunningClock:
    """Real time, `scale` camera seconds to a real one. `stop` ends every wait at once."""

    def __init__(self, start: datetime, scale: float, stop: threading.Event) -> None:
        self._scale = scale
        self._zero = time.monotonic()
        self._start = start
        self._stop = stop

    def now_s(self) -> float:
        """Camera time since the start, s."""
        return (time.monotonic() - self._zero) * self._scale

    def date_time(self) -> datetime:
        return self._start + timedelta(seconds=self.now_s())

    def set_date_time(self, moment: datetime) -> None:
        self._start = moment - timedelta(seconds=self.now_s())

    def wait(self, seconds_s: float) -> None:
        """Wait `seconds_s` seconds of camera time, or until the clock is stopped."""
        if seconds_s > 0:
            self._stop.wait(seconds_s / self._scale)

    def advance(self, seconds_s: float) -> None:
        """Wait `seconds_s` seconds: a running clock can't jump."""
        self.wait(seconds_s)

    def note_release(self) -> None:
        return


class SteppedClock:
    """A clock that stands still: a release first moves the time on by `step_s`, and `advance` by the given seconds."""

    def __init__(self, start: datetime, step_s: float) -> None:
        self._start = start
        self._step_s = step_s
        self._now_s = 0.0
        self._lock = threading.Lock()

    def now_s(self) -> float:
        """Camera time, s, as it was last stepped to."""
        return self._now_s

    def date_time(self) -> datetime:
        return self._start + timedelta(seconds=self._now_s)

    def set_date_time(self, moment: datetime) -> None:
        self._start = moment - timedelta(seconds=self._now_s)

    def wait(self, seconds_s: float) -> None:
        """Go on at once: only `advance` moves a stepped clock, by its seconds."""
        return

    def advance(self, seconds_s: float) -> None:
        """Step the clock on by `seconds_s` seconds, never back."""
        with self._lock:
            self._now_s += max(0.0, seconds_s)

    def note_release(self) -> None:
        self.advance(self._step_s)
