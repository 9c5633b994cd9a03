"""All instruments behind one call for each live frame: what the controller and the screens use."""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.moves import Moves
from session.live.decode import BrokenFrameError, LiveGrey, Stream, StreamWatch, grey
from session.live.meter import FocusMeter, FocusReading
from session.live.stillness import StillnessWatch
from session.optics.ring_down import RingDown
from session.set.setup import Region

PIXELS_ACROSS = 8000
"""Of a sensor that the kit doesn't know: 45 million pixels. More than most, so that motion rather reads too large."""


@dataclass(frozen=True, eq=False)
class LiveReading:
    """The instruments' readings of a live frame.

    stream   the stream's state; rate_per_s  new pictures a second
    resized  the picture has another size than the one before: all measuring began anew
    picture  None when the frame was broken, or the same as before
    focus, moves  None when this frame can't show them; motion also while frames come too slowly
    """

    at_s: float
    stream: Stream
    rate_per_s: float
    resized: bool = False
    picture: LiveGrey | None = None
    focus: FocusReading | None = None
    moves: Moves | None = None


class Instruments:
    """The instruments of one live view. A new region, size or scene is taken up by itself."""

    def __init__(self) -> None:
        self._stream = StreamWatch()
        self._stillness = StillnessWatch()
        self._meter: FocusMeter | None = None

    def begin(self, now_s: float) -> None:
        """Live view was switched on, or came back, at `now_s` seconds."""
        self._stream.begin(now_s)
        self._stillness = StillnessWatch()

    def see(
        self, jpeg: bytes, at_s: float, region: Region, *, pixels_across: int | None, limit_px: float
    ) -> LiveReading:
        """Take a frame that came at `at_s`.

        pixels_across  of the sensor's full-size picture, None when unknown
        limit_px       half swing that counts as still, px of the sensor
        """
        stream = self._stream
        if stream.is_repeated(jpeg):
            stream.note_repeated(at_s)
            return self.without_frame(at_s)
        try:
            picture = grey(jpeg)
        except BrokenFrameError:
            stream.note_broken(jpeg, at_s)
            return self.without_frame(at_s)
        resized = stream.fresh(jpeg, picture, at_s)
        state, rate_per_s = stream.state(at_s), stream.rate_per_s(at_s)
        if state is Stream.BLACK:
            return LiveReading(at_s, state, rate_per_s, resized, picture)
        if self._meter is None or self._meter.region != region:
            self._meter = FocusMeter(region)
        scale = (pixels_across or PIXELS_ACROSS) / picture.shape[1]
        moves = self._stillness.see(picture, at_s, scale, limit_px)
        focus = self._meter.see(picture, at_s, self._stillness.last_move_px() / scale)
        still = moves if state is Stream.GOOD else None
        return LiveReading(at_s, state, rate_per_s, resized, picture, focus, still)

    def without_frame(self, now_s: float) -> LiveReading:
        """The reading at `now_s` seconds when no new picture came."""
        return LiveReading(now_s, self._stream.state(now_s), self._stream.rate_per_s(now_s))

    def forget_best(self) -> bool:
        """Begin a new search for the best focus; False when none was seen yet."""
        return self._meter is not None and self._meter.forget()

    def restore_best(self) -> bool:
        """Bring the best focus back that was forgotten last; False when the region is another one now."""
        return self._meter is not None and self._meter.restore()

    def focus_history(self) -> tuple[tuple[float, float], ...]:
        """(time, fine contrast in percent), oldest first, for a trend line."""
        return self._meter.history() if self._meter is not None else ()

    def ring_down(self) -> RingDown:
        """The support's frequency and damping from the last touch seen. Raises UnclearSwingError with a sentence."""
        return self._stillness.ring_down()
