"""Fine contrast over time: the best so far, the trend, and whether the best has been passed.

Everything is judged on the logarithm of the contrast, a median of three frames, against the unsteadiness that the
frames themselves show: a dim, shaking set asks for a deeper fall before anything is said. The best counts as passed
when the contrast rose to it and has since fallen by more than that; a fall without a rise before it says that the
ring is turned the wrong way.

Frames in which something is in the way, or in which the picture moves too fast, are left out. A hand's tip that hides
too little to change the coarse picture may still hide much of the detail, so a fall counts only when what can be seen
has fallen as well.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from enum import StrEnum
from statistics import median

from session.live.contrast import LEAST_CONTRAST, Detail, change_in_view, detail, fine_contrast, region_pixels
from session.live.cover import Cover, Sight
from session.live.decode import Codes, LiveGrey
from session.set.setup import Region

SMOOTHED_OVER = 3
REMEMBERED = 240
"""Readings kept for the trend line: 16 s at 15 frames a second."""

UNSTEADY_OVER = 30
LEAST_FALL = 0.05
FALLS_BY = 3.5
"""A fall counts above 5 % and above so many standard deviations of single frames. The first is what the contrast falls
by a quarter of the depth of field away from the best (2 to 8 %, median 5), and more than shake and flicker bring at
rest (4 %); both seen on 53 benches of tests/support/live_hands.py with seeds from 5000, of which
tests/benchmarks/test_live_focus.py uses none."""

EDGE_FRAMES = 2
"""Frames before and after something is in the way count for nothing: its edge may hide a little without being seen. A
hand takes about so long over the rim of a region. Chosen."""

TREND_OVER_S = 0.5
FASTEST_PX = 3.0
"""Live px from frame to frame; a picture that moves faster is smeared on a real sensor. Chosen."""


class Advice(StrEnum):
    """Advice for the hand at the ring besides the number; the screens have the words."""

    NONE = ""
    PAST_THE_BEST = "past the best"
    WRONG_WAY = "wrong way"
    IN_THE_WAY = "in the way"
    NO_DETAIL = "no detail"


class Trend(StrEnum):
    RISING = "rising"
    STEADY = "steady"
    FALLING = "falling"


@dataclass(frozen=True)
class FocusReading:
    """The focus number and its trend after a frame.

    contrast        percent, of this frame; None when it could not be judged
    best_contrast   highest of the smoothed readings in this scene, None before the first
    best_since_s    seconds since it was seen
    share_of_best   smoothed reading over the best, 0 to 1
    past_best       the best was passed and isn't reached again yet
    """

    contrast: float | None
    best_contrast: float | None
    best_since_s: float
    share_of_best: float | None
    trend: Trend
    past_best: bool
    advice: Advice = Advice.NONE


@dataclass
class _Pass:
    """The readings in a scene, as logarithms of the contrast.

    low          the lowest since the start, before the best
    best_pixels  the region's when the best was seen; best_detail their detail, worked out when first asked for
    hidden       the readings have fallen from the best, but the visible part of the region hasn't
    """

    recent: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=REMEMBERED))
    smooth: deque[tuple[float, float]] = field(default_factory=lambda: deque(maxlen=REMEMBERED))
    low: float = math.inf
    best: float = -math.inf
    best_at_s: float = 0.0
    best_pixels: Codes | None = None
    best_detail: Detail | None = None
    hidden: bool = False
    rose: bool = False
    past: bool = False


class FocusMeter:
    """The meter of one region. Make another one for another region."""

    def __init__(self, region: Region) -> None:
        self.region = region
        self._cover = Cover(region)
        self._scenes: dict[int, _Pass] = {}
        self._forgotten: dict[int, _Pass] = {}
        self._scene = 0
        self._edge_left = 0

    def see(self, picture: LiveGrey, now_s: float, moved_px: float = 0.0) -> FocusReading:
        """Take a frame; `now_s` only grows. moved_px: live px since the frame before."""
        sight = self._cover.see(picture, now_s)
        if sight.scene not in self._scenes:
            self._scenes = {number: it for number, it in self._scenes.items() if self._cover.may_return(number)}
        course = self._scenes.setdefault(sight.scene, _Pass())
        at_edge = self._is_at_edge(sight)
        if not sight.clear:
            return _reading(course, None, now_s, Advice.IN_THE_WAY)
        if moved_px > FASTEST_PX:
            return _reading(course, None, now_s, Advice.NONE)
        pixels = region_pixels(picture.codes, self.region)
        contrast = fine_contrast(pixels)
        if contrast <= LEAST_CONTRAST:
            return _reading(course, None, now_s, Advice.NO_DETAIL)
        if at_edge:
            return _reading(course, contrast, now_s, Advice.NONE)
        _take(course, math.log(contrast), pixels, now_s)
        return _reading(course, contrast, now_s, _advice(course, now_s))

    def _is_at_edge(self, sight: Sight) -> bool:
        """Whether something was in the way just now; when it comes, what was read just before is struck."""
        if not sight.clear or (self._scene and sight.scene != self._scene):
            if not self._edge_left and self._scene in self._scenes:
                recent = self._scenes[self._scene].recent
                for _ in range(min(EDGE_FRAMES, len(recent))):
                    recent.pop()
            self._edge_left = EDGE_FRAMES
        at_edge = self._edge_left > 0
        if sight.clear and at_edge:
            self._edge_left -= 1
        self._scene = sight.scene
        return at_edge

    def forget(self) -> bool:
        """Drop the best contrast so far, and begin anew; False when there was no best yet."""
        if not any(course.best > -math.inf for course in self._scenes.values()):
            return False
        self._forgotten, self._scenes = self._scenes, {}
        return True

    def restore(self) -> bool:
        """Bring back what was forgotten last, except where a higher best was seen since; False when nothing was."""
        if not self._forgotten:
            return False
        for scene, old in self._forgotten.items():
            new = self._scenes.get(scene)
            if new is None or new.best < old.best:
                self._scenes[scene] = old
        self._forgotten = {}
        return True

    def history(self) -> tuple[tuple[float, float], ...]:
        """(time, contrast in percent) of the present scene's last readings, oldest first, for a trend line."""
        seen = [course.recent for course in self._scenes.values() if course.recent]
        newest = max(seen, key=lambda recent: recent[-1][0], default=())
        return tuple((at_s, math.exp(value)) for at_s, value in newest)


