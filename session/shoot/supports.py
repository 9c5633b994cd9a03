"""A support measured by live view: from a touch seen ringing down to figures in the kit and a safe hold-off."""

from __future__ import annotations

import math

from session.live.instruments import Instruments
from session.optics.ring_down import RingDown, UnclearSwingError
from session.plan.waits import safe_hold_off_of
from session.set.kit import KitError
from session.shoot.events import KitChanged, Said, StandMeasured
from session.shoot.state import ShootState

TENTHS = 10
"""A hold-off is rounded up to a tenth of a second: what the large line shows."""


class Supports:
    """Measures the support on the table, keeps the figures with the kit, and gives the set-up the right hold-off."""

    def __init__(self, state: ShootState, instruments: Instruments) -> None:
        self._state = state
        self._instruments = instruments
        self.found: RingDown | None = None

    def measure(self) -> RingDown | None:
        """Frequency and damping from the touch that live view saw last; said in words, None when it can't be told."""
        try:
            self.found = self._instruments.ring_down()
            self._state.emit(Said(_words(self.found)))
        except UnclearSwingError as error:
            self.found = None
            self._state.emit(Said(str(error)))
        self._state.emit(StandMeasured(self.found))
        return self.found

    def keep(self) -> bool:
        """Put what was measured into the kit file, for the set-up's support; says what the safe hold-off is then."""
        state, found = self._state, self.found
        if found is None:
            state.emit(Said("No support was measured: touch the camera, let it ring down in live view, and measure."))
            return False
        if state.keep_support is None:
            state.emit(Said("The demo's kit can't be changed; start with --kit and a file of your own."))
            return False
        try:
            name, state.kit = state.keep_support(state.revision.support, found)
        except KitError as error:
            state.emit(Said(str(error)))
            return False
        self.found = None
        text = f"support {name}: {found.frequency_hz:.2g} Hz, damping {100 * found.damping_ratio:.2g} %"
        state.record("support", text)
        state.emit(KitChanged(state.kit))
        state.emit(StandMeasured(None))
        state.emit(Said(f"Kept {text}. {self._hold_off_words()}"))
        return True

    def safe_hold_off_s(self) -> float:
        """Wait after a touch that the support needs by the kit's figures, for this set-up; rounded up to 0.1 s."""
        state = self._state
        needed_s = safe_hold_off_of(state.revision, state.kit, state.body)
        return math.ceil(needed_s * TENTHS - 1e-6) / TENTHS

    def _hold_off_words(self) -> str:
        safe_s, now_s = self.safe_hold_off_s(), self._state.revision.hold_off_s
        if safe_s > now_s:
            return f"Its safe hold-off is {safe_s:.1f} s; the set-up waits {now_s:.1f} s."
        return f"The set-up's hold-off of {now_s:.1f} s is enough; {safe_s:.1f} s is needed."


def _words(found: RingDown) -> str:
    frequency = f"{found.frequency_hz:.1f} Hz ± {2 * found.frequency_sd_hz:.1f}"
    damping = f"damping {100 * found.damping_ratio:.1f} % ± {200 * found.damping_ratio_sd:.1f}"
    return f"The support swings at {frequency}, {damping}."
