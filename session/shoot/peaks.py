"""The peak of live view's fine contrast, kept with the set-up: what a later focusing can be compared with.

It is kept when the focus has passed it, or when a sweep has shown it. A new set-up's peak waits for its first frame,
since until then the log has no row of it. Modelling lamps, region and picture size must be what they were: of another
region or size it isn't given at all; whether the lamps are the same only the photographer knows.
"""

from __future__ import annotations

from session.frame.ports import KeptPeak, LogError
from session.live.instruments import LiveReading
from session.set.setup import Region
from session.shoot.events import PeakKept
from session.shoot.state import ShootState

Measured = tuple[Region, int]

KEPT_ANEW = 0.01
"""A peak within this share of the kept peak is the same peak. Single looks keep within a hundredth. Chosen."""


class Peaks:
    """The peak of the set-up and piece on the table."""

    def __init__(self, state: ShootState) -> None:
        self._state = state
        self._of: tuple[str, int] | None = None
        self._kept: KeptPeak | None = None
        self._waiting: KeptPeak | None = None
        self._measured: Measured | None = None

    def kept_peak(self) -> KeptPeak | None:
        """The kept peak of the set-up's region at the size of the last live picture; None without a kept peak.

        Before the first live picture the size isn't asked about.
        """
        self._look_up()
        peak = self._waiting or self._kept
        if peak is None or peak.region != self._state.revision.region:
            return None
        return peak if self._measured is None or peak.live_width_px == self._measured[1] else None

    def see(self, reading: LiveReading) -> None:
        """Keep the meter's peak once the focus has passed the peak."""
        if reading.picture is not None:
            self._measured = self._state.revision.region, reading.picture.shape[1]
        if self._waiting is not None and not self._state.is_new_setup:
            self._write(self._waiting)
        if reading.focus is not None and reading.focus.past_best and reading.focus.best_contrast is not None:
            self.keep(reading.focus.best_contrast)

    def keep(self, contrast: float) -> None:
        """Keep a peak of so many percent, measured on the last live picture."""
        if self._measured is None:
            return
        self._look_up()
        known = self.kept_peak()
        if known is not None and abs(contrast / known.contrast - 1) <= KEPT_ANEW:
            return
        peak = KeptPeak(contrast, *self._measured, self._state.clock.now())
        if self._state.is_new_setup:
            self._waiting = peak
        else:
            self._write(peak)
        self._state.emit(PeakKept(peak))

    def say(self) -> None:
        """Emit the peak kept for the present piece and set-up, after a change of either or of live view."""
        self._state.emit(PeakKept(self.kept_peak()))

    def _write(self, peak: KeptPeak) -> None:
        state = self._state
        self._kept, self._waiting = peak, None
        state.write(state.log.keep_peak, state.place, state.revision.setup_number, peak)

    def _look_up(self) -> None:
        """Ask the log once for each piece and set-up."""
        state = self._state
        here = state.place.piece_id, state.revision.setup_number
        if here == self._of:
            return
        self._of, self._waiting, self._kept = here, None, None
        if not state.is_new_setup:
            try:
                self._kept = state.log.kept_peak(state.place, state.revision.setup_number)
            except LogError:
                self._of = None  # asked again with the next picture