def _take(course: _Pass, value: float, pixels: Codes, now_s: float) -> None:
    course.recent.append((now_s, value))
    smooth = median(v for _, v in list(course.recent)[-SMOOTHED_OVER:])
    course.smooth.append((now_s, smooth))
    if len(course.recent) < SMOOTHED_OVER:
        return
    fall = _fall(course)
    if smooth > course.best:
        course.best, course.best_at_s, course.past = smooth, now_s, False
        course.best_pixels, course.best_detail = pixels, None
        course.rose = course.rose or smooth - course.low > fall
    course.low = min(course.low, smooth)
    fallen = smooth < course.best - fall
    course.hidden = (
        fallen and course.best_pixels is not None and _change_in_view(course, course.best_pixels, pixels) > -fall / 2
    )
    if course.rose and fallen and not course.hidden:
        course.past = True
    elif smooth > course.best - fall / 2:
        course.past = False


def _change_in_view(course: _Pass, best_pixels: Codes, pixels: Codes) -> float:
    course.best_detail = course.best_detail or detail(best_pixels)
    return change_in_view(course.best_detail, detail(pixels))


def _fall(course: _Pass) -> float:
    """How far a reading must fall to count: from second differences of single readings, which know no slope."""
    values = [value for _, value in list(course.recent)[-UNSTEADY_OVER:]]
    bends = [abs(a - 2 * b + c) for a, b, c in zip(values, values[1:], values[2:], strict=False)]
    # the median of |x| of a normal deviate is 0.6745 standard deviations; a second difference has √6 of them
    unsteady = median(bends) / 0.6745 / math.sqrt(6) if bends else 0.0
    return max(LEAST_FALL, FALLS_BY * unsteady)


def _trend(course: _Pass, now_s: float) -> Trend:
    past = [value for at_s, value in course.smooth if now_s - at_s <= TREND_OVER_S]
    change = past[-1] - past[0] if past else 0.0
    if abs(change) <= _fall(course) / 2:
        return Trend.STEADY
    return Trend.RISING if change > 0 else Trend.FALLING


def _advice(course: _Pass, now_s: float) -> Advice:
    if course.past:
        return Advice.PAST_THE_BEST
    if course.hidden:
        return Advice.IN_THE_WAY
    fallen = course.smooth[-1][1] < course.best - _fall(course)
    falling = fallen and _trend(course, now_s) is Trend.FALLING
    return Advice.WRONG_WAY if falling and not course.rose else Advice.NONE


def _reading(course: _Pass, contrast: float | None, now_s: float, advice: Advice) -> FocusReading:
    known = course.best > -math.inf
    return FocusReading(
        contrast=contrast,
        best_contrast=math.exp(course.best) if known else None,
        best_since_s=now_s - course.best_at_s if known else 0.0,
        share_of_best=min(1.0, math.exp(course.smooth[-1][1] - course.best)) if known and contrast else None,
        trend=_trend(course, now_s) if contrast else Trend.STEADY,
        past_best=course.past,
        advice=advice,
    )
