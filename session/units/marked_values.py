"""The values that are engraved: f-numbers and exposure times in thirds of a stop.

The names are the rounded ones of everyday use; ISO 517 and ISO 516 give the series of whole stops.
"""

from __future__ import annotations

from session.units.numbers import SETTING_SLACK_EV

STEPS_PER_EV = 3
"""Steps a stop on cameras and lenses. By custom."""

# Common practice: thirds between the whole stops.
MARKED_F_NUMBERS = (
    *(1.0, 1.1, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.5, 2.8, 3.2, 3.5, 4.0, 4.5, 5.0, 5.6, 6.3, 7.1, 8.0, 9.0, 10.0),
    *(11.0, 13.0, 14.0, 16.0, 18.0, 20.0, 22.0, 25.0, 29.0, 32.0, 36.0, 40.0, 45.0, 51.0, 57.0, 64.0),
)

MARKED_EXPOSURES_S = (
    *(1 / part for part in (8000, 6400, 5000, 4000, 3200, 2500, 2000, 1600, 1250, 1000, 800, 640, 500, 400, 320, 250)),
    *(1 / part for part in (200, 160, 125, 100, 80, 60, 50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4)),
    *(0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.0, 8.0, 10.0, 13.0, 15.0, 20.0, 25.0, 30.0),
)

ROUNDING = 0.005
"""A kit may say 0.0167 s for 1/60 s; a real lack of sync is more than that."""


def f_numbers_between(widest: float, smallest: float) -> tuple[float, ...]:
    """The marked f-numbers from one to another, both ends included within a tenth of a stop."""
    slack = 2 ** (SETTING_SLACK_EV / 2)
    return tuple(number for number in MARKED_F_NUMBERS if widest / slack <= number <= smallest * slack)


def exposure_at_least_s(seconds: float) -> float:
    """The shortest marked exposure time that isn't shorter; at most 30 s."""
    long_enough = (time for time in MARKED_EXPOSURES_S if time >= seconds * (1 - ROUNDING))
    return next(long_enough, MARKED_EXPOSURES_S[-1])
