"""Does the picture stand still: how far it moves now, since when it doesn't, and what could hide between the frames.

Live frames come a few times per swing of a support, or less. What is seen in them is a lower limit: a swing of just the
frame rate looks like rest when every frame meets it at the same place. So for the very times at which frames came, the
share of a swing that they must show is worked out, at the worst frequency and phase between 2 and 40 Hz; the motion
seen is divided by it, and what coding hides of a small swing is added. Uneven times show any swing after some ten
frames; even ones never do, and then the timer's hold-off is kept as well.

Positions are px of the sensor, + right and + down, against where the picture was when the watch began.
"""

from __future__ import annotations

from collections import deque

import numpy as np
from numpy.typing import NDArray

from session.frame.moves import STILL_FOR_S, Moves
from session.live.decode import LiveGrey
from session.live.motion import KeyPicture
from session.optics.ring_down import RingDown, UnclearSwingError, ring_down

Floats = NDArray[np.float64]

FEWEST_FRAMES = 6
"""In that time; where fewer come, it lasts until so many came. Chosen."""

SUPPORTS_HZ = np.arange(2.0, 40.01, 0.5)
"""Frequencies that stands have, close enough for 0.7 s, in which a frequency is told to 1.4 Hz."""

PHASES = np.arange(12) * np.pi / 12
"""Of half a turn; between two of them the share shown differs by less than a hundredth."""

REMEMBERED_S = 30.0

RUNG_OUT, FEWEST_SWINGING, MOST_FITTED = 0.03, 12, 120
"""A swing is fitted from its start until it stays under this share of its start: rest tells nothing of the swing, and
would make the answer look surer than it is. Least and most frames: 8 s at 15 a second, a third of a second to fit."""

LEAST_SWING_PX = 0.1
"""Live px. A smaller swing isn't fitted: coding holds a picture that hardly moves back, by up to a fifth, and a swing
that seems to end sooner seems damped more. Measured on the simulated bench, seeds from 90000."""

HIDDEN_PX = 0.025
"""Live px by which a swing may be larger than it is seen: coding and noise hold a picture back that hardly moves. Of
swings of 0.02 to 0.09 live px 95 % of the readings fell short by 0.016 to 0.024, on the simulated bench, seeds 96001 to
96005. A set at rest reads 0.008 at most (seeds 95001 to 95006)."""

NEW_KEY_LIKENESS = 0.9
"""A key picture that resembles less, since focus or light changed, is replaced by the frame at hand. Chosen."""


