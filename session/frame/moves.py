"""The picture's motion in live view, for the hold-off and for the screens."""

from __future__ import annotations

from dataclasses import dataclass

STILL_FOR_S = 0.7
"""How long the picture must have been still: more than a whole swing of the slowest support, 2 Hz."""

FRESH_S = 0.5
"""A picture older than this says nothing about now. Two frames at the slowest stream that counts."""


@dataclass(frozen=True)
class Moves:
    """The picture's motion as known at the newest frame. Times are `Clock.monotonic_s`.

    seen_s          when that frame came
    moving_px       half the extent of the motion seen over the last STILL_FOR_S, sensor px; None before the first
    could_move_px   what a swing of 2 to 40 Hz could be, given that and the times of the frames; None: anything
    still_since_s   since when the motion seen stays within the limit, None while it doesn't
    moved_s         when it was last beyond the limit, or when the watch began
    """

    seen_s: float
    moving_px: float | None
    could_move_px: float | None
    still_since_s: float | None
    moved_s: float

    def is_fresh(self, now_s: float) -> bool:
        """Whether these measures still say something about the present, `now_s` seconds."""
        return now_s - self.seen_s <= FRESH_S
