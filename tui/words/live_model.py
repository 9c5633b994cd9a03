"""The readings of live view's instruments, as plain state for the screens."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field

from session.frame.moves import Moves
from session.frame.ports import KeptPeak
from session.live.decode import LiveGrey, Stream
from session.live.meter import FocusReading
from session.live.sweep import RANGES, Range
from session.optics.ring_down import RingDown
from session.shoot.events import LivePicture
from tui.words.live_look import LiveLook

REMEMBERED_S = 30.0
"""How far back the trend line goes: a slow turn of the ring from one side to the other. Chosen."""


@dataclass
class LiveModel:
    """Live view as the screens know it.

    at_s     when the newest frame came, None before the first
    focus, moves  of the newest fresh picture that showed them; a camera may send one picture twice
    picture  the newest that could be read
    trend    (time, fine contrast in percent) of the pictures that could be judged, oldest first
    stream   how the stream of pictures is doing
    look     how the picture is shown
    sweeps   how far a sweep looks; chosen for as long as the bench is up
    kept     the best focus that was kept with the set-up for this piece
    support    a swing of the support that was measured and isn't kept yet
    """

    on: bool = False
    look: LiveLook = field(default_factory=LiveLook)
    sweeps: Range = Range()  # noqa: RUF009 - a frozen value
    kept: KeptPeak | None = None
    support: RingDown | None = None
    at_s: float | None = None
    focus: FocusReading | None = None
    moves: Moves | None = None
    picture: LiveGrey | None = None
    stream: Stream = Stream.NONE
    trend: deque[tuple[float, float]] = field(default_factory=deque)

    def switch(self, on: bool) -> None:
        """Note that live view went on or off, and forget its earlier readings."""
        self.on, self.at_s, self.focus, self.moves, self.picture = on, None, None, None, None
        self.trend.clear()
        if not on:
            self.look = LiveLook()

    def lose(self) -> None:
        """The camera went; when it is back, the picture is shown as before."""
        look = self.look
        self.switch(False)
        self.look = look

    def take_frame(self, event: LivePicture) -> None:
        """A live frame came."""
        reading = event.reading
        if reading is None:
            return
        self.at_s = reading.at_s
        if reading.resized:
            self.trend.clear()
        if reading.picture is not None:
            self.focus, self.moves = reading.focus, reading.moves or self.moves
            self.picture = reading.picture
        if reading.focus is not None and reading.focus.contrast is not None:
            self.trend.append((reading.at_s, reading.focus.contrast))
        while self.trend and reading.at_s - self.trend[0][0] > REMEMBERED_S:
            self.trend.popleft()

    @property
    def seen_moves(self) -> Moves | None:
        """The picture's motion; None when the newest picture came too long after its measurement."""
        fresh = self.moves is not None and self.at_s is not None and self.moves.is_fresh(self.at_s)
        return self.moves if fresh else None

    def next_range(self) -> None:
        """The next of the sweep's ranges; after the widest the narrowest."""
        self.sweeps = RANGES[(RANGES.index(self.sweeps) + 1) % len(RANGES)]

    def forget(self) -> None:
        """A new search for the best begins."""
        self.trend.clear()
