"""Where in its play a focus drive stands, by the ways that it went.

Turned round, a drive runs its play before the lens moves. So the lens lags behind the drive by between nothing (it went
nearer last, by the play or more) and the whole play (it went away last). A small way back takes up a part of it only.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DriveRuns:
    """The ways between the drive's turns that still count, steps, + = away. Each is at least as long as the next."""

    runs: tuple[int, ...] = ()

    @property
    def last(self) -> int:
        """What the drive went since it turned round last, steps; 0 before it went."""
        return self.runs[-1] if self.runs else 0

    def and_then(self, steps: int) -> DriveRuns:
        """After a further move."""
        if not steps:
            return self
        runs = [*self.runs[:-1], self.last + steps] if self.last * steps > 0 else [*self.runs, steps]
        while len(runs) > 2 and min(abs(runs[-3]), abs(runs[-1])) >= abs(runs[-2]):  # a small way there and back
            runs[-3:] = [sum(runs[-3:])]
        return DriveRuns(tuple(runs))

    def lag(self, play_steps: int, unknown: int) -> int:
        """By how much the lens lags behind the drive, 0 to `play_steps`.

        unknown  the way, + or − 1, that the drive is taken to have gone before the first move that is known of
        """
        lag = play_steps if unknown > 0 else 0
        for steps in self.runs:
            lag = min(max(lag + steps, 0), play_steps)
        return lag
