"""A judgement with what was measured on the way, also where nothing was wrong with it."""

from __future__ import annotations

from dataclasses import dataclass

from session.checks.band.shadow import Band
from session.checks.drift.drift_verdict import Drift
from session.checks.focus.tilt import Tilt
from session.checks.light.brightness import Exposure
from session.checks.light.colour import Colour
from session.checks.light.evenness import Evenness
from session.frame.ports import Judgement


@dataclass(frozen=True)
class Examined(Judgement):
    """The judgement of a frame whose picture could be read, with the measurements.

    exposure  brightness and clipping
    band      None when there is no dark band
    drift     None without a reference, or when the motion since can't be told
    evenness  against the reference, or of a plain picture alone
    colour    of the grey patch or the region against the reference
    tilt      of a flat piece since the reference; None where none shows that matters
    evenness, colour   None where a dark band or a missing flash spoils them, or they can't be told
    """

    exposure: Exposure | None = None
    band: Band | None = None
    drift: Drift | None = None
    evenness: Evenness | None = None
    colour: Colour | None = None
    tilt: Tilt | None = None
