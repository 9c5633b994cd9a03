"""A live frame as a grey picture, decoded once for all instruments; and what is wrong with the stream, if anything.

Frames arrive irregularly and may be anything: cut off, black, the same one for ever, of another size. Each fault is
said in words while it lasts and is gone by itself with the first good frame.
"""

from __future__ import annotations

import io
from collections import deque
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from PIL import Image

Codes = NDArray[np.uint8]
Floats = NDArray[np.float32]

SMALL_SIDE_PX = 110
"""The averaged-down picture's shorter side is this long, up to half as much again: enough for registration to a
hundredth of a live pixel, and a sixth of the pixels each way at 1024 x 680. Chosen."""

LEAST_SIDE_PX, MOST_PIXELS = 96, 40_000_000
"""A shorter side is no live picture; a larger area is refused before it is decoded. Chosen."""

MOST_RATIO = 6
"""No live picture is longer against its height. Guard against nonsense headers."""

BLACK_CODE = 4
"""A picture whose brightest hundredth lies under this shows nothing: cap on, lamps out, or the camera sends black."""

STILL_BRIGHT_SHARE = 0.01
EVERY = 8
"""Pixels looked at for blackness: every eighth each way."""

LOST_S = 2.0
"""Without a frame, or with the same one, for so long; a body that gives one a second is slow, not gone. Chosen."""

SLOW_PER_S = 4.0
"""Fewer new pictures a second can't show whether anything moves within a `still for` of 0.7 s. Worked out: three."""

RATE_OVER_S = 2.0


class BrokenFrameError(ValueError):
    """Bytes that give no live picture; the text is a clause: 'is cut off or damaged'."""


class Stream(StrEnum):
    """The state of the stream of live frames."""

    NONE = "none"
    GOOD = "good"
    SLOW = "slow"
    BROKEN = "broken"
    BLACK = "black"
    FROZEN = "frozen"
    LOST = "lost"
    ENDED = "ended"  # by the camera itself; it is begun again


@dataclass(frozen=True, eq=False)
class LiveGrey:
    """A decoded live frame.

    codes     (height, width) sRGB grey, row 0 at the top
    small     (height / times, width / times) float32, the same averaged down
    times     live px per px of `small`
    """

    codes: Codes
    small: Floats
    times: int

    @property
    def shape(self) -> tuple[int, int]:
        return self.codes.shape[0], self.codes.shape[1]

    @property
    def is_black(self) -> bool:
        """Whether the picture is black: nothing in it is brighter."""
        some = self.codes[::EVERY, ::EVERY]
        return float((some >= BLACK_CODE).mean()) < STILL_BRIGHT_SHARE


def grey(jpeg: bytes) -> LiveGrey:
    """Decode a live frame. Raises BrokenFrameError with a clause."""
    try:
        with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
            width, height = image.size
            longest, shortest = max(image.size), min(image.size)
            if shortest < LEAST_SIDE_PX or longest > MOST_RATIO * shortest or width * height > MOST_PIXELS:
                raise BrokenFrameError(f"has {width} × {height} pixels, which is no live picture")
            image.draft("L", image.size)
            image.load()
            picture = image if image.mode == "L" else image.convert("L")
            times = max(1, shortest // SMALL_SIDE_PX)
            small = np.asarray(picture.reduce(times)).astype(np.float32)
            return LiveGrey(np.asarray(picture), small, times)
    except BrokenFrameError:
        raise
    except Image.DecompressionBombError as error:
        raise BrokenFrameError(
            f"has more than {MOST_PIXELS // 1_000_000} million pixels, which is no live picture"
        ) from error
    except (OSError, ValueError, SyntaxError, EOFError) as error:
        raise BrokenFrameError(f"is cut off or damaged in its {len(jpeg)} bytes") from error


class StreamWatch:
    """Judges the stream of live frames by their times and contents. Each live view has a watch of its own."""

    def __init__(self) -> None:
        self._begun_s: float | None = None
        self._frame_s: float | None = None
        self._fresh: deque[float] = deque(maxlen=64)
        self._last = b""
        self._size: tuple[int, int] | None = None
        self._trouble: Stream | None = None

    def begin(self, now_s: float) -> None:
        """Live view was switched on at `now_s` seconds."""
        self.__init__()  # type: ignore[misc]
        self._begun_s = now_s

    def is_repeated(self, jpeg: bytes) -> bool:
        """The very bytes of the frame before: noise makes every fresh frame another one."""
        return jpeg == self._last

    def note_broken(self, jpeg: bytes, now_s: float) -> None:
        """A frame came, at `now_s` seconds, that can't be used."""
        self._last, self._frame_s, self._trouble = jpeg, now_s, Stream.BROKEN

    def note_repeated(self, now_s: float) -> None:
        """The frame before came again, at `now_s` seconds."""
        self._frame_s = now_s

    def fresh(self, jpeg: bytes, picture: LiveGrey, now_s: float) -> bool:
        """A new picture came at `now_s` seconds; returns whether its size differs from the one before."""
        changed = self._size is not None and self._size != picture.shape
        self._last, self._frame_s, self._size = jpeg, now_s, picture.shape
        self._trouble = Stream.BLACK if picture.is_black else None
        if self._fresh and now_s - self._fresh[-1] > LOST_S:
            self._fresh.clear()  # it was lost, and is no slower for that
        self._fresh.append(now_s)
        return changed

    def rate_per_s(self, now_s: float) -> float:
        """New pictures a second over the last two seconds."""
        times = [time_s for time_s in self._fresh if time_s > now_s - RATE_OVER_S]
        if len(times) < 2:
            return len(times) / RATE_OVER_S
        return (len(times) - 1) / max(now_s - times[0], times[-1] - times[0], 1e-6)

    def state(self, now_s: float) -> Stream:
        """State of the stream at `now_s` seconds."""
        if self._frame_s is None:
            waited = self._begun_s is not None and now_s - self._begun_s > LOST_S
            return Stream.LOST if waited else Stream.NONE
        if now_s - self._frame_s > LOST_S:
            return Stream.LOST
        if self._trouble is not None:
            return self._trouble
        if not self._fresh or now_s - self._fresh[-1] > LOST_S:
            return Stream.FROZEN
        settled = now_s - self._fresh[0] > RATE_OVER_S
        return Stream.SLOW if settled and self.rate_per_s(now_s) < SLOW_PER_S else Stream.GOOD
