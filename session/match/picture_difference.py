"""Where a frame is brighter or darker than its reference, as a grey picture; neither picture is shifted.

So a shift shows as pairs of light and dark edges, and a light that gives more as a lighter part.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from session.match.camera_framing import alike_in_shape, at_size_of
from session.match.laid_picture import LEAST_LIGHT
from session.match.solo_picture import SoloPicture
from session.units.refusals import UnlikeShapesError

FULL_EV = 1.0
"""Difference that is shown as black or white. Chosen: ten times what a ninth may be off."""

MID_CODE = 128
"""Code of what is alike."""


def difference_codes(reference: SoloPicture, frame: SoloPicture) -> NDArray[np.uint8]:
    """(height, width) codes at the reference's size: MID_CODE where alike, 255 where FULL_EV brighter than it, or more.

    Raises UnlikeShapesError where the pictures' sides are in another ratio.
    """
    before = reference.light
    if not alike_in_shape(before.shape, frame.light.shape):
        raise UnlikeShapesError(before.shape, frame.light.shape)
    after = at_size_of(frame.light, before.shape)
    floor = LEAST_LIGHT  # noise in the blacks doesn't show as a difference
    ev = np.log2((after + floor) / (before + floor))
    codes: NDArray[np.uint8] = np.clip(np.rint(MID_CODE + ev / FULL_EV * 127), 0, 255).astype(np.uint8)
    return codes
