"""The facts of a frame that are told wherever a frame is told of: at the bench, in the ledger, to whoever looks on."""

from __future__ import annotations

from dataclasses import dataclass

from session.frame.camera_messages import Fired
from session.frame.series_plane import SeriesPlane
from session.frame.states import FrameState, ReleasedBy


@dataclass(frozen=True)
class FrameFacts:
    """One value, which events, lines of the ledger and the bench's frames hold.

    frame_id  unique for ever (UUID text)
    number    in its job
    fired     what is known of the shutter
    text      the sentence about its state, for people; "" for none
    ambient   released with the lights off, to measure the ambient light
    solo      the light that alone fired, by its name; "" for none in particular
    series    its plane in a focus series, None for a frame that is in none
    """

    frame_id: str
    number: int
    state: FrameState
    released_by: ReleasedBy = ReleasedBy.TOOL
    fired: Fired = Fired.NO
    text: str = ""
    ambient: bool = False
    solo: str = ""
    series: SeriesPlane | None = None

    @property
    def measures(self) -> str:
        """The light that the frame measures instead of showing the view: `ambient`, `solo key`; else ""."""
        return "ambient" if self.ambient else f"solo {self.solo}" if self.solo else ""

    @property
    def purpose(self) -> str:
        """The light that the frame measures, or its plane in a focus series: `solo key`, `plane 2 of 7`; else ""."""
        return self.measures or (self.series.name if self.series else "")


class AboutFrame:
    """The base of values that hold a frame's facts, so that they read as the facts do."""

    facts: FrameFacts

    @property
    def frame_id(self) -> str:
        return self.facts.frame_id

    @property
    def number(self) -> int:
        """The frame's number in its job."""
        return self.facts.number

    @property
    def state(self) -> FrameState:
        return self.facts.state

    @property
    def released_by(self) -> ReleasedBy:
        return self.facts.released_by

    @property
    def fired(self) -> Fired:
        return self.facts.fired

    @property
    def text(self) -> str:
        return self.facts.text

    @property
    def ambient(self) -> bool:
        return self.facts.ambient

    @property
    def solo(self) -> str:
        """Name of the only light that fired in a solo; "" for a frame that is no solo."""
        return self.facts.solo

    @property
    def series(self) -> SeriesPlane | None:
        """The frame's plane in a focus series, None for a frame that is in none."""
        return self.facts.series

    @property
    def measures(self) -> str:
        """The light that the frame measures instead of showing the view; "" for a picture of the view."""
        return self.facts.measures

    @property
    def purpose(self) -> str:
        """The light that the frame measures, or its plane in a focus series; "" for a frame that stands alone."""
        return self.facts.purpose
