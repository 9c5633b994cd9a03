"""The way that a hand has gone since the last plane of a series, read from live pictures beside the keys."""

from __future__ import annotations

from functools import partial

from session.live.decode import LiveGrey
from session.optics.arrangement import EquivalentLens
from session.series.live_way import LiveWay, live_way
from session.series.plane_frame import PlaneFrame, live_plane_frame
from session.set.kit import Body
from tui.bench.mode import BenchPort
from tui.screen.background import Then


class HandWay:
    """One picture at a time is compared with the one that was taken at the last plane, or with a frame.

    found  the way to the newest picture that was compared; None before the first, and where it can't be told
    is_compared  whether a picture was compared at all
    """

    def __init__(self, bench: BenchPort) -> None:
        self._bench = bench
        self._start: LiveGrey | None = None
        self._start_frame: PlaneFrame | None = None
        self._seen: LiveGrey | None = None
        self._busy = False
        self.found: LiveWay | None = None
        self.is_compared = False

    def begin(self) -> None:
        """The hand stands at a plane now: the newest live picture is the one to compare with."""
        live = self._bench.model.live
        self._start, self._start_frame, self.found = live.picture if live.on else None, None, None
        self.is_compared = False

    def begin_with(self, frame: PlaneFrame) -> None:
        """Compare with a frame of the series, as it was measured."""
        self._start, self._start_frame, self.found = None, frame, None
        self.is_compared = False

    @property
    def is_begun(self) -> bool:
        """Whether there is a picture to compare with, and live view to compare."""
        return (self._start is not None or self._start_frame is not None) and self._bench.model.live.on

    def follow(self, lens: EquivalentLens, body: Body | None, *, by_rail: bool) -> None:
        """Compare the newest live picture in the background, unless that was done, or another is being compared."""
        start, newest = self._start, self._bench.model.live.picture
        if not self.is_begun or newest is None or newest is self._seen or newest is start or self._busy:
            return
        if start is not None and newest.shape != start.shape:
            self._start, self._start_frame, self.found = None, None, None
            return
        self._seen, self._busy = newest, True
        full_width_px = body.pixels_across if body else newest.shape[1]
        kept = self._start_frame

        def work() -> Then:
            frame = kept
            if frame is None:
                assert start is not None
                frame = live_plane_frame(start.codes, full_width_px)
            now = live_plane_frame(newest.codes, full_width_px)
            return partial(self._take, kept, frame, live_way(frame, now, lens, by_rail=by_rail))

        self._bench.app.in_background(work, "way of the hand")

    def _take(self, kept: PlaneFrame | None, frame: PlaneFrame, found: LiveWay | None) -> None:
        self._busy = False
        if kept is self._start_frame:  # nothing else is compared with meanwhile
            self._start_frame, self.found, self.is_compared = frame, found, True
            self._bench.repaint()