class StillnessWatch:
    """Follows where the picture is. `limit_px` is the half swing that counts as still, px of the sensor."""

    def __init__(self) -> None:
        self._key: KeyPicture | None = None
        self._key_at = (0.0, 0.0)
        self._places: deque[tuple[float, float, float]] = deque()
        self._sensor_px_per_px = 1.0
        self._begun_s = 0.0
        self._moved_s = 0.0

    def see(self, picture: LiveGrey, at_s: float, sensor_px_per_px: float, limit_px: float) -> Moves:
        """Take a frame that came at `at_s`, which only grows.

        sensor_px_per_px  px of the sensor's full-size picture per px of the live frame
        """
        self._sensor_px_per_px = sensor_px_per_px
        place = self._place(picture)
        if place is None:
            self._begin(picture, at_s)
        else:
            self._places.append((at_s, place[0] * sensor_px_per_px, place[1] * sensor_px_per_px))
        while self._places and at_s - self._places[0][0] > REMEMBERED_S:
            self._places.popleft()
        return self._moves(at_s, limit_px)

    def last_move_px(self) -> float:
        """How far the picture moved from the frame before to the newest, px of the sensor."""
        if len(self._places) < 2:
            return 0.0
        (_, x0, y0), (_, x1, y1) = self._places[-2], self._places[-1]
        return float(np.hypot(x1 - x0, y1 - y0))

    def ring_down(self) -> RingDown:
        """The support's frequency and damping from the swing that was last seen. Raises UnclearSwingError."""
        if len(self._places) < FEWEST_FRAMES:
            raise UnclearSwingError(
                f"No swing was seen yet, in {len(self._places)} live pictures: touch the camera, and let it ring down "
                "in live view."
            )
        time_s, right_px, down_px = (np.array(values) for values in zip(*self._places, strict=True))
        seen = last_swing(right_px, down_px, LEAST_SWING_PX * self._sensor_px_per_px)
        return ring_down(time_s[seen], right_px[seen], down_px[seen])

    def _place(self, picture: LiveGrey) -> tuple[float, float] | None:
        """Where the picture is, live px; None when it can't be followed from the key picture."""
        if self._key is None or self._key.shape != picture.shape:
            return None
        found = self._key.displacement(picture)
        if not found.found:
            return None
        place = self._key_at[0] + found.right_px, self._key_at[1] + found.down_px
        if found.likeness < NEW_KEY_LIKENESS:
            self._key, self._key_at = KeyPicture(picture), place
        return place

    def _begin(self, picture: LiveGrey, at_s: float) -> None:
        """Begin anew with a picture that can't be followed: of another size, or moved too far."""
        self._key, self._key_at = KeyPicture(picture), (0.0, 0.0)
        self._places.clear()
        self._places.append((at_s, 0.0, 0.0))
        self._begun_s = self._moved_s = at_s

    def _moves(self, now_s: float, limit_px: float) -> Moves:
        time_s, right_px, down_px = (np.array(values) for values in zip(*self._places, strict=True))
        extent = _extents(right_px, down_px) / 2
        still = int((extent <= limit_px).sum())  # extents grow backwards in time, so these are the newest
        if still < len(extent):
            self._moved_s = max(self._moved_s, float(time_s[-1 - still]))
        since_s = float(time_s[-still]) if still > 1 else None
        window = _window(time_s)
        if window is None:
            seen = float(extent[-1]) if len(extent) > 1 else None
            return Moves(now_s, seen, None, since_s, self._moved_s)
        moving_px, shown = float(extent[window - 1]), share_shown(time_s[-window:])
        could_px = moving_px / shown + HIDDEN_PX * self._sensor_px_per_px if shown > 1e-3 else None
        return Moves(now_s, moving_px, could_px, since_s, self._moved_s)


def last_swing(right_px: Floats, down_px: Floats, least_px: float) -> slice:
    """The places worth fitting, of (n,) places in px, as a slice.

    From the greatest distance to where the picture came to rest (before it is the touch) until the distance stays under
    RUNG_OUT of the greatest, or under `least_px`.
    """
    rest = len(right_px) // 4
    away = np.hypot(right_px - np.median(right_px[-rest:]), down_px - np.median(down_px[-rest:]))
    start = int(away.argmax())
    beyond = np.flatnonzero(away[start:] >= max(RUNG_OUT * away[start], least_px))
    swinging = int(beyond[-1]) + 1 if len(beyond) else 0
    return slice(start, start + min(max(swinging, FEWEST_SWINGING), MOST_FITTED))


def share_shown(time_s: Floats) -> float:
    """Least share of a swing that frames at these times show, at a support's worst frequency and phase, 0 to 1.

    time_s  (n,), s
    A swing is seen as half the extent of its values at these times.
    """
    turn = 2 * np.pi * np.outer(SUPPORTS_HZ, time_s - time_s[0])
    cosine, sine = np.cos(turn)[:, None], np.sin(turn)[:, None]
    values = cosine * np.cos(PHASES)[None, :, None] + sine * np.sin(PHASES)[None, :, None]
    return float(np.ptp(values, axis=2).min()) / 2


def _extents(right_px: Floats, down_px: Floats) -> Floats:
    """Diagonal of the box around the newest place and those before it: [k] spans the newest k + 1; (n,)."""
    right, down = right_px[::-1], down_px[::-1]
    across = np.maximum.accumulate(right) - np.minimum.accumulate(right)
    along = np.maximum.accumulate(down) - np.minimum.accumulate(down)
    extents: Floats = np.hypot(across, along)
    return extents


def _window(time_s: Floats) -> int | None:
    """How many of the newest frames span STILL_FOR_S and are enough; None before they came."""
    count = int((time_s > time_s[-1] - STILL_FOR_S).sum()) + 1
    count = max(count, FEWEST_FRAMES)
    return count if count <= len(time_s) else None
