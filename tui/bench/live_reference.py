"""The reference as the live picture is compared with it: laid over it, or told in px, mm and words for the hands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from PIL import Image

from session.live.against import Against, Correction, as_live, blend, difference, scales_for
from session.live.decode import Codes, LiveGrey
from session.set.kit import Body
from session.set.setup import Arrangement, Region
from tui.screen.small_picture import SmallPicture
from tui.words.live_look import Hold
from tui.words.live_words import far_text

MATCHES_AGAIN_S = 2.0
"""A match that failed is tried again after so long: it takes a good part of a second, and the picture waits for it."""

NOTHING_COMMON = "Too little in common with the reference to say what is to correct."


@dataclass(frozen=True)
class ReferenceFacts:
    """The facts of the frame that is the reference now; another reference makes another `LiveReference`."""

    frame_id: str
    region: Region
    arrangement: Arrangement
    body: Body | None


class LiveReference:
    """Follows the live picture against one reference. For one thread at a time."""

    def __init__(self, held: ReferenceFacts, picture: SmallPicture) -> None:
        self.held = held
        self._codes: Codes = np.asarray(Image.fromarray(picture.pixels).convert("L"))
        self._against: Against | None = None
        self._fitted: Codes = self._codes
        self._match_at_s = 0.0

    def laid_over(self, picture: LiveGrey, hold: Hold) -> Codes:
        """The live picture, (height, width) grey, with the reference blended in or taken away."""
        if self._fitted.shape != picture.shape:
            self._fitted = as_live(self._codes, picture.shape)
        return (
            difference(self._fitted, picture.codes) if hold is Hold.DIFFERENCE else blend(self._fitted, picture.codes)
        )

    def words(self, picture: LiveGrey, now_s: float) -> str:
        """The corrections that the live picture at `now_s` seconds still needs to match the reference."""
        against = self._against
        if against is None:
            held = self.held
            across = held.body.pixels_across if held.body else None
            width_mm = held.body.sensor_width_mm if held.body else None
            scales = scales_for(held.arrangement, width_mm, across, picture.shape[1])
            against = self._against = Against(self._codes, held.region, scales)
        found = against.follow(picture)
        if found is None and now_s >= self._match_at_s:
            found = against.match(picture)
            self._match_at_s = now_s + MATCHES_AGAIN_S
        return correction_words(found) if found else NOTHING_COMMON


def correction_words(found: Correction) -> str:
    """`Camera 0.4 mm to the left. Lies 12.0 px (0.4 mm) left, 3.1 px (0.1 mm) low, turned 1.2° clockwise, × 1.004.`"""
    if found.matches:
        return found.text
    across = far_text(found.right_px, found.camera_right_mm, "right", "left")
    along = far_text(found.down_px, found.camera_down_mm, "low", "high")
    way = "anticlockwise" if found.piece_turn_deg > 0 else "clockwise"
    turned = f"turned {abs(found.piece_turn_deg):.1f}° {way}"
    return f"{found.text} Lies {across}, {along}, {turned}, × {found.scale:.3f}."
